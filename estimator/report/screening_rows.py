"""What the sheet `Screening` says, as rows of values: nothing is drawn here. Values in SI."""

from __future__ import annotations

from collections.abc import Mapping
from math import hypot
from typing import Any

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.geometry.pole import PSF
from estimator.pricing.model import PricedJob, PricedOption
from estimator.rates.model import RateBook
from estimator.report.reasons import said
from estimator.report.table import metric
from estimator.screening.limit import told_words, why_told
from estimator.screening.model import Check, CornerForce, SailShape, Screened, TakeDown
from estimator.screening.wind import speeds

CASES = {"rest": "in still air", "up": "pushed up", "down": "pushed down"}
UNITS = {"N": ("pull", "kN"), "Nm": ("moment", "kNm"), "Pa": ("stress", "MPa"), "m": ("length", "m")}
NOT_ASKED = "no wind speed on the site: fill in Wind speed and Wind is, or ask for it with --screen"
NOT_HUNG = "not all of its sails could be hung; To check says why"
WHY_NOT = ("screen-lacks", "form-not-settled")  # problems that say why an option is not screened
Row = list[Any]


def pressure_words(screened: Screened, units: str) -> str:
    """Both pressures on the cloth."""
    up, down = (
        f"{p:,.0f} Pa" + ("" if metric(units) else f" ({p / PSF:.1f} psf)") for p in (screened.up, screened.down)
    )
    return f"{up} upward, {down} downward, on cloth that takes the whole of the wind"


def facts(priced: PricedJob, screened: Screened) -> list[tuple[str, str]]:
    """Gust, pressures, and what is told and why: label and words."""
    return [
        ("Gust looked at", f"{speeds(screened.gust)}: {screened.gust_words}"),
        ("Pressure", pressure_words(screened, priced.job.header.units)),
        ("Told to crew and customer", told_words(priced.book, screened)),
        ("Because", why_told(priced.book, screened)),
    ]


def take_down(found: TakeDown | None) -> list[Row]:
    """When the first and the second part are used up: which of them, part, and its gust in m/s, km/h and mph."""
    if found is None:
        return []
    if not found.reached:
        first = "Nothing used up by the highest gust tried; most used there"
        rows: list[Row] = [[first, found.first or "no part", *[found.wind] * 3]]
        return [*rows, ["Then", found.second, None, None, None]] if found.second else rows
    name = "First used up" if found.wind else "Used up in still air"
    rows = [[name, found.first, *[found.wind] * 3]]
    if found.second:
        rows.append(["Second", found.second, *[found.second_wind] * 3])
    return rows


def checks(screened: Screened, units: str) -> list[tuple[Check, Row]]:
    """Every part, the most used first: part, where, used, asked of it, rated, unit, case, counted, fixings, kind,
    source, working. What is asked and rated is left to the check, since each row has its own unit."""
    return [
        (
            c,
            [c.part, c.where, "not known" if c.used is None else c.used, None, None, _unit(c, units),
             CASES.get(c.case, c.case), "yes" if c.counted else "no", ", ".join(c.fixings), c.kind, c.source,
             c.working],
        )
        for c in screened.checks
    ]  # fmt: skip


def _unit(check: Check, units: str) -> str:
    """The unit that a check is shown in; none for lengths in feet and inches, which carry theirs."""
    return "" if check.unit == "m" and not metric(units) else UNITS[check.unit][1]


def rule_of_thumb(book: RateBook) -> tuple[float, float] | None:
    """Sideways pull over its upward share by the rule of thumb, low and high; None where the book has no row for it."""
    low, high = book.known("sideways over upward low"), book.known("sideways over upward high")
    return None if low is None or high is None else (low, high)


def rule_words(rule: tuple[float, float] | None) -> str:
    """The rule by its own name."""
    return f"{rule[0]:g} to {rule[1]:g} times the upward share" if rule else "no rule of thumb in the rate book"


def corner_row(force: CornerForce, rule: tuple[float, float] | None) -> Row:
    """Sail, fixing, pull in still air, pushed up, pushed down, the greatest, the greatest sideways and upward share of
    the three, the rule of thumb low and high, and in words which of the two assumptions is the larger."""
    pulls = (force.rest, force.up, force.down)
    sideways = max(hypot(p[0], p[1]) for p in pulls)
    upward = max(0.0, *(p[2] for p in pulls))
    sizes = [hypot(*p) for p in pulls]
    row: Row = [force.sail, force.fixing, *sizes, force.greatest, sideways, upward]
    if rule is None:
        return [*row, None, None, "the form of the sail"]
    low, high = rule[0] * upward, rule[1] * upward
    by_form = f"the form of the sail, {sideways / upward:.1f} times" if upward else "the form of the sail"
    return [*row, low, high, by_form if sideways >= high else f"the rule of thumb, {rule[1]:g} times"]


def sail_row(shape: SailShape, units: str) -> Row:
    """Sail, its area, highest and lowest point, and the pool that it would hold."""
    if shape.pond is None:
        words = "no pool found; only a waterproof cloth is looked at"
    else:
        across, out, deep = (show_length(x, units) for x in shape.pond)
        words = f"a pool {deep} deep, its middle at Across {across}, Out {out}"
    return [shape.sail, shape.area, *shape.highest, *shape.lowest, words]


def not_screened(priced: PricedJob) -> list[tuple[PricedOption, str]]:
    """The options that are not screened, with why; the problems are gone through once."""
    why: dict[tuple[str, str], str] = {}
    for p in priced.problems:
        if p.code in WHY_NOT and p.site is not None and p.option is not None:
            why.setdefault((key(p.site), key(p.option)), said(p))
    return [(o, _why(o, why)) for o in priced.options if o.screened is None]


def _why(option: PricedOption, why: Mapping[tuple[str, str], str]) -> str:
    at = (key(option.site.name), key(option.option.name))
    if at in why:
        return why[at]
    return NOT_ASKED if option.site.wind_speed is None else NOT_HUNG
