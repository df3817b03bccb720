"""Say which sheet a scan is of, by hand or by its name once more."""

from __future__ import annotations

from dataclasses import dataclass

from catalog.actions._scan_records import match_scan, work_out_ppi
from catalog.errors import NotFoundError
from catalog.model import Scan
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
        NotFoundError: there is no such scan.
    """
    scan_name, sheet_name = format_reference("scan", scan_id), format_reference("sheet", sheet_id)
    with deed(archive, "scans match", f"matched {scan_name} to {sheet_name}", on_wait=on_wait) as writing:
        scan = writing.session.get(Scan, scan_id)
        if scan is None:
            raise NotFoundError(f"There is no scan {scan_name}.")
        require(
            all(part.sheet_id != sheet_id for part in scan.parts),
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
