"""What any other program may not do to editions, prints, the ledger and documents: the database itself refuses it."""

from __future__ import annotations

import re
import sqlite3
from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.documents import issue_consignment_note
from catalog.actions.prints import pull_prints, replace_print
from catalog.store.archive import Archive
from tests.builders import rows
from tests.editions import a_gallery, an_edition, pull, write
from tests.store.archives import an_archive, filled, raw

KEPT = ("edition", "run", "proof_allowance", "print_number", "print", "ledger_entry", "document", "document_line")
# An edition of 15 with two AP. P1 is 1/15, consigned on A1 and sold; P2 is 2/15, spoiled and replaced by P3; P4 is
# 3/15, never made: its pulling was taken back; P5 is AP I/II, in the house; 4/15 has no print; P6 is 5/15, destroyed.
P1, P2, P3, P4, P5, P6, P7, P8 = range(1, 9)
_PRINT = "INSERT INTO print (print_number_id{more}) VALUES ({number}{values})"
_NUMBER = (
    "INSERT INTO print_number (run_id, series, ordinal, written, is_ahead, given_at) VALUES (1, {}, 'x', {}, 'now')"
)
_ENTRY = "INSERT INTO ledger_entry ({columns}, written_at) VALUES ({values}, 'now')"
OVER = "there is one already, and it is not written over"
# By the name of the trigger that refuses each.
FORBIDDEN: dict[str, tuple[str, ...]] = {
    "ledger_entry_unaltered": (
        "UPDATE ledger_entry SET price_minor = 1", "UPDATE ledger_entry SET words = 'x' WHERE id = 1",
        "UPDATE ledger_entry SET id = 99 WHERE id = 2", "UPDATE OR REPLACE ledger_entry SET id = 1 WHERE id = 2",
        "UPDATE ledger_entry SET kind = kind",
    ),
    "ledger_entry_kept": ("DELETE FROM ledger_entry", "DELETE FROM ledger_entry WHERE id = 1"),
    "ledger_entry_not_over": (
        "INSERT OR REPLACE INTO ledger_entry (id, print_id, kind, written_at) VALUES (2, 1, 'sold', 'now')",
        "REPLACE INTO ledger_entry (id, print_id, kind, written_at) VALUES (2, 1, 'sold', 'now')",
        "INSERT INTO ledger_entry (id, print_id, kind, written_at) VALUES (2, 1, 'sold', 'now')"
        " ON CONFLICT (id) DO UPDATE SET kind = 'sold'",
        # the pulling of P4 is corrected: not a second time
        _ENTRY.format(columns="print_id, kind, corrects_id", values=f"{P4}, 'corrected', (SELECT corrects_id FROM"
                      f" ledger_entry WHERE print_id = {P4} AND kind = 'corrected')"),
    ),
    "ledger_entry_corrects": (
        _ENTRY.format(columns="print_id, kind, corrects_id", values="1, 'corrected', 7777"),
        _ENTRY.format(columns="print_id, kind, corrects_id", values=f"{P5}, 'corrected', 1"),
        _ENTRY.format(columns="print_id, kind, corrects_id", values=f"{P4}, 'corrected', (SELECT id FROM ledger_entry"
                      " WHERE kind = 'corrected')"),
    ),
    "ledger_entry_left_the_house": (
        _ENTRY.format(columns="print_id, kind, corrects_id", values=f"{P1}, 'corrected', 1"),
    ),
    "ledger_entry_needs_print": (
        _ENTRY.format(columns="print_number_id, kind", values="1, 'sold'"),
        _ENTRY.format(columns="print_number_id, kind", values="1, 'pulled'"),
    ),
    "print_number_unaltered": (
        "UPDATE print_number SET ordinal = 9", "UPDATE print_number SET written = '1/30' WHERE id = 1",
        "UPDATE OR REPLACE print_number SET id = 1 WHERE id = 2", "UPDATE print_number SET run_id = 2",
    ),
    "print_number_kept": ("DELETE FROM print_number", "DELETE FROM print_number WHERE id = 3"),
    "print_number_within": (
        _NUMBER.format("'numbered', 16", 1), _NUMBER.format("'AP', 3", 1), _NUMBER.format("'HC', 1", 0),
    ),
    "print_number_ahead": (_NUMBER.format("'numbered', 9", 0), _NUMBER.format("'AP', 2", 1)),
    "print_number_not_over": (
        "INSERT OR REPLACE INTO print_number (id, run_id, series, ordinal, written, given_at)"
        " VALUES (1, 1, 'numbered', 1, '1/30', 'now')",
        "INSERT OR REPLACE INTO print_number (run_id, series, ordinal, written, given_at)"
        " VALUES (1, 'numbered', 1, '1/30', 'now')",
    ),
    "print_number_once": (
        _PRINT.format(more="", number=6, values=""), _PRINT.format(more=", sheet_id", number=6, values=", 1"),
    ),
    "print_replaces": (
        _PRINT.format(more=", replaces_id", number=5, values=f", {P5}"),  # it is alive
        _PRINT.format(more=", replaces_id", number=5, values=f", {P6}"),  # under another number
        f"INSERT INTO print (sheet_id, replaces_id) VALUES (1, {P6})",  # under none
        _PRINT.format(more=", replaces_id", number=3, values=f", {P4}"),  # it was never made
    ),
    "print_born": (
        _PRINT.format(more=", life", number=3, values=", 'ended'"),
        _PRINT.format(more=", life", number=3, values=", 'void'"),
    ),
    "print_kept": ("DELETE FROM print", f"DELETE FROM print WHERE id = {P4}"),
    "print_number_stays": (
        f"UPDATE print SET print_number_id = 3 WHERE id = {P1}", "UPDATE print SET print_number_id = NULL",
        f"UPDATE print SET replaces_id = {P1} WHERE id = {P5}", f"UPDATE print SET replaces_id = NULL WHERE id = {P3}",
        f"UPDATE OR REPLACE print SET id = {P1} WHERE id = {P5}",
    ),
    "print_number_back": (
        _ENTRY.format(columns="print_id, kind", values=f"{P7}, 'pulled'"),  # what was corrected, written once more
    ),
    "print_life_true": (
        f"UPDATE print SET life = 'void' WHERE id = {P1}", f"UPDATE print SET life = 'ended' WHERE id = {P5}",
        f"UPDATE print SET life = 'live' WHERE id = {P2}", f"UPDATE print SET life = 'live' WHERE id = {P4}",
    ),
    "print_not_over": (
        f"INSERT OR REPLACE INTO print (id, sheet_id) VALUES ({P1}, 1)",
        _PRINT.format(more=", replaces_id", number=2, values=f", {P2}"),  # replaced already
    ),
    "run_unaltered": (
        "UPDATE run SET limit_count = 30", "UPDATE run SET limit_count = NULL", "UPDATE run SET numbering = 'serial'",
        "UPDATE run SET edition_id = 2", "UPDATE run SET id = 9 WHERE id = 1",
    ),
    "run_limit": ("UPDATE run SET limit_count = 4, amendment_id = 1 WHERE id = 1",),
    "run_not_over": ("INSERT OR REPLACE INTO run (id, edition_id, limit_count) VALUES (1, 1, 300)",),
    "proof_allowance_unaltered": (
        "UPDATE proof_allowance SET allowed = 9", "UPDATE proof_allowance SET kind = 'HC'",
    ),
    "proof_allowance_limit": ("UPDATE proof_allowance SET allowed = 0, amendment_id = 1",),
    "proof_allowance_kept": ("DELETE FROM proof_allowance",),
    "proof_allowance_not_over": ("INSERT OR REPLACE INTO proof_allowance (run_id, kind, allowed) VALUES (1, 'AP', 9)",),
    "edition_statement": (
        "UPDATE edition SET statement = 'Thirty prints.'", "UPDATE edition SET sizes_count = 'each size'",
        "UPDATE edition SET view_id = 2",
    ),
    "edition_not_over": (
        "INSERT OR REPLACE INTO edition (id, view_id, statement, sizes_count) VALUES (1, 1, 'x', 'each size')",
    ),
    "document_unaltered": (
        "UPDATE document SET facts = '{}'", "UPDATE document SET person_id = NULL", "UPDATE document SET id = 9",
        "UPDATE document SET state = 'voided', voided_at = 'now', issued_at = 'then'",
        "UPDATE document SET file_name = 'A9-invoice.pdf'", f"UPDATE document SET sha256 = '{'0' * 64}'",
    ),
    "document_kept": ("DELETE FROM document",),
    "document_not_over": (
        "INSERT OR REPLACE INTO document (id, kind, file_name, sha256, facts, issued_at)"
        f" VALUES (1, 'invoice', 'x', '{'0' * 64}', '', 'now')",
        "INSERT OR REPLACE INTO document (kind, file_name, sha256, facts, issued_at)"
        f" VALUES ('invoice', 'A1-consignment-note.pdf', '{'0' * 64}', '', 'now')",
    ),
    "document_line_unaltered": ("UPDATE document_line SET print_id = 5", "UPDATE document_line SET document_id = 2"),
    "document_line_kept": ("DELETE FROM document_line",),
    "document_line_not_over": (
        "INSERT OR REPLACE INTO document_line (id, document_id, print_id) VALUES (1, 1, 5)",
        "INSERT OR REPLACE INTO document_line (document_id, print_id) VALUES (1, 1)",
    ),
}  # fmt: skip
# These refuse nothing of their own: one keeps a print's life by its ledger, others are of notes and tested with them.
NOT_HERE = {"print_life", "edition_said_of", "print_said_of", "document_said_of"}


