"""Pictures for the screen: opened and brought to size in a thread, shown by what the terminal can do."""

from __future__ import annotations

import io
import sys
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TextIO, cast

from catalog.errors import PictureError

if TYPE_CHECKING:
    from PIL.Image import Image
    from textual.widget import Widget

_LONGEST_PX = 1600
"""No terminal shows more of a card's face; a larger picture would only take time."""
_MOST_PX = 120_000_000
_lock = Lock()
_widgets: dict[str, type[Widget]] = {}


def open_picture(path: Path) -> Image:
    """
    Return a picture, decoded, no larger than a terminal can show.

    Raises:
        PictureError: the file is not there, or is no picture that can be read.
    """
    from PIL import Image as PillowImage
    from PIL import UnidentifiedImageError

    try:
        with PillowImage.open(path, formats=("JPEG", "PNG", "TIFF")) as opened:
            if opened.width * opened.height > _MOST_PX:
                raise PictureError(path, f"{opened.width} x {opened.height} pixels are too many for the screen")
            opened.draft("RGB", (_LONGEST_PX, _LONGEST_PX))
            picture = opened.convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, PillowImage.DecompressionBombError) as exc:
        raise PictureError(path, f"is no picture that can be read ({exc})") from exc
    picture.thumbnail((_LONGEST_PX, _LONGEST_PX))
    return picture


def picture_widget(how: str) -> Any:
    """
    Return the class of widget that shows a picture as ``half-block``, ``sixel`` or ``graphics``.

    It is imported here, when the first picture is shown: that takes a quarter of a second.
    """
    with _lock:
        if not _widgets:
            _import_widgets()
    return _widgets[how]


def _import_widgets() -> None:
    # The library asks the terminal what it can do when it is imported, and would take the keys that Textual reads
    # for the answer. The terminal was asked before the screens were opened (``catalog.tui.terminal``), so the
    # library finds none here.
    terminal, sys.__stdout__ = sys.__stdout__, cast("TextIO", io.StringIO())  # type: ignore[assignment,misc]
    try:
        from textual_image._terminal import CellSize, get_cell_size
        from textual_image.widget import HalfcellImage, SixelImage, TGPImage
    finally:
        sys.__stdout__ = terminal  # type: ignore[misc]
    width, height = _cell_size()
    get_cell_size._result = CellSize(width, height)  # type: ignore[attr-defined]
    _widgets.update({"half-block": HalfcellImage, "sixel": SixelImage, "graphics": TGPImage})


def _cell_size() -> tuple[int, int]:
    """Return the pixels of one cell, as the terminal driver knows them; else one twice as high as wide."""
    if sys.platform != "win32" and sys.__stdout__ is not None and sys.__stdout__.isatty():
        import fcntl
        import struct
        import termios

        try:
            packed = fcntl.ioctl(sys.__stdout__.fileno(), termios.TIOCGWINSZ, b"\0" * 8)
        except OSError:  # a terminal that does not say; the usual shape of a cell serves
            return 10, 20
        rows, columns, width, height = struct.unpack("HHHH", packed)
        if rows and columns and width >= columns and height >= rows:
            return width // columns, height // rows
    return 10, 20
