"""Settings of documents: wrong values are named, a new archive shows them all."""

from __future__ import annotations

import tomllib

import pytest

from catalog.errors import SettingsError
from catalog.rules.disclosure import LAWS
from catalog.store.new import make_archive
from catalog.store.settings import SETTINGS_NAME, TEMPLATE, read_settings


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('paper = "a5"', 'paper is "a4" or "letter"'),
        ('currency = "euro"', "currency is three letters"),
        ('law = "france"', "law is one of: california, new-york"),
        ('tax = ["VAT"]', "a line is words and a rate"),
        ('tax = ["VAT 200 %"]', "a line is words and a rate"),
        ('say = ["no"]', "write an item and its words"),
        ("heading = [1]", "a list of words"),
        ("tax_included = 1", "should be bool"),
    ],
)
def test_a_wrong_setting_of_documents_is_named(tmp_path, line: str, says: str):
    (tmp_path / SETTINGS_NAME).write_text(f"[documents]\n{line}\n", "utf-8")

    with pytest.raises(SettingsError, match=says):
        read_settings(tmp_path)


@pytest.mark.parametrize("law", LAWS)
def test_each_law_can_be_chosen(tmp_path, law: str):
    (tmp_path / SETTINGS_NAME).write_text(f'[documents]\nlaw = "{law}"\ntax = ["VAT 8.1 %"]\n', "utf-8")

    assert read_settings(tmp_path).documents_law == law


def test_every_line_of_a_new_archive_can_be_used_as_it_stands(tmp_path):
    section = TEMPLATE.partition("[documents]")[2].partition("\n\n")[0]
    used = "\n".join(line.removeprefix("# ") for line in section.strip().splitlines())
    (tmp_path / SETTINGS_NAME).write_text(f"[documents]\n{used}", "utf-8")

    found = read_settings(tmp_path)

    assert set(tomllib.loads(used)) == {"heading", "paper", "currency", "law", "say", "tax", "tax_included", "font"}
    assert (found.documents_paper, found.documents_tax) == ("a4", ("VAT 20 %",))


def test_a_new_archive_has_the_section(tmp_path):
    make_archive(tmp_path / "archive")

    assert "[documents]" in (tmp_path / "archive" / SETTINGS_NAME).read_text("utf-8")
