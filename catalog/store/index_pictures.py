"""Index pictures: which one each scan has, as its facts are now, and what the facts are that decide it."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from catalog.rules.index_pictures import PictureRecipe, index_picture_name, is_index_picture_name
from catalog.store.archive import Archive
from catalog.store.files import FileAddress
from catalog.store.settings import Settings

FOLDER = "index-pictures"
_POSITIVES = ("print", "transparency", "lantern slide")


@dataclass(frozen=True, slots=True)
class PictureScan:
    """A scan with what decides its index picture. The field names are the columns' own."""

    scan_id: int
    drive_id: int | None
    drive_name: str | None
    last_path: str | None
    path: str
    raw_path: bytes | None
    state: str
    damage: str | None
    size_bytes: int
    modified_ns: int
    sha256: str
    picture_sha256: str | None
    width_px: int | None
    height_px: int | None
    orientation: int | None
    white_is_zero: int | None
    profile: str | None
    polarity: str | None
    is_reversed: int | None
    sheet_id: int | None
    medium: str | None
    film_tones: str | None
    steps: str | None

    @property
    def reference(self) -> str:
        """Its permanent short name."""
        return f"C{self.scan_id}"

    @property
    def name(self) -> str:
        """The file's name alone."""
        return self.path.rpartition("/")[2]

    @property
    def address(self) -> FileAddress:
        """Return where its file lies, as the catalogue writes it down."""
        return FileAddress(self.drive_id, self.path, self.raw_path, "")

    @property
    def content_sha256(self) -> str:
        """Return the digest of its picture, or of the whole file where no picture was found in it."""
        return self.picture_sha256 or self.sha256

    def recipe(self, settings: Settings) -> PictureRecipe:
        """
        Return how its index picture is made, as everything stands now.

        What a person said of the scan counts. A transparency and a print are positives. Of a negative's scan the
        pixels tell, since the scanner's own program may have turned it already; where they do not, it is shown as
        it is.
        """
        medium = self.medium or (None if self.film_tones else settings.scans_medium)
        is_positive = medium in _POSITIVES or (medium is None and self.film_tones == "transparency")
        return PictureRecipe(
            long_side_px=settings.index_pictures_long_side,
            polarity=self.polarity or ("positive" if is_positive else None),
            is_reversed=None if self.is_reversed is None else bool(self.is_reversed),
            orientation=self.orientation or 1,
            white_is_zero=bool(self.white_is_zero),
            profile=self.profile,
            steps=self.steps,
        )


STEPS_OF_SCAN = """(
        SELECT v.steps FROM version_source vs JOIN edit_version v ON v.id = vs.version_id
        WHERE vs.scan_id = c.id AND v.steps IS NOT NULL
        AND (SELECT count(*) FROM version_source other WHERE other.version_id = v.id) = 1
        ORDER BY EXISTS (SELECT 1 FROM edit_version later WHERE later.replaces_id = v.id), v.id DESC LIMIT 1)"""
"""
The tone steps by which the picture of a scan ``c`` is to look: those of the newest version made of it alone, one that
nothing replaces before one that is replaced.
"""
_SCANS = f"""
    SELECT c.id, f.drive_id, d.name, d.last_path, f.path, f.raw_path, f.state, f.damage, f.size_bytes,
        f.modified_ns, f.sha256, f.picture_sha256, c.width_px, c.height_px, c.orientation, c.white_is_zero,
        c.profile, c.polarity, c.is_reversed, s.id, s.medium, fs.tones, {STEPS_OF_SCAN}
    FROM scan c JOIN file f ON f.id = c.file_id LEFT JOIN drive d ON d.id = f.drive_id
    LEFT JOIN sheet s ON s.id = (SELECT sp.sheet_id FROM scan_part sp WHERE sp.scan_id = c.id ORDER BY sp.id LIMIT 1)
    LEFT JOIN roll r ON r.id = s.roll_id LEFT JOIN film_stock fs ON fs.id = coalesce(s.film_id, r.film_id)
"""
_WANTED = _SCANS + "WHERE c.id IN (SELECT value FROM json_each(:scans)) ORDER BY f.drive_id, f.path"
_ALL = _SCANS + "ORDER BY f.drive_id, f.path"


def picture_scans(connection: sqlite3.Connection, scan_ids: Iterable[int] | None = None) -> list[PictureScan]:
    """Return these scans, or all, in the order they lie in: those of one folder together."""
    if scan_ids is None:
        return [PictureScan(*row) for row in connection.execute(_ALL)]
    listed = json.dumps(sorted(set(scan_ids)))
    return [PictureScan(*row) for row in connection.execute(_WANTED, {"scans": listed})]


def index_picture_path(archive: Archive, scan: PictureScan) -> Path:
    """Return where the index picture of a scan is, or would be if it were made."""
    return archive.folder / FOLDER / index_picture_name(scan.content_sha256, scan.recipe(archive.settings))


def is_whole(path: Path) -> bool:
    """Return True if an index picture is there and whole, by both its ends; any other is made again."""
    try:
        with path.open("rb") as file:
            begins = file.read(2)
            file.seek(-2, os.SEEK_END)
            return (begins, file.read(2)) == (b"\xff\xd8", b"\xff\xd9")
    except OSError:  # not there, too short to seek in, or not to be read: there is no picture to show
        return False


def find_index_picture(archive: Archive, scan_id: int) -> Path | None:
    """
    Return the index picture of a scan as its facts are now, or ``None`` when it is not made, or there is no such scan.

    It is an sRGB JPEG, upright, a positive. Nothing is made here: see ``catalog.actions.index_pictures``.
    """
    with archive.reading() as connection:
        return next(iter(find_index_pictures(archive, connection, [scan_id]).values()), None)


def find_index_pictures(archive: Archive, connection: sqlite3.Connection, scan_ids: Iterable[int]) -> dict[int, Path]:
    """Return the index pictures that are made, of these scans, by scan."""
    paths = ((scan.scan_id, index_picture_path(archive, scan)) for scan in picture_scans(connection, scan_ids))
    return {scan_id: path for scan_id, path in paths if is_whole(path)}


def kept_pictures(archive: Archive) -> Iterator[Path]:
    """Yield every index picture in the archive's folder; files that this program did not name are passed by."""
    folder = archive.folder / FOLDER
    for path in sorted(folder.glob("??/*.jpg")):
        if is_index_picture_name(path.relative_to(folder).as_posix()):
            yield path
