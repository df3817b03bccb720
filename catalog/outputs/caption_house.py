"""What the archive's settings say of every picture: the photographer, the rights, what is for the public."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from catalog.errors import SettingsError
from catalog.outputs.sidecar_captions import Rights
from catalog.rules.folding import fold
from catalog.standards.iptc_simple import fault_in_uri, has_scheme
from catalog.standards.iptc_vocabularies import unknown_choice
from catalog.store.settings import SETTINGS_NAME, Settings

__all__ = ["House"]

# PLUS License Data Format 2.0.1: its terms are URIs that begin so.
_PLUS: Final = "http://ns.useplus.org/ldf/vocab/"
_SAYS_COPYRIGHT: Final = ("©", "(c)", "copyright", "all rights reserved")


@dataclass(frozen=True, slots=True)
class House:
    """What the archive's settings say of every picture, and what of it is for the public."""

    photographer: str
    notice: str
    usage_terms: str
    language: str
    medium: str
    """What a scan is of, where nothing else says so."""
    public_notes: frozenset[str]
    """Headings, folded, under which notes are written for the public."""
    licence: Rights = field(default_factory=Rights)

    @classmethod
    def of(cls, settings: Settings) -> House:
        """
        Return what the settings say.

        Raises:
            SettingsError: an address is none, or a term is none of its vocabulary.
        """
        return cls(
            settings.archive_photographer, settings.rights_notice, settings.rights_usage_terms,
            settings.sidecars_language, settings.scans_medium, frozenset(map(fold, settings.sidecars_public_notes)),
            _rights(settings),
        )  # fmt: skip


def _rights(settings: Settings) -> Rights:
    notice, photographer = settings.rights_notice, settings.archive_photographer
    names_photographer = bool(photographer) and fold(photographer) in fold(notice)
    is_marked = settings.rights_marked
    if is_marked is None and any(words in notice.casefold() for words in _SAYS_COPYRIGHT):
        is_marked = True
    return Rights(
        credit=settings.rights_credit,
        owner=settings.rights_owner or (photographer if names_photographer and is_marked else ""),
        is_marked=is_marked,
        web_statement=_address("web_statement", settings.rights_web_statement),
        licensor=settings.rights_licensor,
        licensor_url=_address("licensor_url", settings.rights_licensor_url),
        data_mining=_data_mining(settings.rights_data_mining),
        other_constraints=settings.rights_other_constraints,
    )


def _address(key: str, text: str) -> str:
    if text and (fault_in_uri(text) or not has_scheme(text)):
        raise SettingsError(
            f"{SETTINGS_NAME}: [rights] {key} = {text!r} is no address such as https://example.org/rights."
        )
    return text


def _data_mining(text: str) -> str:
    term = text if not text or ":" in text else f"{_PLUS}{text}"
    wanted = unknown_choice("plus:DataMining", term) if term else None
    if wanted:
        raise SettingsError(
            f"{SETTINGS_NAME}: [rights] data_mining = {text!r} is not {wanted}, such as DMI-PROHIBITED."
        )
    return term
