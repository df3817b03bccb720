"""Text files as tables: encodings, separators, and what is refused. Cases E01 and E03."""

from __future__ import annotations

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalog.errors import EncodingUnsureError, IntakeError
from catalog.intake.tables import column_letter, read_table


def texts(table):
    return [row.texts for row in table.rows]


def a_file(folder, content, name="cards.csv"):
    path = folder / name
    path.write_bytes(content)
    return path


def test_e01_a_classic_macintosh_file_parts_its_rows_and_keeps_its_accents(tmp_path):
    path = a_file(tmp_path, b"Neg,Village\r78-14,Saint-\x83loi\r")

    table = read_table(path)

    assert texts(table) == [("Neg", "Village"), ("78-14", "Saint-Éloi")]
    assert table.encoding == "mac_roman"
    assert "carriage return" in table.remarks[0]


def test_e03_a_curly_apostrophe_in_utf_8_is_never_read_as_windows_1252(tmp_path):
    path = a_file(tmp_path, "Neg,Building\n78-14,St. John’s\n".encode())

    table = read_table(path)

    assert table.rows[1].texts == ("78-14", "St. John’s")


@pytest.mark.parametrize("encoding", ["cp1252", "mac_roman", "latin-1", "macintosh"])
def test_e03_naming_an_old_encoding_for_utf_8_is_refused_with_the_word_it_would_spoil(tmp_path, encoding):
    path = a_file(tmp_path, "Neg,Building\n78-14,St. John’s\n".encode())

    with pytest.raises(IntakeError, match=r"is UTF-8; as .*John’s"):
        read_table(path, encoding=encoding)


def test_words_spoiled_before_the_file_was_saved_are_pointed_out_and_left(tmp_path):
    spoiled = "Neg,Building\n78-14,St. John’s\n".encode().decode("cp1252")
    path = a_file(tmp_path, spoiled.encode())

    table = read_table(path)

    assert table.rows[1].texts[1] == "St. Johnâ€™s"
    assert "line 2" in table.remarks[0]
    assert "John’s" in table.remarks[0]


@pytest.mark.parametrize(
    ("encoding", "mark"),
    [
        ("utf-8", b""),
        ("utf-8", b"\xef\xbb\xbf"),
        ("utf-16-le", b"\xff\xfe"),
        ("utf-16-be", b"\xfe\xff"),
        ("utf-16-le", b""),
        ("utf-16-be", b""),
    ],
)
def test_unicode_files_are_read_with_and_without_their_mark(tmp_path, encoding, mark):
    path = a_file(tmp_path, mark + "Neg;Village\r\n78-14;Église\r\n".encode(encoding))

    table = read_table(path)

    assert texts(table) == [("Neg", "Village"), ("78-14", "Église")]


def test_an_uncertain_encoding_is_asked_about_with_the_words_that_differ(tmp_path):
    path = a_file(tmp_path, "Neg,Village\r\n78-14,Église\r\n78-15,Osk\r\n".encode("cp1252"))

    with pytest.raises(EncodingUnsureError) as caught:
        read_table(path)

    assert caught.value.differing["cp1252"] == ["Église"]
    assert caught.value.differing["mac_roman"] == ["…glise"]
    assert "--encoding" in str(caught.value)
    assert "Osk" not in str(caught.value)


@pytest.mark.parametrize(
    ("encoding", "word"), [("cp1252", "Église"), ("mac_roman", "…glise"), ("windows-1252", "Église")]
)
def test_a_named_encoding_settles_it(tmp_path, encoding, word):
    path = a_file(tmp_path, "Neg,Village\n78-14,Église\n".encode("cp1252"))

    assert read_table(path, encoding=encoding).rows[1].texts[1] == word


def test_bytes_that_read_alike_in_every_old_encoding_need_no_question(tmp_path):
    # 0xA9 is the copyright sign in Windows-1252 and in Mac Roman (Unicode's CP1252.TXT and ROMAN.TXT).
    path = a_file(tmp_path, b"Neg,Remarks\n78-14,\xa9 Thornwick\n")

    assert read_table(path).rows[1].texts[1] == "© Thornwick"


