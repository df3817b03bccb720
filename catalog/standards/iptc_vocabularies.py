"""Which values the controlled properties of the IPTC standard take, as far as published lists say."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Final

__all__ = ["DIGITAL_SOURCE_TYPES", "fault_in_choice", "unknown_choice"]


def _terms(scheme: str, words: str) -> frozenset[str]:
    return frozenset(scheme + word for word in words.split())


# NewsCodes "digitalsourcetype". Its definitions put "any other transparent medium" with film, so a glass
# plate is negativeFilm and a lantern slide positiveFilm; PMD 2025.1 §11.13: the value is the whole URI.
_SOURCE_TYPE: Final = "http://cv.iptc.org/newscodes/digitalsourcetype/"
DIGITAL_SOURCE_TYPES: Final = {
    "negative": f"{_SOURCE_TYPE}negativeFilm",
    "positive": f"{_SOURCE_TYPE}positiveFilm",
    "print": f"{_SOURCE_TYPE}print",
}
# The scheme grows and retires terms (softwareImage, digitalArt and minorHumanEdits are retired but still met).
_SOURCE_TYPES: Final = _terms(
    _SOURCE_TYPE,
    "digitalCapture computationalCapture negativeFilm positiveFilm print minorHumanEdits humanEdits "
    "compositeWithTrainedAlgorithmicMedia algorithmicallyEnhanced softwareImage digitalArt digitalCreation "
    "dataDrivenMedia trainedAlgorithmicMedia algorithmicMedia screenCapture virtualRecording composite "
    "compositeCapture compositeSynthetic",
)

# PLUS License Data Format 2.0.1, vocabulary identifiers; cross-read in several public copies.
_PLUS: Final = "http://ns.useplus.org/ldf/vocab/"

_TELEPHONES: Final = _terms(_PLUS, "work cell fax home pager")
_TERMS: Final[dict[str, tuple[str, frozenset[str]]]] = {
    "Iptc4xmpExt:DigitalSourceType": ("the NewsCodes digitalsourcetype", _SOURCE_TYPES),
    "plus:DataMining": (
        "the PLUS vocabulary of data mining",
        _terms(
            _PLUS,
            "DMI-UNSPECIFIED DMI-ALLOWED DMI-PROHIBITED DMI-PROHIBITED-AIMLTRAINING DMI-PROHIBITED-GENAIMLTRAINING "
            "DMI-PROHIBITED-EXCEPTSEARCHENGINEINDEXING DMI-PROHIBITED-SEECONSTRAINT "
            "DMI-PROHIBITED-SEEEMBEDDEDRIGHTSEXPR DMI-PROHIBITED-SEELINKEDRIGHTSEXPR",
        ),
    ),
    "plus:MinorModelAgeDisclosure": (
        "the PLUS vocabulary of ages",
        _terms(_PLUS, "AG-UNK AG-U14 " + " ".join(f"AG-A{age}" for age in range(15, 26))),
    ),
    "plus:ModelReleaseStatus": ("the PLUS vocabulary of model releases", _terms(_PLUS, "MR-NON MR-NAP MR-UMR MR-LMR")),
    "plus:PropertyReleaseStatus": (
        "the PLUS vocabulary of property releases",
        _terms(_PLUS, "PR-NON PR-NAP PR-UPR PR-LPR"),
    ),
    "plus:LicensorTelephoneType1": ("the PLUS vocabulary of telephones", _TELEPHONES),
    "plus:LicensorTelephoneType2": ("the PLUS vocabulary of telephones", _TELEPHONES),
}

_COUNTRY: Final = (re.compile("[A-Z]{2,3}"), "the two or three capital letters of ISO 3166-1")
_FORMS: Final = {
    "Iptc4xmpCore:CountryCode": _COUNTRY,
    "Iptc4xmpExt:CountryCode": _COUNTRY,
    # NewsCodes "scene" and "subjectcode" number their terms so (common knowledge; the reference image agrees).
    "Iptc4xmpCore:Scene": (re.compile("[0-9]{6}"), "the six digits of a NewsCodes scene"),
    "Iptc4xmpCore:SubjectCode": (re.compile("[0-9]{8}"), "the eight digits of a NewsCodes subject"),
    # Exif 2.32 §4.6.6, GPSAltitudeRef: 0 above sea level, 1 below.
    "exif:GPSAltitudeRef": (re.compile("[01]"), "0 above sea level or 1 below it"),
}
_NOT_NEGATIVE: Final = frozenset(
    ("Iptc4xmpExt:MaxAvailHeight", "Iptc4xmpExt:MaxAvailWidth", "Iptc4xmpExt:ModelAge", "Iptc4xmpExt:rbRx")
)


def _is_rating(text: str) -> bool:
    # XMP part 2, xmp:Rating: -1 for rejected, 0 for unrated, else up to 5. The form was looked at before.
    rating = Decimal(text)
    return rating == -1 or 0 <= rating <= 5


# A choice of few that the standard itself makes: anything else is not a value of the property.
_CHOICES: Final[dict[str, tuple[Callable[[str], bool], str]]] = {
    # PMD 2025.1 §12.7.1 and §12.7.2
    "Iptc4xmpExt:rbShape": (frozenset(("rectangle", "circle", "polygon")).__contains__, "rectangle, circle or polygon"),
    "Iptc4xmpExt:rbUnit": (frozenset(("pixel", "relative")).__contains__, "pixel or relative"),
    "xmp:Rating": (_is_rating, "-1, or 0 to 5"),
}


def fault_in_choice(xmp_id: str, text: str) -> str | None:
    """Return what a property takes when ``text``, well-formed for its type, is none of the few values it may have."""
    allows, words = _CHOICES.get(xmp_id, (lambda _: True, ""))
    return None if allows(text) else words


def unknown_choice(xmp_id: str, text: str) -> str | None:
    """Return where a value should come from when it is not in the list we know; lists of others grow."""
    if xmp_id in _TERMS and text not in _TERMS[xmp_id][1]:
        return f"a term of {_TERMS[xmp_id][0]}"
    if xmp_id in _FORMS and _FORMS[xmp_id][0].fullmatch(text) is None:
        return _FORMS[xmp_id][1]
    return "a number from 0 upwards" if xmp_id in _NOT_NEGATIVE and text.startswith("-") else None
