"""Which characters the bytes of a text file stand for, said only where it is certain."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass
from pathlib import Path

from catalog.errors import EncodingUnsureError, IntakeError

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SHOWN = ("cp1252", "mac_roman", "cp850")
"""The encodings that old card indexes came in, in the order they are shown to choose from."""
_HIGH_WORD = re.compile(rb"[^\s,;\t\"]*[\x80-\xff][^\s,;\t\"]*")
_MISREAD = re.compile(
    r"[ÂÃâÅÄ][\u0080-\u00ff\u2018-\u203a\u20ac\u2122\u0152\u0153\u0160\u0161\u0178\u017d\u017e\u0192\u02c6\u02dc]+"
)


@dataclass(frozen=True, slots=True)
class DecodedText:
    """The text of a file, the encoding it was in, and what a person should know about that."""

    text: str
    encoding: str
    remarks: tuple[str, ...] = ()


def decode(content: bytes, path: Path, encoding: str | None = None) -> DecodedText:
    """
    Return the text that ``content`` holds.

    Certain without asking: a byte order mark, plain ASCII, bytes that are valid UTF-8 (by chance they hardly
    ever are), UTF-16 whose NUL bytes all stand on one side, and Mac Roman where every line ends in a lone
    carriage return, as only the classic Macintosh wrote. Anything else is asked about.

    Raises:
        EncodingUnsureError: the words differ with the encoding, and nothing tells which is right.
        IntakeError: the encoding named is not one, or does not fit the bytes.
    """
    if encoding is not None:
        return _decode_as(content, path, encoding)
    for mark, name in _MARKS:
        if content.startswith(mark):
            return _with_misreadings(_decode_as(content, path, name))
    if b"\x00" in content[:4096]:
        return _decode_unmarked_utf16(content, path)
    try:
        return _with_misreadings(DecodedText(content.decode("utf-8"), "utf-8"))
    except UnicodeDecodeError:
        return _decode_eight_bit(content, path)


def _decode_as(content: bytes, path: Path, encoding: str) -> DecodedText:
    """Return the text in the encoding that was named, if it can be that."""
    try:
        known = codecs.lookup(encoding)
        if not known._is_text_encoding:
            raise LookupError(encoding)
    except (LookupError, ValueError) as exc:
        raise IntakeError(
            f"{path.name}: {encoding!r} is no encoding known here. Try utf-8, utf-16, cp1252 or mac_roman."
        ) from exc
    name = known.name.replace("-", "_") if known.name == "mac-roman" else known.name
    if name == "utf-8" and content.startswith(codecs.BOM_UTF8):
        name = "utf-8-sig"
    if name in _SHOWN or name.startswith("iso8859"):
        _refuse_if_utf8(content, path, name)
    try:
        return DecodedText(content.decode(name), name)
    except UnicodeError as exc:
        start = getattr(exc, "start", 0)
        line = len(re.findall(rb"\r\n|\r|\n", content[:start])) + 1
        raise IntakeError(
            f"{path.name}: line {line} holds bytes that are not {name}. Leave --encoding away to see what fits."
        ) from exc


def _refuse_if_utf8(content: bytes, path: Path, name: str) -> None:
    """Refuse an eight-bit encoding for bytes that are UTF-8: it would spoil every accent (case E03)."""
    word = _HIGH_WORD.search(content)
    if word is None:
        return
    try:
        content.decode("utf-8")
        right = word[0].decode("utf-8")
    except UnicodeDecodeError:
        return
    wrong = word[0].decode(name, "replace")
    raise IntakeError(f"{path.name}: is UTF-8; as {name}, {right!r} would become {wrong!r}. Leave --encoding away.")


def _decode_unmarked_utf16(content: bytes, path: Path) -> DecodedText:
    """Return the text of UTF-16 without its mark, told by the side its NUL bytes stand on."""
    even, odd = content[0:4096:2].count(0), content[1:4096:2].count(0)
    if len(content) % 2 == 0 and min(even, odd) == 0 and max(even, odd) * 4 >= len(content[:4096]) // 2:
        name = "utf-16-be" if even else "utf-16-le"
        try:
            return DecodedText(content.decode(name), name, ("UTF-16 without a byte order mark.",))
        except UnicodeDecodeError:
            pass
    raise IntakeError(
        f"{path.name}: holds NUL bytes, so it is not a text file. Export the card index as .csv or .xlsx."
    )


def _decode_eight_bit(content: bytes, path: Path) -> DecodedText:
    """Return the text of an old eight-bit file, if it can be told which of them it is."""
    texts = {}
    for name in _SHOWN:
        try:
            texts[name] = content.decode(name)
        except UnicodeDecodeError:
            continue
    if b"\r" in content and b"\n" not in content:
        remark = "Read as Mac Roman: every line ends in a lone carriage return, as on the classic Macintosh."
        return DecodedText(texts["mac_roman"], "mac_roman", (remark,))
    if texts.get("cp1252") == texts["mac_roman"]:
        return DecodedText(texts["cp1252"], "cp1252")
    words = list(dict.fromkeys(match[0] for match in _HIGH_WORD.finditer(content[: 8 * 1024 * 1024])))[:6]
    differing = {name: [_shown(word.decode(name, "replace")) for word in words] for name in texts}
    raise EncodingUnsureError(path, differing)


def _shown(word: str) -> str:
    """Return a word fit for one line of a message."""
    return "".join(char if char.isprintable() else f"\\x{ord(char):02x}" for char in word[:40])


def _with_misreadings(decoded: DecodedText) -> DecodedText:
    """Add a remark where the text looks as if UTF-8 had been read as Windows-1252 before it was saved."""
    for match in _MISREAD.finditer(decoded.text):
        try:
            meant = match[0].encode("cp1252").decode("utf-8")
        except UnicodeError:
            continue
        before = decoded.text[: match.start()]
        line = len(re.findall(r"\r\n|\r|\n", before)) + 1
        start = max(before.rfind(char) for char in ' ,;\t\n\r"') + 1
        end = re.compile(r"[\s,;\"]|$").search(decoded.text, match.end())
        word = decoded.text[start : end.start() if end else match.end()]
        remark = (
            f"line {line}: {word!r} looks like {word.replace(match[0], meant)!r}, read in the wrong encoding "
            "by whatever wrote this file. Nothing was changed; export it again as UTF-8 if you can."
        )
        return DecodedText(decoded.text, decoded.encoding, (*decoded.remarks, remark))
    return decoded
