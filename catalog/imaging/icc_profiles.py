"""
The colour profiles this program writes into its pictures: grey of gamma 2.2, sRGB, and one like Adobe RGB (1998).

They are made here, small and always the same to the byte, of published numbers alone.

Source: ICC.1:2001-04 (profile version 2.4) §6.1 header, §6.3 required tags, §6.5 types; IEC 61966-2-1 for sRGB's
curve and primaries; Adobe RGB (1998) Color Image Encoding, 2005-05, for its. The primaries are adapted to D50 by
the linear Bradford transform, as ICC.1:2010 annex E gives it.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from catalog.imaging.tone_scales import SRGB

Triple = tuple[float, float, float]
# ICC.1 §7.2.16: the white of the profile connection space, in its own rounding.
_D50: Final[Triple] = (0.9642, 1.0, 0.8249)
_D65_XY: Final = (0.3127, 0.3290)
# x and y of red, green and blue: IEC 61966-2-1 (as ITU-R BT.709); Adobe RGB (1998) §4.3.1.1.
_PRIMARIES: Final = {
    "sRGB": ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)),
    "Adobe RGB (1998)": ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06)),
}
_NAMES: Final = {
    "grey gamma 2.2": "Grey gamma 2.2",
    "sRGB": "sRGB IEC61966-2.1",
    "Adobe RGB (1998)": "Compatible with Adobe RGB (1998)",
}
_BRADFORD: Final = ((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296))
_SRGB_TABLE: Final = 1024


@lru_cache(maxsize=8)
def icc_profile(name: str) -> bytes:
    """Return the bytes of a profile: ``grey gamma 2.2``, ``sRGB`` or ``Adobe RGB (1998)``."""
    tags = [(b"desc", _text_description(_NAMES[name])), (b"cprt", _text("No copyright, use freely"))]
    if name in _PRIMARIES:
        curve = _srgb_curve() if name == "sRGB" else _gamma_curve(563 / 256)
        colorants = _colorants(_PRIMARIES[name])
        tags += [(b"wtpt", _xyz(_white(_D65_XY)))]
        tags += [(tag, _xyz(one)) for tag, one in zip((b"rXYZ", b"gXYZ", b"bXYZ"), colorants, strict=True)]
        tags += [(tag, curve) for tag in (b"rTRC", b"gTRC", b"bTRC")]
    else:
        tags += [(b"wtpt", _xyz(_D50)), (b"kTRC", _gamma_curve(2.2))]
    return _assembled(b"RGB " if name in _PRIMARIES else b"GRAY", tags)


def _assembled(space: bytes, tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    at = 128 + 4 + 12 * len(tags)
    table, body = struct.pack(">I", len(tags)), b""
    placed: dict[bytes, int] = {}
    for tag, element in tags:  # equal elements (the three curves) stand once
        if element not in placed:
            placed[element] = at + len(body)
            body += element.ljust(-(-len(element) // 4) * 4, b"\0")
        table += tag + struct.pack(">II", placed[element], len(element))
    size = 128 + len(table) + len(body)
    header = struct.pack(">I4xI4s4s4s6H4s", size, 0x02400000, b"mntr", space, b"XYZ ", 2026, 1, 1, 0, 0, 0, b"acsp")
    header = header.ljust(64, b"\0") + struct.pack(">I", 0) + b"".join(_fixed(value) for value in _D50)
    return header.ljust(128, b"\0") + table + body


def _fixed(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _xyz(values: Triple) -> bytes:
    return b"XYZ \0\0\0\0" + b"".join(_fixed(value) for value in values)


def _text(words: str) -> bytes:
    return b"text\0\0\0\0" + words.encode("ascii") + b"\0"


def _text_description(words: str) -> bytes:
    plain = words.encode("ascii") + b"\0"
    # ICC.1:2001-04 §6.5.17: ASCII, then no Unicode and no Macintosh text.
    return b"desc\0\0\0\0" + struct.pack(">I", len(plain)) + plain + bytes(8 + 3 + 67)


def _gamma_curve(gamma: float) -> bytes:
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256))


def _srgb_curve() -> bytes:
    linear = [round(65535 * SRGB.decode(code / (_SRGB_TABLE - 1))) for code in range(_SRGB_TABLE)]
    return b"curv\0\0\0\0" + struct.pack(f">I{_SRGB_TABLE}H", _SRGB_TABLE, *linear)


def _white(xy: tuple[float, float]) -> Triple:
    x, y = xy
    return (x / y, 1.0, (1 - x - y) / y)


def _colorants(primaries: Sequence[tuple[float, float]]) -> list[Triple]:
    """Return the XYZ of each primary at full strength, adapted from D65 to D50."""
    columns = [_white(xy) for xy in primaries]
    matrix = tuple(zip(*columns, strict=True))
    strengths = _solved(matrix, _white(_D65_XY))
    scaled = [tuple(value * strength for value in one) for one, strength in zip(columns, strengths, strict=True)]
    return [_adapted((one[0], one[1], one[2])) for one in scaled]


def _adapted(xyz: Triple) -> Triple:
    cone = _times(_BRADFORD, xyz)
    cone_from, cone_to = _times(_BRADFORD, _white(_D65_XY)), _times(_BRADFORD, _D50)
    turned = (
        cone[0] * cone_to[0] / cone_from[0],
        cone[1] * cone_to[1] / cone_from[1],
        cone[2] * cone_to[2] / cone_from[2],
    )
    return _solved(_BRADFORD, turned)


def _times(matrix: Sequence[Sequence[float]], vector: Triple) -> Triple:
    one, two, three = (sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)
    return (one, two, three)


def _solved(matrix: Sequence[Sequence[float]], vector: Triple) -> Triple:
    """Return x of matrix · x = vector, by Cramer's rule."""
    whole = _determinant(matrix)
    found = []
    for column in range(3):
        changed = [[vector[r] if c == column else matrix[r][c] for c in range(3)] for r in range(3)]
        found.append(_determinant(changed) / whole)
    return (found[0], found[1], found[2])


def _determinant(m: Sequence[Sequence[float]]) -> float:
    return float(
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    )
