"""
Sidecars on disk: read and written whole or not at all, never through a link, never over a change.

A sidecar is written under a passing name in its own folder and forced to disk; what is there is compared with
what was read; then it is renamed and the folder forced to disk. A process killed in between leaves at most a
file whose name ``find_leftovers`` knows. Many at once are the matter of ``sidecar_batches``.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from contextlib import suppress
from hashlib import sha256
from pathlib import Path
from typing import Final

from catalog.errors import SidecarChangedError, SidecarError, XmpError
from catalog.outputs._open_folder import OpenFolder, PassingFile, reasons
from catalog.outputs.sidecar_names import FolderNames, read_claims, sidecar_path
from catalog.passing_files import PASSING_NAME
from catalog.rules.counting import counted
from catalog.standards.xmp import MAX_BYTES, name, parse_packet, texts

__all__ = [
    "ScanFolders",
    "check_folder",
    "check_name",
    "check_place",
    "check_unchanged",
    "digest_of",
    "find_leftovers",
    "locate_sidecar",
    "read_sidecar",
    "restore_sidecar",
    "write_sidecar",
]

_SIDECAR_FOR: Final = name("photoshop:SidecarForExtension")


def digest_of(data: bytes | None) -> str | None:
    """Return the SHA-256 of a sidecar's bytes in hexadecimal, or ``None`` for no sidecar."""
    return None if data is None else sha256(data).hexdigest()


def read_sidecar(path: Path) -> bytes | None:
    """
    Return the bytes of a sidecar, or ``None`` when there is none.

    Raises:
        SidecarError: it is a link, no regular file, too large, or cannot be read.
    """
    with reasons(path), OpenFolder(path.parent) as folder:
        return folder.read(path.name, MAX_BYTES)


def write_sidecar(path: Path, data: bytes, *, expected: str | None, inside: Path | None = None) -> None:
    """
    Write a sidecar whole, if what is there still has the digest ``expected`` (``None``: nothing is there).

    With ``inside``, the folder of ``path`` must really lie in that folder, links followed.

    Raises:
        SidecarChangedError: it changed, appeared or went since it was read; nothing was written.
        SidecarError: it cannot be written there; nothing was changed.
    """
    check_place(path, inside)
    with reasons(path), OpenFolder(path.parent) as folder:
        passing = PassingFile(folder, path.name, data)
        try:
            passing.force()
            check_unchanged(folder, path, expected)
            passing.settle()
        except BaseException:
            passing.abandon()
            raise
        folder.sync()


def restore_sidecar(path: Path, former: bytes | None, *, expected: str, inside: Path | None = None) -> None:
    """
    Put back the bytes a sidecar had before (``None``: there was none), if it is still as we wrote it.

    Raises:
        SidecarChangedError: someone changed it since; it is left as it is.
        SidecarError: it cannot be written there.
    """
    if former is not None:
        write_sidecar(path, former, expected=expected, inside=inside)
        return
    check_place(path, inside)
    with reasons(path), OpenFolder(path.parent) as folder:
        check_unchanged(folder, path, expected)
        folder.remove(path.name)
        folder.sync()


def find_leftovers(folder: Path) -> list[Path]:
    """Return the passing files that a killed process left in a folder; what they hold is made again."""
    return sorted(path for path in folder.iterdir() if PASSING_NAME.fullmatch(path.name) and path.is_file())


def locate_sidecar(scan_path: Path, names: FolderNames | None = None) -> Path:
    """
    Return the path of a scan's sidecar, asking a ``NAME.xmp`` that is there which picture it speaks for.

    ``names`` are those of the scan's folder; without them the folder is listed.

    Raises:
        SidecarError: the folder cannot be listed.
    """
    if names is None:
        with reasons(scan_path):
            names = FolderNames(entry.name for entry in os.scandir(scan_path.parent))
    short = names.find_sidecar(f"{scan_path.stem}.xmp", scan_path.name)
    said = {} if short is None else {short: _speaks_for(scan_path.with_name(short))}
    return sidecar_path(scan_path, names, said)


def _speaks_for(path: Path) -> str:
    try:
        data = read_sidecar(path)
        found = texts(parse_packet(data).get(_SIDECAR_FOR)) if data else ()
    except (SidecarError, XmpError):
        return ""  # writing will read it again and then name the reason
    return found[0] if found else ""


