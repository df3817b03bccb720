"""Dates as a person types them: plain words or EDTF, kept with the words they were given in."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalog.model import RecordedDate
    from catalog.store.archive import Archive


def typed_date(archive: Archive, text: str, *, event: bool = True) -> RecordedDate:
    """
    Return a typed date with its words; an empty text is no date at all.

    ``event`` says whether it dates one happening ("before 1975" is then one day before it) or a state. The century
    of a two-digit year comes from the archive's settings.

    Raises:
        DateWordsError: the words say no date that can be kept, or may mean several.
    """
    from catalog.dates import parse_words
    from catalog.model import RecordedDate

    if not text.strip():
        return RecordedDate()
    return RecordedDate.of(parse_words(text, century=archive.settings.dates_century, event=event), text.strip())
