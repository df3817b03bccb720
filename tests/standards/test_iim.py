"""IIM blocks: datasets, characters, dates and limits, against the standard's own figures and exiv2."""

from __future__ import annotations

import csv
import re
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.standards.iim import MAX_BYTES, format_iim, iim_date, iim_time, parse_iim
from catalog.standards.iim_datasets import DATASETS
from catalog.standards.iim_mapping import cut, iim_properties, predict_iim
from catalog.standards.text_repair import propose_repair
from catalog.standards.xmp import Packet, Text, bag, lang_alt, name, seq, texts
from tests.picture_files import UNDEFINED, a_tiff
from tests.standards.xmp_oracles import REFERENCE

UTF8 = ("1:90", b"\x1b%G")
TEXTS = [row for row in DATASETS.values() if row.form == "text" and row.xmp_id]


def a_block(*datasets: tuple[str, bytes | str], declared: bool = True) -> bytes:
    """Return a block of these datasets, in UTF-8 and saying so."""
    coded = [(dataset, text.encode() if isinstance(text, str) else text) for dataset, text in datasets]
    return format_iim([UTF8, *coded] if declared else coded)


# ---- the table


@pytest.mark.skipif(not REFERENCE.is_dir(), reason="the reference tables are not here (../shared/reference)")
def test_every_dataset_is_as_the_standard_has_it():
    # IIM 4.2 and XMP part 3 table 38, as tabulated in the reference.
    with (REFERENCE / "iim_datasets.csv").open(encoding="utf-8", newline="") as rows:
        published = {row["dataset"]: row for row in csv.DictReader(rows)}

    assert list(DATASETS) == list(published)
    for dataset, ours in DATASETS.items():
        row = published[dataset]
        assert (ours.title, "yes" if ours.is_repeatable else "no") == (row["name"], row["repeatable"])
        assert (str(ours.min_octets or ""), str(ours.max_octets)) == (row["min_octets"], row["max_octets"])
        mapped = row["xmp_mapping"].split("[")[0].split(" ")[0]
        assert (ours.xmp_id or "") == (mapped if ":" in mapped else "")


# ---- datasets


@given(
    st.lists(
        st.tuples(
            st.tuples(st.integers(1, 9), st.integers(0, 255)), st.one_of(st.binary(max_size=80), st.just(b"x" * 40_000))
        ),
        max_size=12,
    )
)
def test_what_is_written_can_be_read_back(datasets):
    given_ = [(f"{record}:{number:02}", raw) for (record, number), raw in datasets]

    found = parse_iim(format_iim(given_))

    # A character set that is declared and means nothing is named; nothing else can be wrong with the form.
    assert [(value.id, value.raw) for value in found.values] == given_
    assert not [fault for fault in found.faults if "1:90" not in fault]


def test_a_long_dataset_has_its_length_counted_apart():
    # IIM 4.2, "Extended DataSet": the highest bit set, then how many octets the length takes.
    for octets in (1, 2, 4, 8):
        block = b"\x1c\x02\x78" + struct.pack(">H", 0x8000 | octets) + (3).to_bytes(octets) + b"Osk"

        assert parse_iim(block).text("2:120") == "Osk"


@pytest.mark.parametrize(
    ("block", "fault"),
    [
        (b"\x1c\x02\x78\x00\x09Osk", "dataset 2:120 at byte 0 should have 9 bytes, has 3"),
        (b"\x1c\x02\x78\x00\x03Osk\x1c\x02", "no dataset begins at byte 8; the last 2 bytes were not read"),
        (b"\x1c\x02\x78\x00\x03Osknonsense", "no dataset begins at byte 8; the last 8 bytes were not read"),
        (b"\x1c\x02\x78\x00\x03Osk\x1c\x0b\x05\x00\x01x", "no dataset begins at byte 8"),
        (b"\x1c\x02\x78\x80\x09" + bytes(9), "dataset 2:120 at byte 0 has no length that can be read"),
        (b"\x1c\x02\x78\x80\x04\xff\xff\xff\xffOsk", "should have 4294967295 bytes, has 3"),
    ],
)
def test_a_damaged_block_keeps_what_stands_before_the_damage(block, fault):
    found = parse_iim(block)

    assert any(fault in one for one in found.faults)
    assert found.text("2:120") == "Osk" or "no length" in fault