def check_place(path: Path, inside: Path | None) -> None:
    """Raise ``SidecarError`` when nothing of ours may be written at ``path``."""
    check_name(path)
    if inside is not None:
        check_folder(path, inside)


def check_name(path: Path) -> None:
    """Raise ``SidecarError`` when ``path`` is not that of a sidecar."""
    # The last guard of the rule that scans are read-only: nothing but a sidecar is ever written here.
    if not path.name.lower().endswith(".xmp"):
        raise SidecarError(path, "is not the name of a sidecar, which ends in .xmp")


def check_folder(path: Path, inside: Path) -> None:
    """Raise ``SidecarError`` when the folder of ``path``, links followed, does not lie in ``inside``."""
    if not path.parent.resolve().is_relative_to(inside.resolve()):
        raise SidecarError(path, f"its folder lies outside {inside.name or inside}; nothing was written")


def check_unchanged(folder: OpenFolder, path: Path, expected: str | None) -> None:
    """Raise ``SidecarChangedError`` when what is there is not what was read."""
    found = digest_of(folder.read(path.name, MAX_BYTES))
    if found == expected:
        return
    what = "went" if found is None else "appeared" if expected is None else "changed"
    raise SidecarChangedError(path, f"{what} while it was being written; left as it is. Write it again.")


class ScanFolders:
    """
    The folders that scans lie in, each looked into once for a whole run.

    ``on_say`` hears of a folder what is open about who speaks for whom. With ``may_tidy``, what a killed process
    left half written in a folder is removed when the folder is met, and said.
    """

    def __init__(self, on_say: Callable[[Path, str], None], *, may_tidy: bool = False) -> None:
        self._on_say, self._may_tidy = on_say, may_tidy
        self._names: dict[tuple[Path, Path], FolderNames | SidecarError] = {}
        self._there: dict[Path, set[str]] = {}

    def read_sidecar_of(self, scan_path: Path, home: Path) -> tuple[Path, bytes | None]:
        """
        Return the path of a scan's sidecar and what it holds now; ``None`` for one that is not there yet.

        From then on the path counts as taken, so that no other scan of the folder is given it.

        Raises:
            FileNotFoundError: the scan, or its folder, is not there.
            SidecarError: the folder lies outside ``home`` or cannot be listed; the sidecar cannot be read.
        """
        folder, file_name = scan_path.parent, scan_path.name
        names = self._folder(folder, scan_path, home)
        if file_name not in self._there[folder] and not scan_path.is_file():
            raise FileNotFoundError(scan_path)
        if names.is_alone(file_name):  # as nearly all are, the first time
            sidecar, former = folder / f"{scan_path.stem}.xmp", None
        else:
            sidecar = locate_sidecar(scan_path, names)
            former = read_sidecar(sidecar) if names.has_sidecar(sidecar.name) else None
        names.add(sidecar.name)
        return sidecar, former

    def _folder(self, folder: Path, scan_path: Path, home: Path) -> FolderNames:
        if (folder, home) not in self._names:
            self._names[folder, home] = self._look_into(scan_path, home)
        found = self._names[folder, home]
        if isinstance(found, SidecarError):
            raise SidecarError(scan_path, found.reason)
        return found

    def _look_into(self, scan_path: Path, home: Path) -> FolderNames | SidecarError:
        folder = scan_path.parent
        try:
            check_folder(scan_path, home)
            with reasons(folder):
                listed = [entry.name for entry in os.scandir(folder)]
        except SidecarError as exc:
            if isinstance(exc.__cause__, FileNotFoundError):
                raise FileNotFoundError(folder) from exc
            return exc
        self._there[folder] = set(listed)
        names = FolderNames(listed)
        self._tidy(folder, [one for one in listed if PASSING_NAME.fullmatch(one)])
        contested = names.contested()
        said = {one: _speaks_for(folder / one) for one in contested if one.lower().endswith(".xmp")}
        for conflict in read_claims(contested, said).conflicts if contested else ():
            self._on_say(folder, f"{conflict}. What does not say whose it is stays as it is.")
        return names

    def _tidy(self, folder: Path, leftovers: list[str]) -> None:
        if not leftovers or not self._may_tidy:
            return
        # Where nothing can be removed nothing can be written either, and that is told of each sidecar.
        with suppress(SidecarError), reasons(folder), OpenFolder(folder) as opened:
            for file_name in leftovers:
                opened.remove(file_name)
            files = counted(len(leftovers), "half-written file")
            self._on_say(folder, f"removed {files} of a run that was cut short.")
