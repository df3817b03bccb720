"""What a column of an old ledger of prints can hold, and the headings that such columns are known by."""

from __future__ import annotations

FIELDS = {
    "edition": "the edition: its reference, its title, or the title of its view",
    "title": "the title of the picture, where no column names the edition",
    "number": "the print number: 7/15, AP II/III, 7 of 15, 7",
    "of": "how many the run has, where the number stands alone",
    "size": "the size, as the edition names it",
    "sheet": "the number of the sheet it was printed from",
    "image_size": "the size of the picture",
    "paper_size": "the size of the paper",
    "paper": "the paper",
    "process": "contact, enlargement, pigment ...",
    "inks": "inks",
    "printer": "printer",
    "markings": "what is on the back, word for word",
    "pulled": "when it was pulled",
    "pulled_by": "who pulled it, if not the photographer",
    "signed": "whether it is signed, when, or where and with what",
    "consigned_to": "to whom it was consigned",
    "consigned": "when it was consigned",
    "due": "when it is due back",
    "value": "the value agreed or insured",
    "lent_to": "to whom it was lent",
    "lent": "when it was lent",
    "returned": "when it came back",
    "sold_to": "to whom it was sold",
    "sold": "when it was sold",
    "price": "what was paid",
    "given_to": "to whom it was given",
    "given": "when it was given",
    "status": "sold, consigned, destroyed, replacement ...",
    "ended": "when it was destroyed, spoiled, lost or stolen",
    "proof": "what proves the end of the print it replaces",
    "where": "where it is now",
    "what": "what happened, in a ledger with a row for each happening: pulled, consigned, sold ...",
    "when": "when it happened, beside such a column",
    "who": "with whom it happened, beside such a column",
    "note": "kept as a note under its own heading",
    "private": "kept with the row, and shown with --private alone",
}

NAMED = {
    "edition": ("edition", "edition title", "ed", "ed.", "edition ref"),
    "title": ("title", "picture", "image", "work", "photograph", "subject", "name of work", "image title"),
    "number": ("number", "print number", "print no", "no", "nr", "ed no", "edition no", "edition number", "numbered",
               "copy", "copy no", "#"),
    "of": ("of", "edition of", "edition size", "run", "limit", "out of"),
    "size": ("size", "print size"),
    "sheet": ("sheet", "sheet no", "sheet number", "neg", "neg no", "negative", "negative no", "negative number",
              "frame", "frame no"),
    "image_size": ("image size", "picture size"),
    "paper_size": ("paper size", "sheet size"),
    "paper": ("paper", "stock", "paper stock"),
    "process": ("process", "medium", "technique", "type of print"),
    "inks": ("ink", "inks"),
    "printer": ("printer",),
    "markings": ("markings", "verso", "on the back", "inscription", "inscribed", "stamp"),
    "pulled": ("pulled", "date pulled", "printed", "date printed", "date of print", "print date", "made", "date made",
               "date", "year printed"),
    "pulled_by": ("pulled by", "printed by", "made by"),
    "signed": ("signed", "signature", "sig", "signed?"),
    "consigned_to": ("consigned to", "consignee", "gallery", "on consignment to", "with gallery"),
    "consigned": ("consigned", "date consigned", "consignment date", "consigned on"),
    "due": ("due", "due back", "return by", "until"),
    "value": ("value", "agreed value", "insured", "insurance value", "insured for", "consignment value"),
    "lent_to": ("lent to", "on loan to", "loan to", "borrower"),
    "lent": ("lent", "date lent", "lent on", "loan date"),
    "returned": ("returned", "date returned", "back", "came back", "returned on"),
    "sold_to": ("sold to", "buyer", "purchaser", "collector", "bought by", "client", "customer"),
    "sold": ("sold", "date sold", "sale date", "sold on", "date of sale", "when sold"),
    "price": ("price", "sale price", "sold for", "paid", "amount", "price paid"),
    "given_to": ("given to", "gift to", "donated to"),
    "given": ("given", "date given", "gift date"),
    "status": ("status", "state", "what became of it"),
    "ended": ("destroyed", "date destroyed", "date of loss", "ended"),
    "proof": ("proof", "proof of destruction", "evidence"),
    "where": ("where now", "where", "location", "whereabouts", "now", "current location", "kept", "place", "drawer"),
    "note": ("note", "notes", "remarks", "comment", "comments", "remark", "condition"),
    "private": ("invoice", "invoice no", "commission", "discount", "address", "email", "phone", "contact"),
}  # fmt: skip
"""Headings by field, in the order they are preferred."""

