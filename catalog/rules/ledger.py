"""
The ledger of a print: in what state it is, who has it and who owns it, as its entries say.

Nothing of this is ever typed. Entries are reckoned in the order they were written; a ``corrected`` entry takes an
earlier one out of the reckoning. ``None`` for a person is the photographer's own house.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from operator import attrgetter
from typing import Any

from catalog.dates import edtf_in_words
from catalog.errors import RefusedError
from catalog.rules.ledger_kinds import (
    AWAY_FROM_HOUSE,
    CONSIGNED,
    DESTROYED,
    FREE,
    GIVEN,
    GONE,
    HOLDS,
    IN_HAND,
    KINDS,
    LENT,
    LOST,
    PRICED,
    REPLACED,
    SHOWN,
    SOLD,
    SPOILED,
    STOLEN,
    VOID,
    WITH_OWNER,
)
from catalog.rules.references import format_reference


@dataclass(frozen=True, slots=True)
class Entry:
    """
    One dated fact about a print or a print number. ``id`` is the order of writing.

    ``earliest``, ``latest`` and ``doubt`` are the days of ``date_edtf``; ``due_latest`` the last day of ``due_edtf``.
    """

    id: int
    kind: str
    date_edtf: str | None = None
    earliest: int | None = None
    latest: int | None = None
    doubt: str = ""
    person_id: int | None = None
    from_id: int | None = None
    """Who sold or gave it, where that was not the photographer: an owner passing it on."""
    place: str | None = None
    price_minor: int | None = None
    currency: str | None = None
    due_edtf: str | None = None
    due_latest: int | None = None
    words: str | None = None
    corrects_id: int | None = None
    replacement_id: int | None = None
    """The print that takes the place of this one."""


@dataclass(frozen=True, slots=True)
class Hold:
    """A promise or a reservation that stands: for whom, until when, and by which entry."""

    kind: str
    person_id: int | None
    entry_id: int
    since_edtf: str | None
    until_edtf: str | None
    until_latest: int | None

    def is_over(self, day: int | None) -> bool:
        """Return True if a reservation has run out by ``day``; a promise does not run out."""
        over = self.until_latest is not None and day is not None and day > self.until_latest
        return self.kind == "reserved" and over


@dataclass(frozen=True, slots=True)
class Standing:
    """
    How it stands with a print, or with a number that has none (``free``).

    ``entry_id`` and the ``since`` fields tell the entry that brought it there. ``value`` is the price last agreed
    or paid.
    """

    state: str
    custodian_id: int | None = None
    owner_id: int | None = None
    entry_id: int | None = None
    since_edtf: str | None = None
    since_earliest: int | None = None
    since_latest: int | None = None
    due_edtf: str | None = None
    due_latest: int | None = None
    place: str | None = None
    value_minor: int | None = None
    currency: str | None = None
    is_signed: bool = False
    hold: Hold | None = None
    owned_as: str | None = None
    """How its owner came by it, ``sold`` or ``given``: what it is again when a loan of theirs ends."""
    before_loss: Standing | None = None
    replacement_id: int | None = None

    @property
    def is_out(self) -> bool:
        """Whether it is with others and expected back."""
        return self.state in AWAY_FROM_HOUSE


NEW = Standing(FREE)
Who = Callable[[int | None], str]
"""Names a person by id in a refusal; ``None`` is the photographer's house."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an entry cannot come: a sentence with ``{print}``, ``{who}`` and ``{since}`` still to be named."""

    sentence: str
    person_id: int | None = None
    since_edtf: str | None = None

    def in_words(self, print_words: str, who: Who) -> str:
        """Return the sentence about the print named, its persons named by ``who``."""
        since = f"since {edtf_in_words(self.since_edtf)}" if self.since_edtf else "since a day not known"
        return self.sentence.format(print=print_words, who=who(self.person_id), since=since)


class ImpossibleEntryError(RefusedError):
    """An entry cannot come after those before it; ``refusal`` says why, ``entry`` which."""

    def __init__(self, entry: Entry, refusal: Refusal) -> None:
        self.entry, self.refusal = entry, refusal
        super().__init__(refusal.in_words(f"entry {entry.id}", lambda person: f"N{person}" if person else "the house"))


