"""
Which sidecar speaks for which picture. Names alone decide, and what a sidecar says of itself.

``NAME.xmp`` beside ``NAME.tif``; ``NAME.tif.xmp`` when two pictures share a stem, because XMP part 3 leaves
open whether the picture's own extension is dropped. A sidecar that is there keeps its name.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import Final

__all__ = ["Claim", "Claims", "FolderNames", "read_claims", "sidecar_path"]

# What else a photographer keeps beside a scan may carry a sidecar too; a text or a check sum does not.
_PICTURES: Final = frozenset(
    {
        *("tif", "tiff", "jpg", "jpeg", "jpe", "png", "dng", "psd", "psb", "jp2", "j2k", "jxl", "webp"),
        *("heic", "heif", "avif", "gif", "bmp"),
        *("raw", "nef", "cr2", "cr3", "arw", "orf", "raf", "rw2", "pef", "3fr", "fff", "iiq"),
    }
)


def _fold(words: str) -> str:
    """Return a name as file systems compare it that care neither for case nor for Unicode form."""
    return words.lower() if words.isascii() else unicodedata.normalize("NFC", words).casefold()


def _parted(file_name: str) -> tuple[str, str]:
    """Return stem and suffix as ``PurePath`` parts them (no suffix to a leading or closing full stop), much faster."""
    stem, dot, suffix = file_name.rpartition(".")
    return (stem, suffix) if dot and stem and suffix else (file_name, "")


def _stem(file_name: str) -> str:
    return _parted(file_name)[0]


def _suffix(file_name: str) -> str:
    return _parted(file_name)[1].lower()


class FolderNames:
    """The names in one folder, arranged so that each scan finds its rivals and its sidecar at once."""

    def __init__(self, names: Iterable[str | PurePath]) -> None:
        # "._name" holds what another system keeps beside a file on a foreign drive; it is no picture.
        self.sidecars: dict[str, list[str]] = {}
        self.pictures: dict[str, list[str]] = {}
        plain = (one if isinstance(one, str) and "/" not in one else PurePath(one).name for one in names)
        for file_name in sorted(set(plain)):
            self.add(file_name)

    def add(self, file_name: str) -> None:
        """Take in a name that is there now, or is about to be."""
        if _suffix(file_name) == "xmp":
            of_stem = self.sidecars.setdefault(_fold(_stem(file_name)), [])
        elif _suffix(file_name) in _PICTURES and not file_name.startswith("._"):
            of_stem = self.pictures.setdefault(_fold(_stem(file_name)), [])
        else:
            return
        if file_name not in of_stem:
            of_stem.append(file_name)

    def is_picture(self, file_name: str) -> bool:
        """Return True when a picture of that name is here, in whatever case or Unicode form."""
        return any(_fold(one) == _fold(file_name) for one in self.pictures.get(_fold(_stem(file_name)), ()))

    def has_sidecar(self, file_name: str) -> bool:
        """Return True when a sidecar of that name is here, in whatever case or Unicode form."""
        return _fold(_stem(file_name)) in self.sidecars

    def is_alone(self, scan_name: str) -> bool:
        """Return True when no other picture and no sidecar has to do with the name of this picture."""
        stem = _stem(scan_name)
        key = _fold(stem)
        if self.pictures.get(key) != [scan_name] or key in self.sidecars or _fold(scan_name) in self.sidecars:
            return False
        return not (_suffix(stem) and self.is_picture(stem))

    def contested(self) -> list[str]:
        """Return the pictures and sidecars of the stems where it may be open which sidecar is whose."""
        found: list[str] = []
        for stem, pictures in self.pictures.items():
            short = self.sidecars.get(stem, [])
            long = [one for picture in pictures for one in self.sidecars.get(_fold(picture), ())]
            if len(short) + len(long) > len(pictures) or (short and len(pictures) > 1):
                found += [*pictures, *short, *long]
        return list(dict.fromkeys(found))

    def rivals(self, scan_name: str) -> list[str]:
        """Return the other pictures that share the stem of this one, however it is spelled here."""
        alike = self.pictures.get(_fold(_stem(scan_name)), [])
        if scan_name in alike:
            return [other for other in alike if other != scan_name]
        return [other for other in alike if _fold(other) != _fold(scan_name)]

    def find_sidecar(self, wanted: str, scan_name: str) -> str | None:
        """Return the sidecar of that name; in another spelling only if it is not another picture's."""
        found = self.sidecars.get(_fold(_stem(wanted)), [])
        stem = _stem(wanted)
        exact = [one for one in found if _stem(one) == stem]
        others = {spelled for other in self.rivals(scan_name) for spelled in (other, _stem(other))} - {stem}
        return next(iter(exact or [one for one in found if _stem(one) not in others]), None)


