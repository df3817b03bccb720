"""The tone curves of profiles, against LittleCMS."""

from __future__ import annotations

import io
import struct

import numpy as np
import pytest
from PIL import Image, ImageCms

from catalog.imaging.icc_profiles import icc_profile
from catalog.imaging.picture_coding import coding_of_picture
from catalog.imaging.tone_scales import ADOBE_RGB, SRGB, gamma_coding, lightness_of_luminance
from catalog.standards.icc_curves import IccCurve, read_icc_tones
from tests.reference_samples import sample


def a_profile(space: bytes = b"GRAY", connection: bytes = b"XYZ ", **elements: bytes) -> bytes:
    table, body = b"", b""
    at = 132 + 12 * len(elements)
    for name, element in elements.items():
        table += name.encode() + struct.pack(">II", at + len(body), len(element))
        body += element
    header = bytes(16) + space + connection + bytes(12) + b"acsp" + bytes(88)
    return header + struct.pack(">I", len(elements)) + table + body


def a_curve(*values: int) -> bytes:
    return b"curv" + bytes(4) + struct.pack(f">I{len(values)}H", len(values), *values)


def parameters(function: int, *values: float) -> bytes:
    words = struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))
    return b"para" + bytes(4) + struct.pack(">HH", function, 0) + words


def lightness_by_littlecms(profile: bytes, mode: str, codes: list) -> list[float]:
    """L* as LittleCMS gives it, in 8 bits of Lab (steps of 100/255)."""
    lab = ImageCms.createProfile("LAB")
    opened = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    turn = ImageCms.buildTransform(opened, lab, mode, "LAB", renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC)
    image = Image.new(mode, (len(codes), 1))
    image.putdata(codes)
    return [int(value) * 100 / 255 for value in np.asarray(ImageCms.applyTransform(image, turn))[0, :, 0]]


@pytest.mark.parametrize("name", ["sRGB", "Adobe RGB (1998)"])
def test_colours_have_the_lightness_that_littlecms_gives_them(name):
    profile = icc_profile(name)
    codes = [(v, v, v) for v in range(0, 256, 5)] + [(200, 40, 90), (10, 240, 60), (30, 60, 220), (255, 0, 0)]

    coding = coding_of_picture(profile, channels=3, bits=8)
    luminance = [sum(w * coding.light[i][c[i]] for i, w in enumerate(coding.weights)) for c in codes]

    # LittleCMS answers in 255 steps of L*: half a step is 0.2, its own rounding within doubles that.
    theirs = lightness_by_littlecms(profile, "RGB", codes)
    assert lightness_of_luminance(np.array(luminance)) == pytest.approx(theirs, abs=0.45)


@pytest.mark.parametrize("name", ["xmp_nul_inside.jpg", "photoshop_3.jpg", "iim_190_latin1.jpg"])
def test_the_greys_of_a_real_profile_have_the_lightness_that_littlecms_gives_them(name):
    with Image.open(sample(name)) as image:
        profile = image.info["icc_profile"]

    coding = coding_of_picture(profile, channels=3, bits=8)

    assert not coding.is_assumed
    ours = lightness_of_luminance(np.array(coding.weights) @ coding.light)[::5]
    theirs = lightness_by_littlecms(profile, "RGB", [(v, v, v) for v in range(0, 256, 5)])
    assert ours == pytest.approx(theirs, abs=0.45)


def test_a_profile_of_the_house_gives_the_curve_it_was_made_with():
    # The profile keeps gammas in eighths bits (ICC.1:2010 §10.5): 563/256 exactly, 2.2 as 563/256 too.
    adobe = coding_of_picture(icc_profile("Adobe RGB (1998)"), channels=3, bits=8)
    srgb = coding_of_picture(icc_profile("sRGB"), channels=3, bits=8)
    grey = coding_of_picture(icc_profile("grey gamma 2.2"), channels=1, bits=16)

    assert adobe.light[1] == pytest.approx(ADOBE_RGB.decode(np.arange(256) / 255), abs=1e-9)
    assert srgb.light[1] == pytest.approx(SRGB.decode(np.arange(256) / 255), abs=1e-5)
    assert grey.light[0] == pytest.approx(gamma_coding(563 / 256).decode(np.arange(65536) / 65535), abs=1e-9)


