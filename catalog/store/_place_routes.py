"""
The ways by which a frame shows a place, or was taken from one, as pieces of SQL.

A route carries the days within which it holds: ``lo`` to ``hi`` possibly, between ``sure_lo`` and
``sure_hi`` (both exclusive) surely. A boundary marked ``~`` or ``?`` is taken to lie within the archive's
margin for "about" of what is written. An undated boundary is no boundary.
"""

from __future__ import annotations

from catalog.store.wordings import in_doubt

_FAR = "1e15"


def _bounds(table: str) -> dict[str, str]:
    """Return the SQL of the four bounds that a row of ``table`` (with ``from`` and ``until``) sets."""
    reach = "CASE WHEN {t}.{end}_doubt IN ('~', '?', '%') THEN :about ELSE 0 END"
    reach_from, reach_until = reach.format(t=table, end="from"), reach.format(t=table, end="until")
    return {
        "lo": f"ifnull({table}.from_earliest - {reach_from}, -{_FAR})",
        "hi": f"ifnull({table}.until_latest + {reach_until}, {_FAR})",
        # A boundary that is dated but open on the inner side is never surely passed.
        "sure_lo": f"CASE WHEN {table}.from_edtf IS NULL THEN -{_FAR}"
        f" ELSE ifnull({table}.from_latest + {reach_from}, {_FAR}) END",
        "sure_hi": f"CASE WHEN {table}.until_edtf IS NULL THEN {_FAR}"
        f" ELSE ifnull({table}.until_earliest - {reach_until}, -{_FAR}) END",
    }


def _narrowed(outer: str, inner: dict[str, str]) -> str:
    """Return the four bounds of two things that must hold at once."""
    return (
        f"max({outer}.lo, {inner['lo']}), min({outer}.hi, {inner['hi']}),"
        f" max({outer}.sure_lo, {inner['sure_lo']}), min({outer}.sure_hi, {inner['sure_hi']})"
    )


def place_tree(name: str, parameter: str) -> str:
    """Return the recursive table ``name``: a place, and every place below it while it belonged there."""
    bounds = _bounds("pp")
    # Where it is in doubt that it belonged there at all, it is never sure, whatever the dates.
    bounds["sure_lo"] = (
        f"CASE WHEN {in_doubt('place', 'pp.place_id', 'within')} THEN {_FAR} ELSE {bounds['sure_lo']} END"
    )
    return f"""{name}(place_id, lo, hi, sure_lo, sure_hi) AS (
        VALUES (:{parameter}, -{_FAR}, {_FAR}, -{_FAR}, {_FAR})
        UNION
        SELECT pp.place_id, {_narrowed(name, bounds)}
        FROM {name} JOIN place_parent pp ON pp.parent_id = {name}.place_id
        WHERE max({name}.lo, {bounds["lo"]}) <= min({name}.hi, {bounds["hi"]})
    )"""


_ALWAYS = f"below.sure_lo = -{_FAR} AND below.sure_hi = {_FAR}"
_SITE = _bounds("bs")

# Through a building while it stood there, or because the view shows the place itself. A building that never stood
# elsewhere (``is_only``) was there whenever it was photographed, however loosely its raising is dated; its end still
# counts, but for an undated frame. One that has no end either is there for every frame (``is_always``).
SHOWN_ROUTES = f"""sited(building_id, sites, is_only, is_always) AS (
    SELECT bs.building_id, count(*), count(*) = sum(bs.place_id IN (SELECT place_id FROM below WHERE {_ALWAYS})),
        sum(bs.until_edtf IS NULL)
    FROM building_site bs WHERE bs.building_id IN (
        SELECT building_id FROM building_site WHERE place_id IN (SELECT place_id FROM below))
    GROUP BY bs.building_id
), shown(sheet_id, building_id, elevation, certainty, lo, hi, sure_lo, sure_hi, is_only, is_always) AS (
    SELECT sv.sheet_id, site.building_id, vs.elevation,
        CASE WHEN site.is_doubtful THEN 'possible' ELSE vs.certainty END,
        site.lo, site.hi, site.sure_lo, site.sure_hi, site.is_only, site.is_always
    FROM (
        SELECT bs.building_id,
            CASE WHEN sited.sites = 1 AND sited.is_only THEN below.lo ELSE max(below.lo, {_SITE["lo"]}) END AS lo,
            min(below.hi, {_SITE["hi"]}) AS hi,
            CASE WHEN sited.sites = 1 THEN below.sure_lo ELSE max(below.sure_lo, {_SITE["sure_lo"]}) END AS sure_lo,
            min(below.sure_hi, {_SITE["sure_hi"]}) AS sure_hi,
            sited.is_only, sited.is_only AND sited.is_always AS is_always,
            {in_doubt("building", "bs.building_id", "site")} AS is_doubtful
        FROM below CROSS JOIN building_site bs ON bs.place_id = below.place_id
        CROSS JOIN sited ON sited.building_id = bs.building_id
    ) site
    CROSS JOIN view_subject vs ON vs.building_id = site.building_id AND site.lo <= site.hi
    CROSS JOIN sheet_view sv ON sv.view_id = vs.view_id
    UNION ALL
    SELECT sv.sheet_id, NULL, vs.elevation, vs.certainty, below.lo, below.hi, below.sure_lo, below.sure_hi, {_ALWAYS},
        {_ALWAYS}
    FROM below CROSS JOIN view_subject vs ON vs.place_id = below.place_id
    CROSS JOIN sheet_view sv ON sv.view_id = vs.view_id
)"""

# By its standpoint; where none is recorded, by the place of its visit, which is only possible.
_AROUND = _ALWAYS.replace("below", "around")
TAKEN_ROUTES = f"""taken(sheet_id, certainty, lo, hi, sure_lo, sure_hi, is_only, is_always) AS (
    SELECT sv.sheet_id,
        CASE WHEN {in_doubt("standpoint", "t.id", "place")} THEN 'possible' ELSE v.standpoint_certainty END,
        around.lo, around.hi, around.sure_lo, around.sure_hi,
        {_AROUND}, {_AROUND}
    FROM around CROSS JOIN standpoint t ON t.place_id = around.place_id
    CROSS JOIN view v ON v.standpoint_id = t.id CROSS JOIN sheet_view sv ON sv.view_id = v.id
    UNION ALL
    SELECT sv.sheet_id, 'possible', around.lo, around.hi, around.sure_lo, around.sure_hi, 0, 0
    FROM around CROSS JOIN visit d ON d.place_id = around.place_id
    CROSS JOIN view v ON v.visit_id = d.id AND v.standpoint_id IS NULL CROSS JOIN sheet_view sv ON sv.view_id = v.id
)"""
