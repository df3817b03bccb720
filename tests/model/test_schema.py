"""The mapped classes and the migrated catalogue are the same: tables, columns, constraints, indexes."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import Table
from sqlalchemy.dialects import sqlite
from sqlalchemy.schema import CreateIndex, CreateTable

from catalog.model import Base
from catalog.rules.references import LETTERS
from catalog.store.rows import KEYS
from catalog.store.upgrade import fresh_schema

BESIDE_THE_MODEL = {"alembic_version", "search_entry", "search_words"}
TABLES = list(Base.metadata.sorted_tables)


@pytest.fixture(scope="module")
def migrated() -> dict[tuple[str, str], str]:
    return {key: _plain(sql) for key, sql in fresh_schema().items()}


def _plain(sql: object) -> str:
    unquoted = re.sub(r'"(\w+)"', r"\1", " ".join(str(sql).split()))
    return unquoted.replace("( ", "(").replace(" )", ")").replace(" ,", ",")


def test_the_migrations_make_the_tables_of_the_model_and_no_others(migrated):
    made = {name for kind, name in migrated if kind == "table"}

    assert made - BESIDE_THE_MODEL == {table.name for table in TABLES}


@pytest.mark.parametrize("table", TABLES, ids=str)
def test_a_table_is_migrated_as_it_is_mapped(migrated, table: Table):
    mapped = str(CreateTable(table).compile(dialect=sqlite.dialect()))

    assert migrated["table", table.name] == _plain(mapped)


@pytest.mark.parametrize("table", TABLES, ids=str)
def test_the_indexes_of_a_table_are_migrated_as_they_are_mapped(migrated, table: Table):
    mapped = {index.name: _plain(CreateIndex(index).compile(dialect=sqlite.dialect())) for index in table.indexes}

    there = {name: sql for (kind, name), sql in migrated.items() if kind == "index" and f" ON {table.name} " in sql}

    assert there == mapped


@pytest.mark.parametrize("table", TABLES, ids=str)
def test_every_table_is_strict_and_has_one_key_the_daybook_can_name(migrated, table: Table):
    keys = [column.name for column in table.primary_key]

    assert migrated["table", table.name].endswith("STRICT")
    assert keys == [KEYS.get(table.name, "id")]


@pytest.mark.parametrize("table", [t for t in TABLES if t.name in LETTERS.values()], ids=str)
def test_a_reference_is_never_given_twice(migrated, table: Table):
    # Design section 10: a letter and a number, given once for ever.
    assert "AUTOINCREMENT" in migrated["table", table.name]
