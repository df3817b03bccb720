"""Making a catalogue, and bringing an older one to this program's schema, after a verified backup."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

from alembic.command import upgrade as run_migrations
from alembic.config import Config
from sqlalchemy import Connection, create_engine, exc
from sqlalchemy.pool import StaticPool

from catalog.errors import ArchiveError, NewerCatalogueError
from catalog.store.archive import CATALOGUE_NAME, Archive
from catalog.store.backup import back_up
from catalog.store.connections import as_archive_error, connect, journal_for, set_journal
from catalog.store.installed import find_installed
from catalog.store.schema import SCHEMA_HEAD, schema_objects, schema_of


def migrations_config() -> Config:
    """Return alembic's configuration, with the migrations inside the installed package, else beside it."""
    config = Config()
    config.set_main_option("script_location", str(find_installed("migrations")).replace("%", "%%"))
    return config


def make_catalogue(path: Path, journal: str) -> None:
    """Make an empty catalogue at ``path``, which must not exist yet."""
    path.touch(mode=0o600, exist_ok=False)  # names and addresses of persons are in it
    connection = connect(path, writing=True)
    try:
        set_journal(connection, journal)
        _migrate(connection, SCHEMA_HEAD)
    finally:
        connection.close()


def fresh_schema() -> dict[tuple[str, str], str]:
    """Return the statements of a catalogue made now, by kind and name, as ``check`` compares them."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    try:
        _migrate(connection, SCHEMA_HEAD)
        return schema_objects(connection)
    finally:
        connection.close()


def upgrade_archive(archive: Archive) -> tuple[str | None, str, Path | None]:
    """
    Bring a catalogue to this program's schema and return (schema before, schema now, backup made first).

    Raises:
        NewerCatalogueError: a later program has upgraded it.
        ArchiveError: it is no catalogue, or the upgrade failed; the catalogue is then as it was.
    """
    connection = connect(archive.catalogue, writing=True, timeout_s=archive.settings.catalogue_wait_seconds)
    try:
        before = schema_of(connection)
        if before is None:
            raise ArchiveError(f"{archive.catalogue.name} is not a Tiebeam catalogue.")
        if before > SCHEMA_HEAD:
            raise NewerCatalogueError(
                f"{archive.catalogue.name} has schema {before}; this program knows up to {SCHEMA_HEAD}."
            )
        if before == SCHEMA_HEAD:
            return before, before, None
        set_journal(connection, journal_for(archive.folder, archive.settings.catalogue_journal)[0])
        copies: list[Path] = []
        # The backup is made while nobody else can write, so that it is the catalogue that is upgraded.
        _migrate(
            connection,
            SCHEMA_HEAD,
            first=lambda: copies.append(back_up(archive, why=f"before-{SCHEMA_HEAD}")),
        )
        return before, SCHEMA_HEAD, copies[0]
    except sqlite3.Error as error:
        raise as_archive_error(error, archive.catalogue) from error
    finally:
        connection.close()


def _migrate(connection: sqlite3.Connection, target: str, first: Callable[[], None] | None = None) -> None:
    """Run the migrations up to ``target`` in one transaction: all or none; ``first`` comes before them."""
    engine = create_engine("sqlite://", creator=lambda: connection, poolclass=StaticPool)
    # Off while tables are rebuilt (SQLite, ALTER TABLE, section 7); checked before the commit.
    connection.execute("PRAGMA foreign_keys = OFF")
    try:
        with engine.connect() as wrapped:
            _begin(wrapped)
            if first:
                first()
            config = migrations_config()
            config.attributes["connection"] = wrapped
            run_migrations(config, target)
            broken = connection.execute("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise ArchiveError(f"The upgrade would leave {len(broken)} broken links; the catalogue is as it was.")
            connection.execute("COMMIT")
    except exc.DBAPIError as failure:
        raise ArchiveError(
            f"The upgrade to schema {target} failed ({failure.orig}); the catalogue is as it was."
        ) from failure
    finally:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        connection.execute("PRAGMA foreign_keys = ON")


def _begin(wrapped: Connection) -> None:
    # Through SQLAlchemy, so that alembic, too, knows of the transaction and leaves it open.
    try:
        wrapped.exec_driver_sql("BEGIN IMMEDIATE")
    except exc.DBAPIError as failure:
        raise as_archive_error(failure.orig or failure, Path(CATALOGUE_NAME)) from failure
