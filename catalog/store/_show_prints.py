"""Editions, runs and prints, each whole. Persons are told by reference alone: names and prices are private."""

from __future__ import annotations

import json

from catalog.dates import edtf_in_words
from catalog.rules.editions import SIZES_COUNT_WORDS
from catalog.rules.ledger_kinds import ENDED
from catalog.rules.money import format_money
from catalog.rules.references import format_reference
from catalog.store._show_reader import DateValue, Fact, Line, Reader, Section, name_of
from catalog.store.editions import NumberRow, editions_of, find_edition, list_numbers, list_prices, list_runs
from catalog.store.ledger import LedgerRow, list_entries
from catalog.store.names import describe
from catalog.store.prints import PrintRow, find_print


def read_edition(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return an edition: its promise word for word, how it was changed, and what became of every number."""
    row, columns = find_edition(reader.connection, reader.id), reader.columns()
    assert row is not None
    facts = [
        Fact("view", name_of(reader, "view", row.view_id)),
        Fact("state", row.state),
        *([] if row.since_edtf is None else [Fact("since", reader.date(_state(reader), "since"))]),
        Fact("limit", row.limit if row.limit is not None else "open"),
        Fact("how sizes count", SIZES_COUNT_WORDS[row.sizes_count]),
        Fact("statement", row.statement),
    ]
    stated = reader.date(columns, "stated")
    facts += [] if stated.is_empty else [Fact("stated", stated)]
    facts += reader.facts(columns, ("published_in", "published in"), ("process", "process"), ("crop", "crop"))
    numbers = [number_line(number, reader.is_private) for number in list_numbers(reader.connection, reader.id)]
    return facts, [
        ("printed from", _sheets(reader)), ("runs", _runs(reader)), ("prices", _prices(reader)),
        ("how it went", _states(reader)), ("amendments", _amendments(reader)), ("numbers", numbers),
    ]  # fmt: skip


def _state(reader: Reader) -> dict[str, object]:
    found = reader.rows("SELECT max(id) FROM edition_state WHERE edition_id = :id")
    cursor = reader.connection.execute("SELECT * FROM edition_state WHERE id = ?", found[0])
    return dict(zip([column[0] for column in cursor.description], cursor.fetchone(), strict=True))


def _sheets(reader: Reader) -> list[Line]:
    found = reader.rows("SELECT sheet_id FROM edition_sheet WHERE edition_id = :id ORDER BY id")
    return [Line(describe(reader.connection, "sheet", i) or "", format_reference("sheet", i)) for (i,) in found]


def _runs(reader: Reader) -> list[Line]:
    lines = []
    for run in list_runs(reader.connection, reader.id):
        limit = f"limited to {run.limit}" if run.limit is not None else "open"
        told = [run.sizes or "one size", limit, run.proofs, f"{run.sold} sold or given"]
        told.append("serial numbers" if run.numbering == "serial" else None)
        told.append(f"next {run.price}" if run.price is not None else None)
        lines.append(Line("; ".join(part for part in told if part), format_reference("run", run.id)))
    return lines


def _prices(reader: Reader) -> list[Line]:
    return [
        Line(f"{row.price} from {row.from_sold} sold on" + (f", {row.size}" if row.size else ""),
             format_reference("run", row.run_id))
        for row in list_prices(reader.connection, reader.id)
    ]  # fmt: skip


def _states(reader: Reader) -> list[Line]:
    found = reader.rows(
        "SELECT state, words, since_edtf, since_words, since_earliest, since_latest, since_doubt FROM edition_state"
        " WHERE edition_id = :id ORDER BY id"
    )
    return [
        Line(row[0], date=None if row[2] is None else DateValue(*row[2:]), marks=(row[1],) if row[1] else ())
        for row in found
    ]


def _amendments(reader: Reader) -> list[Line]:
    found = reader.rows(
        "SELECT words, changed, published_in, made_edtf, made_words, made_earliest, made_latest, made_doubt"
        " FROM edition_amendment WHERE edition_id = :id ORDER BY id"
    )
    return [
        Line(row[0], date=None if row[3] is None else DateValue(*row[3:]), marks=tuple(filter(None, row[1:3])))
        for row in found
    ]


def number_line(row: NumberRow, is_private: bool) -> Line:
    """Return what became of a number, in a line."""
    told = [f"{row.written}: {row.state}"]
    if row.custodian_id is not None and row.state not in ("lost", "stolen"):
        told.append(f"with {_person(row.custodian_id, row.custodian, is_private)}")
    if row.since is not None:
        told.append(f"since {edtf_in_words(row.since)}")
    if row.hold is not None:
        verb = "for" if row.state == row.hold else f"{row.hold} to"
        told.append(f"{verb} {_person(row.held_for_id, row.held_for, is_private)}")
    if row.replaces_id is not None:
        told.append(f"replaces {format_reference('print', row.replaces_id)}")
    return Line(", ".join(told), None if row.print_id is None else format_reference("print", row.print_id))


def _person(person_id: int | None, name: str | None, is_private: bool) -> str:
    if person_id is None:
        return "the house"
    reference = format_reference("person", person_id)
    return f"{name} ({reference})" if is_private and name else reference


def read_run(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a run: what it counts and the numbers given."""
    columns = reader.columns()
    edition_id = columns["edition_id"]
    assert isinstance(edition_id, int)
    run = next(row for row in list_runs(reader.connection, edition_id) if row.id == reader.id)
    facts = [
        Fact("edition", name_of(reader, "edition", edition_id)),
        Fact("limit", run.limit if run.limit is not None else "open"),
        Fact("numbering", run.numbering),
        *(Fact(field, value) for field, value in (("sizes", run.sizes), ("proofs", run.proofs)) if value),
        Fact("sold or given", run.sold),
    ]
    numbers = [number for number in list_numbers(reader.connection, edition_id) if number.run_id == reader.id]
    return facts, [("numbers", [number_line(number, reader.is_private) for number in numbers])]


_MADE_FROM = (
    ("sheet", "sheet_id"), ("view", "view_id"), ("scan", "scan_id"), ("edit_version", "version_id"),
    ("print", "replaces_id"),
)  # fmt: skip
_SAID = (
    ("process", "process"), ("image_size", "image size"), ("paper_size", "paper size"), ("paper", "paper"),
    ("inks", "inks"), ("printer", "printer"), ("profile", "profile"), ("rendering_intent", "rendering intent"),
    ("signed_where", "signed"), ("signed_with", "signed with"), ("is_estate_stamp", "estate stamp"),
    ("markings", "markings"),
)  # fmt: skip


def read_print(reader: Reader) -> tuple[list[Fact], list[Section]]:
    """Return a print: what it is, how it stands, and its ledger entry by entry."""
    columns, row = reader.columns(), find_print(reader.connection, reader.id)
    facts = []
    if row is not None and row.edition_id is not None:
        facts += [Fact("number", row.written), Fact("edition", name_of(reader, "edition", row.edition_id))]
    for table, column in _MADE_FROM:
        words = name_of(reader, table, columns[column])
        label = "replaces" if column == "replaces_id" else table.replace("_", " ")
        facts += [Fact(label, words)] if words else []
    facts += [Fact("size", row.size)] if row is not None and row.size else []
    pulled = reader.date(columns, "pulled")
    facts += [] if pulled.is_empty else [Fact("pulled", pulled)]
    facts += reader.facts(columns, *_SAID)
    facts += _standing_facts(row, reader.is_private) if row is not None else []
    later = [
        Line("took its place", format_reference("print", print_id))
        for (print_id,) in reader.rows("SELECT id FROM print WHERE replaces_id = :id AND life <> 'void'")
    ]
    entries = [entry_line(entry, reader.is_private) for entry in list_entries(reader.connection, "print", reader.id)]
    return facts, [("replaced by", later), ("ledger", entries), ("old ledgers", _old_ledgers(reader))]


def _old_ledgers(reader: Reader) -> list[Line]:
    """Return the rows of old ledgers that tell of a print; what stands in them only when private."""
    lines = []
    for name, number, at, cells in reader.rows(
        "SELECT f.name, r.row, f.read_at, r.cells FROM card_row r JOIN card_file f ON f.id = r.card_file_id"
        " WHERE r.print_id = :id ORDER BY r.id"
    ):
        lines.append(Line(f"{name}, row {number}", marks=(f"read {at[:10]}",)))
        if reader.is_private:
            lines += [Line(f"{heading}: {text}") for heading, text in json.loads(cells).items()]
    return lines


def _standing_facts(row: PrintRow, is_private: bool) -> list[Fact]:
    facts = [Fact("state", row.state)]
    if row.state not in ENDED:
        facts.append(Fact("with", _person(row.custodian_id, row.custodian, is_private)))
    facts.append(Fact("belongs to", _person(row.owner_id, row.owner, is_private)))
    told = (
        ("since", edtf_in_words(row.since) if row.since else None),
        ("due", edtf_in_words(row.due) if row.due else None),
        ("place", row.place),
        (row.hold or "", _person(row.held_for_id, row.held_for, is_private) if row.hold else None),
        ("value", str(row.value) if is_private and row.value is not None else None),
    )
    return facts + [Fact(field, value) for field, value in told if value]


def entry_line(entry: LedgerRow, is_private: bool) -> Line:
    """Return an entry of the ledger as a line; ``number`` cites it within its print."""
    told = [entry.kind]
    if entry.person_id is not None:
        told.append(_person(entry.person_id, entry.person, is_private))
    if entry.from_id is not None:
        told.append(f"from {_person(entry.from_id, entry.from_name, is_private)}")
    told += [part for part in (entry.place, entry.words) if part]
    if is_private and entry.price_minor is not None:
        told.append(format_money(entry.price_minor, entry.currency or ""))
    if entry.due_edtf is not None:
        told.append(f"until {edtf_in_words(entry.due_edtf)}")
    marks = []
    if entry.replacement_id is not None:
        marks.append(f"by {format_reference('print', entry.replacement_id)}")
    if entry.corrects is not None:
        marks.append(f"takes out entry {entry.corrects}")
    if entry.corrected_by is not None:
        marks.append(f"corrected by entry {entry.corrected_by}")
    if entry.print_id is None:
        marks.append("on the number, before there was a print")
    if entry.document_id is not None:
        marks.append(format_reference("document", entry.document_id))
    date = DateValue(entry.date_edtf, entry.date_words, entry.date_earliest, entry.date_latest, "")
    cited = entry.number if entry.print_id is not None else None
    return Line(", ".join(told), date=date if cited is not None or not date.is_empty else None, marks=tuple(marks),
                number=cited)  # fmt: skip


def edition_lines(reader: Reader) -> list[Line]:
    """Return the editions of a view or of a sheet."""
    return [
        Line(
            f"{row.title or 'edition'}, {row.limit if row.limit is not None else 'open'}, {row.state}",
            format_reference("edition", row.id),
        )
        for row in editions_of(reader.connection, reader.table, reader.id)
    ]


def held_lines(reader: Reader) -> list[Line]:
    """Return the prints a person has or owns."""
    found = reader.rows(
        "SELECT print_id, state, since FROM print_standing WHERE custodian_id = :id OR owner_id = :id ORDER BY print_id"
    )
    return [
        Line(
            f"{describe(reader.connection, 'print', print_id)}, {state}"
            + (f" since {edtf_in_words(since)}" if since else ""),
            format_reference("print", print_id),
        )
        for print_id, state, since in found
    ]


READERS = {"edition": read_edition, "run": read_run, "print": read_print}