def sidecar_path(
    scan_path: Path, siblings: FolderNames | Iterable[str | PurePath], said: Mapping[str, str] | None = None
) -> Path:
    """
    Return the path of a scan's sidecar, there or to be written.

    ``siblings`` are the names in the scan's folder. ``said`` holds, for sidecars that say so, the extension
    of the picture they speak for (``photoshop:SidecarForExtension``). A ``NAME.xmp`` that does not say it,
    beside two pictures of that name, is nobody's: both take the long name and it is left as it is.
    """
    names = siblings if isinstance(siblings, FolderNames) else FolderNames(siblings)
    long, short = f"{scan_path.name}.xmp", f"{scan_path.stem}.xmp"
    there = names.find_sidecar(long, scan_path.name)
    if there is not None:
        return scan_path.with_name(there)
    if names.is_picture(scan_path.stem):  # a.tif.jpg beside a.tif: its short name is the other's long one
        return scan_path.with_name(long)
    rivals = names.rivals(scan_path.name)
    there = names.find_sidecar(short, scan_path.name)
    speaks_for = (said or {}).get(there or "", "").lower()
    if there is None:
        return scan_path.with_name(long if rivals else short)
    if speaks_for:
        return scan_path.with_name(there if speaks_for == _suffix(scan_path.name) else long)
    return scan_path.with_name(long if rivals else there)


@dataclass(frozen=True, slots=True)
class Claim:
    """A sidecar and the pictures it may speak for: one, several it does not choose between, or none."""

    sidecar: str
    speaks_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Claims:
    """All sidecars of a folder; ``conflicts`` says in words where who speaks for whom is open."""

    claims: tuple[Claim, ...]
    conflicts: tuple[str, ...]


def read_claims(siblings: FolderNames | Iterable[str | PurePath], said: Mapping[str, str] | None = None) -> Claims:
    """Return which sidecar speaks for which picture, with every doubt. Arguments as for ``sidecar_path``."""
    names = siblings if isinstance(siblings, FolderNames) else FolderNames(siblings)
    sidecars = sorted(one for found in names.sidecars.values() for one in found)
    claims = tuple(Claim(one, _claimed(one, names, (said or {}).get(one, "").lower())) for one in sidecars)
    return Claims(claims, tuple(_conflicts(claims)))


def _claimed(sidecar: str, names: FolderNames, extension: str) -> tuple[str, ...]:
    stem = _stem(sidecar)
    whole = [one for one in names.pictures.get(_fold(_stem(stem)), ()) if _fold(one) == _fold(stem)]
    exact = [one for one in whole if one == stem]
    alike = names.pictures.get(_fold(stem), [])
    chosen = [one for one in alike if not extension or _suffix(one) == extension]
    return tuple(exact or whole or chosen)


def _conflicts(claims: Iterable[Claim]) -> list[str]:
    lines: list[str] = []
    speakers: dict[str, list[str]] = {}
    for claim in claims:
        if len(claim.speaks_for) > 1:
            either = " or ".join(claim.speaks_for)
            lines.append(f"{claim.sidecar} could speak for {either} and does not say which")
        if not claim.speaks_for:
            lines.append(f"{claim.sidecar} speaks for no picture in this folder")
        for picture in claim.speaks_for:
            speakers.setdefault(picture, []).append(claim.sidecar)
    several = ((picture, by) for picture, by in speakers.items() if len(by) > 1)
    return lines + [f"{picture} has {len(by)} sidecars: {', '.join(by)}" for picture, by in several]
