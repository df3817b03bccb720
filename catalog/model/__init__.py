"""The nouns of the archive as mapped classes."""

from catalog.model.base import Base, RecordedDate, YesNo
from catalog.model.buildings import COMPASS, Building, BuildingName, BuildingSite, ChronicleEntry, Elevation
from catalog.model.cards import CardFile, CardRow
from catalog.model.deeds import Deed, DeedChange, DeedFile
from catalog.model.documents import Document, DocumentLine
from catalog.model.editions import (
    Edition,
    EditionAmendment,
    EditionSheet,
    EditionState,
    FormerLimit,
    PriceStep,
    ProofAllowance,
    Run,
    Size,
)
from catalog.model.files import Drive, File
from catalog.model.kit import Camera, FilmStock, Kit, Lens
from catalog.model.ledger import LedgerEntry
from catalog.model.notes import Note, OpenQuestion, Wording
from catalog.model.persons import Person
from catalog.model.places import Place, PlaceName, PlaceParent
from catalog.model.prints import Print, PrintNumber, PrintStanding
from catalog.model.scans import Scan, ScanPart, Sidecar
from catalog.model.sheets import Roll, Sheet, SheetNumber, SheetView
from catalog.model.sources import Source
from catalog.model.versions import EditVersion, ScanReading, VersionSource
from catalog.model.views import View, ViewSubject
from catalog.model.visits import Standpoint, Visit

__all__ = [
    "COMPASS", "Base", "Building", "BuildingName", "BuildingSite", "Camera", "CardFile", "CardRow", "ChronicleEntry",
    "Deed", "DeedChange", "DeedFile", "Document", "DocumentLine", "Drive", "EditVersion", "Edition",
    "EditionAmendment", "EditionSheet", "EditionState", "Elevation", "File", "FilmStock", "FormerLimit", "Kit",
    "LedgerEntry", "Lens", "Note", "OpenQuestion", "Person", "Place", "PlaceName", "PlaceParent", "PriceStep", "Print",
    "PrintNumber", "PrintStanding", "ProofAllowance", "RecordedDate", "Roll", "Run", "Scan", "ScanPart",
    "ScanReading", "Sheet", "SheetNumber", "SheetView", "Sidecar", "Size", "Source", "Standpoint", "VersionSource",
    "View", "ViewSubject", "Visit", "Wording", "YesNo",
]  # fmt: skip
