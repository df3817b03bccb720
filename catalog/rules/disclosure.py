"""
What a certificate must say: the disclosure lists of several laws, and whether a print's facts answer them.

The lists are facts gathered for a form, not legal advice. Each says what of the law's text was read for it; where
a law asks less than what stands here, or its own list was not read, the fuller list is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from catalog.dates.days import ordinal
from catalog.dates.value import EdtfDate
from catalog.errors import DisclosureError
from catalog.rules.money import Money

NOT_KNOWN_WORDS: Final = "not known"
NO_ADVICE: Final = (
    "This page states facts and is no legal advice. Whether a law asks for it, and for more, "
    "is a question for a lawyer where it matters."
)


class When(StrEnum):
    """When an item is asked for."""

    ALWAYS = "always"
    LIMITED = "of a limited edition"
    REPRODUCTION = "of a reproduction of another work"
    DEAD = "of an artist who is dead"


@dataclass(frozen=True, slots=True)
class Fact:
    """An item's answer in words, doubt included; ``is_known`` is false where it was said that nobody knows."""

    words: str
    is_known: bool = True


NOT_KNOWN: Final = Fact(NOT_KNOWN_WORDS, is_known=False)
Facts = Mapping[str, Fact]
"""Answers by the key of their item. A key that is absent was never answered, which is not the same as not known."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to disclose: its key, what the page calls it, and when it is asked for."""

    key: str
    label: str
    when: When = When.ALWAYS


ITEMS: Final = {
    item.key: item
    for item in (
        Item("artist", "Artist"),
        Item("title", "Title"),
        Item("signature", "Signature"),
        Item("process", "Medium and process"),
        Item("material", "Material"),
        Item("size", "Size"),
        Item("reproduction", "Reproduction of a work in another medium"),
        Item("approval", "Artist's approval of the reproduction", When.REPRODUCTION),
        Item("artists_part", "Artist's part in making the print"),
        Item("master", "Use of the master"),
        Item("dead", "Artist dead when the master was made", When.DEAD),
        Item("posthumous", "Printed after the artist's death"),
        Item("prior", "Earlier editions and other sizes"),
        Item("prior_master", "Earlier masters of the same picture"),
        Item("year", "Year printed"),
        Item("number", "Number of this print"),
        Item("total", "Size of the edition", When.LIMITED),
        Item("signed", "Signed prints", When.LIMITED),
        Item("numbered", "Numbered prints", When.LIMITED),
        Item("unsigned", "Unsigned prints", When.LIMITED),
        Item("unnumbered", "Unnumbered prints", When.LIMITED),
        Item("proofs", "Proofs", When.LIMITED),
        Item("hors_commerce", "Prints hors commerce", When.LIMITED),
        Item("master_fate", "Master cancelled, altered or destroyed", When.LIMITED),
        Item("workshop", "Workshop"),
    )
}

