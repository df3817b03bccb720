"""Archives for tests: built once by the migrations, copied for each test; one has a row in every table."""

from __future__ import annotations

import atexit
import shutil
import sqlite3
import tempfile
from collections.abc import Callable
from functools import cache, lru_cache
from hashlib import sha256
from pathlib import Path

from catalog.dates import parse_edtf
from catalog.model import (
    Building,
    BuildingName,
    BuildingSite,
    Camera,
    CardFile,
    CardRow,
    ChronicleEntry,
    Document,
    DocumentLine,
    Drive,
    Edition,
    EditionAmendment,
    EditionSheet,
    EditionState,
    EditVersion,
    Elevation,
    File,
    FilmStock,
    FormerLimit,
    Kit,
    LedgerEntry,
    Lens,
    Note,
    OpenQuestion,
    Person,
    Place,
    PlaceName,
    PlaceParent,
    PriceStep,
    Print,
    PrintNumber,
    PrintStanding,
    ProofAllowance,
    RecordedDate,
    Roll,
    Run,
    Scan,
    ScanPart,
    ScanReading,
    Sheet,
    SheetNumber,
    SheetView,
    Sidecar,
    Size,
    Source,
    Standpoint,
    VersionSource,
    View,
    ViewSubject,
    Visit,
    Wording,
)
from catalog.store.archive import Archive, open_archive
from catalog.store.new import make_archive
from catalog.store.writing import begin_file_deed, deed

NOT_KEPT_BY_UNDO = {
    "deed",
    "deed_change",
    "deed_file",
    "search_entry",
    "alembic_version",
    "scan_reading",
    "print_standing",
}


