"""
Read the name of a colour profile.

Source: ICC.1:2010 (profile version 4.3) §7.2 header, §7.3 tag table, §9.2.41
profileDescriptionTag, §10.13 multiLocalizedUnicodeType; ICC.1:2001-04 §6.5.17
textDescriptionType for profiles of version 2.
"""

from __future__ import annotations

from catalog.standards._text import decode_text

MAX_TAGS = 1_000
MAX_NAME_BYTES = 2_000


def profile_description(profile: bytes) -> str | None:
    """Return the description a profile gives of itself, None if it is not a profile or gives none."""
    # §7.2: a header of 128 bytes, "acsp" at byte 36.
    if profile[36:40] != b"acsp":
        return None
    for index in range(min(int.from_bytes(profile[128:132]), MAX_TAGS)):
        at = 132 + 12 * index
        if profile[at : at + 4] == b"desc":
            offset, size = int.from_bytes(profile[at + 4 : at + 8]), int.from_bytes(profile[at + 8 : at + 12])
            return _description(profile[offset : offset + size])
    return None


def _description(element: bytes) -> str | None:
    if element[:4] == b"desc":  # version 2: a count, then ASCII with its NUL
        length = min(int.from_bytes(element[8:12]), MAX_NAME_BYTES)
        return decode_text(element[12 : 12 + length]) or None
    if element[:4] == b"mluc":  # version 4: records of language, country, length, offset; UTF-16 big-endian
        length, offset = int.from_bytes(element[20:24]), int.from_bytes(element[24:28])
        name = element[offset : offset + min(length, MAX_NAME_BYTES)].decode("utf-16-be", "replace")
        return decode_text(name.encode()) or None
    return None
