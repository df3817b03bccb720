"""Captions for the sidecar tests: a frame of Osk Mill, certain and doubtful."""

from __future__ import annotations

from dataclasses import replace

from catalog.outputs.sidecar_captions import (
    BuildingShown,
    CaptionDate,
    Doubt,
    FrameCaption,
    FrameNumber,
    LensUsed,
    Maker,
    PlaceNamed,
    PrintEdition,
    Rights,
)
from catalog.standards.identity import document_id, instance_id

TARN_END = PlaceNamed(
    name="Tarn End",
    kind="hamlet",
    reference="L3",
    within=(("Osk", "parish"), ("Wennshire", "county"), ("Arlen", "country")),
)
OSK = PlaceNamed(name="Osk", kind="village", reference="L2", within=(("Wennshire", "county"), ("Arlen", "country")))
OSK_MILL = BuildingShown(
    name="Osk Mill",
    reference="B7",
    elevation="east elevation",
    raised=CaptionDate(edtf="1790~", words="about 1790", earliest="1790-01-01", latest="1790-12-31"),
    makers=(Maker(name="Amos Pell", role="millwright"),),
    identifiers=(FrameNumber(number="WS 114", scheme="Wennshire register of mills"),),
    chronicle=(
        (CaptionDate(edtf="1866", words="1866"), "enlarged by one bay"),
        (CaptionDate(edtf="[1957,1958]", words="1957 or 1958"), "wheel taken out"),
    ),
)

CERTAIN = FrameCaption(
    reference="S412",
    scan_reference="C530",
    file_name="1978-014.tif",
    numbers=(
        FrameNumber(number="78-14", scheme="year and sheet", written_on="sleeve"),
        FrameNumber(number="14", scheme="box", written_on="film edge"),
    ),
    title="Osk Mill, east elevation",
    description="The wheel pit dry; sheet metal stacked by the door.",
    language="en",
    creators=("Ida Thornwick",),
    rights="© Ida Thornwick",
    usage_terms="For study; ask before printing.",
    keywords=("water mill", "Osk Mill", "boards, sawn", "water mill"),
    exposed=CaptionDate(
        edtf="1978-08-03",
        words="3 August 1978",
        plain="1978-08-03",
        earliest="1978-08-03",
        latest="1978-08-03",
    ),
    scanned_on="2010-01-05",
    places=(OSK,),
    taken_from=TARN_END,
    buildings=(OSK_MILL,),
    lens=LensUsed(name="Kestrel Wide 90", maker="Kestrel", focal_length_mm=90),
    aperture=22,
    shutter_s=0.5,
    film="Norland Pan 100",
    film_format="4 x 5 in",
    medium="sheet film negative",
    polarity="negative",
    base="polyester",
    tone="black and white",
    scanner_make="Corvane",
    scanner_model="Drum 2",
    movements="rise 15 mm",
    filter="yellow",
    development="N-1",
)

DOUBTFUL = replace(
    CERTAIN,
    reference="S87",
    title="Mill by the weir",
    exposed=CaptionDate(edtf="1978-08~", words="about August 1978", as_written="Aug 78?", earliest="1978-08-01"),
    places=(replace(OSK, certainty="possible"),),
    taken_from=None,
    buildings=(replace(OSK_MILL, certainty="probable"),),
    doubts=(
        Doubt(field="lens", as_written="90 or 120", certainty="possible", alternatives=("90 mm", "120 mm")),
        Doubt(field="film", as_written="Norland?"),
    ),
)

EVERYTHING = replace(
    CERTAIN,
    licence=Rights(
        credit="Ida Thornwick, Wenn valley archive",
        owner="Ida Thornwick",
        is_marked=True,
        web_statement="https://example.org/rights",
        licensor="Ida Thornwick",
        licensor_url="https://example.org/licence",
        data_mining="http://ns.useplus.org/ldf/vocab/DMI-PROHIBITED",
        other_constraints="Not to be cropped.",
    ),
    places=(replace(TARN_END, latitude_deg=52.182, longitude_deg=-3.052),),
    focus=replace(TARN_END, latitude_deg=52.182, longitude_deg=-3.052),
    taken_from=PlaceNamed(name="mill bridge", within=(("Osk", "village"),), latitude_deg=52.164, longitude_deg=-3.0193),
    buildings=(replace(OSK_MILL, site=replace(OSK, latitude_deg=52.1643, longitude_deg=-3.0192)),),
    document_id=document_id("ab" * 32),
    instance_id=instance_id("cd" * 32),
    lens=LensUsed(name="Kestrel Wide 90", maker="Kestrel", focal_length_mm=90, widest_f_number=8),
    exposure_index=64,
    film_iso=100,
    file_ppi=2400,
    camera="Corvane Field 45",
    holder="7B",
    extension="300 mm",
    editions=(
        PrintEdition(
            edition="E3",
            statement="Fifteen and three proofs.",
            run="of 15",
            number="7/15",
            process="pigment inks",
            paper="cotton, 310 g",
            size="40 x 50 cm",
        ),
    ),
)
"""A caption that fills every field a scan of film has; its file records a resolution that is true."""
