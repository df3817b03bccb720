"""
What a certificate must say.

Items and thresholds: California Civil Code 1740-1745.5, New York Arts and Cultural Affairs Law article 15, Hawaii
Revised Statutes 481F-4, Maryland Commercial Law 14-504, 815 ILCS 345, O.C.G.A. 10-1-431, as far as each list says
that it was read (``what_was_read``). That the lists are whole is not claimed and so not tested.
"""

from __future__ import annotations

import pytest

from catalog.dates import parse_edtf
from catalog.errors import DisclosureError
from catalog.rules.disclosure import (
    ITEMS,
    LAWS,
    LISTS,
    NO_ADVICE,
    NOT_KNOWN,
    Fact,
    answer,
    asks,
    choose_list,
    text_followed,
)
from catalog.rules.money import Money

ALL = {key: Fact(f"words about {key}") for key in ITEMS}
HUNDRED = Money(100_00, "USD")


def without(*keys: str) -> dict[str, Fact]:
    return {key: fact for key, fact in ALL.items() if key not in keys}


@pytest.mark.parametrize("law", [law for law in LAWS if law != "none"])
def test_each_item_of_a_law_is_answered_or_the_certificate_is_refused(law: str):
    found = LISTS[law]

    for key in found.items:
        dead, reproduction = key == "dead", key == "approval"
        with pytest.raises(DisclosureError) as refused:
            answer(found, without(key), what="P88", is_limited=True, is_reproduction=reproduction, is_artist_dead=dead)

        assert [missing for missing, _ in refused.value.missing] == [key]


def test_a_certificate_without_statute_fields_names_all_that_are_missing():  # case J08
    facts = without("process", "year", "signature", "proofs")

    with pytest.raises(DisclosureError) as refused:
        answer(LISTS["california"], facts, what="P88", is_limited=True)

    assert str(refused.value) == (
        "P88: no certificate under the law of California, which asks for: signature, medium and process, year "
        'printed, proofs. Record each of these, or answer it here, if only with "not known": signature, process, year, '
        "proofs."
    )


def test_not_known_is_an_answer_and_is_said_item_by_item():  # Maryland Commercial Law 14-504 (b)
    facts = {**ALL, "unsigned": NOT_KNOWN, "prior": NOT_KNOWN}

    said = {each.item.key: each.words for each in answer(LISTS["maryland"], facts, what="P88", is_limited=True)}

    assert (said["unsigned"], said["prior"]) == ("not known", "not known")


def test_words_of_blanks_are_no_answer():
    with pytest.raises(DisclosureError, match="year printed"):
        answer(LISTS["hawaii"], {**ALL, "year": Fact("  ")}, what="P88", is_limited=True)


def test_counts_are_not_asked_of_an_edition_without_limit():
    facts = without("total", "signed", "numbered", "unsigned", "unnumbered", "proofs", "master_fate")

    said = answer(LISTS["california"], facts, what="P88", is_limited=False)

    assert not {"total", "signed", "proofs"} & {each.item.key for each in said}


def test_no_law_asks_for_nothing_and_says_what_was_not_recorded():
    said = {each.item.key: each.words for each in answer(LISTS["none"], {}, what="P88", is_limited=True)}

    assert said["year"] == "not recorded"


@pytest.mark.parametrize(
    ("law", "price", "expected"),
    [
        ("california", HUNDRED, True),  # at 100 dollars or more
        ("california", Money(99_99, "USD"), False),
        ("new-york", HUNDRED, False),  # over 100 dollars
        ("new-york", Money(100_01, "USD"), True),
        ("illinois", Money(50_00, "USD"), False),
        ("illinois", Money(50_01, "USD"), True),
        ("california", Money(100_00, "EUR"), None),
        ("california", None, None),
        ("maryland", None, True),
        ("none", HUNDRED, False),
    ],
)
def test_a_law_asks_from_its_threshold_on(law: str, price: Money | None, expected: bool | None):
    assert asks(LISTS[law], price) is expected


def test_below_the_threshold_a_missing_item_is_not_refused():
    said = answer(LISTS["california"], without("year"), what="P88", is_limited=True, price=Money(99_99, "USD"))

    assert next(each.words for each in said if each.item.key == "year") == "not recorded"


def test_a_price_that_cannot_be_compared_does_not_excuse():
    with pytest.raises(DisclosureError):
        answer(LISTS["california"], without("year"), what="P88", is_limited=True, price=Money(1_00, "EUR"))


@pytest.mark.parametrize(
    ("printed", "section"),
    [
        ("1982-01-01", "15.03"),
        ("1981-12-31", "15.05"),
        ("1950", "15.05"),
        ("1949-12", "15.07"),
        ("1899", "15.09"),
        ("1980/1983", "15.03"),  # may fall in either; the later asks more
        ("1975~", "15.03"),  # "about" may reach beyond any boundary
        ("1975/..", "15.03"),
    ],
)
def test_new_york_asks_by_the_period_the_print_was_made_in(printed: str, section: str):
    # Arts and Cultural Affairs Law, article 15: 15.03 from 1 January 1982, then 15.05, 15.07, 15.09.
    assert f"section {section}" in choose_list("new-york", parse_edtf(printed)).cites


@pytest.mark.parametrize("law", LAWS)
def test_every_page_says_that_it_is_no_legal_advice(law: str):
    said = text_followed(LISTS[law])

    assert said[-1] == NO_ADVICE
    assert LISTS[law].cites in said[0]
