"""The reference pictures: what independent readers report of them, row by row, or why we read otherwise."""

from __future__ import annotations

import re

import pytest

from catalog.standards.iim import iim_date
from catalog.standards.packets import Embedded, embedded_iim, embedded_packet, find_packets, is_iim_changed
from catalog.standards.reconcile import Verdict, reconcile_embedded
from catalog.standards.xmp import Array, name, texts
from tests.reference_samples import FOLDER, PICTURES, manifest, sample
from tests.standards.xmp_oracles import exempi_leaves, needs_exempi, needs_samples, our_leaves

SIDECARS = {
    "BlueSquare450.xmp", "all_value_forms.xmp", "attribute_form.xmp", "made_utf16le_bom.xmp",
    "made_utf8_bom_padded.xmp", "malformed_pi.xmp", "staff_photographer.xmp",
}  # fmt: skip

# exiv2's names in the manifest, and ours.
EXIF_TAGS = {
    "Image.Make": 271, "Image.Model": 272, "Image.XResolution": 282, "Image.Artist": 315,
    "Photo.DateTimeOriginal": 36867,
}  # fmt: skip
IIM_DATASETS = {
    "Envelope.CharacterSet": "1:90", "Application2.ObjectName": "2:05", "Application2.Headline": "2:105",
    "Application2.Byline": "2:80", "Application2.DateCreated": "2:55", "Application2.Credit": "2:110",
    "Application2.Copyright": "2:116",
}  # fmt: skip

# Where we read otherwise than the readers of the manifest, and why: (file, reader, key) -> (ours, the reason).
DISAGREEMENTS = {
    ("latin1_iim.tif", "exiv2", "Application2.Byline"): (
        "Bjørn Erik Pedersen", "exiv2 gives bytes; no 1:90 is read by the evidence of the bytes (A01)"),
    ("latin1_iim.tif", "exiv2", "Application2.Copyright"): (
        "Bjørn Erik Pedersen", "exiv2 gives bytes; no 1:90 is read by the evidence of the bytes (A01)"),
    ("iim_latin1_no190.jpg", "exiv2", "Application2.Copyright"): (
        "© 2004 Nobody", "exiv2 gives bytes; no 1:90 is read by the evidence of the bytes (A01)"),
    ("iim_190_latin1.jpg", "exiv2", "Application2.Headline"): (
        "l'Affiche présentait étaient", "exiv2 gives bytes; 1:90 designates ISO 8859-1"),
    ("made_16bit_grey_iim_xmp_exif.tif", "exiv2", "Photo.DateTimeOriginal"): (
        "1931:07:  :  :  :", "blanks at the end are padding to us; they are kept within"),
    ("grey16_thermal.tif", "exempi", "photoshop:DateCreated"): (
        None, "exempi makes it of Exif; we show Exif apart and propose nothing from a scanner's clock"),
    ("iim_latin1_no190.jpg", "exempi", "dc:title"): (None, "exempi makes it of IIM; we show IIM apart"),
    ("iim_latin1_no190.jpg", "exempi", "dc:creator"): (None, "exempi makes it of IIM; we show IIM apart"),
    ("iim_latin1_no190.jpg", "exempi", "photoshop:DateCreated"): (None, "exempi makes it of IIM; we show IIM apart"),
    ("xmp_nul_inside.jpg", "exempi", "photoshop:DateCreated"): (
        None, "the packet is not well-formed: refused, as exiv2 does, and said; exempi patches it"),
    ("xmp_nul_inside.jpg", "exempi", "photoshop:Headline"): (
        None, "the packet is not well-formed: refused, as exiv2 does, and said; exempi patches it"),
}  # fmt: skip


def stated(file_name: str, reader: str) -> list[tuple[str, str]]:
    """Return the values of a row of the manifest: key and text, which the manifest cuts at 60 characters."""
    row = manifest()[file_name]["exiv2_0_28_9" if reader == "exiv2" else "exempi_2_6_3"]
    key = r"[A-Za-z]\w*[.:]\w+" if reader == "exiv2" else r"[A-Za-z]\w*:\w+(?:\[1\])?"
    return [
        (found[1].removesuffix("[1]"), found[2])
        for found in re.finditer(rf"({key})=(.*?)(?=; {key}=|$)", row, re.DOTALL)
    ]


