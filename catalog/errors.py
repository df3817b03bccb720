"""The vocabulary of refusal: one root, one class for each reason a caller may act on."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


class CatalogError(Exception):
    """Something the archive will not do, or cannot read. The message is fit to show to a person."""


class EdtfError(CatalogError):
    """A text is not a date of the Extended Date/Time Format, or not one of this calendar."""

    def __init__(self, text: str, reason: str) -> None:
        self.text, self.reason = text, reason
        super().__init__(f"{text!r} is not an EDTF date: {reason}")


class DateWordsError(CatalogError):
    """Words that should say a date say none that can be kept."""

    def __init__(self, words: str, reason: str) -> None:
        self.words, self.reason = words, reason
        super().__init__(f"{words!r}: {reason}")


class AmbiguousDateError(DateWordsError):
    """Words that may mean several dates. ``readings`` holds (EDTF, what it would mean) to choose from."""

    def __init__(self, words: str, readings: Sequence[tuple[str, str]]) -> None:
        self.readings = tuple(readings)
        # The words come first: "1805-06" typed again would be asked about again, "June 1805" is not.
        choices = "; ".join(f"{meaning} ({edtf})" for edtf, meaning in self.readings)
        super().__init__(words, f"may mean {choices}. Give one of these, in words.")


class NumberWordsError(CatalogError):
    """Words that should say a number say none."""

    def __init__(self, words: str, field: str) -> None:
        self.words = words
        super().__init__(f"{words!r} is no number for {field}.")


class RefusedError(CatalogError):
    """A rule of the archive forbids this; nothing was changed."""


class UnchangedError(RefusedError):
    """What was to be corrected says so already."""


class SeveralRefusedError(RefusedError):
    """Of several records some cannot be changed so. ``refused`` holds (reference, why) of each, of ``count`` asked."""

    def __init__(self, refused: Sequence[tuple[str, str]], count: int) -> None:
        self.refused, self.count = tuple(refused), count
        listed = "\n".join(f"  {reference:<6} {why}" for reference, why in self.refused)
        super().__init__(f"{len(self.refused)} of {count} were refused, and nothing was changed:\n{listed}")


class ChangedMeanwhileError(RefusedError):
    """Another changed what was to be written over. ``opened`` is what stood there, ``now`` what stands there now."""

    def __init__(self, label: str, opened: str, now: str) -> None:
        self.label, self.opened, self.now = label, opened, now
        super().__init__(
            f"Another tiebeam has since written {label} {now or 'nothing'!r}; it was {opened or 'nothing'!r}. "
            "Nothing was changed."
        )


class ChoiceNeededError(RefusedError):
    """What was typed needs one more word. ``choices`` are those that it may be."""

    def __init__(self, asked: str, choices: Sequence[str]) -> None:
        self.asked, self.choices = asked, tuple(choices)
        super().__init__(f"{asked} Say one of: {', '.join(self.choices)}.")


class LedgerError(RefusedError):
    """
    A ledger or an edition forbids this; the message names the print, who has it and since when.

    ``print_id`` is the print in question, where there is one.
    """

    def __init__(self, message: str, print_id: int | None = None) -> None:
        self.print_id = print_id
        super().__init__(message)


class EarlierPromiseError(RefusedError):
    """
    A view has editions already, and what is asked for goes beyond what was promised: the person is asked first.

    ``promises`` holds (reference, when and where it was said, the statement word for word).
    """

    def __init__(self, what: str, promises: Sequence[tuple[str, str, str]]) -> None:
        self.promises = tuple(promises)
        told = "\n".join(
            f"  {reference}{f' ({said})' if said else ''}: {statement}" for reference, said, statement in self.promises
        )
        names = " ".join(f"--knowing {reference}" for reference, _, _ in self.promises)
        super().__init__(f"{what} What was promised of this view before:\n{told}\nTo do it knowingly, add: {names}")


class NotFoundError(CatalogError):
    """Nothing in the archive answers to this reference, number or name."""


class AmbiguousNameError(CatalogError):
    """
    Several records answer to what was typed.

    ``candidates`` holds (reference, description), in the order to show them.
    """

    def __init__(self, typed: str, candidates: Sequence[tuple[str, str]], kind: str = "records") -> None:
        self.typed, self.candidates = typed, tuple(candidates)
        listed = "\n".join(f"  {reference:<6} {words}" for reference, words in self.candidates)
        super().__init__(f"{typed!r} is {len(self.candidates)} {kind}; give one of these references:\n{listed}")


class AmbiguousDriveError(CatalogError):
    """Several folders carry the marker of one drive, and none lies where the drive was last."""

    def __init__(self, name: str, folders: Sequence[Path]) -> None:
        self.name, self.folders = name, tuple(folders)
        listed = "\n".join(f"  {folder}" for folder in self.folders)
        super().__init__(
            f"{len(self.folders)} folders carry the marker of drive {name!r}; say which it is "
            f"with: tiebeam drives locate {name!r} FOLDER\n{listed}"
        )


class ArchiveError(CatalogError):
    """The archive itself cannot be opened or is not where it was sought."""


class NewerCatalogueError(ArchiveError):
    """The catalogue was written by a later program."""


class OlderCatalogueError(ArchiveError):
    """The catalogue must be upgraded before this program can read it."""


class ArchiveBusyError(ArchiveError):
    """Another process is writing to the catalogue."""


class SettingsError(CatalogError):
    """The settings file says something this program cannot follow."""


class UndoError(CatalogError):
    """A deed cannot be undone; the message says what stands in the way."""


class IntakeError(CatalogError):
    """A file to be read in cannot be understood; the message says where and what to do."""


class EncodingUnsureError(IntakeError):
    """
    The bytes of a text file can be read in several encodings that give different words.

    ``differing`` maps each candidate encoding to sample words as it would read them.
    """

    def __init__(self, path: Path, differing: dict[str, list[str]]) -> None:
        self.path, self.differing = path, differing
        lines = "\n".join(f"  {name:<13} {', '.join(words)}" for name, words in differing.items())
        super().__init__(
            f"{path.name}: the words differ with the encoding; give the right one with --encoding:\n{lines}"
        )


class FileFormatError(CatalogError):
    """A file is damaged, empty or not of a kind this program reads; ``reason`` says which."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(f"{path.name}: {reason}")


