"""Migrations: each keeps what was there, all triggers stand after it, and a failing one changes nothing."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory

import catalog.store.backup
import catalog.store.schema
import catalog.store.upgrade
from catalog.errors import ArchiveBusyError, ArchiveError, NewerCatalogueError, OlderCatalogueError
from catalog.store.archive import Archive
from catalog.store.backup import back_up, table_counts
from catalog.store.schema import SCHEMA_HEAD, triggers_of
from catalog.store.search import stale_entries
from catalog.store.upgrade import _migrate, migrations_config, upgrade_archive
from catalog.store.writing import deed
from tests.store.archives import raw, settle_on, tables
from tests.store.schemas.make import small_file

SCHEMAS = Path(__file__).parent / "schemas"
ABOUT = [
    "sheet",
    "scan",
    "building",
    "place",
    "view",
    "standpoint",
    "visit",
    "person",
    "source",
    "roll",
    "kit",
    "drive",
]
_SAID = {
    *(f"{said}_about_insert" for said in ("note", "wording", "open_question")),
    *(f"{said}_about_update" for said in ("note", "wording", "open_question")),
}
TRIGGERS = {
    "0001": {
        *_SAID,
        *(f"{table}_said_of" for table in ABOUT),
        "place_parent_insert", "place_parent_update",
        "lens_is_lens", "camera_is_camera", "film_stock_is_film_stock",
        "deed_kept", "deed_change_kept", "deed_change_unaltered",
        "search_entry_removed", "search_entry_changed",
    },
}  # fmt: skip
TRIGGERS["0002"] = TRIGGERS["0001"] | {
    "edit_version_said_of", "version_source_insert", "version_source_update", "edit_version_insert",
    "edit_version_update", "scan_reading_gone",
}  # fmt: skip
TRIGGERS["0003"] = TRIGGERS["0002"] | {
    "print_number_within", "print_number_ahead", "print_number_kept", "print_number_unaltered", "print_number_once",
    "print_number_stays", "print_number_back",
    "run_unaltered", "run_limit", "proof_allowance_unaltered", "proof_allowance_limit", "proof_allowance_kept",
    "edition_statement", "print_replaces", "print_born", "print_kept", "print_life_true", "print_life",
    "ledger_entry_kept", "ledger_entry_unaltered", "ledger_entry_corrects", "ledger_entry_left_the_house",
    "ledger_entry_needs_print", "document_kept", "document_unaltered", "document_line_kept",
    "document_line_unaltered", "edition_said_of", "print_said_of", "document_said_of",
    *(f"{table}_not_over" for table in (
        "edition", "run", "proof_allowance", "print_number", "print", "ledger_entry", "document", "document_line",
    )),
}  # fmt: skip
"""Every trigger by name, after each migration: a table made anew loses its triggers without a word."""


def _revisions() -> list[tuple[str, str | None]]:
    script = ScriptDirectory.from_config(migrations_config())
    return [(s.revision, s.down_revision) for s in reversed(list(script.walk_revisions()))]  # type: ignore[misc]


def _small(revision: str | None) -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    if revision is not None:
        connection.executescript((SCHEMAS / f"{revision}.sql").read_text("utf-8"))
    return connection


def test_the_schema_this_program_reads_is_the_newest_migration():
    assert [revision for revision, _ in _revisions()][-1] == SCHEMA_HEAD


@pytest.mark.parametrize(("revision", "before"), _revisions())
def test_a_migration_brings_up_the_schema_before_it_with_its_data_kept(revision, before):
    connection = _small(before)
    held = table_counts(connection)

    _migrate(connection, revision)

    now = table_counts(connection)
    assert {name: now[name] for name in held} == held
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert connection.execute("SELECT version_num FROM alembic_version").fetchall() == [(revision,)]


@pytest.mark.parametrize(("revision", "before"), _revisions())
def test_all_triggers_are_there_after_a_migration(revision, before):
    connection = _small(before)

    _migrate(connection, revision)

    assert set(triggers_of(connection)) == TRIGGERS[revision]


def test_the_small_file_of_this_schema_is_what_the_program_makes():
    # Until a schema is released: python -m tests.store.schemas.make. Afterwards: a new migration.
    assert (SCHEMAS / f"{SCHEMA_HEAD}.sql").read_text("utf-8") == small_file()


def test_the_small_file_has_a_row_in_every_table_and_its_search_words():
    connection = _small(SCHEMA_HEAD)

    empty = [
        name
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        if not connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0]
    ]

    assert empty == []
    assert stale_entries(connection) == []
    assert connection.execute("SELECT count(*) FROM search_words WHERE search_words MATCH 'sluice'").fetchone() == (2,)


# ---- a later schema, made up here

LATER = f"{int(SCHEMA_HEAD) + 1:04}"
ADD_COLUMN = f"from alembic import op\nrevision = '{LATER}'\ndown_revision = '{SCHEMA_HEAD}'\ndef upgrade():\n"


@pytest.fixture
def later_program(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    """Make this a program whose newest migration, ``LATER``, does what the test says."""
    folder = tmp_path / "installed" / "migrations"
    shutil.copytree(Path(migrations_config().get_main_option("script_location") or ""), folder)
    monkeypatch.setattr(catalog.store.upgrade, "find_installed", lambda _name: folder)
    for module in (catalog.store.upgrade, catalog.store.schema):
        monkeypatch.setattr(module, "SCHEMA_HEAD", LATER)

    def does(*statements: str) -> None:
        body = "".join(f"    op.execute({statement!r})\n" for statement in statements)
        (folder / "versions" / f"{LATER}_later.py").write_text(ADD_COLUMN + body)

    return does


def test_an_older_catalogue_is_backed_up_and_brought_up_with_its_data(small_archive, later_program):
    later_program("ALTER TABLE sheet ADD COLUMN weight_g REAL")
    before = raw(small_archive).execute("SELECT id, box FROM sheet").fetchall()

    told = upgrade_archive(small_archive)

    assert told[:2] == (SCHEMA_HEAD, LATER)
    assert told[2] is not None
    assert sqlite3.connect(told[2]).execute("SELECT id, box FROM sheet").fetchall() == before
    assert raw(small_archive).execute("SELECT id, box, weight_g FROM sheet").fetchall() == [(*before[0], None)]


def test_an_older_catalogue_names_the_command_that_upgrades_it(small_archive, later_program):
    later_program("ALTER TABLE sheet ADD COLUMN weight_g REAL")

    with (
        pytest.raises(OlderCatalogueError, match=rf"has schema {SCHEMA_HEAD}.*Run: tiebeam upgrade"),
        small_archive.reading(),
    ):
        pass
    with pytest.raises(OlderCatalogueError), deed(small_archive, "sheets add", "never"):
        pass


@pytest.mark.parametrize("fault", ["INSERT INTO no_such_table VALUES (1)", "UPDATE sheet SET lens_id = 999"])
def test_an_upgrade_that_fails_midway_leaves_the_old_catalogue(small_archive, later_program, fault):
    later_program("ALTER TABLE sheet ADD COLUMN weight_g REAL", "DELETE FROM note", fault)
    before = list(raw(small_archive).iterdump())

    with pytest.raises(ArchiveError, match="the catalogue is as it was") as refusal:
        upgrade_archive(small_archive)

    assert "\n" not in str(refusal.value)
    assert list(raw(small_archive).iterdump()) == before


def test_nothing_is_upgraded_when_the_backup_is_not_sound(small_archive, later_program, monkeypatch):
    later_program("ALTER TABLE sheet ADD COLUMN weight_g REAL")
    monkeypatch.setattr(catalog.store.backup, "faults_of", lambda _copy: ["row 3 missing from index ix_sheet_lens_id"])

    with pytest.raises(ArchiveError, match="not sound"):
        upgrade_archive(small_archive)

    assert raw(small_archive).execute("SELECT version_num FROM alembic_version").fetchone() == (SCHEMA_HEAD,)
    assert list((small_archive.folder / "backups").iterdir()) == []


def test_an_upgrade_waits_its_turn_and_says_so_when_it_does_not_come(small_archive, later_program):
    later_program("ALTER TABLE sheet ADD COLUMN weight_g REAL")
    archive, other = settle_on(small_archive, wait_seconds=0), raw(small_archive)
    other.execute("BEGIN IMMEDIATE")

    with pytest.raises(ArchiveBusyError, match="another tiebeam is writing"):
        upgrade_archive(archive)

    assert list((archive.folder / "backups").iterdir()) == []


def test_an_upgrade_with_nothing_to_do_makes_no_backup(small_archive: Archive):
    assert upgrade_archive(small_archive) == (SCHEMA_HEAD, SCHEMA_HEAD, None)
    assert list((small_archive.folder / "backups").iterdir()) == []


def test_a_newer_catalogue_is_refused_in_one_line(small_archive):
    raw(small_archive).execute("UPDATE alembic_version SET version_num = '9999'")

    for doing in (
        lambda: small_archive.reading().__enter__(),
        lambda: deed(small_archive, "sheets add", "never").__enter__(),
        lambda: upgrade_archive(small_archive),
    ):
        with pytest.raises(NewerCatalogueError, match=rf"has schema 9999.*knows up to {SCHEMA_HEAD}") as refusal:
            doing()
        assert "\n" not in str(refusal.value)


def test_a_backup_holds_all_that_the_catalogue_holds(small_archive, tmp_path):
    before = tables(small_archive, leave_out=set())

    copy = back_up(small_archive, tmp_path / "elsewhere")

    connection = sqlite3.connect(copy)
    assert {name: connection.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall() for name in before} == before
    assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert copy.stat().st_mode & 0o077 == 0
    assert [path.name for path in copy.parent.iterdir()] == [copy.name]
