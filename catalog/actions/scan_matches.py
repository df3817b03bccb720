"""Say which sheet a scan is of, by hand or by its name once more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from catalog.actions._scan_records import match_scan, work_out_ppi
from catalog.errors import NotFoundError
from catalog.model import Scan, Sheet
from catalog.rules.references import format_reference
from catalog.rules.scan_names import NumberIndex, check_pattern, match_name
from catalog.store.archive import Archive
from catalog.store.scans import WaitingScan, sheet_numbers, waiting_scans
from catalog.store.writing import OnWait, deed, require


@dataclass(frozen=True, slots=True)
class MatchedAgain:
    """Scans that waited and were matched by their names: (scan, sheet, the number in the name)."""

    matched: tuple[tuple[int, int, str], ...]
    still_waiting: int


def match_scan_to_sheet(
    archive: Archive, scan_id: int, sheet_id: int, *, region: str | None = None, on_wait: OnWait | None = None
) -> None:
    """
    Record that a scan is of a sheet, or of ``region`` of it. A scan may show several sheets.

    Raises:
        RefusedError: it is matched to that sheet already.
        NotFoundError: there is no such scan, or no such sheet.
    """
    match_scan_to_sheets(archive, scan_id, {sheet_id: region}, on_wait=on_wait)


def match_scan_to_sheets(
    archive: Archive,
    scan_id: int,
    sheets: Mapping[int, str | None],
    *,
    is_stray: bool = False,
    on_wait: OnWait | None = None,
) -> None:
    """
    Record in one deed that a scan is of several sheets, of each the region given, or the whole of it.

    Of a scan that is taken to be a stray (``is_stray``) nobody else may have said meanwhile what it is of.

    Raises:
        RefusedError: it is matched to one of them already, or is no stray any more. Nothing was changed.
        NotFoundError: there is no such scan, or no such sheet.
    """
    scan_name = format_reference("scan", scan_id)
    named = " and ".join(format_reference("sheet", sheet_id) for sheet_id in sheets)
    with deed(archive, "scans match", f"matched {scan_name} to {named}", on_wait=on_wait) as writing:
        scan = writing.session.get(Scan, scan_id)
        if scan is None:
            raise NotFoundError(f"There is no scan {scan_name}.")
        known = [format_reference("sheet", part.sheet_id) for part in scan.parts]
        require(
            not (is_stray and known),
            f"{scan_name} was matched to {' and '.join(known)} meanwhile. Nothing was changed.",
        )
        for sheet_id, region in sheets.items():
            sheet_name = format_reference("sheet", sheet_id)
            if writing.session.get(Sheet, sheet_id) is None:
                raise NotFoundError(f"There is no sheet {sheet_name}.")
            require(
                sheet_name not in known,
                f"{scan_name} is of {sheet_name} already. To take it off: tiebeam scans unmatch {scan_name}",
            )
            match_scan(writing, scan, sheet_id, matched_by="hand", text=None, region=region)


def unmatch_scan(archive: Archive, scan_id: int, sheet_id: int | None = None, *, on_wait: OnWait | None = None) -> int:
    """
    Take a scan off a sheet (off all of them without ``sheet_id``) and return off how many.

    From then on names no longer decide what it is of: only a person matches it again.

    Raises:
        RefusedError: it is not matched there.
    """
    scan_name = format_reference("scan", scan_id)
    with deed(archive, "scans unmatch", f"took {scan_name} off its sheets", on_wait=on_wait) as writing:
        scan = writing.session.get_one(Scan, scan_id)
        taken = [part for part in scan.parts if sheet_id is None or part.sheet_id == sheet_id]
        where = "any sheet" if sheet_id is None else format_reference("sheet", sheet_id)
        require(taken, f"{scan_name} is not matched to {where}. Nothing was changed.")
        for part in taken:
            scan.parts.remove(part)
        writing.session.flush()
        work_out_ppi(writing, scan)
        return len(taken)


def match_again(archive: Archive, *, dry_run: bool = False, on_wait: OnWait | None = None) -> MatchedAgain:
    """
    Try the names of the scans that wait once more, against the numbers there are now.

    What a person took off a sheet is left to wait. Nothing to match leaves no daybook entry.

    Raises:
        SettingsError: the pattern for numbers in names is none.
    """
    with archive.reading() as connection:
        waiting, index = waiting_scans(connection), NumberIndex.of(sheet_numbers(connection))
    found = found_again(archive, waiting, index)
    if found and not dry_run:
        with deed(archive, "scans match", f"matched {len(found)} scans by their names", on_wait=on_wait) as writing:
            for scan_id, sheet_id, text in found:
                scan = writing.session.get_one(Scan, scan_id)
                match_scan(writing, scan, sheet_id, matched_by="name", text=text)
    return MatchedAgain(tuple(found), len(waiting) - len(found))


def found_again(archive: Archive, waiting: list[WaitingScan], index: NumberIndex) -> list[tuple[int, int, str]]:
    """Return (scan, sheet, number) for the waiting scans whose names now mean one sheet."""
    pattern = check_pattern(archive.settings.scans_number_pattern)
    found = []
    for scan in waiting:
        match = None if scan.taken_apart else match_name(scan.name, index, pattern)
        if match is not None and match.sheet is not None:
            found.append((scan.id, match.sheet, match.text or ""))
    return found
