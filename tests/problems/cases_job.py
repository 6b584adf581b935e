"""Rows that can be read and do not fit together: one job of slips, a row for each."""

from __future__ import annotations

from tests.problems.books import Row, as_rows, at, bad, told_of, write
from tests.problems.cases_cells import CORNERS, OPTION
from tests.problems.model import Case

ITEMS = (
    ("Item", "Value"),
    ("Job name", "Slips"),  # nothing says its status, units or paper
    ("Priced on", None),
    ("Currency", "EUR"),
    ("Margin", "20 %"),
    ("Markup", "25 %"),
)
SITES = (
    bad("Access", None, "access-blank", Site="Yard"),
    bad("Travel (km)", None, "travel-blank", Site="Two chosen"),
    bad("Site", "yard", "duplicate-key"),
    bad("Wind is", None, "wind-kind-blank", **{"Wind speed": "41 m/s"}),
    bad("Wind multiplier", 1.1, "wind-multiplier-unused", **{"Wind speed": "41 m/s", "Wind is": "design"}),
    bad("Ground", "swamp", "not-in-rate-book"),
    bad("Site", "Empty", "site-without-option"),
)
FIXINGS = (
    bad("Site", "Nowhere", "site-unknown"),
    bad("Across (m)", None, "coordinate-blank"),
    bad("Height (m)", None, "height-blank"),
    bad("Above ground (m)", 3, "heights-disagree", **{"Height (m)": 2.6}),
    bad("Height (m)", -1, "fixing-under-ground"),
    bad("Ground level (m)", None, "ground-level-zero"),
)
OPTIONS = (
    bad("Corners at", "A B Z", "fixing-unknown"),
    bad("Corners at", "A B A", "corner-twice"),
    bad("Corners at", "A B", "corner-count"),
    bad("Corners at", None, "corners-blank"),
    bad("Tensioned", "A D", "not-a-corner"),
    bad("Run", "string", "run-unknown"),
    bad("Wall", "Barn", "wall-unknown"),
    bad("Chosen", "yes", "two-chosen", Site="Two chosen"),
    bad("Chosen", "yes", "two-chosen", Site="Two chosen"),
    bad("Site", "Nowhere", "site-unknown"),
    bad("Chosen", None, "none-chosen", Site="None chosen"),
    bad("Site", "None chosen", "cloth-usual", Sail="1", Status="budget"),
    bad("Sail", "1", "duplicate-key", Site="None chosen", Option="O13"),
    bad("Status", "firm", "rows-disagree", Site="None chosen", Option="O13", Sail="other"),
)
EXTRAS = (
    bad("Option", "9", "option-unknown", Site="Yard", Item="post-cap"),
    bad("Site", None, "extra-without-site", Option="O2", Item="post-cap"),
    bad("Cost each", 5, "item-and-cost", Item="post-cap"),
    bad("Cost each", None, "extra-without-cost"),
    bad("Kind", None, "kind-blank", **{"Cost each": 5}),
)


def _site(number: int) -> Row:
    wind = {"Wind speed": None, "Wind is": None, "Wind multiplier": None}
    return {"Site": f"S{number}", "Ground": "firm", "Access": "easy", "Travel (km)": 10, **wind}


def _fixing(number: int) -> Row:
    place = {"Across (m)": 1, "Out (m)": number, "Height (m)": 2.6, "Above ground (m)": None, "Ground level (m)": 0}
    return {"Site": "Yard", "Fixing": f"F{number}", "Held by": "new post", **place}


def _option(number: int) -> Row:
    blank = dict.fromkeys(("Sail", "Wall", "Tensioned", "Run", "Status"))
    return {**OPTION, "Option": f"O{number}", "Chosen": None, **blank}


def _extra(number: int) -> Row:
    plain = {"Site": None, "Option": None, "Description": f"Extra {number}", "Quantity": 1, "Unit": "each"}
    return {**plain, "Item": None, "Cost each": None, "Kind": "material"}


def _case() -> Case:
    sites, fixings = [*as_rows(_site, SITES), {**_site(0), "Site": "None chosen"}], as_rows(_fixing, FIXINGS)
    options, extras = as_rows(_option, OPTIONS), as_rows(_extra, EXTRAS)
    more = [
        {**corner, "Site": site, "Ground level (m)": 0}
        for site in ("Yard", "Two chosen", "None chosen")
        for corner in CORNERS
    ]
    sheets = {"Job": ITEMS, "Sites": sites, "Fixings": [*fixings, *more], "Options": options, "Extras": extras}
    told = at("Job", ("B2", "job-defaults"), ("B3", "priced-today"), ("B6", "margin-and-markup"))
    told |= told_of("Sites", sites, SITES) | told_of("Fixings", fixings, FIXINGS)
    told |= told_of("Options", options, OPTIONS) | told_of("Extras", extras, EXTRAS)
    return Case("a job of slips", lambda folder: write(folder / "job.xlsx", sheets), frozenset(told))


CASES: tuple[Case, ...] = (_case(),)
