"""How XMP, IIM and Exif agree: XMP part 3 §2.1, the IPTC guidance, and what real programs leave."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.standards.exif_values import exif_values_of_block
from catalog.standards.iim import format_iim, parse_iim
from catalog.standards.iim_datasets import DATASETS
from catalog.standards.iim_mapping import predict_iim
from catalog.standards.packets import find_packets
from catalog.standards.reconcile import Verdict, reconcile, reconcile_embedded
from catalog.standards.xmp import Packet, Text, bag, format_packet, lang_alt, name, seq
from tests.picture_files import ASCII, RATIONAL, UNDEFINED, a_tiff, written
from tests.standards.test_exif_values import a_block
from tests.standards.test_iim import TEXTS, the_value
from tests.standards.test_packets import a_resource

EQUAL, CUT, ONE_SIDE, CONFLICT = Verdict.EQUAL, Verdict.CUT, Verdict.ONE_SIDE, Verdict.CONFLICT


def xmp(**properties) -> Packet:
    return Packet(tuple((name(key.replace("__", ":")), value) for key, value in properties.items()))


def iim(*datasets: tuple[str, str | bytes], codec: str = "utf-8", declared: bool = True):
    head = [("1:90", b"\x1b%G")] if declared else []
    return parse_iim(
        format_iim(
            head + [(dataset, text.encode(codec) if isinstance(text, str) else text) for dataset, text in datasets]
        )
    )


def exif(ifd0=(), below=(), gps=()):
    return exif_values_of_block(a_block(ifd0, below, gps))


def the_finding(xmp_id, *blocks, **more):
    """Return the finding on one property, None if there is none."""
    return next((one for one in reconcile(*blocks, **more) if one.xmp_id == xmp_id), None)


# ---- equal, cut, one side, in conflict


def test_what_says_the_same_is_equal():
    blocks = (xmp(dc__title=lang_alt("Osk Mill")), iim(("2:05", "Osk Mill")), None)

    [found] = reconcile(*blocks)

    assert (found.verdict, found.newer, found.notes) == (EQUAL, None, ())
    assert [(said.side, said.where, said.words) for said in found.said] == [
        ("XMP", "dc:title", "Osk Mill"),
        ("IIM", "2:05", "Osk Mill"),
    ]
    assert found.words == "Title: XMP and IIM are equal"


def test_what_only_one_side_says_is_named_with_its_place():
    for blocks, words in (
        ((xmp(dc__title=lang_alt("Osk Mill")), None, None), "Title: only in XMP 'Osk Mill' (dc:title)"),
        ((None, iim(("2:05", "Osk Mill")), None), "Title: only in IIM 'Osk Mill' (TIFF tag 33723, 2:05)"),
    ):
        [found] = reconcile(*blocks, places={"IIM": "TIFF tag 33723"})
        assert (found.verdict, found.words) == (ONE_SIDE, words)


def test_what_differs_is_in_conflict_and_both_are_shown():
    [found] = reconcile(xmp(dc__title=lang_alt("Osk Mill")), iim(("2:05", "Brome Hall")), None)

    assert found.verdict is CONFLICT
    assert found.words == "Title: in conflict: XMP 'Osk Mill' (dc:title); IIM 'Brome Hall' (2:05)"


@pytest.mark.parametrize("row", TEXTS, ids=lambda row: row.id)
def test_each_text_cut_at_its_limit_is_no_conflict(row):
    # XMP part 3 §2.1.2: the IIM value is predicted from the XMP value, and compared.
    words = "Mühlé " * (row.max_octets // 6) + "nördlich von Osk, am Wehr"
    packet = xmp(**{row.xmp_id.replace(":", "__"): the_value(row.xmp_id, words)})
    block = parse_iim(format_iim([("1:90", b"\x1b%G"), *predict_iim(packet)]))

    [found] = reconcile(packet, block, None)

    assert found.verdict is CUT
    assert found.notes == (f"{row.id} is cut at {row.max_octets} octets",)
    assert f"XMP and IIM are cut but equal; {row.id} is cut at {row.max_octets} octets" in found.words


@pytest.mark.parametrize("row", [row for row in TEXTS if row.max_octets > 3], ids=lambda row: row.id)
def test_a_text_that_was_cut_elsewhere_is_in_conflict(row):
    words = "x" * (row.max_octets + 20)
    packet = xmp(**{row.xmp_id.replace(":", "__"): the_value(row.xmp_id, words)})

    for shorter in (words[: row.max_octets - 8], words[: row.max_octets - 1] + "y"):
        assert the_finding(row.xmp_id, packet, iim((row.id, shorter)), None).verdict is CONFLICT


def test_a_beginning_is_no_cut_where_the_whole_would_have_fitted():
    assert (
        the_finding("photoshop:City", xmp(photoshop__City=Text("Low Halding")), iim(("2:90", "Low")), None).verdict
        is CONFLICT
    )
    whole = "x" * 32
    assert (
        the_finding("photoshop:City", xmp(photoshop__City=Text(whole)), iim(("2:90", "x" * 31)), None).verdict
        is CONFLICT
    )


def test_a_text_cut_through_a_character_is_no_conflict():
    words = "Ida Thornwick, Neuer Weg 14, ééé"

    found = the_finding("dc:creator", xmp(dc__creator=seq([words])), iim(("2:80", words.encode()[:32])), None)

    assert found.verdict is CUT


@given(st.text(alphabet=st.characters(codec="utf-8", categories=["L", "N", "P"]), min_size=1, max_size=90))
def test_what_a_writer_would_put_into_iim_is_never_in_conflict(words):
    packet = xmp(dc__creator=seq([words]), photoshop__City=Text(words), dc__title=lang_alt(words))
    block = parse_iim(format_iim([("1:90", b"\x1b%G"), *predict_iim(packet)]))

    assert {one.verdict for one in reconcile(packet, block, None)} <= {EQUAL, CUT}


@pytest.mark.parametrize(
    ("wanted", "have"),
    [
        ("one\ntwo", "one\r\ntwo"),  # IIM 4.2, 2:120: CR LF
        ("one\ntwo", "one\rtwo"),
        ("Osk Mill", "Osk Mill   "),
        ("Église", "E\u0301glise"),
    ],
)
def test_line_breaks_padding_and_the_coding_of_accents_are_no_difference(wanted, have):
    assert (
        the_finding("dc:description", xmp(dc__description=lang_alt(wanted)), iim(("2:120", have)), None).verdict
        is EQUAL
    )


# ---- characters


@pytest.mark.parametrize("codec", ["cp1252", "mac_roman", "utf-8"])
@pytest.mark.parametrize("words", ["Bjørn Erik", "Ólafur", "Ísland", "Œuvre"])
def test_xmp_is_evidence_for_undeclared_characters(codec, words):
    found = the_finding(
        "dc:creator", xmp(dc__creator=seq([words])), iim(("2:80", words), codec=codec, declared=False), None
    )

    assert found.verdict is EQUAL


def test_letters_that_the_characters_of_the_iim_lack_are_no_conflict():
    block = parse_iim(format_iim([("1:90", b"\x1b-A"), ("2:80", b"?ofie P?\xedkladov\xe1")]))

    found = the_finding("dc:creator", xmp(dc__creator=seq(["Žofie Příkladová"])), block, None)

    assert found.verdict is EQUAL
    assert found.notes == ("ISO 8859-1 lacks some of its letters",)


@pytest.mark.parametrize("side", ["XMP", "IIM"])
def test_text_stored_wrongly_is_a_conflict_with_a_proposed_repair(side):
    wrong = "Ã‰glise"
    words = {"XMP": "Église", "IIM": "Église"} | {side: wrong}

    found = the_finding("dc:title", xmp(dc__title=lang_alt(words["XMP"])), iim(("2:05", words["IIM"])), None)

    assert found.verdict is CONFLICT
    assert {said.side: said.repair for said in found.said if said.repair} == {side: "Église"}
    assert f"{side} seems stored wrongly by an earlier program; it may be 'Église'" in found.words
    assert "equal once that is repaired" in found.words
    assert {said.side: said.words for said in found.said} == words  # nothing is repaired


# ---- lists


def test_keywords_are_compared_without_order_and_each_with_its_limit():
    long = "weatherboarded granary with an outside stair, seen from the water"
    packet = xmp(dc__subject=bag(["mill", long, "Hill, East"]))

    cut = the_finding("dc:subject", packet, iim(("2:25", "Hill, East"), ("2:25", long[:64]), ("2:25", "mill")), None)
    missing = the_finding("dc:subject", packet, iim(("2:25", "mill"), ("2:25", "weir"), ("2:25", long[:64])), None)

    assert cut.verdict is CUT
    assert missing.verdict is CONFLICT
    assert missing.notes[:2] == ("not in IIM: 'Hill, East'", "only in IIM: 'weir'")


def test_creators_are_compared_in_order_and_one_dataset_may_hold_them_all():
    packet = xmp(dc__creator=seq(["Ida Thornwick", "Tom Reed"]))

    found = [
        the_finding("dc:creator", packet, iim(*(("2:80", text) for text in texts)), None)
        for texts in (
            ["Ida Thornwick", "Tom Reed"],
            ["Ida Thornwick; Tom Reed"],
            ["Tom Reed", "Ida Thornwick"],
            ["Tom Reed"],
        )
    ]

    assert [one.verdict for one in found] == [EQUAL, EQUAL, CONFLICT, CONFLICT]
    assert found[2].notes == ("the same names in another order",)


def test_of_a_repeated_dataset_the_last_counts_where_the_property_is_simple():
    block = iim(("2:85", "Draughtswoman"), ("2:85", "Photographer"))

    assert (
        the_finding(
            "photoshop:AuthorsPosition", xmp(photoshop__AuthorsPosition=Text("Photographer")), block, None
        ).verdict
        is EQUAL
    )


def test_datasets_with_a_form_of_their_own_are_compared_by_what_they_say():
    packet = xmp(
        Iptc4xmpCore__IntellectualGenre=Text("Actuality"),
        Iptc4xmpCore__SubjectCode=bag(["01016000", "04018000"]),
        photoshop__Urgency=Text("5"),
        Iptc4xmpCore__CountryCode=Text("ARL"),
    )
    block = iim(
        ("2:04", "012:Actuality"),
        ("2:12", "IPTC:04018000"),
        ("2:12", "IPTC:01016000:arts::"),
        ("2:10", "5"),
        ("2:100", "arl"),
    )

    assert {one.verdict for one in reconcile(packet, block, None)} == {EQUAL}


def test_a_country_code_of_two_letters_and_one_of_three_are_said_to_be_just_that():
    found = the_finding(
        "Iptc4xmpCore:CountryCode", xmp(Iptc4xmpCore__CountryCode=Text("ES")), iim(("2:100", "ESP")), None
    )

    assert found.verdict is CONFLICT
    assert "a code of two letters and one of three" in found.words


# ---- dates


@pytest.mark.parametrize(
    ("wanted", "date", "time", "verdict", "note"),
    [
        ("1918", "19180000", None, EQUAL, ""),
        ("1931-07", "19310700", None, EQUAL, ""),
        ("2009-09-09", "20090909", None, EQUAL, ""),
        ("2009-09-09T17:00:00+02:00", "20090909", "170000+0200", EQUAL, ""),
        ("2009-09-09T17:00:00", "20090909", "170000+0000", EQUAL, "a zone is said only in IIM"),
        ("2009-09-09T17:00:00+02:00", "20090909", "170000", EQUAL, "a zone is said only in XMP"),
        ("2009-09-09T17:00Z", "20090909", "170000+0000", EQUAL, ""),
        ("2009-09-09T17:00:00.25", "20090909", "170000", CUT, "IIM has no such fraction of a second"),
        ("2009-09-09T17:00:00", "20090909", None, CUT, "IIM has the day only"),
        ("2009-09-09T23:30:00-02:00", "20090910", "033000+0200", EQUAL, "the same moment, told in two zones"),
        ("2009-09-09T17:00:00-02:00", "20090909", "210000+0200", EQUAL, "the same moment, told in two zones"),
        ("2009-09-09T17:00:00-02:00", "20090909", "170000+0200", CONFLICT, "the zones differ"),
        ("2009-09-09", "20090909", "000000+0000", EQUAL, "midnight in IIM may stand for a time that is not known"),
        ("2009-09-09", "20090909", "170000+0000", CONFLICT, "they agree on the day; only IIM has a time"),
        ("2009-09", "20090000", None, CUT, "IIM says it less exactly"),
        ("1931-07", "19310712", None, CONFLICT, "they agree as far as XMP goes; IIM says it more exactly"),
        ("1931-07", "19310800", None, CONFLICT, ""),
        ("2009-09-09T17:00:00", "20090909", "180000", CONFLICT, ""),
        ("c. 1931", "19310000", None, CONFLICT, ""),
    ],
)
@pytest.mark.parametrize(
    ("named", "ids"), [("photoshop:DateCreated", ("2:55", "2:60")), ("xmp:CreateDate", ("2:62", "2:63"))]
)
def test_dates_agree_as_far_as_each_is_filled_in(named, ids, wanted, date, time, verdict, note):
    block = iim((ids[0], date), *([(ids[1], time)] if time else []))

    found = the_finding(named, xmp(**{named.replace(":", "__"): Text(wanted)}), block, None)

    assert found.verdict is verdict
    assert note in found.words


# ---- Exif


def test_three_sides_are_one_finding():
    packet = xmp(dc__description=lang_alt("Osk Mill"), dc__creator=seq(["Ida Thornwick", "Tom Reed"]))
    block = iim(("2:120", "Osk Mill"), ("2:80", "Ida Thornwick"), ("2:80", "Tom Reed"))
    fields = exif([(270, ASCII, b"Osk Mill\0"), (315, ASCII, b"Ida Thornwick; Tom Reed\0")])

    found = reconcile(packet, block, fields)

    assert [(one.title, one.verdict, len(one.said)) for one in found] == [
        ("Description", EQUAL, 3),
        ("Creator", EQUAL, 3),
    ]
    assert found[0].words == "Description: XMP, IIM and Exif are equal"


def test_one_side_in_conflict_is_enough_for_a_conflict():
    found = the_finding(
        "dc:description",
        xmp(dc__description=lang_alt("Osk Mill")),
        iim(("2:120", "Osk Mill")),
        exif([(270, ASCII, b"SCANNED IMAGE\0")]),
    )

    assert found.verdict is CONFLICT
    assert found.newer is None  # the digest speaks of IIM, and IIM agrees


def test_without_xmp_iim_and_exif_are_held_against_each_other():
    long = "Ida Thornwick, Neuer Weg 14, Nether Brome"

    found = reconcile(None, iim(("2:80", long[:32]), ("2:55", "19310700")), exif([(315, ASCII, long.encode() + b"\0")]))

    assert {one.title: one.verdict for one in found} == {"Creator": CUT, "Date Created": ONE_SIDE}


@pytest.mark.parametrize(
    ("packet", "fields", "xmp_id", "verdict"),
    [
        (xmp(tiff__XResolution=Text("2400/1")), exif([(282, RATIONAL, [24000, 10])]), "tiff:XResolution", EQUAL),
        (xmp(tiff__XResolution=Text("300/1")), exif([(282, RATIONAL, [24000, 10])]), "tiff:XResolution", CONFLICT),
        (xmp(tiff__XResolution=Text("1/0")), exif([(282, RATIONAL, [24000, 10])]), "tiff:XResolution", CONFLICT),
        (xmp(tiff__Make=Text("Scanner works")), exif([(271, ASCII, b"Scanner works\0")]), "tiff:Make", EQUAL),
        (
            xmp(exifEX__LensSpecification=seq(["90/1", "90/1", "0/0", "0/0"])),
            exif(below=[(42034, RATIONAL, [90, 1, 90, 1, 0, 0, 0, 0])]),
            "exifEX:LensSpecification",
            EQUAL,
        ),
        (
            xmp(exif__GPSLatitude=Text("52,4.5N")),
            exif(gps=[(1, ASCII, b"N\0"), (2, RATIONAL, [52, 1, 4, 1, 30, 1])]),
            "exif:GPSLatitude",
            EQUAL,
        ),
        (
            xmp(exif__GPSLatitude=Text("52,4.5S")),
            exif(gps=[(1, ASCII, b"N\0"), (2, RATIONAL, [52, 1, 4, 1, 30, 1])]),
            "exif:GPSLatitude",
            CONFLICT,
        ),
        (
            xmp(exif__UserComment=lang_alt("weir")),
            exif(below=[(37510, UNDEFINED, b"ASCII\0\0\0weir")]),
            "exif:UserComment",
            EQUAL,
        ),
        (
            xmp(photoshop__DateCreated=Text("1931-07")),
            exif(below=[(36867, ASCII, b"1931:07:  :  :  :  \0")]),
            "photoshop:DateCreated",
            EQUAL,
        ),
        (
            xmp(photoshop__DateCreated=Text("1931-07")),
            exif(below=[(36867, ASCII, b"2010:01:05 10:00:00\0")]),
            "photoshop:DateCreated",
            CONFLICT,
        ),
        (
            xmp(dc__rights=lang_alt("Ida Thornwick\nWenn Press")),
            exif([(33432, ASCII, b"Ida Thornwick\0Wenn Press\0")]),
            "dc:rights",
            EQUAL,
        ),
    ],
)
def test_a_field_of_exif_is_compared_in_its_own_form(packet, fields, xmp_id, verdict):
    assert the_finding(xmp_id, packet, None, fields).verdict is verdict


def test_what_describes_the_device_is_at_home_in_exif_and_no_finding():
    assert reconcile(None, None, exif([(271, ASCII, b"Scanner works\0"), (282, RATIONAL, [2400, 1])])) == ()
    assert reconcile(None, None, None) == ()


# ---- which is newer


@pytest.mark.parametrize(
    ("digest", "newer", "words"),
    [
        ("the same", "XMP", "By the digest of the IIM, XMP was changed last"),
        ("another", "IIM", "By the digest of the IIM, IIM was changed last"),
        (None, None, "in conflict"),
    ],
)
def test_the_digest_says_which_side_was_changed_last_and_settles_nothing(tmp_path, digest, newer, words):
    block = format_iim([("2:05", b"Brome Hall")])
    sums = {"the same": hashlib.md5(block).digest(), "another": bytes(range(16))}
    resources = a_resource(1061, sums[digest]) if digest else b""
    packet = format_packet(xmp(dc__title=lang_alt("Osk Mill")))
    content = a_tiff([(700, UNDEFINED, packet), (33723, UNDEFINED, block), (34377, UNDEFINED, resources or b"\0\0")])

    [found] = reconcile_embedded(find_packets(written(tmp_path / "1.tif", content)))

    assert (found.verdict, found.newer) == (CONFLICT, newer)
    assert words in found.words
    assert [said.words for said in found.said] == ["Osk Mill", "Brome Hall"]
    assert [said.where for said in found.said] == ["TIFF tag 700, dc:title", "TIFF tag 33723, 2:05"]


def test_every_mapped_dataset_has_a_finding():
    mapped = {row.xmp_id for row in DATASETS.values() if row.xmp_id}
    words = {"date": "19310700", "time": "083852", "digit": "5", "genre": "000:Actuality", "subject": "IPTC:01016000"}
    block = iim(*((row.id, words.get(row.form, "Osk")) for row in DATASETS.values() if row.xmp_id))

    assert {one.xmp_id for one in reconcile(None, block, None)} == mapped
