"""What is read from a scan's pixels: polarity, base, where the picture lies, which side was up."""

from __future__ import annotations

import numpy as np
import pytest
import tifffile

from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.positives import propose_steps, small_positive
from catalog.imaging.scan_reading import density_at, read_tones
from sample_archive.draw import draw_scans
from sample_archive.film import FILMS

# The drawn scanner's open glass is 62,900 of 65,535 at gamma 2.2, so that all densities read 0.039 higher.
GLASS_D = -2.2 * np.log10(62_900 / 65_535)
# What shows the picture (rows x columns) as orientation says; TIFF 6.0, tag 274.
SEEN = {
    1: lambda a: a, 2: lambda a: a[:, ::-1], 3: lambda a: a[::-1, ::-1], 4: lambda a: a[::-1],
    5: lambda a: a.swapaxes(0, 1), 6: lambda a: np.rot90(a, -1), 7: lambda a: a[::-1, ::-1].swapaxes(0, 1),
    8: lambda a: np.rot90(a, 1),
}  # fmt: skip
STORED = {**SEEN, 6: SEEN[8], 8: SEEN[6]}
"""What stores a picture so that its orientation tag shows it right: turns undo each other."""


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    """Draw some scans of the sample archive, by sheet number."""
    wanted = ("78-14", "79-10", "82-08", "82-09", "05-03", "74-03", "79-21", "81-02")
    paths = draw_scans(tmp_path_factory.mktemp("scans"), only=wanted)
    return {path.name[:5]: path for path in paths if "ferry" not in path.name}


def a_scan(folder, pixels, **options):
    path = folder / "78-014.tif"
    tifffile.imwrite(path, np.ascontiguousarray(pixels), **options)
    return path


def a_sheet(
    *, base=0.2, picture=None, height=600, width=760, rebate=30, glass=8, film_d=None, notch="right top"
) -> np.ndarray:
    """Return the densities of a sheet on open glass, its picture a ramp from 0.1 to 1.2 above base."""
    ramp = base + np.linspace(0.1, 1.2, (width - 2 * (rebate + glass)))[None, :] if picture is None else picture
    whole = np.zeros((height, width))
    whole[glass:-glass, glass:-glass] = base if film_d is None else film_d
    whole[glass + rebate : -glass - rebate, glass + rebate : -glass - rebate] = ramp
    if notch:
        edge, end = notch.split()
        rows = slice(60, 72) if end == "top" else slice(-72, -60)
        columns = slice(-glass - 9, None) if edge == "right" else slice(0, glass + 9)
        whole[rows, columns] = 0.0
    return whole


def values_of(densities: np.ndarray) -> np.ndarray:
    """Return the 16-bit values of gamma 2.2 that stand for densities."""
    return np.rint(65_535 * 10.0 ** (-densities / 2.2)).astype(np.uint16)


# -- the drawn archive ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "film"), [("78-14", "pan100"), ("79-10", "pan100"), ("74-03", "roll"), ("79-21", "pan400"),
                         ("81-02", "pan400"), ("82-08", "colour")],
)  # fmt: skip
def test_a_drawn_negative_is_known_by_its_clear_rebate(drawn, number, film):
    reading = read_tones(drawn[number])

    assert reading.polarity == "negative"
    # Scatter of the drawn grain and rounding in the copy: well under a tenth of a density.
    assert reading.base == pytest.approx([one + GLASS_D for one in FILMS[film].base_fog], abs=0.02)
    assert reading.has_rebate


def test_a_drawn_transparency_is_known_by_its_dark_rebate(drawn):
    reading = read_tones(drawn["05-03"])

    assert (reading.polarity, reading.base) == ("positive", None)
    assert "the rebate is dark" in reading.polarity_reason


def test_a_blank_sheet_is_neither_negative_nor_positive(drawn):
    reading = read_tones(drawn["82-09"])

    assert reading.polarity == "unknown"
    assert "nothing but film" in reading.polarity_reason
    assert propose_steps(reading)


@pytest.mark.parametrize(
    ("number", "canvas_mm", "opening_mm"),
    [
        # The drawn scanner's glass, and the holder's opening: sample_archive/draw.py.
        ("78-14", (127.0, 101.6), (120.0, 95.0)),
        ("05-03", (127.0, 101.6), (120.0, 95.0)),
        ("74-03", (92.0, 66.0), (84.0, 56.0)),
    ],
)
def test_the_picture_lies_where_the_holder_let_light_in(drawn, number, canvas_mm, opening_mm):
    reading = read_tones(drawn[number])

    found, whole = reading.picture, (reading.width, reading.height)
    for canvas, opening, start, side, px in zip(
        canvas_mm, opening_mm, (found.left, found.top), (found.width, found.height), whole, strict=True
    ):
        assert side / px == pytest.approx(opening / canvas, abs=0.004)
        assert start / px == pytest.approx((canvas - opening) / 2 / canvas, abs=0.003)