@pytest.mark.parametrize("encoding", ["klingon", "rot13", "base64", "hex", "\x00", "zip"])
def test_a_name_that_is_no_encoding_is_refused(tmp_path, encoding):
    path = a_file(tmp_path, b"Neg,Village\n78-14,Osk\n")

    with pytest.raises(IntakeError, match="no encoding"):
        read_table(path, encoding=encoding)


def test_a_named_encoding_that_does_not_fit_names_the_line(tmp_path):
    path = a_file(tmp_path, b"Neg,Village\n78-14,Osk\n78-15,\xc9glise\n")

    with pytest.raises(IntakeError, match="line 3"):
        read_table(path, encoding="utf-8")


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_separator_is_told_by_the_shape_of_the_rows(tmp_path, delimiter):
    lines = [["Neg", "Village", "Remarks"], ["78-14", "Osk", "1, 2, 3"], ["78-15", "Osk", "a; b; c; d"]]
    quoted = "\n".join(delimiter.join(f'"{cell}"' for cell in line) for line in lines)
    path = a_file(tmp_path, quoted.encode())

    table = read_table(path)

    assert table.delimiter == delimiter
    assert texts(table) == [tuple(line) for line in lines]


def test_a_separator_stated_in_the_first_line_is_followed(tmp_path):
    path = a_file(tmp_path, b"sep=;\r\nNeg;Remarks\r\n78-14;a, b\r\n")

    table = read_table(path)

    assert [(row.number, row.texts) for row in table.rows] == [
        (2, ("Neg", "Remarks")),
        (3, ("78-14", "a, b")),
    ]


def test_a_line_break_within_quotes_starts_no_row(tmp_path):
    path = a_file(tmp_path, b'Neg,Remarks\n78-14,"first\nsecond"\n78-15,x\n')

    table = read_table(path)

    assert [(row.number, row.texts) for row in table.rows][1:] == [
        (2, ("78-14", "first\nsecond")),
        (3, ("78-15", "x")),
    ]


def test_blank_rows_are_counted_and_listed(tmp_path):
    path = a_file(tmp_path, b"Neg,Village\n,\n\n78-14,Osk\n")

    table = read_table(path)

    assert table.blank == (2, 3)
    assert table.rows[1].number == 4


def test_lone_quotation_marks_are_ditto_marks_and_swallow_no_rows(tmp_path):
    path = a_file(tmp_path, b'Neg,Village,Box\n78-14,Osk,1\n78-15,",2\n78-16, " ,3\n78-17,Osk,"\n')

    table = read_table(path)

    assert texts(table)[2:] == [("78-15", '"', "2"), ("78-16", '"', "3"), ("78-17", "Osk", '"')]
    assert "ditto" in table.remarks[0]


def test_quotation_marks_that_follow_the_rules_are_left_alone(tmp_path):
    path = a_file(tmp_path, b'Neg,Remarks,Box\n78-14,"Mill,",1\n78-15,"""Oske"" [sic]",2\n78-16,"""",3\n')

    table = read_table(path)

    assert texts(table)[1:] == [("78-14", "Mill,", "1"), ("78-15", '"Oske" [sic]', "2"), ("78-16", '"', "3")]
    assert table.remarks == ()


