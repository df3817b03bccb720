"""Counting tones: every pixel once, as whole-array arithmetic counts them."""

from __future__ import annotations

import numpy as np
import pytest
import tifffile
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.errors import PictureDamagedError, ToneStepError
from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.open_pixels import open_picture
from catalog.imaging.positives import write_positive
from catalog.imaging.tone_counts import box_of_steps, count_tones
from catalog.imaging.tone_report import report_tones
from catalog.imaging.tone_scales import SRGB, gamma_coding, lightness_of_luminance
from catalog.imaging.tone_steps import tone_step

EDGES = [0, 5, 15, 25, 35, 45, 55, 65, 75, 85, 95, 100.001]


def shares_of(lightness):
    return np.histogram(lightness, EDGES)[0] / lightness.size


def a_picture(path, values, **facts):
    tifffile.imwrite(path, values, **facts)
    return path


def noise(*shape, seed=1):
    return (np.random.default_rng(seed).random(shape) ** 1.5 * 65535).astype(np.uint16)


def test_a_grey_picture_is_counted_value_by_value(tmp_path):
    values = noise(300, 211)
    values[0, :3] = 0
    values[1, :5] = 65535

    count, coding, sides = count_tones(a_picture(tmp_path / "a.tif", values))

    expected = lightness_of_luminance(gamma_coding(2.2).decode(values / 65535))
    assert (coding.name, coding.is_assumed, sides) == ("gamma 2.2", True, (211, 300))
    assert (int(count.pixels.sum()), count.at_white) == (values.size, int((values == 65535).sum()))
    assert count.at_black == int((values == 0).sum())
    zones = report_tones(count).zones
    assert [zone.share for zone in zones] == pytest.approx(shares_of(expected), abs=1e-12)
    assert sum(zone.levels for zone in zones) == len(np.unique(values))


def test_a_colour_picture_is_counted_by_its_luminance(tmp_path):
    values = noise(200, 180, 3)
    values[0, :7, 1] = 0
    values[1, :4, 2] = 65535

    count, coding, _ = count_tones(a_picture(tmp_path / "a.tif", values, photometric="rgb"))

    expected = lightness_of_luminance(SRGB.decode(values / 65535) @ np.array(SRGB.luminance_weights))
    zones = report_tones(count).zones
    assert coding.name == "sRGB"
    assert [zone.share for zone in zones] == pytest.approx(shares_of(expected), abs=2e-4)  # steps of 1/65535 of light
    assert count.at_black == int((values == 0).any(axis=2).sum())
    assert count.at_white == int((values == 65535).any(axis=2).sum())
    assert all(zone.levels is None for zone in zones)


def test_eight_bits_are_counted_on_their_own_scale(tmp_path):
    values = np.arange(256, dtype=np.uint8).reshape(16, 16)

    count, _, _ = count_tones(a_picture(tmp_path / "a.tif", values))

    assert (count.at_black, count.at_white, len(count.pixels)) == (1, 1, 256)
    assert count.lightness[-1] == pytest.approx(100)


def test_a_profile_says_what_the_values_mean(tmp_path):
    values = np.full((8, 8), 32768, dtype=np.uint16)
    path = a_picture(tmp_path / "a.tif", values, extratags=[(34675, 7, None, icc_profile("grey gamma 2.2"), True)])

    _, coding, _ = count_tones(path)

    assert (coding.name, coding.is_assumed) == ("Grey gamma 2.2", False)


STEPS = (
    tone_step("coding", values="gamma 2.2"),
    tone_step("invert"),
    tone_step("base", density=[0.2]),
    tone_step("points", black_d=0.1, white_d=1.3),
    tone_step("curve", grade=2),
)


@pytest.mark.parametrize("shape", [(120, 90), (120, 90, 3)])
def test_the_tones_of_a_positive_that_is_not_written_are_those_of_the_written_one(tmp_path, shape):
    values = noise(*shape)
    values[30:33] = 65535
    values[40:44] = 0
    scan = a_picture(tmp_path / "a.tif", values, photometric="rgb" if len(shape) == 3 else "minisblack")
    steps = (tone_step("crop", left=3, top=9, width=60, height=80), *STEPS)
    write_positive(scan, steps, tmp_path / "p.tif")

    unwritten, _, sides = count_tones(scan, steps)
    written, coding, written_sides = count_tones(tmp_path / "p.tif")

    assert not coding.is_assumed
    assert sides == written_sides == (60, 80)
    assert (unwritten.at_black, unwritten.at_white) == (written.at_black, written.at_white)
    inside = values[9:89, 3:63].reshape(80, 60, -1)
    assert unwritten.at_lowest == (inside == 0).any(axis=2).sum()
    assert unwritten.at_highest == (inside == 65535).any(axis=2).sum()
    assert [zone.share for zone in report_tones(unwritten).zones] == pytest.approx(
        [zone.share for zone in report_tones(written).zones], abs=1e-12
    )


def test_a_straightened_positive_is_counted_too(tmp_path):
    scan = a_picture(tmp_path / "a.tif", noise(200, 150))
    steps = (tone_step("straighten", angle_deg=2.5), *STEPS)
    write_positive(scan, steps, tmp_path / "p.tif")

    unwritten, _, sides = count_tones(scan, steps)
    written, _, written_sides = count_tones(tmp_path / "p.tif")

    assert sides == written_sides
    assert np.array_equal(unwritten.pixels, written.pixels)