def _keep_a_ledger(archive: Archive) -> None:
    run, gallery = an_edition(archive).run_id, a_gallery(archive)
    pull(archive, run)
    write(archive, "consigned", P1, person_id=gallery)
    issue_consignment_note(archive, gallery)
    write(archive, "sold", P1, person_id=gallery, price="700 EUR")
    pull(archive, run)
    write(archive, "spoiled", P2, words="a crease")
    replace_print(archive, P2, proof="the two halves")
    pull(archive, run)
    undo_deed(archive)
    write(archive, "promised", number_id=3, person_id=gallery)
    write(archive, "released", number_id=3)
    pull_prints(archive, run, series="AP")
    raw(archive).execute(_NUMBER.format("'numbered', 4", 0)).connection.close()
    pull(archive, run, 5)
    write(archive, "destroyed", P6, words="fire")
    pull(archive, run, 6)
    undo_deed(archive)
    pull(archive, run, 6)
    write(archive, "destroyed", P8, words="fire")


@pytest.fixture
def kept(tmp_path: Path) -> Archive:
    return filled(an_archive(tmp_path / "wenn"), _keep_a_ledger)


def test_the_archive_of_these_tests_is_as_they_say(kept: Archive) -> None:
    assert rows(kept, "SELECT id, print_number_id, replaces_id, life FROM print ORDER BY id") == [
        (P1, 1, None, "live"), (P2, 2, None, "ended"), (P3, 2, P2, "live"), (P4, 3, None, "void"),
        (P5, 4, None, "live"), (P6, 6, None, "ended"), (P7, 7, None, "void"), (P8, 7, None, "ended"),
    ]  # fmt: skip
    assert rows(kept, "SELECT id, series, ordinal FROM print_number ORDER BY id") == [
        (1, "numbered", 1), (2, "numbered", 2), (3, "numbered", 3), (4, "AP", 1), (5, "numbered", 4),
        (6, "numbered", 5), (7, "numbered", 6),
    ]  # fmt: skip