_CALIFORNIA: Final = (
    "artist", "signature", "process", "material", "reproduction", "approval", "dead", "posthumous", "prior", "year",
    "total", "signed", "numbered", "unsigned", "unnumbered", "proofs", "master_fate",
)  # fmt: skip
_NEW_YORK: Final = (
    "artist", "signature", "process", "material", "master", "year", "total", "signed", "numbered", "proofs",
)  # fmt: skip
_HAWAII: Final = (
    "artist", "artists_part", "approval", "signature", "year", "process", "total", "signed", "unsigned",
    "proofs", "hors_commerce", "master_fate", "prior",
)  # fmt: skip
_MARYLAND: Final = (
    "artist", "year", "total", "signed", "numbered", "unsigned", "proofs", "master_fate", "prior_master",
    "prior", "posthumous", "workshop",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class DisclosureList:
    """
    What one law asks a certificate to say.

    ``threshold`` is the price without frame from which it asks (``is_above``: only above it); ``what_was_read``
    says how far the law's own text was seen when this list was made. ``note`` is a sentence for the
    page.
    """

    law: str
    title: str
    cites: str
    items: tuple[str, ...]
    what_was_read: str
    threshold: Money | None = None
    is_above: bool = False
    note: str = ""

    @property
    def is_law(self) -> bool:
        """Whether a law stands behind the list."""
        return self.law != "none"


def _dollars(whole: int) -> Money:
    return Money(whole * 100, "USD")


CALIFORNIA: Final = DisclosureList(
    "california",
    "California",
    "California Civil Code, sections 1740 to 1745.5",
    _CALIFORNIA,
    # Source: section 1742 (opening, as of 2007) and two printed commentaries; section 1744's list through Georgia's,
    # which is nearly the same.
    "the opening of section 1742, commentaries, and the list of section 1744 by way of Georgia's",
    threshold=_dollars(100),
    note="An artist who sells their own work owes the same.",
)
GEORGIA: Final = DisclosureList(
    "georgia",
    "Georgia",
    "Official Code of Georgia, 10-1-431 and 10-1-432",
    _CALIFORNIA,
    "seven of its items; the rest is taken to be as in California",
)
HAWAII: Final = DisclosureList(
    "hawaii",
    "Hawaii",
    "Hawaii Revised Statutes, 481F-4",
    _HAWAII,
    "its list of items",
    note="This law does not name photographs among the processes it covers.",
)
MARYLAND: Final = DisclosureList(
    "maryland",
    "Maryland",
    "Maryland Commercial Law, 14-504",
    _MARYLAND,
    "its list of items",
    note='What is not known is said item by item: "not known".',
)
ILLINOIS: Final = DisclosureList(
    "illinois",
    "Illinois",
    "815 Illinois Compiled Statutes 345",
    _CALIFORNIA,
    "whom it covers and what it exempts, not its list; California's list stands in for it",
    threshold=_dollars(50),
    is_above=True,
    note=(
        "It covers prints made after 1 July 1972, and exempts an artist who sells directly, and prints sold at "
        "up to 50 dollars unframed or 60 framed."
    ),
)
NEW_YORK: Final = DisclosureList(
    "new-york",
    "New York",
    "New York Arts and Cultural Affairs Law, article 15, section 15.03",
    _NEW_YORK,
    "section 15.01, the first items of 15.03, and a summary",
    threshold=_dollars(100),
    is_above=True,
    note=(
        "This information is due before payment, on request. A buyer who paid first may return the print within "
        "30 days for reasons in the information."
    ),
)
NONE: Final = DisclosureList(
    "none",
    "no particular law",
    "",
    ("artist", "title", "process", "year", "signature", "number"),
    "",
)

LISTS: Final = {each.law: each for each in (CALIFORNIA, NEW_YORK, GEORGIA, HAWAII, MARYLAND, ILLINOIS, NONE)}
LAWS: Final = tuple(LISTS)
PLAIN: Final = ("artist", "title", "process", "material", "size", "year", "signature", "number")
"""Items that every certificate shows, asked for or not."""

# New York, Arts and Cultural Affairs Law, article 15: the sections by when the print was made, newest first.
_NEW_YORK_PERIODS: Final = (
    (ordinal(1982, 1, 1), "15.03", "1982 and later"),
    (ordinal(1950, 1, 1), "15.05", "1950 to 1981"),
    (ordinal(1900, 1, 1), "15.07", "1900 to 1949"),
    (None, "15.09", "before 1900"),
)


def choose_list(law: str, printed: EdtfDate | None = None) -> DisclosureList:
    """
    Return the list of a law for a print made at ``printed``.

    New York asks by period. Of a date that may fall in several, the latest counts, because it asks the most. What
    the earlier periods leave out was not read: the page names their section and still gives the whole list.

    Raises:
        KeyError: the law is none of ``LAWS``.
    """
    found = LISTS[law]
    if law != "new-york" or printed is None:
        return found
    section, period = _new_york_period(printed)
    if section == "15.03":
        return found
    return DisclosureList(
        found.law,
        found.title,
        f"New York Arts and Cultural Affairs Law, article 15, section {section} (prints of {period})",
        found.items,
        f"that section {section} asks less than 15.03, not which items; those of 15.03 are given",
        found.threshold,
        found.is_above,
        found.note,
    )


def _new_york_period(printed: EdtfDate) -> tuple[str, str]:
    return next(
        (section, period)
        for start, section, period in _NEW_YORK_PERIODS
        if start is None or printed.doubt or printed.latest is None or printed.latest >= start
    )


def asks(found: DisclosureList, price: Money | None) -> bool | None:
    """Return True if the law asks at this price (without frame), None if the price or its currency cannot say."""
    if not found.is_law:
        return False
    if found.threshold is None:
        return True
    if price is None or price.currency != found.threshold.currency:
        return None
    return price.minor > found.threshold.minor if found.is_above else price.minor >= found.threshold.minor


@dataclass(frozen=True, slots=True)
class Answer:
    """One line of the certificate: the item, its words, and whether the law asks for it."""

    item: Item
    words: str
    is_known: bool
    is_asked: bool


def answer(
    found: DisclosureList,
    facts: Facts,
    *,
    what: str,
    is_limited: bool,
    is_reproduction: bool = False,
    is_artist_dead: bool = False,
    price: Money | None = None,
) -> tuple[Answer, ...]:
    """
    Return every item of a list with its answer, and those every certificate shows.

    An item that does not apply (counts of an edition that is open) is left out. An item that was never answered
    is refused where the law asks, or may ask; otherwise it is said to be not recorded.

    Raises:
        DisclosureError: required items were never answered; all of them are named, and ``what`` lacks them.
    """
    applies = {
        When.ALWAYS: True,
        When.LIMITED: is_limited,
        When.REPRODUCTION: is_reproduction,
        When.DEAD: is_artist_dead,
    }
    keys = [key for key in ITEMS if (key in found.items or key in PLAIN) and applies[ITEMS[key].when]]
    must = found.is_law and asks(found, price) is not False
    lacking = [key for key in keys if must and key in found.items and not _is_answered(facts.get(key))]
    if lacking:
        raise DisclosureError(what, [(key, ITEMS[key].label) for key in lacking], found.title, found.cites)
    return tuple(_answer(key, facts.get(key), is_asked=found.is_law and key in found.items) for key in keys)


def _is_answered(fact: Fact | None) -> bool:
    return fact is not None and bool(fact.words.strip())


def _answer(key: str, fact: Fact | None, *, is_asked: bool) -> Answer:
    if fact is None or not fact.words.strip():
        return Answer(ITEMS[key], "not recorded", is_known=False, is_asked=is_asked)
    return Answer(ITEMS[key], fact.words, is_known=fact.is_known, is_asked=is_asked)


def text_followed(found: DisclosureList, price: Money | None = None) -> tuple[str, ...]:
    """Return the sentences for the page: which text it follows, how far that was read, and that it is no advice."""
    if not found.is_law:
        return ("This certificate follows no particular law.", NO_ADVICE)
    said = [f"The items follow {found.cites}. For this form were read: {found.what_was_read}."]
    if asks(found, price) is False and found.threshold is not None:
        said.append(f"At this price the law does not ask for them; it does {_from(found)}.")
    elif found.threshold is not None:
        said.append(f"The law asks for them {_from(found)}.")
    return (*said, *filter(None, (found.note,)), NO_ADVICE)


def _from(found: DisclosureList) -> str:
    assert found.threshold is not None
    return f"{'above' if found.is_above else 'from'} {found.threshold}, frame not counted"
