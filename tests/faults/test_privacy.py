"""A buyer with a name like no other: every output is made, and none but a page addressed to them tells of them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import click
import numpy as np
import pytest
import tifffile
from pypdf import PdfReader

from catalog.actions.notes import add_note
from catalog.cli.main import tiebeam
from catalog.rules.folding import fold
from catalog.store.archive import Archive
from tests.builders import a_mill, a_sheet, a_village, done, rows, run
from tests.editions import an_edition
from tests.scan_archives import an_archive
from tests.scan_archives import tiebeam as in_archive

# What may stand nowhere: words that no other record has. The price is 12,345.67 EUR, in whole cents in the ledger.
NAME, ADDRESS, CONTACT = "Zephyrine Quillfeather", "17 Xanthic Row; Obermoor", "zq@quill.example"
FORMER = "Zephirina Quillfether"
SECRET = ("zephyrine", "quillfeather", "zephirina", "quillfether", "xanthic", "zq@quill", "12,345", "12345", "1234567")
PLACE, WORDS = f"with {NAME}, 17 Xanthic Row", f"{NAME.upper()} paid 12,345.67 EUR"


def told_in(text: str) -> list[str]:
    """Return the secrets that a text tells, however they are spelled."""
    folded = fold(text)
    return [secret for secret in SECRET if secret in folded]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive of two scanned sheets; prints were promised, consigned, sold and lent to one buyer, pages issued."""
    archive = an_archive(tmp_path_factory.mktemp("privacy") / "wenn")
    mill = a_mill(archive, "Osk Mill", a_village(archive))
    sheet_id = a_sheet(archive, "78-14", "1978", mill)
    a_sheet(archive, "78-15", "1979", mill)
    for count, name in enumerate(("78-14", "78-15")):
        path = archive.folder / "scans" / f"{name}.tif"
        path.parent.mkdir(exist_ok=True)
        tifffile.imwrite(path, np.tile(np.linspace(4000, 50000 - count, 50).astype(np.uint16), (40, 1)))
    assert in_archive(archive, "scans", "add", archive.folder / "scans") == 0
    view_id = rows(archive, "SELECT view_id FROM sheet_view WHERE sheet_id = ?", sheet_id)[0]
    an_edition(archive, view=(view_id, sheet_id))
    for words in (
        ("persons", "add", FORMER, "--role", "buyer", "--address", ADDRESS, "--contact", CONTACT),
        ("persons", "correct", "N1", "--name", NAME),
        ("persons", "add", "Wennmouth Gallery", "--kind", "firm"),
        ("prints", "pull", "E1", "--count", "4"),
        ("prints", "promise", "E1 9/15", "--to", "N1", "--price", "12345.67 EUR", "--words", WORDS),
        ("prints", "reserve", "P2", "--to", "N1", "--until", "2040", "--words", WORDS),
        ("prints", "consign", "P1", "--to", "N2", "--price", "12345.67 EUR", "--at", PLACE),
        ("prints", "sell", "P1", "--to", "N1", "--price", "12345.67 EUR", "--words", WORDS),
        ("prints", "lend", "P3", "--to", "N1", "--price", "12345.67 EUR", "--at", PLACE, "--until", "2020"),
        ("prints", "drawer", "P4", "--at", f"drawer 3, kept for {NAME}"),
        ("prints", "commission", "P1", "--to", "N2", "--price", "12345.67 EUR"),
        ("prints", "pull", "--sheet", "S2", "--markings", f"for {NAME}, 12,345.67 EUR"),
        ("documents", "invoice", "N1"), ("documents", "loan-form", "N1"), ("documents", "letter", "N1"),
        ("documents", "held-by", "N1"), ("documents", "insurance-list"), ("documents", "edition-statement", "E1"),
        ("documents", "certificate", "P1"),
        ("documents", "void", "A1", "--because", WORDS),
    ):  # fmt: skip
        done(archive, *words)
    add_note(archive, about="print", about_id=1, text=WORDS)
    return archive


# What a command that asks for something is asked; every other is asked for all there is.
ASKED: dict[str, list[list[str]]] = {
    "find": [["--place", "Osk"], ["78-14"]],
    "show": [["S1"], ["S2"], ["V1"], ["B1"], ["L1"], ["C1"], ["E1"], ["M1"], *([f"P{n}"] for n in range(1, 6)),
             ["N2"], *([f"A{n}"] for n in range(1, 8))],
    "scans show": [["C1"]], "sheets show": [["S1"]], "views show": [["V1"]], "places show": [["L1"]],
    "buildings show": [["B1"]], "persons show": [["N2"]], "editions show": [["E1"]],
    "prints show": [[f"P{n}"] for n in range(1, 6)], "prints held-by": [["N1"], ["N2"]],
    "ledger": [["E1"], ["P1"], ["P4"], ["N1"], ["N2"], ["E1 9/15"]],
    "documents show": [[f"A{n}"] for n in range(1, 8)],
    "tones": [["78-14"]], "sidecars compare": [["--place", "Osk"]], "sidecars read": [["--place", "Osk"]],
    "index-pictures make": [["--place", "Osk"]], "versions make": [["--number", "78-14", "--dry-run"]],
    "daybook": [[], *([str(n)] for n in range(1, 26)), ["P1"], ["N1"], ["E1"], ["A1"]],
}  # fmt: skip
# Not here: what names the very person that is asked for, reads the words of somebody's file, or needs what is not here.
LEFT_OUT = {
    "persons list": "lists the names that it is asked for; addresses and contacts are tried below",
    "notes list": "the photographer's notes, word for word", "notes show": "the photographer's notes, word for word",
    "contact-sheets make": "is done below", "sidecars write": "is done below", "scans add": "reads files",
    "cards read": "reads a file", "cards rehearse": "reads a file", "prints read": "reads a file",
    "prints rehearse": "reads a file", "prints resale-right": "reckons from the price that is typed",
    "versions show": "there is none", "versions write": "there is none", "standpoints show": "there is none",
    "visits show": "there is none", "rolls show": "there is none", "lenses show": "there is none",
    "cameras show": "there is none", "films show": "there is none", "sources show": "there is none",
    "questions show": "there is none",
}  # fmt: skip


