"""The profiles this program writes: what an independent reader of profiles makes of them."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from catalog.imaging._codings import coding_of
from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.scan_file import ScanFile
from tests.imaging.colour_science import colour

# XYZ of the primaries as adapted to D50 in the profiles that the makers of the two spaces publish, from memory;
# sRGB's are also those of the profile that LittleCMS makes (below).
ADOBE_COLORANTS = ((0.60974, 0.31111, 0.01947), (0.20528, 0.62567, 0.06087), (0.14919, 0.06322, 0.74457))


def opened(name: str):
    return ImageCms.ImageCmsProfile(io.BytesIO(icc_profile(name))).profile


def colorants(profile) -> np.ndarray:
    return np.array([profile.red_colorant[0], profile.green_colorant[0], profile.blue_colorant[0]])


@pytest.mark.parametrize("name", ["grey gamma 2.2", "sRGB", "Adobe RGB (1998)"])
def test_a_profile_is_whole_and_always_the_same(name):
    data = icc_profile(name)

    # ICC.1:2010 §7.2: its size first, "acsp" at byte 36.
    assert int.from_bytes(data[:4]) == len(data) < 4_000
    assert data[36:40] == b"acsp"
    assert opened(name).xcolor_space == ("GRAY" if name.startswith("grey") else "RGB ")
    assert coding_of(ScanFile(kind="TIFF", size_bytes=0), data)[0] in ("gamma 2.2", "sRGB")


def test_srgb_has_the_primaries_of_another_maker_of_profiles():
    theirs = ImageCms.createProfile("sRGB")

    # s15Fixed16 holds them to 0.00002.
    assert colorants(opened("sRGB")) == pytest.approx(colorants(theirs), abs=5e-5)


def test_adobe_rgb_has_the_published_primaries():
    assert colorants(opened("Adobe RGB (1998)")) == pytest.approx(np.array(ADOBE_COLORANTS), abs=5e-5)


def test_values_through_our_srgb_profile_come_out_as_through_another_makers():
    ramp = Image.fromarray(np.stack([np.arange(256), np.arange(256)[::-1], np.full(256, 99)], 1)[None].astype(np.uint8))
    ours, theirs = ImageCms.ImageCmsProfile(io.BytesIO(icc_profile("sRGB"))), ImageCms.createProfile("sRGB")

    there = np.asarray(ImageCms.profileToProfile(ramp, ours, theirs))

    assert np.abs(there.astype(int) - np.asarray(ramp)).max() <= 1


def test_values_through_our_adobe_rgb_profile_become_the_srgb_that_colour_science_gives():
    pixels = np.array([[[128, 128, 128], [90, 140, 110], [160, 150, 120], [60, 70, 90]]], np.uint8)
    ours, theirs = ImageCms.ImageCmsProfile(io.BytesIO(icc_profile("Adobe RGB (1998)"))), ImageCms.createProfile("sRGB")

    there = np.asarray(ImageCms.profileToProfile(Image.fromarray(pixels), ours, theirs))

    expected = colour.RGB_to_RGB(
        pixels / 255.0, "Adobe RGB (1998)", "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
    )
    assert there.astype(float) == pytest.approx(expected * 255, abs=1.5)
