"""The kinds of ledger entry: what each needs, and in which states of a print it can come."""

from __future__ import annotations

from dataclasses import dataclass

IN_HAND, CONSIGNED, LENT, SHOWN, SOLD, GIVEN = "in hand", "consigned", "lent", "on show", "sold", "given"
LOST, STOLEN, SPOILED, DESTROYED, REPLACED = "lost", "stolen", "spoiled", "destroyed", "replaced"
VOID, FREE = "never made", "free"
PRINT_STATES = (
    IN_HAND, CONSIGNED, LENT, SHOWN, SOLD, GIVEN, LOST, STOLEN, SPOILED, DESTROYED, REPLACED, VOID,
)  # fmt: skip
"""``never made`` is a print whose pulling was taken back; ``free`` is the state of a number that has no print."""

AWAY_FROM_HOUSE = frozenset({CONSIGNED, LENT, SHOWN})
WITH_OWNER = frozenset({SOLD, GIVEN})
GONE = frozenset({LOST, STOLEN})
ENDED = frozenset({SPOILED, DESTROYED, REPLACED, VOID})
LIVE = frozenset(PRINT_STATES) - ENDED
AT_HAND = LIVE - GONE
OURS_TO_GIVE = frozenset({IN_HAND}) | AWAY_FROM_HOUSE


@dataclass(frozen=True, slots=True)
class Kind:
    """
    What one kind of entry needs (``needs``) and may say besides (``may``), and the states it can come in.

    ``moves`` says that it changes who has the print, who owns it, or its state. ``leaves`` says that with it the
    print leaves the house, so that its number can never be free again. ``on_number`` kinds may stand on a print
    number that has no print yet.
    """

    word: str
    states: frozenset[str]
    needs: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    moves: bool = False
    leaves: bool = False
    on_number: bool = False


_FREE = frozenset({FREE})
_TABLE = (
    Kind("pulled", _FREE | {VOID}, may=("person", "place"), moves=True),
    Kind("signed", AT_HAND, may=("person", "place")),
    Kind("promised", OURS_TO_GIVE | _FREE, ("person",), ("price", "due"), on_number=True),
    Kind("reserved", OURS_TO_GIVE | _FREE, ("person", "due"), ("price",), on_number=True),
    Kind("released", OURS_TO_GIVE | _FREE | GONE | {SPOILED, DESTROYED}, (), ("person",), on_number=True),
    Kind("drawer", frozenset({IN_HAND}), ("place",)),
    Kind("framed", AT_HAND, may=("person", "place", "price")),
    Kind("consigned", frozenset({IN_HAND}), ("person",), ("place", "price", "due"), moves=True, leaves=True),
    Kind("lent", frozenset({IN_HAND}) | WITH_OWNER, ("person",), ("place", "price", "due"), moves=True, leaves=True),
    Kind("shown", AT_HAND, ("place",), ("person", "due", "price"), moves=True, leaves=True),
    Kind("commission", frozenset(PRINT_STATES) - {VOID}, ("person", "price"), ()),
    Kind("sold", AT_HAND, ("person",), ("place", "price", "from"), moves=True, leaves=True),
    Kind("bought back", WITH_OWNER, (), ("person", "place", "price"), moves=True),
    Kind("given", AT_HAND, ("person",), ("place", "price", "from"), moves=True, leaves=True),
    Kind("returned", AWAY_FROM_HOUSE, (), ("person", "place"), moves=True),
    Kind("lost", AT_HAND, (), ("person", "place"), moves=True, leaves=True),
    Kind("stolen", AT_HAND, (), ("person", "place"), moves=True, leaves=True),
    Kind("found", GONE | {REPLACED}, (), ("person", "place"), moves=True),
    Kind("damaged", AT_HAND | {REPLACED}, ("words",), ("person", "place")),
    Kind("condition report", AT_HAND | {REPLACED}, ("words",), ("person", "place")),
    Kind("spoiled", frozenset({IN_HAND}), ("words",), ("person", "place"), moves=True),
    Kind("destroyed", LIVE | {SPOILED, REPLACED}, ("words",), ("person", "place"), moves=True),
    Kind("replaced", GONE | {SPOILED, DESTROYED}, ("words", "replacement"), (), moves=True),
    Kind("corrected", frozenset((*PRINT_STATES, FREE)), ("words", "corrects"), (), on_number=True),
)
KINDS = {kind.word: kind for kind in _TABLE}
LEDGER_KINDS = tuple(KINDS)
LEAVING = tuple(kind.word for kind in _TABLE if kind.leaves)
ON_NUMBER = tuple(kind.word for kind in _TABLE if kind.on_number)
HOLDS = ("promised", "reserved")
PRICED = frozenset({"consigned", "lent", "shown", "sold", "bought back", "given"})
"""Kinds whose price says what the print is worth: agreed with a gallery, insured, or paid."""
