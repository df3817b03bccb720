"""Documents that tell of an entry of the ledger: they no longer count once it is corrected."""

from __future__ import annotations

from catalog.rules.references import format_reference
from catalog.store.plain_writing import PlainDeed
from catalog.store.rows import change_row

# A note, a form or an invoice is to the person of the entry; a certificate says that the print was made and signed.
# Letters and lists tell how things stood on their day, and go on telling that.
_TELLING = """
    SELECT a.id, a.state, a.voided_at, a.voided_because, e.kind, e.print_id,
        (SELECT count(*) FROM ledger_entry o WHERE o.print_id = e.print_id AND o.id <= e.id)
    FROM ledger_entry e CROSS JOIN document_line l ON l.print_id = e.print_id
    CROSS JOIN document a ON a.id = l.document_id
    WHERE e.id = ? AND a.state = 'issued' AND a.issued_at >= e.written_at AND CASE e.kind
        WHEN 'consigned' THEN a.kind = 'consignment note' AND a.person_id IS e.person_id
        WHEN 'lent' THEN a.kind = 'loan form' AND a.person_id IS e.person_id
        WHEN 'sold' THEN a.kind = 'invoice' AND a.person_id IS e.person_id
        WHEN 'pulled' THEN a.kind = 'certificate'
        WHEN 'signed' THEN a.kind = 'certificate'
        ELSE false
    END
    ORDER BY a.id
"""


def void_with_entry(deed: PlainDeed, entry_id: int) -> None:
    """Void the documents in force that tell of an entry about to be corrected."""
    for document_id, state, at, because, kind, print_id, number in deed.raw.execute(_TELLING, (entry_id,)).fetchall():
        told = f"entry {number} of {format_reference('print', print_id)} ({kind}), which it tells of, was corrected"
        before = {"state": state, "voided_at": at, "voided_because": because}
        after = {"state": "voided", "voided_at": deed.at, "voided_because": told}
        change_row(deed.raw, "document", document_id, after)
        deed.record_change("document", document_id, "changed", before, after)
