"""What is said of values that do not keep to the IPTC standard, and what is not written at all."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from catalog.errors import XmpError
from catalog.standards.iptc import PROPERTIES, read_property, validate, write_property
from catalog.standards.xmp import Array, Struct, Text, Uri, bag, name, seq, struct

EXT = "Iptc4xmpExt:"


def said(xmp_id, value, level=None):
    return [str(finding) for finding in validate(xmp_id, value) if level in (None, finding.level)]


# ---- limits of IIM: octets of UTF-8, a warning, nothing cut


# A date is left out: IIM has it in a form of its own, CCYYMMDD, never longer than its eight octets.
LIMITED = [row.xmp_id for row in PROPERTIES.values() if row.iim_max_octets and row.value_type != "Date"]


@pytest.mark.parametrize("xmp_id", LIMITED)
def test_one_octet_over_the_limit_of_iim_is_a_warning_and_stays_whole(xmp_id):
    row = PROPERTIES[xmp_id]
    at_limit, over = "a" * row.iim_max_octets, "a" * (row.iim_max_octets - 1) + "é"
    several = row.value_type.startswith(("Bag", "Seq"))

    whole = write_property(xmp_id, [over] if several else over)

    assert len(over) == row.iim_max_octets  # as many characters as octets are allowed, and one octet more
    assert not [w for w in said(xmp_id, write_property(xmp_id, [at_limit] if several else at_limit)) if "octets" in w]
    (warning,) = (w for w in said(xmp_id, whole, "warning") if "octets" in w)
    assert f"is {row.iim_max_octets + 1} octets long; IIM {row.iim_dataset} holds {row.iim_max_octets}" in warning
    shown = read_property(xmp_id, whole)
    assert over in (shown.values() if isinstance(shown, dict) else shown if several else [shown])


def test_a_date_longer_than_the_octets_of_iim_is_no_finding():
    assert PROPERTIES["photoshop:DateCreated"].iim_max_octets == 8

    assert validate("photoshop:DateCreated", Text("1978-08-05T09:30:15+02:00")) == ()


def test_of_a_language_alternative_the_default_alone_is_measured():
    long = "a" * 65

    first, other = (
        write_property("dc:title", texts) for texts in ({"x-default": long}, {"x-default": "a", "fr": long})
    )

    assert [f.path for f in validate("dc:title", first)] == ["dc:title[1]"]
    assert validate("dc:title", other) == ()


def test_a_refusal_is_short_however_much_is_wrong():
    with pytest.raises(XmpError) as refusal:
        write_property("Iptc4xmpExt:AboutCvTerm", [{"Iptc4xmpExt:CvTermName": "mill"}] * 20)

    assert str(refusal.value).endswith("; and 17 more faults")


# ---- dates


# XMP part 1 §8.2.1.1
@pytest.mark.parametrize(
    "date",
    [
        "1978",
        "1978-08",
        "1978-08-05",
        "1978-08-05T09:30",
        "1978-08-05T09:30:15",
        "1978-08-05T09:30:15.25",
        "1978-08-05T09:30Z",
        "1978-08-05T09:30:15+02:00",
        "2000-02-29",
        "0000-02-29",
    ],
)
def test_a_date_stays_letter_for_letter_and_gets_no_zone(date):
    value = write_property("photoshop:DateCreated", date)

    assert value == Text(date)
    assert read_property("photoshop:DateCreated", value) == date
    assert validate("photoshop:DateCreated", value) == ()


@pytest.mark.parametrize(
    "date",
    [
        *("1978-02-30", "1900-02-29", "1978-04-31", "1978-13", "19780805", "1978:08:05", "198X", "٢٠٠٠", ""),
        *("1978-08-05T9:30", "1978-08T09:30", "1978-08-05T24:00", "1978-08-05Z"),
        *("1978-08-05T09:30:15+2:00", "1978-08-05T09:30+02", "1978-08-05T09:30+25:00"),
    ],
)
def test_a_date_that_is_none_is_refused_and_read_as_the_text_it_is(date):
    with pytest.raises(XmpError):
        write_property("photoshop:DateCreated", date)

    assert read_property("photoshop:DateCreated", Text(date)) == date
    assert "is not YYYY" in said("photoshop:DateCreated", Text(date), "fault")[0]


# ---- numbers


@pytest.mark.parametrize(
    ("xmp_id", "given", "spelled"),
    [
        ("xmp:Rating", 3, "3"),
        ("xmp:Rating", -1, "-1"),
        ("xmp:Rating", Decimal("1.0"), "1.0"),
        ("xmp:Rating", 2.5, "2.5"),
        ("xmp:Rating", "4.", "4."),
        (EXT + "MaxAvailWidth", 9600, "9600"),
    ],
)
def test_a_number_is_written_as_xmp_spells_it(xmp_id, given, spelled):
    assert write_property(xmp_id, given) == Text(spelled)


@pytest.mark.parametrize(
    ("xmp_id", "given"),
    [
        ("xmp:Rating", "three"),
        ("xmp:Rating", "1e1"),
        ("xmp:Rating", float("nan")),
        ("xmp:Rating", float("inf")),
        ("xmp:Rating", True),
        ("xmp:Rating", 6),
        ("xmp:Rating", Decimal("-0.5")),
        ("xmp:Rating", Fraction(1, 3)),
        (EXT + "MaxAvailWidth", 0.5),
        (EXT + "MaxAvailWidth", "9,600"),
        (EXT + "MaxAvailWidth", "9" * 5000),
        (EXT + "ModelAge", ["old"]),
        ("dc:title", 0.5),
        ("photoshop:City", Decimal(1)),
    ],
)
def test_a_number_that_is_none_is_refused(xmp_id, given):
    with pytest.raises(XmpError, match=xmp_id):
        write_property(xmp_id, given)


def location(**members):
    return [{xmp_id.replace("_", ":"): one for xmp_id, one in members.items()}]


# XMP part 2, GPSCoordinate; 48,16.5N is in the 2023.2 reference image, DDD,MM,SSk the other form of the standard.
@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("48,16.5N", "48.275"),
        ("48,16.5S", "-48.275"),
        ("48,16,30N", "48.275"),
        ("0,0.0N", "0"),
        ("90,0.0S", "-90"),
        ("46,7.40740734N", "46.123456789"),
    ],
)
def test_a_latitude_is_read_in_degrees_in_both_its_forms(text, degrees):
    value = bag([struct({name("exif:GPSLatitude"): text})])

    assert read_property(EXT + "LocationShown", value) == ({"exif:GPSLatitude": Decimal(degrees)},)
    assert said(EXT + "LocationShown", value) == []


@pytest.mark.parametrize(
    ("degrees", "text"),
    [
        ("48.275", "48,16.5N"),
        ("-7.5", "7,30.0S"),
        ("0", "0,0.0N"),
        ("46.123456789", "46,7.40740734N"),
        ("1e-12", "0,0.0N"),
        ("89.9999999999", "90,0.0N"),
        ("-1e-12", "0,0.0N"),
        ("100e-1", "10,0.0N"),
    ],
)
def test_a_latitude_is_written_in_degrees_and_minutes(degrees, text):
    (item,) = write_property(EXT + "LocationShown", location(exif_GPSLatitude=Decimal(degrees))).items

    assert item.get(name("exif:GPSLatitude")) == Text(text)


@pytest.mark.parametrize("text", ["48,16.5E", "91,0.0N", "48,60.0N", "48,16,60N", "48.275", "48,16N", "48,16.5"])
def test_a_latitude_that_is_none_is_a_fault_and_keeps_its_text(text):
    value = bag([struct({name("exif:GPSLatitude"): text})])

    assert read_property(EXT + "LocationShown", value) == ({"exif:GPSLatitude": text},)
    assert said(EXT + "LocationShown", value, "fault") == [
        f"{EXT}LocationShown[1]/exif:GPSLatitude: {text!r} is not degrees and minutes such as 48,16.5N"
    ]
    with pytest.raises(XmpError, match="GPSLatitude"):
        write_property(EXT + "LocationShown", location(exif_GPSLatitude=text))


@pytest.mark.parametrize("text", ["480", "480/0", "1.5/2", "a/b", "1/-2"])
def test_an_altitude_that_is_no_fraction_is_a_fault(text):
    value = bag([struct({name("exif:GPSAltitude"): text})])

    assert read_property(EXT + "LocationShown", value) == ({"exif:GPSAltitude": text},)
    assert "is not a fraction" in said(EXT + "LocationShown", value, "fault")[0]


# ---- how many values


def test_more_values_than_the_standard_allows_are_a_fault_and_not_written():
    owners = [{"plus:CopyrightOwnerName": f"owner {n}"} for n in range(4)]

    with pytest.raises(XmpError, match=r"plus:CopyrightOwner: has 4 values; the standard allows 0\.\.3"):
        write_property("plus:CopyrightOwner", owners)
    with pytest.raises(XmpError, match=r"has 2 values; the standard allows 0\.\.1"):
        write_property(EXT + "LocationCreated", location(Iptc4xmpExt_City="Osk") * 2)
    assert write_property("plus:CopyrightOwner", owners[:3])


def test_a_member_that_every_structure_must_have_is_missed():
    with pytest.raises(XmpError, match=r"AboutCvTerm\[1\]: lacks Iptc4xmpExt:CvTermId, which every CvTerm has"):
        write_property(EXT + "AboutCvTerm", [{EXT + "CvTermName": "mill"}])
    with pytest.raises(XmpError, match=r"ImageRegion\[1\]: lacks Iptc4xmpExt:RegionBoundary"):
        write_property(EXT + "ImageRegion", [{EXT + "rId": "r1"}])
    empty = bag([struct({name("xmp:Identifier"): bag([])})])
    assert said(EXT + "Contributor", empty, "fault") == [
        f"{EXT}Contributor[1]/xmp:Identifier: has 0 values; the standard allows 1..unbounded"
    ]


def test_nothing_is_not_written():
    for nothing in (None, "", [], {}, [{}]):
        with pytest.raises(XmpError):
            write_property(EXT + "LocationShown", nothing)
    with pytest.raises(XmpError, match="no property of the IPTC standard"):
        write_property("xmp:CreatorTool", "x")
    with pytest.raises(XmpError, match="no property of the IPTC standard"):
        read_property("xmp:CreatorTool", Text("x"))
    with pytest.raises(XmpError, match="no property of the IPTC standard"):
        validate("xmp:CreatorTool", Text("x"))


def test_a_region_takes_properties_of_the_standard_but_not_the_row_that_stands_for_them():
    boundary = {
        EXT + "rbShape": "circle",
        EXT + "rbUnit": "relative",
        EXT + "rbX": 0.5,
        EXT + "rbY": 0.5,
        EXT + "rbRx": 0.1,
    }

    value = write_property(EXT + "ImageRegion", [{EXT + "RegionBoundary": boundary, "dc:subject": ["mill"]}])

    assert value.items[0].get(name("dc:subject")) == bag(["mill"])
    for wrong in ("any:any", "xmp:CreatorTool"):
        with pytest.raises(XmpError, match="no member of the structure ImageRegion"):
            write_property(EXT + "ImageRegion", [{EXT + "RegionBoundary": boundary, wrong: "x"}])


# ---- choices


@pytest.mark.parametrize(
    ("xmp_id", "plain", "wanted"),
    [
        ("Iptc4xmpCore:CountryCode", "R23", "ISO 3166-1"),
        ("Iptc4xmpCore:Scene", ["1124"], "six digits"),
        ("Iptc4xmpCore:SubjectCode", ["politics"], "eight digits"),
        (
            EXT + "DigitalSourceType",
            "http://cv.iptc.org/newscodes/digitalsourcetype/film",
            "NewsCodes digitalsourcetype",
        ),
        ("plus:DataMining", "http://ns.useplus.org/ldf/vocab/MR-NON", "PLUS vocabulary of data mining"),
        ("plus:ModelReleaseStatus", "https://ns.useplus.org/ldf/vocab/MR-NON", "PLUS vocabulary of model releases"),
        (EXT + "ModelAge", [-1], "from 0 upwards"),
    ],
)
def test_a_value_outside_a_vocabulary_of_others_is_a_warning(xmp_id, plain, wanted):
    value = write_property(xmp_id, plain)

    assert wanted in " ".join(said(xmp_id, value, "warning"))
    assert said(xmp_id, value, "fault") == []


def region(**boundary):
    return [{EXT + "RegionBoundary": {EXT + "rb" + key: one for key, one in boundary.items()}}]


# PMD 2025.1 §12.7
@pytest.mark.parametrize(
    ("boundary", "fault"),
    [
        ({"Shape": "oval", "Unit": "relative"}, "'oval' is not rectangle, circle or polygon"),
        ({"Shape": "rectangle", "Unit": "inch", "X": 0, "Y": 0, "W": 1, "H": 1}, "'inch' is not pixel or relative"),
        ({"Shape": "rectangle", "Unit": "relative", "X": 0, "Y": 0, "W": 1}, "is a rectangle without Iptc4xmpExt:rbH"),
        ({"Shape": "circle", "Unit": "relative", "X": 0, "Y": 0}, "is a circle without Iptc4xmpExt:rbRx"),
        ({"Shape": "polygon", "Unit": "pixel"}, "is a polygon without Iptc4xmpExt:rbVertices"),
        ({"Shape": "polygon", "Unit": "pixel", "Vertices": [{EXT + "rbX": 1}]}, "lacks Iptc4xmpExt:rbY"),
    ],
)
def test_a_boundary_that_encloses_nothing_is_not_written(boundary, fault):
    with pytest.raises(XmpError) as refusal:
        write_property(EXT + "ImageRegion", region(**boundary))

    assert fault in str(refusal.value)


def test_a_boundary_outside_the_picture_is_a_warning():
    points = [{EXT + "rbX": x, EXT + "rbY": y} for x, y in ((0, 0), (1.5, 0))]

    value = write_property(EXT + "ImageRegion", region(Shape="polygon", Unit="relative", Vertices=points))

    where = f"{EXT}ImageRegion[1]/{EXT}RegionBoundary"
    assert said(EXT + "ImageRegion", value) == [
        f"{where}: is a polygon of 2 points; three enclose something",
        f"{where}/{EXT}rbVertices[2]/{EXT}rbX: 1.5 is outside the picture: relative measures go from 0 to 1",
    ]


# ---- languages, XMP part 1 §8.2.2.4


def alternative(*pairs):
    return Array("Alt", tuple(Text(words, language=language) for language, words in pairs))


@pytest.mark.parametrize(
    ("value", "fault"),
    [
        (alternative(("en", "Osk Mill"), ("x-default", "Osk Mill")), "has x-default, but not as its first"),
        (alternative(("x-default", "a"), ("en-GB", "a"), ("EN-gb", "b")), "'EN-gb' was there before; each stands once"),
        (alternative(("x-default", "a"), (None, "b")), "has no language; read as x-default"),
        (alternative(("x-default", "a"), ("en_GB", "b")), "'en_GB' is no language"),
        (Text("Osk Mill"), "is one text, where the standard has a language alternative"),
        (bag(["Osk Mill"]), "is an array of the kind Bag; a language alternative is an Alt"),
        (Array("Alt", (Uri("urn:x:a", language="x-default"),)), "is a URI; it takes one text"),
    ],
)
def test_a_language_alternative_that_breaks_its_rules_is_a_fault(value, fault):
    assert fault in " ".join(said("dc:title", value, "fault"))


def test_a_language_alternative_is_written_with_its_default_first():
    value = write_property("dc:title", {"en": "Osk Mill", "X-Default": "Osk Mill", "fr": ""})

    assert value == alternative(("x-default", "Osk Mill"), ("en", "Osk Mill"))
    assert validate("dc:title", value) == ()


@pytest.mark.parametrize("wrong", [{"en": "a", "EN": "b"}, {"en_GB": "a"}, {"": "a"}, {"en": ["a"]}, ["a"], {"en": 1}])
def test_a_language_alternative_that_would_break_its_rules_is_not_written(wrong):
    with pytest.raises(XmpError, match="dc:title"):
        write_property("dc:title", wrong)


def test_words_without_a_language_are_read_as_the_default():
    assert read_property("dc:title", Text("Osk Mill")) == {"x-default": "Osk Mill"}
    assert read_property("dc:title", bag(["Osk Mill"])) == {"x-default": "Osk Mill"}

    default_last = read_property("dc:title", alternative(("fr", "b"), ("X-DEFAULT", "a")))
    assert list(default_last.items()) == [("x-default", "a"), ("fr", "b")]


# ---- forms that others write: ../shared/reference/README.md, "Known disagreements"


def test_forms_of_the_reference_images_are_notes_and_read_alike():
    licensor = [struct({name("plus:LicensorName"): "Cole Archive"})]

    assert read_property("plus:Licensor", bag(licensor)) == read_property("plus:Licensor", seq(licensor))
    assert said("plus:Licensor", bag(licensor)) == []
    assert [f.level for f in validate("plus:Licensor", seq(licensor))] == ["note"]

    for prefix in ("exif", "Iptc4xmpExt"):
        below = bag([struct({name(f"{prefix}:GPSAltitudeRef"): "1"})])
        assert read_property(EXT + "LocationShown", below) == ({"exif:GPSAltitudeRef": 1},)
        assert [f.level for f in validate(EXT + "LocationShown", below)] == ["note"] * (prefix != "exif")

    for value in (Text("urn:x:1"), bag(["urn:x:1"]), bag([Uri("urn:x:1")])):
        product = bag([struct({name(EXT + "ProductId"): value})])
        assert read_property(EXT + "ProductInImage", product) == ({EXT + "ProductId": ("urn:x:1",)},)
        assert said(EXT + "ProductInImage", product, "fault") == []

    assert read_property("plus:DataMining", Text("urn:x:1")) == read_property("plus:DataMining", Uri("urn:x:1"))
    assert read_property("photoshop:City", Uri("urn:x:1")) == "urn:x:1"


def test_two_references_of_one_altitude_are_both_kept():
    both = struct({name("exif:GPSAltitudeRef"): "0", name(EXT + "GPSAltitudeRef"): "1"})

    assert read_property(EXT + "LocationShown", bag([both])) == (
        {"exif:GPSAltitudeRef": 0, EXT + "GPSAltitudeRef": "1"},
    )


@pytest.mark.parametrize(
    ("xmp_id", "value", "plain"),
    [
        ("dc:subject", Text("mill"), ("mill",)),
        ("dc:subject", seq(["mill"]), ("mill",)),
        (EXT + "LocationCreated", struct({name(EXT + "City"): "Osk"}), ({EXT + "City": "Osk"},)),
        ("photoshop:City", bag(["Osk"]), "Osk"),
        ("photoshop:City", bag(["Osk", "Tarn"]), ("Osk", "Tarn")),
        ("photoshop:City", alternative(("x-default", "Osk"), ("en", "Osk")), "Osk"),
        ("photoshop:City", struct({name("dc:title"): "Osk"}), {"dc:title": "Osk"}),
        (EXT + "MaxAvailWidth", Text("wide"), "wide"),
        (EXT + "MaxAvailWidth", Text("9" * 5000), "9" * 5000),
        (EXT + "LocationShown", bag(["Osk"]), ("Osk",)),
        ("dc:title", struct({name("dc:title"): "Osk"}), {"dc:title": "Osk"}),
    ],
)
def test_a_value_in_a_form_of_its_own_is_read_as_far_as_it_goes_and_found(xmp_id, value, plain):
    assert read_property(xmp_id, value) == plain
    assert said(xmp_id, value, "fault")


def test_what_the_standard_does_not_have_is_shown_under_its_own_name():
    foreign = Struct(((name(EXT + "City"), Text("Osk")), (name("aux:Lens"), alternative(("x-default", "a")))))

    assert read_property(EXT + "LocationShown", bag([foreign])) == (
        {EXT + "City": "Osk", "aux:Lens": {"x-default": "a"}},
    )
    assert said(EXT + "LocationShown", bag([foreign]), "note") == [
        f"{EXT}LocationShown[1]/aux:Lens: is no member of Location in the standard; it is kept"
    ]


@pytest.mark.parametrize("text", ["example.org/a b", "<https://example.org>", "https://example.org/\n", "a{b}", 'a"b'])
def test_what_can_be_no_uri_is_not_written_as_one(text):
    with pytest.raises(XmpError, match="is no URI"):
        write_property("plus:DataMining", text)


def test_a_uri_without_a_kind_is_a_warning():
    assert "does not say what kind of URI" in " ".join(said("plus:DataMining", Uri("www.example.org"), "warning"))
    # IRIs are written too: RFC 3987 lets them stand where a URI does in XML.
    assert said(EXT + "AboutCvTerm", bag([struct({name(EXT + "CvTermId"): Uri("https://example.org/Mühle")})])) == []