class XmpError(CatalogError):
    """An XMP packet cannot be read, or would not be safe to read."""


class SidecarError(CatalogError):
    """A sidecar cannot be read or written where it should be; ``reason`` says why. Nothing was changed."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(f"{path.name}: {reason}")


class SidecarChangedError(SidecarError):
    """A sidecar is no longer as it was when it was read, so it was not written over."""


class FontError(CatalogError):
    """A typeface named in the settings cannot be used; ``reason`` says why."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(
            f"{path.name}: {reason}. Name another TrueType file under [documents] font in tiebeam.toml, "
            "or take that line out."
        )


class LettersError(CatalogError):
    """A text has letters that cannot be set. ``letters`` holds them; nothing was made."""

    def __init__(self, field: str, letters: Sequence[str], typeface: str, scripts: Sequence[str] = ()) -> None:
        self.field, self.letters, self.typeface, self.scripts = field, tuple(letters), typeface, tuple(scripts)
        shown = " ".join(f"{one} (U+{ord(one):04X})" if one.isprintable() else f"U+{ord(one):04X}" for one in letters)
        if scripts:
            super().__init__(
                f"{field}: {shown} cannot be set: {', '.join(scripts)} letters need shaping, which this "
                "program does not do. Write it in Latin letters, or make this page elsewhere."
            )
        else:
            super().__init__(
                f"{field}: {typeface} has no letter for {shown}. Name a typeface that has them under "
                "[documents] font in tiebeam.toml, or write it otherwise."
            )


class ToneStepError(CatalogError):
    """Tone steps cannot be followed; ``reason`` says which and why."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(f"tone steps: {reason}")


class PictureError(CatalogError):
    """A picture cannot be made from a file, or not be written; ``reason`` says why. Nothing was changed."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(f"{path.name}: {reason}")


class PictureDamagedError(PictureError):
    """A file's pixels are not all there, or not as they were written."""


class PictureKindError(PictureError):
    """A file is a picture of a kind that this program registers but cannot show."""


class PictureWriteError(PictureError):
    """A picture cannot be written where it should be."""


class OutputFileError(CatalogError):
    """A file to be handed out cannot be written under the name given; ``reason`` says why."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(f"{path.name}: {reason}")


class DisclosureError(RefusedError):
    """
    A certificate lacks facts that the chosen law asks for; ``missing`` holds (item, what the page calls it).

    Nothing was issued.
    """

    def __init__(self, what: str, missing: Sequence[tuple[str, str]], law: str, cites: str) -> None:
        self.what, self.missing, self.law, self.cites = what, tuple(missing), law, cites
        listed = ", ".join(f"{label[0].lower()}{label[1:]}" for _, label in self.missing)
        super().__init__(
            f"{what}: no certificate under the law of {law}, which asks for: {listed}. Record each of these, or answer "
            f'it here, if only with "not known": {", ".join(item for item, _ in self.missing)}.'
        )


class DocumentError(CatalogError):
    """A kept document is not there, or no longer as it was issued."""

    def __init__(self, path: Path, reason: str) -> None:
        self.path, self.reason = path, reason
        super().__init__(f"{path.name}: {reason}")
