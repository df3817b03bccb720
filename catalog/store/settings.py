"""The archive's settings, kept in its ``tiebeam.toml`` alone."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from catalog.errors import SettingsError
from catalog.rules.papers import GENERIC_PAPERS, Paper, papers_as_toml, parse_papers

SETTINGS_NAME = "tiebeam.toml"
SAID_LINE = re.compile(r"(?P<item>[a-z_]+)\s*:\s*(?P<words>\S.*)")
TAX_LINE = re.compile(r"(?P<words>\S.*?)\s+(?P<rate>\d{1,2}(?:[.,]\d{1,3})?)\s*%")


@dataclass(frozen=True, slots=True)
class Settings:
    """What the archive's owner has settled. Every name is ``section_key`` of the file."""

    archive_name: str = ""
    archive_photographer: str = ""
    dates_about_years: int = 2
    """How far, in years, a date marked "about" may lie from what is written."""
    dates_century: int | None = None
    """The century of two-digit years typed at the desk (1900); without it they are refused."""
    rights_notice: str = ""
    rights_usage_terms: str = ""
    rights_credit: str = ""
    rights_owner: str = ""
    """Who owns the copyright, where the notice does not name the photographer."""
    rights_marked: bool | None = None
    """Whether the pictures are in copyright; without it the notice tells."""
    rights_web_statement: str = ""
    rights_licensor: str = ""
    rights_licensor_url: str = ""
    rights_data_mining: str = ""
    """A term of the PLUS vocabulary, ``DMI-PROHIBITED`` or its whole URI."""
    rights_other_constraints: str = ""
    scans_number_pattern: str = ""
    """A regular expression whose group ``number`` is the sheet's number in a scan's file name."""
    scans_medium: str = "negative"
    """What a scan is of, where the sheet does not say."""
    versions_folder: str = "versions"
    """Where written edit versions go: within the archive's folder, or a whole path."""
    catalogue_journal: str = "auto"
    catalogue_wait_seconds: int = 30
    index_pictures_long_side: int = 1200
    """The longer side of an index picture, in pixels; with another number they are all made again."""
    sidecars_language: str = "en"
    sidecars_public_notes: tuple[str, ...] = ("caption",)
    """Headings under which notes are written for the public: they go into the description."""
    documents_heading: tuple[str, ...] = ()
    """The lines at the head of every document: name, address, whatever a letter paper says."""
    documents_paper: str = "a4"
    documents_currency: str = "EUR"
    """The currency of a price typed without one."""
    documents_law: str = "none"
    """Whose list of disclosures a certificate follows: a key of ``rules.disclosure.LISTS``."""
    documents_tax: tuple[str, ...] = ()
    """Lines of tax on an invoice, each its words and rate: ``VAT 20 %``."""
    documents_tax_included: bool = False
    """Whether prices include the tax, or it is added to them."""
    documents_say: tuple[str, ...] = ()
    """Answers that every certificate gives, ``ITEM: words`` each; the items are those of ``rules.disclosure``."""
    documents_font: str = ""
    """A TrueType file to set documents in, beside this file or with its whole path; empty: what comes along."""
    papers: tuple[Paper, ...] = GENERIC_PAPERS
    """The paper stocks of ``[papers."name"]``; an archive without that table has the generic ones."""

    def said_on_certificates(self) -> dict[str, str]:
        """Return what ``documents_say`` answers, by item."""
        found = [SAID_LINE.fullmatch(line) for line in self.documents_say]
        return {each["item"]: each["words"] for each in found if each is not None}


TEMPLATE = """\
# The settings of this archive. They are kept here alone; the program keeps your comments.

[archive]
name = {name}
photographer = {photographer}

[dates]
about_years = 2          # how far "about 1978" may reach: 1976 to 1980
# century = 1900         # what "78" means when it is typed at the desk; without it the program asks

[rights]
notice = {notice}
usage_terms = ""
credit = ""              # the credit line: "Ida Thornwick, Wenn valley archive"
# owner = ""             # who owns the copyright, if not the photographer
# marked = true          # whether the pictures are in copyright, if the notice does not say so
# web_statement = ""     # address of a page that says what is allowed
# licensor = ""          # whom to ask for a licence, and the address of a page of theirs
# licensor_url = ""
# data_mining = ""       # a PLUS term such as "DMI-PROHIBITED"
# other_constraints = ""

[scans]
# number_pattern = '^(?P<number>\\d+-\\d+)'   # where a file's name holds the number; else any is tried
medium = "negative"

[versions]
folder = "versions"      # where written edit versions go: in the archive's folder, or a whole path

[catalogue]
journal = "auto"         # "delete" on a share that the program takes for a local disk
wait_seconds = 30        # how long to wait while another window writes

[index_pictures]
long_side = 1200         # pixels; a sheet of 4x5 shown at its own size has 240 to the inch

[sidecars]
language = "en"
public_notes = ["caption"]   # headings of the notes that go out; with "Remarks" the remarks of the cards do too

[documents]
# heading = ["Ida Thornwick", "The Old Weigh-house, Low Halding"]   # stands at the head of certificates and letters
paper = "a4"             # or "letter"
currency = "EUR"         # of a price typed without one
law = "none"             # whose list a certificate follows: california, new-york, georgia, hawaii, maryland, illinois
# say = ["posthumous: no"]   # what every certificate answers; the items are in the manual, documents.md
# tax = ["VAT 20 %"]       # on invoices; no line, no tax
# tax_included = true    # prices include the tax
# font = "typeface.ttf"  # a TrueType file in this folder, for letters that the program's own typefaces lack
"""