def test_zeros_that_pad_a_block_are_no_fault():
    for padding in range(4):
        assert parse_iim(a_block(("2:05", "Osk Mill")) + bytes(padding)).faults == ()


def test_no_block_costs_more_than_its_limits():
    many = parse_iim(a_block(("2:25", "mill")) * 20_000)
    long = parse_iim(a_block(("2:120", b"x" * (MAX_BYTES + 9))))

    assert len(many.values) == 10_000
    assert "more than 10,000 datasets" in many.faults[-1]
    assert f"only the first {MAX_BYTES:,} were read" in long.faults[0]


# ---- characters


@pytest.mark.parametrize(
    ("declared", "raw", "text"),
    [
        # ISO/IEC 2022 and the International Register: ESC % G is UTF-8, ESC - F a set of 96 in G1.
        (b"\x1b%G", "Église, Žofie".encode(), "Église, Žofie"),
        (b"\x1b%/I", "Église".encode(), "Église"),
        (b"\x1b-A", b"\xc9glise", "Église"),
        (b"\x1b(B\x1b-A", b"\xc9glise", "Église"),
        (b"\x1b.A", b"\xc9glise", "Église"),
        (b"\x1b-B", "Žižkov".encode("iso8859-2"), "Žižkov"),
        (b"\x1b-F", "Μύλος".encode("iso8859-7"), "Μύλος"),
        (b"\x1b-L", "Мельница".encode("iso8859-5"), "Мельница"),
        (b"\x1b-M", "Değirmen".encode("iso8859-9"), "Değirmen"),
        (b"\x1b-b", b"20 \xa4", "20 €"),
    ],
)
def test_a_declared_character_set_is_followed(declared, raw, text):
    found = parse_iim(format_iim([("1:90", declared), ("2:120", raw)]))

    assert found.text("2:120") == text
    assert found.charset.is_declared
    assert not found.charset.is_guess
    assert found.faults == ()


@pytest.mark.parametrize("codec", ["utf-8", "cp1252", "mac_roman"])
def test_an_undeclared_character_set_is_decided_by_evidence_and_said_to_be_a_guess(codec):
    words = "Église Saint-Rémi, façade « nord », l’été"

    found = parse_iim(a_block(("2:120", words.encode(codec)), declared=False))

    assert found.text("2:120") == words
    assert found.charset.is_guess
    assert "no character set is declared (1:90); read as" in found.charset.words
    assert "by the evidence of its bytes" in found.charset.words


# Words of ten languages that both sets can write; the guess must not depend on French.
_WORDS = """
    Église façade où déjà çà naïf Noël cœur Œuvre œil garçon hôtel être français bientôt l’été “mill” «moulin»
    Straße Mühle Öl Ärzte Übung größe süß fünf Häuser Grüße Königsberg España niño mañana Málaga Andalucía canción
    ¿Qué? ¡Hola! Muñoz Peñón corazón São João coração irmã não é Açores câmara avó avô pôr Bjørn Århus Ærø
    smørrebrød Ålesund blå bæk København Øster Søren Malmö Göteborg Åsa älv räksmörgås Ängelholm Reykjavík
    1920–30 it’s 5° £20 ±2 café…
"""
MANY_WORDS = _WORDS.split()


@pytest.mark.parametrize("codec", ["cp1252", "mac_roman"])
def test_a_single_word_is_evidence_enough(codec):
    wrong = [
        word
        for word in MANY_WORDS
        if parse_iim(a_block(("2:25", word.encode(codec)), declared=False)).text("2:25") != word
    ]

    assert wrong == []


def test_two_programs_wrote_in_one_block_and_each_is_read_in_its_own_characters():
    block = a_block(("2:120", "Église".encode()), ("2:80", "Bjørn".encode("cp1252")), declared=False)

    found = parse_iim(block)

    assert (found.text("2:120"), found.text("2:80")) == ("Église", "Bjørn")
    assert "Windows-1252 and UTF-8" in found.charset.words


