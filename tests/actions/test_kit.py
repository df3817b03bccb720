"""Lenses, cameras and films by hand."""

import pytest

from catalog.actions.kit import add_camera, add_film, add_lens, correct_camera, correct_film, correct_lens
from catalog.errors import NotFoundError, RefusedError
from tests.builders import dated, rows


def test_one_counter_gives_lenses_cameras_and_films_their_references(archive):
    ids = [
        add_lens(archive, focal_length_mm=90),
        add_camera(archive, name="Field camera", format="4x5 in"),
        add_film(archive, name="Grayline 125", tones="black and white", iso=125, base="acetate"),
    ]

    assert ids == [1, 2, 3]
    assert rows(archive, "SELECT kind, name FROM kit ORDER BY id") == [
        ("lens", "90 mm"), ("camera", "Field camera"), ("film_stock", "Grayline 125"),
    ]  # fmt: skip


def test_kit_is_corrected_in_what_is_shared_and_what_is_its_own(archive):
    lens, camera = add_lens(archive, focal_length_mm=90), add_camera(archive, name="Field camera")
    film = add_film(archive, name="Grayline 125")

    correct_lens(archive, lens, name="Old ninety", widest_f_number=8)
    correct_camera(archive, camera, format="4x5 in", known_from=dated("1974"))
    correct_film(archive, film, iso=125, known_until=dated("c. 1992"))

    assert rows(archive, "SELECT name, widest_f_number FROM kit JOIN lens USING (id)") == [("Old ninety", 8.0)]
    assert rows(archive, "SELECT format, known_from_edtf FROM kit JOIN camera USING (id)") == [("4x5 in", "1974")]
    assert rows(archive, "SELECT iso, known_until_edtf FROM kit JOIN film_stock USING (id)") == [(125.0, "1992~")]


def test_two_lenses_of_one_name_are_refused(archive):
    lens = add_lens(archive, focal_length_mm=90)
    other = add_lens(archive, focal_length_mm=120)

    with pytest.raises(RefusedError, match="already"):
        add_lens(archive, focal_length_mm=90)
    with pytest.raises(RefusedError, match=f"K{lens}"):
        correct_lens(archive, other, name="90 mm")


@pytest.mark.parametrize("length", [0, -90, float("inf")])
def test_a_focal_length_that_cannot_be_is_refused(archive, length):
    with pytest.raises(RefusedError, match="focal length"):
        add_lens(archive, focal_length_mm=length)


def test_a_camera_is_not_a_lens(archive):
    camera = add_camera(archive, name="Field camera")

    with pytest.raises(NotFoundError, match=f"no lens K{camera}"):
        correct_lens(archive, camera, focal_length_mm=90)