TEMPLATE += """
# Papers that "tiebeam tones --paper NAME" judges a picture for: L* of their white and of their deepest black.
# Put your own measurements here; "source" says whose they are.

""" + papers_as_toml(GENERIC_PAPERS)


def quoted(text: str) -> str:
    """Return ``text`` as a TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c >= " " and c != "\x7f" else f"\\u{ord(c):04x}" for c in escaped) + '"'


def read_settings(folder: Path) -> Settings:
    """
    Return the settings of the archive in ``folder``.

    Raises:
        SettingsError: the file cannot be read, has an unknown key or a value of the wrong kind.
    """
    path = folder / SETTINGS_NAME
    try:
        found = tomllib.loads(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as exc:
        raise SettingsError(f"{path.name} cannot be read: {exc}") from exc
    except tomllib.TOMLDecodeError as exc:
        raise SettingsError(f"{path.name}: {exc}. Mend that line.") from exc
    return _checked(path.name, found)


_KINDS: dict[str, type] = {"str": str, "int": int, "bool": bool, "float": float, "tuple[str, ...]": list}


def _checked(name: str, found: dict[str, Any]) -> Settings:
    # Annotations are texts here; reading them as such spares every command the machinery of typing.
    texts = {field.name: str(field.type).removesuffix(" | None") for field in fields(Settings)}
    known = {name: _KINDS[text] for name, text in texts.items() if text in _KINDS}
    given: dict[str, Any] = {}
    for section, keys in found.items():
        if section == "papers":
            given["papers"] = parse_papers(keys, name)
            continue
        if not isinstance(keys, dict):
            raise SettingsError(f"{name}: {section!r} stands outside a section such as [archive].")
        for key, value in keys.items():
            full = f"{section}_{key}"
            if full not in known:
                raise SettingsError(f"{name}: [{section}] knows no {key!r}. Remove it or mend its spelling.")
            if type(value) is not known[full]:
                raise SettingsError(f"{name}: [{section}] {key} = {value!r} should be {known[full].__name__}.")
            if isinstance(value, list) and not all(isinstance(one, str) for one in value):
                raise SettingsError(f"{name}: [{section}] {key} = {value!r} should be a list of words in quotes.")
            given[full] = tuple(value) if isinstance(value, list) else value
    if given.get("catalogue_journal", "auto") not in ("auto", "wal", "delete"):
        raise SettingsError(f'{name}: [catalogue] journal is "auto", "wal" or "delete".')
    if not 0 <= given.get("dates_about_years", 2) <= 100:
        raise SettingsError(f"{name}: [dates] about_years is a number of years from 0 to 100.")
    if not 256 <= given.get("index_pictures_long_side", 1200) <= 4096:
        raise SettingsError(f"{name}: [index_pictures] long_side is a number of pixels from 256 to 4096.")
    _check_documents(name, given)
    century = given.get("dates_century")
    if century is not None and (century % 100 or not 1000 <= century <= 2900):
        raise SettingsError(f"{name}: [dates] century is the first year of one, such as 1900.")
    return Settings(**given)


def _check_documents(name: str, given: dict[str, Any]) -> None:
    if given.get("documents_paper", "a4") not in ("a4", "letter"):
        raise SettingsError(f'{name}: [documents] paper is "a4" or "letter".')
    if not re.fullmatch("[A-Z]{3}", given.get("documents_currency", "EUR")):
        raise SettingsError(f'{name}: [documents] currency is three letters, such as "EUR" or "GBP".')
    for line in given.get("documents_tax", ()):
        if not TAX_LINE.fullmatch(line):
            raise SettingsError(f'{name}: [documents] tax = {line!r}: a line is words and a rate, such as "VAT 20 %".')
    for line in given.get("documents_say", ()):
        if not SAID_LINE.fullmatch(line):
            raise SettingsError(f'{name}: [documents] say = {line!r}: write an item and its words, "posthumous: no".')
    law = given.get("documents_law", "none")
    if law != "none":
        from catalog.rules.disclosure import LAWS  # late: no other command needs the lists

        if law not in LAWS:
            raise SettingsError(f"{name}: [documents] law is one of: {', '.join(LAWS)}.")
