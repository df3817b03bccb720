"""
Tones against the published figures, and against colour-science as a second reader.

Sources: CIE 15 (L*), IEC 61966-2-1 (sRGB), Adobe RGB (1998), ISO 22028-2 (ROMM RGB), ISO 5 (density). Each figure
was computed with colour-science 0.4.7 or follows from the definition, and stands to the digits written, hence half a
unit of the last digit as tolerance.
"""

from __future__ import annotations

import importlib
import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.imaging import tone_scales as scales


@pytest.fixture(scope="module")
def colour():
    """The reference library. Importing it warns of optional parts (plotting) that these tests do not use."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module("colour")


CODINGS = [scales.SRGB, scales.ADOBE_RGB, scales.ROMM_RGB, scales.LINEAR, scales.gamma_coding(2.2)]


# ISO 5-1: D = -log10 T, to four decimals.
@pytest.mark.parametrize(("transmittance", "density"), [(0.5, 0.3010), (0.25, 0.6021), (0.1, 1.0), (0.01, 2.0)])
def test_density_is_the_logarithm_of_the_light_that_is_lost(transmittance, density):
    assert scales.density_of_transmittance(transmittance) == pytest.approx(density, abs=5e-5)
    assert scales.transmittance_of_density(density) == pytest.approx(transmittance, rel=2e-4)


# CIE 15 with the exact constants; Y in percent against L*, colour-science 0.4.7. A print is judged by these.
Y_TO_LIGHTNESS = [
    (0.1, 0.9033), (0.8856, 8.000), (1, 8.9914), (3, 20.0439), (10, 37.8424), (12.5, 42.0000), (18, 49.4961),
    (18.4187, 50.0001), (20, 51.8372), (25, 57.0754), (50, 76.0693), (90, 95.9968), (100, 100),
]  # fmt: skip


@pytest.mark.parametrize(("y_percent", "lightness"), Y_TO_LIGHTNESS)
def test_luminance_has_the_lightness_the_cie_gives_it(y_percent, lightness):
    # 0.8856 is printed to four digits: 0.00005 of Y is 0.0005 of L* there.
    assert scales.lightness_of_luminance(y_percent / 100) == pytest.approx(lightness, abs=5e-4)


# The same source, the other way.
@pytest.mark.parametrize(("lightness", "y_percent"), [(8, 0.8856), (16, 2.0993), (95, 87.6183), (96, 90.0078)])
def test_lightness_has_the_luminance_the_cie_gives_it(lightness, y_percent):
    assert scales.luminance_of_lightness(lightness) * 100 == pytest.approx(y_percent, abs=6e-5)


# CIE 15 on Y = 10^-D; colour-science 0.4.7.
REFLECTION = [
    (0.05, 95.633), (0.10, 91.430), (0.30, 76.142), (1.0, 37.842), (1.5, 20.682), (1.65, 16.693), (2.0, 8.991),
    (2.2, 5.699), (2.5, 2.856),
]  # fmt: skip


@pytest.mark.parametrize(("density", "lightness"), REFLECTION)
def test_a_print_density_has_its_lightness(density, lightness):
    assert scales.lightness_of_reflection_density(density) == pytest.approx(lightness, abs=5e-4)
    assert scales.density_of_transmittance(scales.luminance_of_lightness(lightness)) == pytest.approx(density, abs=1e-4)


# IEC 61966-2-1 (the formula from memory, the figures from colour-science 0.4.7), 8-bit codes.
@pytest.mark.parametrize(
    ("code", "linear"),
    [(1, 0.000304), (10, 0.003035), (11, 0.003347), (64, 0.051269), (118, 0.181164), (128, 0.215861),
     (188, 0.502886), (254, 0.991102)],
)  # fmt: skip
def test_an_srgb_code_has_its_light(code, linear):
    assert scales.SRGB.decode(code / 255) == pytest.approx(linear, abs=5e-7)


# The same source; the nearest 8-bit code.
@pytest.mark.parametrize(
    ("linear", "code"), [(0.001, 3), (0.0031308, 10), (0.01, 25), (0.05, 63), (0.18, 118), (0.5, 188)]
)
def test_light_has_its_srgb_code(linear, code):
    assert round(scales.SRGB.encode(linear) * 255) == code


# IEC 61966-2-1, Adobe RGB (1998), ISO 22028-2: encoded values by colour-science 0.4.7, to six decimals.
@pytest.mark.parametrize(
    ("coding", "linear", "code"),
    [
        (scales.SRGB, 0.18, 0.461356), (scales.SRGB, 0.5, 0.735357),
        (scales.ADOBE_RGB, 0.18, 0.458529), (scales.ADOBE_RGB, 0.5, 0.729658),
        (scales.ROMM_RGB, 0.001, 0.016), (scales.ROMM_RGB, 0.18, 0.385711),
    ],
)  # fmt: skip
def test_a_working_space_codes_as_its_standard_says(coding, linear, code):
    assert coding.encode(linear) == pytest.approx(code, abs=5e-7)
    assert coding.decode(code) == pytest.approx(linear, abs=2e-6)


def test_adobe_rgb_has_its_exact_gamma():
    # Adobe RGB (1998), 4.3.4.2: 2 51/256.
    assert scales.ADOBE_RGB.gamma == 563 / 256 == 2.19921875
    assert round(scales.ADOBE_RGB.encode(0.18) * 255) == 117


# The middle rows of RGB to XYZ: IEC 61966-2-1 and Adobe RGB (1998), to four decimals.
@pytest.mark.parametrize(
    ("coding", "weights"),
    [(scales.SRGB, (0.2126, 0.7152, 0.0722)), (scales.ADOBE_RGB, (0.2973, 0.6274, 0.0753))],
)
def test_the_luminance_weights_are_the_standards(coding, weights):
    assert coding.luminance_weights == pytest.approx(weights, abs=5.1e-5)


@pytest.mark.parametrize("coding", CODINGS, ids=lambda coding: coding.name)
def test_white_weighs_one(coding):
    assert sum(coding.luminance_weights) == pytest.approx(1, abs=2e-5)


def test_every_coding_agrees_with_a_second_reader(colour):
    codes = np.linspace(0, 1, 1001)
    oracles = [
        (scales.SRGB, colour.models.eotf_sRGB, colour.models.eotf_inverse_sRGB),
        (scales.ROMM_RGB, colour.models.cctf_decoding_ROMMRGB, colour.models.cctf_encoding_ROMMRGB),
        (scales.ADOBE_RGB, colour.RGB_COLOURSPACES["Adobe RGB (1998)"].cctf_decoding,
         colour.RGB_COLOURSPACES["Adobe RGB (1998)"].cctf_encoding),
    ]  # fmt: skip
    for coding, decode, encode in oracles:
        assert coding.decode(codes) == pytest.approx(decode(codes), abs=1e-12), coding.name
        assert coding.encode(codes) == pytest.approx(encode(codes), abs=1e-12), coding.name


def test_lightness_and_density_agree_with_a_second_reader(colour):
    shares = np.linspace(0, 1.2, 1201)

    assert scales.lightness_of_luminance(shares) == pytest.approx(
        colour.colorimetry.lightness_CIE1976(shares * 100, 100), abs=1e-10
    )
    assert scales.luminance_of_lightness(shares * 100) * 100 == pytest.approx(
        colour.colorimetry.luminance_CIE1976(shares * 100, 100), abs=1e-10
    )


def test_the_luminance_weights_agree_with_a_second_reader(colour):
    # Published matrices are rounded on their own: 1e-4 covers four printed decimals.
    for coding, name in [(scales.SRGB, "sRGB"), (scales.ADOBE_RGB, "Adobe RGB (1998)"),
                         (scales.ROMM_RGB, "ROMM RGB")]:  # fmt: skip
        middle_row = colour.RGB_COLOURSPACES[name].matrix_RGB_to_XYZ[1]
        assert coding.luminance_weights == pytest.approx(middle_row, abs=1e-4), name


@given(st.floats(0, 1.5))
def test_what_is_coded_is_decoded_to_the_same_light(linear):
    for coding in CODINGS:
        assert coding.decode(coding.encode(linear)) == pytest.approx(linear, abs=1e-6)


@given(st.floats(-20, 130))
def test_a_lightness_comes_back_from_its_luminance(lightness):
    luminance = scales.luminance_of_lightness(lightness)

    assert scales.lightness_of_luminance(luminance) == pytest.approx(lightness, abs=1e-9)


@given(st.lists(st.floats(-0.5, 1.5), min_size=1, max_size=20))
def test_an_array_has_the_tones_its_numbers_have(tones):
    functions = [
        scales.density_of_transmittance, scales.transmittance_of_density, scales.lightness_of_luminance,
        scales.luminance_of_lightness, *(coding.decode for coding in CODINGS), *(coding.encode for coding in CODINGS),
    ]  # fmt: skip
    for function in functions:
        one_by_one = [function(tone) for tone in tones]

        assert function(np.array(tones)) == pytest.approx(np.array(one_by_one), rel=1e-12, abs=1e-12)


def test_no_light_is_an_infinite_density_and_no_warning():
    assert scales.density_of_transmittance(0) == math.inf
    assert scales.density_of_transmittance(-0.001) == math.inf
    assert list(scales.density_of_transmittance(np.array([0, 0.1, -1]))) == [math.inf, 1, math.inf]
    assert scales.transmittance_of_density(math.inf) == 0
    assert scales.lightness_of_reflection_density(math.inf) == 0


def test_small_floats_stay_small_and_whole_numbers_become_floats():
    small = np.array([0.1, 0.5], dtype=np.float32)

    assert scales.lightness_of_luminance(small).dtype == np.float32
    assert scales.density_of_transmittance(small).dtype == np.float32
    assert scales.SRGB.encode(small).dtype == np.float32
    assert scales.lightness_of_luminance(np.array([0, 1])).dtype == np.float64


@pytest.mark.parametrize("gamma", [0, -1, math.nan, math.inf])
def test_a_gamma_that_is_none_is_refused(gamma):
    with pytest.raises(ValueError, match="above zero"):
        scales.gamma_coding(gamma)
