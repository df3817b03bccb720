"""One document of each kind, from the invented archive."""

from __future__ import annotations

from dataclasses import replace

from catalog.outputs.document_facts import (
    Amendment,
    Certificate,
    ConsignmentNote,
    EditionStatement,
    HeldBy,
    InsuranceList,
    Invoice,
    LetterPaper,
    LoanForm,
    NumberFate,
    Party,
    PrintLine,
    RunFacts,
    YearlyLetter,
)
from catalog.rules.disclosure import NOT_KNOWN, Fact, answer, choose_list, text_followed
from catalog.rules.invoices import parse_tax_line
from catalog.rules.money import Money

HOUSE = LetterPaper(
    heading=("Ida Thornwick", "The Old Weigh-house, Low Halding, Wennshire", "ida@thornwick.example"),
)
GALLERY = Party("Galerie Žďár & Söhne", ("Am Wehr 3", "Halding"), "N4")
OSK_MILL = PrintLine(
    reference="P88",
    title="Osk Mill, north front",
    number="7/15",
    edition="E1",
    date="probably August 1979",
    printed="2012",
    process="pigment print",
    paper="matt cotton 308 g",
    image_size="40 x 50 cm",
    paper_size="50 x 60 cm",
    signature="in pencil on the verso",
    condition="no faults seen",
    price=Money(60000, "EUR"),
    value=Money(80000, "EUR"),
    since="3 May 2021",
    due="3 May 2022",
    place="Galerie Žďár, Halding",
    owner="Ida Thornwick",
    custodian="Galerie Žďár & Söhne",
    signed_for="A9",
    sold="3 May 2021",
)
WEIGH_HOUSE = replace(
    OSK_MILL,
    reference="P91",
    title="Weigh-house, Low Halding, seen from the bypass works with the museum's first load of stones",
    number="AP II/III",
    date="about 1979",
    condition="corner bumped lower left, 2 mm; else none seen",
    price=Money(75050, "EUR"),
    value=None,
    signed_for="",
    since="",
    owner="Łódź county museum",
)
FACTS = {
    "artist": Fact("Ida Thornwick"),
    "title": Fact("Osk Mill, north front, probably August 1979"),
    "signature": Fact("signed by hand in pencil on the verso"),
    "process": Fact("pigment print"),
    "material": Fact("matt cotton paper, 308 g"),
    "size": Fact("image 40 x 50 cm, sheet 50 x 60 cm"),
    "reproduction": Fact("no; printed from a scan of the photographer's own negative"),
    "posthumous": Fact("no"),
    "prior": Fact("one, of 1984: contact prints, their number not known", is_known=True),
    "year": Fact("2012 or 2013"),
    "number": Fact("7/15"),
    "total": Fact("15 and 3 artist's proofs"),
    "signed": Fact("15"),
    "numbered": Fact("15"),
    "unsigned": Fact("0"),
    "unnumbered": NOT_KNOWN,
    "proofs": Fact("3 artist's proofs, I/III to III/III"),
    "master_fate": Fact("neither; the negative is kept"),
}


def certificate(law: str = "california") -> Certificate:
    chosen = choose_list(law)
    return Certificate(
        reference="A12",
        dated="25 November 2026",
        line=OSK_MILL,
        answers=answer(chosen, FACTS, what="P88", is_limited=True),
        followed=text_followed(chosen),
        statement="Fifteen prints and three artist's proofs, 40 x 50 cm, on matt cotton paper. No other size.",
        statement_from="of 4 March 2012",
        amendments=(Amendment("probably 2015", "A size of 60 x 75 cm is given up; none was printed."),),
        signatory="Ida Thornwick",
    )


def many_lines(count: int) -> tuple[PrintLine, ...]:
    kinds = (OSK_MILL, WEIGH_HOUSE)
    return tuple(replace(kinds[n % 2], reference=f"P{n + 1}", number=f"{n + 1}/50") for n in range(count))


