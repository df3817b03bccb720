"""The names of colour profiles."""

from __future__ import annotations

import io

import pytest
from PIL import Image, ImageCms

from catalog.standards.icc import profile_description
from tests.reference_samples import sample


def a_profile(element: bytes) -> bytes:
    header = bytes(36) + b"acsp" + bytes(88)
    return header + (1).to_bytes(4) + b"desc" + (144).to_bytes(4) + len(element).to_bytes(4) + element


@pytest.mark.parametrize("space", ["sRGB", "LAB"])
def test_a_profile_says_what_littlecms_reads(space):
    # LittleCMS, through Pillow, writes version 4 (multiLocalizedUnicodeType).
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile(space))

    assert profile_description(profile.tobytes()) == ImageCms.getProfileDescription(profile).strip()


@pytest.mark.parametrize("name", ["xmp_nul_inside.jpg", "photoshop_3.jpg", "iim_190_latin1.jpg"])
def test_the_profile_of_a_real_file_says_what_littlecms_reads(name):
    with Image.open(sample(name)) as image:
        profile = image.info["icc_profile"]

    theirs = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(profile)))

    assert profile_description(profile) == theirs.strip()


def test_a_version_2_description_is_ascii_with_its_length():
    assert profile_description(a_profile(b"desc" + bytes(4) + (10).to_bytes(4) + b"Grey G2.2\0rest")) == "Grey G2.2"


@pytest.mark.parametrize(
    "profile",
    [
        b"",
        b"not a profile" * 20,
        a_profile(b"desc"),
        a_profile(b"mluc" + b"\xff" * 24),
        a_profile(b"desc" + bytes(4) + b"\xff\xff\xff\xff"),
        a_profile(b"what"),
        bytes(36) + b"acsp" + bytes(88) + b"\xff\xff\xff\xff",
    ],
)
def test_a_broken_profile_has_no_name(profile):
    assert profile_description(profile) is None
