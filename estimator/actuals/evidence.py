"""What one job says of the hours of each row: planned and used, by the row that the plan came from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption, Used
from estimator.rates.model import Ground, RateBook
from estimator.takeoff.labour import DIG, MIX, TRAVEL, Hole, dig_hours

LABOUR, GROUND, CONCRETE = "labour", "ground", "concrete"
PER_HOUR = {"hand": "hand hours per m3", "auger": "auger hours per hole", "excavator": "excavator hours per hole"}


@dataclass(frozen=True, slots=True)
class Target:
    """Hours of the rate book: a task of `labour`, or a column of a row of `ground` or `concrete`."""

    table: str
    name: str
    column: str


@dataclass(frozen=True, slots=True)
class Seen:
    """What one job says of a target. planned, used: person-hours, planned by the hours `then` in force on the job's
    day; share: the part of the hours planned with it that were planned by this target, 0 to 1."""

    job: str
    planned: float
    used: float
    share: float
    then: float


def seen_in(priced: PricedJob, job: str) -> dict[Target, Seen]:
    """Each target that a job's hours say something of. job: its name.

    Hours of digging and concrete are shared among the rows they were planned by, in proportion to the plan. Tasks
    typed in Extras, travel and whatever was not planned say nothing of a row.
    """
    found: dict[Target, Seen] = {}
    for used in priced.used:
        parts = dict(_parts(priced, used)) if used.by_rows else {}
        whole = sum(parts.values())
        if whole <= 0:
            continue
        for target, planned in parts.items():
            share = planned / whole
            seen = Seen(job, planned, float(used.used) * share, share, hours_now(priced.book, target))
            old = found.get(target)
            if old:
                share = max(old.share, share)
                seen = replace(seen, planned=old.planned + planned, used=old.used + seen.used, share=share)
            found[target] = seen
    return found


def hours_now(book: RateBook, target: Target) -> float:
    """The hours of a target in a rate book; of a task with several rows their sum; 0 where it has none."""
    if target.table == LABOUR:
        return sum(t.hours for t in book.labour if key(t.task) == key(target.name))
    if target.table == CONCRETE:
        way = book.concrete.get(key(target.name))
        return way.hours if way else 0.0
    ground = book.ground.get(key(target.name))
    return _digging(ground)[target.column] if ground else 0.0


def _digging(ground: Ground) -> Mapping[str, float]:
    hours = (ground.hand_hours, ground.auger_hours, ground.excavator_hours)
    return dict(zip(PER_HOUR.values(), hours, strict=True))


def _parts(priced: PricedJob, used: Used) -> Iterator[tuple[Target, float]]:
    """The planned hours by target, each target once."""
    if used.what == TRAVEL:
        return  # it follows from a speed, which is a setting
    if used.what not in (DIG, MIX):
        yield Target(LABOUR, used.what, "hours"), float(used.planned_quantity)
        return
    where = {(p.site, p.option) for p in used.planned}
    options = [o for o in priced.options if (o.site.name, o.option.name) in where]
    total: dict[Target, float] = {}
    for o in options:
        for target, hours in _dug(priced.book, o) if used.what == DIG else _placed(o, used):
            total[target] = total.get(target, 0.0) + hours
    yield from total.items()


def _dug(book: RateBook, o: PricedOption) -> Iterator[tuple[Target, float]]:
    access = book.access.get(key(o.site.access))
    for f in o.taken.footings:
        ground = book.ground[key(f.ground)]
        factor = ground.labour_factor * (access.labour_factor if access else 1.0)
        rock = book.ground.get("rock")
        hole = Hole(f.post_name, f.hole, f.hole_depth, ground, rock, f.rock_from, o.site.digging, factor)
        for name, hours in dig_hours(hole)[2].items():
            yield Target(GROUND, name, PER_HOUR[o.site.digging]), hours


def _placed(o: PricedOption, used: Used) -> Iterator[tuple[Target, float]]:
    hours = sum(float(p.line.quantity) for p in used.planned if (p.site, p.option) == (o.site.name, o.option.name))
    ways = {line.code for line in o.taken.lines if line.table == CONCRETE}
    if len(ways) == 1:  # with two ways nobody knows whose hours they were
        yield Target(CONCRETE, ways.pop(), "hours per m3"), hours
