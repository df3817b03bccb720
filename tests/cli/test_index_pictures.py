"""``tiebeam index-pictures`` and ``tiebeam contact-sheets`` as the person types them."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import tifffile

from catalog.store.archive import Archive
from tests.builders import a_mill, a_sheet, a_village, done, run
from tests.scan_archives import an_archive, tiebeam


@pytest.fixture
def archive(tmp_path: Path) -> Archive:
    """Return an archive of two scanned frames of Osk Mill, one not scanned, and a stray scan."""
    archive = an_archive(tmp_path / "wenn")
    mill = a_mill(archive, "Osk Mill", a_village(archive))
    for number in ("78-14", "78-15", "78-16"):
        a_sheet(archive, number, "1978", mill)
    for count, name in enumerate(("78-14", "78-15", "stray")):
        path = archive.folder / "scans" / f"{name}.tif"
        path.parent.mkdir(exist_ok=True)
        tifffile.imwrite(path, np.tile(np.linspace(4000, 50000 - count, 50).astype(np.uint16), (40, 1)))
    assert tiebeam(archive, "scans", "add", archive.folder / "scans") == 0
    return archive


def test_make_list_and_tidy_say_how_many(archive):
    assert done(archive, "index-pictures", "make", "--dry-run") == "3 index pictures would be made.\n"
    assert done(archive, "index-pictures", "make", "--number", "78-14") == "1 index picture made.\n"
    assert done(archive, "index-pictures", "make") == "2 index pictures made, 1 there already.\n"
    assert done(archive, "index-pictures", "make", "--again", "Osk") == "2 index pictures made.\n"
    assert "3 of 3 scans have an index picture." in done(archive, "index-pictures", "list")
    assert "No frame that was scanned answers" in done(archive, "index-pictures", "make", "--number", "78-16")
    assert done(archive, "index-pictures", "tidy") == "0 index pictures removed, 0.0 MB; 3 kept.\n"


def test_a_damaged_scan_is_named_and_the_status_says_so(archive):
    (archive.folder / "scans" / "78-15.tif").unlink()

    outcome = run(archive, "index-pictures", "make")

    assert outcome.status == 1
    assert outcome.out == "2 index pictures made, 1 missing.\n"
    assert outcome.err == "C2 scans/78-15.tif: is not there; see: tiebeam scans verify\n"


def test_json_and_csv_tell_the_same(archive):
    made = json.loads(done(archive, "index-pictures", "make", "--json"))
    listed = json.loads(done(archive, "index-pictures", "list", "--json"))
    tidied = json.loads(done(archive, "index-pictures", "tidy", "--json"))

    assert [item["outcome"] for item in made["items"]] == ["made"] * 3
    assert {item["path"] for item in made["items"]} == {item["path"] for item in listed["items"]}
    assert (made["count"], made["away"], listed["count"], listed["made"]) == (3, 0, 3, 3)
    assert tidied["items"] == [{"removed": 0, "half_written": 0, "bytes": 0, "kept": 3}]
    assert done(archive, "index-pictures", "list", "--csv").splitlines()[0] == "reference,sheet,file,path,bytes"


def test_a_contact_sheet_is_made_with_the_pictures_it_needs(archive, tmp_path):
    said = done(archive, "contact-sheets", "make", "Osk", "-o", str(tmp_path / "osk.pdf"))

    assert said == f"3 frames on 2 pages: {tmp_path / 'osk.pdf'}\nWithout a picture, not scanned: 78-16.\n"
    assert (tmp_path / "osk.pdf").read_bytes().startswith(b"%PDF-")


def test_pages_as_pictures_and_json(archive, tmp_path):
    said = json.loads(done(archive, "contact-sheets", "make", "-o", str(tmp_path / "osk.png"), "--json"))

    assert said["files"] == [str(tmp_path / "osk-1.png"), str(tmp_path / "osk-2.png")]
    assert (said["frames"], said["pages"], said["count"]) == (3, 2, 1)
    assert said["items"] == [{"reference": "S3", "number": "78-16", "why": "not scanned", "is_finding": False}]


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        (("Tarn",), 3, "No frame answers"),
        (("--picture-width", "2"), 3, "from 15 to 400 mm"),
        (("--picture-width", "wide"), 2, "is not a valid float"),
        (("--paper", "a3"), 2, "'a4', 'letter'"),
        (("--building", "Ferry"), 3, "Ferry"),
    ],
)
def test_what_cannot_be_is_refused_in_a_line_or_two(archive, tmp_path, words, status, said):
    outcome = run(archive, "contact-sheets", "make", *words, "-o", str(tmp_path / "osk.pdf"))

    assert outcome.status == status
    assert said in outcome.err
    assert len(outcome.err.splitlines()) <= 2
    assert not (tmp_path / "osk.pdf").exists()


def test_a_finding_on_the_sheet_is_named(archive, tmp_path):
    (archive.folder / "scans" / "78-15.tif").unlink()

    outcome = run(archive, "contact-sheets", "make", "-o", str(tmp_path / "osk.pdf"))

    assert outcome.status == 1
    assert outcome.err == "S2 78-15: the file of its scan is missing\n"
