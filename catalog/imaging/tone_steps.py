"""
What was done to a scan to make its positive: tone steps as data, in JSON, and in words.

A step is a kind and its parameters, every number resolved, so that replaying it measures nothing again.
Steps that turn or cut (orient, mirror, crop, straighten) act in the order they stand in, on the scan as it
is. The others set the tone: each stands at most once, and all of them act together, after the turning, as one
table of tones a channel. Densities are logarithms to base 10 of 1 / transmittance.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from catalog.errors import ToneStepError

Value = int | float | str | tuple[float, ...] | tuple[tuple[float, float], ...]

MAX_STEPS: Final = 64
MAX_TEXT: Final = 1 << 16
MAX_DENSITY: Final = 6.0
MAX_SIDE_PX: Final = 1 << 26

CODINGS: Final = ("gamma 2.2", "gamma 1.8", "linear", "sRGB", "L*")
"""How a scan's values stand for transmittance. A number in place of a name is a gamma of its own."""
PROFILES: Final = ("grey gamma 2.2", "sRGB", "Adobe RGB (1998)")
TURNING: Final = frozenset(("orient", "mirror", "crop", "straighten"))


@dataclass(frozen=True, slots=True)
class ToneStep:
    """One step: what is done, and with what numbers, in the order the kind lists them."""

    kind: str
    parameters: tuple[tuple[str, Value], ...] = ()

    def __getitem__(self, name: str) -> Any:
        """Return a parameter's value. ``KeyError`` if the step has none of that name."""
        return dict(self.parameters)[name]

    def get(self, name: str, default: Any = None) -> Any:
        """Return a parameter's value, ``default`` if the step has none of that name."""
        return dict(self.parameters).get(name, default)


def tone_step(kind: str, **parameters: Any) -> ToneStep:
    """
    Return a step, its parameters looked over.

    >>> tone_step("points", black_d=0.18, white_d=1.31)["white_d"]
    1.31

    Raises:
        ToneStepError: there is no such kind, or a parameter is missing, unknown or out of bounds.
    """
    spec = _KINDS.get(kind) if isinstance(kind, str) else None
    if spec is None:
        raise ToneStepError(f"{kind!r} is no tone step; there are {', '.join(_KINDS)}")
    if unknown := [name for name in parameters if name not in spec.parameters]:
        raise ToneStepError(f"{kind} has no {unknown[0]!r}; it takes {', '.join(spec.parameters) or 'nothing'}")
    read: list[tuple[str, Value]] = []
    for name, reader in spec.parameters.items():
        if name in parameters:
            read.append((name, reader(f"{kind} {name}", parameters[name])))
        elif name in spec.needed:
            raise ToneStepError(f"{kind} needs {name}")
    if spec.one_of and len(read) != 1:
        raise ToneStepError(f"{kind} takes exactly one of {', '.join(spec.parameters)}")
    return ToneStep(kind, tuple(read))


def parse_steps(json_text: str) -> tuple[ToneStep, ...]:
    """
    Return the steps of a JSON list: ``[{"kind": "invert"}, {"kind": "base", "density": [0.21]}, ...]``.

    Raises:
        ToneStepError: it is no such list, or a step or the whole of them is not fit to be followed.
    """
    if len(json_text) > MAX_TEXT:
        raise ToneStepError(f"they take more than {MAX_TEXT} characters")
    try:
        listed = json.loads(json_text)
    except (ValueError, RecursionError) as exc:
        raise ToneStepError(f"they are not JSON ({exc})") from exc
    if not isinstance(listed, list):
        raise ToneStepError("they are not a list")
    steps = []
    for place, given in enumerate(listed, 1):
        if not isinstance(given, dict) or "kind" not in given:
            raise ToneStepError(f"step {place} has no kind")
        try:
            steps.append(tone_step(given["kind"], **{name: given[name] for name in given if name != "kind"}))
        except ToneStepError as exc:
            raise ToneStepError(f"step {place}: {exc.reason}") from exc
    return check_steps(steps)


