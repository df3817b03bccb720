"""The picture on a card's face; or the words that stand where it would be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Container
from textual.content import Content
from textual.widget import Widget

from catalog.tui.pictures import picture_widget

if TYPE_CHECKING:
    from PIL.Image import Image


class PictureWords(Widget):
    """Words in the middle of the place for the picture."""

    def __init__(self) -> None:
        super().__init__(classes="picture-words")
        self._words = ""

    def say(self, words: str) -> None:
        """Say why there is no picture, or that it is being made."""
        self._words = words
        self.refresh(layout=True)

    @property
    def words(self) -> str:
        """What is said."""
        return self._words

    def render(self) -> Content:
        """Return the words."""
        return Content(self._words)


class Picture(Container):
    """A picture as large as its place allows."""

    DEFAULT_CSS = """
    Picture { align: center middle; overflow: hidden; }
    .picture-words { width: auto; max-width: 90%; height: auto; text-align: center; color: $faint-ink; }
    Picture .shown { width: auto; height: auto; }
    """

    def __init__(self, how: str, *, id: str | None = None) -> None:  # noqa: A002
        self._words = PictureWords()
        super().__init__(self._words, id=id)
        self._how = how
        self._shown: Widget | None = None

    @property
    def words(self) -> str:
        """The words that stand there; empty when a picture does."""
        return self._words.words if self._words.display else ""

    @property
    def has_picture(self) -> bool:
        """Whether a picture is shown."""
        return self._shown is not None

    def say(self, words: str) -> None:
        """Put words in place of a picture."""
        self._take_away()
        self._words.display = True
        self._words.say(words)

    def show(self, image: Image) -> None:
        """Show a picture."""
        self._take_away()
        self._words.display = False
        self._shown = picture_widget(self._how)(image, classes="shown")
        self.mount(self._shown)

    def _take_away(self) -> None:
        if self._shown is not None:
            self._shown.remove()
            self._shown = None
