"""From a draft to a finished take-off: hours, visits, days, travel, and every line of the bill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Header
from estimator.rates.model import RateBook
from estimator.takeoff import concrete, extras, labour, measures, typed_concrete
from estimator.takeoff.draft import Draft, Trip, Worked
from estimator.takeoff.labour import slug
from estimator.takeoff.lines import number
from estimator.takeoff.model import Hours, Line, Pour, Takeoff
from estimator.takeoff.option_lines import option_lines

USUAL_VISIT = "hang"


def crew_of(book: RateBook, header: Header) -> float:
    """People on site: the job's, else the book's."""
    return header.crew or book.number("crew")


def work_out(book: RateBook, draft: Draft) -> tuple[Worked, list[Problem]]:
    """The hours of a draft that do not depend on its trip, and so its visits."""
    typed, problems = extras.extra_lines(book, draft.extras, USUAL_VISIT)
    problems += typed_concrete.typed_problems(book, draft)
    dropped = typed_concrete.with_every_way(book, extras.replaced_codes(draft.extras))
    static = measures.static_measures(draft.counted)
    weighed = measures.factored(draft.counted, draft.factors)
    bought: tuple[concrete.Bought, ...] = ()
    pour: Pour | None = None
    net = sum(f.concrete for f in draft.footings)
    if net > 0:
        trade = book.trades.get(key(book.text("concrete trade")))
        hour = trade.cost_per_hour if trade else Decimal(0)
        volumes = [(f.concrete, draft.factors.get(key(f.post_name), 1.0)) for f in draft.footings]
        factor = sum(v * w for v, w in volumes) / net
        waste = book.number("concrete waste")
        bought = tuple(concrete.ways(list(book.concrete.values()), net, waste, hour, factor))
        if key(bought[0].row.code) not in dropped:
            pour = Pour(net, waste, factor, bought[0].row.code)
    rows = _ground_hours(book, draft, bought)
    rows += labour.task_hours(book.labour, {**static, "site": {"count": 1.0, "km": 2 * draft.site.travel}}, weighed)
    rows = [r for r in rows if key(slug(r.task)) not in dropped]
    hours = (*rows, *typed.hours)
    return Worked(hours, labour.visit_names(hours), typed, bought, dropped, static, weighed, pour), problems


def _ground_hours(book: RateBook, draft: Draft, bought: Sequence[concrete.Bought]) -> list[Hours]:
    """Hours of digging, and of placing the concrete that is bought the cheapest way."""
    rows = labour.digging(book, draft.holes)
    if bought:
        rows += labour.placing(book, bought[0].hours, f"{number(bought[0].hours, 3)} h for {bought[0].words}")
    return rows


def finish(book: RateBook, header: Header, draft: Draft, worked: Worked, trip: Trip) -> tuple[Takeoff, list[Problem]]:
    """The take-off of an option with every line of its bill."""
    problems: list[Problem] = []
    crew, day_hours = crew_of(book, header), header.hours_a_day or book.number("hours a day")
    share = 1 / trip.sites
    visits = trip.visits * share

    def kept(rows: Sequence[Hours]) -> list[Hours]:
        return [r for r in rows if key(slug(r.task)) not in worked.dropped]

    site_only = {"site": {"count": share, "km": trip.km}, "visit": {"count": visits, "km": trip.km}}
    rows = [h for h in worked.hours if h.trade == extras.TYPED]
    rows += kept(_ground_hours(book, draft, worked.concrete))
    rows += kept(labour.task_hours(book.labour, {**worked.static, **site_only}, worked.weighed))
    equal = dict.fromkeys(worked.visits, 1.0)
    rows = labour.spread(rows, worked.visits, equal)
    days = labour.days_by_visit(rows, worked.visits, crew, day_hours)
    whole = measures.with_visits(worked.static, sites=share, visits=visits, km=trip.km, days=float(sum(days.values())))
    by_day = kept(labour.task_hours(book.labour, whole, worked.weighed, only=("day",)))
    rows += labour.spread(by_day, worked.visits, {v: float(d) for v, d in days.items()})
    rows += kept(labour.travel_hours(book, trip.km, crew, worked.visits))
    hours = labour.merged(rows)
    lines = option_lines(book, draft, worked, whole, hours, days, trip)
    problems += _unmatched(book, draft, lines)
    typed = worked.extras
    return (
        replace(
            known_only(draft),
            excluded=typed.excluded,
            shown=typed.shown,
            hours=hours,
            visits=worked.visits,
            days=days,
            measures=whole,
            lines=tuple(lines),
            apart=typed.apart,
            pour=worked.pour,
        ),
        problems,
    )


def known_only(draft: Draft) -> Takeoff:
    """What is known of an option that is not priced: no hours, no lines."""
    return Takeoff(
        site=draft.site.name,
        option=draft.option.name,
        points=draft.points,
        sails=tuple(h.taken for h in draft.hung),
        corners=draft.corners,
        posts=draft.posts,
        footings=draft.footings,
        engineer=draft.engineer,
        marks=draft.marks,
        falls=draft.falls,
        drains=draft.drains,
        consent=draft.consent,
    )


def _unmatched(book: RateBook, draft: Draft, lines: Sequence[Line]) -> list[Problem]:
    """Extras that stand instead of a line which was not computed."""
    found = []
    for extra in draft.extras:
        if extra.instead_of and key(extra.instead_of) not in _computable(book):
            known = ", ".join(sorted({line.code for line in lines if line.code != extras.TYPED}))
            found.append(
                problem("instead-of-unknown", extra.source.place("Instead of"), found=extra.instead_of, known=known)
            )
    return found


def _computable(book: RateBook) -> frozenset[str]:
    """Keys of every code that the engine can compute a line for."""
    tasks = [slug(t.task) for t in book.labour] + [slug(t) for t in (labour.DIG, labour.MIX, labour.TRAVEL)]
    return frozenset([*extras.priced_codes(book), *map(key, tasks)])