def check_steps(steps: Iterable[ToneStep]) -> tuple[ToneStep, ...]:
    """
    Return steps that can be followed together.

    Raises:
        ToneStepError: there are too many, one that sets the tone stands twice, or two contradict each other.
    """
    found = tuple(steps)
    if len(found) > MAX_STEPS:
        raise ToneStepError(f"there are more than {MAX_STEPS}")
    kinds = [step.kind for step in found if step.kind not in TURNING]
    if twice := next((kind for kind in kinds if kinds.count(kind) > 1), None):
        raise ToneStepError(f"{twice} stands twice; one of them is enough")
    points = find_step(found, "points")
    is_negative = "invert" in kinds
    if points and (points["black_d"] < points["white_d"]) != is_negative:
        lower, higher = ("black", "white") if is_negative else ("white", "black")
        what = "an inverted picture" if is_negative else "a picture that is not inverted"
        raise ToneStepError(f"points: in {what}, {lower} lies at the lower density, {higher} at the higher")
    return found


def find_step(steps: Iterable[ToneStep], kind: str) -> ToneStep | None:
    """Return the first step of a kind, None if there is none."""
    return next((step for step in steps if step.kind == kind), None)


def with_step(steps: Sequence[ToneStep], step: ToneStep) -> tuple[ToneStep, ...]:
    """Return steps with one put in place of the first of its kind, else at the end (before the output)."""
    kinds = [one.kind for one in steps]
    if step.kind in kinds:
        at = kinds.index(step.kind)
        return (*steps[:at], step, *steps[at + 1 :])
    at = kinds.index("output") if "output" in kinds else len(steps)
    return (*steps[:at], step, *steps[at:])


def format_steps(steps: Iterable[ToneStep]) -> str:
    """Return steps as JSON, always in the same spelling: ``parse_steps`` gives equal steps back."""
    listed = [{"kind": step.kind} | {name: _plain(value) for name, value in step.parameters} for step in steps]
    return json.dumps(listed, ensure_ascii=False, separators=(", ", ": "))


def words_of_steps(steps: Iterable[ToneStep]) -> str:
    """
    Return steps in words, in their order.

    >>> words_of_steps((tone_step("invert"), tone_step("base", density=[0.21]), tone_step("curve", grade=2)))
    'inverted; base 0.21 removed; grade 2'
    """
    return "; ".join(_KINDS[step.kind].words(step) for step in steps) or "as it was scanned"


def _plain(value: Value) -> Any:
    """Return a value as JSON holds it; a whole number without its point."""
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


# -- readers: a value as it came, to the value that is kept ------------------------------------------------


def _number(low: float, high: float) -> Callable[[str, Any], float]:
    def read(where: str, given: Any) -> float:
        if isinstance(given, bool) or not isinstance(given, int | float):
            raise ToneStepError(f"{where}: {given!r} is no number")
        if not low <= given <= high:  # also refuses what is not a number at all
            raise ToneStepError(f"{where}: {given:g} is not between {low:g} and {high:g}")
        return float(given) + 0.0  # -0.0 and 0.0 are the same tone, and one spelling

    return read


def _whole(low: int, high: int) -> Callable[[str, Any], int]:
    def read(where: str, given: Any) -> int:
        number = _number(low, high)(where, given)
        if not number.is_integer():
            raise ToneStepError(f"{where}: {given:g} is no whole number")
        return int(number)

    return read


def _channels(low: float, high: float) -> Callable[[str, Any], tuple[float, ...]]:
    one = _number(low, high)

    def read(where: str, given: Any) -> tuple[float, ...]:
        values = given if isinstance(given, list | tuple) else [given]
        if len(values) not in (1, 3):
            raise ToneStepError(f"{where}: one number for grey or three for red, green and blue")
        return tuple(one(where, value) for value in values)

    return read


def _curve_points(low: float, high: float) -> Callable[[str, Any], tuple[tuple[float, float], ...]]:
    one = _number(low, high)

    def read(where: str, given: Any) -> tuple[tuple[float, float], ...]:
        if not isinstance(given, list | tuple) or not 2 <= len(given) <= 64:
            raise ToneStepError(f"{where}: between 2 and 64 pairs of numbers")
        if not all(isinstance(pair, list | tuple) and len(pair) == 2 for pair in given):
            raise ToneStepError(f"{where}: each point is a pair of numbers")
        pairs = tuple((one(where, x), one(where, y)) for x, y in given)
        if any(not (b[0] - a[0] > 1e-6 and b[1] >= a[1]) for a, b in pairwise(pairs)):
            raise ToneStepError(f"{where}: the points must rise from first to last")
        return pairs

    return read


def _coding(where: str, given: Any) -> str | float:
    if isinstance(given, str):
        return _one_of(CODINGS)(where, given)
    return _number(0.5, 4.0)(where, given)


