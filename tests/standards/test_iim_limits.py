"""What is longer than IIM has room for, by the limits that ``iim_datasets`` has from IIM 4.2."""

from __future__ import annotations

import pytest

from catalog.standards.iim_datasets import DATASETS
from catalog.standards.iim_limits import over_iim
from catalog.standards.iptc_table import PROPERTIES
from catalog.standards.xmp import Text, Value, bag, lang_alt, name, seq

LIMITED = {row.xmp_id: row for row in PROPERTIES.values() if row.iim_max_octets and row.value_type != "Date"}


def holding(value_type: str, text: str) -> Value:
    """Return a value of a property's form with one text."""
    if value_type == "LangAlt":
        return lang_alt(text, "en")
    return {"Bag": bag, "Seq": seq}.get(value_type.partition("<")[0], lambda texts: Text(texts[0]))([text])


def test_every_text_of_iim_that_the_standard_has_a_property_for_is_measured():
    mapped = {row.xmp_id for row in DATASETS.values() if row.xmp_id in PROPERTIES and row.form not in ("date", "time")}

    assert set(LIMITED) == mapped


@pytest.mark.parametrize("xmp_id", LIMITED)
def test_a_text_at_its_limit_is_silent_and_one_octet_more_is_told(xmp_id):
    row = LIMITED[xmp_id]
    # IIM 4.2: an attribute has three digits and a colon before its 64 octets of text.
    dataset = next(one for one in DATASETS.values() if one.xmp_id == xmp_id)
    limit = dataset.max_octets - 4 * (dataset.form == "genre")
    full = "x" * (limit % 2) + "é" * (limit // 2)
    if dataset.form == "subject":  # IIM holds the code in a form of its own
        limit, full = row.iim_max_octets, "x" * row.iim_max_octets

    at_limit = over_iim({name(xmp_id): holding(row.value_type, full)})
    beyond = over_iim({name(xmp_id): holding(row.value_type, f"{full}x")})

    assert at_limit == ()
    assert [(one.octets, one.limit, one.text) for one in beyond] == [(limit + 1, limit, f"{full}x")]
