"""The ledger of a print: its state follows from its entries, and impossible sequences are refused in words."""

from __future__ import annotations

from itertools import count

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.dates import parse_edtf
from catalog.rules.ledger import (
    NEW,
    Entry,
    ImpossibleEntryError,
    Standing,
    after,
    beyond,
    in_force,
    missing,
    standing,
    why_not,
)
from catalog.rules.ledger_kinds import KINDS, LEDGER_KINDS, ON_NUMBER, PRINT_STATES

GALLERY, BUYER, MUSEUM = 1, 2, 3
NAMES = {None: "the house", GALLERY: "Wennmouth Gallery", BUYER: "Wilf Arkle", MUSEUM: "Halding Museum"}


def entries(*told: tuple[str, dict[str, object]] | str) -> list[Entry]:
    """Return entries in order; each is a kind, or a kind with facts and a date in EDTF as ``on``."""
    ids, made = count(1), []
    for each in told:
        kind, facts = (each, {}) if isinstance(each, str) else each
        facts = dict(facts)
        dates = {}
        for name, prefix in (("on", "date"), ("until", "due")):
            if name in facts:
                date = parse_edtf(str(facts.pop(name)))
                dates[f"{prefix}_edtf"] = date.text
                if prefix == "date":
                    dates |= {"earliest": date.earliest, "latest": date.latest, "doubt": date.doubt}
                else:
                    dates["due_latest"] = date.latest
        made.append(Entry(next(ids), kind, **dates, **facts))  # type: ignore[arg-type]
    return made


def refusal(*told: tuple[str, dict[str, object]] | str) -> str:
    """Return why the last of these cannot come, as a person is told it."""
    *before, last = entries(*told)
    found = why_not(standing(before), last)
    assert found is not None, "nothing stands in the way"
    return found.in_words("7/15", lambda person: NAMES[person])


CONSIGNED = ("consigned", {"person_id": GALLERY, "on": "2020-03-01", "until": "2020-12"})
SOLD = ("sold", {"person_id": BUYER, "price_minor": 60000, "currency": "EUR", "on": "2021-05"})
PULLED = ("pulled", {"on": "2019"})


def test_a_print_pulled_is_in_the_house():
    now = standing(entries(PULLED))

    assert (now.state, now.custodian_id, now.owner_id, now.since_edtf) == ("in hand", None, None, "2019")


def test_a_consigned_print_is_with_the_gallery_and_still_ours():
    now = standing(entries(PULLED, "signed", CONSIGNED))

    assert (now.state, now.custodian_id, now.owner_id, now.due_edtf) == ("consigned", GALLERY, None, "2020-12")
    assert now.is_signed
    assert now.is_out


def test_a_print_sold_from_a_gallery_is_the_buyers():
    now = standing(entries(PULLED, CONSIGNED, SOLD))

    assert (now.state, now.custodian_id, now.owner_id) == ("sold", BUYER, BUYER)
    assert (now.value_minor, now.currency, now.due_edtf) == (60000, "EUR", None)


def test_a_sold_print_cannot_be_consigned_and_the_refusal_says_who_has_it_since_when():
    assert refusal(PULLED, SOLD, CONSIGNED) == (
        "7/15 cannot be consigned: it is sold to Wilf Arkle since May 2021. "
        "Write down first that it was bought back, if it was."
    )


def test_a_print_bought_back_can_be_consigned_again():
    now = standing(entries(PULLED, SOLD, "bought back", ("consigned", {"person_id": GALLERY})))

    assert (now.state, now.custodian_id, now.owner_id) == ("consigned", GALLERY, None)


def test_a_destroyed_print_cannot_be_returned():
    said = refusal(PULLED, CONSIGNED, ("destroyed", {"words": "fire", "on": "2020-06-02"}), "returned")

    assert said == "7/15 cannot be returned: it is destroyed since 2 June 2020."


def test_a_print_has_never_two_owners():
    said = refusal(PULLED, SOLD, ("sold", {"person_id": MUSEUM}))

    assert said.startswith("7/15 cannot be sold: it belongs to Wilf Arkle since May 2021.")


def test_an_owner_may_pass_a_print_on():
    now = standing(entries(PULLED, SOLD, ("given", {"person_id": MUSEUM, "from_id": BUYER})))

    assert (now.state, now.owner_id) == ("given", MUSEUM)


def test_nobody_else_can_pass_on_what_is_the_photographers():
    assert "still the photographer's own" in refusal(PULLED, ("sold", {"person_id": MUSEUM, "from_id": BUYER}))


def test_an_owners_loan_goes_back_to_the_owner():
    now = standing(entries(PULLED, SOLD, ("lent", {"person_id": MUSEUM}), "returned"))

    assert (now.state, now.custodian_id, now.owner_id) == ("sold", BUYER, BUYER)


def test_what_an_owner_has_lent_is_not_ours_to_sell():
    assert "belongs to Wilf Arkle" in refusal(PULLED, SOLD, ("lent", {"person_id": MUSEUM}), ("sold", {"person_id": 9}))


