"""
Known tones through the whole of it: a real photograph made a negative and back, and a step wedge.

The photograph is ``china.jpg`` of scikit-learn (a building; 640 x 427 px), which serves these tests only.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import tifffile

from catalog.imaging.positives import propose_steps, write_positive
from catalog.imaging.scan_reading import density_at, read_tones
from catalog.imaging.tone_counts import count_tones
from catalog.imaging.tone_report import report_tones
from catalog.imaging.tone_scales import SRGB, gamma_coding, lightness_of_luminance
from catalog.imaging.tone_steps import tone_step
from tests.published.zone_negatives import FILM_POINTS, GRAIN, MASK, ZONE_DENSITIES, densities_of, write_negative

WEIGHTS = np.array(SRGB.luminance_weights)


@pytest.fixture(scope="module")
def photograph():
    """The photograph as linear light, rows x columns x channels."""
    datasets = pytest.importorskip("sklearn.datasets")
    return SRGB.decode(datasets.load_sample_image("china.jpg") / 255)


def lightness_of_file(path: Path, box) -> np.ndarray:
    """The L* of a written positive, where the photograph lies in it."""
    (left, top), (height, width) = box
    values = tifffile.imread(path)[top : top + height, left : left + width] / 65535
    light = gamma_coding(2.2).decode(values) if values.ndim == 2 else SRGB.decode(values) @ WEIGHTS
    return lightness_of_luminance(light)


def known_film(reading):
    """Steps that know the film's curve, as a photographer who has measured it does; the base is read."""
    return [
        tone_step("coding", values="gamma 2.2"),
        tone_step("invert"),
        tone_step("base", density=list(reading.base)),
        tone_step("points", black_d=ZONE_DENSITIES[0], white_d=ZONE_DENSITIES[-1]),
        tone_step("film", points=FILM_POINTS),
    ]


def errors(found, expected):
    """Mean and 95th percentile of the error in L*."""
    apart = np.abs(found - expected)
    return float(apart.mean()), float(np.percentile(apart, 95))


# Densities: Table 51 of nhchau.com (35 mm T-Max 100, condenser), see zone_negatives. Error in L*: mean 0.0011, 95th
# percentile 0.0031 without grain; 0.19 and 0.49 with a grain of D 0.003, all of it the grain's.
@pytest.mark.parametrize(("grain", "bounds"), [(0.0, (0.003, 0.01)), (GRAIN, (0.25, 0.6))], ids=["even", "grained"])
def test_a_photograph_comes_back_from_its_grey_negative(tmp_path, photograph, grain, bounds):
    lightness = lightness_of_luminance(photograph @ WEIGHTS)
    at = write_negative(tmp_path / "n.tif", densities_of(lightness), (0.27,), grain)

    reading = read_tones(tmp_path / "n.tif")
    write_positive(tmp_path / "n.tif", known_film(reading), tmp_path / "p.tif")

    assert reading.polarity == "negative"
    assert reading.base == pytest.approx((0.27,), abs=0.01)
    found = errors(lightness_of_file(tmp_path / "p.tif", (at, lightness.shape)), lightness)
    assert found[0] < bounds[0]
    assert found[1] < bounds[1]


# The same densities in each layer, above a mask of its own. Measured: mean 0.0010 and 95th percentile 0.0026 without
# grain, 0.14 and 0.37 with it.
@pytest.mark.parametrize(("grain", "bounds"), [(0.0, (0.003, 0.01)), (GRAIN, (0.25, 0.6))], ids=["even", "grained"])
def test_a_photograph_comes_back_from_its_colour_negative(tmp_path, photograph, grain, bounds):
    at = write_negative(tmp_path / "n.tif", densities_of(lightness_of_luminance(photograph)), MASK, grain)

    reading = read_tones(tmp_path / "n.tif")
    steps = [*known_film(reading), tone_step("output", profile="sRGB")]
    write_positive(tmp_path / "n.tif", steps, tmp_path / "p.tif")

    assert reading.base == pytest.approx(MASK, abs=0.01)
    lightness = lightness_of_luminance(photograph @ WEIGHTS)
    found = errors(lightness_of_file(tmp_path / "p.tif", (at, lightness.shape)), lightness)
    assert found[0] < bounds[0]
    assert found[1] < bounds[1]


# Without the film's curve a print has its paper's: grade 2 of the proposal is another rendering, darker in the middle.
# Measured: mean 9.5, 95th percentile 23.0 in grey, 9.0 and 22.6 in colour. The order of the tones stays.
@pytest.mark.parametrize("base", [(0.27,), MASK], ids=["grey", "colour"])
def test_the_proposed_positive_keeps_the_order_of_the_tones(tmp_path, photograph, base):
    lightness = lightness_of_luminance(photograph @ WEIGHTS)
    of = lightness if len(base) == 1 else lightness_of_luminance(photograph)
    at = write_negative(tmp_path / "n.tif", densities_of(of), base)

    steps = propose_steps(read_tones(tmp_path / "n.tif"), profile=None if len(base) == 1 else "sRGB")
    write_positive(tmp_path / "n.tif", steps, tmp_path / "p.tif")
    found = lightness_of_file(tmp_path / "p.tif", (at, lightness.shape))

    mean, worst = errors(found, lightness)
    assert mean < 11
    assert worst < 25
    ranks = [np.argsort(np.argsort(tones.ravel())) for tones in (found, lightness)]
    assert np.corrcoef(*ranks)[0, 1] > 0.995