def ours(embedded: Embedded, key: str) -> str | None:
    """Return what we read for a key of the manifest, spelled as its reader spells it."""
    if key in EXIF_TAGS:
        fact = embedded.exif.get(EXIF_TAGS[key])
        return None if fact is None else fact.value.value if key.endswith("Resolution") else fact.text
    if key in IIM_DATASETS:
        return _of_iim(embedded, IIM_DATASETS[key])
    packet, _ = embedded_packet(embedded)
    value = packet.get(name(key.replace(".", ":"))) if packet else None
    if value is None:
        return None
    if "." not in key:
        return texts(value)[0]
    items = value.items if isinstance(value, Array) else (value,)
    return ", ".join(f'lang="{item.language}" {item.value}' if item.language else item.value for item in items)


def _of_iim(embedded: Embedded, dataset: str) -> str | None:
    iim = embedded_iim(embedded)
    value = next(iter(iim.all(dataset)), None) if iim else None
    if value is None:
        return None
    if dataset == "1:90":
        return value.raw.decode("latin-1").replace("\x1b", "\\x1b")
    if dataset != "2:55":
        return value.text
    # exiv2 shows the date with its zeros; ours leaves them out.
    assert value.text.replace("-", "").startswith((iim_date(value.text) or "").replace("-", ""))
    return f"{value.text[:4]}-{value.text[4:6]}-{value.text[6:8]}"


@needs_samples
def test_every_sample_is_looked_at_here_or_with_the_sidecars():
    there = {path.name for path in FOLDER.iterdir()} - {"MANIFEST.csv", "IPTC-PhotometadataRef-Std2023.2.values.csv"}

    assert there == set(PICTURES) | SIDECARS == set(manifest())
    assert len(there) == 21


@pytest.mark.parametrize("reader", ["exiv2", "exempi"])
@pytest.mark.parametrize("file_name", PICTURES)
def test_each_value_of_the_manifest_is_ours_or_named_as_different(file_name, reader):
    embedded = find_packets(sample(file_name))
    rows = stated(file_name, reader)

    for key, text in rows:
        found = ours(embedded, key)
        if (file_name, reader, key) in DISAGREEMENTS:
            expected, _ = DISAGREEMENTS[file_name, reader, key]
            assert found == expected, key
            assert expected != text
        else:
            # The manifest cuts texts at 60 characters.
            assert found is not None, key
            assert found == text or (len(text) == 60 and found[:60] == text), key
    named = {key for file, by, key in DISAGREEMENTS if (file, by) == (file_name, reader)}
    assert named <= {key for key, _ in rows}


@pytest.mark.parametrize("file_name", PICTURES)
def test_as_many_datasets_are_read_as_exiv2_counts(file_name):
    found = re.search(r"iptc=(\d+)", manifest()[file_name]["exiv2_0_28_9"])
    iim = embedded_iim(find_packets(sample(file_name)))

    # exiv2 counts the datasets it knows, each once; BigTIFF it refuses.
    counted = int(found[1]) if found else 0
    assert (len(iim.values) if iim else 0) == counted


@pytest.mark.parametrize("file_name", [one for one in PICTURES if one != "BigTIFF.tif"])
def test_every_iim_text_is_what_exiv2_reads_in_the_characters_of_the_block(file_name):
    import exiv2

    image = exiv2.ImageFactory.open(str(sample(file_name)))
    image.readMetadata()
    iim = embedded_iim(find_packets(sample(file_name)))

    theirs = [
        (f"{datum.record()}:{datum.tag():02}", bytes(datum.value().data()))
        for datum in image.iptcData()
        if isinstance(datum.value(), exiv2.StringValueBase)
    ]
    read = [(value.id, value.raw) for value in iim.values if value.text is not None] if iim else []
    by_id = {one for one, _ in theirs}
    assert [pair for pair in sorted(read) if pair[0] in by_id] == sorted(pair for pair in theirs if pair[0] != "1:90")


# exempi parses the same packet bytes; what it adds of IIM and Exif is not among them.
@needs_exempi
@pytest.mark.parametrize(
    "file_name",
    [one for one in PICTURES if one not in ("xmp_nul_inside.jpg", "BigTIFF.tif", "Epson_PerfectionV800.tiff")],
)
def test_every_leaf_of_an_embedded_packet_is_as_exempi_reads_it(file_name):
    embedded = find_packets(sample(file_name))
    if not embedded.xmp:
        assert file_name in ("iim_190_latin1.jpg", "iim_latin1_no190.jpg")
        return
    data = embedded.xmp[0].data.strip(b"\0 \n\r\t")
    from catalog.standards.xmp import parse_packet

    theirs, own = exempi_leaves(data), our_leaves(parse_packet(data))
    # exempi moves an rdf:about of the form uuid: into xmpMM:InstanceID; we keep it where it is.
    moved = {key for key in theirs if key[1] == "xmpMM:InstanceID" and key not in own}

    assert {key: text for key, text in theirs.items() if key not in moved} == own