def test_a_lost_print_that_is_found_is_where_it_was():
    now = standing(entries(PULLED, CONSIGNED, "lost", "found"))

    assert (now.state, now.custodian_id, now.due_edtf) == ("consigned", GALLERY, "2020-12")


def test_a_stolen_print_keeps_its_owner_and_comes_back_to_them():
    taken = standing(entries(PULLED, SOLD, "stolen"))
    back = standing(entries(PULLED, SOLD, "stolen", "found"))

    assert (taken.state, taken.owner_id) == ("stolen", BUYER)
    assert (back.state, back.custodian_id) == ("sold", BUYER)


def test_a_lost_print_can_be_replaced_and_found_later_but_stays_replaced():
    told = entries(PULLED, "lost", ("replaced", {"words": "police report", "replacement_id": 9}), "found")

    now = standing(told)

    assert (now.state, now.replacement_id) == ("replaced", 9)


def test_a_destroyed_print_that_was_replaced_is_never_found():
    made = (PULLED, ("destroyed", {"words": "fire"}), ("replaced", {"words": "corner kept", "replacement_id": 9}))

    assert "cannot be found again" in refusal(*made, "found")


def test_a_replacement_needs_the_end_of_the_first():
    said = refusal(PULLED, CONSIGNED, ("replaced", {"words": "x", "replacement_id": 9}))

    assert said == (
        "7/15 cannot be replaced: it is consigned to Wennmouth Gallery since 1 March 2020. Write down its return first."
    )


def test_a_promise_is_kept_by_the_sale_to_that_person():
    promised = ("promised", {"person_id": BUYER, "on": "2020"})

    assert standing(entries(promised, PULLED)).hold is not None
    assert standing(entries(promised, PULLED, SOLD)).hold is None
    said = refusal(promised, PULLED, ("sold", {"person_id": MUSEUM}))
    assert said == ("7/15 is promised to Wilf Arkle since 2020. Release it first, if they gave it up.")


def test_a_reservation_runs_out():
    reserved = ("reserved", {"person_id": BUYER, "on": "2020-01-01", "until": "2020-02-01"})

    assert "reserved to Wilf Arkle" in refusal(PULLED, reserved, ("sold", {"person_id": MUSEUM, "on": "2020-01-20"}))
    later = standing(entries(PULLED, reserved, ("sold", {"person_id": MUSEUM, "on": "2020-03-20"})))
    assert later.owner_id == MUSEUM


def test_a_return_names_who_had_it():
    assert "is with Wennmouth Gallery since 1 March 2020" in refusal(PULLED, CONSIGNED, ("returned", {"person_id": 3}))


def test_an_entry_before_the_last_movement_is_refused_and_a_doubtful_one_is_not():
    assert "would come before that" in refusal(PULLED, CONSIGNED, ("returned", {"on": "2019-12"}))
    assert standing(entries(PULLED, CONSIGNED, ("returned", {"on": "2019-12?"}))).state == "in hand"


def test_a_correction_takes_an_entry_out_of_the_reckoning():
    told = entries(PULLED, CONSIGNED, ("corrected", {"corrects_id": 2, "words": "that was 8/15"}))

    assert [entry.kind for entry in in_force(told)] == ["pulled"]
    assert standing(told).state == "in hand"


def test_a_correction_that_leaves_an_impossible_ledger_is_found():
    with pytest.raises(ImpossibleEntryError):
        standing(entries(PULLED, CONSIGNED, "returned", ("corrected", {"corrects_id": 2, "words": "slip"})))


def test_a_print_whose_pulling_was_corrected_was_never_made():
    assert standing(entries(PULLED, ("corrected", {"corrects_id": 1, "words": "slip"}))).state == "never made"


def test_an_entry_says_what_it_lacks_and_what_it_has_no_use_for():
    assert missing(Entry(1, "consigned")) == ("person",)
    assert missing(Entry(1, "reserved", person_id=1)) == ("due",)
    assert beyond(Entry(1, "signed", price_minor=5, currency="EUR")) == ("price",)


@given(st.lists(st.tuples(st.sampled_from(LEDGER_KINDS[:-1]), st.integers(1, 3), st.integers(1, 3)), max_size=30))
def test_no_sequence_of_entries_gives_a_state_that_is_none(told):
    now: Standing = NEW
    for number, (kind, person, other) in enumerate(told, start=1):
        entry = Entry(number, kind, person_id=person, from_id=other if kind in ("sold", "given") else None,
                      place="x", words="x", due_edtf="2030", replacement_id=7)  # fmt: skip
        refused = why_not(now, entry)
        if refused is not None:
            assert refused.in_words("7/15", str)
            continue
        now = after(now, entry)

        assert now.state in (*PRINT_STATES, "free")
        assert (now.state in ("sold", "given")) <= (now.owner_id is not None and now.owner_id == now.custodian_id)
        assert now.owner_id is None or now.owned_as in ("sold", "given")
        if now.state == "in hand":
            assert (now.custodian_id, now.owner_id) == (None, None)
        if now.state == "free":
            assert kind in ON_NUMBER


def test_every_kind_says_in_which_states_it_can_come():
    assert all(kind.states for kind in KINDS.values())