def in_force(entries: Iterable[Entry]) -> list[Entry]:
    """Return the entries that count: those that were corrected, and the corrections, are left out."""
    entries = list(entries)
    taken_out = {entry.corrects_id for entry in entries if entry.kind == "corrected"}
    return [entry for entry in entries if entry.kind != "corrected" and entry.id not in taken_out]


def standing(entries: Iterable[Entry]) -> Standing:
    """
    Return how it stands after ``entries``, given in the order of writing; those of a number come before its print's.

    Raises:
        ImpossibleEntryError: one of them cannot come after those before it.
    """
    entries = list(entries)
    now = NEW
    for entry in in_force(entries):
        refusal = why_not(now, entry)
        if refusal is not None:
            raise ImpossibleEntryError(entry, refusal)
        now = after(now, entry)
    if now.state == FREE and any(entry.kind == "pulled" for entry in entries):
        # It is promised to nobody: what stood on its number, or on the print it was to replace, stands there.
        return replace(now, state=VOID, entry_id=entries[-1].id, hold=None)
    return now


# ---- what cannot come


def missing(entry: Entry) -> tuple[str, ...]:
    """Return what an entry of its kind needs and has not: ``person``, ``place``, ``price``, ``due``, ``words`` ..."""
    has = _said(entry)
    return tuple(need for need in KINDS[entry.kind].needs if not has[need])


def beyond(entry: Entry) -> tuple[str, ...]:
    """Return what an entry says that its kind has no use for."""
    kind = KINDS[entry.kind]
    known = {*kind.needs, *kind.may, "words"}
    return tuple(part for part, is_said in _said(entry).items() if is_said and part not in known)


def _said(entry: Entry) -> dict[str, bool]:
    return {
        "person": entry.person_id is not None,
        "from": entry.from_id is not None,
        "place": bool(entry.place),
        "price": entry.price_minor is not None,
        "due": entry.due_edtf is not None,
        "words": bool(entry.words),
        "corrects": entry.corrects_id is not None,
        "replacement": entry.replacement_id is not None,
    }


def why_not(now: Standing, entry: Entry) -> Refusal | None:
    """Return why ``entry`` cannot come next, or ``None`` if it can."""
    kind = KINDS[entry.kind]
    if now.state not in kind.states:
        return _wrong_state(now, entry)
    if entry.kind in ("sold", "given") and entry.from_id != now.owner_id:
        return _owned(now, entry)
    if entry.kind == "found" and now.before_loss is None:
        return _wrong_state(now, entry)
    if entry.kind in ("promised", "reserved") and now.owner_id is not None:
        return _owned(now, entry)
    return _wrong_person(now, entry) or _held(now, entry) or _out_of_order(now, entry)


def _wrong_state(now: Standing, entry: Entry) -> Refusal:
    if now.state == FREE:
        return Refusal("{print} was not pulled yet: there is nothing that could be " + entry.kind + ".")
    if entry.kind == "pulled":
        return Refusal("{print} was pulled already: it is " + _where(now) + ".", _whose(now), now.since_edtf)
    if now.state == VOID:
        return Refusal("{print} was never made: its pulling was taken back.")
    if now.state in WITH_OWNER and entry.kind == "returned":
        advice = " If it came back for good, write it down as bought back."
    elif now.state in WITH_OWNER:
        advice = " Write down first that it was bought back, if it was."
    elif now.state in AWAY_FROM_HOUSE:
        advice = " Write down its return first."
    elif now.state in GONE:
        advice = " Write down first that it was found, if it was."
    else:
        advice = ""
    return Refusal(f"{{print}} cannot be {_as_done(entry.kind)}: it is {_where(now)}.{advice}", _whose(now),
                   now.since_edtf)  # fmt: skip


def _owned(now: Standing, entry: Entry) -> Refusal:
    if now.owner_id is None:
        return Refusal("{print} is still the photographer's own: nobody else can have passed it on.")
    advice = " If they passed it on themselves, say who did so." if entry.kind in ("sold", "given") else ""
    return Refusal(
        f"{{print}} cannot be {_as_done(entry.kind)}: it belongs to {{who}} {{since}}.{advice}",
        now.owner_id,
        now.since_edtf,
    )


