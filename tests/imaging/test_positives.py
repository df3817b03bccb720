"""Positives: a negative of known densities comes out as published, and the same steps give the same bytes."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys

import numpy as np
import pytest
import pyvips  # type: ignore[import-untyped]
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageCms

from catalog.errors import PictureDamagedError, PictureWriteError, ToneStepError
from catalog.imaging import read_scan_file
from catalog.imaging._positive_file import tiff_head
from catalog.imaging._tone_table import densities_of_values, paper_share, tone_tables
from catalog.imaging._turning import inner_rectangle, straightened
from catalog.imaging.positives import propose_steps, size_after, small_positive, write_positive
from catalog.imaging.scan_reading import read_tones
from catalog.imaging.tone_steps import format_steps, parse_steps, tone_step
from tests.imaging.colour_science import colour
from tests.imaging.test_scan_reading import SEEN, STORED, a_scan, a_sheet, values_of
from tests.imaging.tone_step_makers import SMALLEST_PX, tone_steps

NEGATIVE = (
    tone_step("coding", values="gamma 2.2"),
    tone_step("invert"),
    tone_step("base", density=0.2),
    tone_step("points", black_d=0.1, white_d=1.2),
    tone_step("curve", grade=2),
)
# One measured negative, zones 0 to X, over base and fog: nhchau.com, table 51 (35 mm T-Max 100, condenser).
ZONE_DENSITIES = (0.02, 0.11, 0.21, 0.34, 0.48, 0.62, 0.76, 0.97, 1.18, 1.33, 1.44)
LOG_2 = float(np.log10(2.0))


def lightness(values: np.ndarray, gamma: float = 2.2) -> np.ndarray:
    """Return L* of 16-bit values of a plain gamma, by colour-science."""
    return colour.XYZ_to_Lab(np.outer((values.ravel() / 65_535.0) ** gamma, D50), D50_XY)[:, 0]


D50_XY = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
D50 = colour.xy_to_XYZ(D50_XY)


def noise(*shape: int) -> np.ndarray:
    return np.random.default_rng(7814).integers(0, 65_536, shape).astype(np.uint16)


def positive_of(folder, scan, steps, name="positive.tif"):
    written = write_positive(scan, steps, folder / name)
    return written, tifffile.imread(written.path)


def leftovers(folder) -> list[str]:
    return [path.name for path in folder.iterdir() if "tiebeam" in path.name]


# -- tones against published values ---------------------------------------------------------------------------------


# ISO 5-1 to 5-4: D = -log10 T; T 0.5 is 0.3010, 0.25 0.6021, 0.1 1, 0.01 2.
@pytest.mark.parametrize(("transmittance", "density"), [(0.5, 0.3010), (0.25, 0.6021), (0.1, 1.0), (0.01, 2.0)])
def test_a_linear_value_has_the_published_density(transmittance, density):
    table = densities_of_values("linear", bits=16)

    # Four decimals are printed; the nearest of 65,536 values may be half a step off.
    assert table[round(transmittance * 65_535)] == pytest.approx(density, abs=4e-4)


def test_a_step_wedge_of_zones_comes_back_as_the_light_that_made_it(tmp_path):
    zones = np.arange(11)
    wedge = np.repeat(0.21 + np.array(ZONE_DENSITIES), 30)[None, :] * np.ones((40, 1))
    steps = (
        tone_step("coding", values="gamma 2.2"),
        tone_step("invert"),
        tone_step("base", density=0.21),
        tone_step("points", black_d=ZONE_DENSITIES[0], white_d=ZONE_DENSITIES[-1]),
        tone_step("film", points=[(zone * LOG_2, d) for zone, d in zip(zones, ZONE_DENSITIES, strict=True)]),
        tone_step("curve", gamma=1),
    )

    _, pixels = positive_of(tmp_path, a_scan(tmp_path, values_of(wedge)), steps)

    # A zone is a stop. Zone X is paper white here and zone 0 its black, whose light is taken off all.
    light = (2.0 ** (zones - 10.0) - 2.0**-10) / (1 - 2.0**-10)
    expected = colour.XYZ_to_Lab(np.outer(light, D50), D50_XY)[:, 0]
    # 16 bits at gamma 2.2 hold a density to 0.0002 here: an L* to a few hundredths.
    assert lightness(pixels[20, 15::30]) == pytest.approx(expected, abs=0.05)


def test_eighteen_per_cent_grey_is_zone_v_again(tmp_path):
    # Zone V, 18 % reflectance, at 0.70 over base and fog (Adams, The Negative, from memory); white is 100 %.
    gamma, base, black = 0.62, 0.21, 2.5
    exposures = np.log10(np.array([0.18, 1.0])) - np.log10(0.18)
    steps = (
        tone_step("invert"),
        tone_step("base", density=base),
        tone_step("points", black_d=0.70 - gamma * black, white_d=0.70 + gamma * exposures[1]),
        tone_step("film", gamma=gamma),
        tone_step("curve", gamma=1),
    )
    scan = a_scan(tmp_path, np.tile(values_of(base + 0.70 + gamma * exposures), (4, 30)))

    _, pixels = positive_of(tmp_path, scan, steps)

    # CIE 15, by colour-science 0.4.7: 18 % is L* 49.4961. The light of the black point is taken off all.
    left = 0.18 * 10.0**-black
    grey = colour.XYZ_to_Lab((0.18 - left) / (1 - left) * D50, D50_XY)[0]
    assert grey == pytest.approx(49.4961, abs=0.1)
    assert lightness(pixels[0, :2]) == pytest.approx([grey, 100.0], abs=0.03)


@pytest.mark.parametrize("grade", [0, 1, 2, 2.5, 3, 4, 5])
def test_a_paper_goes_from_black_to_white_and_never_back(grade):
    share = np.linspace(0, 1, 1001)

    on_paper = paper_share(grade, share)

    assert on_paper[[0, -1]] == pytest.approx([0, 1])
    assert (np.diff(on_paper) > 0).all()
    assert on_paper + on_paper[::-1] == pytest.approx(np.ones(1001))


def test_a_harder_paper_is_as_much_steeper_as_its_exposure_range_is_shorter():
    share = np.array([0.499, 0.501])
    steep = {grade: float(np.diff(paper_share(grade, share))[0]) / 0.002 for grade in range(6)}

    # ISO 6846 classes of exposure range (R): grade 2 about 105, 3 about 85, 4 about 66, 5 about 50; from memory.
    assert steep[3] / steep[2] == pytest.approx(105 / 85, rel=1e-3)
    assert steep[4] / steep[2] == pytest.approx(105 / 66, rel=1e-3)
    assert steep[5] / steep[2] == pytest.approx(105 / 50, rel=1e-3)
    assert steep[0] < steep[1] < steep[2]


def test_a_colour_negative_loses_its_mask_channel_by_channel(tmp_path):
    mask = np.array([0.28, 0.62, 0.84])
    grey_wedge = np.repeat(np.linspace(0.1, 1.2, 12), 20)[None, :, None] * np.ones((30, 1, 3))
    scan = a_scan(tmp_path, values_of(mask + grey_wedge), photometric="rgb")
    steps = [tone_step("invert"), tone_step("base", density=mask.tolist()), *NEGATIVE[3:]]

    _, pixels = positive_of(tmp_path, scan, steps)

    # Equal densities above the mask are grey: the channels differ by the rounding of 16 bits alone.
    assert np.ptp(pixels.astype(int), axis=2).max() < 65_535 * 0.002
    assert (np.diff(pixels[0, 10::20, 1].astype(int)) > 0).all()


def test_a_proposal_makes_a_masked_grey_wedge_grey_and_uses_the_whole_paper(tmp_path):
    ramp = a_sheet(base=0.0)[..., None] * np.array([1.0, 1.1, 1.2])  # the layers differ in contrast, as films' do
    mask = np.where(a_sheet(base=0.0)[..., None] > -1, np.array([0.28, 0.62, 0.84]), 0)
    whole = np.where((a_sheet(base=0.5) > 0)[..., None], ramp + mask, 0.0)
    scan = a_scan(tmp_path, values_of(whole), photometric="rgb")
    reading = read_tones(scan)

    _, pixels = positive_of(tmp_path, scan, propose_steps(reading, profile="sRGB"))

    inside = pixels[100:-100, 60:-60].astype(int)
    assert reading.base == pytest.approx([0.28, 0.62, 0.84], abs=0.02)
    assert np.ptp(inside, axis=2).max() < 65_535 * 0.02
    assert inside.min() < 2_500
    assert inside.max() > 63_000


def test_points_by_percentages_leave_just_that_much_beyond_the_paper(tmp_path):
    scan = a_scan(tmp_path, values_of(a_sheet()))
    reading = read_tones(scan)

    _, pixels = positive_of(tmp_path, scan, propose_steps(reading, low_percent=5, high_percent=90))

    rows, columns = reading.picture.slices()
    inside = pixels[rows, columns]
    assert (inside == 0).mean() == pytest.approx(0.05, abs=0.01)
    assert (inside == 65_535).mean() == pytest.approx(0.10, abs=0.01)


def test_a_positive_without_steps_for_its_tones_keeps_them(tmp_path):
    scan = a_scan(tmp_path, noise(30, 40))

    _, pixels = positive_of(tmp_path, scan, [tone_step("coding", values="gamma 2.2"), tone_step("mirror")])

    # There and back through the density of each value: it may round to its neighbour, and below D 5 ends.
    assert np.abs(pixels.astype(int) - noise(30, 40)[:, ::-1].astype(int)).max() <= 1 + 65_535 * 10 ** (-5 / 2.2)


# -- the same steps, the same bytes ------------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=tone_steps(), seed=st.integers(0, 5), is_colour=st.booleans(), is_deep=st.booleans())
def test_replayed_steps_give_the_same_picture_to_the_bit(tmp_path, steps, seed, is_colour, is_deep):
    shape = (SMALLEST_PX + seed, SMALLEST_PX + 2 * seed, *([3] if is_colour else []))
    pixels = np.random.default_rng(seed).integers(0, 65_536, shape).astype(np.uint16)
    pixels = pixels if is_deep else (pixels >> 8).astype(np.uint8)
    scan = a_scan(tmp_path, pixels, photometric="rgb" if is_colour else "minisblack")
    for name in ("one.tif", "two.tif"):
        (tmp_path / name).unlink(missing_ok=True)

    one = write_positive(scan, steps, tmp_path / "one.tif")
    two = write_positive(scan, parse_steps(format_steps(steps)), tmp_path / "two.tif")

    assert one.sha256 == two.sha256
    assert (tmp_path / "one.tif").read_bytes() == (tmp_path / "two.tif").read_bytes()
    assert tifffile.imread(one.path).shape[:2] == (one.height, one.width)


@pytest.mark.parametrize("threads", ["1", "4"])
def test_the_number_of_cores_changes_no_pixel(tmp_path, threads):
    scan = a_scan(tmp_path, noise(700, 500))
    steps = (tone_step("straighten", angle_deg=1.5), *NEGATIVE)
    here = write_positive(scan, steps, tmp_path / "here.tif")
    code = (
        "import sys; from pathlib import Path; from catalog.imaging.positives import write_positive;"
        "from catalog.imaging.tone_steps import parse_steps;"
        "print(write_positive(Path(sys.argv[1]), parse_steps(sys.argv[2]), Path(sys.argv[3])).sha256)"
    )

    there = subprocess.run(
        [sys.executable, "-c", code, str(scan), format_steps(steps), str(tmp_path / "there.tif")],
        env={**os.environ, "VIPS_CONCURRENCY": threads}, capture_output=True, text=True, check=True,
    )  # fmt: skip

    assert there.stdout.strip() == here.sha256


@pytest.mark.parametrize("orientation", range(1, 9))
def test_an_orientation_is_baked_in_and_not_said_again(tmp_path, orientation):
    seen = noise(40, 60)
    scan = a_scan(tmp_path, STORED[orientation](seen), extratags=[(274, "H", 1, orientation, True)])

    steps = (tone_step("orient", orientation=orientation), tone_step("coding", values="gamma 2.2"))
    written, pixels = positive_of(tmp_path, scan, steps)

    assert np.abs(pixels.astype(int) - seen.astype(int)).max() <= 400
    assert read_scan_file(written.path).orientation in (None, 1)


def test_turning_and_cutting_act_in_their_order(tmp_path):
    pixels = noise(40, 60)
    scan = a_scan(tmp_path, pixels)
    crop = tone_step("crop", left=5, top=7, width=20, height=10)
    turn = tone_step("orient", orientation=6)

    _, first = positive_of(tmp_path, scan, [crop, turn], "a.tif")
    _, last = positive_of(tmp_path, scan, [turn, crop], "b.tif")

    assert np.abs(first.astype(int) - SEEN[6](pixels[7:17, 5:25]).astype(int)).max() <= 400
    assert np.abs(last.astype(int) - SEEN[6](pixels)[7:17, 5:25].astype(int)).max() <= 400


@pytest.mark.parametrize("sides", [(400, 300), (320, 220), (301, 417), (2000, 1500)])
@pytest.mark.parametrize("angle_deg", [0.4, 1.5, -7.0, 30.0, -45.0])
def test_nothing_from_outside_of_the_picture_is_mixed_into_its_corners(sides, angle_deg):
    image = pyvips.Image.new_from_array(np.full(sides[::-1], 30_000, np.uint16))

    assert (straightened(image, angle_deg).numpy() == 30_000).all()


def test_a_crooked_picture_is_straightened(tmp_path):
    y, x = np.mgrid[:300, :400]
    slope = np.tan(np.radians(3))
    pixels = np.where(y - 150 > -(x - 200) * slope, 50_000, 10_000).astype(np.uint16)  # rises to the right

    steps = (tone_step("straighten", angle_deg=3), tone_step("coding", values="gamma 2.2"))
    written, found = positive_of(tmp_path, a_scan(tmp_path, pixels), steps)

    edges = (found > 30_000).argmax(axis=0)
    assert np.ptp(edges) <= 1
    assert (written.width, written.height) == inner_rectangle(400, 300, 3)
    assert 0.85 < written.width * written.height / (400 * 300) < 0.93


def test_a_crop_beyond_the_picture_is_refused_and_nothing_is_written(tmp_path):
    scan = a_scan(tmp_path, noise(40, 60))

    with pytest.raises(ToneStepError, match="reach beyond the picture of 60x40"):
        write_positive(scan, [tone_step("crop", left=50, top=0, width=20, height=20)], tmp_path / "p.tif")
    assert [path.name for path in tmp_path.iterdir()] == [scan.name]


# -- the file ---------------------------------------------------------------------------------------------------------


def test_a_positive_is_a_whole_tiff_of_16_bits_that_others_read_alike(tmp_path):
    scan = a_scan(tmp_path, noise(300, 400), resolution=(2400, 2400), resolutionunit="INCH")

    written, pixels = positive_of(tmp_path, scan, NEGATIVE)

    facts = read_scan_file(written.path)
    assert (facts.damage, facts.notes, facts.bits, facts.channels, facts.recorded_ppi) == (None, (), 16, 1, 2400)
    assert (facts.profile, written.profile) == ("Grey gamma 2.2", "grey gamma 2.2")
    assert facts.file_sha256 == written.sha256 == hashlib.sha256(written.path.read_bytes()).hexdigest()
    assert (facts.size_bytes, facts.width, facts.height) == (written.size_bytes, written.width, written.height)
    assert (pixels == tone_tables(NEGATIVE, channels=1, bits=16)[0][noise(300, 400)]).all()
    with Image.open(written.path) as theirs:
        assert (np.asarray(theirs) == pixels).all()


def test_b01_nothing_is_lost_to_8_bits_on_the_way(tmp_path):
    ramp = np.linspace(12_000, 60_000, 40_000).astype(np.uint16).reshape(200, 200)

    _, pixels = positive_of(tmp_path, a_scan(tmp_path, np.dstack([ramp] * 3), photometric="rgb"), NEGATIVE)

    assert len(np.unique(pixels[..., 0])) > 20_000


def test_b03_white_is_zero_makes_the_same_positive_in_8_and_16_bits(tmp_path):
    flat = (noise(30, 40) >> 8).astype(np.uint8)

    _, deep = positive_of(tmp_path, a_scan(tmp_path, flat.astype(np.uint16) * 257, photometric="miniswhite"), NEGATIVE)
    _, shallow = positive_of(tmp_path, a_scan(tmp_path, flat, photometric="miniswhite"), NEGATIVE, "b.tif")
    _, plain = positive_of(tmp_path, a_scan(tmp_path, 255 - flat), NEGATIVE, "c.tif")

    assert (deep == shallow).all()
    assert (plain == shallow).all()


def test_b04_above_four_gigabytes_the_tables_are_those_of_a_bigtiff(tmp_path):
    head = tiff_head(40_000, 30_000, 3, profile=b"p" * 500, ppi=2400, software="Tiebeam")
    path = tmp_path / "large.tif"
    path.write_bytes(head)
    os.truncate(path, len(head) + 40_000 * 30_000 * 6)

    with tifffile.TiffFile(path) as opened:
        page = opened.pages[0]
        assert opened.is_bigtiff
        assert (page.shape, page.dtype, page.dataoffsets[0]) == ((30_000, 40_000, 3), np.dtype(np.uint16), len(head))
        assert page.dataoffsets[-1] + page.databytecounts[-1] == path.stat().st_size


@pytest.mark.parametrize(("ppi", "unit"), [(None, None), (1.0, "NONE")])
def test_b08_a_resolution_that_was_not_recorded_is_not_made_up(tmp_path, ppi, unit):
    options = {"resolution": (ppi, ppi), "resolutionunit": unit} if ppi else {}

    written, _ = positive_of(tmp_path, a_scan(tmp_path, noise(30, 40), **options), NEGATIVE)

    assert written.ppi is None
    with tifffile.TiffFile(written.path) as opened:
        assert 282 not in opened.pages[0].tags


@pytest.mark.parametrize("profile", ["grey gamma 2.2", "sRGB", "Adobe RGB (1998)"])
@pytest.mark.parametrize("is_colour", [False, True])
def test_b15_every_positive_carries_the_profile_of_its_values(tmp_path, profile, is_colour):
    pixels = noise(30, 40, 3) if is_colour else noise(30, 40)
    scan = a_scan(tmp_path, pixels, photometric="rgb" if is_colour else "minisblack", compression="lzw")
    steps = (*NEGATIVE, tone_step("output", profile=profile))
    if is_colour and profile.startswith("grey"):
        with pytest.raises(ToneStepError, match="cannot be written as grey"):
            write_positive(scan, steps, tmp_path / "p.tif")
        return

    written, _ = positive_of(tmp_path, scan, steps)

    with tifffile.TiffFile(written.path) as opened:
        embedded = ImageCms.ImageCmsProfile(io.BytesIO(opened.pages[0].tags[34675].value)).profile
    assert profile.split()[-1].strip("()") in embedded.profile_description
    assert written.channels == (1 if profile.startswith("grey") else 3)


def test_b16_the_scan_is_only_read(tmp_path):
    scan = a_scan(tmp_path, noise(30, 40), description="Osk Mill", extratags=[(65_000, "s", 0, "private", True)])
    scan.chmod(0o444)
    before = scan.read_bytes(), scan.stat().st_mtime_ns

    positive_of(tmp_path, scan, NEGATIVE)
    small_positive(scan, None, 40)
    read_tones(scan)

    assert (scan.read_bytes(), scan.stat().st_mtime_ns) == before


def test_nothing_is_written_over_be_it_a_link_to_nowhere(tmp_path):
    scan = a_scan(tmp_path, noise(30, 40))
    (tmp_path / "taken.tif").write_bytes(b"mine")
    (tmp_path / "link.tif").symlink_to(tmp_path / "nowhere.tif")

    for target in (tmp_path / "taken.tif", tmp_path / "link.tif", scan):
        with pytest.raises(PictureWriteError, match="there is a file of this name already"):
            write_positive(scan, NEGATIVE, target)

    assert (tmp_path / "taken.tif").read_bytes() == b"mine"
    assert not (tmp_path / "nowhere.tif").exists()
    assert leftovers(tmp_path) == []


@pytest.mark.parametrize("turn", [(), (tone_step("orient", orientation=6),), (tone_step("straighten", angle_deg=1),)])
def test_b09_a_scan_that_breaks_off_leaves_no_half_black_picture(tmp_path, turn):
    scan = a_scan(tmp_path, noise(600, 800), compression="lzw", rowsperstrip=16)
    with tifffile.TiffFile(scan) as opened:
        start, length = opened.pages[0].dataoffsets[30], opened.pages[0].databytecounts[30]
    content = bytearray(scan.read_bytes())
    content[start : start + length] = bytes(length)
    scan.write_bytes(content)

    with pytest.raises(PictureDamagedError, match=r"78-014\.tif: damaged"):
        write_positive(scan, (*turn, *NEGATIVE), tmp_path / "p.tif")

    assert [path.name for path in tmp_path.iterdir()] == [scan.name]


@pytest.mark.parametrize("turn", [(), (tone_step("orient", orientation=6),)], ids=["as it lies", "turned"])
def test_b09_a_tile_that_decayed_leaves_no_picture_with_a_black_square(tmp_path, turn):
    scan = a_scan(tmp_path, noise(600, 800), compression="zlib", tile=(128, 128))
    with tifffile.TiffFile(scan) as opened:
        start, length = opened.pages[0].dataoffsets[10], opened.pages[0].databytecounts[10]
    content = bytearray(scan.read_bytes())
    content[start : start + length] = bytes(length)
    scan.write_bytes(content)

    with pytest.raises(PictureDamagedError, match=r"78-014\.tif: damaged"):
        write_positive(scan, (*turn, *NEGATIVE), tmp_path / "p.tif")

    assert [path.name for path in tmp_path.iterdir()] == [scan.name]


def test_a_folder_that_is_not_there_is_refused_in_words(tmp_path):
    scan = a_scan(tmp_path, noise(30, 40))

    with pytest.raises(PictureWriteError, match=r"p\.tif: cannot be written .* See that its folder is there"):
        write_positive(scan, NEGATIVE, tmp_path / "none" / "p.tif")
    with pytest.raises(PictureWriteError, match="cannot be written"):
        write_positive(scan, (tone_step("orient", orientation=6), *NEGATIVE), tmp_path / "none" / "p.tif")


def test_a_full_drive_ends_in_words_and_leaves_nothing(tmp_path, monkeypatch):
    from catalog.imaging import _positive_file

    scan = a_scan(tmp_path, noise(1200, 800))

    def full(self):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(_positive_file._Pen, "flush", full)
    with pytest.raises(PictureWriteError, match="No space left on device"):
        write_positive(scan, NEGATIVE, tmp_path / "p.tif")

    assert [path.name for path in tmp_path.iterdir()] == [scan.name]


def test_whoever_watches_is_told_how_far_it_is_and_may_stop_it(tmp_path):
    scan, told = a_scan(tmp_path, noise(5000, 1000)), []

    write_positive(scan, NEGATIVE, tmp_path / "p.tif", progress=lambda done, total: told.append((done, total)))

    assert len(told) > 2
    assert told == sorted(told)
    assert told[-1][0] == told[-1][1] == (tmp_path / "p.tif").stat().st_size

    def enough(done, total):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_positive(scan, NEGATIVE, tmp_path / "q.tif", progress=enough)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["78-014.tif", "p.tif"]


# -- small ones ------------------------------------------------------------------------------------------


def test_a_small_positive_is_the_large_one_made_small(tmp_path):
    smooth = a_sheet(glass=8)
    scan = a_scan(tmp_path, values_of(smooth))
    _, large = positive_of(tmp_path, scan, (*NEGATIVE, tone_step("output", profile="sRGB")))

    small = small_positive(scan, NEGATIVE, 380)

    assert small.shape == (300, 380)
    halved = large[..., 0].reshape(300, 2, 380, 2).mean(axis=(1, 3)) / 257
    # Away from the edges, where an average of light is not the light of an average.
    inside = np.s_[60:-60, 60:-60]
    assert np.abs(small[inside] - halved[inside]).max() <= 1


@pytest.mark.parametrize("angle_deg", [0.0, 2.0, -11.0])
def test_what_can_be_cut_at_full_size_can_be_cut_small(tmp_path, angle_deg):
    scan = a_scan(tmp_path, noise(901, 1203))
    straight = tone_step("straighten", angle_deg=angle_deg)
    width, height = size_after([straight], width=1203, height=901)
    whole = tone_step("crop", left=0, top=0, width=width, height=height)
    corner = tone_step("crop", left=width - 1, top=height - 1, width=1, height=1)
    too_large = tone_step("crop", left=1, top=0, width=width, height=height)

    assert 50 < max(small_positive(scan, (straight, whole, *NEGATIVE), 100).shape) <= 100
    assert small_positive(scan, (straight, corner, *NEGATIVE), 100).shape == (1, 1)
    with pytest.raises(ToneStepError, match="reach beyond the picture"):
        small_positive(scan, (straight, too_large, *NEGATIVE), 100)


def test_a_small_positive_of_colour_is_in_srgb(tmp_path):
    pixels = np.tile(np.array([20_000, 40_000, 30_000], np.uint16), (30, 40, 1))
    scan = a_scan(tmp_path, pixels, photometric="rgb")
    plain = (tone_step("coding", values="gamma 2.2"),)

    in_srgb = small_positive(scan, (*plain, tone_step("output", profile="sRGB")), 40)[0, 0]
    from_adobe = small_positive(scan, (*plain, tone_step("output", profile="Adobe RGB (1998)")), 40)[0, 0]

    # The same shares of other primaries: by colour-science, Adobe RGB (1998) to sRGB.
    light = (pixels[0, 0] / 65_535) ** 2.2
    expected = colour.RGB_to_RGB(light, "Adobe RGB (1998)", "sRGB", apply_cctf_encoding=True)
    assert from_adobe == pytest.approx(np.clip(expected, 0, 1) * 255, abs=2)
    assert in_srgb == pytest.approx(colour.cctf_encoding(light, "sRGB") * 255, abs=1.01)


def test_no_small_picture_is_larger_than_its_scan(tmp_path):
    assert small_positive(a_scan(tmp_path, noise(30, 40)), NEGATIVE, 500).shape == (30, 40)
