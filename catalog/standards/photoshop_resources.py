"""
Read a block of Photoshop image resources: numbered pieces, of which one may be IIM and one its digest.

Source: Photoshop File Formats Specification, "Image Resource Blocks"; XMP part 3 (January 2020) for the
numbers. See docs/standards/embedded.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["IIM", "IIM_DIGEST", "Resource", "Resources", "parse_resources"]

IIM: Final = 1028
IIM_DIGEST: Final = 1061  # the MD5 of resource 1028, as it was when the XMP was last put in step with it

MAX_RESOURCES: Final = 5_000
_SIGNATURES: Final = frozenset((b"8BIM", b"MeSa", b"AgHg", b"PHUT", b"DCSR"))


@dataclass(frozen=True, slots=True)
class Resource:
    """One resource: its number, its data, and where these begin in the block."""

    number: int
    data: bytes
    offset: int


@dataclass(frozen=True, slots=True)
class Resources:
    """A block as it was read, and what could not be read of it."""

    resources: tuple[Resource, ...] = ()
    faults: tuple[str, ...] = ()

    def all(self, number: int) -> tuple[Resource, ...]:
        """Return the resources of that number, in the order they stand."""
        return tuple(resource for resource in self.resources if resource.number == number)

    def first(self, number: int) -> bytes | None:
        """Return the data of the first resource of that number, None if there is none."""
        return next((resource.data for resource in self.resources if resource.number == number), None)


def parse_resources(block: bytes) -> Resources:
    """Return the resources of a block, up to the first place where none stands; nothing is raised."""
    found: list[Resource] = []
    faults: list[str] = []
    at = 0
    while at < len(block):
        if len(found) == MAX_RESOURCES:
            faults.append(f"Photoshop resources: more than {MAX_RESOURCES:,}; the rest were not read")
            break
        if block[at : at + 4] not in _SIGNATURES:
            # Zeros after the last resource pad the block.
            if block[at : at + 64].strip(b"\0"):
                faults.append(f"Photoshop resources: none begins at byte {at} of {len(block)}")
            break
        resource, length = _read(block, at)
        if resource is None:
            faults.append(f"Photoshop resources: cut short at byte {at}")
            break
        found.append(resource)
        if len(resource.data) < length:
            had = len(resource.data)
            faults.append(f"Photoshop resource {resource.number} should have {length} bytes, has {had}")
            break
        at = resource.offset + length + length % 2
    return Resources(tuple(found), tuple(faults))


def _read(block: bytes, at: int) -> tuple[Resource | None, int]:
    """Return the resource at ``at`` and how many bytes it should have; None if its head is not all there."""
    number = int.from_bytes(block[at + 4 : at + 6])
    # A Pascal string: its length in one byte; the whole is padded to an even number of bytes.
    name_bytes = 1 + (block[at + 6] if at + 6 < len(block) else 0)
    start = at + 6 + name_bytes + name_bytes % 2 + 4
    if start > len(block):
        return None, 0
    length = int.from_bytes(block[start - 4 : start])
    return Resource(number, block[start : start + length], start), length