def test_a_quotation_never_closed_is_named_by_its_row(tmp_path):
    path = a_file(tmp_path, b'Neg,Remarks\n78-14,fine\n78-15,"never closed\n78-16,x\n78-17,y\n')

    with pytest.raises(IntakeError, match=r"row 3: a quotation mark"):
        read_table(path)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\r\n \r\n", "empty"),
        (b"\x00" * 4096, "empty"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, r"\.xlsx"),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "JPEG"),
        (b"II*\x00\x08\x00\x00\x00", "scans add"),
        (b"\x89PNG\r\n\x1a\n", "PNG"),
        (b"%PDF-1.4", "PDF"),
        (b"{\\rtf1 Neg}", "word processor"),
        (b"<html><table><tr><td>Neg</td></tr></table></html>", "web page"),
        (b"<?xml version='1.0'?><cards/>", "XML"),
        (b"SQLite format 3\x00", "database"),
        (b"\x1f\x8b\x08\x00", "compressed"),
        (b"Neg,Village\n78\x0014,Osk\n", "NUL"),
        (b"N\x00e\x00g\x00\x00\x00\xff", "NUL"),
    ],
)
def test_what_is_no_card_index_is_refused_in_one_line(tmp_path, content, said):
    path = a_file(tmp_path, content)

    with pytest.raises(IntakeError, match=said) as caught:
        read_table(path)

    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("cards.csv")


def test_a_folder_a_missing_file_and_an_impossible_name_are_refused(tmp_path):
    for path in (tmp_path, tmp_path / "nowhere.csv", tmp_path / "a\x00b.csv"):
        with pytest.raises(IntakeError) as caught:
            read_table(path)
        assert "\n" not in str(caught.value)


def test_a_text_named_like_a_workbook_is_refused(tmp_path):
    path = a_file(tmp_path, b"Neg,Village\n78-14,Osk\n", "cards.xlsx")

    with pytest.raises(IntakeError, match=r"rename it to \.csv"):
        read_table(path)


def test_a_sheet_cannot_be_chosen_in_a_text_file(tmp_path):
    with pytest.raises(IntakeError, match="no sheets"):
        read_table(a_file(tmp_path, b"Neg,Village\n78-14,Osk\n"), sheet="Cards")


@pytest.mark.parametrize("delimiter", ["", '"', "ab", "\n", "x"])
def test_a_separator_that_cannot_be_one_is_refused(tmp_path, delimiter):
    with pytest.raises(IntakeError, match="cannot separate"):
        read_table(a_file(tmp_path, b"Neg,Village\n78-14,Osk\n"), delimiter=delimiter)


def test_a_cell_beyond_all_measure_is_refused_by_row(tmp_path):
    path = a_file(tmp_path, b"Neg,Remarks\n78-14," + b"x" * 200_000 + b"\n")

    with pytest.raises(IntakeError, match="row 2"):
        read_table(path)


def test_a_row_of_a_thousand_columns_is_refused(tmp_path):
    path = a_file(tmp_path, b"Neg,Remarks\n78-14" + b"," * 5000 + b"\n")

    with pytest.raises(IntakeError, match="columns"):
        read_table(path)


def test_columns_are_named_as_a_spreadsheet_names_them():
    assert [column_letter(column) for column in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300), st.sampled_from([None, "utf-8", "cp1252", "utf-16", "mac_roman"]))
def test_any_bytes_at_all_are_read_or_refused_never_a_crash(tmp_path_factory, content, encoding):
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(b"Neg,Village\n" + content)

    try:
        table = read_table(path, encoding=encoding)
    except IntakeError as exc:
        assert str(exc).startswith("any.csv")  # noqa: PT017 - either outcome is right; the message must name the file
    else:
        assert table.rows


@settings(max_examples=200)
@given(
    st.lists(
        st.lists(st.text(st.characters(blacklist_categories=("Cs", "Cc")), max_size=10), min_size=3, max_size=3),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from([",", ";", "\t"]),
)
def test_what_the_standard_writer_writes_is_read_back(tmp_path_factory, lines, delimiter):
    path = tmp_path_factory.getbasetemp() / "written.csv"
    lines = [["Neg", "Village", "Remarks"], *lines]
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, delimiter=delimiter).writerows(lines)

    table = read_table(path, delimiter=delimiter)

    expected = [tuple(cell.strip() for cell in line) for line in lines]
    assert [row.texts for row in table.rows] == [line for line in expected if any(line)]
