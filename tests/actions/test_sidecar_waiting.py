"""Looking through all sidecars for those that say something else than the catalogue."""

from __future__ import annotations

from pathlib import Path

import pytest

from catalog.actions.persons import add_person
from catalog.actions.scans import add_scans
from catalog.actions.sidecar_waiting import sidecars_waiting
from catalog.standards.xmp import format_packet, lang_alt, name, parse_packet
from catalog.store.archive import Archive
from tests.builders import a_mill, a_sheet, a_village
from tests.scan_archives import a_scan
from tests.sidecar_archives import write_all


@pytest.fixture
def mill(archive: Archive) -> Path:
    """The sidecar, written, of a scan of Osk Mill."""
    folder = archive.folder / "scans"
    folder.mkdir()
    a_sheet(archive, "78-14", shows=a_mill(archive, place_id=a_village(archive)))
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    write_all(archive)
    return folder / "78-14.xmp"


def others_say(path: Path, title: str) -> None:
    packet = parse_packet(path.read_bytes())
    path.write_bytes(format_packet(packet.with_properties({**dict(packet), name("dc:title"): lang_alt(title, "en")})))


def test_a_sidecar_that_says_what_we_wrote_does_not_wait(archive, mill):
    assert sidecars_waiting(archive) == ()


def test_a_sidecar_changed_elsewhere_is_named_with_its_field_and_opens_the_sheet(archive, mill):
    others_say(mill, "The mill at dusk")

    (row,) = sidecars_waiting(archive) or ()

    assert (row.reference, row.label, row.words) == ("S1", "C1", "78-14.tif")
    assert row.remark == "Title changed in the sidecar since we wrote"


def test_a_sidecar_that_cannot_be_read_is_named_with_the_reason(archive, mill):
    mill.write_bytes(b"<x:xmpmeta")

    (row,) = sidecars_waiting(archive) or ()

    assert row.reference == "S1"
    assert "78-14.xmp" in row.remark


def test_what_names_a_person_is_hidden_unless_it_is_asked_for(archive):
    add_person(archive, name="Corin Tasker", role="buyer")
    folder = archive.folder / "for Corin Tasker"
    folder.mkdir()
    a_sheet(archive, "78-14")
    a_scan(folder / "78-14.tif")
    add_scans(archive, [folder])
    (folder / "78-14.xmp").write_bytes(b"no packet of Corin Tasker")
    (folder / "78-14.tif.xmp").write_bytes(b"no packet of Corin Tasker")

    shut, opened = sidecars_waiting(archive), sidecars_waiting(archive, is_private=True)

    assert shut
    assert not any("Tasker" in f"{row.words} {row.remark}" for row in shut)
    assert opened
    assert len(opened) == len(shut)


def test_looking_stops_when_it_is_told_to(archive, mill):
    assert sidecars_waiting(archive, go_on=lambda done, total: False) is None


def test_a_scan_that_is_missing_waits_as_that_and_not_here(archive, mill):
    mill.with_suffix(".tif").unlink()

    assert sidecars_waiting(archive) == ()
