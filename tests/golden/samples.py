"""The sample jobs, as rows. `python -m tests.golden.samples` writes them and what is expected of them.

Everything in them is invented: a small town called Fernhollow, its kindergarten, a cafe and a boat club by
the river. A test rebuilds them and compares.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

from estimator.report.blank import HEADING_ROW, blank_job, heading
from estimator.report.package.zipping import settle
from estimator.sheets.columns import JOB, TABLES

FOLDER = Path(__file__).parents[2] / "sample_jobs"
Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample job: items of `Job`, and rows by sheet, with the column names of the declarations."""

    name: str
    job: Mapping[str, Any]
    rows: Mapping[str, Rows] = field(default_factory=dict)


def _fix(site: str, name: str, held_by: str, across: float, out: float, height: float, **more: Any) -> dict[str, Any]:
    return {"Site": site, "Fixing": name, "Held by": held_by, "Across": across, "Out": out, "Height": height, **more}


def _opt(site: str, name: str, corners: str, **more: Any) -> dict[str, Any]:
    return {"Site": site, "Option": name, "Corners at": corners, **more}


SANDPIT = "Sandpit"
KINDERGARTEN = Sample(
    "kindergarten",
    {
        "Job name": "Shade over the sandpit",
        "Reference": "FH-101",
        "Customer": "Fernhollow Kindergarten",
        "Customer is": "business",
        "Customer address": "4 Mill Lane, Fernhollow",
        "Site contact": "the office, by the green gate",
        "Valid for": 30,
        "Status": "firm",
        "Units": "metric",
        "Prices shown": "with tax",
        "Tax": "ST",
    },
    {
        "Sites": [
            {
                "Site": SANDPIT, "Address": "4 Mill Lane, Fernhollow", "Ground": "firm", "Digging": "hand",
                "Access": "easy", "Travel": 12, "Services": "located", "Drains to": "ground",
                "Near": "climbable", "Existing sails": 0,
                "For the customer": "One triangle over the sandpit, fixed to the verandah beam and one new post.",
            }
        ],
        "Fixings": [
            _fix(SANDPIT, "A", "beam", 0, 0, 2.75, **{"Known by": "measured", "Ground level": 0}),
            _fix(SANDPIT, "B", "beam", 6.2, 0, 2.75, **{"Known by": "measured", "Ground level": 0}),
            _fix(SANDPIT, "C", "new post", 3.1, 5.4, 2.3, **{"Known by": "measured", "Ground level": 0,
                 "To boundary": 4.5, "To service": 2.0}),
        ],
        "Options": [
            _opt(SANDPIT, "Triangle", "A B C", Size="TRI-5000", Colour="sage",
                 **{"For the customer": "Triangle, 5 m sides, in sage"}),
        ],
    },
)  # fmt: skip