def test_j16_the_one_sheet_drawn_wrong_side_up_is_found(drawn):
    readings = {number: read_tones(path) for number, path in drawn.items()}

    assert {number for number, reading in readings.items() if reading.is_reversed} == {"79-10"}
    assert readings["74-03"].is_reversed is None  # roll film has no notches
    assert "left edge near the top" in readings["79-10"].reversed_reason


def test_j16_a_sheet_wrong_side_up_is_mirrored_once_and_then_reads_right(drawn):
    steps = propose_steps(read_tones(drawn["79-10"]))

    assert [step.kind for step in steps].count("mirror") == 1
    straight = tuple(step for step in steps if step.kind != "mirror")
    # The engine fills a reduced picture from the left, so mirroring before or after may round otherwise.
    apart = (
        small_positive(drawn["79-10"], steps, 1200).astype(int)
        - small_positive(drawn["79-10"], straight, 1200)[:, ::-1]
    )
    assert np.abs(apart).max() <= 1


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("is_reversed", [False, True])
def test_j16_a_sheet_is_never_flipped_twice_whatever_its_orientation_tag_says(tmp_path, orientation, is_reversed):
    seen = values_of(a_sheet())
    seen = seen[:, ::-1] if is_reversed else seen
    stored = STORED[orientation](seen)
    assert (SEEN[orientation](stored) == seen).all()

    reading = read_tones(a_scan(tmp_path, stored, extratags=[(274, "H", 1, orientation, True)]))
    shown = small_positive(tmp_path / "78-014.tif", propose_steps(reading), 760)

    assert (reading.orientation, reading.is_reversed) == (orientation, is_reversed)
    # Upright and the right way round, the picture's ramp rises to the right.
    assert shown.shape == (600, 760)
    assert shown[300, 700] > shown[300, 60] + 100


@pytest.mark.parametrize(
    ("notch", "is_turned", "is_reversed"),
    [
        # A sheet that reads correctly has its notch at the top left or bottom right when upright:
        # dictionary.archivists.org and en.mimi.hu, "code notch"; a landscape one turns the rule by 90 degrees.
        ("right top", False, False), ("left bottom", False, False), ("left top", False, True),
        ("right bottom", False, True),
        ("right top", True, False), ("left bottom", True, False), ("left top", True, True),
        ("right bottom", True, True),
    ],
)  # fmt: skip
def test_the_notch_tells_which_side_was_up(tmp_path, notch, is_turned, is_reversed):
    pixels = values_of(a_sheet(notch=notch))

    reading = read_tones(a_scan(tmp_path, np.rot90(pixels) if is_turned else pixels))

    assert reading.is_reversed is is_reversed
    if is_turned:
        # Turned to the left, the right edge's top end is the top edge's left end.
        assert ("top edge near the left" in reading.reversed_reason) == (notch == "right top")


def test_without_notch_edge_or_enough_pixels_the_side_is_not_known(tmp_path):
    without_notch = read_tones(a_scan(tmp_path, values_of(a_sheet(notch=""))))
    without_edge = read_tones(a_scan(tmp_path, values_of(a_sheet())[20:-20, 20:-20]))
    tiny = read_tones(a_scan(tmp_path, values_of(a_sheet())[::3, ::3]))

    assert [one.is_reversed for one in (without_notch, without_edge, tiny)] == [None] * 3
    assert without_notch.reversed_reason == "no notches are seen"


