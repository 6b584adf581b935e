"""Random valid jobs: shapes, supports, extras and terms as people mix them, from a seed."""

from __future__ import annotations

from math import cos, pi, sin
from pathlib import Path
from random import Random
from typing import Any

from tests.build import write_job

HOUSE = ("rafter", "beam", "fascia bracket", "solid wall", "concrete wall", "steel beam")
ENGINEER = ("tree", "existing post", "post by others", "cavity wall", "base plate", "parapet")
CLOTHS = ("KNIT-LIGHT", "KNIT-HEAVY", "KNIT-FIRE", "MESH-OPEN", "COAT-DRY")
TERMS: tuple[dict[str, Any], ...] = (
    {},
    {"Margin": "18 %"},
    {"Markup": "27.5 %", "Discount": "3 %"},
    {"Contingency": "7 %", "Round price to": 5},
    {"Margin": "0 %", "Discount": "1.25 %"},
    {"Tax": "none"},
    {"Tax": "ST ST-LOW"},
    {"Customer is": "private", "Units": "feet and inches"},
    {"Crew": 3, "Hours a day": 7.5, "Currency": "$"},
)


def random_job(path: Path, seed: int, small: bool = False) -> Path:
    """Write the job of a seed. small: one or two sites of one or two options, so that very many can be made."""
    rng = Random(seed)
    sites, fixings, options, extras = [], [], [], []
    trips = rng.choice(["", "tour"])
    for s in range(rng.choice([1, 1, 2]) if small else rng.randint(1, 4)):
        site = f"Site {s + 1}"
        sites.append(_site(rng, site, trips))
        names = _ring(rng, site, fixings)
        count = rng.choice([1, 1, 2]) if small else rng.randint(1, 3)
        for o in range(count):
            row = _option(rng, site, f"{o + 1}", names)
            row["Chosen"] = "yes" if o == 0 and rng.random() < 0.9 else None
            options.append(row)
        if rng.random() < (0.1 if small else 0.4):
            options += _second_sail(rng, site, names, fixings)
        extras += _extras(rng, site)
    if rng.random() < 0.5:
        extras.append({"Description": "Folder", "Quantity": 1, "Unit": "each", "Cost each": 33.33, "Kind": "fee"})
    terms = {"Reference": f"R{seed}", **rng.choice(TERMS)}
    used = _actuals(rng, [s["Site"] for s in sites]) if rng.random() < 0.5 else []
    return write_job(path, job=terms, sites=sites, fixings=fixings, options=options, extras=extras, actuals=used)


def _actuals(rng: Random, sites: list[str]) -> list[dict[str, Any]]:
    """Hours and quantities as people note them: of the whole job, of a site, of an option, by any name and unit."""
    what = [
        ("hang sail", "h"), ("dig", None), ("place-concrete", "min"), ("Tension corner", "hours"), ("travel", "h"),
        ("CON-TRUCK", "m3"), ("CON-BAG-20", None), ("travel-km", "m"), ("Folder", "each"), ("survey", "h"),
    ]  # fmt: skip
    rows = []
    for _ in range(rng.randint(1, 8)):
        name, unit = rng.choice(what)
        row = {"What": name, "Quantity": round(rng.uniform(0, 12), rng.choice([0, 1, 2])), "Unit": unit, "By": "Wren"}
        if rng.random() < 0.6:
            row |= {"Site": rng.choice(sites), "Option": rng.choice([None, "1", "2"])}
        rows.append(row)
    return rows


def _site(rng: Random, site: str, trip: str) -> dict[str, Any]:
    return {
        "Site": site,
        "Ground": rng.choice(["firm", "soft", "sand", "unknown", "rock"]),
        "Rock at (m)": rng.choice([None, None, 0.7, 2.5]),
        "Digging": rng.choice(["hand", "auger", "excavator", None]),
        "Access": rng.choice(["easy", "steps", "barrow only", None]),
        "Travel (km)": rng.choice([0, 7.5, 40]),
        "Trip": trip or None,
        "Place": rng.choice([None, "Millbrook", "Old Quay"]),
        "Existing sails": rng.choice([None, 0, 1]),
    }


