"""What the wind asks of a sail, and prices that a person should look at before they go out."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from tests.build import fixing, option
from tests.problems.model import Case
from tests.problems.yards import (
    AT,
    Yard,
    changed,
    flat,
    job_told,
    made,
    rate_told,
    ring,
    steady,
    yards_in,
    yards_told,
)
from tests.rate_books import put, with_changes

Table = list[dict[str, str]]

WINDY = {"Wind speed": "25 m/s", "Wind is": "gust"}
WIND = ("Sites", "Wind speed")
TWISTED = (2.4, 3.4, 2.4, 3.4)
HEAVY = made(Hardware="heavy")


def _posts(post: str = "CHS-168", hole: float = 0.75, depth: float = 2.2, heights: Any = TWISTED) -> list[Any]:
    return ring(6, 6, heights, Post=post, Hole=hole, Depth=depth)


SLIVER = [fixing("E", 10, 0, 3), fixing("F", 15, 0, 3), fixing("G", 10, 1.6, 3)]
SCREENED = (
    Yard("gust", (("used-up-in-wind", *WIND),), WINDY, _posts(), [HEAVY]),
    Yard("weak", (("used-up-at-rest", *AT), ("post-moves", *AT)), WINDY, _posts("LT-100", 0.4, 0.5), [HEAVY]),
    Yard("beams", (("screen-unknown", *AT),), WINDY, ring(6, 6, TWISTED, "beam"), [HEAVY]),
    Yard("lacks", (("screen-lacks", *WIND),), WINDY, _posts(), [made(Hardware="heavy", Cloth="KNIT-FIRE")]),
    Yard("sliver", (("form-not-settled", *AT, 1),), WINDY, [*_posts(), *SLIVER],
         [HEAVY, made("E F G", Cloth="MESH-OPEN")]),
    Yard("unrated", (("take-down-unknown", *AT),), WINDY, ring(6, 6, TWISTED, "beam"), [made(Hardware="short")]),
    Yard("pool", (("sail-pools", *AT),), WINDY, _posts(heights=(2.6,) * 4),
         [made(Hardware="heavy", Cloth="COAT-DRY")]),
)  # fmt: skip


def _screening_book(folder: Path) -> Path:
    """A cloth without its stiffness, one of very hollow edges, and a corner set of which nothing is rated."""

    def cloths(rows: Table) -> None:
        put("code", "KNIT-FIRE", **{"stiffness (kN/m)": ""})(rows)
        put("code", "MESH-OPEN", **{"edge hollow (%)": "25"})(rows)

    def unrated(rows: Table) -> None:
        loads = ("working load (kN)", "breaking load (kN)", "axial working load (kN)")
        for code in ("EYE-PIN", "TEN-M12-PIN", "CH-8", "RING-40", "WR-6"):
            put("code", code, **dict.fromkeys(loads, ""))(rows)

    return with_changes(folder / "rates", {"cloths": cloths, "rigging": unrated})


JOB = {
    "Tax": None, "Place": "Millbrook", "Deposit": "50 %", "Customer is": "private", "Discount": "60 %",
    "Finish by": date(2026, 4, 10),
}  # fmt: skip
PHONE = {"Description": "Paving", "Quantity": 1, "Unit": "each", "Cost each": 5, "Price is": "verbal"}
PRICED = (
    Yard("phone", (("below-cost", "Options", "Option"), ("price-verbal", "Options", "Option"),
                   ("facts-told", "Options", "Option"), ("usual-missing", "Sites", "Site")),
         fixings=changed(steady(), 0, Known_by="told"), options=[option("A B C D", "SQ-3600")], extras=[PHONE]),
    Yard("held", (), fixings=flat(4.9), options=[option("A B C D", "SQ-4000")]),
    Yard("bare", (("scope-gap", "Sites", "Site"),), fixings=flat(6),
         options=[option("A B C D", "SQ-5000", Post="RT-150")]),
    Yard("lost", (("sail-too-large", "Options", "Size"),), fixings=flat(6), options=[option("A B C D", "SQ-7000")]),
)  # fmt: skip
QUIET = Yard("quiet", (), fixings=flat(6), options=[option("A B C D", "SQ-5000")])


def _pricing_book(folder: Path) -> Path:
    """Prices that were or are held, one that jumped, one unlike its like, a chain of too short lengths."""

    def sails(rows: Table) -> None:
        put("code", "SQ-3600", **{"valid until": "2026-04-20"})(rows)
        put("code", "SQ-4000", **{"valid until": "2026-03-01"})(rows)
        row = next(r for r in rows if r["code"] == "SQ-5000")
        rows.append({**row, "price": str(int(row["price"]) * 4), "valid_from": "2026-03-01"})

    def rigging(rows: Table) -> None:
        put("code", "SHK-09", price="295")(rows)
        put("code", "CH-6", **{"stock lengths (m)": "0.3"})(rows)

    changes = {"sails": sails, "rigging": rigging, "posts": put("code", "RT-150", finish="")}
    return with_changes(folder / "rates", changes)


PRICED_TOLD = frozenset(
    {
        rate_told("price-outlives", "sails", "valid until", "SQ-3600"),
        rate_told("price-held-no-more", "sails", "valid until", "SQ-4000"),
        rate_told("price-jumped", "sails", "price"),
        rate_told("price-outlier", "rigging", "price", "SHK-09"),
        rate_told("order-not-cut", "rigging", "stock lengths (m)", "CH-6"),
        rate_told("price-old", "sails", "valid_from", "SQ-3600"),
    }
)
OLD = {"Tax": "none", "Priced on": date(2026, 1, 3), "Status": "firm", "Finish by": None}
ABROAD = {"Tax": "ST", "Tax reason": "sold abroad"}

CASES: tuple[Case, ...] = (
    Case("wind", yards_in(SCREENED), yards_told(SCREENED), rates=_screening_book),
    Case(
        "prices", yards_in(PRICED, JOB),
        yards_told(PRICED) | PRICED_TOLD | job_told(JOB, tax_usual="Tax", deposit_capped="Deposit",
                                                    order_late="Finish by", total_incomplete="Job name"),
        rates=_pricing_book,
    ),
    Case("an old price", yards_in([QUIET], OLD),
         job_told(OLD, tax_none="Tax", price_expired="Priced on", scope_gap="Finish by")),
    Case("a tax and a reason for none", yards_in([QUIET], ABROAD), job_told(ABROAD, tax_reason_unused="Tax reason")),
)  # fmt: skip
