"""The mapping file: what each column of a card index is, and how its words are to be read."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from catalog.errors import IntakeError
from catalog.intake.fields import FIELDS
from catalog.intake.mapping_files import add_columns, add_table, begin_document, write_mapping_text
from catalog.intake.table_mapping import ColumnUse, TableMapping
from catalog.rules.compass import COMPASS
from catalog.rules.folding import fold
from catalog.rules.vocabulary import FATES, MEDIUMS, PARTS

MAX_MAPPING_BYTES = 1024 * 1024

DEFAULT_ABBREVIATIONS: dict[str, dict[str, str]] = {
    "words": {
        "Ho.": "House", "Hse.": "House", "Gran.": "Granary", "Ml.": "Mill", "Ch.": "Church",
        "Chap.": "Chapel",
        "Br.": "Bridge", "Fm.": "Farm", "Wk.": "Works", "Wks.": "Works", "Stn.": "Station", "Sch.": "School",
        "V. Hall": "Village Hall", "Vill.": "Village", "W.-ho.": "Weigh-house", "Weigh-ho.": "Weigh-house",
        "Gt.": "Great", "Lit.": "Little", "Lr.": "Lower", "Up.": "Upper", "Nr.": "Near",
    },
    "elevation": {},
    "subject": {
        "int": "interior", "int.": "interior", "interior": "interior", "inside": "interior",
        "det": "detail", "det.": "detail", "detail": "detail", "details": "detail",
        "elev": "elevation", "elev.": "elevation", "elevation": "elevation", "ext": "elevation",
        "ext.": "elevation",
        "exterior": "elevation", "front": "elevation",
        "gen": "surroundings", "gen.": "surroundings", "general": "surroundings",
        "general view": "surroundings",
        "surroundings": "surroundings", "setting": "surroundings",
    },
    "medium": {
        "neg": "negative", "neg.": "negative", "negative": "negative", "bw neg": "negative",
        "b/w neg": "negative",
        "col neg": "negative", "colour neg": "negative", "trans": "transparency", "trans.": "transparency",
        "transparency": "transparency", "tranny": "transparency", "glass": "glass plate",
        "plate": "glass plate",
        "glass plate": "glass plate", "lantern slide": "lantern slide", "l. slide": "lantern slide",
        "copy neg": "copy negative", "copy neg.": "copy negative", "copy negative": "copy negative",
        "print": "print",
    },
    "fate": {
        "exposed": "exposed", "ok": "exposed", "good": "exposed", "fine": "exposed", "blank": "blank",
        "clear": "blank", "double": "doubly exposed", "double exposure": "doubly exposed",
        "dbl exp": "doubly exposed", "dbl. exp.": "doubly exposed", "doubly exposed": "doubly exposed",
        "fogged": "fogged", "fog": "fogged", "light leak": "fogged", "with lab": "with lab",
        "at lab": "with lab",
        "lost at lab": "lost at lab", "lost by lab": "lost at lab", "not returned": "not returned",
        "never returned": "not returned", "not back": "not returned", "destroyed": "destroyed",
        "thrown out": "destroyed", "broken": "destroyed",
    },
}  # fmt: skip
DEFAULT_SEPARATORS: dict[str, tuple[str, ...]] = {
    "number": (";", ",", "&", " and ", " = ", " + ", "\n"),
    "building": (";", " & ", " and ", " + ", "\n"),
    "elevation": (";", ",", "&", " and ", "+", "\n"),
    "keywords": (";", ",", "\n"),
}
_WORDS = {"elevation": COMPASS, "subject": PARTS, "medium": MEDIUMS, "fate": FATES}
"""What an abbreviation of each kind may stand for; one among ``words`` may stand for anything."""
_NUMBER_PARTS = {"#*": r"\d+", "@*": r"[^\W\d_]+", "#": r"\d", "@": r"[^\W\d_]"}


@dataclass(frozen=True, slots=True)
class CardMapping(TableMapping):
    """
    How a card index is to be read.

    ``places`` and ``buildings`` settle what a written name means: a reference, another name (with what it
    lies in behind a comma, to tell two of one name apart), or nothing (``""``) for a name that is to stay
    words.
    """

    number_scheme: str = ""
    number_patterns: tuple[str, ...] = ()
    separators: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: DEFAULT_SEPARATORS)
    abbreviations: Mapping[str, Mapping[str, str]] = field(default_factory=lambda: DEFAULT_ABBREVIATIONS)
    lenses: Mapping[str, float] = field(default_factory=dict)
    """The lenses that were in use, by how they are written: focal length in mm."""
    shutter_bare: str | None = None
    """What a bare ``60`` under the shutter means: ``fraction`` (1/60 s) or ``seconds``."""
    places: Mapping[str, str] = field(default_factory=dict)
    buildings: Mapping[str, str] = field(default_factory=dict)
    text: str = ""
    """The mapping file itself, to be kept with what was read by it."""


def read_mapping(path: Path) -> CardMapping:
    """
    Return the mapping that a file states.

    Raises:
        IntakeError: it is not there or says something that cannot be followed; all its faults are named at
        once.
    """
    return parse_mapping(read_mapping_text(path, guess="tiebeam cards guess FILE"), name=path.name)


def read_mapping_text(path: Path, *, guess: str) -> str:
    """
    Return the text of a mapping file; ``guess`` is the command that writes a first one.

    Raises:
        IntakeError: it is not there, too large, or no UTF-8.
    """
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= MAX_MAPPING_BYTES else b""
    except OSError as exc:
        raise IntakeError(
            f"{path.name}: no mapping file can be read there ({exc.strerror or exc}). Write a first one with: {guess}"
        ) from exc
    if size > MAX_MAPPING_BYTES:
        raise IntakeError(f"{path.name}: {size // 1024} KB is more than a mapping file has.")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        raise IntakeError(f"{path.name}: the mapping file must be UTF-8; save it again as such.") from exc


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Return a TOML text as a document. Raises ``IntakeError`` if it is none."""
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as exc:
        raise IntakeError(f"{name}: not TOML: {exc}. Put texts with signs in quotation marks.") from exc


