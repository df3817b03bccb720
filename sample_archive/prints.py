"""The prints of the sample archive: three editions, and what became of their prints. All of it is invented."""

from __future__ import annotations

from typing import Any

from catalog.actions.edition_amendments import set_price
from catalog.actions.editions import open_edition
from catalog.actions.ledger import EntryFacts, Subject, write_in_ledger
from catalog.actions.persons import add_person
from catalog.actions.print_facts import Signature, sign_print
from catalog.actions.prints import pull_prints, replace_print
from catalog.dates import parse_words
from catalog.model import RecordedDate
from catalog.rules.editions import ACROSS, SizePlan
from catalog.rules.money import parse_money
from catalog.store.archive import Archive

COTTON = {
    "process": "pigment",
    "paper": "cotton, 310 g",
    "inks": "pigment, three greys",
    "printer": "60 cm pigment printer",
}


def load_prints(archive: Archive) -> None:
    """Open the editions and write down what happened to their prints, deed by deed, once the cards are read."""
    people = {
        "gallery": add_person(
            archive, name="Lantern Street Gallery", kind="firm", role="gallery", address="9 Lantern Street, Wennmouth"
        ),
        "museum": add_person(
            archive, name="Halding Museum", kind="firm", role="museum", address="Museum Yard, Halding"
        ),
        "buyer": add_person(archive, name="Corin Tasker", role="buyer", address="The Toll House, Priors Lode"),
        "friend": add_person(archive, name="Bridie Hallow", role="friend"),
    }  # fmt: skip
    _osk_mill(archive, people)
    _brome_hall(archive, people)
    _staddle_granary(archive)


def _osk_mill(archive: Archive, people: dict[str, int]) -> None:
    """The edition of 15 with proofs: a consignment, a sale, a print destroyed and replaced, a promise not yet kept."""
    run = _open(
        archive, "78-16", title="Osk Mill, clad", limit=15, proofs=[("AP", 2), ("BAT", 1)], when="March 2011",
        statement="Osk Mill. Fifteen prints in one size, with two artist's proofs and one bon à tirer.",
        sizes=[SizePlan("one size", "30 x 38 cm", "40 x 50 cm")], published_in="list of spring 2011",
    )  # fmt: skip
    _pull(archive, run, "April 2011", series="BAT")
    first = _pull(archive, run, "May 2011", count=4)
    _pull(archive, run, "May 2011", series="AP", count=2)
    for print_id in first:
        sign_print(archive, print_id, Signature("verso, lower right", "pencil"), date=_date("June 2011"))
    _write(archive, "consigned", first[0:2], people["gallery"], on="September 2011", until="September 2012",
           price="600 EUR", place="front room")  # fmt: skip
    _write(archive, "sold", first[0:1], people["buyer"], on="November 2011", price="600 EUR")
    _write(archive, "destroyed", first[2:3], on="2013-02", place="the framer's at Halding",
           words="burst pipe; the signed corner was kept")  # fmt: skip
    again = replace_print(archive, first[2], proof="signed corner, in the file", pulled=_date("March 2013"))
    sign_print(archive, again, Signature("verso, lower right", "pencil"), date=_date("March 2013"))
    write_in_ledger(archive, "promised", [Subject(place=(run, "numbered", 7))],
                    EntryFacts(_date("May 2021"), people["friend"]))  # fmt: skip


def _brome_hall(archive: Archive, people: dict[str, int]) -> None:
    """The edition of "only 25 across two sizes": a loan, a gift, a print spoiled."""
    run = _open(
        archive, "76-04", title="Brome Hall from the old road", limit=25, when="2014",
        statement="Brome Hall. Only 25 across two sizes.",
        sizes=[SizePlan("small", "24 x 30 cm"), SizePlan("large", "48 x 60 cm")],
    )  # fmt: skip
    with archive.reading() as connection:
        small, large = (
            row[0] for row in connection.execute("SELECT id FROM size WHERE run_id = ? ORDER BY id", (run,))
        )
    prints = [*_pull(archive, run, "2014", count=2, size_id=small), *_pull(archive, run, "2015?", size_id=large)]
    _write(archive, "lent", prints[0:1], people["museum"], on="May 2015", until="May 2016", place="stair hall")
    _write(archive, "given", prints[1:2], people["friend"], on="December 2014")
    _write(archive, "spoiled", prints[2:3], words="a crease across the sky")


def _staddle_granary(archive: Archive) -> None:
    """The open edition, with its price."""
    run = _open(
        archive, "77-09", title="Over Brome granary", limit=None, when="2018",
        sizes=[SizePlan("one size", "18 x 24 cm")],
        statement="Over Brome, the granary on its staddles. An open edition; prints are numbered as they are pulled.",
    )  # fmt: skip
    with archive.reading() as connection:
        edition_id = connection.execute("SELECT edition_id FROM run WHERE id = ?", (run,)).fetchone()[0]
    set_price(archive, edition_id, parse_money("80 EUR"))
    _pull(archive, run, "2018", count=2)


def _date(words: str) -> RecordedDate:
    return RecordedDate.of(parse_words(words), words)


def _open(
    archive: Archive, number: str, *, title: str, statement: str, limit: int | None, sizes: list[SizePlan], when: str,
    proofs: list[tuple[str, int]] | None = None, published_in: str | None = None,
) -> int:  # fmt: skip
    """Open an edition of the one view of a sheet, and return its run."""
    with archive.reading() as connection:
        sheet_id, view_id = connection.execute(
            "SELECT s.sheet_id, v.view_id FROM sheet_number s JOIN sheet_view v ON v.sheet_id = s.sheet_id"
            " WHERE s.text = ?",
            (number,),
        ).fetchone()
    opened = open_edition(
        archive, view_id, statement=statement, sizes=sizes, sizes_count=ACROSS, limit=limit, sheet_ids=[sheet_id],
        proofs=proofs or [], title=title, stated=_date(when), published_in=published_in, process="pigment",
    )  # fmt: skip
    with archive.reading() as connection:
        run_id: int = connection.execute("SELECT id FROM run WHERE edition_id = ?", (opened.edition_id,)).fetchone()[0]
    return run_id


def _pull(archive: Archive, run: int, when: str, **how: Any) -> tuple[int, ...]:
    return pull_prints(archive, run, pulled=_date(when), **how, **COTTON).print_ids


def _write(
    archive: Archive, kind: str, prints: tuple[int, ...] | list[int], person_id: int | None = None, *,
    on: str | None = None, until: str | None = None, price: str | None = None, place: str | None = None,
    words: str | None = None,
) -> None:  # fmt: skip
    nothing = RecordedDate()
    facts = EntryFacts(
        _date(on) if on else nothing, person_id, None, place, parse_money(price) if price else None,
        _date(until) if until else nothing, None, words,
    )  # fmt: skip
    write_in_ledger(archive, kind, [Subject(print_id) for print_id in prints], facts)
