"""Settings: papers among them."""

from __future__ import annotations

import pytest

from catalog.errors import SettingsError
from catalog.rules.papers import GENERIC_PAPERS
from catalog.store.new import make_archive
from catalog.store.settings import SETTINGS_NAME, read_settings


def test_a_new_archive_has_the_generic_papers_written_out_to_be_edited(tmp_path):
    archive, _ = make_archive(tmp_path / "archive")

    assert archive.settings.papers == GENERIC_PAPERS
    assert '[papers."matt cotton"]' in (archive.folder / SETTINGS_NAME).read_text("utf-8")


def test_an_archive_made_before_there_were_papers_has_the_generic_ones(tmp_path):
    (tmp_path / SETTINGS_NAME).write_text('[archive]\nname = "old"\n', "utf-8")

    assert read_settings(tmp_path).papers == GENERIC_PAPERS


def test_papers_written_by_hand_are_the_only_ones(tmp_path):
    (tmp_path / SETTINGS_NAME).write_text(
        '[papers."rag"] # mine\nwhite_l = 95.5\nblack_l = 16\nsource = "measured"\n', "utf-8"
    )

    (paper,) = read_settings(tmp_path).papers

    assert (paper.name, paper.white_l, paper.black_l) == ("rag", 95.5, 16.0)


def test_a_wrong_paper_is_refused_with_the_file_and_its_name(tmp_path):
    (tmp_path / SETTINGS_NAME).write_text('[papers."rag"]\nwhite_l = 96\nblack_l = 16\n', "utf-8")

    with pytest.raises(SettingsError, match=r"tiebeam.toml: \[papers.'rag'\] lacks source"):
        read_settings(tmp_path)