def test_every_guard_is_tried(kept: Archive) -> None:
    guards = rows(
        kept,
        f"SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name IN ({', '.join('?' * len(KEPT))})",
        *KEPT,
    )

    assert set(guards) - NOT_HERE == set(FORBIDDEN)


@pytest.mark.parametrize("trigger", sorted(FORBIDDEN))
def test_a_bare_program_is_refused_and_changes_nothing(kept: Archive, trigger: str) -> None:
    (sql,) = rows(kept, "SELECT sql FROM sqlite_master WHERE type = 'trigger' AND name = ?", trigger)
    said = re.search(r"RAISE\(ABORT, '(.*)'\)", sql)
    assert said is not None
    bare = sqlite3.connect(kept.catalogue, isolation_level=None)  # as any program opens it: links are not followed
    before = list(bare.iterdump())

    for statement in FORBIDDEN[trigger]:
        with pytest.raises(sqlite3.IntegrityError) as refusal:
            bare.execute(statement)
        assert str(refusal.value) == said[1], statement

    assert list(bare.iterdump()) == before
    bare.close()


@pytest.mark.parametrize("table", ["ledger_entry", "print_number", "document_line"])
def test_no_column_of_what_is_kept_can_be_altered(kept: Archive, table: str) -> None:
    bare = sqlite3.connect(kept.catalogue, isolation_level=None)

    for _, column, *_ in bare.execute(f"PRAGMA table_info({table})").fetchall():
        with pytest.raises(sqlite3.IntegrityError):
            bare.execute(f"UPDATE {table} SET {column} = {column}")
    with pytest.raises(sqlite3.IntegrityError):
        bare.execute(f"DELETE FROM {table}")

    bare.close()