def test_a_declaration_that_the_bytes_belie_is_named():
    found = parse_iim(format_iim([UTF8, ("2:120", b"\xc9glise"), ("2:80", "Žofie".encode())]))

    assert (found.text("2:120"), found.text("2:80")) == ("Église", "Žofie")
    assert found.faults == ("IIM: 2:120 is not UTF-8 as 1:90 says; read as Windows-1252 by the evidence of its bytes",)


def test_a_character_cut_through_at_the_limit_is_left_out():
    raw = ("Ida Thornwick, Neuer Weg 14, " + "ééé").encode()[:32]

    for declared in (True, False):
        found = parse_iim(a_block(("2:80", raw), declared=declared))
        assert found.text("2:80") == "Ida Thornwick, Neuer Weg 14, é"


def test_a_designation_nobody_knows_is_named_and_the_bytes_decide():
    found = parse_iim(format_iim([("1:90", b"\x1b-~"), ("2:120", "Église".encode())]))

    assert found.text("2:120") == "Église"
    assert found.charset.is_guess
    assert "declares a character set that does not say enough" in found.faults[0]


def test_no_text_is_a_command_to_a_terminal():
    found = parse_iim(a_block(("2:120", "one\r\ntwo\rthree\x1b[2Jfour\0\0")))

    assert found.text("2:120") == "one\ntwo\nthree [2Jfour"


# ---- text that was stored wrongly


@pytest.mark.parametrize("codec", ["cp1252", "latin-1", "mac_roman"])
@pytest.mark.parametrize("words", ["Église", "Žofie Příkladová", "“Osk Mill” – façade"])
def test_text_stored_wrongly_is_shown_with_a_repair_and_not_repaired(codec, words):
    try:
        wrong = words.encode().decode(codec)
    except UnicodeDecodeError:
        wrong = "".join(words.encode()[at : at + 1].decode(codec, "replace") for at in range(len(words.encode())))
        wrong = "".join(
            chr(byte) if char == "\ufffd" else char for byte, char in zip(words.encode(), wrong, strict=True)
        )

    found = parse_iim(a_block(("2:120", wrong)))

    # Controls are not shown as they stand: Latin-1 has them where other sets have letters.
    assert found.text("2:120") == re.sub("[\x7f-\x9f]+", " ", wrong).rstrip()
    assert [repair.proposed for repair in found.repairs] == [words]
    assert f"it may be {words!r}" in found.repairs[0].words


def test_text_stored_wrongly_twice_is_undone_twice():
    once = "Église".encode().decode("cp1252")

    assert propose_repair(once.encode().decode("cp1252")) == "Église"


@given(st.text(alphabet=st.characters(min_codepoint=32, max_codepoint=0x24F, categories=["L", "N", "Zs", "P"])))
def test_a_text_is_found_to_be_stored_wrongly_only_if_its_bytes_are_utf8(text):
    repaired = propose_repair(text)

    if repaired is not None:
        assert len(repaired) < len(text)


@pytest.mark.parametrize("word", MANY_WORDS)
def test_honest_words_are_left_alone(word):
    assert propose_repair(word) is None


# ---- dates and times


@pytest.mark.parametrize(
    ("written", "edtf"),
    [
        # IIM 4.2, 2:55, and IPTC PMD 2025.1 §7.10: 00 where a part is not known.
        ("19180000", "1918"),
        ("19310700", "1931-07"),
        ("20170215", "2017-02-15"),
        ("19000000", "1900"),
        ("00000000", None),
        ("00000715", None),
        ("19180012", "1918"),  # a day without a month: read as the year, and warned of
        ("20170230", None),
        ("20171301", None),
        # What other programs write there.
        ("2004-07-13", "2004-07-13"),
        ("2004:07:13", "2004-07-13"),
        ("1931", "1931"),
        ("193107", "1931-07"),
        ("20170215\0", "2017-02-15"),
        ("        ", None),
        ("", None),
        (None, None),
        ("c. 1918", None),
        ("１９１８００００", None),
    ],
)
def test_a_date_says_as_much_as_is_filled_in(written, edtf):
    assert iim_date(written) == edtf


