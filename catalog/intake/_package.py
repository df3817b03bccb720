"""The parts of a workbook file, read within bounds and without trust. ECMA-376-2:2016 (packages of parts)."""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections.abc import Iterator
from typing import IO

from lxml import etree

from catalog.errors import IntakeError

MAX_PART_BYTES = 512 * 1024 * 1024
MAX_PARTS = 10_000
MAX_RATIO = 400
"""A sheet of one value over and over shrinks about 100 times; a bomb is built to shrink 1,000 times."""
_SMALL = 4 * 1024 * 1024


class Package:
    """A workbook opened for reading; each part is checked before it is read."""

    def __init__(self, content: bytes, name: str) -> None:
        self.name = name
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(content))
        except (zipfile.BadZipFile, ValueError, OverflowError, NotImplementedError) as exc:
            raise IntakeError(
                f"{name}: the workbook is damaged or cut short. Copy the file again, or save it anew."
            ) from exc
        infos = self._zip.infolist()
        if len(infos) > MAX_PARTS:
            raise IntakeError(f"{name}: {len(infos)} parts are more than a workbook has; refused.")
        self._parts = {info.filename.lstrip("/").lower(): info for info in infos}

    def __contains__(self, part: str) -> bool:
        return part.lower() in self._parts

    def open(self, part: str) -> IO[bytes]:
        """
        Return a part to read from.

        Raises:
            IntakeError: it is not there, locked, packed in an unknown way, or would unpack into too much.
        """
        info = self._parts.get(part.lower())
        if info is None:
            raise IntakeError(f"{self.name}: the workbook has no {part}; it is damaged, or no workbook.")
        if info.flag_bits & 0x1:
            raise IntakeError(f"{self.name}: the workbook is locked with a password. Save it without one.")
        ratio = info.file_size / max(info.compress_size, 1)
        if info.file_size > MAX_PART_BYTES or (info.file_size > _SMALL and ratio > MAX_RATIO):
            raise IntakeError(
                f"{self.name}: {part} unpacks to {info.file_size // 2**20} MB, {ratio:.0f} times its size; "
                "refused. Save the sheet as .csv, or split it."
            )
        try:
            return self._zip.open(info)
        except (zipfile.BadZipFile, NotImplementedError, RuntimeError) as exc:
            raise IntakeError(f"{self.name}: {part} cannot be unpacked ({exc}). Save the workbook anew.") from exc

    def elements(self, part: str, *tags: str) -> Iterator[etree._Element]:
        """
        Yield the elements of a part that have one of ``tags`` (``{*}row``) as each is complete, and forget
        them after use.

        No entity is expanded, nothing is fetched, and a document type is refused.
        """
        with self.open(part) as stream:
            checked = False
            try:
                for _, element in etree.iterparse(
                    stream,
                    events=("end",),
                    tag=tags,
                    resolve_entities=False,
                    no_network=True,
                    load_dtd=False,
                    huge_tree=False,
                    remove_comments=True,
                    remove_pis=True,
                ):
                    if not checked and element.getroottree().docinfo.doctype:
                        raise IntakeError(f"{self.name}: {part} declares a document type; no honest workbook does.")
                    checked = True
                    yield element
                    element.clear()
                    parent = element.getparent()
                    while parent is not None and element.getprevious() is not None:
                        del parent[0]
            except (etree.XMLSyntaxError, zipfile.BadZipFile, zlib.error, EOFError, OSError) as exc:
                reason = (str(exc).splitlines() or ["damaged"])[0]
                raise IntakeError(f"{self.name}: {part} cannot be read ({reason}). Save the workbook anew.") from exc

    def relations(self, part: str) -> dict[str, str]:
        """Return the parts that ``part`` points to, by the identifier it uses for each."""
        folder, _, base = part.rpartition("/")
        listing = f"{folder}/_rels/{base}.rels".lstrip("/")
        if listing not in self:
            return {}
        found = {}
        for element in self.elements(listing, "{*}Relationship"):
            if element.get("TargetMode") != "External":
                target = element.get("Target", "")
                joined = target.lstrip("/") if target.startswith("/") else posixpath.join(folder, target)
                found[element.get("Id", "")] = posixpath.normpath(joined)
        return found

    def main_part(self) -> str:
        """Return the name of the workbook's own part."""
        if "[Content_Types].xml" not in self:
            raise IntakeError(f"{self.name}: an archive of other files, not a workbook. Unpack it, or save as .xlsx.")
        for element in self.elements("[Content_Types].xml", "{*}Override"):
            kind = element.get("ContentType", "")
            if "sheet.binary" in kind:
                raise IntakeError(f"{self.name}: a binary workbook (.xlsb). Open it and save it as .xlsx.")
            if "sheet" in kind and kind.endswith(".main+xml"):
                return element.get("PartName", "").lstrip("/")
        if "xl/workbook.xml" in self:
            return "xl/workbook.xml"
        raise IntakeError(f"{self.name}: an office file, but no workbook. Save the table as .xlsx or .csv.")