def _ring(rng: Random, site: str, fixings: list[dict[str, Any]]) -> list[str]:
    """Fixings on a wobbly ring, in order."""
    n = rng.choice([3, 3, 4, 4, 4, 5, 6, 8])
    radius = rng.uniform(3.0, 4.6) * (1 + 0.05 * n)
    names = []
    for i in range(n):
        angle = 2 * pi * (i + rng.uniform(-0.12, 0.12)) / n
        r = radius * rng.uniform(0.92, 1.08)
        ground = rng.choice([0, 0, 0.15])
        kind = rng.choice(HOUSE) if i < 2 else "new post"
        if rng.random() < 0.12:
            kind = rng.choice(ENGINEER)
        name = "ABCDEFGH"[i]
        names.append(name)
        fixings.append(
            {
                "Site": site,
                "Fixing": name,
                "Held by": kind,
                "Across (m)": round(r * cos(angle), 3),
                "Out (m)": round(r * sin(angle), 3),
                "Height (m)": round(rng.uniform(2.3, 3.3) + ground, 3),
                "Ground level (m)": ground,
                "Lean": rng.choice([None, None, None, 0, 8]),
                "Tied": rng.choice([None, None, None, "yes"]),
                "Depth (m)": rng.choice([None, None, None, 1.1]),
                "Hole (m)": rng.choice([None, None, None, 0.45]),
                "To edge (m)": rng.choice([None, 0.4, 1.2]),
                "To boundary (m)": rng.choice([None, 0.5, 3]),
                "Post": rng.choice([None, None, "CHS-140", "LT-150"]) if kind in ("new post", "base plate") else None,
            }
        )
    return names


def _option(rng: Random, site: str, name: str, corners: list[str]) -> dict[str, Any]:
    made = len(corners) > 4 or rng.random() < 0.5
    size = "made to fit" if made else rng.choice(["", "3.2 x 3.4 m" if len(corners) == 4 else "3.4 3.5 3.6 m"])
    return {
        "Site": site,
        "Option": name,
        "Corners at": " ".join(corners),
        "Size": size,
        "Cloth": rng.choice(CLOTHS) if size else None,
        "Run": rng.choice([None, None, "chain", f"chain, {corners[0]} wire rope"]),
        "Tensioned": rng.choice([None, None, " ".join(corners[:2])]),
        "Profit margin": rng.choice([None, None, None, "31 %"]),
    }


def _second_sail(rng: Random, site: str, names: list[str], fixings: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """One more option of two sails that share two posts."""
    for name, across, out in (
        ("X", 14.0, -2.6),
        ("Y", 14.0, 2.6),
        ("Z", 19.0, 2.6),
        ("V", 19.0, -2.6),
        ("U", 24.0, 0.0),
    ):
        fixings.append(
            {"Site": site, "Fixing": name, "Held by": "new post", "Across (m)": across, "Out (m)": out,
             "Height (m)": round(rng.uniform(2.4, 3.2), 2), "Ground level (m)": 0}
        )  # fmt: skip
    row = {"Site": site, "Option": "pair", "Size": "made to fit", "Cloth": rng.choice(CLOTHS)}
    return [{**row, "Sail": "left", "Corners at": "X V Z Y"}, {**row, "Sail": "right", "Corners at": "V U Z"}]


def _extras(rng: Random, site: str) -> list[dict[str, Any]]:
    pool: list[dict[str, Any]] = [
        {"Description": "Relay paving", "Quantity": 3.5, "Unit": "m2", "Cost each": 41.15, "Kind": "subcontract"},
        {"Description": "More drainage stone", "Quantity": 350, "Unit": "l", "Item": "stone-20mm"},
        {"Description": "A second ladder", "Quantity": 2, "Unit": "day", "Item": "hire-ladder"},
        {"Description": "Spoil stays", "Quantity": 0, "Unit": "m3", "Instead of": "spoil-away"},
        {"Description": "Extra hands", "Quantity": 2.5, "Unit": "h", "Cost each": 39.9, "Kind": "labour"},
        {"Description": "Spare tensioner", "Quantity": 1, "Unit": "each", "Item": "TEN-M12", "Offered apart": "yes"},
        {"Description": "Irrigation moved", "Quantity": 1, "Unit": "each", "By others": "yes"},
    ]
    return [{"Site": site, **row} for row in pool if rng.random() < 0.3]