@pytest.mark.parametrize(
    ("written", "time"),
    [
        ("083852+0200", "08:38:52+02:00"),  # IIM 4.2, 2:60: HHMMSS±HHMM
        ("235959-0930", "23:59:59-09:30"),
        ("170000", "17:00:00"),  # no zone is added
        ("17:00:00", "17:00:00"),
        ("250000+0000", None),
        ("", None),
        (None, None),
    ],
)
def test_a_time_keeps_its_zone_and_is_given_none(written, time):
    assert iim_time(written) == time


@pytest.mark.parametrize("dataset", ["2:55", "2:62"])
def test_a_date_that_is_none_is_warned_of(dataset):
    warned = {
        date: " ".join(parse_iim(a_block((dataset, date))).warnings)
        for date in ("20170230", "19180012", "00000000", "19180000")
    }

    assert "is no date: '20170230'" in warned["20170230"]
    assert "a day without a month" in warned["19180012"]
    assert warned["00000000"] == warned["19180000"] == ""


# ---- both directions


def the_value(xmp_id, *words):
    """Return a property's value in the form XMP has it."""
    if xmp_id in ("dc:title", "dc:rights", "dc:description"):
        return lang_alt(words[0])
    if xmp_id in ("dc:subject", "photoshop:SupplementalCategories"):
        return bag(words)
    return seq(words) if xmp_id == "dc:creator" else Text(words[-1])


