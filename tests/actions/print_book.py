"""
A book-keeper's copy of editions, prints and their ledger, for a test to hold against the archive.

Written from the words of the manual with lists and dictionaries, and on purpose without ``catalog.rules``: where the
two differ, one of them is wrong. Days are whole years; a person who is ``None`` is the photographer's house.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass, field, replace
from typing import Any


class NotDone(Exception):  # noqa: N818 - the book's "no", which the archive's own refusal must meet
    """The deed cannot be; nothing of it is written."""


@dataclass(frozen=True)
class Now:
    """How it stands with a print or a number."""

    state: str = "free"
    custodian: int | None = None
    owner: int | None = None
    since: int | None = None
    due: int | None = None
    place: str | None = None
    value: int | None = None
    is_signed: bool = False
    hold: tuple[str, int | None, int | None, int] | None = None
    """What was promised: as what, to whom, until when, and by which fact."""
    came_by: str | None = None
    before_loss: Now | None = None
    brought_by: int | None = None


@dataclass
class Fact:
    """One line of the ledger, on a print or on a number. ``at`` counts the deeds."""

    id: int
    on: tuple[str, int]
    kind: str
    at: int
    person: int | None = None
    source: int | None = None
    year: int | None = None
    due: int | None = None
    price: int | None = None
    place: str | None = None
    corrects: int | None = None
    replacement: int | None = None
    is_out: bool = False


@dataclass
class Number:
    id: int
    run: int
    series: str
    ordinal: int
    written: str


@dataclass
class Impression:
    id: int
    number: int | None
    replaces: int | None
    paper: str | None = None
    signed_where: str | None = None


@dataclass
class RunPage:
    id: int
    edition: int
    limit: int | None
    numbering: str = "fraction"
    allowed: dict[str, int] = field(default_factory=dict)
    allowance_ids: dict[str, int] = field(default_factory=dict)


@dataclass
class Page:
    """An issued document."""

    id: int
    person: int
    lines: tuple[int, ...]
    at: int
    state: str = "issued"


@dataclass
class DeedLine:
    """A deed and what it changed, in order: table, id, what was done, and what was there before."""

    id: int
    undoes: int | None = None
    undone_by: int | None = None
    changes: list[tuple[str, int, str, Any]] = field(default_factory=list)

    def touches(self) -> set[tuple[str, int]]:
        return {(table, record_id) for table, record_id, _, _ in self.changes}


HOUSE, AWAY, OWNED, GONE = {"in hand"}, {"consigned", "lent", "on show"}, {"sold", "given"}, {"lost", "stolen"}
HERE = HOUSE | AWAY | OWNED
ENDED = {"spoiled", "destroyed", "replaced"}
CAN_COME = {
    "pulled": {"free", "never made"},
    "signed": HERE,
    "framed": HERE,
    "damaged": HERE | {"replaced"},
    "condition report": HERE | {"replaced"},
    "promised": HOUSE | AWAY | {"free"},
    "reserved": HOUSE | AWAY | {"free"},
    "released": HOUSE | AWAY | GONE | {"free", "spoiled", "destroyed"},
    "drawer": HOUSE,
    "consigned": HOUSE,
    "lent": HOUSE | OWNED,
    "shown": HERE,
    "commission": HERE | GONE | ENDED,
    "sold": HERE,
    "given": HERE,
    "bought back": OWNED,
    "returned": AWAY,
    "lost": HERE,
    "stolen": HERE,
    "found": GONE | {"replaced"},
    "spoiled": HOUSE,
    "destroyed": HERE | GONE | {"spoiled", "replaced"},
    "replaced": GONE | {"spoiled", "destroyed"},
}
MOVES = {
    "pulled", "consigned", "lent", "shown", "sold", "bought back", "given", "returned", "lost", "stolen", "found",
    "spoiled", "destroyed", "replaced",
}  # fmt: skip
LEAVES = {"consigned", "lent", "shown", "sold", "given", "lost", "stolen"}
SAYS_WORTH = {"consigned", "lent", "shown", "sold", "bought back", "given"}
TODAY = 2026
ROMAN = ("", "I", "II", "III", "IV", "V", "VI")


def follow(now: Now, fact: Fact) -> Now:
    """Return how it stands after one more fact, or raise where that fact cannot be."""
    kind, person = fact.kind, fact.person
    if now.state not in CAN_COME[kind]:
        raise NotDone(f"{kind} when {now.state}")
    if kind in ("sold", "given") and (fact.source != now.owner or person == now.owner):
        raise NotDone("not theirs to pass on, or theirs already")
    if kind in ("promised", "reserved") and now.owner is not None:
        raise NotDone("promised though it belongs to somebody")
    if kind == "found" and now.before_loss is None:
        raise NotDone("found though it was not lost")
    if kind == "returned" and person is not None and person != now.custodian:
        raise NotDone("returned by somebody who has it not")
    if kind == "bought back" and person is not None and person != now.owner:
        raise NotDone("bought back from somebody who owns it not")
    _respect_promise(now, fact)
    if kind in MOVES and fact.year is not None and now.since is not None and fact.year < now.since:
        raise NotDone("before what was last written")
    then = _then(now, fact)
    return replace(then, value=fact.price) if kind in SAYS_WORTH and fact.price is not None else then


def _respect_promise(now: Now, fact: Fact) -> None:
    if fact.kind == "released" and now.hold is None:
        raise NotDone("nothing to release")
    if now.hold is None or fact.kind not in ("promised", "reserved", "sold", "given"):
        return
    kind, person, until, _ = now.hold
    has_run_out = kind == "reserved" and until is not None and fact.year is not None and fact.year > until
    if not has_run_out and fact.person != person:
        raise NotDone("promised to somebody else")


def _then(now: Now, fact: Fact) -> Now:
    kind = fact.kind
    here = replace(
        now, since=fact.year, place=fact.place, due=None, before_loss=None, brought_by=fact.id,
    )  # fmt: skip
    if kind == "pulled":
        return replace(here, state="in hand", custodian=None, owner=None)
    if kind == "signed":
        return replace(now, is_signed=True)
    if kind == "drawer":
        return replace(now, place=fact.place)
    if kind in ("promised", "reserved"):
        return replace(now, hold=(kind, fact.person, fact.due, fact.id))
    if kind == "released":
        return replace(now, hold=None)
    if kind in ("consigned", "lent") or (kind == "shown" and now.state == "in hand"):
        state = "on show" if kind == "shown" else kind
        return replace(here, state=state, custodian=fact.person, due=fact.due)
    if kind in ("sold", "given"):
        return replace(here, state=kind, custodian=fact.person, owner=fact.person, came_by=kind, hold=None)
    if kind == "bought back":
        return replace(here, state="in hand", custodian=None, owner=None, came_by=None)
    if kind == "returned":
        return replace(here, state=now.came_by or "in hand", custodian=now.owner)
    if kind in ("lost", "stolen"):
        return replace(here, state=kind, before_loss=now)
    return _found_or_ended(now, fact, here)


def _found_or_ended(now: Now, fact: Fact, here: Now) -> Now:
    kind, before = fact.kind, now.before_loss
    if kind in ("found", "destroyed") and now.state == "replaced":
        return replace(now, place=fact.place)
    if kind == "found":
        assert before is not None
        return replace(here, state=before.state, custodian=before.custodian, owner=before.owner, due=before.due)
    if kind in ("spoiled", "destroyed"):
        return replace(here, state=kind, custodian=None)
    if kind == "replaced":
        return replace(here, state="replaced", custodian=None, before_loss=before)
    return now  # a remark: framed, damaged, reported on, a commission, shown by whoever has it


def stand(facts: list[Fact]) -> Now:
    """Return how it stands after facts in the order of writing, those taken out left aside."""
    now = Now()
    for fact in facts:
        if not fact.is_out and fact.kind != "corrected":
            now = follow(now, fact)
    was_pulled = any(fact.kind == "pulled" for fact in facts)
    return replace(now, state="never made", hold=None) if now.state == "free" and was_pulled else now


@dataclass
class Book:
    """Everything the book-keeper knows."""

    runs: dict[int, RunPage]
    states: dict[int, tuple[int, str]]
    """By the id of the line: edition and state."""
    facts: list[Fact] = field(default_factory=list)
    numbers: dict[int, Number] = field(default_factory=dict)
    prints: dict[int, Impression] = field(default_factory=dict)
    pages: dict[int, Page] = field(default_factory=dict)
    amendments: set[int] = field(default_factory=set)
    deeds: dict[int, DeedLine] = field(default_factory=dict)
    last: dict[str, int] = field(default_factory=dict)
    """The last id given in each table; none is given twice."""

    def copy(self) -> Book:
        return deepcopy(self)

    def next_id(self, table: str) -> int:
        self.last[table] = self.last.get(table, 0) + 1
        return self.last[table]

    def begin(self, undoes: int | None = None) -> DeedLine:
        deed = DeedLine(self.next_id("deed"), undoes)
        self.deeds[deed.id] = deed
        return deed

    # ---- how it stands

    def edition_state(self, edition: int) -> str:
        return max((line, state) for line, (of, state) in self.states.items() if of == edition)[1]

    def on_print(self, print_id: int) -> list[Fact]:
        return [fact for fact in self.facts if fact.on == ("print", print_id)]

    def on_number(self, number_id: int) -> list[Fact]:
        return [fact for fact in self.facts if fact.on == ("number", number_id)]

    def reckoned(self, on: tuple[str, int]) -> list[Fact]:
        """Return what a print or number is reckoned by: with a print, what was promised before it was made."""
        table, record_id = on
        if table == "number":
            return self.on_number(record_id)
        made = self.prints[record_id]
        if made.replaces is not None:
            hold = self.now(made.replaces).hold
            taken_over = [fact for fact in self.facts if hold is not None and fact.id == hold[3]]
        else:
            taken_over = self.on_number(made.number) if made.number is not None else []
        return taken_over + self.on_print(record_id)

    def now(self, print_id: int) -> Now:
        return stand(self.reckoned(("print", print_id)))

    def life(self, print_id: int) -> str:
        kinds = [fact.kind for fact in self.on_print(print_id) if not fact.is_out]
        if ENDED & set(kinds):
            return "ended"
        return "live" if "pulled" in kinds else "void"

    def prints_of(self, number_id: int) -> list[int]:
        """Return the prints that carry a number, the first before its replacement."""
        return [p.id for p in self.prints.values() if p.number == number_id and self.life(p.id) != "void"]

    def number_at(self, run: int, series: str, ordinal: int) -> Number | None:
        found = [n for n in self.numbers.values() if (n.run, n.series, n.ordinal) == (run, series, ordinal)]
        return found[0] if found else None

    def allowed(self, run: RunPage, series: str) -> int | None:
        return run.limit if series == "numbered" else run.allowed.get(series, 0)

    def next_place(self, run: RunPage, series: str) -> int:
        """Return the lowest place that was neither given nor promised."""
        ordinal = 1
        while True:
            number = self.number_at(run.id, series, ordinal)
            if number is None or not (self.prints_of(number.id) or stand(self.on_number(number.id)).hold):
                return ordinal
            ordinal += 1

    # ---- deeds

    def give(self, deed: DeedLine, run: RunPage, series: str, ordinal: int) -> Number:
        most = self.allowed(run, series)
        if most is not None and ordinal > most:
            raise NotDone("beyond what was declared")
        number = self.number_at(run.id, series, ordinal)
        if number is None:
            if series == "numbered":
                written = f"{ordinal}/{most}" if most is not None and run.numbering == "fraction" else str(ordinal)
            else:
                written = f"{series} {ROMAN[ordinal]}/{ROMAN[most or 0]}"
            number = Number(self.next_id("number"), run.id, series, ordinal, written)
            self.numbers[number.id] = number
            deed.changes.append(("number", number.id, "added", None))
        return number

    def pull(self, run_id: int, series: str, ordinal: int | None, count: int, year: int | None) -> None:
        run, deed = self.runs[run_id], self.begin()
        if self.edition_state(run.edition) != "open":
            raise NotDone("not open")
        for _ in range(count):
            number = self.give(deed, run, series, ordinal or self.next_place(run, series))
            if self.prints_of(number.id):
                raise NotDone("has a print")
            self._make(deed, number.id, None, year)

    def _make(self, deed: DeedLine, number: int | None, replaces: int | None, year: int | None) -> int:
        made = Impression(self.next_id("print"), number, replaces)
        self.prints[made.id] = made
        deed.changes.append(("print", made.id, "added", None))
        self.add(deed, ("print", made.id), "pulled", year=year)
        return made.id

    def add(self, deed: DeedLine, on: tuple[str, int], kind: str, **said: Any) -> None:
        """Write a fact down if it can be."""
        fact = Fact(self.next_id("fact"), on, kind, **{"at": deed.id, **said})
        follow(stand(self.reckoned(on)), fact)
        self.facts.append(fact)
        deed.changes.append(("fact", fact.id, "added", None))
        self._heirs_must_stand(on)

    def _heirs_must_stand(self, on: tuple[str, int]) -> None:
        table, record_id = on
        for heir in self.prints.values():
            if heir.replaces == record_id if table == "print" else heir.number == record_id and heir.replaces is None:
                self.now(heir.id)
                self._heirs_must_stand(("print", heir.id))

    def write(self, kind: str, prints: list[int], **said: Any) -> None:
        deed = self.begin()
        for print_id in dict.fromkeys(prints):
            self.add(deed, ("print", print_id), kind, **said)

    def write_at(self, kind: str, run_id: int, series: str, ordinal: int | None, **said: Any) -> None:
        """Write on a place of a run: on the print that has it, else on the number, which is given with that."""
        run, deed = self.runs[run_id], self.begin()
        number = None if ordinal is None else self.number_at(run_id, series, ordinal)
        if number is None:
            if self.edition_state(run.edition) in ("closed", "withdrawn"):
                raise NotDone("no print of it can be made")
            number = self.give(deed, run, series, ordinal or self.next_place(run, series))
        made = self.prints_of(number.id)
        if not made and kind not in ("promised", "reserved", "released"):
            raise NotDone("not pulled yet")
        self.add(deed, ("print", made[-1]) if made else ("number", number.id), kind, **said)

    def sign(self, print_id: int, where: str | None, year: int | None) -> None:
        deed = self.begin()
        self.add(deed, ("print", print_id), "signed", year=year)
        if where is not None:
            self._change_print(deed, print_id, "signed_where", where)

    def describe(self, print_id: int, paper: str | None) -> None:
        deed = self.begin()
        if not self._change_print(deed, print_id, "paper", paper):
            raise NotDone("says so already")

    def _change_print(self, deed: DeedLine, print_id: int, column: str, value: str | None) -> bool:
        former = getattr(self.prints[print_id], column)
        if former == value:
            return False
        setattr(self.prints[print_id], column, value)
        deed.changes.append(("print", print_id, "changed", (column, former)))
        return True

    def replace_print(self, print_id: int, year: int | None) -> None:
        deed, first = self.begin(), self.prints[print_id]
        self.add(deed, ("print", print_id), "replaced", year=year, replacement=self.last.get("print", 0) + 1)
        made = self._make(deed, first.number, print_id, year)
        self.prints[made].paper = first.paper

    def correct(self, fact_id: int) -> None:
        self._take_out(self.begin(), fact_id)

    def _take_out(self, deed: DeedLine, fact_id: int) -> None:
        fact = next(fact for fact in self.facts if fact.id == fact_id)
        own = [other for other in self.facts if other.on == fact.on and other is not fact]
        if fact.kind == "corrected" or fact.is_out:
            raise NotDone("a correction, or corrected already")
        if fact.kind == "pulled" and any(other.kind in LEAVES for other in own):
            raise NotDone("left the house")
        if fact.kind == "pulled" and any(not other.is_out and other.kind != "corrected" for other in own):
            raise NotDone("what is written of a print rests on its having been made")
        if fact.kind == "replaced" and any(
            p.replaces == fact.on[1] for p in self.prints.values() if self.life(p.id) != "void"
        ):
            raise NotDone("its replacement stands")
        if fact.kind == "consigned":
            for page in self.pages.values():
                if (
                    (page.state, page.person) == ("issued", fact.person)
                    and fact.on[1] in page.lines
                    and page.at >= fact.at
                ):
                    self._set_page(deed, page.id, "voided")
        fact.is_out = True
        stand(self.reckoned(fact.on))
        correction = Fact(self.next_id("fact"), fact.on, "corrected", deed.id, corrects=fact_id)
        self.facts.append(correction)
        deed.changes.append(("fact", correction.id, "added", None))
        self._heirs_must_stand(fact.on)

    # ---- editions

    def set_state(self, edition: int, state: str) -> None:
        deed, now = self.begin(), self.edition_state(edition)
        may = {"open": {"held"}, "held": {"open"}, "closed": {"open", "held"}, "withdrawn": {"open", "held"}}
        if now not in may[state]:
            raise NotDone(f"{now} becomes not {state}")
        if state in ("closed", "withdrawn") and any(self._promises(edition)):
            raise NotDone("promises are open")
        line = self.next_id("state")
        self.states[line] = (edition, state)
        deed.changes.append(("state", line, "added", (edition, state)))

    def _promises(self, edition: int) -> Iterator[int]:
        """Yield the numbers of an edition that are promised to somebody: the last print of each says so, or itself."""
        for number in self.numbers.values():
            if self.runs[number.run].edition == edition:
                made = self.prints_of(number.id)
                now = self.now(made[-1]) if made else stand(self.on_number(number.id))
                if now.hold is not None and not (now.hold[0] == "reserved" and (now.hold[2] or TODAY) < TODAY):
                    yield number.id

    def amend(self, run_id: int, limit: int | None, numbering: str | None, proofs: int | None) -> None:
        run, deed = self.runs[run_id], self.begin()
        if self.edition_state(run.edition) in ("closed", "withdrawn"):
            raise NotDone("for good")
        amendment = self.next_id("amendment")
        self.amendments.add(amendment)
        deed.changes.append(("amendment", amendment, "added", None))
        former = (run.limit, run.numbering)
        wanted = (limit if limit is not None else run.limit, numbering or run.numbering)
        if former != wanted:
            self._set_run(deed, run, wanted)
        if proofs is not None and run.allowed.get("AP") != proofs:
            self._set_allowed(deed, run, run.allowed.get("AP"), proofs)

    def _given(self, run: RunPage, series: str) -> int:
        return max((n.ordinal for n in self.numbers.values() if (n.run, n.series) == (run.id, series)), default=0)

    def _set_run(self, deed: DeedLine, run: RunPage, wanted: tuple[int | None, str]) -> None:
        if wanted[0] is not None and wanted[0] < self._given(run, "numbered"):
            raise NotDone("more were given")
        deed.changes.append(("run", run.id, "changed", (run.limit, run.numbering)))
        run.limit, run.numbering = wanted

    def _set_allowed(self, deed: DeedLine, run: RunPage, former: int | None, wanted: int | None) -> None:
        if (wanted or 0) < self._given(run, "AP"):
            raise NotDone("more were numbered")
        if former is None:
            run.allowance_ids["AP"] = self.next_id("allowance")
        what = "added" if former is None else "removed" if wanted is None else "changed"
        deed.changes.append(("allowance", run.allowance_ids["AP"], what, (run.id, former)))
        if wanted is None:
            del run.allowed["AP"]
        else:
            run.allowed["AP"] = wanted

    # ---- documents

    def note(self, person: int) -> None:
        """Issue a consignment note: its lines are what was delivered and stands on none in force."""
        deed = self.begin()
        lines = tuple(print_id for print_id in sorted(self.prints) if self._is_to_be_noted(print_id, person))
        if not lines:
            raise NotDone("nothing to list")
        page = Page(self.next_id("page"), person, lines, deed.id)
        self.pages[page.id] = page
        deed.changes.append(("page", page.id, "added", None))

    def _is_to_be_noted(self, print_id: int, person: int) -> bool:
        now = self.now(print_id)
        if (now.state, now.custodian) != ("consigned", person):
            return False
        brought_at = next(fact.at for fact in self.facts if fact.id == now.brought_by)
        return not any(
            page.state == "issued" and page.person == person and print_id in page.lines and page.at >= brought_at
            for page in self.pages.values()
        )

    def void(self, page_id: int) -> None:
        if self.pages[page_id].state == "voided":
            raise NotDone("voided already")
        self._set_page(self.begin(), page_id, "voided")

    def _set_page(self, deed: DeedLine, page_id: int, state: str) -> None:
        deed.changes.append(("page", page_id, "changed", self.pages[page_id].state))
        self.pages[page_id].state = state

    # ---- taking back

    def newest(self) -> int | None:
        """Return the deed that an undo without a number takes back."""
        found = [deed.id for deed in self.deeds.values() if deed.undoes is None and deed.undone_by is None]
        return max(found, default=None)

    def undo(self, deed_id: int) -> None:
        if self.deeds[deed_id].undone_by is not None:
            raise NotDone("undone already")
        deed_id = self._as_done_again(deed_id)
        target = self.deeds[deed_id]
        for later in self.deeds.values():
            stands = later.undone_by is None and (later.undoes is None or later.undoes < deed_id)
            if later.id > deed_id and stands and later.touches() & target.touches():
                raise NotDone("touched since")
        deed = self.begin(undoes=deed_id)
        for table, record_id, what, before in reversed(target.changes):
            self._take_back(deed, table, record_id, what, before)
        self._mark(deed_id, deed.id)

    def _as_done_again(self, deed_id: int) -> int:
        """Return the deed that wrote the facts of a deed again after it was taken back, if one did; else itself."""
        for again in self.deeds.values():
            is_of_facts = any(table == "fact" for table, *_ in again.changes)
            does_it_again = again.undoes is not None and self.deeds[again.undoes].undoes == deed_id
            if again.undone_by is None and does_it_again and is_of_facts:
                return self._as_done_again(again.id)
        return deed_id

    def _mark(self, deed_id: int | None, undo_id: int) -> None:
        undone_by: int | None = undo_id
        while deed_id is not None:  # what a deed had undone stands again, and so on
            self.deeds[deed_id].undone_by = undone_by
            undone_by = deed_id if undone_by is None else None
            deed_id = self.deeds[deed_id].undoes

    def _take_back(self, deed: DeedLine, table: str, record_id: int, what: str, before: Any) -> None:
        if table == "fact":
            fact = next(fact for fact in self.facts if fact.id == record_id)
            if fact.kind == "corrected":
                self._write_again(deed, next(other for other in self.facts if other.id == fact.corrects))
            else:
                self._take_out(deed, record_id)
        elif table == "print" and what == "changed":
            self._change_print(deed, record_id, *before)
        elif table == "page" and (what == "changed" or self.pages[record_id].state == "issued"):
            self._set_page(deed, record_id, before if what == "changed" else "voided")
        elif table == "state":
            now = "removed" if what == "added" else "added"
            if what == "added":
                del self.states[record_id]
            else:
                self.states[record_id] = before
            deed.changes.append(("state", record_id, now, before))
        elif table == "run":
            self._set_run(deed, self.runs[record_id], before)
        elif table == "allowance":
            self._take_allowance_back(deed, record_id, what, before)
        elif table == "amendment":
            self.amendments.symmetric_difference_update({record_id})
            deed.changes.append((table, record_id, "removed" if what == "added" else "added", None))

    def _take_allowance_back(self, deed: DeedLine, record_id: int, what: str, before: tuple[int, int | None]) -> None:
        run, former = self.runs[before[0]], before[1]
        if what == "removed" and "AP" in run.allowed:
            raise NotDone("declared anew since")
        now = run.allowed.get("AP")
        if what == "removed":
            run.allowed["AP"], run.allowance_ids["AP"] = former or 0, record_id
            deed.changes.append(("allowance", record_id, "added", (run.id, None)))
        else:
            self._set_allowed(deed, run, now, former)

    def _replacement_of(self, print_id: int) -> int | None:
        ends = [f.replacement for f in self.on_print(print_id) if f.kind == "replaced" and not f.is_out]
        return ends[-1] if ends else None

    def _write_again(self, deed: DeedLine, fact: Fact) -> None:
        """Write a fact that had been taken out, as it was, after all that came since."""
        if fact.kind == "pulled":
            made = self.prints[fact.on[1]]
            others = [] if made.number is None else [i for i in self.prints_of(made.number) if i != made.id]
            if made.replaces is None and others:
                raise NotDone("its number was given to another print since")
            if made.replaces is not None and self._replacement_of(made.replaces) != made.id:
                raise NotDone("the first print is not replaced by it any more")
        said = {name: getattr(fact, name) for name in ("person", "source", "year", "due", "price", "place", "at")}
        self.add(deed, fact.on, fact.kind, **said, replacement=fact.replacement)
