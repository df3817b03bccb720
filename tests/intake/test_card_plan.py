"""What reading a card file would do: rows known again, records to be added, and changes put in words."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from catalog.actions.buildings import add_building
from catalog.actions.kit import add_lens
from catalog.actions.places import add_place
from catalog.intake.card_facts import CardTaker
from catalog.intake.card_plan import CardPlan, plan_cards
from catalog.intake.known import Named, read_known
from catalog.intake.proposals import Card, CardNumber, Doubt, Subject
from catalog.store.archive import Archive
from tests.builders import a_lens
from tests.card_indexes import Index, a_read_index, an_index, changes

_DITTO = '""""'
BRACKET = "78-14,Osk,Osk Mill,S,1978,150,Pan 100,bridge,,412,,as metered,\n" + "".join(
    f"{number},,{','.join([_DITTO] * 6)},,{_DITTO},,{remark},\n"
    for number, remark in (("78-15", "1 stop more"), ("78-16", "2 stops more"))
)


@pytest.fixture
def taker(archive: Archive, tmp_path: Path):
    """Something that takes cards of an archive with nothing in it; what it lacks gets numbers from 101 on."""
    file = an_index(archive, tmp_path, "1,Osk,Osk Mill,S,1978,,,,,,,,\n").file()
    added: list[tuple[str, str]] = []

    def add(table: str, name: str, row: int, **more: object) -> int:
        added.append((table, name))
        return 100 + len(added)

    with archive.reading() as connection:
        yield CardTaker(connection, file, add)


def a_card(**facts: object) -> Card:
    return Card(row=2, key="78-14", digest="d", cells={}, **facts)  # type: ignore[arg-type]


def _outcomes(plan: CardPlan) -> list[str]:
    return [row.outcome for row in plan.rows]


# ---- what a card gives


def test_a_card_gives_only_what_it_says(taker: CardTaker):
    assert taker.take(a_card(numbers=(CardNumber("78-14"),))) == {
        "fate": "exposed",
        "numbers": [["78-14", ""]],
        "views": [{"title": None, "standpoint_id": None, "certainty": "certain", "subjects": []}],
    }


@pytest.mark.parametrize(
    ("field", "kept"),
    [
        ("date", "exposed"),
        ("aperture", "aperture_f"),
        ("shutter", "shutter_s"),
        ("holder", "holder_side"),
        ("lens", "lens"),
    ],
)
def test_a_doubt_names_the_field_as_a_correction_of_the_sheet_does(taker: CardTaker, field: str, kept: str):
    taken = taker.take(a_card(doubts=(Doubt(field, "8?", "possible"),)))

    assert taken["wordings"] == [[kept, "8?", "possible", []]]


def test_a_name_nobody_knew_is_one_record_however_often_it_comes(taker: CardTaker):
    osk = Named("Osk", "Osk")
    mill = Subject(Named("Osk Mill", "Osk Mill"), is_principal=True)

    first = taker.take(a_card(village=osk, subjects=(mill,)))
    second = taker.take(a_card(village=osk, subjects=(mill,)))

    assert first["views"] == second["views"]


@pytest.mark.parametrize(
    ("subjects", "shown"),
    [
        ((("B1", None, "certain"), ("B2", None, "certain")), [[(1, None, 1)], [(2, None, 1)]]),
        ((("B1", "E", "certain"), ("B1", "S", "certain")), [[(1, "E", 1)], [(1, "S", 1)]]),
        # One building and a side it may be: that is one exposure, and nobody says what the other shows.
        ((("B1", None, "certain"), ("B1", "N", "possible")), [[(1, None, 1), (1, "N", 0)]]),
    ],
)
def test_the_exposures_of_a_double_exposure_are_told_apart(taker: CardTaker, subjects: object, shown: object):
    card = a_card(
        facts={"fate": "doubly exposed"},
        subjects=tuple(
            Subject(Named(ref, ref, ref), elevation=side, certainty=certainty, is_principal=place == 0)
            for place, (ref, side, certainty) in enumerate(subjects)  # type: ignore[arg-type, var-annotated]
        ),
    )

    views = taker.take(card)["views"]

    assert [[(s[1], s[2], s[5]) for s in view["subjects"]] for view in views] == shown


def test_both_exposures_in_doubt_show_the_village_each(taker: CardTaker):
    card = a_card(
        facts={"fate": "doubly exposed"},
        village=Named("Osk", "Osk", "L4"),
        subjects=tuple(Subject(Named(f"{ref}?", ref, ref, "possible"), certainty="possible") for ref in ("B1", "B2")),
    )

    views = taker.take(card)["views"]

    assert [[(s[0], s[1]) for s in view["subjects"]] for view in views] == [
        [("building", 1), ("place", 4)],
        [("building", 2), ("place", 4)],
    ]


# ---- rows known again


def test_a_first_reading_is_all_new_and_lists_what_it_would_add_once(archive: Archive, tmp_path: Path):
    plan = an_index(archive, tmp_path, BRACKET).rehearse()

    assert _outcomes(plan) == ["new"] * 3
    assert sorted(plan.added) == [
        ("building", "Osk Mill"), ("film_stock", "Pan 100"), ("lens", "150 mm"), ("place", "Osk"),
        ("standpoint", "bridge"),
    ]  # fmt: skip


