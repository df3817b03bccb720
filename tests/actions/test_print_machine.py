"""Random deeds and undos on editions, prints, the ledger and documents, held against a book kept by hand."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from catalog import clock
from catalog.actions.deeds import undo_deed
from catalog.actions.desk import AT_DESK, Desk
from catalog.actions.documents import issue_consignment_note, void_document
from catalog.actions.edition_amendments import amend_edition
from catalog.actions.editions import set_edition_state
from catalog.actions.ledger import EntryFacts, Subject, correct_entry, write_in_ledger
from catalog.actions.persons import add_person
from catalog.actions.print_facts import Signature, describe_print, sign_print
from catalog.actions.prints import pull_prints, replace_print
from catalog.dates import parse_edtf
from catalog.errors import CatalogError
from catalog.model import RecordedDate
from catalog.rules.editions import EACH, SizePlan
from catalog.rules.money import Money
from catalog.store.archive import Archive
from catalog.store.check import check_archive
from catalog.store.editions import list_editions, list_numbers, list_runs
from catalog.store.prints import list_prints, prints_held_by, prints_out
from tests.actions.print_book import AWAY, CAN_COME, ENDED, GONE, Book, NotDone, Now, RunPage, stand
from tests.builders import a_mill, a_sheet, rows
from tests.editions import an_edition
from tests.store.archives import an_archive, filled

WANTED_STEPS = 10_000
BEGAN = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
# What may be said with each kind beside a date: person, due year, price, place.
SAYS = {
    "framed": "place", "damaged": "", "condition report": "", "promised": "person due price",
    "reserved": "person due price", "released": "", "drawer": "place", "consigned": "person due price place",
    "lent": "person due price place", "shown": "person due price place", "commission": "person price",
    "sold": "person price source", "given": "person source", "bought back": "perhaps price", "returned": "perhaps",
    "lost": "", "stolen": "", "found": "place", "spoiled": "", "destroyed": "",
}  # fmt: skip
NEEDS_WORDS = {"damaged", "condition report", "spoiled", "destroyed"}


def _three_editions(archive: Archive) -> None:
    """Open three editions of three views, and add four persons."""
    for name in ("Wennmouth Gallery", "Wilf Arkle", "Nan Orrell", "Wennshire Museum"):
        add_person(archive, name=name)
    views = []
    for number, building in (("78-14", "Osk Mill"), ("78-15", "Brome Hall"), ("78-16", "Ferry House")):
        sheet_id = a_sheet(archive, number, shows=a_mill(archive, building))
        views.append((rows(archive, "SELECT view_id FROM sheet_view WHERE sheet_id = ?", sheet_id)[0], sheet_id))
    an_edition(archive, limit=4, view=views[0])
    an_edition(archive, limit=2, view=views[1], sizes=[SizePlan("small"), SizePlan("large")], sizes_count=EACH,
               proofs=[])  # fmt: skip
    an_edition(archive, limit=None, view=views[2], proofs=[("AP", 1)])


def _year(year: int | None) -> RecordedDate:
    return RecordedDate() if year is None else RecordedDate.of(parse_edtf(str(year)))


years = st.none() | st.integers(2005, 2012)
# Counted from the newest backwards, and mostly one of the newest: a story goes on more often than it begins.
picks = st.integers(0, 2) | st.integers(0, 50)


choices = st.tuples(st.integers(1, 4), years, st.none() | st.integers(1, 99999), st.integers(0, 50))
rarely = st.sampled_from([False] * 9 + [True])
often_numbered = st.sampled_from(["numbered", "numbered", "numbered", "AP"])
# Each deed with how often it is done among a hundred, what must be there for it, and what is drawn for it. One rule
# draws them all: Hypothesis would leave out rules of its own at random, and stories need all of them.
DEEDS: dict[str, tuple[int, str | None, dict[str, st.SearchStrategy[Any]]]] = {
    "pull": (14, None, {
        "pick": st.integers(0, 3), "series": often_numbered, "ordinal": st.none() | st.none() | st.integers(1, 5),
        "count": st.sampled_from([1, 1, 2, 3]), "year": years, "is_tried": rarely,
    }),
    "write": (34, "prints", {
        "which": st.integers(0, 100), "is_guided": st.sampled_from([True, True, True, False]), "pick": picks,
        "more": st.just([]) | st.lists(picks, max_size=2), "year": years, "choices": choices, "is_tried": rarely,
    }),
    "write_at": (7, None, {
        "kind": st.sampled_from(["promised", "promised", "reserved", "released", "drawer"]), "pick": st.integers(0, 3),
        "series": often_numbered, "ordinal": st.none() | st.integers(1, 4), "year": years, "choices": choices,
    }),
    "sign": (3, "prints", {"pick": picks, "where": st.sampled_from([None, "verso", "recto"]), "year": years}),
    "describe": (2, "prints", {"pick": picks, "paper": st.sampled_from([None, "matt cotton", "baryta"])}),
    "replace": (8, "prints", {"pick": picks, "year": years}),
    "correct": (7, "facts", {"back": picks}),
    "set_state": (3, None, {
        "edition": st.integers(1, 3), "state": st.sampled_from(["held", "open", "open", "open", "closed", "withdrawn"]),
    }),
    "amend": (3, None, {
        "pick": st.integers(0, 3), "limit": st.none() | st.integers(1, 6),
        "numbering": st.sampled_from([None, None, "serial", "fraction"]), "proofs": st.none() | st.integers(0, 3),
    }),
    "note": (3, "prints", {"pick": picks}),
    "void": (1, "pages", {"pick": picks}),
    "undo_newest": (3, "newest", {}),
    "undo_one": (7, "deeds", {"back": picks, "of_a_print": st.booleans(), "is_tried": rarely}),
    "undo_an_undo": (5, "undos", {"pick": picks}),
}  # fmt: skip
assert sum(often for often, _, _ in DEEDS.values()) == 100
deeds = st.sampled_from([name for name, (often, _, _) in DEEDS.items() for _ in range(often)]).flatmap(
    lambda name: st.tuples(st.just(name), st.fixed_dictionaries(DEEDS[name][2]))
)


class PrintMachine(RuleBasedStateMachine):
    """Does each deed in the archive and in the book, and sees that both did it or both refused."""

    steps: ClassVar[int] = 0
    done: ClassVar[int] = 0

    def __init__(self) -> None:
        super().__init__()
        self.folder = tempfile.TemporaryDirectory(prefix="print-machine-")
        self.archive: Archive = filled(an_archive(Path(self.folder.name) / "wenn"), _three_editions)
        self.reading = sqlite3.connect(self.archive.catalogue, isolation_level=None)
        self.book = self._as_it_begins()
        self.seconds = 0
        self.is_alike = True

    def _read(self, statement: str) -> list[tuple[Any, ...]]:
        return self.reading.execute(statement).fetchall()

    def _as_it_begins(self) -> Book:
        runs = {row[0]: RunPage(*row) for row in self._read("SELECT id, edition_id, limit_count FROM run")}
        for run_id, kind, allowed, row_id in self._read("SELECT run_id, kind, allowed, id FROM proof_allowance"):
            runs[run_id].allowed[kind], runs[run_id].allowance_ids[kind] = allowed, row_id
        states = {row[0]: (row[1], row[2]) for row in self._read("SELECT id, edition_id, state FROM edition_state")}
        last = {
            "state": max(states),
            "allowance": self._read("SELECT max(id) FROM proof_allowance")[0][0],
            "deed": self._read("SELECT max(id) FROM deed")[0][0],
        }
        return Book(runs, states, last=last)

    def both(self, in_book: Callable[[Book], object], in_archive: Callable[[Desk], object], is_tried: bool) -> None:
        """Do a deed in both; one that ``is_tried`` only must change nothing."""
        PrintMachine.steps += 1
        self.seconds += 1
        self.is_alike = False
        told, wanted, said = self.book.copy(), None, None
        try:
            in_book(told)
        except NotDone as reason:
            wanted = reason
        try:
            with clock.fixed(BEGAN + timedelta(seconds=self.seconds)):
                in_archive(Desk(dry_run=True) if is_tried else AT_DESK)
        except CatalogError as refusal:
            said = refusal
        assert (said is None) == (wanted is None), f"the archive says {said!r}, the book {wanted!r}"
        if wanted is None and not is_tried:
            self.book = told
            PrintMachine.done += 1

    # ---- what a person does

    @rule(deed=deeds)
    def do(self, deed: tuple[str, dict[str, Any]]) -> None:
        name, drawn = deed
        needs = DEEDS[name][1]
        if needs is None or self._has(needs):
            getattr(self, f"_{name}")(**drawn)
        else:
            self._pull(0, "numbered", None, 1, None, False)

    def _has(self, needs: str) -> bool:
        if needs == "undos":
            return any(deed.undoes is not None for deed in self.book.deeds.values())
        if needs == "newest":  # else it would be a deed that was done before the machine began
            return self.book.newest() is not None
        return bool(getattr(self.book, needs))

    def _print(self, pick: int, *states: set[str]) -> int:
        """Pick a print, where possible one in one of ``states``; numbers beyond are no print at all."""
        wanted = set().union(*states)
        fitting = [i for i in self.book.prints if self.book.now(i).state in wanted] if wanted else []
        among = fitting or list(self.book.prints)
        return among[-1 - pick % len(among)]

    def _pull(self, pick: int, series: str, ordinal: int | None, count: int, year: int | None, is_tried: bool) -> None:
        run_id = list(self.book.runs)[pick % len(self.book.runs)]
        count = 1 if ordinal is not None else count
        self.both(
            lambda book: book.pull(run_id, series, ordinal, count, year),
            lambda desk: pull_prints(self.archive, run_id, series=series, ordinal=ordinal, count=count,
                                     pulled=_year(year), desk=desk),
            is_tried,
        )  # fmt: skip

    def _said(self, kind: str, now: Now, choices: tuple[int, int | None, int | None, int]) -> dict[str, Any]:
        """Return what is said with an entry, some of it out of what stands: whoever owns it may pass it on."""
        person, due, price, place = choices
        says = SAYS[kind].split()
        said: dict[str, Any] = {}
        if "person" in says:
            said["person"] = now.hold[1] if now.hold is not None and place % 2 else person
        if "perhaps" in says and place % 2:
            said["person"] = person if place % 3 else (now.owner if kind == "bought back" else now.custodian)
        if "source" in says:
            said["source"] = now.owner if place % 5 else person
        if "due" in says and (due is not None or kind == "reserved"):
            said["due"] = due or 2011
        if "price" in says and (price is not None or kind == "commission"):
            said["price"] = price or 5000
        if "place" in says:
            said["place"] = f"place {place % 4}"
        return {name: value for name, value in said.items() if value is not None}

    @staticmethod
    def _facts(kind: str, year: int | None, said: dict[str, Any]) -> EntryFacts:
        price = said.get("price")
        return EntryFacts(
            date=_year(year), person_id=said.get("person"), from_id=said.get("source"), place=said.get("place"),
            price=None if price is None else Money(price, "EUR"), due=_year(said.get("due")),
            words="seen at the desk" if kind in NEEDS_WORDS else None,
        )  # fmt: skip

    def _write(
        self, which: int, is_guided: bool, pick: int, more: list[int], year: int | None,
        choices: tuple[int, int | None, int | None, int], is_tried: bool,
    ) -> None:  # fmt: skip
        first = self._print(pick)
        now = self.book.now(first)
        kinds = [kind for kind in SAYS if not is_guided or now.state in CAN_COME[kind]] or list(SAYS)
        kind = kinds[which % len(kinds)]
        prints = [first, *(self._print(each, CAN_COME[kind]) for each in more)]
        said = self._said(kind, now, choices)
        year = now.since if is_guided and year is not None and now.since is not None and year < now.since else year
        self.both(
            lambda book: book.write(kind, prints, year=year, **said),
            lambda desk: write_in_ledger(self.archive, kind, [Subject(print_id) for print_id in prints],
                                         self._facts(kind, year, said), desk=desk),
            is_tried,
        )  # fmt: skip

    def _write_at(
        self, kind: str, pick: int, series: str, ordinal: int | None, year: int | None,
        choices: tuple[int, int | None, int | None, int],
    ) -> None:  # fmt: skip
        run_id = list(self.book.runs)[pick % len(self.book.runs)]
        number = None if ordinal is None else self.book.number_at(run_id, series, ordinal)
        now = Now() if number is None else stand(self.book.on_number(number.id))
        said = self._said(kind, now, choices)
        self.both(
            lambda book: book.write_at(kind, run_id, series, ordinal, year=year, **said),
            lambda desk: write_in_ledger(self.archive, kind, [Subject(place=(run_id, series, ordinal))],
                                         self._facts(kind, year, said), desk=desk),
            False,
        )  # fmt: skip

    def _sign(self, pick: int, where: str | None, year: int | None) -> None:
        print_id = self._print(pick)
        self.both(
            lambda book: book.sign(print_id, where, year),
            lambda desk: sign_print(self.archive, print_id, Signature(where), date=_year(year), desk=desk),
            False,
        )

    def _describe(self, pick: int, paper: str | None) -> None:
        print_id = self._print(pick)
        self.both(
            lambda book: book.describe(print_id, paper),
            lambda desk: describe_print(self.archive, print_id, paper=paper, desk=desk),
            False,
        )

    def _replace(self, pick: int, year: int | None) -> None:
        print_id = self._print(pick, GONE, ENDED - {"replaced"})
        since = self.book.now(print_id).since
        when = since if year is not None and since is not None and year < since else year
        self.both(
            lambda book: book.replace_print(print_id, when),
            lambda desk: replace_print(self.archive, print_id, proof="the corner with the signature",
                                       pulled=_year(when), date=_year(when), desk=desk),
            False,
        )  # fmt: skip

    def _correct(self, back: int) -> None:
        fact_id = self.book.facts[-1 - back % len(self.book.facts)].id
        self.both(
            lambda book: book.correct(fact_id),
            lambda desk: correct_entry(self.archive, fact_id, why="a slip", desk=desk),
            False,
        )

    def _set_state(self, edition: int, state: str) -> None:
        self.both(
            lambda book: book.set_state(edition, state),
            lambda desk: set_edition_state(self.archive, edition, state, desk=desk),
            False,
        )

    def _amend(self, pick: int, limit: int | None, numbering: str | None, proofs: int | None) -> None:
        run_id = list(self.book.runs)[pick % len(self.book.runs)]
        self.both(
            lambda book: book.amend(run_id, limit, numbering, proofs),
            lambda desk: amend_edition(self.archive, self.book.runs[run_id].edition, words="As told to the buyers.",
                                       limit=limit, numbering=numbering, run_id=run_id, desk=desk,
                                       proofs=[] if proofs is None else [("AP", proofs)]),
            False,
        )  # fmt: skip

    def _note(self, pick: int) -> None:
        person = self.book.now(self._print(pick, {"consigned"})).custodian or 1
        self.both(
            lambda book: book.note(person),
            lambda desk: issue_consignment_note(self.archive, person, desk=desk),
            False,
        )

    def _void(self, pick: int) -> None:
        page_id = list(self.book.pages)[-1 - pick % len(self.book.pages)]
        self.both(
            lambda book: book.void(page_id),
            lambda desk: void_document(self.archive, page_id, because="wrong address", desk=desk),
            False,
        )

    def _undo_newest(self) -> None:
        newest = self.book.newest()
        assert newest is not None
        self.both(lambda book: book.undo(newest), lambda _: undo_deed(self.archive), False)

    def _undo_one(self, back: int, of_a_print: bool, is_tried: bool) -> None:
        deeds = self.book.deeds.values()
        among = [
            deed.id for deed in deeds if not of_a_print or ("print", "added") in {(c[0], c[2]) for c in deed.changes}
        ]
        deed_id = (among or list(self.book.deeds))[-1 - back % len(among or deeds)]
        self.both(
            lambda book: book.undo(deed_id),
            lambda desk: undo_deed(self.archive, deed_id, dry_run=desk.dry_run),
            is_tried,
        )

    def _undo_an_undo(self, pick: int) -> None:
        undoings = [deed.id for deed in self.book.deeds.values() if deed.undoes is not None]
        deed_id = undoings[-1 - pick % len(undoings)]
        self.both(lambda book: book.undo(deed_id), lambda _: undo_deed(self.archive, deed_id), False)

    # ---- what must be alike

    @invariant()
    def archive_and_book_are_alike(self) -> None:
        self.is_alike = False  # until all of it was looked at
        self._numbers_are_given_once_and_alike()
        self._prints_are_alike()
        self._the_ledger_is_alike()
        self._every_print_stands_as_in_the_book()
        self._editions_and_deeds_are_alike()
        self._documents_are_alike()
        self._counts_are_alike()
        self.is_alike = True

    def _numbers_are_given_once_and_alike(self) -> None:
        found = self._read("SELECT id, run_id, series, ordinal, written FROM print_number ORDER BY id")
        assert found == [(n.id, n.run, n.series, n.ordinal, n.written) for n in self.book.numbers.values()]
        assert len({row[1:4] for row in found}) == len(found)
        live = self._read("SELECT print_number_id FROM print WHERE life = 'live' AND print_number_id IS NOT NULL")
        assert len(set(live)) == len(live)

    def _prints_are_alike(self) -> None:
        assert self._read(
            "SELECT id, print_number_id, replaces_id, paper, signed_where, life FROM print ORDER BY id"
        ) == [
            (p.id, p.number, p.replaces, p.paper, p.signed_where, self.book.life(p.id))
            for p in self.book.prints.values()
        ]

    def _the_ledger_is_alike(self) -> None:
        found = self._read(
            "SELECT id, coalesce(print_id, 0), coalesce(print_number_id, 0), kind, person_id, from_id, date_edtf,"
            " due_edtf, price_minor, place, corrects_id, replacement_id FROM ledger_entry ORDER BY id"
        )
        assert found == [
            (f.id, f.on[1] * (f.on[0] == "print"), f.on[1] * (f.on[0] == "number"), f.kind, f.person, f.source,
             _edtf(f.year), _edtf(f.due), f.price, f.place, f.corrects, f.replacement)
            for f in self.book.facts
        ]  # fmt: skip

    def _every_print_stands_as_in_the_book(self) -> None:
        found = self._read(
            "SELECT print_id, state, custodian_id, owner_id, since, due, place, value_minor, is_signed, hold,"
            " held_for_id, held_until, entry_id FROM print_standing ORDER BY print_id"
        )
        wanted = []
        for print_id in self.book.prints:
            now = self.book.now(print_id)
            hold = now.hold or (None, None, None, 0)
            # a print that was never made points to the entry that said so: its last
            entry = self.book.reckoned(("print", print_id))[-1].id if now.state == "never made" else now.brought_by
            wanted.append((print_id, now.state, now.custodian, now.owner, _edtf(now.since), _edtf(now.due), now.place,
                           now.value, int(now.is_signed), hold[0], hold[1], _edtf(hold[2]), entry))  # fmt: skip
        assert found == wanted

    def _editions_and_deeds_are_alike(self) -> None:
        book = self.book
        assert self._read("SELECT id, edition_id, state FROM edition_state ORDER BY id") == [
            (line, *said) for line, said in sorted(book.states.items())
        ]
        assert self._read("SELECT id, limit_count, numbering FROM run ORDER BY id") == [
            (run.id, run.limit, run.numbering) for run in book.runs.values()
        ]
        assert self._read("SELECT run_id, allowed FROM proof_allowance WHERE kind = 'AP' ORDER BY run_id") == [
            (run.id, run.allowed["AP"]) for run in book.runs.values() if "AP" in run.allowed
        ]
        assert self._read("SELECT id FROM edition_amendment ORDER BY id") == [(i,) for i in sorted(book.amendments)]
        first = min(book.deeds, default=0)
        assert self._read(
            f"SELECT id, undoes_id, undone_by_id FROM deed WHERE id >= {first or 'NULL'} ORDER BY id"
        ) == [(deed.id, deed.undoes, deed.undone_by) for deed in book.deeds.values()]

    def _documents_are_alike(self) -> None:
        assert self._read("SELECT id, person_id, state FROM document ORDER BY id") == [
            (page.id, page.person, page.state) for page in self.book.pages.values()
        ]
        assert self._read("SELECT document_id, print_id FROM document_line ORDER BY document_id, print_id") == [
            (page.id, print_id) for page in self.book.pages.values() for print_id in page.lines
        ]

    def _counts_are_alike(self) -> None:
        book = self.book
        now = {print_id: book.now(print_id) for print_id in book.prints}
        made = [p for p in book.prints.values() if now[p.id].state != "never made"]
        is_ours_out = {i for i, each in now.items() if each.state in AWAY and each.owner is None}
        assert sorted(row.id for row in prints_out(self.reading)) == sorted(is_ours_out)
        assert [row.id for row in list_prints(self.reading)] == [p.id for p in made]
        for person in range(1, 5):
            held = [i for i, each in now.items() if each.custodian == person and each.state not in GONE]
            assert [row.id for row in prints_held_by(self.reading, person)] == held
        for edition in list_editions(self.reading):
            numbers = [n for n in book.numbers.values() if book.runs[n.run].edition == edition.id]
            numbered = [book.prints_of(n.id) for n in numbers if n.series == "numbered" and book.prints_of(n.id)]
            passed_on = [prints for prints in numbered if any(now[i].owner is not None for i in prints)]
            out = [prints for prints in numbered if is_ours_out & set(prints)]
            told = (edition.given, edition.sold, edition.out)
            assert told == (len(numbered), len(passed_on), len(out)), f"E{edition.id} says {told}"
            assert sum(run.sold for run in list_runs(self.reading, edition.id)) == len(passed_on)
            for row in list_numbers(self.reading, edition.id):
                hold = stand(book.on_number(row.id)).hold
                last = book.prints_of(row.id)[-1:]
                assert row.state == (now[last[0]].state if last else hold[0] if hold else "free")

    def teardown(self) -> None:
        try:
            if self.is_alike:  # else the fault was found already, and is to be told by itself
                assert check_archive(self.archive) == []
        finally:
            self.reading.close()
            self.folder.cleanup()


def _edtf(year: int | None) -> str | None:
    return None if year is None else str(year)


def _run(examples: int, steps: int) -> tuple[int, int]:
    """Run the machine and return how many steps were taken, and how many of them did something."""
    PrintMachine.steps = PrintMachine.done = 0
    run_state_machine_as_test(
        PrintMachine,
        settings=settings(max_examples=examples, stateful_step_count=steps, report_multiple_bugs=False),
    )
    return PrintMachine.steps, PrintMachine.done


def test_deeds_and_undos_at_random_leave_what_a_book_kept_by_hand_says() -> None:
    steps, done = _run(examples=6, steps=50)

    assert steps >= 290
    assert done >= 75


@pytest.mark.slow
def test_ten_thousand_deeds_and_undos_leave_what_a_book_kept_by_hand_says() -> None:
    steps, done = _run(examples=210, steps=50)
    print(f"{steps:,} deeds and undos tried, {done:,} of them done, the rest refused by archive and book alike")

    assert steps >= WANTED_STEPS
    assert done >= WANTED_STEPS // 4