# -- made sheets ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["16 bits", "8 bits", "white is zero"])
def test_the_same_sheet_reads_the_same_in_8_and_16_bits_and_with_white_as_zero(tmp_path, kind):
    pixels = values_of(a_sheet())
    options = {}
    if kind == "8 bits":
        pixels = (pixels // 257).astype(np.uint8)
    if kind == "white is zero":
        pixels, options = 65_535 - pixels, {"photometric": "miniswhite"}

    reading = read_tones(a_scan(tmp_path, pixels, **options))

    assert reading.polarity == "negative"
    assert reading.base == pytest.approx([0.2], abs=0.012)
    assert reading.density_range == pytest.approx(1.1, abs=0.02)


def test_a_scan_within_the_film_has_its_base_all_the_same(tmp_path):
    reading = read_tones(a_scan(tmp_path, values_of(a_sheet())[12:-12, 12:-12]))

    assert (reading.polarity, reading.film) == ("negative", None)
    assert reading.base == pytest.approx([0.2], abs=0.005)


def test_a_scan_of_the_picture_alone_is_of_unknown_polarity(tmp_path):
    reading = read_tones(a_scan(tmp_path, values_of(a_sheet())[60:-60, 60:-60]))

    assert (reading.polarity, reading.base, reading.has_rebate) == ("unknown", None, False)
    assert (reading.picture.width, reading.picture.height) == (reading.width, reading.height)


def test_an_orange_mask_tells_a_colour_negative_without_a_rebate(tmp_path):
    ramp = np.linspace(0.1, 1.2, 200)[None, :] * np.ones((150, 1))
    densities = np.dstack([0.28 + ramp, 0.62 + ramp, 0.84 + ramp])

    reading = read_tones(a_scan(tmp_path, values_of(densities), photometric="rgb"))

    assert reading.polarity == "negative"
    assert "orange mask" in reading.polarity_reason


def test_what_the_card_knows_is_taken_at_its_word(tmp_path):
    reading = read_tones(a_scan(tmp_path, values_of(a_sheet())[60:-60, 60:-60]), polarity="negative", coding="linear")

    assert (reading.polarity, reading.coding) == ("negative", "linear")


def test_clipped_ends_are_counted_pixel_by_pixel(tmp_path):
    pixels = np.random.default_rng(7).integers(5_000, 60_000, (100, 200)).astype(np.uint16)
    pixels[::10, ::10] = 65_535  # 1 in 100: an average over squares would hide them
    pixels[5::10, 5::20] = 0

    reading = read_tones(a_scan(tmp_path, pixels))

    assert reading.clipped_high == pytest.approx(0.01)
    assert reading.clipped_low == pytest.approx(0.005)


@pytest.mark.parametrize(
    ("profile", "coding"),
    [("grey gamma 2.2", "gamma 2.2"), ("sRGB", "sRGB"), ("Adobe RGB (1998)", "gamma 2.2"), (None, None)],
)
def test_the_coding_is_what_the_profile_says_or_not_known(tmp_path, profile, coding):
    pixels = values_of(np.tile(np.linspace(0, 2, 90), (60, 1)))
    pixels = pixels if profile == "grey gamma 2.2" else np.dstack([pixels] * 3)
    options = {"iccprofile": icc_profile(profile)} if profile else {}

    reading = read_tones(a_scan(tmp_path, pixels, **options))

    assert reading.coding == coding
    assert reading.assumed_coding == (coding or "gamma 2.2")


def test_densities_at_percentages_are_those_of_the_picture_area(tmp_path):
    reading = read_tones(a_scan(tmp_path, values_of(a_sheet())))

    # The ramp is even, from 0.3 to 1.4 with the base.
    assert density_at(reading.densities[0], 50) == pytest.approx(0.85, abs=0.004)
    assert density_at(reading.densities[0], 12.3) == pytest.approx(0.3 + 0.123 * 1.1, abs=0.004)
    assert reading.points(0.1, 99.9) == pytest.approx((0.1, 1.2), abs=0.012)


# numpy.percentile is the oracle: counting values is only a quicker way to the same densities.
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("size", [1, 2, 7, 5000])
def test_densities_by_counting_values_are_those_that_sorting_gives(bits, size):
    from catalog.imaging._tone_table import densities_of_values
    from catalog.imaging.scan_reading import PERCENTS, _quantiles

    values = np.random.default_rng(size).integers(0, 1 << bits, size).astype(np.uint8 if bits == 8 else np.uint16)
    density = densities_of_values("gamma 2.2", bits=bits).astype(np.float32)[values]

    found = _quantiles(values, density)

    assert found == pytest.approx(np.percentile(density, PERCENTS), abs=1e-6)


@pytest.mark.parametrize("value", [0, 65_535])
@pytest.mark.parametrize("channels", [1, 3])
def test_a_scan_of_one_value_alone_is_read(tmp_path, value, channels):
    path = tmp_path / "78-014.tif"
    pixels = np.full((90, 120) if channels == 1 else (90, 120, 3), value, np.uint16)
    tifffile.imwrite(path, pixels, photometric="minisblack" if channels == 1 else "rgb")

    reading = read_tones(path)

    assert (reading.clipped_low, reading.clipped_high) == ((1.0, 0.0) if value == 0 else (0.0, 1.0))