@pytest.mark.parametrize("row", TEXTS, ids=lambda row: row.id)
def test_a_text_within_its_limit_is_the_same_both_ways(row):
    words = "é" * (row.max_octets // 2) if row.id not in ("2:15", "2:100") else "Mil"
    packet = Packet(((name(row.xmp_id), the_value(row.xmp_id, words)),))

    predicted = list(predict_iim(packet))
    found = parse_iim(format_iim([UTF8, *predicted]))

    assert predicted == [(row.id, words.encode())]
    assert found.warnings == ()
    assert iim_properties(found) == dict(packet.properties)


@pytest.mark.parametrize("row", TEXTS, ids=lambda row: row.id)
@pytest.mark.parametrize("over", [1, 2, 500])
def test_a_text_is_cut_at_its_limit_in_octets_and_never_within_a_character(row, over):
    words = "x" + "é" * ((row.max_octets + over) // 2 + 1)
    packet = Packet(((name(row.xmp_id), the_value(row.xmp_id, words)),))

    [(dataset, raw)] = predict_iim(packet)

    assert dataset == row.id
    assert row.max_octets - 1 <= len(raw) <= row.max_octets
    assert words.startswith(raw.decode())
    assert texts(packet.get(name(row.xmp_id)))[0] == words  # the XMP value itself is not cut


@pytest.mark.parametrize("row", TEXTS, ids=lambda row: row.id)
def test_a_text_beyond_its_limit_is_warned_of_and_kept_whole(row):
    words = "x" * (row.max_octets + 1)

    found = parse_iim(a_block((row.id, words)))

    assert found.text(row.id) == words
    assert found.warnings == (
        f"{row.id} {row.title} has {row.max_octets + 1} octets; the standard allows {row.max_octets}",
    )


@pytest.mark.parametrize("row", [row for row in DATASETS.values() if not row.is_repeatable], ids=lambda row: row.id)
def test_what_may_stand_once_and_stands_twice_is_warned_of(row):
    raw = {"date": b"19310700", "time": b"083852+0200", "digit": b"5", "version": b"\0\4", "charset": b"\x1b%G"}

    found = parse_iim(format_iim([(row.id, raw.get(row.form, b"Osk"))] * 2))

    assert found.warnings == (f"{row.id} {row.title} stands more than once; the standard allows one",)


@pytest.mark.parametrize("row", [row for row in DATASETS.values() if row.xmp_id], ids=lambda row: row.id)
def test_exiv2_reads_what_we_predict_as_we_do(row):
    # exiv2 0.19.2 (its C++ library 0.28) parses the same octets.
    import exiv2

    words = {
        "date": "1931-07-12T08:38:52+02:00",
        "time": "1931-07-12T08:38:52+02:00",
        "subject": "01016000",
        "digit": "5",
    }
    value = words.get(row.form, "Façade" if row.max_octets > 3 else "Osk")
    block = format_iim(predict_iim(Packet(((name(row.xmp_id), the_value(row.xmp_id, value)),))))

    image = exiv2.ImageFactory.open(a_tiff([(33723, UNDEFINED, block)]))
    image.readMetadata()

    ours = [value for value in parse_iim(block).values if value.id == row.id]
    shown = [datum.toString() for datum in image.iptcData() if f"{datum.record()}:{datum.tag():02}" == row.id]
    plain = [dashed(value.text) if row.form in ("date", "time") else value.text for value in ours]
    assert plain == shown
    assert ours


def dashed(text: str) -> str:
    """Return a date or a time of IIM as exiv2 shows it."""
    return iim_date(text) or iim_time(text) or text


@pytest.mark.parametrize(
    ("date", "time", "xmp"),
    [
        ("19180000", None, "1918"),
        ("19310700", None, "1931-07"),
        ("20171027", None, "2017-10-27"),
        ("20171027", "083852+0200", "2017-10-27T08:38:52+02:00"),
        ("20171027", "083852", "2017-10-27T08:38:52"),
    ],
)
@pytest.mark.parametrize(("date_id", "time_id"), [("2:55", "2:60"), ("2:62", "2:63")])
def test_a_date_and_its_time_are_one_property_both_ways(date_id, time_id, date, time, xmp):
    datasets = [(date_id, date.encode())] + ([(time_id, time.encode())] if time else [])
    named = name("photoshop:DateCreated" if date_id == "2:55" else "xmp:CreateDate")

    found = iim_properties(parse_iim(a_block(*datasets)))

    assert found == {named: Text(xmp)}
    assert list(predict_iim(Packet(((named, Text(xmp)),)))) == datasets


def test_a_time_is_not_put_beside_a_day_that_is_not_known():
    found = iim_properties(parse_iim(a_block(("2:55", "19310700"), ("2:60", "083852+0200"))))

    assert found == {name("photoshop:DateCreated"): Text("1931-07")}


def test_datasets_with_a_form_of_their_own_are_read_for_what_they_say():
    block = a_block(
        ("2:04", "012:Actuality"),
        ("2:12", "IPTC:01016000:arts:architecture:"),
        ("2:12", "IPTC:04018000"),
        ("2:85", "Draughtswoman"),
        ("2:85", "Photographer"),
        ("2:80", "Ida Thornwick"),
        ("2:80", "Wenn Survey"),
        ("2:25", "Hill, East"),
        ("2:10", "5"),
    )

    found = iim_properties(parse_iim(block))

    assert found == {
        name("Iptc4xmpCore:IntellectualGenre"): Text("Actuality"),
        name("Iptc4xmpCore:SubjectCode"): bag(["01016000", "04018000"]),
        name("photoshop:AuthorsPosition"): Text("Photographer"),  # XMP part 3 table 38: the last one is kept
        name("dc:creator"): seq(["Ida Thornwick", "Wenn Survey"]),
        name("dc:subject"): bag(["Hill, East"]),
        name("photoshop:Urgency"): Text("5"),
    }


@given(st.text(max_size=60), st.integers(0, 70), st.sampled_from(["utf-8", "cp1252", "latin-1", "mac_roman"]))
def test_a_cut_text_is_the_beginning_of_the_whole_in_no_more_octets(text, limit, codec):
    text = text.encode(codec, "ignore").decode(codec)

    raw = cut(text, codec, limit)

    assert len(raw) <= limit
    assert text.startswith(raw.decode(codec))
    assert len(raw) > limit - 4 or raw == text.encode(codec)
