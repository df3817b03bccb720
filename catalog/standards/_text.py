"""Text out of fields that should be ASCII and often are not."""

from __future__ import annotations

import re

# Text from a stranger's file is shown on a terminal: no character of it may be a command to one.
_CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]+")


def decode_text(raw: bytes) -> str:
    """
    Return the text of a field whose encoding is not declared, without control characters.

    UTF-8 if the bytes are UTF-8, else Windows-1252, which holds Latin-1's letters.
    Several texts in one field, parted by NUL (TIFF 6.0 §2, type ASCII), are parted by a new line.
    """
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    parts = (_CONTROLS.sub(" ", part).strip() for part in lines.split("\0"))
    return "\n".join(part for part in parts if part)