def parse_mapping(text: str, *, name: str = "mapping file") -> CardMapping:
    """Return the mapping that a TOML text states. Raises ``IntakeError`` with all its faults."""
    document = parse_toml(text, name)
    faults: list[str] = []
    mapping = MappingParser(faults).parse(document)
    if faults:
        raise IntakeError("\n".join(f"{name}: {fault}" for fault in faults))
    return replace(mapping, text=text)


class MappingParser:
    """Takes a mapping document apart and collects what is wrong with it."""

    fields: Collection[str] = FIELDS
    """What a column may be."""

    def __init__(self, faults: list[str]) -> None:
        self._faults = faults

    def _of_table(self, document: dict[str, Any]) -> dict[str, Any]:
        """Return the fields of a ``TableMapping``."""
        file, dates = self._table(document, "file"), self._table(document, "dates")
        self._unknown(file, {"encoding", "delimiter", "sheet", "heading_row"}, "[file]")
        self._unknown(dates, {"century", "day_order", "readings"}, "[dates]")
        return {
            "columns": self._columns(document),
            "encoding": self._text(file, "encoding"),
            "delimiter": self._text(file, "delimiter"),
            "sheet": self._text(file, "sheet"),
            "heading_row": self._whole(file, "heading_row", 1, 1_048_576),
            "century": self._century(dates),
            "day_order": self._choice(dates, "day_order", ("dmy", "mdy")),
            "date_readings": self._dates(dates),
        }

    def parse(self, document: dict[str, Any]) -> CardMapping:
        """Return the mapping; the faults were collected."""
        known = {
            "version", "file", "dates", "numbers", "columns", "separators", "abbreviations", "lenses",
            "shutter", "places", "buildings",
        }  # fmt: skip
        self._unknown(document, known, "the mapping file")
        if document.get("version", 1) != 1:
            self._faults.append("version: this program knows version 1 only.")
        numbers, shutter = self._table(document, "numbers"), self._table(document, "shutter")
        self._unknown(numbers, {"scheme", "patterns"}, "[numbers]")
        self._unknown(shutter, {"bare"}, "[shutter]")
        return CardMapping(
            **self._of_table(document),
            number_scheme=self._text(numbers, "scheme") or "",
            number_patterns=self._texts(numbers, "patterns"),
            separators=self._separators(document),
            abbreviations=self._abbreviations(document),
            lenses=self._lenses(document),
            shutter_bare=self._choice(shutter, "bare", ("fraction", "seconds")),
            places=self._references(document, "places", "L"),
            buildings=self._references(document, "buildings", "B"),
        )

    def _unknown(self, table: dict[str, Any], known: set[str], where: str) -> None:
        for key in table:
            if key not in known:
                self._faults.append(f"{where}: {key!r} is not known; known are {', '.join(sorted(known))}.")

    def _table(self, document: dict[str, Any], key: str) -> dict[str, Any]:
        value = document.get(key, {})
        if isinstance(value, dict):
            return value
        self._faults.append(f"{key}: should be a table, [{key}].")
        return {}

    def _text(self, table: dict[str, Any], key: str) -> str | None:
        value = table.get(key)
        if value is None or (isinstance(value, str) and value):
            return value
        self._faults.append(f"{key}: {value!r} should be a text in quotation marks.")
        return None

    def _texts(self, table: dict[str, Any], key: str) -> tuple[str, ...]:
        value = table.get(key, [])
        if isinstance(value, list) and all(isinstance(item, str) and item for item in value):
            return tuple(value)
        self._faults.append(f'{key}: should be a list of texts, like ["##-##"].')
        return ()

    def _whole(self, table: dict[str, Any], key: str, least: int, most: int) -> int | None:
        value = table.get(key)
        if value is None or (isinstance(value, int) and not isinstance(value, bool) and least <= value <= most):
            return value
        self._faults.append(f"{key}: {value!r} should be a whole number from {least} to {most}.")
        return None

    def _century(self, dates: dict[str, Any]) -> int | None:
        century = self._whole(dates, "century", 0, 9900)
        if century is not None and century % 100:
            self._faults.append(f"century: {century} should end in 00, like 1900.")
        return century

    def _choice(self, table: dict[str, Any], key: str, choices: Sequence[str]) -> str | None:
        value = table.get(key)
        if value is None or value in choices:
            return value
        self._faults.append(f"{key}: {value!r} should be one of {', '.join(choices)}.")
        return None

    def _columns(self, document: dict[str, Any]) -> dict[str, ColumnUse]:
        uses: dict[str, ColumnUse] = {}
        for heading, value in self._table(document, "columns").items():
            stated = {"field": value} if isinstance(value, str) else value
            if not isinstance(stated, dict) or stated.get("field") not in self.fields:
                found = stated.get("field") if isinstance(stated, dict) else value
                self._faults.append(
                    f"[columns] {heading!r}: {found!r} is no field; fields are {', '.join(self.fields)}."
                )
                continue
            self._unknown(stated, {"field", "carry", "scheme"}, f"[columns] {heading!r}")
            carry = stated.get("carry", False)
            if not isinstance(carry, bool):
                self._faults.append(f"[columns] {heading!r}: carry should be true or false.")
            uses[heading] = ColumnUse(stated["field"], carry is True, self._text(stated, "scheme") or "")
        if not uses and not self._faults:
            self._faults.append("[columns]: says of no column what it is.")
        return uses

    def _dates(self, dates: dict[str, Any]) -> dict[str, str]:
        from catalog.dates import parse_edtf
        from catalog.errors import EdtfError

        readings = {}
        for words, edtf in self._table(dates, "readings").items():
            try:
                parse_edtf(edtf if isinstance(edtf, str) else str(edtf))
            except EdtfError as exc:
                self._faults.append(f"[dates.readings] {words!r}: {exc}")
            readings[" ".join(words.split())] = str(edtf)
        return readings

    def _separators(self, document: dict[str, Any]) -> dict[str, tuple[str, ...]]:
        table = self._table(document, "separators")
        self._unknown(table, set(DEFAULT_SEPARATORS), "[separators]")
        return {
            **DEFAULT_SEPARATORS,
            **{key: self._texts(table, key) for key in table if key in DEFAULT_SEPARATORS},
        }

    def _abbreviations(self, document: dict[str, Any]) -> dict[str, dict[str, str]]:
        table = self._table(document, "abbreviations")
        self._unknown(table, set(DEFAULT_ABBREVIATIONS), "[abbreviations]")
        merged = {kind: dict(words) for kind, words in DEFAULT_ABBREVIATIONS.items()}
        for kind in merged:
            for short, long in self._table(table, kind).items():
                if isinstance(long, str):
                    merged[kind][short] = long
                else:
                    self._faults.append(f"[abbreviations.{kind}] {short!r}: should stand for a text.")
            allowed = _WORDS.get(kind)
            for short, long in merged[kind].items():
                if allowed is not None and long not in allowed:
                    self._faults.append(
                        f"[abbreviations.{kind}] {short!r}: {long!r} should be one of {', '.join(allowed)}."
                    )
        return merged

    def _lenses(self, document: dict[str, Any]) -> dict[str, float]:
        lenses = {}
        for written, focal_mm in self._table(document, "lenses").items():
            if isinstance(focal_mm, int | float) and not isinstance(focal_mm, bool) and 0 < focal_mm < 10_000:
                lenses[fold(written)] = float(focal_mm)
            else:
                self._faults.append(f"[lenses] {written!r}: {focal_mm!r} should be a focal length in mm.")
        return lenses

    def _references(self, document: dict[str, Any], key: str, letter: str) -> dict[str, str]:
        found = {}
        for written, reference in self._table(document, key).items():
            if isinstance(reference, str):
                is_reference = re.fullmatch(rf"{letter}[1-9][0-9]*", reference, re.IGNORECASE)
                found[fold(written)] = reference.upper() if is_reference else reference
            else:
                self._faults.append(
                    f'[{key}] {written!r}: {reference!r} should be a reference like "{letter}7", a name, '
                    'or "" to keep the words.'
                )
        return found