def test_the_tones_of_a_negative_are_reported_as_the_photograph_has_them(tmp_path, photograph):
    lightness = lightness_of_luminance(photograph @ WEIGHTS)
    at = write_negative(tmp_path / "n.tif", densities_of(lightness), (0.27,))
    reading = read_tones(tmp_path / "n.tif")
    box = (*at, lightness.shape[1], lightness.shape[0])

    count, _, sides = count_tones(tmp_path / "n.tif", known_film(reading), within=box)

    expected = np.histogram(lightness, [0, 5, 15, 25, 35, 45, 55, 65, 75, 85, 95, 100.001])[0] / lightness.size
    assert sides == lightness.shape[::-1]
    assert [zone.share for zone in report_tones(count).zones] == pytest.approx(expected, abs=0.01)


# A wedge of 21 steps of D 0.15, as photographic step tablets have them (0.05 to 3.05; common practice, from memory).
WEDGE = [0.05 + 0.15 * step for step in range(21)]


def a_wedge(path: Path, coding: float, shape: tuple[int, int] = (12, 10)) -> Path:
    row = np.repeat(np.array(WEDGE), shape[1])
    light = np.broadcast_to(10.0**-row, (shape[0], len(row)))
    tifffile.imwrite(path, np.rint(light ** (1 / coding) * 65535).astype(np.uint16))
    return path


def middles(path: Path) -> np.ndarray:
    values = tifffile.imread(path)[6, 5::10] / 65535
    return lightness_of_luminance(gamma_coding(2.2).decode(values))


@pytest.mark.parametrize(("coding", "gamma"), [("gamma 2.2", 2.2), ("gamma 1.8", 1.8), ("linear", 1.0)])
def test_a_step_wedge_is_read_at_its_densities(tmp_path, coding, gamma):
    reading = read_tones(a_wedge(tmp_path / "w.tif", gamma), coding=coding, polarity="negative")

    # Each step is 1/21 of the picture, so that these percentages all lie well within one.
    for percent in range(10, 91, 5):
        expected = WEDGE[percent * 21 // 100]
        assert density_at(reading.densities[0], percent) == pytest.approx(expected, abs=0.01), percent
    assert density_at(reading.densities[0], 0.1) == pytest.approx(0.05, abs=0.001)
    assert density_at(reading.densities[0], 99.9) == pytest.approx(3.05, abs=0.01)
    assert reading.density_range == pytest.approx(3.0, abs=0.01)


# Without a curve, equal steps of density are equal steps of L*: from the black point to the white.
@pytest.mark.parametrize(("coding", "gamma"), [("gamma 2.2", 2.2), ("gamma 1.8", 1.8), ("linear", 1.0)])
def test_a_step_wedge_becomes_even_steps_of_lightness(tmp_path, coding, gamma):
    steps = [
        tone_step("coding", values=coding),
        tone_step("invert"),
        tone_step("base", density=[0.05]),
        tone_step("points", black_d=0.0, white_d=3.0),
    ]
    write_positive(a_wedge(tmp_path / "w.tif", gamma), steps, tmp_path / "p.tif")

    # 16 linear bits hold D 3.05 in steps of D 0.007, which is 0.25 of L* here.
    assert middles(tmp_path / "p.tif") == pytest.approx([5.0 * step for step in range(21)], abs=0.25)


def test_points_cut_a_step_wedge_where_they_lie(tmp_path):
    steps = [tone_step("coding", values="gamma 2.2"), tone_step("invert"), tone_step("base", density=[0.05]),
             tone_step("points", black_d=0.3, white_d=1.5)]  # fmt: skip
    write_positive(a_wedge(tmp_path / "w.tif", 2.2), steps, tmp_path / "p.tif")

    expected = [min(max((0.15 * step - 0.3) / 1.2, 0.0), 1.0) * 100 for step in range(21)]
    assert middles(tmp_path / "p.tif") == pytest.approx(expected, abs=0.1)


def test_a_curve_takes_a_step_wedge_through_its_points(tmp_path):
    steps = [tone_step("coding", values="gamma 2.2"), tone_step("invert"), tone_step("base", density=[0.05]),
             tone_step("points", black_d=0.0, white_d=3.0),
             tone_step("curve", points=[[0, 0], [25, 15], [75, 90], [100, 100]])]  # fmt: skip
    write_positive(a_wedge(tmp_path / "w.tif", 2.2), steps, tmp_path / "p.tif")

    found = middles(tmp_path / "p.tif")
    assert found[[0, 5, 15, 20]] == pytest.approx([0, 15, 90, 100], abs=0.2)
    assert all(np.diff(found) > 0)


def test_a_positive_wedge_keeps_its_own_lightness(tmp_path):
    steps = [tone_step("coding", values="gamma 2.2"), tone_step("output", profile="grey gamma 2.2")]
    write_positive(a_wedge(tmp_path / "w.tif", 2.2), steps, tmp_path / "p.tif")

    # CIE 15 on Y = 10^-D: check values for D 0.05 and 0.5, 2.0 stand in test_tone_scales.
    expected = lightness_of_luminance(10.0 ** -np.array(WEDGE))
    assert middles(tmp_path / "p.tif") == pytest.approx(expected, abs=0.02)