def _commands(command: click.Command = tiebeam, path: tuple[str, ...] = ()) -> Iterator[tuple[str, set[str]]]:
    """Yield every command that tells something, with its options; not those that tell what was typed just now."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            yield from _commands(below, (*path, name))
    else:
        options = {option for parameter in command.params for option in parameter.opts}
        is_deed = "--dry-run" in options and " ".join(path) not in (*ASKED, *LEFT_OUT)
        if "--json" in options and not is_deed:
            yield " ".join(path), options


TELLING = dict(_commands())


def test_every_command_that_tells_something_is_asked_or_left_out_for_a_reason() -> None:
    assert set(ASKED) | set(LEFT_OUT) <= set(TELLING)
    assert not set(ASKED) & set(LEFT_OUT)


@pytest.mark.parametrize("name", sorted(set(TELLING) - set(LEFT_OUT)))
def test_no_command_tells_of_the_buyer_unasked(house: Archive, name: str) -> None:
    for words in ASKED.get(name, [[]]):
        for form in ([], ["--json"], ["--csv"]):
            if set(form) <= TELLING[name]:
                told = run(house, *name.split(), *words, *form)
                assert told.status in (0, 1), (words, told)
                assert told_in(told.out + told.err) == [], (words, form, told.out + told.err)


def test_the_persons_are_listed_without_addresses_or_contacts(house: Archive) -> None:
    for form in ([], ["--json"], ["--csv"]):
        told = done(house, "persons", "list", *form)
        assert set(told_in(told)) == {"zephyrine", "quillfeather"}


@pytest.mark.parametrize(
    ("name", "words"), [("ledger", "P1"), ("prints", "out"), ("daybook", ""), ("show", "P1"), ("documents", "list")]
)
def test_asked_for_in_private_the_buyer_is_named(house: Archive, name: str, words: str) -> None:
    told = done(house, name, *words.split(), "--private")

    assert "Zephyrine Quillfeather" in told


def test_an_undo_tells_of_no_buyer(house: Archive) -> None:
    newest = rows(house, "SELECT max(id) FROM deed")[0]
    for deed_id in range(1, newest + 1):
        told = run(house, "undo", str(deed_id), "--dry-run")
        if told.status == 0:  # a refusal names who has the print: it is what the person has to know
            assert told_in(told.out) == [], told.out


def test_what_is_made_for_others_tells_of_no_buyer(house: Archive, tmp_path: Path) -> None:
    said = done(house, "sidecars", "write", "--place", "Osk", "--json")
    said += done(house, "contact-sheets", "make", "--place", "Osk", "--output", str(tmp_path / "sheet.pdf"))
    said += done(house, "contact-sheets", "make", "--place", "Osk", "--output", str(tmp_path / "sheet.png"))
    done(house, "index-pictures", "make", "--place", "Osk")

    made = [
        *tmp_path.iterdir(),
        *(house.folder / "scans").rglob("*.xmp"),
        *(house.folder / "index-pictures").rglob("*"),
    ]
    sidecars = [path for path in made if path.suffix == ".xmp"]
    assert told_in(said) == []
    assert len(sidecars) == 2
    assert {path.suffix for path in made} >= {".pdf", ".png", ".xmp"}
    for path in made:
        if path.is_file():
            assert _secrets_in(path) == [], path


def _secrets_in(path: Path) -> list[str]:
    content = path.read_bytes()
    texts = [content.decode("utf-8", "replace"), content.decode("utf-16-be", "replace")]
    if path.suffix == ".pdf":
        reader = PdfReader(BytesIO(content))
        texts += [page.extract_text() for page in reader.pages]
        texts.append(str(reader.metadata))
    return [secret for text in texts for secret in told_in(text)]


ADDRESSED = {"invoice", "loan form", "yearly letter", "prints held"}
FOR_OTHERS = {"edition statement", "certificate"}


def test_only_pages_addressed_to_the_buyer_tell_of_them(house: Archive) -> None:
    issued = rows(house, "SELECT id, kind, file_name FROM document ORDER BY id")
    assert {kind for _, kind, _ in issued} == ADDRESSED | FOR_OTHERS | {"insurance list"}

    for _, kind, file_name in issued:
        told = set(_secrets_in(house.folder / "documents" / file_name))
        if kind in ADDRESSED:
            assert {"zephyrine", "quillfeather"} <= told, file_name
        elif kind in FOR_OTHERS:
            assert told == set(), file_name


def test_the_json_of_the_daybook_holds_prices_only_when_asked(house: Archive) -> None:
    sale = rows(house, "SELECT id FROM deed WHERE kind = 'prints sell'")[0]

    plain, private = (
        json.loads(done(house, "daybook", str(sale), "--json", *more))["items"][0]["changes"][0]["after"]
        for more in ([], ["--private"])
    )

    assert (plain["price_minor"], plain["words"]) == ("(private)", "(private) paid (private)")
    assert (private["price_minor"], private["words"]) == (1234567, WORDS)
    assert re.fullmatch(r"N\d+|\d+", str(plain["person_id"]))