def test_only_the_picture_is_counted_where_the_steps_do_not_crop(tmp_path):
    values = np.full((100, 80), 65535, dtype=np.uint16)
    values[20:60, 10:50] = 30000

    count, _, sides = count_tones(a_picture(tmp_path / "a.tif", values), within=(10, 20, 40, 40))

    assert (sides, int(count.pixels.sum()), count.at_white) == ((40, 40), 1600, 0)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.one_of(
            st.integers(1, 8).map(lambda o: tone_step("orient", orientation=o)),
            st.just(tone_step("mirror")),
            st.tuples(*[st.integers(0, 2), st.integers(0, 2), st.integers(3, 5), st.integers(3, 5)]).map(
                lambda c: tone_step("crop", left=c[0], top=c[1], width=c[2], height=c[3])
            ),
        ),
        max_size=5,
    )
)
def test_what_is_turned_and_cropped_is_found_where_it_lies_in_the_file(steps):
    import pyvips

    from catalog.imaging._turning import turned

    values = np.arange(11 * 7, dtype=np.uint16).reshape(11, 7)
    try:
        seen = turned(pyvips.Image.new_from_array(values), steps).numpy()
    except ToneStepError:
        with pytest.raises(ToneStepError):
            box_of_steps(7, 11, steps)
        return
    left, top, width, height = box_of_steps(7, 11, steps)

    assert sorted(values[top : top + height, left : left + width].flat) == sorted(seen.flat)


def test_a_scan_cut_short_is_refused_and_not_counted_black(tmp_path):
    # Case B09.
    path = a_picture(tmp_path / "a.tif", noise(400, 300))
    path.write_bytes(path.read_bytes()[:120_000])

    with pytest.raises(PictureDamagedError, match=r"a\.tif"):
        count_tones(path)


@pytest.mark.parametrize("angle_deg", [0.0, 1.5])
def test_the_rebate_is_not_counted_where_steps_straighten_and_do_not_crop(tmp_path, angle_deg):
    pixels = np.full((300, 400), 30_000, np.uint16)
    pixels[:40], pixels[-40:], pixels[:, :40], pixels[:, -40:] = 0, 0, 0, 0
    path = tmp_path / "78-014.tif"
    tifffile.imwrite(path, pixels)
    steps = (tone_step("straighten", angle_deg=angle_deg), tone_step("coding", values="linear"))

    count, _, _ = count_tones(path, steps, within=(40, 40, 320, 220))

    assert count.at_lowest == 0
    assert np.ptp(count.lightness[count.pixels > 0]) < 0.01  # interpolation rounds, by a value or two


@pytest.mark.parametrize("is_colour", [False, True])
@pytest.mark.parametrize("angle_deg", [0.0, 1.5])
def test_b09_a_tile_that_decayed_is_refused_and_not_counted_black(tmp_path, is_colour, angle_deg):
    pixels = np.random.default_rng(3).integers(9000, 60_000, (300, 400, 3) if is_colour else (300, 400))
    path = tmp_path / "78-014.tif"
    kind = "rgb" if is_colour else "minisblack"
    tifffile.imwrite(path, pixels.astype(np.uint16), photometric=kind, compression="zlib", tile=(64, 64))
    with tifffile.TiffFile(path) as opened:
        start, length = opened.pages[0].dataoffsets[9], opened.pages[0].databytecounts[9]
    content = bytearray(path.read_bytes())
    content[start : start + length] = bytes(length)
    path.write_bytes(content)
    steps = (tone_step("straighten", angle_deg=angle_deg), tone_step("coding", values="linear"))

    with pytest.raises(PictureDamagedError, match=r"78-014\.tif: damaged"):
        count_tones(path, steps)


def test_a_white_is_zero_scan_is_counted_as_light(tmp_path):
    # Case B03: 16 bits are turned as 8 bits are.
    values = np.full((9, 9), 65535, dtype=np.uint16)

    count, _, _ = count_tones(a_picture(tmp_path / "a.tif", values, photometric="miniswhite"))

    assert (count.at_black, count.at_white) == (81, 0)


def test_a_ramp_of_16_bits_is_scaled_never_clipped(tmp_path):
    # Case B02: a naive turn to 8 bits makes 255 of everything above it.
    ramp = np.linspace(0, 65535, 65536).astype(np.uint16).reshape(256, 256)

    count, _, _ = count_tones(a_picture(tmp_path / "a.tif", ramp))
    report = report_tones(count, white_l=96, black_l=16.7)

    assert (count.at_black, count.at_white) == (1, 1)
    assert all(zone.share > 0.02 for zone in report.zones)
    assert sum(zone.levels for zone in report.zones) == 65536


def test_counting_tells_how_far_it_is(tmp_path):
    told = []
    path = a_picture(tmp_path / "a.tif", noise(900, 700))

    count_tones(path, progress=lambda done, whole: told.append((done, whole)))

    assert told[-1][0] == told[-1][1]
    assert [done for done, _ in told] == sorted(done for done, _ in told)


def test_opening_is_for_reading_only(tmp_path):
    # Case B16.
    path = a_picture(tmp_path / "a.tif", noise(50, 40))
    path.chmod(0o444)
    before = (path.read_bytes(), path.stat().st_mtime_ns)

    count_tones(path)
    open_picture(path)

    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
