"""Rules of edit versions: sides in question, which version stands, names of files."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalog.rules.versions import final_replacements, is_side_open, version_file_name


@pytest.mark.parametrize(
    ("said", "seen", "is_open"),
    [(None, True, True), (True, True, False), (False, True, False), (None, None, False), (None, False, False)],
)
def test_j16_a_side_is_in_question_when_it_was_seen_reversed_and_nobody_answered(said, seen, is_open):
    assert is_side_open(said=said, seen=seen) == is_open


def test_of_versions_that_replace_each_other_the_last_stand():
    replaced_by = {1: [2], 2: [3, 4], 7: []}

    assert final_replacements(1, replaced_by) == [3, 4]
    assert final_replacements(3, replaced_by) == [3]
    assert final_replacements(7, replaced_by) == [7]


@pytest.mark.parametrize(
    ("number", "name"),
    [
        ("78-14", "78-14 W3.tif"),
        ("74/02: a", "74-02- a W3.tif"),
        ("../../etc/passwd", "etc-passwd W3.tif"),
        ("Łąka 7", "Łąka 7 W3.tif"),
        ("\n\0", "W3.tif"),
        ("", "W3.tif"),
    ],
)
def test_a_version_file_is_called_by_number_and_reference(number, name):
    assert version_file_name(number, "W3") == name


@given(st.text())
def test_a_number_never_leads_out_of_the_folder_whatever_is_written(number):
    name = version_file_name(number, "W3")

    assert not set(name) & set('/\\:*?"<>|\0\n')
    assert not name.startswith(".")
    assert len(name.encode("utf-8")) <= 130


def test_a_long_number_makes_no_name_that_a_disk_refuses():
    # Letters of four bytes each; common file systems take names of 255 bytes.
    assert len(version_file_name("\U00020000" * 300, "W3").encode("utf-8")) <= 130
