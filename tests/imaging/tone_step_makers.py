"""Tone steps at random, fit to be followed on a picture of at least 24 x 24 pixels."""

from __future__ import annotations

from hypothesis import strategies as st

from catalog.imaging.tone_steps import CODINGS, ToneStep, check_steps, tone_step

SMALLEST_PX = 24


def _numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda number: round(number, 4))


def _rising(low: float, high: float) -> st.SearchStrategy[list[tuple[float, float]]]:
    whole = st.lists(st.integers(0, 1000), min_size=2, max_size=6, unique=True).map(sorted)
    return st.tuples(whole, whole).map(
        lambda axes: [
            (low + x * (high - low) / 1000, low + y * (high - low) / 1000) for x, y in zip(*axes, strict=False)
        ]
    )


@st.composite
def tone_steps(draw: st.DrawFn, *, turning: bool = True, colour: bool = True) -> tuple[ToneStep, ...]:
    """Draw steps: any turning, then some of those that set the tone."""
    steps: list[ToneStep] = []
    if turning:
        # Twice four pixels are cut off at most, and a little by straightening: there is always something left.
        crop = st.builds(
            lambda left, top: tone_step("crop", left=left, top=top, width=8, height=8),
            st.integers(0, 4),
            st.integers(0, 4),
        )
        plain = st.one_of(
            st.builds(lambda turn: tone_step("orient", orientation=turn), st.integers(1, 8)),
            st.just(tone_step("mirror")),
        )
        steps += draw(st.lists(plain, max_size=3))
        steps += draw(st.lists(st.builds(lambda a: tone_step("straighten", angle_deg=a), _numbers(-5, 5)), max_size=1))
        steps += draw(st.lists(crop, max_size=1))
    coding = draw(st.none() | st.sampled_from(CODINGS) | _numbers(1.0, 3.0))
    if coding is not None:
        steps.append(tone_step("coding", values=coding))
    is_negative = draw(st.booleans())
    if is_negative:
        steps.append(tone_step("invert"))
    channels = st.lists(_numbers(0.0, 0.9), min_size=3, max_size=3) if colour else _numbers(0.0, 0.9)
    if draw(st.booleans()):
        steps.append(tone_step("base", density=draw(channels)))
    if draw(st.booleans()):
        steps.append(tone_step("neutral", density=draw(channels)))
    if draw(st.booleans()):
        low, span = draw(_numbers(0.0, 1.0)), draw(_numbers(0.05, 2.0))
        ends = (low, low + span) if is_negative else (low + span, low)
        steps.append(tone_step("points", black_d=ends[0], white_d=ends[1]))
    if draw(st.booleans()):
        steps.append(tone_step("film", gamma=draw(_numbers(0.3, 2.0))))
    curve = draw(st.sampled_from(("grade", "gamma", "points", "")))
    if curve:
        value = {"grade": _numbers(0, 5), "gamma": _numbers(0.3, 3.0), "points": _rising(0, 100), "": st.none()}[curve]
        steps.append(tone_step("curve", **{curve: draw(value)}))
    return check_steps(steps)
