"""Real pictures of other makers through comparing, reading in and writing: values or words, never a traceback."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from catalog.actions.scan_matches import match_scan_to_sheet
from catalog.actions.scans import add_scans
from catalog.store.archive import Archive
from tests.builders import a_sheet, rows, run
from tests.reference_samples import PICTURES, sample
from tests.scan_archives import as_it_is
from tests.store.archives import an_archive


@pytest.fixture(scope="module")
def registered(tmp_path_factory: pytest.TempPathFactory) -> Archive:
    """An archive with every picture of the samples, each matched to a sheet of its own."""
    archive = an_archive(tmp_path_factory.mktemp("samples") / "archive")
    folder = archive.folder / "scans"
    folder.mkdir()
    for file_name in PICTURES:
        shutil.copy(sample(file_name), folder / file_name)
    add_scans(archive, [folder])
    for scan in rows(archive, "SELECT id FROM scan ORDER BY id"):
        match_scan_to_sheet(archive, scan, a_sheet(archive, f"90-{scan}"))
    return archive


def compared(archive: Archive) -> dict[str, dict[str, dict[str, object]]]:
    items = json.loads(run(archive, "sidecars", "compare", "--json").out)["items"]
    return {Path(one["path"]).name: {field["property"]: field for field in one["fields"]} for one in items}


def test_every_sample_ends_in_values_or_words_and_no_picture_is_touched(registered):
    before = as_it_is(registered.folder / "scans")

    outcomes = [run(registered, "sidecars", *words) for words in (("compare",), ("compare", "--all"), ("read",))]

    assert [one.status for one in outcomes] == [1, 1, 0]
    assert set(compared(registered)) == set(PICTURES)
    assert as_it_is(registered.folder / "scans") == before


# ../shared/reference/samples/MANIFEST.csv and the readings of independent readers beside it.
@pytest.mark.parametrize(
    ("file_name", "prop", "words"),
    [
        ("IPTC-PhotometadataRef-Std2023.2.jpg", "dc:title", "The Title (ref2023.2)"),
        ("IPTC-PhotometadataRef-Std2023.2.jpg", "dc:description", "The description aka caption (ref2023.2)"),
        ("made_16bit_grey_iim_xmp_exif.tif", "dc:title", "Façade, Nordseite"),
        ("latin1_iim.tif", "dc:creator", "Bjørn Erik Pedersen"),
    ],
)
def test_what_is_embedded_is_shown_as_independent_readers_have_it(registered, file_name, prop, words):
    field = compared(registered)[file_name][prop]

    assert {one["words"] for one in field["embedded"]} == {words}


def test_blocks_that_disagree_are_both_proposed_and_neither_taken(registered):
    items = json.loads(run(registered, "sidecars", "read", "--json").out)["items"]
    found = [
        one for item in items for one in item["proposals"] if "iim_latin1_no190.jpg, IIM, dc:desc" in one["where"][0]
    ]

    assert [one["can_be_taken"] for one in found] == [False]
    assert "Well it is a smiley" in found[0]["reason"]


# The day is that of XMP, IIM (19310700) and Exif ("1931:07:  ") alike; the day of the month is not known.
def test_a_date_of_zeros_and_blanks_is_proposed_as_far_as_it_is_known(registered):
    items = json.loads(run(registered, "sidecars", "read", "--json").out)["items"]
    dates = {one["where"][0].partition(",")[0]: one["value"] for item in items for one in item["proposals"]
             if one["field"] == "exposed"}  # fmt: skip

    assert dates["made_16bit_grey_iim_xmp_exif.tif"] == "1931-07"
