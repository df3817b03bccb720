"""Comparing, reading in and settling: what others did to sidecars, and what of it the catalogue takes."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from catalog.actions.deeds import undo_deed
from catalog.actions.persons import add_person
from catalog.actions.places import add_place_name
from catalog.actions.scan_matches import match_scan_to_sheet
from catalog.actions.scans import add_scans
from catalog.actions.sheets import correct_sheet
from catalog.actions.sidecar_looking import ScanSeen, look_at_sidecars
from catalog.actions.sidecar_settling import fields_named, settle
from catalog.actions.sidecar_taking import Taken, propose_from, take_proposals
from catalog.actions.views import correct_view
from catalog.errors import RefusedError
from catalog.outputs.sidecar_compare import Compared, Standing
from catalog.standards.xmp import (
    Array,
    Name,
    Packet,
    Struct,
    Text,
    Uri,
    Value,
    bag,
    format_packet,
    lang_alt,
    name,
    parse_packet,
    seq,
    texts,
)  # fmt: skip
from catalog.store.archive import Archive
from tests.builders import a_lens, a_mill, a_sheet, a_village, dated, rows, run
from tests.fast_cases import some_fast
from tests.picture_files import ASCII, RATIONAL, SHORT, UNDEFINED
from tests.scan_archives import a_scan
from tests.sidecar_archives import every_sheet, write_all
from tests.store.archives import an_archive, filled, raw, tables

UNKNOWN = Name("http://example.org/ns/darkroom#", "Drawer")


@pytest.fixture
def folder(archive: Archive) -> Path:
    (archive.folder / "scans").mkdir()
    return archive.folder / "scans"


def a_scanned_sheet(archive: Archive, folder: Path, number: str = "78-14", *, shows: int | None = None,
                    entries: tuple[object, ...] = (), **facts: object) -> Path:  # fmt: skip
    """Add a sheet with a scan; returned is where its sidecar goes."""
    a_sheet(archive, number, shows=shows, **facts)
    a_scan(folder / f"{number}.tif", len(number) + int(number[-1]), entries=entries)  # type: ignore[arg-type]
    add_scans(archive, [folder])
    return folder / f"{number}.xmp"


@pytest.fixture
def mill(archive: Archive, folder: Path) -> Path:
    """The sidecar, written, of a scan of Osk Mill."""
    filled(archive, _scan_the_mill)
    return folder / "78-14.xmp"


def _scan_the_mill(archive: Archive) -> None:
    (archive.folder / "scans").mkdir()
    a_scanned_sheet(archive, archive.folder / "scans", shows=a_mill(archive, place_id=a_village(archive)))
    write_all(archive)


def others_change(path: Path, *properties: tuple[str, Value | None]) -> None:
    """Change properties of a sidecar as another program would; ``None`` takes one away."""
    packet = parse_packet(path.read_bytes()) if path.exists() else Packet()
    after = dict(packet)
    for spelled, value in properties:
        after.pop(name(spelled), None)
        if value is not None:
            after[name(spelled)] = value
    path.write_bytes(format_packet(packet.with_properties(after)))


def said(path: Path, spelled: str) -> tuple[str, ...]:
    return texts(parse_packet(path.read_bytes()).get(name(spelled)))


def seen(archive: Archive) -> tuple[ScanSeen, ...]:
    return look_at_sidecars(archive, every_sheet(archive)).scans


def findings(archive: Archive) -> dict[str, Compared]:
    return {one.xmp_id: one for scan in seen(archive) for one in scan.fields if one.is_finding}


def taken(archive: Archive, *fields: str, repaired: bool = False) -> tuple[Taken, ...]:
    found = propose_from(archive, seen(archive))
    return take_proposals(archive, found, fields or None, repaired=repaired)


def proposed(archive: Archive) -> dict[str, list[str]]:
    result: dict[str, list[str]] = {}
    for one in propose_from(archive, seen(archive)):
        for proposal in one.proposals:
            result.setdefault(proposal.field, []).append(proposal.words)
    return result


# ---- three-way at the writing


def test_what_they_changed_stays_and_what_we_changed_is_written(archive, mill):
    others_change(mill, ("dc:title", lang_alt("The mill at dusk", "en")), ("xmp:Rating", Text("3")))
    correct_sheet(archive, 1, aperture_f=22.0)

    (done,) = write_all(archive)

    assert said(mill, "dc:title")[0] == "The mill at dusk"
    assert said(mill, "exif:FNumber") == ("22/1",)
    assert said(mill, "xmp:Rating") == ("3",)
    assert (done.outcome, done.held, done.theirs) == ("written", (), ("dc:title",))


def test_a_field_that_both_sides_changed_is_held_each_time_until_it_is_settled(archive, mill):
    others_change(mill, ("dc:title", lang_alt("The mill at dusk", "en")))
    correct_view(archive, 1, title="Osk Mill from the weir")

    first, again = write_all(archive), write_all(archive)

    assert [one.held for one in (*first, *again)] == [("dc:title",), ("dc:title",)]
    assert said(mill, "dc:title")[0] == "The mill at dusk"
    assert run(archive, "sidecars", "write").status == 1


def test_both_sides_may_come_to_say_the_same_and_then_change_again(archive, mill):
    others_change(mill, ("dc:title", lang_alt("The weir", "en")))
    correct_view(archive, 1, title="The weir")
    write_all(archive)
    correct_view(archive, 1, title="The old weir")

    (done,) = write_all(archive)

    assert done.held == ()
    assert said(mill, "dc:title")[0] == "The old weir"


def test_a_sidecar_that_says_it_all_is_not_written_again(archive, mill):
    others_change(mill, ("dc:title", lang_alt("The mill at dusk", "en")))
    write_all(archive)
    before = mill.read_bytes()

    (done,) = write_all(archive)

    assert (done.outcome, done.theirs) == ("here", ("dc:title",))
    assert mill.read_bytes() == before


def test_a_sidecar_that_a_killed_run_wrote_is_ours_and_is_not_held(archive, mill):
    remembered = rows(archive, "SELECT name, sha256, written_at, content FROM sidecar")[0]
    correct_sheet(archive, 1, exposed=dated("1978"))
    write_all(archive)
    connection = raw(archive)  # as a kill between the file and the catalogue leaves it
    connection.execute("UPDATE sidecar SET name = ?, sha256 = ?, written_at = ?, content = ?", remembered)
    connection.execute("UPDATE deed SET state = 'interrupted' WHERE id = (SELECT max(id) FROM deed)")
    connection.close()
    correct_sheet(archive, 1, exposed=dated("1979"))

    (done,) = write_all(archive)

    assert (done.outcome, done.held, done.theirs) == ("written", (), ())
    assert said(mill, "photoshop:DateCreated") == ("1979",)


def test_the_base_survives_the_undoing_of_a_writing(archive, mill):
    others_change(mill, ("dc:title", lang_alt("The mill at dusk", "en")))
    correct_sheet(archive, 1, aperture_f=22.0)
    write_all(archive)

    undo_deed(archive)
    (done,) = write_all(archive)

    assert (done.held, done.theirs) == ((), ("dc:title",))
    assert said(mill, "exif:FNumber") == ("22/1",)


# ---- comparing


def test_a_sidecar_as_written_has_no_finding(archive, mill):
    assert findings(archive) == {}
    assert run(archive, "sidecars", "compare").status == 0


def test_each_side_of_a_difference_is_shown_with_how_it_stands(archive, mill):
    others_change(mill, ("dc:title", lang_alt("The mill at dusk", "en")), ("dc:description", lang_alt("Dusk.", "en")))
    correct_view(archive, 1, title="Osk Mill from the weir")

    found = findings(archive)

    assert found["dc:title"].standing is Standing.CONFLICT
    assert (found["dc:title"].catalogue, found["dc:title"].sidecar) == ("Osk Mill from the weir", "The mill at dusk")
    assert found["dc:description"].standing is Standing.THEIRS
    outcome = run(archive, "sidecars", "compare")
    assert outcome.status == 1
    assert "Title (dc:title): changed on both sides" in outcome.out


# Measured: exiv2 0.28.9 writes the fields of every structure sorted, whatever it changed.
def test_a_program_that_sorts_the_fields_of_structures_changed_nothing(archive, mill):
    import exiv2

    before = dict(parse_packet(mill.read_bytes()))
    image = exiv2.ImageFactory.open(str(mill))
    image.readMetadata()
    image.xmpData()["Xmp.xmp.Rating"] = "3"
    image.writeMetadata()

    after = dict(parse_packet(mill.read_bytes()))
    assert b"Rating" in mill.read_bytes()
    assert list(after[name("Iptc4xmpExt:LocationShown")].items[0].fields) != list(
        before[name("Iptc4xmpExt:LocationShown")].items[0].fields
    )
    assert findings(archive) == {}
    assert proposed(archive) == {}
    assert [(one.outcome, one.held, one.theirs) for one in write_all(archive)] == [("here", (), ())]


def test_words_of_the_scan_that_were_read_in_are_no_finding_beside_what_else_is_told(archive, folder):
    a_scanned_sheet(archive, folder, entries=((270, ASCII, b"From the weir.\0"),),
                    shows=a_mill(archive, place_id=a_village(archive)))  # fmt: skip
    taken(archive, "description")
    write_all(archive)

    assert findings(archive) == {}


@pytest.mark.parametrize(("to_the_cm", "finding"), [(945, None), (300, Standing.SCAN_DIFFERS)])
def test_a_resolution_told_to_the_centimetre_is_the_same_resolution(archive, folder, to_the_cm, finding):
    # TIFF 6.0 tags 282, 283, 296 (3: centimetre), and the same in the scan's XMP; 945 to the cm are 2400.3 to the inch.
    axes = tuple((tag, RATIONAL, [to_the_cm, 1]) for tag in (282, 283))
    in_xmp = {"tiff:XResolution": f"{to_the_cm}/1", "tiff:YResolution": f"{to_the_cm}/1", "tiff:ResolutionUnit": "3"}
    packet = format_packet(Packet(tuple((name(key), Text(text)) for key, text in in_xmp.items())))
    a_scanned_sheet(archive, folder, entries=(*axes, (296, SHORT, [3]), (700, UNDEFINED, packet)))
    if finding is not None:  # as if the scan had been re-saved since it was registered
        connection = raw(archive)
        connection.execute("UPDATE scan SET recorded_ppi = 2400.3")
        connection.close()

    found = findings(archive)

    told = {one: found[one].standing for one in in_xmp if one in found}
    assert told == ({} if finding is None else dict.fromkeys(in_xmp, finding))


def test_a_scan_that_says_something_else_is_shown_with_the_block_it_says_it_in(archive, folder):
    # TIFF 6.0: tag 270 is the description, ASCII.
    a_scanned_sheet(archive, folder, entries=((270, ASCII, b"Brome Hall\0"),),
                    shows=a_mill(archive, place_id=a_village(archive)))  # fmt: skip

    found = findings(archive)["dc:description"]

    assert found.standing is Standing.SCAN_DIFFERS
    assert [words for _, words in found.embedded] == ["Brome Hall"]
    assert "ImageDescription" in found.embedded[0][0]


def test_text_stored_wrongly_is_shown_with_a_repair_and_left(archive, mill):
    others_change(mill, ("dc:title", lang_alt("Ã‰glise", "en")))

    assert findings(archive)["dc:title"].repairs[0] == ("sidecar", "Église")
    assert write_all(archive)[0].theirs == ("dc:title",)
    assert said(mill, "dc:title")[0] == "Ã‰glise"


def test_c06_two_sidecars_for_one_scan_are_shown_and_which_one_speaks(archive, mill, folder):
    (folder / "78-14.tif.xmp").write_bytes(format_packet(Packet(((name("dc:title"), lang_alt("another")),))))

    outcome = run(archive, "sidecars", "compare")

    assert outcome.status == 1
    assert "78-14.tif has 2 sidecars: 78-14.tif.xmp, 78-14.xmp" in outcome.out
    assert "C1 78-14.tif (78-14.tif.xmp)" in outcome.out


def test_a_sidecar_that_cannot_be_read_is_named_and_its_neighbours_are_compared(archive, mill, folder):
    other = a_scanned_sheet(archive, folder, "78-15")
    other.write_bytes(b"no metadata")
    others_change(mill, ("dc:title", lang_alt("Dusk", "en")))

    outcome = run(archive, "sidecars", "compare")

    assert outcome.status == 1
    assert "78-15.xmp" in outcome.err
    assert "Dusk" in outcome.out


def test_a_person_named_by_others_is_shown_only_when_asked_for(archive, mill):
    add_person(archive, name="Wilf Arkle", role="buyer")
    others_change(mill, ("dc:title", lang_alt("For Wilf Arkle", "en")), ("dc:subject", bag(["Wilf Arkle"])))

    hidden = [run(archive, "sidecars", *words) for words in (
        ("compare",), ("compare", "--json"), ("compare", "--all"), ("read",), ("read", "--json"), ("write",),
        ("settle", "--rule", "sidecar", "--dry-run"), ("read", "--take", "all"),
    )]  # fmt: skip

    assert not [one for one in hidden if "arkle" in f"{one.out}{one.err}".lower()]
    assert "Wilf Arkle" in run(archive, "sidecars", "compare", "--private", "--all").out


# ---- reading in


def test_our_own_words_are_never_proposed(archive, mill):
    assert proposed(archive) == {}


def test_reading_shows_and_takes_nothing_unasked(archive, mill):
    others_change(mill, ("dc:title", lang_alt("Dusk", "en")), ("dc:subject", bag(["Hill, East"])))
    before = tables(archive)

    outcome = run(archive, "sidecars", "read")

    assert tables(archive) == before
    assert "Dusk" in outcome.out
    assert "in 78-14.xmp, dc:title" in outcome.out
    assert "2 facts that the catalogue lacks" in outcome.out


def test_a_fact_that_is_taken_keeps_where_it_was_found_and_is_undone_as_one_deed(archive, mill):
    others_change(mill, ("dc:title", lang_alt("Dusk", "en")), ("exif:FNumber", Text("45/2")))
    before = tables(archive)

    taken(archive, "title", "aperture")

    assert rows(archive, "SELECT title FROM view") == ["Dusk"]
    assert rows(archive, "SELECT aperture_f FROM sheet") == [22.5]
    (origin,) = rows(archive, "SELECT text FROM note WHERE heading = 'taken from'")
    assert origin.splitlines() == [
        "title: 'Dusk' in 78-14.xmp, dc:title", "aperture: '45/2' in 78-14.xmp, exif:FNumber",
    ]  # fmt: skip
    undo_deed(archive)
    assert tables(archive) == before


def test_c03_a_keyword_with_a_comma_is_taken_as_one_and_written_again_as_one(archive, mill):
    others_change(mill, ("dc:subject", bag([*said(mill, "dc:subject"), "Hill, East"])))

    taken(archive, "keywords")
    write_all(archive)

    assert rows(archive, "SELECT text FROM note WHERE heading = 'keywords'") == ["Hill, East"]
    assert said(mill, "dc:subject").count("Hill, East") == 1
    assert findings(archive) == {}


def test_a_description_that_is_taken_is_told_again_with_our_own_words(archive, mill):
    theirs = f"{said(mill, 'dc:description')[0]}\nThe wheel pit is dry."
    others_change(mill, ("dc:description", lang_alt(theirs, "en")))

    taken(archive, "description")
    write_all(archive)

    assert rows(archive, "SELECT heading, text FROM note WHERE heading <> 'taken from'") == [
        ("caption", "The wheel pit is dry.")
    ]
    assert set(said(mill, "dc:description")[0].splitlines()) == set(theirs.splitlines())
    assert findings(archive) == {}


# PMD 2025.1 §7.10 and IIM 2:55: parts of a date that are not known are zeros; Exif 2.32 has blanks.
@pytest.mark.parametrize(
    ("found", "edtf"), [("1978-08-03", "1978-08-03"), ("1978-08-00", "1978-08"), ("1978-00-00", "1978"),
                        ("1978", "1978"), ("1978-08-03T10:00:00Z", "1978-08-03")],
)  # fmt: skip
def test_a_date_is_taken_as_far_as_it_is_known(archive, mill, found, edtf):
    others_change(mill, ("photoshop:DateCreated", Text(found)))

    taken(archive, "exposed")

    assert rows(archive, "SELECT exposed_edtf, exposed_words FROM sheet") == [(edtf, None)]


def test_d01_a_date_that_is_the_scans_own_is_never_taken_unasked(archive, folder):
    # TIFF 6.0: tag 306 is the day the file was made.
    path = a_scanned_sheet(archive, folder, entries=((306, ASCII, b"2010:01:05 10:00:00\0"),))
    others_change(path, ("photoshop:DateCreated", Text("2010-01-05")))

    (left,) = taken(archive)

    assert rows(archive, "SELECT exposed_edtf FROM sheet") == [None]
    assert "the scan's own date" in (left.left or "")


def test_a_date_in_doubt_comes_back_from_our_own_namespace_with_its_doubt(archive, folder):
    path = a_scanned_sheet(archive, folder)
    fields = {"Edtf": "1978~", "Words": "about 1978", "AsWritten": "c. 1978"}
    others_change(path, ("tiebeam:Exposed", Struct(tuple((name(f"tiebeam:{k}"), Text(v)) for k, v in fields.items()))))

    taken(archive, "exposed")

    assert rows(archive, "SELECT exposed_edtf, exposed_words, exposed_doubt FROM sheet") == [("1978~", "c. 1978", "~")]


def test_a_known_place_is_taken_with_its_doubt_and_an_unknown_one_is_named(archive, folder):
    osk = a_village(archive)
    path = a_scanned_sheet(archive, folder)
    places = [Struct(((name("Iptc4xmpExt:LocationName"), lang_alt(words)),)) for words in ("probably Osk", "Nowhere")]
    others_change(path, ("Iptc4xmpExt:LocationShown", bag(places)))

    done = taken(archive)

    assert rows(archive, "SELECT place_id, certainty FROM view_subject") == [(osk, "probable")]
    assert rows(archive, "SELECT as_written FROM wording WHERE field = 'shows'") == ["probably Osk"]
    assert [one.left for one in done if one.left] == ["no place of that name is known"]


def test_a_place_that_is_told_already_is_no_news_under_another_of_its_names(archive, mill):
    add_place_name(archive, 1, name="Oske")
    others_change(mill, ("photoshop:City", Text("Oske")))

    assert proposed(archive) == {}
    assert findings(archive)["photoshop:City"].standing is Standing.THEIRS


def test_what_a_copying_camera_says_of_itself_is_taken_only_by_name(archive, folder):
    lens = a_lens(archive)
    (lens_name,) = rows(archive, "SELECT name FROM kit WHERE id = ?", lens)
    path = a_scanned_sheet(archive, folder)
    others_change(path, ("tiff:Make", Text("Corvane")), ("exifEX:LensModel", Text(lens_name)))

    (left,) = taken(archive)
    taken(archive, "lens")

    assert "the camera that copied the film" in (left.left or "")
    assert rows(archive, "SELECT lens_id FROM sheet") == [lens]


def test_two_places_that_disagree_are_both_shown_and_neither_is_taken(archive, folder):
    path = a_scanned_sheet(archive, folder, entries=((270, ASCII, b"Brome Hall\0"),))
    others_change(path, ("dc:description", lang_alt("Osk Mill")))

    done = taken(archive)

    assert proposed(archive) == {"description": ["Osk Mill", "Brome Hall"]}
    assert all(one.left for one in done)


def test_a_text_stored_wrongly_is_taken_repaired_only_when_that_is_asked_for(archive, mill):
    others_change(mill, ("dc:title", lang_alt("Ã‰glise", "en")))

    (left,) = taken(archive)
    taken(archive, "title", repaired=True)

    assert "it may be 'Église'" in (left.left or "")
    assert rows(archive, "SELECT title FROM view") == ["Église"]


def test_a_field_that_is_none_is_refused_by_name(archive, mill):
    assert run(archive, "sidecars", "read", "--take", "colour").status == 3
    assert run(archive, "sidecars", "settle", "--field", "colour", "--keep", "catalogue").status == 3
    assert run(archive, "sidecars", "settle", "--field", "title").status == 2


def test_a_catalogue_that_never_wrote_a_sidecar_takes_nothing_out_of_it_and_can_read_it_in(archive, mill, tmp_path):
    correct_sheet(archive, 1, exposed=dated("c. 1978"), aperture_f=22.0, filter="yellow")
    write_all(archive)
    rebuilt = an_archive(tmp_path / "rebuilt")
    shutil.copytree(archive.folder / "scans", rebuilt.folder / "scans")
    add_scans(rebuilt, [rebuilt.folder / "scans"])
    match_scan_to_sheet(rebuilt, 1, a_sheet(rebuilt, "78-14"))
    a_village(rebuilt)
    a_mill(rebuilt)
    before = dict(parse_packet(mill.read_bytes()))

    (done,) = write_all(rebuilt)
    taken(rebuilt)

    after = dict(parse_packet((rebuilt.folder / "scans" / mill.name).read_bytes()))
    assert done.outcome == "written"
    assert {named.local for named in before} - {named.local for named in after} == set()
    assert after[name("dc:title")] == before[name("dc:title")]
    (sheet,) = rows(rebuilt, "SELECT exposed_edtf, exposed_doubt, aperture_f, filter FROM sheet")
    assert sheet == ("1978~", "~", 22.0, "yellow")
    assert rows(rebuilt, "SELECT count(*) FROM view_subject") == [2]


# ---- settling


def in_conflict(archive: Archive, mill: Path) -> None:
    french = Text("Moulin d'Osk", language="fr")
    theirs = lang_alt("The mill at dusk", "en")
    others_change(mill, ("dc:title", Array("Alt", (*theirs.items, french))))
    correct_view(archive, 1, title="Osk Mill from the weir")


def test_keeping_the_catalogues_lets_ours_replace_theirs_at_the_next_writing(archive, mill):
    in_conflict(archive, mill)

    settle(archive, seen(archive), names=fields_named("title"), keep="catalogue")
    untouched = said(mill, "dc:title")[0]
    (done,) = write_all(archive)

    assert untouched == "The mill at dusk"
    assert done.held == ()
    assert said(mill, "dc:title") == ("Osk Mill from the weir", "Osk Mill from the weir", "Moulin d'Osk")


def test_keeping_the_sidecars_takes_it_into_the_catalogue(archive, mill):
    in_conflict(archive, mill)

    (settled,) = settle(archive, seen(archive), names=fields_named("title"), keep="sidecar")[0]
    (done,) = write_all(archive)

    assert settled.is_taken
    assert rows(archive, "SELECT title FROM view") == ["The mill at dusk"]
    assert (done.held, findings(archive)) == ((), {})
    assert said(mill, "dc:title") == ("The mill at dusk", "The mill at dusk", "Moulin d'Osk")


def test_a_sidecars_value_that_the_catalogue_has_no_place_for_stands_in_the_file(archive, mill):
    others_change(mill, ("dc:source", Text("box 4, no. 14")))

    settle(archive, seen(archive), names=fields_named("dc:source"), keep="sidecar")
    (done,) = write_all(archive)

    assert (done.held, done.theirs, findings(archive)) == ((), (), {})
    assert said(mill, "dc:source") == ("box 4, no. 14",)


def test_what_they_took_away_comes_back_when_the_catalogues_is_kept(archive, mill):
    others_change(mill, ("dc:title", None))

    settle(archive, seen(archive), keep="catalogue")
    write_all(archive)

    assert said(mill, "dc:title")[0] == "Osk Mill"


def test_settling_is_one_deed_and_is_undone(archive, mill):
    in_conflict(archive, mill)
    before = tables(archive)

    settle(archive, seen(archive), keep="sidecar")
    undo_deed(archive)

    assert tables(archive) == before
    assert findings(archive)["dc:title"].standing is Standing.CONFLICT


def test_a_rehearsal_settles_nothing(archive, mill):
    in_conflict(archive, mill)
    before = tables(archive)

    outcome = run(archive, "sidecars", "settle", "--rule", "catalogue", "--dry-run")

    assert outcome.out.splitlines()[-1] == "1 field would be settled."
    assert tables(archive) == before


@pytest.mark.parametrize(
    ("changed", "stands"), [("2099-01-01T00:00:00Z", "sidecar"), ("1999-01-01T00:00:00Z", "catalogue")]
)
def test_the_side_that_was_changed_last_stands_by_rule(archive, mill, changed, stands):
    in_conflict(archive, mill)
    others_change(mill, ("xmp:MetadataDate", Text(changed)))

    settled, left = settle(archive, seen(archive), keep="latest")

    assert {one.keep for one in settled} == {stands}
    assert left == ()


def test_a_sidecar_that_does_not_say_when_it_was_changed_is_left_by_that_rule(archive, mill):
    in_conflict(archive, mill)
    others_change(mill, ("xmp:MetadataDate", None))

    settled, left = settle(archive, seen(archive), keep="latest")

    assert settled == ()
    assert left == ("C1: which side was changed last cannot be told; settle it with --keep",)


def test_nothing_open_is_refused(archive, mill):
    for keep in ("catalogue", "sidecar", "latest"):
        with pytest.raises(RefusedError, match="Nothing of that is open"):
            settle(archive, seen(archive), keep=keep)


def test_foreign_properties_survive_settling_and_writing_in_value_and_structure(archive, mill):
    foreign = Struct(((UNKNOWN, bag(["one", Text("two", language="cy")])),))
    packet = parse_packet(mill.read_bytes())
    mill.write_bytes(format_packet(packet.with_properties({**dict(packet), UNKNOWN: foreign})))
    in_conflict(archive, mill)

    settle(archive, seen(archive), keep="catalogue")
    write_all(archive)

    assert parse_packet(mill.read_bytes()).get(UNKNOWN) == foreign


# ---- whatever a stranger puts into our fields

MARK = Name("http://example.org/#", "x")
ODD = {
    "empty": Text(""), "blank": Text(" "), "a question mark": Text("?"), "a choice": Text("90 or 120"),
    "no number": Text("0/0"), "far too much": Text("1e999999"), "very long": Text("x" * 100_000),
    "less than nothing": Text("-1/2"), "no day": Text("9999-99-99"), "no year": Text("0000"), "a uri": Uri("urn:x"),
    "an empty bag": bag([]), "a list": seq(["b", "a"]), "an empty choice": Array("Alt", ()), "twice": bag(["a", "a"]),
    "semicolons": bag(["a;b", "?"]), "an empty structure": Struct(()), "a structure": Struct(((MARK, Text("y")),)),
    "deep": bag([Struct(((MARK, bag([Struct(())])),))]), "no language": Array("Alt", (Text("no language"),)),
    "one language twice": Array("Alt", (Text("a", language="fr"), Text("b", language="fr"))),
    "qualified": Text("q", qualifiers=((MARK, Text("z")),)), "a language": Text("l", language="cy"),
    "signs of a terminal": Text("\u202eevil\x1b[31m\n$(x)"),
}  # fmt: skip
OURS = (
    "dc:title", "dc:description", "dc:subject", "dc:creator", "photoshop:DateCreated", "exif:FNumber", "xmp:CreateDate",
    "exif:ExposureTime", "exifEX:LensModel", "Iptc4xmpExt:LocationShown", "Iptc4xmpExt:ArtworkOrObject",
    "photoshop:City", "tiebeam:Exposed", "tiebeam:Film", "tiebeam:Filter", "tiebeam:Written", "tiff:Make",
    "xmp:MetadataDate",
)  # fmt: skip


QUICK_ODD = ("empty", "no number", "far too much", "no year", "an empty choice", "deep", "signs of a terminal")


@pytest.mark.parametrize("odd", some_fast(ODD, *QUICK_ODD))
def test_an_odd_value_in_any_field_ends_in_words_and_stays_in_the_file(archive, mill, odd):
    others_change(mill, *((prop, ODD[odd]) for prop in OURS))
    theirs = parse_packet(mill.read_bytes())

    outcomes = [run(archive, "sidecars", *words) for words in (
        ("compare",), ("read",), ("settle", "--rule", "latest", "--dry-run"),
        ("read", "--take", "title,description,keywords,exposed,lens,aperture,places", "--dry-run"), ("write",),
    )]  # fmt: skip

    assert {one.status for one in outcomes} <= {0, 1, 3}
    assert "\x1b" not in "".join(one.out + one.err for one in outcomes)
    now = parse_packet(mill.read_bytes())
    stamps = {name("tiebeam:Written"), name("xmp:MetadataDate")}
    held = {named: theirs.get(named) for named in map(name, OURS) if named not in stamps}
    bags = {named for named in held if named.local in ("subject", "LocationShown", "ArtworkOrObject")}
    assert {named: now.get(named) for named in held if named not in bags} == {
        named: value for named, value in held.items() if named not in bags
    }


# ---- a scan that shows several sheets


@pytest.fixture
def page(archive: Archive, folder: Path) -> Path:
    """The sidecar, written, of a scan that shows two sheets: S1, whose day is known, and S2."""
    a_sheet(archive, "78-14", "4 June 1978")
    a_sheet(archive, "85-2")
    a_lens(archive)
    a_scan(folder / "page.tif")
    add_scans(archive, [folder])
    for sheet in (1, 2):
        match_scan_to_sheet(archive, 1, sheet)
    write_all(archive)
    return folder / "page.xmp"


def test_of_a_scan_of_two_sheets_nothing_is_taken_until_a_sheet_is_named(archive, page):
    others_change(page, ("dc:subject", bag(["weir"])), ("exif:FNumber", Text("16/1")))

    shown = run(archive, "sidecars", "read", "C1")
    refused = run(archive, "sidecars", "read", "C1", "--take", "all")

    assert shown.out.splitlines() == [
        "C1 shows S1 and S2",
        "  keywords     weir",
        "               in page.xmp, dc:subject",
        "               not taken: say whose it is with --sheet S1 or --sheet S2",
        "  aperture     16/1",
        "               in page.xmp, exif:FNumber",
        "               not taken: say whose it is with --sheet S1 or --sheet S2",
        "2 facts that the catalogue lacks, for 2 sheets.",
    ]
    assert (refused.status, refused.out) == (1, "0 facts taken.\n")
    assert "C1: left keywords weir: say whose it is with --sheet S1 or --sheet S2" in refused.err
    assert rows(archive, "SELECT count(*) FROM note") == [0]


def test_a_named_sheet_takes_what_its_scan_says_and_then_nobody_is_asked_again(archive, page):
    others_change(page, ("dc:subject", bag(["weir"])), ("exif:FNumber", Text("16/1")))

    outcome = run(archive, "sidecars", "read", "C1", "--take", "all", "--sheet", "S2")

    assert (outcome.status, outcome.out) == (0, "2 facts taken.\n")
    assert rows(archive, "SELECT aperture_f FROM sheet ORDER BY id") == [None, 16.0]
    assert set(rows(archive, "SELECT about_id FROM note")) == {2}
    assert run(archive, "sidecars", "read", "C1").out == "0 facts that the catalogue lacks, for 0 sheets.\n"


def test_both_sheets_may_be_named(archive, page):
    others_change(page, ("exif:FNumber", Text("16/1")))

    assert run(archive, "sidecars", "read", "--take", "aperture", "--sheet", "S1", "--sheet", "S2").status == 0

    assert rows(archive, "SELECT aperture_f FROM sheet ORDER BY id") == [16.0, 16.0]


def test_what_one_of_the_sheets_has_is_that_sheets_and_no_news(archive, page):
    others_change(page, ("photoshop:DateCreated", Text("1978-06-04")))
    assert run(archive, "sidecars", "read").out.startswith("0 facts")

    others_change(page, ("photoshop:DateCreated", Text("1985-03")))
    assert "say whose it is with --sheet S2\n" in run(archive, "sidecars", "read").out


@pytest.mark.parametrize(("typed", "status", "words"), [
    ("S9", 3, "S9 is on none of the scans"), ("78-14", 2, "'78-14' is no sheet's reference"),
])  # fmt: skip
def test_a_sheet_that_the_scan_does_not_show_is_refused_by_name(archive, page, typed, status, words):
    outcome = run(archive, "sidecars", "read", "--sheet", typed)

    assert outcome.status == status
    assert words in outcome.err
