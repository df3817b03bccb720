"""Asking for frames: what they show, where the camera stood, when, and how sure that is."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.errors import AmbiguousNameError, DateWordsError, NotFoundError, RefusedError
from tests.asking import Valley

CERTAINLY, POSSIBLY = "certainly", "possibly"


@pytest.fixture(scope="module")
def made_valley(tmp_path_factory: pytest.TempPathFactory) -> Valley:
    """The county, the village of Osk with its hamlet, and a mill in each."""
    valley = Valley(tmp_path_factory.mktemp("valley") / "wenn")
    valley.place("Wennshire", kind="county")
    valley.place("Osk", within="Wennshire", also=("Oske", "Osk St Mary"))
    valley.place("Tarn End", within="Osk", kind="hamlet")
    valley.building("Osk Mill", ("Osk", "1790~", None), also=("Arkle's Mill",))
    valley.building("Tarn End Mill", ("Tarn End", "[..1841]", None))
    return valley


@pytest.fixture
def valley(made_valley: Valley, tmp_path: Path) -> Valley:
    """The same, to be changed."""
    return made_valley.copied(tmp_path / "wenn")


def moved_weigh_house(valley: Valley) -> None:
    """Add the weigh-house that went from Low Halding to the museum yard in Halding in June 1979."""
    valley.place("Halding", within="Wennshire", kind="town")
    valley.place("Low Halding", within="Wennshire")
    valley.building("Weigh-house", ("Low Halding", "1722", "1979-06"), ("Halding", "1979-06", None))


def test_a_village_is_asked_with_the_hamlets_below_it(valley: Valley):
    valley.frame("78-14", "1978", "Osk Mill")
    valley.frame("75-08", "1975-05", "Tarn End Mill")
    valley.frame("75-09", "1975-06", "Tarn End")

    assert valley.found(place="Osk") == {"75-08": CERTAINLY, "75-09": CERTAINLY, "78-14": CERTAINLY}
    assert list(valley.found(place="Tarn End")) == ["75-08", "75-09"]


@pytest.mark.parametrize("name", ["Osk", "Oske", "oske", "OSK ST MARY", "L2"])
def test_a_place_answers_to_every_name_it_ever_had(valley: Valley, name: str):
    valley.frame("78-14", "1978", "Osk Mill")

    assert valley.found(place=name) == {"78-14": CERTAINLY}


def low_halding_leaves_halding(valley: Valley) -> None:
    """Add Low Halding, part of Halding until 1894."""
    valley.place("Halding", within="Wennshire", kind="town")
    valley.place("Low Halding", within="Wennshire", since="1894")
    valley.belongs("Low Halding", "Halding", until="1894")


def test_a_village_counts_to_the_town_it_belonged_to_only_while_it_did(valley: Valley):
    low_halding_leaves_halding(valley)
    valley.building("Institute", ("Low Halding", None, None))
    for number, date in (("90-01", "1890"), ("94-01", "1894"), ("95-01", "1895"), ("X1", None)):
        valley.frame(number, date, "Institute")

    assert valley.found(place="Halding") == {"90-01": CERTAINLY, "94-01": POSSIBLY, "X1": POSSIBLY}
    assert valley.found(place="Wennshire") == {
        "90-01": CERTAINLY,
        "94-01": POSSIBLY,
        "95-01": CERTAINLY,
        "X1": POSSIBLY,
    }


def test_a_building_raised_after_its_village_left_a_town_was_never_in_it(valley: Valley):
    low_halding_leaves_halding(valley)
    valley.building("Institute", ("Low Halding", "1908", None))
    valley.frame("79-12", "../1979", "Institute")

    assert valley.found(place="Halding") == {}
    assert valley.found(place="Low Halding") == {"79-12": CERTAINLY}


def test_j13_a_moved_building_is_shown_in_a_village_only_while_it_stood_there(valley: Valley):
    moved_weigh_house(valley)
    frames = (
        ("78-30", "1978-11"), ("79-05", "1979-05-31"), ("79-20", "1979-06-15"), ("79-40", "1979-07-01"),
        ("79-50", "1979"), ("79-60", "1979-05~"), ("X1", None),
    )  # fmt: skip
    for number, date in frames:
        valley.frame(number, date, "Weigh-house")

    low, town = valley.found(place="Low Halding"), valley.found(place="Halding")

    assert low == {
        "79-50": POSSIBLY,
        "78-30": CERTAINLY,
        "79-60": POSSIBLY,
        "79-05": CERTAINLY,
        "79-20": POSSIBLY,
        "X1": POSSIBLY,
    }
    assert town == {"79-50": POSSIBLY, "79-60": POSSIBLY, "79-20": POSSIBLY, "79-40": CERTAINLY, "X1": POSSIBLY}
    assert len(valley.found(building="Weigh-house")) == 7
    assert set(valley.found(place="Wennshire").values()) == {CERTAINLY}  # it never left the county


def test_a_place_and_a_building_together_ask_for_that_building_in_that_place(valley: Valley):
    moved_weigh_house(valley)
    valley.frame("78-30", "1978", "Weigh-house", "Osk Mill")

    assert valley.found(place="Low Halding", building="Weigh-house") == {"78-30": CERTAINLY}
    assert valley.found(place="Osk", building="Weigh-house") == {}


def test_a_frame_of_a_razed_building_still_shows_its_village(valley: Valley):
    valley.place("Priors Lode", within="Wennshire")
    valley.building("Priors Lode Granary", ("Priors Lode", "1765", "1989"))
    for number, date in (("77-15", "1977-07"), ("89-05", "1989"), ("95-01", "1995"), ("X1", None)):
        valley.frame(number, date, "Priors Lode Granary")

    assert valley.found(place="Priors Lode") == {"77-15": CERTAINLY, "89-05": POSSIBLY, "X1": CERTAINLY}


def test_doubt_of_what_is_shown_is_doubt_of_the_place(valley: Valley):
    valley.frame("78-17", "1978", ("Osk Mill", "W", "possible"))
    valley.frame("78-18", "1978", ("Osk Mill", "W", "probable"))
    valley.frame("78-19", "1978", ("Osk Mill", "W", "possible"), "Osk")

    assert valley.found(place="Osk") == {"78-17": POSSIBLY, "78-18": POSSIBLY, "78-19": CERTAINLY}
    assert valley.found(building="Osk Mill") == {"78-17": POSSIBLY, "78-18": POSSIBLY, "78-19": POSSIBLY}


@pytest.mark.parametrize(
    ("date", "years", "answer"),
    [
        ("1978", "1975/1990", CERTAINLY),
        ("1978~", "1975/1990", POSSIBLY),  # a marked date is never certain
        ("1978?", "1975/1990", POSSIBLY),
        ("1978%", "1975/1990", POSSIBLY),
        ("1973~", "1975/1990", POSSIBLY),  # within two years, the archive's margin for "about"
        ("1972~", "1975/1990", None),
        ("1973%", "1975/1990", POSSIBLY),
        ("1973?", "1975/1990", None),  # uncertain is not approximate
        ("1982-22", "1982", POSSIBLY),  # a season's edges are soft
        ("[1978,1979]", "1975/1990", CERTAINLY),
        ("[1978,1979]", "1979", POSSIBLY),
        ("[1960,1980]", "1970", None),  # neither of the two years
        ("[1960,1980]", "1975/1985", POSSIBLY),
        ("[1960,1980]", "1955/1985", CERTAINLY),
        ("198X", "1980/1989", CERTAINLY),
        ("198X", "1985", POSSIBLY),
        ("../1985", "1975/1990", POSSIBLY),
        ("1832/..", "1975/1990", POSSIBLY),
        ("1991/..", "1975/1990", None),
        ("1974/1976", "1975/1990", POSSIBLY),
        ("1976", "before 1975", None),
        ("1973", "before 1975", CERTAINLY),
        ("1978-06", "about 1976", POSSIBLY),  # "about" reaches in the question as in the frame
        ("1979-06", "about 1976", None),
        ("1983", "[1975,1990]", None),
        ("1990", "1975 or 1990", CERTAINLY),
        ("1978-07-15", "July 1978", CERTAINLY),
    ],
)
def test_years_say_certainly_or_possibly(valley: Valley, date: str, years: str, answer: str | None):
    valley.frame("78-14", date, "Osk Mill")

    assert valley.found(place="Osk", years=years) == ({"78-14": answer} if answer else {})


def test_undated_frames_are_counted_beside_a_question_about_years(valley: Valley):
    valley.frame("78-14", "1978", "Osk Mill")
    valley.frame("X3", None, "Osk Mill")
    valley.frame("X4", None, "Tarn End Mill")

    answer = valley.ask(place="Osk", years="1975/1990")

    assert ([frame.id for frame in answer.frames], answer.undated) == ([1], 2)
    assert valley.ask(building="Osk Mill", years="1900").undated == 1


def test_d09_undated_frames_are_listed_last_and_asked_for_alone(valley: Valley):
    valley.frame("X3", None, "Osk Mill")
    valley.frame("78-14", "1978", "Osk Mill")
    valley.frame("85-01", "../1985", "Osk Mill")

    assert list(valley.found(place="Osk")) == ["78-14", "85-01", "X3"]
    assert list(valley.found(place="Osk", undated=True)) == ["X3"]
    assert list(valley.found(place="Osk", undated=True, years="1975/1990")) == ["X3"]


def test_frames_come_in_order_of_their_earliest_day(valley: Valley):
    for number, date in (("c", "1978"), ("a", "1978-03"), ("b", "1977-12-31"), ("d", "1978-01-01")):
        valley.frame(number, date, "Osk Mill")

    assert list(valley.found(place="Osk")) == ["b", "d", "c", "a"]


def test_taken_from_a_place_is_another_question_than_shown_in_it(valley: Valley):
    valley.place("Low Halding", within="Wennshire")
    valley.standpoint("far bank", "Low Halding")
    valley.visit("1978-08-02", "Low Halding")
    valley.frame("78-14", "1978", "Osk Mill", standpoint="far bank")
    valley.frame("78-15", "1978", "Osk Mill", standpoint="far bank", sure="possible")
    valley.frame("78-16", "1978", "Osk Mill", visit="visit 1978-08-02")

    assert valley.found(place="Low Halding") == {}
    # A visit says where the day was spent, not where the camera stood.
    assert valley.found(taken_from="Low Halding") == {"78-14": CERTAINLY, "78-15": POSSIBLY, "78-16": POSSIBLY}
    both = valley.found(taken_from="Wennshire", place="Osk", years="1978")
    assert both == {"78-14": CERTAINLY, "78-15": POSSIBLY, "78-16": POSSIBLY}
    assert valley.found(taken_from="Osk") == {}


def test_two_villages_of_one_name_are_told_apart(valley: Valley):
    valley.place("Crayshire", kind="county")
    valley.place("Priors Lode", within="Wennshire", also=("Priors Lode on Wenn",), slug="on Wenn")
    valley.place("Priors Lode", within="Crayshire", also=("Priors Lode by Cray",), slug="by Cray")
    valley.building("Granary", ("on Wenn", None, None))
    valley.building("Lode Mill", ("by Cray", None, None))
    valley.frame("77-15", "1977", "Granary")
    valley.frame("91-06", "1991", "Lode Mill")

    with pytest.raises(AmbiguousNameError) as raised:
        valley.found(place="Priors Lode")

    assert [words for _, words in raised.value.candidates] == [
        "Priors Lode, village in Wennshire", "Priors Lode, village in Crayshire",
    ]  # fmt: skip
    assert valley.found(place=raised.value.candidates[0][0]) == {"77-15": CERTAINLY}
    assert valley.found(place="Priors Lode by Cray") == {"91-06": CERTAINLY}


def test_a_doubtful_lens_is_found_as_either_of_its_choices(valley: Valley):
    for length in (90, 120, 150):
        valley.lens(length)
    valley.frame("77-09", "1977", "Osk Mill", lens_id=valley.ids["120 mm"])
    valley.frame("78-17", "1978", "Osk Mill")
    valley.doubt("78-17", "lens", "90 or 120", ("90", "120"))
    valley.frame("79-17", "1979", "Osk Mill", lens_id=valley.ids["120 mm"])
    valley.doubt("79-17", "lens", "120?")

    assert valley.found(lens="120") == {"77-09": CERTAINLY, "78-17": POSSIBLY, "79-17": POSSIBLY}
    assert valley.found(lens="90 mm") == {"78-17": POSSIBLY}
    assert valley.found(lens="120", place="Osk", years="1977/1978") == {"77-09": CERTAINLY, "78-17": POSSIBLY}


def test_a_doubt_that_was_settled_is_no_doubt_any_more(valley: Valley):
    for length in (90, 120):
        valley.lens(length)
    valley.frame("78-17", "1978", "Osk Mill", lens_id=valley.ids["90 mm"])
    valley.doubt("78-17", "lens", "90 or 120", ("90", "120"))
    valley.doubt("78-17", "lens", "90", certainty="certain")

    assert valley.found(lens="90") == {"78-17": CERTAINLY}
    assert valley.found(lens="120") == {}
    assert valley.ask(lens="90").frames[0].doubts == ()


def test_two_lenses_of_one_length_are_both_meant_by_it(valley: Valley):
    valley.lens(150, "the old 150")
    valley.lens(150, "the new 150")
    valley.frame("78-14", "1978", "Osk Mill", lens_id=valley.ids["the old 150"])
    valley.frame("90-04", "1990", "Osk Mill", lens_id=valley.ids["the new 150"])

    assert list(valley.found(lens="150")) == ["78-14", "90-04"]
    assert list(valley.found(lens="the old 150")) == ["78-14"]


def test_a_lens_that_is_not_known_names_those_that_are(valley: Valley):
    valley.lens(90)

    with pytest.raises(NotFoundError, match=r"No lens of 300 mm is known\. Known: 90\."):
        valley.found(lens="300")


def test_a_film_is_found_by_its_name_and_possibly_among_choices(valley: Valley):
    valley.film("Ostrane Pan 100")
    valley.film("Ostrane Pan 400")
    valley.frame("78-14", "1978", "Osk Mill", film_id=valley.ids["Ostrane Pan 100"])
    valley.frame("78-15", "1978", "Osk Mill")
    valley.doubt("78-15", "film", "Pan 100 or Pan 400", ("Pan 100", "Pan 400"))

    assert valley.found(film="ostrane pan 100") == {"78-14": CERTAINLY, "78-15": POSSIBLY}
    assert valley.found(film="Ostrane Pan 400") == {"78-15": POSSIBLY}


def test_a_doubtful_side_is_found_as_either(valley: Valley):
    valley.frame("78-14", "1978", ("Osk Mill", "S"))
    valley.frame("78-15", "1978", ("Osk Mill", "E"))
    valley.frame("78-16", "1978", ("Osk Mill", "S", "possible"))
    valley.frame("78-17", "1978", "Osk Mill")
    valley.doubt("78-17", "elevation", "S or E", ("S", "E"))
    valley.frame("78-18", "1978", "Osk Mill")

    expected = {"78-14": CERTAINLY, "78-16": POSSIBLY, "78-17": POSSIBLY}
    assert valley.found(elevation="south") == expected
    assert valley.found(elevation="S", place="Osk") == expected
    assert valley.found(elevation="S", building="Osk Mill") == expected
    assert valley.found(elevation="E") == {"78-15": CERTAINLY, "78-17": POSSIBLY}


def test_words_that_are_no_side_are_refused(valley: Valley):
    with pytest.raises(RefusedError, match="no side of a building"):
        valley.found(elevation="upwards")


def test_unscanned_sheets_are_those_without_any_scan(valley: Valley):
    valley.frame("78-14", "1978", "Osk Mill")
    valley.frame("78-15", "1978", "Osk Mill")
    valley.scan("78-14", "scans/78-14.tif")

    assert list(valley.found(unscanned=True)) == ["78-15"]
    assert [scan.path for scan in valley.ask(number="78-14").frames[0].scans] == ["scans/78-14.tif"]


def test_a_number_finds_every_sheet_that_carries_it(valley: Valley):
    valley.frame("78-14", "1978", "Osk Mill")
    valley.frame("78–14", "1991", "Tarn End Mill")  # an en dash, as a word processor makes it
    valley.frame("78-140", "1978", "Osk Mill")

    assert [frame.id for frame in valley.ask(number="78-14").frames] == [1, 2]


def test_a_double_exposure_comes_once(valley: Valley):
    valley.frame("80-05", "1980-02", "Osk Mill", "Tarn End Mill", fate="doubly exposed")

    frames = valley.ask(place="Osk").frames

    assert [[subject.name for subject in frame.subjects] for frame in frames] == [["Osk Mill", "Tarn End Mill"]]


def test_every_option_must_hold(valley: Valley):
    valley.lens(90)
    valley.standpoint("mill bridge", "Osk")
    mine = {"lens_id": valley.ids["90 mm"], "standpoint": "mill bridge"}
    valley.frame("78-14", "1978", ("Osk Mill", "E"), title="Ferry at the mill", **mine)
    asked = {"words": ("ferry",), "place": "Osk", "taken_from": "Osk", "building": "Osk Mill", "years": "1975/1990",
             "lens": "90", "elevation": "E", "number": "78-14", "unscanned": True}  # fmt: skip

    assert valley.found(**asked) == {"78-14": CERTAINLY}
    for option, other in (
        ("words", ("granary",)),
        ("place", "Tarn End"),
        ("years", "1990"),
        ("elevation", "W"),
        ("number", "1"),
    ):
        assert valley.found(**asked | {option: other}) == {}, option


def test_years_that_say_nothing_are_refused(valley: Valley):
    for words in ("n.d.", "before the war", "1978-9"):
        with pytest.raises(DateWordsError):
            valley.found(years=words)


def test_a_question_without_an_answer_finds_nothing(valley: Valley):
    answer = valley.ask(words=("windmill",), place="Osk")

    assert (answer.frames, answer.undated) == ((), 0)


class TestWords:
    """Words find what is written of a sheet, and of what it shows."""

    def test_exact_spellings_come_first(self, valley: Valley):
        valley.frame("78-14", "1978", title="Eglise, seen from the weir")
        valley.frame("79-14", "1979", title="Église de Tarn End")

        assert list(valley.found(words=("Église",))) == ["79-14", "78-14"]
        assert list(valley.found(words=("ÉGLISE",))) == ["78-14", "79-14"]
        assert len(valley.found(words=("eglise",))) == 2

    def test_every_word_must_be_found_somewhere(self, valley: Valley):
        valley.frame("78-14", "1978", "Osk Mill", title="from the weir")
        valley.frame("78-15", "1978", "Osk Mill", title="from the green")

        assert list(valley.found(words=("weir mill",))) == ["78-14"]

    def test_a_place_is_found_as_the_option_finds_it(self, valley: Valley):
        moved_weigh_house(valley)
        valley.frame("78-30", "1978", "Weigh-house")
        valley.frame("80-12", "1980", "Weigh-house")
        valley.frame("X1", None, "Weigh-house")

        assert valley.found(words=("Low",)) == {"78-30": CERTAINLY, "X1": POSSIBLY}

    def test_doubt_between_the_word_and_the_frame_is_kept(self, valley: Valley):
        valley.frame("78-14", "1978", "Osk Mill")
        valley.frame("78-17", "1978", ("Osk Mill", "W", "possible"))
        valley.doubt("78-17", "building", "Osk Mill?")

        assert valley.found(words=("mill",)) == {"78-14": CERTAINLY, "78-17": POSSIBLY}

    def test_what_was_said_at_a_visit_finds_its_frames(self, valley: Valley):
        visit = valley.visit("1978-08-02", "Osk")
        valley.note("visit", visit, "Wilf told of the wheel")
        valley.frame("78-14", "1978", "Osk Mill", visit="visit 1978-08-02")

        assert list(valley.found(words=("wilf",))) == ["78-14"]

    def test_more_frames_than_a_statement_may_list_are_found(self, valley: Valley):
        # SQLite takes statements of a million letters at most; ids of frames do not stand in them.
        ids = valley.archive
        with ids.reading() as connection:
            from catalog.store.find import frame_statement
            from tests.asking import Question

            statement, parameters = frame_statement(Question(), range(1, 300_000))
            assert connection.execute(statement, parameters).fetchall() == []


@pytest.mark.parametrize("text", ["1978", "1975/1990", " 1975/1990 ", "0099", "0000/2021"])
def test_plain_years_are_read_as_words_would_read_them(valley: Valley, text: str):
    from catalog.dates import parse_words
    from catalog.store.asking import typed_years

    assert typed_years(valley.archive, text) == parse_words(text, event=False)
