"""How a scan's values stand for light, as far as its profile, its kind or its metadata says."""

from __future__ import annotations

import struct
from typing import Final

from catalog.imaging.scan_file import ScanFile

MAX_TABLE: Final = 65_536


def coding_of(facts: ScanFile, profile: bytes | None) -> tuple[str | float | None, str]:
    """Return a scan's coding as a tone step names it, None if it is not known, and why."""
    if profile:
        found = _coding_of_profile(profile)
        name = facts.profile or "unnamed profile"
        return (
            found,
            f"its profile ({name}) says so" if found is not None else f"its profile ({name}) has no plain curve",
        )
    if facts.colour == "linear raw":
        return "linear", "linear raw values, as a DNG holds them"
    if facts.kind == "JPEG":
        return "sRGB", "a JPEG without a profile, taken for sRGB as is usual"
    if any("sRGB" in note for note in facts.notes):
        return "sRGB", "the file declares sRGB"
    return None, "no profile and nothing else in the file says how its values stand for light"


def _coding_of_profile(profile: bytes) -> str | float | None:
    """Return the coding that the curve of grey, or of green, amounts to."""
    for tag in (b"kTRC", b"gTRC"):
        element = _element(profile, tag)
        if element[:4] == b"curv":
            return _coding_of_curve(element)
        if element[:4] == b"para":
            return _coding_of_parameters(element)
    return None


def _element(profile: bytes, tag: bytes) -> bytes:
    # ICC.1:2010 §7.3: a count, then entries of tag, offset and size.
    for index in range(min(int.from_bytes(profile[128:132]), 1_000)):
        at = 132 + 12 * index
        if profile[at : at + 4] == tag:
            offset, size = struct.unpack_from(">II", profile[at + 4 : at + 12].ljust(8, b"\0"))
            return profile[offset : offset + size]
    return b""


def _coding_of_curve(element: bytes) -> str | float | None:
    # ICC.1:2010 §10.5: no entry is the identity, one a gamma in 8.8 fixed point, more a table of 16 bits.
    count = int.from_bytes(element[8:12])
    if count == 0:
        return "linear"
    if len(element) < 12 + 2 * min(count, MAX_TABLE):
        return None
    if count == 1:
        return _named(int.from_bytes(element[12:14]) / 256)
    if count > MAX_TABLE:
        return None
    table = struct.unpack_from(f">{count}H", element, 12)
    return _nearest(
        [(at / (count - 1), table[at] / 65_535) for at in range(count // 8, count - 1, max(1, count // 64))]
    )


def _coding_of_parameters(element: bytes) -> str | float | None:
    # ICC.1:2010 §10.15: type 0 is a gamma; type 3 has a straight foot, as sRGB has.
    if len(element) < 16:
        return None
    kind, gamma = int.from_bytes(element[8:10]), int.from_bytes(element[12:16], signed=True) / 65_536
    if kind == 0:
        return _named(gamma)
    if kind == 3 and abs(gamma - 2.4) < 0.01:
        return "sRGB"
    return None


def _named(gamma: float) -> str | float | None:
    if not 0.5 <= gamma <= 4.0:
        return None
    if abs(gamma - 1.0) < 0.01:
        return "linear"
    for name in ("1.8", "2.2"):
        if abs(gamma - float(name)) < 0.005:
            return f"gamma {name}"
    return round(gamma, 4)


def _nearest(points: list[tuple[float, float]]) -> str | float | None:
    """Return the coding that comes within a hundredth of a curve's points, None if none does."""
    from catalog.imaging.tone_scales import SRGB, luminance_of_lightness

    candidates: dict[str, float] = {
        "sRGB": max(abs(SRGB.decode(x) - y) for x, y in points),
        "L*": max(abs(luminance_of_lightness(100.0 * x) - y) for x, y in points),
        "linear": max(abs(x - y) for x, y in points),
        "gamma 1.8": max(abs(x**1.8 - y) for x, y in points),
        "gamma 2.2": max(abs(x**2.2 - y) for x, y in points),
    }
    best = min(candidates, key=lambda name: candidates[name])
    return best if candidates[best] < 0.01 else None