def test_a_ditto_mark_edited_to_the_words_it_stood_for_changes_nothing(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path, BRACKET)

    index.edit((f"78-15,,{_DITTO}", "78-15,,Osk Mill"))

    assert _outcomes(index.rehearse()) == ["here"] * 3


def test_a_part_of_the_index_in_a_file_of_its_own_leaves_the_rest_alone(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    lines = index.path.read_text("utf-8").splitlines(keepends=True)
    part = Index(archive, tmp_path / "part.csv")
    part.path.write_text("".join(lines[:4]), "utf-8")

    plan = part.rehearse()

    assert _outcomes(plan) == ["here"] * 3
    assert plan.gone == ()


def test_an_index_of_other_cards_is_no_edition_of_the_first(archive: Archive, tmp_path: Path):
    a_read_index(archive, tmp_path)
    other = Index(archive, tmp_path / "glass plates.csv").write("78-14,Halding,Toll House,N,1911,,,,,,,,\n")

    plan = other.rehearse()

    assert _outcomes(plan) == ["new"]
    assert (plan.also_called, plan.gone) == ((), ())


def test_two_renumbered_cards_that_look_alike_are_told_by_their_places(archive: Archive, tmp_path: Path):
    cards = "".join(f"78-{n},Osk,Osk Mill,S,1978,150,,,,412,,,\n" for n in (14, 15, 16))
    index = a_read_index(archive, tmp_path, cards)

    plan = index.edit(("78-15", "78-25"), ("78-16", "78-26")).rehearse()

    assert [(row.outcome, row.sheet_id) for row in plan.rows] == [("here", 1), ("changed", 2), ("changed", 3)]


def test_a_card_added_above_is_not_taken_for_the_one_below(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path, "78-14,Osk,Osk Mill,S,1978,,,,,,,,\n")

    plan = index.write("78-13,Osk,Osk Mill,S,1978,,,,,,,,\n78-14,Osk,Osk Mill,S,1978,,,,,,,,\n").rehearse()

    assert _outcomes(plan) == ["new", "here"]


def test_a_file_of_another_name_with_the_cards_of_two_indexes_adds_none(archive: Archive, tmp_path: Path):
    a_read_index(archive, tmp_path, "1,Osk,Osk Mill,S,1978,,,,,,,,\n2,Osk,Barn,,1979,,,,,,,,\n")
    second = Index(archive, tmp_path / "second.csv").write("3,Halding,Toll House,N,1980,,,,,,,,\n")
    second.read()

    both = Index(archive, tmp_path / "both.csv").write(
        "1,Osk,Osk Mill,S,1978,,,,,,,,\n3,Halding,Toll House,N,1980,,,,,,,,\n2,Osk,Barn,,1979,,,,,,,,\n"
    )

    assert _outcomes(both.rehearse()) == ["here"] * 3


# ---- in words


def test_changes_are_put_in_words_with_names_and_references(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)

    plan = index.edit(("weir,,447", "far bank,Dale & Son,447"), ("Aug 79?,150", "Aug 79?,210")).rehearse()

    assert [label for _, label, _ in changes(plan)] == ["lens", "lab", "shows"]
    assert plan.rows[2].said == (
        ("150 mm (K1)", "210 mm (K5)", "150 mm (K1)"),
        ("nothing", "Dale & Son (new)", "nothing"),
        (
            "Osk Mill (B1) E elevation, from weir (T3)",
            "Osk Mill (B1) E elevation, from far bank (T2)",
            "Osk Mill (B1) E elevation, from weir (T3)",
        ),
    )


def test_what_the_catalogue_knows_is_read_with_every_name_and_place(archive: Archive):
    county = add_place(archive, name="Wennshire")
    osk = add_place(archive, name="Osk", parent_id=county)
    add_building(archive, name="Osk Mill", place_id=osk)
    with archive.reading() as connection:
        known = read_known(connection)

    assert [(one.reference, one.names[0].name, one.parents) for one in known.places] == [
        ("L1", "Wennshire", ()),
        ("L2", "Osk", ("L1",)),
    ]
    assert [(one.reference, one.names[0].name, one.sites) for one in known.buildings] == [("B1", "Osk Mill", ("L2",))]


def test_a_lens_that_two_are_of_is_left_open_with_its_length(archive: Archive, tmp_path: Path):
    a_lens(archive, 150)
    index = an_index(archive, tmp_path, "1,Osk,Osk Mill,S,1978,150,,,,,,,\n")
    add_lens(archive, focal_length_mm=150, name="the other 150")

    taken = index.rehearse().rows[0].taken

    assert "lens_id" not in taken
    assert taken["wordings"] == [["lens", "150 mm", "possible", ["150"]]]


def test_a_row_whose_digest_alone_differs_changes_nothing(archive: Archive, tmp_path: Path):
    index = a_read_index(archive, tmp_path)
    file = index.file()
    with archive.reading() as connection:
        plan = plan_cards(connection, replace(file, cards=tuple(replace(card, digest="x" * 64) for card in file.cards)))

    assert _outcomes(plan) == ["here"] * 8
