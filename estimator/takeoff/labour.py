"""Person-hours by task, trade and visit; visits and days; travel. It sees only measures and holes."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

from estimator.core.money import from_float
from estimator.rates.model import Ground, LabourTask, RateBook, Trade
from estimator.takeoff.lines import make_line, number, source_of
from estimator.takeoff.model import Hours, Line, Measures, Varies

EVERY = "every"
VISITS = ("survey", "footings", "re-measure", "hang", "re-tension")
DIG, MIX, TRAVEL = "dig", "place concrete", "travel"


@lru_cache(maxsize=2_000)
def slug(task: str) -> str:
    """The code of a labour line.

    >>> slug("Set and brace post")
    'set-and-brace-post'
    """
    return re.sub(r"[^\w]+", "-", task.casefold()).strip("-") or "task"


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole to dig. volume [m3]; depth [m]; rock_from: depth where rock begins [m]; factor: of ground and
    access; digging: hand, auger, excavator."""

    post_name: str
    volume: float
    depth: float
    ground: Ground
    rock: Ground | None
    rock_from: float | None
    digging: str
    factor: float


def dig_hours(hole: Hole) -> tuple[float, str, dict[str, float]]:
    """Person-hours to dig one hole, how they came about, and how many of them are in each ground.

    By hand: hours a cubic metre x volume; by machine: hours a hole. Rock: the hours of each ground by its
    share of the depth.
    """
    share = 0.0
    if hole.rock and hole.rock_from is not None:
        share = max(0.0, min(1.0, (hole.depth - hole.rock_from) / hole.depth))
    words, hours = [], 0.0
    within: dict[str, float] = {}
    for ground, part in ((hole.ground, 1.0 - share), (hole.rock, share)):
        if ground is None or part <= 0:
            continue
        rate = {"hand": ground.hand_hours, "auger": ground.auger_hours}.get(hole.digging, ground.excavator_hours)
        by = hole.volume * part if hole.digging == "hand" else part
        unit = "m3" if hole.digging == "hand" else "hole"
        hours += rate * by
        within[ground.name] = within.get(ground.name, 0.0) + rate * by * hole.factor
        words.append(f"{ground.name} {number(rate)} h x {number(by)} {unit}")
    factor = f" x {number(hole.factor)}" if hole.factor != 1 else ""
    return hours * hole.factor, f"{hole.post_name}: ({' + '.join(words)}){factor}", within


def task_hours(
    tasks: Sequence[LabourTask], measures: Measures, weighed: Measures, only: Sequence[str] | None = None
) -> list[Hours]:
    """Hours of the labour rows whose measure is known; posts and footings by their weighed measures.

    only: just the rows for these `for each`, None for all that `measures` holds.
    """
    found = []
    for row in tasks:
        if only is not None and row.for_each not in only:
            continue
        plain = measures.get(row.for_each, {}).get(row.measure)
        if plain is None:
            continue
        value = weighed.get(row.for_each, {}).get(row.measure, plain)
        hours = row.hours * value
        if hours <= 0:
            continue
        factor = f" x labour factor {number(value / plain)}" if plain and abs(value - plain) > 1e-12 else ""
        words = f"{number(row.hours)} h x {number(plain)} {row.for_each} {row.measure}{factor}"
        varies = _varies(f"{row.task}, hours", row, row.trade)
        found.append(Hours(row.task, row.trade, row.visit, hours, words, varies))
    return found


def digging(book: RateBook, holes: Sequence[Hole]) -> list[Hours]:
    """Hours of digging all holes of an option."""
    if not holes:
        return []
    dug = [dig_hours(h) for h in holes]
    total = sum(hours for hours, _, _ in dug)
    if total <= 0:
        return []
    trade = book.text("digging trade")
    varies: list[Varies] = []
    for ground in dict.fromkeys(g for h in holes for g in (h.ground, h.rock) if g):
        share = sum(within.get(ground.name, 0.0) for *_, within in dug) / total
        if share > 0:
            varies += _varies(f"digging (ground {ground.name}), hours", ground, trade, share)
    words = "; ".join(words for _, words, _ in dug)
    return [Hours(DIG, trade, book.text("digging visit"), total, words, tuple(varies))]


def _varies(name: str, row: LabourTask | Ground | Trade, group: str, share: float = 1.0) -> tuple[Varies, ...]:
    ends = row.ends
    return (Varies(name, share, ends.low, ends.high, group, source_of(row.origin)),) if ends else ()


