"""A priced job as tables for whoever works in Python: one frame a table, ready to group, join and plot.

    from estimator.frames import lines_frame, price
    priced = price("sample_jobs/riverside.xlsx")
    lines_frame(priced).groupby(["site", "option", "kind"])["cost"].sum()

Money and rates are Decimal objects, which add up without losing a cent; lengths are m, areas m2, volumes m3,
angles degrees, loads N, labour person-hours. What does not apply is None (NaN in a column of numbers). Rows stand
in the order of the workbook; an option that is not priced keeps what is known of its corners and posts and has no
lines and hours.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from estimator.pricing.model import PricedJob, PricedOption

if TYPE_CHECKING:
    from pandas import DataFrame

HEAD = ("site", "option", "chosen", "status")
LINES = (*HEAD, "code", "description", "kind", "quantity", "unit", "rate", "cost", "working", "source")
CORNERS = (
    *HEAD, "sail", "fixing", "gap", "off_bisector", "off_centroid", "set", "run", "links", "pitch", "run_length",
    "cut_length", "tensioner", "take_up_used", "take_up_left", "take_up_after_creep", "slack", "weakest",
    "working_load",
)  # fmt: skip
POSTS = (
    *HEAD, "post_name", "fixings", "post", "above_ground", "in_ground", "length", "stock_length", "lean",
    "foot_across", "foot_out", "rule", "diameter", "depth", "hole_depth", "hole", "stone", "pad", "concrete", "spoil",
)  # fmt: skip
SCREENING = (
    *HEAD, "kind", "part", "where", "demand", "capacity", "unit", "used", "counted", "case", "source", "working",
)  # fmt: skip
LABOUR = (*HEAD, "visit", "task", "trade", "hours", "working")
ORDER = (
    "supplier", "supplier_code", "table", "code", "description", "colour", "needed", "quantity", "unit", "pack",
    "packs", "price", "per", "cost", "left_over", "billed", "lead_days",
)  # fmt: skip
PROBLEMS = ("level", "code", "sheet", "cell", "site", "option", "fixing", "message")


def price(
    path: str | Path, rates: str | Path | None = None, today: date | None = None, screen: bool = False
) -> PricedJob:
    """Price a job workbook without writing anything.

    rates: a rate book that wins over the job's own; today: the day where the job names none; screen: look at the wind
    on sites without a wind speed too.
    Raises ValueError, with every problem a line, when the file or the rate book cannot be used.
    """
    from estimator.core.problems import Problem
    from estimator.jobfile import first_name
    from estimator.pipeline import price_workbook
    from estimator.sheets.door import open_door
    from estimator.sheets.package import own_sheets

    opened = open_door(Path(path))
    if isinstance(opened, Problem):
        raise ValueError(opened.message)
    name = first_name(Path(path), bool(own_sheets(opened)))
    outcome = price_workbook(opened, name, today or date.today(), Path(rates) if rates else None, screen=screen)
    if outcome.priced is None:
        raise ValueError("\n".join(p.message for p in outcome.problems))
    return outcome.priced


def lines_frame(priced: PricedJob) -> DataFrame:
    """Every line of every priced option, then the lines of the whole job (site, option blank; chosen: counted).

    quantity, rate, cost: Decimal, in the line's unit and the job's currency; working: how the quantity came about.
    """
    rows = [(*_head(o), line) for o in priced.options if o.bill for line in o.bill.lines]
    rows += [("", "", True, "whole job", line) for line in (priced.job_bill.lines if priced.job_bill else ())]
    return _frame(LINES, ((*head, *_of(line, LINES[4:])) for *head, line in rows))


def corners_frame(priced: PricedJob) -> DataFrame:
    """Every corner of every sail. gap, run_length, cut_length, take-up: m; angles: degrees; working_load: N.

    links and pitch [m] are None for wire rope, tensioner and take-up where a corner has none.
    """
    return _frame(CORNERS, ((*_head(o), *_of(c, CORNERS[4:])) for o in priced.options for c in o.taken.corners))


def posts_frame(priced: PricedJob) -> DataFrame:
    """Every new post with its hole. Lengths m; hole, stone, pad, concrete, spoil m3 in place; lean: degrees.

    fixings: tuple of names; the columns from rule on are None where a post stands on a plate.
    """
    rows = []
    for o in priced.options:
        holes = {f.post_name: f for f in o.taken.footings}
        for post in o.taken.posts:
            hole = holes.get(post.post_name)
            rows.append((*_head(o), *_of(post, POSTS[4:14]), *(_of(hole, POSTS[14:]) if hole else [None] * 9)))
    return _frame(POSTS, rows)


def screening_frame(priced: PricedJob) -> DataFrame:
    """Every part of every screened option at the gust looked at, the most used first: indicative, for an engineer to
    confirm. demand, capacity: N, Nm, Pa or m by unit; capacity and used are None where nothing is known.
    """
    rows = [(o, c) for o in priced.options if o.screened for c in o.screened.checks]
    return _frame(SCREENING, ((*_head(o), *_of(c, SCREENING[4:])) for o, c in rows))


def labour_frame(priced: PricedJob) -> DataFrame:
    """Person-hours of every task of every priced option, by visit and trade."""
    rows = [(o, h) for o in priced.options if o.bill for h in o.taken.hours]
    return _frame(LABOUR, ((*_head(o), *_of(h, LABOUR[4:])) for o, h in rows))


def order_frame(priced: PricedJob) -> DataFrame:
    """What to buy for the chosen options, by supplier; no rows where nothing is bought.

    needed, quantity, pack, left_over: Decimal in `unit`; price: Decimal, of what `per` says: the unit, a bar or a reel.
    """
    return _frame(ORDER, (_of(r, ORDER) for r in (priced.order.rows if priced.order else ())))


def problems_frame(priced: PricedJob) -> DataFrame:
    """Every problem, worst first: level (error, warning, note), code, where it stands, what it says."""
    return _frame(
        PROBLEMS,
        (
            (p.level, p.code, p.place.sheet, p.place.cell, p.site, p.option, p.fixing, p.message)
            for p in priced.problems
        ),
    )


def _head(o: PricedOption) -> tuple[str, str, bool, str]:
    return o.site.name, o.option.name, o.chosen, o.status


def _of(row: object, names: Sequence[str]) -> list[Any]:
    return [getattr(row, name) for name in names]


def _frame(columns: Sequence[str], rows: Iterable[Iterable[Any]]) -> DataFrame:
    from pandas import DataFrame

    return DataFrame([list(row) for row in rows], columns=list(columns))