def _wrong_person(now: Standing, entry: Entry) -> Refusal | None:
    if entry.person_id is None:
        return None
    if entry.kind == "returned" and entry.person_id != now.custodian_id:
        return Refusal("{print} is with {who} {since}; it can be returned by nobody else.", now.custodian_id,
                       now.since_edtf)  # fmt: skip
    if entry.kind == "bought back" and entry.person_id != now.owner_id:
        return Refusal("{print} belongs to {who} {since}; it can be bought back from nobody else.", now.owner_id,
                       now.since_edtf)  # fmt: skip
    if entry.kind in ("sold", "given") and entry.person_id == now.owner_id:
        return Refusal("{print} belongs to {who} already, {since}.", now.owner_id, now.since_edtf)
    return None


def _held(now: Standing, entry: Entry) -> Refusal | None:
    hold = now.hold
    if entry.kind == "released" and hold is None:
        return Refusal("{print} is neither promised nor reserved.")
    if hold is None or hold.is_over(entry.earliest):
        return None
    if entry.kind in (*HOLDS, "sold", "given") and entry.person_id != hold.person_id:
        until = f", until {edtf_in_words(hold.until_edtf)}" if hold.until_edtf else ""
        return Refusal(f"{{print}} is {hold.kind} to {{who}} {{since}}{until}. Release it first, if they gave it up.",
                       hold.person_id, hold.since_edtf)  # fmt: skip
    return None


def _out_of_order(now: Standing, entry: Entry) -> Refusal | None:
    """Refuse a movement that surely came before the last one; doubtful dates and remarks may come late."""
    if not KINDS[entry.kind].moves or entry.doubt or entry.latest is None or now.since_earliest is None:
        return None
    if entry.latest >= now.since_earliest:
        return None
    return Refusal(
        f"{{print}} is {_where(now)}; what was {entry.kind} {_when(entry)} would come before that. "
        "Write entries in the order things happened, or correct the later one first.",
        _whose(now), now.since_edtf,
    )  # fmt: skip


def _when(entry: Entry) -> str:
    return f"on {edtf_in_words(entry.date_edtf)}" if entry.date_edtf else ""


_DONE = {
    "drawer": "put in a drawer", "commission": "given a commission", "found": "found again", "promised": "promised",
    "condition report": "reported on", "released": "released",
}  # fmt: skip


def _as_done(kind: str) -> str:
    return _DONE.get(kind, kind)


def _whose(now: Standing) -> int | None:
    return now.owner_id if now.state in WITH_OWNER else now.custodian_id


def _where(now: Standing) -> str:
    """Return where a print is, for a sentence: ``{who}`` and ``{since}`` are named later."""
    return {
        IN_HAND: "in the house {since}",
        CONSIGNED: "consigned to {who} {since}",
        LENT: "lent to {who} {since}",
        SHOWN: "on show with {who} {since}",
        SOLD: "sold to {who} {since}",
        GIVEN: "given to {who} {since}",
        LOST: "lost {since}, last with {who}",
        STOLEN: "stolen {since}, last with {who}",
        SPOILED: "spoiled {since}",
        DESTROYED: "destroyed {since}",
        REPLACED: f"replaced by {format_reference('print', now.replacement_id or 0)} {{since}}",
    }[now.state]


# ---- what follows


def after(now: Standing, entry: Entry) -> Standing:
    """Return how it stands after an entry that ``why_not`` lets come."""
    then = _AFTER.get(entry.kind, _as_it_was)(now, entry)
    if entry.kind in PRICED and entry.price_minor is not None and then.entry_id != entry.id:  # else it says so already
        then = _with(then, value_minor=entry.price_minor, currency=entry.currency)
    return then


_PLACES = {each.name: place for place, each in enumerate(fields(Standing))}
_values = attrgetter(*_PLACES)


def _with(now: Standing, **changes: Any) -> Standing:
    """Return a standing with some facts changed; ``dataclasses.replace`` would look its fields up at each call."""
    values = list(_values(now))
    for name, value in changes.items():
        values[_PLACES[name]] = value
    return Standing(*values)


def _as_it_was(now: Standing, entry: Entry) -> Standing:
    return now