# ICC.1:2010 §10.15, table 65: each function at x = 0.5 and in its lower part.
@pytest.mark.parametrize(
    ("element", "at", "value"),
    [
        (parameters(0, 2.0), 0.5, 0.25),
        (parameters(1, 2.0, 1.0, -0.25), 0.5, 0.0625),
        (parameters(1, 2.0, 1.0, -0.25), 0.125, 0.0),
        (parameters(2, 2.0, 1.0, -0.25, 0.125), 0.5, 0.1875),
        (parameters(2, 2.0, 1.0, -0.25, 0.125), 0.125, 0.125),
        (parameters(3, 2.0, 1.0, 0.0, 0.25, 0.25), 0.5, 0.25),
        (parameters(3, 2.0, 1.0, 0.0, 0.25, 0.25), 0.125, 0.03125),
        (parameters(4, 2.0, 1.0, 0.0, 0.25, 0.25, 0.125, 0.0625), 0.5, 0.375),
        (parameters(4, 2.0, 1.0, 0.0, 0.25, 0.25, 0.125, 0.0625), 0.125, 0.09375),
        (a_curve(), 0.5, 0.5),
        (a_curve(512), 0.5, 0.25),
        (a_curve(0, 13107, 65535), 0.5, 0.2),
        (a_curve(0, 13107, 65535), 0.25, 0.1),
    ],
)  # fmt: skip
def test_each_form_of_curve_gives_the_light_its_clause_says(element, at, value):
    coding = coding_of_picture(a_profile(kTRC=element), channels=1, bits=16)

    assert coding.light[0][round(at * 65535)] == pytest.approx(value, abs=2e-5)


def test_a_grey_profile_connected_by_lab_gives_lightness():
    coding = coding_of_picture(a_profile(connection=b"Lab ", kTRC=a_curve()), channels=1, bits=16)

    assert lightness_of_luminance(coding.light[0])[32768] == pytest.approx(50, abs=0.01)


@pytest.mark.parametrize(
    "profile",
    [
        b"",
        b"no profile" * 30,
        a_profile(),
        a_profile(kTRC=b"curv"),
        a_profile(kTRC=b"curv" + bytes(4) + b"\xff\xff\xff\xff"),
        a_profile(kTRC=a_curve(0)),
        a_profile(kTRC=parameters(0, 0.0)),
        a_profile(kTRC=parameters(1, 2.0, 0.0, 0.5)),
        a_profile(kTRC=b"para" + bytes(4) + b"\x00\x09\x00\x00"),
        a_profile(kTRC=b"mft2" + bytes(40)),
        a_profile(b"RGB ", rTRC=a_curve(), gTRC=a_curve(), bTRC=a_curve()),
        a_profile(b"CMYK", kTRC=a_curve()),
    ],
)
def test_a_profile_without_curves_is_taken_for_none_and_said_to_be_assumed(profile):
    coding = coding_of_picture(profile, channels=1, bits=8)

    assert read_icc_tones(profile) is None
    assert (coding.name, coding.is_assumed) == ("gamma 2.2", True)


def test_colour_without_a_profile_is_taken_for_srgb():
    coding = coding_of_picture(None, channels=3, bits=8)

    assert (coding.name, coding.is_assumed, coding.weights) == ("sRGB", True, (0.2126, 0.7152, 0.0722))


def test_a_curve_without_entries_is_the_identity():
    assert read_icc_tones(a_profile(kTRC=a_curve())).curves == (IccCurve(),)
