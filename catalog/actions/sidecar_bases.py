"""What was last said in a sidecar, moved without touching the file: so a difference is settled, and undone."""

from __future__ import annotations

from pathlib import PurePath
from typing import Literal

from catalog import clock
from catalog.actions.sidecar_looking import ScanSeen
from catalog.outputs.sidecar_merge import Base, FieldMerge, digits_of
from catalog.standards.xmp import Array, Value
from catalog.store.sidecars import WrittenSidecar, remember_sidecars
from catalog.store.writing import Writing

Keep = Literal["catalogue", "sidecar"]


def settled_base(base: Base, field: FieldMerge, keep: Keep) -> Base:
    """
    Return the base in which a field is settled.

    The catalogue's stands when the base is what they say, so that only we have changed it; the sidecar's stands
    when the base is what we say, so that only they have.
    """
    said, settled = dict(base.said), dict(base.settled)
    settled.pop(field.name, None)
    common = _in_our_languages(field) if keep == "catalogue" else field.ours
    if common is None:
        said.pop(field.name, None)
    else:
        said[field.name] = common
    if keep == "sidecar":
        settled[field.name] = digits_of(field.theirs)
    return Base(said, settled)


def _in_our_languages(field: FieldMerge) -> Value | None:
    """Return what they say, of a language alternative in the languages that we speak: others are theirs for good."""
    theirs = field.theirs
    if not (isinstance(field.ours, Array) and field.ours.is_lang_alt and isinstance(theirs, Array)):
        return theirs
    spoken = {(item.language or "").lower() for item in field.ours.items}
    kept = tuple(item for item in theirs.items if (item.language or "").lower() in spoken)
    return Array(theirs.kind, kept) if kept else None


def remember_base(writing: Writing, scan: ScanSeen, base: Base) -> None:
    """Keep a base for a scan's sidecar, which itself is not touched."""
    kept = scan.kept
    if kept is not None:
        row = WrittenSidecar(scan.scan_id, kept.name, kept.sha256, kept.written_at, base.to_bytes())
    else:
        file_name = PurePath(scan.sidecar or "").name
        row = WrittenSidecar(scan.scan_id, file_name, scan.sidecar_sha256 or "", clock.timestamp(), base.to_bytes())
    remember_sidecars(writing, [row])