def _moved(
    now: Standing, entry: Entry, state: str, *, custodian: int | None, owner: int | None, due: bool = False,
    **more: Any,
) -> Standing:  # fmt: skip
    is_priced = entry.kind in PRICED and entry.price_minor is not None
    return Standing(
        state=state, custodian_id=custodian, owner_id=owner, entry_id=entry.id, since_edtf=entry.date_edtf,
        since_earliest=None if entry.doubt else entry.earliest, since_latest=entry.latest, place=entry.place,
        due_edtf=entry.due_edtf if due else None, due_latest=entry.due_latest if due else None,
        value_minor=entry.price_minor if is_priced else now.value_minor,
        currency=entry.currency if is_priced else now.currency, is_signed=now.is_signed,
        hold=more.get("hold", now.hold), owned_as=more.get("owned_as", now.owned_as),
        before_loss=more.get("before_loss"), replacement_id=now.replacement_id,
    )  # fmt: skip


def _pulled(now: Standing, entry: Entry) -> Standing:
    return _moved(now, entry, IN_HAND, custodian=None, owner=None)


def _signed(now: Standing, entry: Entry) -> Standing:
    return now if now.is_signed else _with(now, is_signed=True)


def _put_by(now: Standing, entry: Entry) -> Standing:
    return _with(now, place=entry.place)


def _hold(now: Standing, entry: Entry) -> Standing:
    hold = Hold(entry.kind, entry.person_id, entry.id, entry.date_edtf, entry.due_edtf, entry.due_latest)
    return _with(now, hold=hold)


def _release(now: Standing, entry: Entry) -> Standing:
    return _with(now, hold=None)


def _consigned(now: Standing, entry: Entry) -> Standing:
    return _moved(now, entry, CONSIGNED, custodian=entry.person_id, owner=now.owner_id, due=True)


def _lent(now: Standing, entry: Entry) -> Standing:
    return _moved(now, entry, LENT, custodian=entry.person_id, owner=now.owner_id, due=True)


def _shown(now: Standing, entry: Entry) -> Standing:
    if now.state != IN_HAND:  # a gallery or an owner shows it: it stays with whoever has it
        return now
    return _moved(now, entry, SHOWN, custodian=entry.person_id, owner=now.owner_id, due=True)


def _passed_on(now: Standing, entry: Entry) -> Standing:
    return _moved(
        now, entry, entry.kind, custodian=entry.person_id, owner=entry.person_id, owned_as=entry.kind, hold=None
    )


def _bought_back(now: Standing, entry: Entry) -> Standing:
    return _moved(now, entry, IN_HAND, custodian=None, owner=None, owned_as=None)


def _returned(now: Standing, entry: Entry) -> Standing:
    return _moved(now, entry, now.owned_as or IN_HAND, custodian=now.owner_id, owner=now.owner_id)


def _gone(now: Standing, entry: Entry) -> Standing:
    return _moved(now, entry, entry.kind, custodian=now.custodian_id, owner=now.owner_id, before_loss=now)


def _found(now: Standing, entry: Entry) -> Standing:
    if now.state == REPLACED:  # another print carries its number now; it is only known where it is
        return _with(now, place=entry.place)
    before = now.before_loss or now
    then = _moved(now, entry, before.state, custodian=before.custodian_id, owner=before.owner_id)
    return _with(then, due_edtf=before.due_edtf, due_latest=before.due_latest)


def _ended(now: Standing, entry: Entry) -> Standing:
    state = {"spoiled": SPOILED, "destroyed": DESTROYED}[entry.kind]
    if now.state == REPLACED:  # that it is replaced already says more
        return _with(now, place=entry.place)
    # What was promised of it stays promised: a replacement takes the promise over, or it is released.
    return _moved(now, entry, state, custodian=None, owner=now.owner_id)


def _replaced(now: Standing, entry: Entry) -> Standing:
    then = _moved(now, entry, REPLACED, custodian=None, owner=now.owner_id)
    # One that was only lost may be found again; it still carries the number no more.
    return _with(then, replacement_id=entry.replacement_id, before_loss=now.before_loss)


_AFTER: dict[str, Callable[[Standing, Entry], Standing]] = {
    "pulled": _pulled,
    "signed": _signed,
    "drawer": _put_by,
    "promised": _hold,
    "reserved": _hold,
    "released": _release,
    "consigned": _consigned,
    "lent": _lent,
    "shown": _shown,
    "sold": _passed_on,
    "given": _passed_on,
    "bought back": _bought_back,
    "returned": _returned,
    "lost": _gone,
    "stolen": _gone,
    "found": _found,
    "spoiled": _ended,
    "destroyed": _ended,
    "replaced": _replaced,
}