def test_extended_xmp_holds_what_exiv2_and_the_toolkit_put_together():
    # MANIFEST.csv: ExtendedXMP in 8 APP1 segments. XMP part 3, extended XMP in JPEG: the GUID is its MD5.
    embedded = find_packets(sample("extended_xmp.jpg"))

    [extension] = embedded.extended
    packet, faults = embedded_packet(embedded)

    assert extension.is_sound
    assert "in 8 APP1 segments" in extension.where
    assert faults == embedded.faults == ()
    assert {value.local for value, _ in packet} >= {"Data"}


# What real programs left, and what is to be said of it. MANIFEST.csv, column "exercises".
@pytest.mark.parametrize(
    ("file_name", "verdicts"),
    [
        # "in step except that IIM 2:80 and 2:85 are cut at 32 octets: must not count as a conflict"
        ("photoshop_3.jpg", {"Creator": Verdict.CUT, "Creator's jobtitle": Verdict.CUT, "Title": Verdict.EQUAL}),
        (
            "utf8_iim_structs.jpg",
            {"Credit Line": Verdict.CUT, "Description": Verdict.EQUAL, "Date Created": Verdict.EQUAL},
        ),
        # "IIM in Latin-1 WITHOUT 1:90 while XMP has the same names in UTF-8"
        ("latin1_iim.tif", {"Creator": Verdict.EQUAL, "City": Verdict.EQUAL, "Category": Verdict.CUT}),
        (
            "made_16bit_grey_iim_xmp_exif.tif",
            {"Date Created": Verdict.EQUAL, "Creator": Verdict.EQUAL, "City": Verdict.ONE_SIDE},
        ),
        ("BlueSquare450.tif", {"Headline": Verdict.CUT, "Creator Tool": Verdict.CONFLICT}),
        ("iim_latin1_no190.jpg", {"Copyright Notice": Verdict.ONE_SIDE, "Description": Verdict.CONFLICT}),
    ],
)
def test_what_real_programs_left_is_told_apart(file_name, verdicts):
    found = {one.title: one.verdict for one in reconcile_embedded(find_packets(sample(file_name)))}

    assert {title: found[title] for title in verdicts} == verdicts


def test_the_official_image_agrees_with_itself_in_all_its_blocks():
    found = reconcile_embedded(find_packets(sample("IPTC-PhotometadataRef-Std2023.2.jpg")))

    assert {one.verdict for one in found} == {Verdict.EQUAL}
    assert len(found) == 20


@pytest.mark.parametrize(
    ("file_name", "changed"),
    [
        ("photoshop_3.jpg", False),
        ("utf8_iim_structs.jpg", False),
        ("BlueSquare.tif", False),
        ("BlueSquare450.tif", False),
        ("latin1_iim.tif", True),
        ("iim_190_latin1.jpg", None),
    ],
)
def test_the_digest_of_a_real_file_is_checked(file_name, changed):
    # Resource 1061 against the MD5 of the IIM as it stands. In latin1_iim.tif it is that of an earlier block.
    assert is_iim_changed(find_packets(sample(file_name))) is changed


def test_a_time_that_has_no_zone_is_given_none():
    # utf8_iim_structs.jpg: 2:60 is "170000"; exiv2 shows 17:00:00+00:00.
    packet_side, iim_side = next(
        one.said
        for one in reconcile_embedded(find_packets(sample("utf8_iim_structs.jpg")))
        if one.title == "Date Created"
    )

    assert packet_side.words == iim_side.words == "2009-09-09T17:00:00"


def test_a_damaged_packet_is_said_and_exif_is_kept():
    # MANIFEST.csv: "XMP packet with NUL bytes inside ...; must report and keep Exif".
    embedded = find_packets(sample("xmp_nul_inside.jpg"))

    packet, faults = embedded_packet(embedded)

    assert packet is None
    assert "holds a NUL" in faults[0]
    assert embedded.exif.get(272).text == "Canon EOS 30D"