def placing(book: RateBook, hours: float, working: str) -> list[Hours]:
    """Hours of mixing or barrowing and placing the concrete."""
    if hours <= 0:
        return []
    return [Hours(MIX, book.text("concrete trade"), book.text("digging visit"), hours, working)]


def visit_names(rows: Sequence[Hours]) -> tuple[str, ...]:
    """The visits with hours, in the usual order, others after them as they come."""
    named = dict.fromkeys(h.visit for h in rows if h.hours > 0 and h.visit and h.visit != EVERY)
    usual = [v for v in VISITS if v in named]
    return (*usual, *(v for v in named if v not in VISITS))


def spread(rows: Sequence[Hours], visits: Sequence[str], weights: Mapping[str, float]) -> list[Hours]:
    """Rows of `every` visit spread over the visits by weight; the others as they are."""
    whole = sum(weights.get(v, 0.0) for v in visits)
    result = []
    for row in rows:
        if row.visit != EVERY:
            result.append(row)
        elif whole > 0:
            result += [
                Hours(row.task, row.trade, v, row.hours * weights[v] / whole, row.working, row.varies)
                for v in visits
                if weights.get(v, 0.0) > 0
            ]
    return result


def days_by_visit(rows: Sequence[Hours], visits: Sequence[str], crew: float, hours_a_day: float) -> dict[str, int]:
    """Whole days on site of each visit: hours of the crew over the hours of a day, rounded up.

    >>> days_by_visit([Hours("hang", "installer", "hang", 18.0, "")], ["hang"], crew=2, hours_a_day=8)
    {'hang': 2}
    """
    return {v: max(1, ceil(sum(h.hours for h in rows if h.visit == v) / (crew * hours_a_day) - 1e-9)) for v in visits}


def travel_hours(book: RateBook, km: float, crew: float, visits: Sequence[str]) -> list[Hours]:
    """The crew's hours on the road, an equal part each visit. km: this option's share of all trips."""
    if km <= 0 or not visits:
        return []
    speed = book.number("travel speed")
    total = km / speed * crew
    words = f"{number(km)} km / {number(speed)} km/h x crew {number(crew)}"
    trade = book.text("travel trade")
    varies = travel_varies(book)
    return [Hours(TRAVEL, trade, v, total / len(visits), f"{words} / {len(visits)} visits", varies) for v in visits]


def travel_varies(book: RateBook) -> tuple[Varies, ...]:
    """How far the way may come out otherwise: one thing for kilometres and hours, and no matter of a trade."""
    low, high = book.known("travel low"), book.known("travel high")
    if low is None and high is None:
        return ()
    rows = [book.settings[name] for name in ("travel low", "travel high") if name in book.settings]
    source = "; ".join(dict.fromkeys(source_of(row.origin) for row in rows))
    ends = (1.0 if low is None else low, 1.0 if high is None else high)
    return (Varies("travel, km and hours", 1.0, *ends, source=source),)


def labour_line(row: Hours, trade: Trade, words: str) -> Line:
    """The line of the hours of a task. words: its description."""
    varies = (*row.varies, *_varies(f"{trade.name}, cost of an hour", trade, trade.name))
    hours, rate = from_float(row.hours), trade.cost_per_hour
    return make_line(slug(row.task), words, "labour", hours, "h", rate, row.working, trade.origin, varies=varies)


def merged(rows: Sequence[Hours]) -> tuple[Hours, ...]:
    """One row for each task, trade and visit."""
    found: dict[tuple[str, str, str], Hours] = {}
    for row in rows:
        at = (row.task, row.trade, row.visit)
        if at in found:
            old = found[at]
            words, varies = f"{old.working}; {row.working}", _both(old, row)
            row = Hours(row.task, row.trade, row.visit, old.hours + row.hours, words, varies)
        found[at] = row
    return tuple(found.values())


def _both(one: Hours, two: Hours) -> tuple[Varies, ...]:
    """What varies of two rows, as shares of both together."""
    found: dict[tuple[str, float, float], Varies] = {}
    for row in (one, two):
        for v in row.varies:
            share = v.share * row.hours / (one.hours + two.hours)
            at = (v.name, v.low, v.high)
            found[at] = replace(v, share=share + (found[at].share if at in found else 0.0))
    return tuple(found.values())
