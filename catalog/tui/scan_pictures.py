"""The picture of a scan for the screen: found, made if there is none yet, or the words that say why there is none."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from catalog.actions.index_pictures import IndexPictureDone, make_index_picture
from catalog.errors import CatalogError
from catalog.store.index_pictures import find_index_picture
from catalog.tui.pictures import open_picture, picture_widget

if TYPE_CHECKING:
    from PIL.Image import Image

    from catalog.store.archive import Archive


def picture_of_scan(archive: Archive, scan_id: int, how: str, say: Callable[[str], None]) -> Image | str:
    """
    Return the picture of a scan, or the words that stand in its place; called in a thread.

    ``how`` is what the terminal can draw; ``say`` hears when a picture has to be made first.
    """
    try:
        path = find_index_picture(archive, scan_id)
        if path is None:
            say(f"making the picture of C{scan_id} …")
            done = make_index_picture(archive, scan_id)
            if done is None or done.path is None:
                return why_no_picture(scan_id, done)
            path = done.path
        image = open_picture(path)
        picture_widget(how)  # imported here: it takes a quarter of a second
    except CatalogError as exc:
        return str(exc)
    return image


def why_no_picture(scan_id: int, done: IndexPictureDone | None) -> str:
    """Return the words that stand in place of a picture, and what to do."""
    if done is None:
        return f"C{scan_id} is gone."
    reason = done.reason or done.outcome
    if done.outcome == "away":
        return f"{done.file}\n{reason}.\nPlug it in and press r."
    return f"{done.file}\n{reason if reason.startswith(done.outcome) else f'{done.outcome}: {reason}'}"