def consignment_note(count: int = 2) -> ConsignmentNote:
    lines = (OSK_MILL, WEIGH_HOUSE) if count == 2 else many_lines(count)
    return ConsignmentNote(
        reference="A13",
        dated="25 November 2026",
        to=GALLERY,
        lines=lines,
        delivered=tuple(line.reference for line in lines),
        return_by="31 May 2027",
        commission="40 % of the price",
        terms=("The prints remain the photographer's until they are paid for.",),
        signatory="Ida Thornwick",
    )


def loan_form() -> LoanForm:
    return LoanForm(
        reference="A14",
        dated="25 November 2026",
        to=Party("Wennshire Museum of Building", ("Museum yard", "Halding")),
        lines=(OSK_MILL,),
        delivered=("P88",),
        purpose="exhibition Mills of the upper Wenn",
        place="Halding museum yard, first floor",
        from_="January 2027",
        until="about Easter 2027",
        insured_by="",
        signatory="Ida Thornwick",
    )


def invoice(included: bool = False) -> Invoice:
    return Invoice(
        reference="A15",
        dated="25 November 2026",
        to=Party("Церковь Łódź", ("ul. Wodna 2",)),
        lines=(OSK_MILL, WEIGH_HOUSE),
        tax=(parse_tax_line("VAT 20 %"),),
        tax_included=included,
        terms=("Payable within 30 days.",),
    )


def letter() -> YearlyLetter:
    return YearlyLetter(
        reference="A16",
        dated="25 November 2026",
        to=GALLERY,
        lines=(OSK_MILL, WEIGH_HOUSE),
        answer_by="15 January 2027",
        signatory="Ida Thornwick",
    )


def insurance_list() -> InsuranceList:
    return InsuranceList(
        reference="A17",
        dated="25 November 2026",
        lines=(
            OSK_MILL,
            replace(WEIGH_HOUSE, place="Drawer 4, Low Halding", custodian="", value=Money(45000, "GBP")),
            replace(WEIGH_HOUSE, reference="P92", place="", custodian=""),
        ),
        as_of="25 November 2026",
    )


def edition_statement() -> EditionStatement:
    fates = tuple(
        NumberFate(f"{n}/15", "sold" if n < 5 else "in hand", f"P{n}", f"{2012 + n}", "40 x 50 cm") for n in range(1, 7)
    )
    return EditionStatement(
        reference="A18",
        dated="25 November 2026",
        edition="E1",
        picture="Osk Mill, north front, probably August 1979",
        state="open",
        statement="Fifteen prints and three artist's proofs, 40 x 50 cm, on matt cotton paper. No other size.",
        statement_from="of 4 March 2012",
        sizes_count="one run, all sizes counted together",
        amendments=(
            Amendment(
                "3 May 2020", "Those sold keep their fractions.", "limit 15 to none; serial numbers from now on"
            ),
        ),
        runs=(
            RunFacts(
                "Run M1",
                "15",
                ("40 x 50 cm",),
                (
                    *fates,
                    NumberFate("7/15", "destroyed by fire at the framer's", "P7", "May 2021", "40 x 50 cm",
                               "the corner with the signature came back; replaced by P88"),
                    NumberFate("7/15", "replacement, sold", "P88", "probably June 2021", "40 x 50 cm"),
                    NumberFate("8/15", "not yet printed"),
                ),
                proofs="3 artist's proofs",
                counts=(("sold", 5), ("in hand", 2), ("destroyed", 1), ("not yet printed", 8)),
            ),
        ),
        signatory="Ida Thornwick",
    )  # fmt: skip


def held_by() -> HeldBy:
    return HeldBy(
        reference="A19",
        dated="25 November 2026",
        to=GALLERY,
        lines=(OSK_MILL, WEIGH_HOUSE),
        signatory="Ida Thornwick",
    )


ALL = {
    "certificate": certificate,
    "consignment-note": consignment_note,
    "loan-form": loan_form,
    "invoice": invoice,
    "letter": letter,
    "insurance-list": insurance_list,
    "edition-statement": edition_statement,
    "held-by": held_by,
}