HAPPENING = {
    "what": ("what", "what happened", "event", "happening", "entry", "movement", "transaction", "in/out"),
    "when": ("when", "date", "on"),
    "who": ("who", "with whom", "to whom", "person", "name", "to", "to/from", "party"),
}
"""Headings of a ledger with a row for each happening: looked for only where a column says what happened."""
NOT_BESIDE_WHAT = (
    "pulled", "pulled_by", "signed", "consigned_to", "consigned", "value", "lent_to", "lent", "returned", "sold_to",
    "sold", "given_to", "given", "status", "ended",
)  # fmt: skip
"""Fields that tell of a happening of their own, and so have no place beside a column that says what happened."""

FIELD_OF = {heading: field for field, headings in NAMED.items() for heading in headings}

PERSONS = {"consigned_to": "consigned", "lent_to": "lent", "sold_to": "sold", "given_to": "given"}
"""Fields that name a person, and the entry of the ledger they make."""
DATES = ("pulled", "consigned", "due", "lent", "returned", "sold", "given", "ended", "when")
PRIVATE = frozenset({*PERSONS, "pulled_by", "price", "value", "where", "what", "who", "private"})
"""Fields whose words may name a person, or what was paid: told with ``--private`` alone."""
STATUSES = {
    "sold": "sold", "given": "given", "given away": "given", "gift": "given", "donated": "given",
    "consigned": "consigned", "on consignment": "consigned", "out on consignment": "consigned",
    "lent": "lent", "on loan": "lent", "loaned": "lent", "returned": "returned", "back": "returned",
    "destroyed": "destroyed", "burnt": "destroyed", "burned": "destroyed", "torn up": "destroyed",
    "spoiled": "spoiled", "spoilt": "spoiled", "lost": "lost", "missing": "lost", "stolen": "stolen",
    "replacement": "replacement", "replaces": "replacement", "remake": "replacement", "remade": "replacement",
    "replacement print": "replacement",
    "in stock": "", "stock": "", "available": "", "unsold": "", "not sold": "", "in hand": "", "ok": "", "nfs": "",
    "not for sale": "", "for sale": "", "here": "", "kept": "",
}  # fmt: skip
"""What a word under the status means: an entry of the ledger, ``replacement``, or nothing that happened."""
STATUS_MEANINGS = tuple(dict.fromkeys(STATUSES.values()))
AT_PLACE = ("drawer", "consigned", "lent", "shown", "")
"""What it may mean that a print is at a place: it lies there at home, on what terms it is away, or words alone."""
WHATS = {
    "pulled": "pulled", "printed": "pulled", "made": "pulled", "signed": "signed", "framed": "framed",
    "put away": "drawer", "put in a drawer": "drawer", "drawer": "drawer", "stored": "drawer", "filed": "drawer",
    "promised": "promised", "reserved": "reserved", "released": "released",
    **{word: meant for word, meant in STATUSES.items() if meant},
    "sent on consignment": "consigned", "sale": "sold", "loan": "lent", "consignment": "consigned",
    "shown": "shown", "exhibited": "shown", "on show": "shown", "on exhibition": "shown",
    "bought back": "bought back", "came back": "returned", "return": "returned", "found": "found",
    "found again": "found", "damaged": "damaged",
    "condition report": "condition report", "condition": "condition report",
}  # fmt: skip
"""What the words of a row mean that tells of one happening: an entry of the ledger, or ``replacement``."""
WHAT_MEANINGS = (*dict.fromkeys(WHATS.values()), "")
