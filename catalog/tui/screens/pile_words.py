"""The kinds of things that wait on the desk, in words: what each is called, and how it is settled."""

from __future__ import annotations

from dataclasses import dataclass

SIDECARS, DRIVES, STRAYS, UNSCANNED = "sidecars", "drives", "strays", "unscanned"


@dataclass(frozen=True, slots=True)
class PileWords:
    """What a kind of waiting thing is called, of one and of many, under which heading, and how it is settled."""

    kind: str
    heading: str
    one: str
    many: str
    how: str

    def named(self, count: int) -> str:
        """Return what so many of it are called."""
        return self.one if count == 1 else self.many


_CARDS, _FILM, _FILES, _PRINTS, _DAYBOOK = (
    "what is not sure",
    "film",
    "scans and drives",
    "prints and pages",
    "the daybook",
)
PILE_WORDS = tuple(PileWords(*row) for row in (
    ("words", _CARDS, "doubtful word of an old card", "doubtful words of old cards",
     "Enter opens the sheet. A doubt is settled by writing in its field (w), or with: tiebeam sheets correct SHEET."
     " Rows that could not be read at all are in the file named “… not read.csv” beside the card index: tiebeam cards"
     " rehearse FILE says why."),
    ("questions", _CARDS, "open question", "open questions",
     "Enter opens the question. Its answer is written on its card (w), or with: tiebeam questions answer QUESTION"
     " ANSWER"),
    (UNSCANNED, _FILM, "sheet not scanned", "sheets not scanned",
     "The worst at risk come first: nitrate, then acetate that decays, then what else decays, acetate, colour, and film"
     " of which the base is not known. Enter opens the sheet. Scans are registered with: tiebeam scans add FOLDER"),
    ("lab", _FILM, "sheet with the lab", "sheets with the lab",
     "Enter opens the sheet. When it is back, its fate is written on its card (w), or: tiebeam sheets correct SHEET"
     " --fate exposed"),
    (STRAYS, _FILES, "scan without a sheet", "scans without a sheet",
     "Enter opens them. A scan is tied to its sheet there, or with: tiebeam scans match SCAN SHEET"),
    ("damaged", _FILES, "scan damaged or missing", "scans damaged or missing",
     "Enter opens the scan. Put a good copy back in its place, then: tiebeam scans verify"),
    (SIDECARS, _FILES, "scan whose sidecar says something else", "scans whose sidecars say something else",
     "Enter opens the sheet. Both sides, field by field: tiebeam sidecars compare SCAN. What only they say is taken"
     " with: tiebeam sidecars read SCAN. Whose word stands is said with: tiebeam sidecars settle SCAN"),
    (DRIVES, _FILES, "drive away", "drives away",
     "Nothing on them is lost. Plug the drive in and press r; if it is here under another path:"
     " tiebeam drives locate NAME FOLDER"),
    ("overdue", _PRINTS, "print that should be back", "prints that should be back",
     "Enter opens the print with its ledger. When it is back: tiebeam prints return PRINT"),
    ("promises", _PRINTS, "promise to be kept", "promises to be kept",
     "Those past their day come first, then those without one. Enter opens the print, or the edition where it is not"
     " pulled yet. It is kept with tiebeam prints sell or tiebeam prints give, given up with tiebeam prints release."),
    ("pages", _PRINTS, "page voided and not issued again", "pages voided and not issued again",
     "Enter opens the page's card. A new one is issued with tiebeam documents, and the name of its kind."),
    ("deeds", _DAYBOOK, "deed cut short", "deeds cut short",
     "A deed was cut short and something is left to do; Enter says the command."),
))  # fmt: skip
"""In the order of the desk."""
WORDS_OF = {words.kind: words for words in PILE_WORDS}