def _one_of(names: Sequence[str]) -> Callable[[str, Any], str]:
    def read(where: str, given: Any) -> str:
        if given not in names:
            raise ToneStepError(f"{where}: {given!r} is none of {', '.join(names)}")
        return str(given)

    return read


# -- words ---------------------------------------------------------------------------------------------------

_ORIENT_WORDS: Final = {
    1: "as it lies", 2: "mirrored left to right", 3: "turned by 180°", 4: "mirrored top to bottom",
    5: "turned 90° to the left and mirrored top to bottom", 6: "turned 90° to the right",
    7: "turned 90° to the right and mirrored top to bottom", 8: "turned 90° to the left",
}  # fmt: skip


def _channel_words(values: tuple[float, ...], form: str = ".2f") -> str:
    return "/".join(format(value, form) for value in values)


def _points_words(step: ToneStep) -> str:
    return f"black at D {step['black_d']:.2f}, white at D {step['white_d']:.2f}"


def _neutral_words(step: ToneStep) -> str:
    words = f"neutral set by {_channel_words(step['density'], '+.2f')}"
    slope = step.get("slope")
    return words if slope is None else f"{words}, contrast of the layers by {_channel_words(slope)}"


def _curve_words(step: ToneStep) -> str:
    if points := step.get("points"):
        return "curve through " + ", ".join(f"{x:g}→{y:g}" for x, y in points)
    ((name, value),) = step.parameters
    return f"{name} {value:g}"


def _film_words(step: ToneStep) -> str:
    if points := step.get("points"):
        return f"film curve of {len(points)} points"
    return f"film of gamma {step['gamma']:g}"


def _coding_words(step: ToneStep) -> str:
    coding = step["values"]
    return f"values read as {coding}" if isinstance(coding, str) else f"values read as gamma {coding:g}"


def _crop_words(step: ToneStep) -> str:
    return f"cropped to {step['width']}x{step['height']} px at {step['left']}, {step['top']}"


def _straighten_words(step: ToneStep) -> str:
    angle = step["angle_deg"]
    return f"straightened by {abs(angle):g}° to the {'right' if angle >= 0 else 'left'}"


@dataclass(frozen=True, slots=True)
class _Kind:
    parameters: dict[str, Callable[[str, Any], Value]]
    words: Callable[[ToneStep], str]
    needed: tuple[str, ...] = ()
    one_of: bool = False


_DENSITY: Final = _number(-1.0, MAX_DENSITY)
_SIDE: Final = _whole(1, MAX_SIDE_PX)
_KINDS: Final[dict[str, _Kind]] = {
    # TIFF 6.0, tag 274: the side of the picture that the first row and column of the file are.
    "orient": _Kind({"orientation": _whole(1, 8)}, lambda step: _ORIENT_WORDS[step["orientation"]], ("orientation",)),
    "mirror": _Kind({}, lambda step: "mirrored, because it was scanned wrong side up"),
    "crop": _Kind(
        {"left": _whole(0, MAX_SIDE_PX), "top": _whole(0, MAX_SIDE_PX), "width": _SIDE, "height": _SIDE},
        _crop_words,
        ("left", "top", "width", "height"),
    ),
    "straighten": _Kind({"angle_deg": _number(-45.0, 45.0)}, _straighten_words, ("angle_deg",)),
    "coding": _Kind({"values": _coding}, _coding_words, ("values",)),
    "invert": _Kind({}, lambda step: "inverted"),
    "base": _Kind(
        {"density": _channels(-1.0, MAX_DENSITY)},
        lambda step: f"base {_channel_words(step['density'])} removed",
        ("density",),
    ),
    "neutral": _Kind(
        {"density": _channels(-2.0, 2.0), "slope": _channels(0.25, 4.0)}, _neutral_words, ("density",)
    ),
    "points": _Kind({"black_d": _DENSITY, "white_d": _DENSITY}, _points_words, ("black_d", "white_d")),
    "film": _Kind(
        {"gamma": _number(0.1, 4.0), "points": _curve_points(-MAX_DENSITY, MAX_DENSITY)}, _film_words, one_of=True
    ),
    "curve": _Kind(
        {"grade": _number(0.0, 5.0), "gamma": _number(0.1, 6.0), "points": _curve_points(0.0, 100.0)},
        _curve_words,
        one_of=True,
    ),
    "output": _Kind({"profile": _one_of(PROFILES)}, lambda step: str(step["profile"]), ("profile",)),
}  # fmt: skip