def a_passing_folder() -> Path:
    """Return a new folder that is taken away when this process ends."""
    folder = Path(tempfile.mkdtemp(prefix="archive-for-tests-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@lru_cache(maxsize=1)
def _template() -> Path:
    folder = a_passing_folder() / "wenn"
    make_archive(folder, name="The Wenn valley", photographer="Ida Thornwick")
    return folder


def an_archive(folder: Path) -> Archive:
    """Make ``folder`` a new archive."""
    shutil.copytree(_template(), folder)
    return open_archive(folder)


@cache
def _filled(fill: Callable[[Archive], object]) -> Path:
    archive = an_archive(a_passing_folder() / "wenn")
    fill(archive)
    return archive.folder


def filled(archive: Archive, fill: Callable[[Archive], object]) -> Archive:
    """Fill a new archive as ``fill`` does, which is done once in a process, and copied."""
    shutil.copytree(_filled(fill), archive.folder, dirs_exist_ok=True)
    return archive


def settle_on(archive: Archive, **keys: object) -> Archive:
    """Return the archive with keys of its ``[catalogue]`` settings set."""
    path = archive.folder / "tiebeam.toml"
    text = path.read_text("utf-8")
    for key, value in keys.items():
        lines = [f"{key} = {value}" if line.startswith(f"{key} =") else line for line in text.splitlines()]
        text = "\n".join(lines) + "\n"
    path.write_text(text, "utf-8")
    return open_archive(archive.folder)


def raw(archive: Archive) -> sqlite3.Connection:
    """Return a connection that may do anything, as another program would open the catalogue."""
    connection = sqlite3.connect(archive.catalogue, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = OFF")
    return connection


def tables(archive: Archive, leave_out: set[str] = NOT_KEPT_BY_UNDO) -> dict[str, list[tuple[object, ...]]]:
    """Return every row of every table, but for those an undo does not bring back as they were."""
    with archive.reading() as connection:
        names = [
            row[0]
            for row in connection.execute(
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'"
                " AND name NOT LIKE 'search_words%'"
            )
            if row[0] not in leave_out
        ]
        return {name: connection.execute(f'SELECT * FROM "{name}" ORDER BY 1').fetchall() for name in names}


def a_date(edtf: str, words: str | None = None) -> RecordedDate:
    """Return a date as records keep it."""
    return RecordedDate.of(parse_edtf(edtf), words)


def fill_small(archive: Archive, *, with_edition: bool = True) -> None:
    """
    Give an archive at least one row in every table, from the world of the sample archive.

    Without its edition it holds nothing that an undo leaves where it is.
    """
    now = "2026-11-25T09:30:00Z"
    with deed(archive, "cards read", "read a small card index") as writing:
        add = writing.session.add
        osk, brome = Place(name="Osk", kind="village"), Place(name="Nether Brome")
        osk.names.append(PlaceName(name="Oske", until=a_date("1890~", "until about 1890")))
        person, source = (
            Person(name="Ida Thornwick", role="photographer"),
            Source(title="Tithe map", published=a_date("1842")),
        )
        for record in (osk, brome, person, source):
            add(record)
        writing.session.flush()
        add(PlaceParent(place_id=osk.id, parent_id=brome.id))
        mill = Building(name="Osk Mill", kind="mill")
        mill.names.append(BuildingName(name="Lower Mill", source_id=source.id))
        mill.sites.append(BuildingSite(place_id=osk.id, latitude_deg=52.1, longitude_deg=-2.9))
        mill.elevations.append(Elevation(compass="E"))
        mill.chronicle.append(ChronicleEntry(kind="raised", date=a_date("1790~"), text="built", source_id=source.id))
        add(mill)
        kit = [
            Kit(kind=kind, name=name)
            for kind, name in (("lens", "90 mm"), ("camera", "field camera"), ("film_stock", "panchromatic"))
        ]
        writing.session.add_all(kit)
        writing.session.flush()
        writing.session.add_all([Lens(id=kit[0].id, focal_length_mm=90), Camera(id=kit[1].id), FilmStock(id=kit[2].id)])
        visit, spot = Visit(date=a_date("1978-08")), Standpoint(words="by the sluice")
        drive = Drive(name="Blue", marker="m" * 32, last_path="/media/blue", depth=1, last_seen_at=now)
        for record in (visit, spot, drive):
            add(record)
        writing.session.flush()
        view = View(title="Osk Mill from the sluice", standpoint_id=spot.id, visit_id=visit.id)
        view.subjects.append(ViewSubject(building_id=mill.id, elevation="E", certainty="probable", is_principal=True))
        sheet = Sheet(roll_id=None, lens_id=1, exposed=a_date("1978~", "c. 1978"), box="4")
        sheet.numbers.append(SheetNumber(text="78-14", folded="78-14", scheme="yearly", written_on="sleeve"))
        roll = Roll(name="roll 3", film_id=3)
        for record in (view, sheet, roll):
            add(record)
        writing.session.flush()
        sheet.roll_id = roll.id
        sheet.views.append(SheetView(view_id=view.id))
        file = File(drive_id=drive.id, path="78-14.tif", path_key="78-14.tif", size_bytes=8, modified_ns=1,
                    sha256="a" * 64, first_seen_at=now, last_checked_at=now)  # fmt: skip
        add(file)
        writing.session.flush()
        scan = Scan(file_id=file.id, kind="TIFF", scanned=a_date("2010-01-05"), is_reversed=False)
        scan.parts.append(ScanPart(sheet_id=sheet.id, matched_by="name", matched_text="78-14"))
        add(scan)
        writing.session.flush()
        add(Sidecar(scan_id=scan.id, name="78-14.xmp", sha256="b" * 64, written_at=now, content=b"<x/>"))
        versions = [EditVersion(steps="[]", purpose="exhibition", made=a_date("2010-01-06")), EditVersion(note="lost")]
        versions[0].sources.append(VersionSource(position=1, scan_id=scan.id))
        writing.session.add_all(versions)
        add(ScanReading(scan_id=scan.id, sha256="a" * 64, measured_at=now, program="1", readings="{}"))
        writing.session.flush()
        versions[1].sources.append(VersionSource(position=1, source_version_id=versions[0].id))
        versions[1].replaces_id = versions[0].id
        card_file = CardFile(name="cards.csv", sha256="c" * 64, mapping="", read_at=now)
        add(card_file)
        writing.session.flush()
        row = CardRow(card_file_id=card_file.id, row=4, row_key="78-14", digest="d", cells="{}", sheet_id=sheet.id)
        add(row)
        writing.session.flush()
        add(
            Note(
                about="sheet",
                about_id=sheet.id,
                text="left of the door [sic]",
                card_row_id=row.id,
                noted_at=now,
            )
        )
        add(
            Wording(
                about="sheet",
                about_id=sheet.id,
                field="lens",
                as_written="Lens 90?",
                certainty="possible",
                noted_at=now,
            )
        )
        add(OpenQuestion(about="building", about_id=mill.id, text="Who built it?", ask_id=person.id, asked_at=now))
    with deed(archive, "sheets correct", "corrected the box of S1") as writing:
        writing.session.get_one(Sheet, 1).box = "5"
    files = begin_file_deed(archive, "sidecars write", "writing", left_to_do="Run: tiebeam sidecars write")
    ids = files.intend([("/media/blue/78-14.xmp", None, None, "b" * 64)])
    files.settle_files([(ids[0], "done", None)])
    files.finish("wrote 1 sidecar")
    if with_edition:
        fill_small_edition(archive)


def fill_small_edition(archive: Archive) -> None:
    """Give the small archive an edition with one print, promised, pulled and listed on a document."""
    now = "2026-11-25T09:30:00Z"
    with deed(archive, "editions open", "opened an edition of 15") as writing:
        session = writing.session
        edition = Edition(view_id=1, title="Osk Mill", statement="Fifteen prints.", sizes_count="across sizes",
                          stated=a_date("2011"))  # fmt: skip
        session.add(edition)
        session.flush()
        session.add_all(
            [
                EditionSheet(edition_id=edition.id, sheet_id=1),
                EditionState(edition_id=edition.id, state="open", since=a_date("2011"), noted_at=now),
            ]
        )
        amendment = EditionAmendment(edition_id=edition.id, made=a_date("2012"), words="Two proofs more.",
                                     changed="proofs", noted_at=now)  # fmt: skip
        run = Run(edition_id=edition.id, limit_count=15)
        session.add_all([amendment, run])
        session.flush()
        size = Size(run_id=run.id, name="small", image="30 x 40 cm")
        session.add_all([size, ProofAllowance(run_id=run.id, kind="AP", allowed=2, amendment_id=amendment.id)])
        session.add(FormerLimit(amendment_id=amendment.id, run_id=run.id, series="AP", limit_count=1))
        session.flush()
        session.add(PriceStep(run_id=run.id, from_sold=0, price_minor=60000, currency="EUR"))
    with deed(archive, "prints pull", "pulled 1/15") as writing:
        session = writing.session
        number = PrintNumber(run_id=1, series="numbered", ordinal=1, written="1/15", given_at=now)
        session.add(number)
        session.flush()
        session.add(LedgerEntry(print_number_id=number.id, kind="promised", person_id=1, written_at=now))
        made = Print(print_number_id=number.id, sheet_id=1, size_id=1, pulled=a_date("2012-03"), markings="[sic] 1/15")
        session.add(made)
        session.flush()
        entry = LedgerEntry(print_id=made.id, kind="pulled", date=a_date("2012-03"), written_at=now)
        page = b"%PDF-1.4 a small page"
        (archive.folder / "documents" / "A1-certificate.pdf").write_bytes(page)
        document = Document(kind="certificate", person_id=1, file_name="A1-certificate.pdf",
                            sha256=sha256(page).hexdigest(), facts="{}", issued_at=now)  # fmt: skip
        session.add_all([entry, document])
        session.flush()
        session.add(DocumentLine(document_id=document.id, print_id=made.id))
        session.add(
            PrintStanding(
                print_id=made.id,
                state="in hand",
                entry_id=entry.id,
                since="2012-03",
                is_out=False,
                is_signed=False,
                hold="promised",
                held_for_id=1,
            )
        )