def number_matcher(patterns: Sequence[str]) -> Callable[[str], bool]:
    """
    Return a test of whether a text looks like a number of the archive.

    In a pattern ``#`` is a digit, ``@`` a letter, ``#*`` and ``@*`` one or more of them, anything else is
    itself.

    >>> number_matcher(["##-#*"])("78-014")
    True
    """
    if not patterns:
        return lambda text: True
    joined = "|".join(
        "".join(_NUMBER_PARTS.get(part) or re.escape(part) for part in re.findall(r"[#@]\*?|.", fold(pattern)))
        for pattern in patterns
    )
    compiled = re.compile(joined)
    return lambda text: len(text) < 200 and compiled.fullmatch(fold(text)) is not None


def format_mapping(mapping: CardMapping, questions: Sequence[str] = ()) -> str:
    """
    Return a mapping as TOML for a person to edit: what to answer first, then every column with what it is.
    """
    import tomlkit

    document = begin_document(
        "What each column of a card index is. Change what is wrong; see the manual, card-index.", questions
    )
    add_table(document, "file", {
        "encoding": mapping.encoding, "delimiter": mapping.delimiter, "sheet": mapping.sheet,
        "heading_row": mapping.heading_row,
    })  # fmt: skip
    add_columns(document, {heading: column_item(use) for heading, use in mapping.columns.items()})
    add_table(document, "numbers", {"scheme": mapping.number_scheme, "patterns": list(mapping.number_patterns)})
    dates: dict[str, Any] = {"century": mapping.century, "day_order": mapping.day_order}
    add_table(document, "dates", {**dates, "readings": dict(mapping.date_readings)})
    add_table(document, "shutter", {"bare": mapping.shutter_bare})
    add_table(document, "lenses", dict(mapping.lenses))
    add_table(document, "places", dict(mapping.places), keep_empty=True)
    add_table(document, "buildings", dict(mapping.buildings), keep_empty=True)
    add_table(document, "separators", {
        kind: list(signs)
        for kind, signs in mapping.separators.items()
        if signs != DEFAULT_SEPARATORS.get(kind)
    })  # fmt: skip
    added = {
        kind: {short: long for short, long in words.items() if DEFAULT_ABBREVIATIONS[kind].get(short) != long}
        for kind, words in mapping.abbreviations.items()
    }
    add_table(document, "abbreviations", {kind: words for kind, words in added.items() if words})
    return tomlkit.dumps(document)


def column_item(use: ColumnUse) -> Any:
    """Return a column as the mapping file states it: one word where that is all."""
    import tomlkit

    if not use.carry and not use.scheme:
        return use.field
    item = tomlkit.inline_table()
    item.update({"field": use.field})
    if use.carry:
        item.update({"carry": True})
    if use.scheme:
        item.update({"scheme": use.scheme})
    return item


def write_mapping(path: Path, mapping: CardMapping, questions: Sequence[str] = ()) -> None:
    """Write a mapping file; raises as ``write_mapping_text``."""
    write_mapping_text(path, format_mapping(mapping, questions))
