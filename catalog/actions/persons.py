"""Persons and firms: adding and correcting them. The daybook never tells an address or a contact."""

from __future__ import annotations

from typing import TypedDict, Unpack

from catalog.actions.corrections import correct_record, refuse_no_change
from catalog.actions.desk import AT_DESK, Desk, at_desk, called, get_record, join_phrases
from catalog.actions.facts import check_facts
from catalog.model import Person
from catalog.rules.references import format_reference
from catalog.store.archive import Archive

_PRIVATE = frozenset({"address", "contact"})


class PersonFacts(TypedDict, total=False):
    """What may be said of a person or firm."""

    name: str
    kind: str
    role: str | None
    address: str | None
    contact: str | None


def add_person(
    archive: Archive,
    *,
    name: str,
    kind: str = "person",
    role: str | None = None,
    address: str | None = None,
    contact: str | None = None,
    desk: Desk = AT_DESK,
) -> int:
    """Add a person or firm and return its id."""
    facts = {"name": name, "kind": kind, "role": role, "address": address, "contact": contact}
    with at_desk(archive, "persons add", desk) as writing:
        person = Person(**check_facts(Person, facts))
        writing.session.add(person)
        writing.session.flush()
        told = join_phrases(person.name, person.role, "a firm" if person.kind == "firm" else None)
        writing.say(f"added {told} ({format_reference('person', person.id)})")
        return person.id


def correct_person(archive: Archive, person_id: int, *, desk: Desk = AT_DESK, **facts: Unpack[PersonFacts]) -> None:
    """Correct what is given of a person or firm."""
    with at_desk(archive, "persons correct", desk) as writing:
        person = get_record(writing.session, Person, person_id)
        what = called(writing, "person", person_id)
        changed = correct_record(writing, person, facts, private=_PRIVATE)
        refuse_no_change(changed, what)
        writing.say(f"corrected {what}: {join_phrases(*changed)}")
