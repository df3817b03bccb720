"""``tiebeam documents``: pages that leave the house, issued, listed, had again, voided."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from catalog.cli.common import archive_option, csv_option, json_option, one_line, print_csv, print_json, print_table
from catalog.cli.deeds import deed_options, desk_for, say_besides
from catalog.cli.typed import typed_id
from catalog.errors import RefusedError
from catalog.rules.references import format_reference

if TYPE_CHECKING:
    from catalog.actions.documents import Issued
    from catalog.rules.money import Money
    from catalog.store.archive import Archive
    from catalog.store.documents import DocumentRow
    from catalog.store.private_words import Hide

_term_option = click.option(
    "--term", "terms", multiple=True, metavar="SENTENCE", help="A sentence of the terms; may be given again."
)
_private_option = click.option("--private", is_flag=True, help="Name the persons, too.")


@click.group()
def documents() -> None:
    """Pages that leave the house: certificates, notes, invoices, lists. None of them is legal advice."""


@documents.command()
@click.argument("print_", metavar="PRINT")
@click.option("--law", metavar="LAW", help="Whose list it follows; otherwise as the settings say.")
@click.option("--price", metavar="AMOUNT", help="Without frame (120 USD): whether the law asks at all.")
@click.option("--say", "said", multiple=True, metavar="ITEM=WORDS", help="Answer an item; may be given again.")
@click.option("--not-known", "unknown", multiple=True, metavar="ITEM", help="Say that an item is not known.")
@click.option("--remark", "remarks", multiple=True, metavar="SENTENCE")
@deed_options
def certificate(
    archive: Archive, *, print_: str, law: str | None, price: str | None, said: tuple[str, ...],
    unknown: tuple[str, ...], remarks: tuple[str, ...], dry_run: bool,
) -> None:  # fmt: skip
    """Issue a certificate of a PRINT. Items that the law asks for and nobody answered are named, and it is refused."""
    from catalog.actions.documents import issue_certificate

    _check_law(law)
    issued = issue_certificate(
        archive, _print_id(archive, print_), law=law, price=_money(archive, price), remarks=remarks,
        said={**_answers(said), **dict.fromkeys(unknown, "not known")}, desk=desk_for(dry_run),
    )  # fmt: skip
    _say_where(archive, issued)


@documents.command("consignment-note")
@click.argument("person", metavar="PERSON")
@click.argument("prints", metavar="[PRINT]...", nargs=-1)
@click.option("--return-by", default="", metavar="DATE", help="In words; otherwise as the ledger says.")
@click.option("--commission", default="", metavar="WORDS", help='As agreed: "40 % of the price".')
@_term_option
@deed_options
def consignment_note(
    archive: Archive, *, person: str, prints: tuple[str, ...], return_by: str, commission: str, terms: tuple[str, ...],
    dry_run: bool,
) -> None:  # fmt: skip
    """Issue the note for the prints consigned to a PERSON that no note lists yet."""
    from catalog.actions.documents import issue_consignment_note

    issued = issue_consignment_note(
        archive, typed_id(archive, person, "person"), _print_ids(archive, prints), return_by=return_by,
        commission=commission, terms=terms, desk=desk_for(dry_run),
    )  # fmt: skip
    _say_where(archive, issued)


@documents.command("loan-form")
@click.argument("person", metavar="PERSON")
@click.argument("prints", metavar="[PRINT]...", nargs=-1)
@click.option("--purpose", default="", metavar="WORDS")
@click.option("--place", default="", metavar="WORDS", help="Where they will be; otherwise as the ledger says.")
@click.option("--until", default="", metavar="DATE", help="In words; otherwise as the ledger says.")
@click.option("--insured-by", default="", metavar="WORDS")
@_term_option
@deed_options
def loan_form(
    archive: Archive, *, person: str, prints: tuple[str, ...], purpose: str, place: str, until: str, insured_by: str,
    terms: tuple[str, ...], dry_run: bool,
) -> None:  # fmt: skip
    """Issue the form for the prints lent to a PERSON that no form lists yet."""
    from catalog.actions.documents import issue_loan_form

    issued = issue_loan_form(
        archive, typed_id(archive, person, "person"), _print_ids(archive, prints), purpose=purpose, place=place,
        until=until, insured_by=insured_by, terms=terms, desk=desk_for(dry_run),
    )  # fmt: skip
    _say_where(archive, issued)


@documents.command()
@click.argument("person", metavar="PERSON")
@click.argument("prints", metavar="[PRINT]...", nargs=-1)
@click.option("--commission", metavar="AMOUNT", help="Taken off before the tax.")
@_term_option
@deed_options
def invoice(
    archive: Archive, *, person: str, prints: tuple[str, ...], commission: str | None, terms: tuple[str, ...],
    dry_run: bool,
) -> None:  # fmt: skip
    """Issue an invoice for the prints sold to a PERSON that no invoice lists yet."""
    from catalog.actions.documents import issue_invoice

    issued = issue_invoice(
        archive, typed_id(archive, person, "person"), _print_ids(archive, prints),
        commission=_money(archive, commission), terms=terms, desk=desk_for(dry_run),
    )  # fmt: skip
    _say_where(archive, issued)


@documents.command()
@click.argument("person", metavar="PERSON")
@click.option("--answer-by", default="", metavar="DATE", help="In words.")
@deed_options
def letter(archive: Archive, *, person: str, answer_by: str, dry_run: bool) -> None:
    """Issue the yearly letter: which prints we believe a PERSON holds, with boxes to tick."""
    from catalog.actions.documents import issue_letter

    person_id = typed_id(archive, person, "person")
    _say_where(archive, issue_letter(archive, person_id, answer_by=answer_by, desk=desk_for(dry_run)))


@documents.command("held-by")
@click.argument("person", metavar="PERSON")
@deed_options
def held_by(archive: Archive, *, person: str, dry_run: bool) -> None:
    """Issue the list of the prints a PERSON holds, for them to sign."""
    from catalog.actions.documents import issue_held_by

    _say_where(archive, issue_held_by(archive, typed_id(archive, person, "person"), desk=desk_for(dry_run)))


@documents.command("insurance-list")
@deed_options
def insurance_list(archive: Archive, *, dry_run: bool) -> None:
    """Issue the list of your own prints by place and value."""
    from catalog.actions.documents import issue_insurance_list

    _say_where(archive, issue_insurance_list(archive, desk=desk_for(dry_run)))


@documents.command("edition-statement")
@click.argument("edition", metavar="EDITION")
@deed_options
def edition_statement(archive: Archive, *, edition: str, dry_run: bool) -> None:
    """Issue the statement of an EDITION for a curator: what became of every number."""
    from catalog.actions.documents import issue_edition_statement

    edition_id = typed_id(archive, edition, "edition")
    _say_where(archive, issue_edition_statement(archive, edition_id, desk=desk_for(dry_run)))


# ---- what was issued


@documents.command("list")
@click.option("--print", "print_", metavar="PRINT", help="Those that list a print.")
@click.option("--person", metavar="PERSON", help="Those addressed to a person.")
@_private_option
@archive_option
@json_option
@csv_option
def listed(
    archive: Archive, *, print_: str | None, person: str | None, private: bool, as_json: bool, as_csv: bool
) -> None:
    """List the documents that were issued."""
    from catalog.store.documents import list_documents
    from catalog.store.private_words import hiding

    print_id = _print_id(archive, print_) if print_ else None
    person_id = typed_id(archive, person, "person") if person else None
    with archive.reading() as connection:
        rows = list_documents(connection, print_id=print_id, person_id=person_id)
    hide = hiding(archive, private=private)
    items = [_item(row, hide, private=private) for row in rows]
    if as_json:
        print_json({"items": items, "count": len(items)})
    elif as_csv:
        flat = [{**item, "prints": "; ".join(item["prints"])} for item in items]
        print_csv(list(flat[0]) if flat else ["reference"], [list(item.values()) for item in flat])
    elif not items:
        click.echo("No documents yet. Issue one with: tiebeam documents certificate PRINT")
    else:
        print_table(["", "document", "issued", "state", "about"], [_cells(item) for item in items])


@documents.command()
@click.argument("document", metavar="DOCUMENT")
@_private_option
@archive_option
@json_option
def show(archive: Archive, *, document: str, private: bool, as_json: bool) -> None:
    """Show what was issued as a DOCUMENT (A12): when, about what, in which file."""
    from catalog.store.private_words import hiding

    item = _item(_row(archive, document), hiding(archive, private=private), private=private)
    if as_json:
        print_json(item)
        return
    for name, value in item.items():
        told = ", ".join(value) if isinstance(value, list) else value
        if told:
            click.echo(f"{name.replace('_', ' '):<16} {one_line(str(told))}")


@documents.command()
@click.argument("document", metavar="DOCUMENT")
@click.option("--output", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE", help="Write a copy there.")
@archive_option
def again(archive: Archive, *, document: str, output: Path | None) -> None:
    """Have a DOCUMENT again just as it was issued; its bytes are compared with those recorded."""
    from catalog.actions.documents import read_again
    from catalog.outputs.handed_out import write_files
    from catalog.store.document_files import FOLDER

    row = _row(archive, document)
    content = read_again(archive, row.id)
    if output is not None:
        write_files([(output, content)], replace=False)
    where = output if output is not None else archive.folder / FOLDER / row.file_name
    voided = f" It was voided on {row.voided_at[:10]}." if row.voided_at else ""
    click.echo(f"{format_reference('document', row.id)}, as it was issued: {where}.{voided}")


@documents.command()
@click.argument("document", metavar="DOCUMENT")
@click.option("--because", required=True, metavar="REASON", help="Why; it is kept.")
@deed_options
def void(archive: Archive, *, document: str, because: str, dry_run: bool) -> None:
    """Void an issued DOCUMENT. Its page stays as it was."""
    from catalog.actions.documents import void_document

    void_document(archive, typed_id(archive, document, "document"), because=because, desk=desk_for(dry_run))


# ---- what was typed


def _print_id(archive: Archive, text: str) -> int:
    from catalog.store.print_names import resolve_print

    with archive.reading() as connection:
        return resolve_print(connection, text)


def _print_ids(archive: Archive, texts: tuple[str, ...]) -> list[int]:
    return [_print_id(archive, text) for text in texts]


def _money(archive: Archive, text: str | None) -> Money | None:
    from catalog.rules.money import parse_money

    return parse_money(text, archive.settings.documents_currency) if text else None


def _check_law(law: str | None) -> None:
    from catalog.rules.disclosure import LAWS

    if law is not None and law not in LAWS:
        raise RefusedError(f"{law!r} is no law that a certificate can follow. There are: {', '.join(LAWS)}.")


def _answers(said: tuple[str, ...]) -> dict[str, str]:
    answers = {}
    for each in said:
        # The settings write "posthumous: no": what was copied from there is meant just so.
        found = re.match(r"\s*([^=:]*?)\s*[=:]\s*(\S.*)", each, re.DOTALL)
        if found is None:
            raise click.BadParameter(f"{each!r} answers nothing: write ITEM=WORDS, such as posthumous=no.")
        answers[found[1]] = found[2]
    return answers


# ---- what is told


def _say_where(archive: Archive, issued: Issued) -> None:
    if issued.path is not None:
        say_besides(f"It is in {issued.path.relative_to(archive.folder)}.", path=str(issued.path))


def _row(archive: Archive, document: str) -> DocumentRow:
    from catalog.store.documents import get_document

    document_id = typed_id(archive, document, "document")
    with archive.reading() as connection:
        return get_document(connection, document_id)


def _item(row: DocumentRow, hide: Hide, *, private: bool) -> dict[str, Any]:
    """Return a document as ``--json`` says it; the person's name only with ``--private``."""
    item: dict[str, Any] = {
        "reference": format_reference("document", row.id),
        "kind": row.kind,
        "state": row.state,
        "issued_at": row.issued_at,
        "voided_at": row.voided_at,
        "voided_because": None if row.voided_because is None else hide(row.voided_because),
        "person_reference": format_reference("person", row.person_id) if row.person_id is not None else None,
        "edition_reference": format_reference("edition", row.edition_id) if row.edition_id is not None else None,
        "law": row.law,
        "file": row.file_name,
        "sha256": row.sha256,
        "prints": [format_reference("print", print_id) for print_id in row.prints],
    }
    return {**item, "person": row.person} if private else item


def _cells(item: dict[str, Any]) -> list[str]:
    about = [item.get("person") or item["person_reference"], item["edition_reference"], *item["prints"][:4]]
    more = len(item["prints"]) - 4
    told = ", ".join(filter(None, about)) + (f" and {more} more" if more > 0 else "")
    return [item["reference"], item["kind"], item["issued_at"][:10], item["state"], told]