CAFE, CLUB, PARK = "Cafe terrace", "Boat club", "Slipway seats"
RIVERSIDE = Sample(
    "riverside",
    {
        "Job name": "Shade along the river",
        "Reference": "FH-114",
        "Revision": 1,
        "Customer": "Fernhollow Riverside Traders",
        "Customer is": "business",
        "Customer address": "1 Quay Street, Fernhollow",
        "Valid for": 30,
        "Status": "firm",
        "Place": "Millbrook",
        "Units": "metric",
        "Prices shown": "with tax",
        "Tax": "ST",
        "Contingency": "6 %",
        "Margin": "22 %",
        "Discount": "2 %",
        "Round price to": 5,
        "Crew": 2,
    },
    {
        "Sites": [
            {"Site": CAFE, "Address": "3 Quay Street", "Ground": "firm", "Digging": "auger", "Access": "barrow only",
             "Trip": "river", "Travel": 18, "Services": "plans", "Drains to": "paving", "Near": "traffic",
             "Existing sails": 0},
            {"Site": CLUB, "Address": "Boathouse Road", "Ground": "soft", "Digging": "excavator", "Access": "easy",
             "Trip": "river", "Travel": 21, "Services": "none", "Drains to": "ground", "Existing sails": 1},
            {"Site": PARK, "Address": "The slipway", "Ground": "sand", "Rock at": 1.0, "Digging": "hand",
             "Access": "steps", "Travel": 21, "Services": "exposed", "Drains to": "ground", "Existing sails": 0},
        ],
        "Fixings": [
            _fix(CAFE, "W1", "solid wall", 0, 0, 3.1, **{"To edge": 0.6, "Known by": "measured", "Ground level": 0}),
            _fix(CAFE, "W2", "solid wall", 6.1, 0, 3.1, **{"To edge": 0.8, "Known by": "measured", "Ground level": 0}),
            _fix(CAFE, "P1", "new post", 6.1, 5.1, 2.5, **{"Post": "CHS-114", "Known by": "measured",
                 "Ground level": 0, "To boundary": 1.6}),
            _fix(CAFE, "P2", "new post", 0, 5.1, 2.5, **{"Post": "CHS-114", "Known by": "measured",
                 "Ground level": 0, "To boundary": 1.6}),
            _fix(CLUB, "A", "new post", 0, 0, 3.0, **{"Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "B", "new post", 0, 6.0, 2.6, **{"Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "M1", "new post", 6.0, 0, 2.6, **{"On post": "middle 1", "Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "M2", "new post", 6.0, 6.0, 3.4, **{"On post": "middle 2", "Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "L1", "new post", 6.0, 0, 2.2, **{"On post": "middle 1", "Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "L2", "new post", 6.0, 6.0, 3.0, **{"On post": "middle 2", "Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "C", "new post", 12.0, 0, 3.0, **{"Known by": "measured", "Ground level": 0}),
            _fix(CLUB, "D", "new post", 12.0, 6.0, 2.4, **{"Known by": "measured", "Ground level": 0}),
            _fix(PARK, "T", "tree", -1.0, 2.0, 3.2, **{"Known by": "told", "Ground level": 0}),
            _fix(PARK, "R", "existing post", 5.2, 0.4, 2.6, **{"Known by": "told", "Ground level": 0}),
            _fix(PARK, "S", "new post", 5.6, 5.4, 3.0, **{"Post": "SHS-100", "Known by": "measured", "Ground level": 0.2}),
            _fix(PARK, "Q", "new post", 0.2, 6.0, 2.4, **{"Post": "SHS-100", "Known by": "measured", "Ground level": 0.2}),
        ],
        "Options": [
            _opt(CAFE, "Stock sail", "W1 W2 P1 P2", Size="REC-4000x5000", Colour="sand"),
            _opt(CAFE, "Waterproof", "W1 W2 P1 P2", Size="made to fit", Cloth="COAT-DRY", Colour="white", Chosen="yes"),
            _opt(CLUB, "Two sails", "A M1 M2 B", Sail="west", Size="SQ-5000", Colour="navy", Chosen="yes"),
            _opt(CLUB, "Two sails", "L1 C D L2", Sail="east", Size="made to fit", Cloth="KNIT-HEAVY", Colour="sand"),
            _opt(CLUB, "One sail", "A M1 M2 B", Colour="navy", **{"Profit margin": "25 %"}),
            _opt(PARK, "Four points", "T R S Q", Size="made to fit", Cloth="KNIT-HEAVY", Run="chain, T wire rope",
                 Colour="stone grey", Chosen="yes"),
        ],
        "Extras": [
            {"Site": CAFE, "Description": "Lift and relay paving round two posts", "Quantity": 2, "Unit": "each",
             "Cost each": 85, "Kind": "subcontract", "Shown": "yes"},
            {"Site": CAFE, "Description": "Core drill the terrace slab", "Quantity": 2, "Unit": "each",
             "Item": "core-drill"},
            {"Site": CLUB, "Option": "Two sails", "Description": "Spare shackle set", "Quantity": 2, "Unit": "each",
             "Item": "SHK-09", "Offered apart": "yes"},
            {"Site": CLUB, "Description": "Spoil stays on site, spread by the club", "Quantity": 0, "Unit": "m3",
             "Instead of": "spoil-away", "Reason": "the club fills its slope"},
            {"Site": PARK, "Description": "Pruning of the plane tree", "Quantity": 1, "Unit": "each", "By others": "yes"},
            {"Site": PARK, "Description": "Second pair of hands on the steps", "Quantity": 3, "Unit": "h",
             "Cost each": 41, "Kind": "labour", "Visit": "footings"},
            {"Description": "Photographs and a folder for the town", "Quantity": 1, "Unit": "each", "Cost each": 120,
             "Kind": "fee"},
        ],
    },
)  # fmt: skip

MESSY = Sample(
    "messy",
    {
        "Job name": "Back yard, as it came from the phone",
        "Customer": "A private house in Fernhollow",
        "Customer is": "private",
        "Priced on": date(2026, 4, 3),
        "Margin": "25 %",
        "Tax": "ST",
        "Colour of the van": "green",
    },
    {
        "Sites": [
            {"Site": "Yard", "Ground": "frim", "Travel": 9},
            {"Site": "Pool", "Ground": "firm", "Near": "pool", "Wind speed": "41"},
            {"Site": "Deck", "Ground": "firm", "Travel": 9, "Services": "located"},
        ],
        "Fixings": [
            _fix("Yard", "A", "rafter", 0, 0, 2900),
            _fix("Yard", "B", "rafter", "4-5", 0, 2.9),
            _fix("Yard", "C", "new post", 2.2, 4, "TBC"),
            _fix("Deck", "A", "fascia only", 0, 0, 2.6),
            _fix("Deck", "B", "rafter", 4.6, 0, 2.6),
            _fix("Deck", "C", "new post", 4.6, 4.6, "7' 6\""),
            _fix("Deck", "D", "new post", 0, 4.6, "2.400"),
            _fix("Deck", "E", "rafter", 0.4, 0, 2.6),
            _fix("Deck", "b", "beam", 4.6, 0, 2.6),
            _fix("Pool", "A", "new post", 0, 0, 2.4),
            _fix("Pool", "B", "new post", 5, 0, 2.4),
            _fix("Pool", "C", "new post", 5, 5, 2.4),
        ],
        "Options": [
            _opt("Yard", "1", "A B C", Size="TRI-3600"),
            _opt("Pool", "1", "A B C", Size="RTA-5000"),
            _opt("Pool", "2", "A B X", Size="made to fit"),
            _opt("Deck", "1", "A B C D", Size="SQ-3600"),
            _opt("Deck", "2", "E B D C", Size="SQ-3600"),
            _opt("Deck", "3", "C D E", Size="3 3 7 m"),
            _opt("Deck", "4", "E C D", Size="TRI-3000", Chosen="yes"),
            _opt("Dekc", "1", "E C D"),
        ],
        "Extras": [
            {"Site": "Deck", "Description": "Gravel", "Quantity": 2, "Unit": "m2", "Item": "stone-20mm", "Option": "1"},
        ],
    },
)  # fmt: skip

VERANDAH = "Ferry house verandah"
WALLS = Sample(
    "verandah",
    {
        "Job name": "Shade on the ferry house",
        "Reference": "FH-120",
        "Customer": "Fernhollow Ferry House",
        "Customer is": "business",
        "Valid for": 30,
        "Status": "firm",
        "Units": "metric",
        "Tax": "ST",
    },
    {
        "Sites": [
            {"Site": VERANDAH, "Address": "Ferry Steps", "Ground": "firm", "Digging": "hand", "Access": "easy",
             "Travel": 14, "Services": "located", "Drains to": "ground", "Existing sails": 0},
        ],
        "Walls": [
            {"Site": VERANDAH, "Wall": "River side", "Start across": 0, "Out": 0, "Length": 9.2, "Fixing height": 2.75,
             "First rafter": 0.35, "Rafter spacing": 0.6, "Held by": "rafter", "Post height": 2.3},
            {"Site": VERANDAH, "Wall": "Kitchen", "Start across": 10, "Out": 1.2, "Length": 5.2, "Fixing height": 2.6,
             "Held by": "fascia bracket", "Post height": 2.25},
        ],
        "Options": [
            {"Site": VERANDAH, "Option": "River side", "Wall": "River side", "Size": "REC-4000x5000", "Colour": "sand",
             "Chosen": "yes"},
            {"Site": VERANDAH, "Option": "Both sides", "Wall": "River side", "Size": "5 x 4 m", "Cloth": "KNIT-HEAVY",
             "Colour": "navy", "Sail": "river"},
            {"Site": VERANDAH, "Option": "Both sides", "Wall": "Kitchen", "Size": "3.6 x 3.6 m", "Cloth": "KNIT-HEAVY",
             "Colour": "navy", "Sail": "kitchen"},
        ],
    },
)  # fmt: skip

ORCHARD = "Orchard"
TAPED = Sample(
    "orchard",
    {
        "Job name": "Shade in the old orchard",
        "Reference": "FH-127",
        "Customer": "Fernhollow Orchard School",
        "Customer is": "business",
        "Valid for": 30,
        "Status": "firm",
        "Units": "metric",
        "Tax": "ST",
    },
    {
        "Sites": [
            {"Site": ORCHARD, "Address": "Cider Lane", "Ground": "firm", "Digging": "hand", "Access": "steps",
             "Travel": 9, "Services": "exposed", "Drains to": "ground", "Existing sails": 0, "Facing": 20},
        ],
        # taped round and across; no coordinates. Heights to one datum, the doorstep.
        "Fixings": [
            {"Site": ORCHARD, "Fixing": "A", "Held by": "beam", "Height": 3.1, "Ground level": 0, "Known by": "measured"},
            {"Site": ORCHARD, "Fixing": "B", "Held by": "beam", "Height": 2.7, "Ground level": 0, "Known by": "measured"},
            {"Site": ORCHARD, "Fixing": "C", "Held by": "new post", "Height": 3.0, "Ground level": -0.1,
             "Known by": "measured", "To boundary": 3.2, "To service": 1.6},
            {"Site": ORCHARD, "Fixing": "D", "Held by": "new post", "Height": 2.3, "Ground level": -0.15,
             "Known by": "measured", "To boundary": 4.0},
        ],
        "Tape": [
            {"Site": ORCHARD, "From": "A", "To": "B", "Length": 5.615},
            {"Site": ORCHARD, "From": "B", "To": "C", "Length": 5.217},
            {"Site": ORCHARD, "From": "C", "To": "D", "Length": 6.148},
            {"Site": ORCHARD, "From": "D", "To": "A", "Length": 4.969},
            {"Site": ORCHARD, "From": "A", "To": "C", "Length": 7.866},
            {"Site": ORCHARD, "From": "B", "To": "D", "Length": 7.602},
        ],
        "Options": [
            _opt(ORCHARD, "Made to fit", "A B C D", Size="made to fit", Cloth="KNIT-HEAVY", Colour="sage", Chosen="yes"),
            _opt(ORCHARD, "Stock sail", "A B C D", Colour="sage"),
        ],
        # noted when it was done: roots in both holes, and a sail that went up quickly
        "Actuals": [
            {"Site": ORCHARD, "What": "dig", "Quantity": 2.25, "Unit": "h", "Day": date(2026, 4, 20), "By": "Wren"},
            {"Site": ORCHARD, "What": "dig", "Quantity": 75, "Unit": "min", "Day": date(2026, 4, 21), "By": "Robin",
             "Notes": "roots"},
            {"Site": ORCHARD, "What": "set and brace post", "Quantity": 2, "Unit": "h", "Day": date(2026, 4, 21)},
            {"Site": ORCHARD, "What": "hang sail", "Quantity": 0.75, "Unit": "h", "Day": date(2026, 5, 11)},
            {"Site": ORCHARD, "What": "travel", "Quantity": 3.5, "Unit": "h", "Day": date(2026, 5, 11)},
            {"Site": ORCHARD, "What": "stone-20mm", "Quantity": 90, "Unit": "l", "Day": date(2026, 5, 11)},
        ],
    },
)  # fmt: skip

TERRACE = "Slipway terrace"


def _mast(name: str, across: float, out: float, height: float, **more: Any) -> dict[str, Any]:
    given = {"Known by": "measured", "Ground level": 0, "To boundary": 2.4, "To service": 3.0}
    return _fix(TERRACE, name, "new post", across, out, height, **{**given, **more})


# By the water it blows: a gust is told, so that the options are screened: on what the rules of size give, on stronger
# posts in deeper holes, and waterproof.
WINDY = Sample(
    "slipway",
    {
        "Job name": "Shade over the slipway terrace",
        "Reference": "FH-133",
        "Customer": "Fernhollow Boat Club",
        "Customer is": "business",
        "Valid for": 30,
        "Status": "firm",
        "Place": "Old Quay",
        "Units": "metric",
        "Tax": "ST",
        "Finish by": date(2026, 6, 30),
    },
    {
        "Sites": [
            {
                "Site": TERRACE, "Address": "Slipway, Fernhollow", "Ground": "gravel", "Digging": "excavator",
                "Access": "easy", "Travel": 6, "Services": "located", "Drains to": "ground", "Near": "glass",
                "Existing sails": 0, "Wind speed": "95 km/h", "Wind is": "gust",
            }
        ],
        "Fixings": [
            _mast("A", 0, 0, 3.4),
            _mast("B", 5.9, 0, 2.6),
            _mast("C", 5.9, 5.6, 3.4),
            _mast("D", 0, 5.6, 2.6),
        ],
        "Options": [
            _opt(TERRACE, "By the rules", "A B C D", Size="made to fit", Cloth="KNIT-HEAVY", Colour="navy"),
            _opt(TERRACE, "Strong posts", "A B C D", Size="made to fit", Cloth="KNIT-HEAVY", Colour="navy",
                 Hardware="heavy", Post="CHS-168", Depth=2.1, Hole=0.75, Chosen="yes"),
            _opt(TERRACE, "Dry", "A B C D", Size="made to fit", Cloth="COAT-DRY", Colour="white",
                 Hardware="heavy", Post="CHS-168", Depth=2.1, Hole=0.75),
        ],
    },
)  # fmt: skip

SAMPLES = (KINDERGARTEN, RIVERSIDE, MESSY, WALLS, TAPED, WINDY)


def build(sample: Sample) -> bytes:
    """The bytes of a sample job, filled into a blank job workbook."""
    book = load_workbook(io.BytesIO(blank_job(None)))
    sheet = book["Job"]
    names = [c.name for c in JOB.columns]
    free = HEADING_ROW + len(names) + 1
    for item, value in sample.job.items():
        row = HEADING_ROW + 1 + names.index(item) if item in names else free
        sheet.cell(row, 1).value = sheet.cell(row, 1).value or item
        sheet.cell(row, 2).value = value
    for table in TABLES[1:]:
        sheet = book[table.sheet]
        at = {c.name: n for n, c in enumerate(table.columns, start=1)}
        assert [sheet.cell(HEADING_ROW, n).value for n in at.values()] == [heading(c) for c in table.columns]
        sheet.delete_rows(HEADING_ROW + 1)
        for row, values in enumerate(sample.rows.get(table.sheet, ()), start=HEADING_ROW + 1):
            for column, value in values.items():
                sheet.cell(row, at[column], value)
    found = io.BytesIO()
    book.save(found)
    return settle(found.getvalue())


LINE_FIELDS = ("site", "option", "status", "code", "description", "kind", "quantity", "unit", "rate", "cost")
PROBLEM_FIELDS = ("level", "code", "sheet", "cell", "site", "option", "message")


def as_csv(fields: Sequence[str], rows: Sequence[Mapping[str, Any]]) -> str:
    """Rows as the text of a CSV file."""
    out = io.StringIO()
    writer = csv.DictWriter(out, fields, lineterminator="\n", extrasaction="ignore")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def _shown(line: Mapping[str, Any]) -> dict[str, Any]:
    """A line with its quantity to ten digits: the last ones of a solved length are the processor's."""
    return {**line, "quantity": f"{Decimal(str(line['quantity'])).normalize():.10g}"}


def expected(data: Mapping[str, Any]) -> tuple[str, str]:
    """Lines and problems of a priced job, from its JSON data, as CSV texts."""
    lines = []
    for site in data["sites"]:
        for o in site["options"]:
            head = {"site": site["site"], "option": o["option"], "status": o["status"]}
            lines += [{**head, **_shown(line)} for line in o.get("lines", [])] or [head]
            if "totals" in o:
                lines.append({**head, "description": "price with tax", "cost": o["totals"]["price"]})
    lines += [{"site": "", "option": "", "status": "whole job", **_shown(line)} for line in data["job_lines"]]
    return as_csv(LINE_FIELDS, lines), as_csv(PROBLEM_FIELDS, data["problems"])


def main() -> None:
    """Write the sample jobs and what is expected of them."""
    from estimator.report.json_out import job_data
    from tests.build import run

    for sample in SAMPLES:
        path = FOLDER / f"{sample.name}.xlsx"
        path.write_bytes(build(sample))
        outcome = run(path)
        assert outcome.priced is not None, outcome.problems
        lines, problems = expected(job_data(outcome.priced))
        path.with_name(f"{sample.name}-lines.csv").write_text(lines, encoding="utf-8")
        path.with_name(f"{sample.name}-problems.csv").write_text(problems, encoding="utf-8")


if __name__ == "__main__":
    main()
