"""
Read the tone curves of a colour profile: how its codes stand for light.

Source: ICC.1:2010 (profile version 4.3) §7.2 header, §7.3 tag table, §8.3 and §8.4 input and display profiles,
§10.5 curveType, §10.15 parametricCurveType, §10.27 XYZType.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass

from catalog.standards.icc import MAX_TAGS

MAX_TABLE = 65_536
# §10.15, table 65: the number of parameters of each function.
_PARAMETERS = (1, 3, 4, 5, 7)


@dataclass(frozen=True, slots=True)
class IccCurve:
    """
    One curve: a ``table`` of values 0 to 1 at even steps, or the ``parameters`` g, a, b, c, d, e, f.

    Without a table: (a x + b) to the power g, and e, from x = d up; c x + f below it.
    """

    table: tuple[float, ...] = ()
    parameters: tuple[float, ...] = (1.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class IccTones:
    """The curves of a profile: one for grey, three for RGB, with what each channel gives to the luminance."""

    curves: tuple[IccCurve, ...]
    weights: tuple[float, ...]
    is_lightness: bool = False
    """The curve of a grey profile connected by Lab gives L* / 100, not light."""


def read_icc_tones(profile: bytes) -> IccTones | None:
    """Return the tone curves of a grey or RGB profile; None where it has none, or tables of colours instead."""
    if profile[36:40] != b"acsp":
        return None
    # §7.2.6 and §7.2.7: the colour space of the device, and the one it is connected by.
    space, connection = profile[16:20], profile[20:24]
    tags = _tags(profile)
    if space == b"GRAY":
        grey = _curve(tags.get(b"kTRC", b""))
        return IccTones((grey,), (1.0,), connection == b"Lab ") if grey else None
    if space != b"RGB " or connection != b"XYZ ":
        return None
    curves = [_curve(tags.get(name, b"")) for name in (b"rTRC", b"gTRC", b"bTRC")]
    weights = [_luminance(tags.get(name, b"")) for name in (b"rXYZ", b"gXYZ", b"bXYZ")]
    given = tuple(curve for curve in curves if curve), tuple(weight for weight in weights if weight is not None)
    # The three colorants together are the white: their luminances make 1, and none of them takes light away.
    if len(given[0]) < 3 or len(given[1]) < 3 or min(given[1]) < -0.01 or not 0.98 < sum(given[1]) < 1.02:
        return None
    return IccTones(given[0], given[1])


def _tags(profile: bytes) -> dict[bytes, bytes]:
    found: dict[bytes, bytes] = {}
    for index in range(min(int.from_bytes(profile[128:132]), MAX_TAGS)):
        at = 132 + 12 * index
        offset, size = int.from_bytes(profile[at + 4 : at + 8]), int.from_bytes(profile[at + 8 : at + 12])
        found.setdefault(profile[at : at + 4], profile[offset : offset + size])
    return found


def _curve(element: bytes) -> IccCurve | None:
    if element[:4] == b"curv":
        return _plain_curve(element)
    if element[:4] == b"para":
        return _parametric_curve(element)
    return None


def _plain_curve(element: bytes) -> IccCurve | None:
    # §10.5: no entry is the identity, one a gamma in u8Fixed8, more are a table.
    count = int.from_bytes(element[8:12])
    if len(element) < 12 or count > MAX_TABLE or len(element) < 12 + 2 * count:
        return None
    values = struct.unpack_from(f">{count}H", element, 12)
    if not values:
        return IccCurve()
    if count == 1:
        return _power((values[0] / 256,)) if values[0] else None
    return IccCurve(tuple(value / 65535 for value in values))


def _parametric_curve(element: bytes) -> IccCurve | None:
    function = int.from_bytes(element[8:10])
    if len(element) < 12 or function >= len(_PARAMETERS):
        return None
    count = _PARAMETERS[function]
    if len(element) < 12 + 4 * count:
        return None
    given = tuple(value / 65536 for value in struct.unpack_from(f">{count}i", element, 12))
    return _power(given) if given[0] > 0 and (count == 1 or given[1] != 0) else None


def _power(given: Sequence[float]) -> IccCurve:
    """Return a curve with all seven parameters, whichever function leaves some of them out (§10.15, table 65)."""
    if len(given) == 1:
        return IccCurve(parameters=(given[0], 1.0, 0.0, 0.0, 0.0, 0.0, 0.0))
    g, a, b = given[:3]
    if len(given) == 3:
        return IccCurve(parameters=(g, a, b, 0.0, -b / a, 0.0, 0.0))
    if len(given) == 4:
        return IccCurve(parameters=(g, a, b, 0.0, -b / a, given[3], given[3]))
    rest = tuple(given[3:])
    return IccCurve(parameters=(g, a, b, *rest, *(0.0,) * (4 - len(rest))))


def _luminance(element: bytes) -> float | None:
    # §10.27: X, Y, Z in s15Fixed16.
    if element[:4] != b"XYZ " or len(element) < 20:
        return None
    return float(struct.unpack_from(">i", element, 12)[0]) / 65536
