"""From a draft to a finished take-off: hours, visits, days, travel, and every line of the bill."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import from_float, plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Extra, Header, Option, Site
from estimator.rates.model import Item, RateBook
from estimator.takeoff import cloth, concrete, extras, kits, labour, measures
from estimator.takeoff.lines import item_line, make_line, number, whole_packs
from estimator.takeoff.model import Hours, Line, Measures, Takeoff
from estimator.takeoff.option import Draft

VISIT_DEPENDENT = ("site", "visit", "day")
USUAL_VISIT = "hang"


@dataclass(frozen=True, slots=True)
class Trip:
    """What sites of one trip share. sites: how many share it; visits: of the whole trip; travel: km one way."""

    sites: int
    visits: int
    travel: float

    @property
    def km(self) -> float:
        """This site's part of the way there and back on every visit."""
        return 2 * self.travel * self.visits / self.sites


@dataclass(frozen=True, slots=True)
class Worked:
    """Hours and concrete of a draft before its trip is known."""

    hours: tuple[Hours, ...]
    visits: tuple[str, ...]
    extras: extras.ExtraLines
    concrete: tuple[concrete.Bought, ...]
    dropped: frozenset[str]
    static: Measures
    weighed: Measures


def crew_of(book: RateBook, header: Header) -> float:
    """People on site: the job's, else the book's."""
    return header.crew or book.number("crew")


def slug(task: str) -> str:
    """The code of a labour line.

    >>> slug("Set and brace post")
    'set-and-brace-post'
    """
    return re.sub(r"[^\w]+", "-", task.casefold()).strip("-") or "task"


def work_out(book: RateBook, draft: Draft) -> tuple[Worked, list[Problem]]:
    """The hours of a draft that do not depend on its trip, and so its visits."""
    typed, problems = extras.extra_lines(book, draft.extras, USUAL_VISIT)
    dropped = extras.replaced_codes(draft.extras)
    static = measures.static_measures(draft.counted)
    weighed = measures.factored(draft.counted, draft.factors)
    bought: tuple[concrete.Bought, ...] = ()
    net = sum(f.concrete for f in draft.footings)
    if net > 0:
        trade = book.trades.get(key(book.text("concrete trade")))
        hour = trade.cost_per_hour if trade else Decimal(0)
        volumes = [(f.concrete, draft.factors.get(key(f.post_name), 1.0)) for f in draft.footings]
        factor = sum(v * w for v, w in volumes) / net
        bought = tuple(concrete.ways(list(book.concrete.values()), net, book.number("concrete waste"), hour, factor))
        if not bought:
            problems.append(_not_in_force(book, draft.option, "concrete", "any way to buy concrete"))
    rows = [*labour.digging(book, draft.holes)]
    if bought:
        words = f"{number(bought[0].hours, 3)} h for {bought[0].words}"
        rows += labour.placing(book, bought[0].hours, words)
    rows += labour.task_hours(book.labour, {**static, "site": {"count": 1.0, "km": 2 * draft.site.travel}}, weighed)
    rows = [r for r in rows if key(slug(r.task)) not in dropped]
    hours = (*rows, *typed.hours)
    return Worked(hours, labour.visit_names(hours), typed, bought, dropped, static, weighed), problems


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
    fixed = {**worked.static}
    rows += kept(labour.digging(book, draft.holes))
    if worked.concrete:
        best = worked.concrete[0]
        rows += kept(labour.placing(book, best.hours, f"{number(best.hours, 3)} h for {best.words}"))
    rows += kept(labour.task_hours(book.labour, {**fixed, **site_only}, worked.weighed))
    equal = dict.fromkeys(worked.visits, 1.0)
    rows = labour.spread(rows, worked.visits, equal)
    days = labour.days_by_visit(rows, worked.visits, crew, day_hours)
    whole = measures.with_visits(worked.static, sites=share, visits=visits, km=trip.km, days=float(sum(days.values())))
    by_day = kept(labour.task_hours(book.labour, whole, worked.weighed, only=("day",)))
    rows += labour.spread(by_day, worked.visits, {v: float(d) for v, d in days.items()})
    rows += kept(labour.travel_hours(book, trip.km, crew, worked.visits))
    hours = labour.merged(rows)
    lines, more = _lines(book, draft, worked, whole, hours, days, trip)
    problems += more
    problems += _unmatched(book, draft, lines)
    typed = worked.extras
    shown = typed.shown
    return (
        Takeoff(
            site=draft.site.name,
            option=draft.option.name,
            points=draft.points,
            sails=tuple(h.taken for h in draft.hung),
            corners=draft.corners,
            posts=draft.posts,
            footings=draft.footings,
            engineer=draft.engineer,
            excluded=typed.excluded,
            shown=shown,
            hours=hours,
            visits=worked.visits,
            days=days,
            measures=whole,
            lines=tuple(lines),
            apart=typed.apart,
            marks=draft.marks,
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
    )


def _lines(
    book: RateBook,
    draft: Draft,
    worked: Worked,
    whole: Measures,
    hours: Sequence[Hours],
    days: Mapping[str, int],
    trip: Trip,
) -> tuple[list[Line], list[Problem]]:
    problems: list[Problem] = []
    lines = [*_sails(book, draft), *_rigging(book, draft), *_posts(book, draft)]
    if worked.concrete:
        net = sum(f.concrete for f in draft.footings)
        lines.append(concrete.concrete_line(worked.concrete, net, book.number("concrete waste")))
    loose = book.number("stone loose factor")
    stone = sum(f.stone for f in draft.footings)
    spoil = sum(f.spoil for f in draft.footings)
    for setting, value, words in (
        ("stone item", stone * loose, f"{number(stone, 4)} m3 in place x loose factor {number(loose)}"),
        ("spoil item", spoil, f"holes x swell, {number(spoil, 4)} m3 loose"),
        ("travel item", trip.km, _travel_words(draft.site, trip)),
    ):
        if value <= 0:
            continue
        item = book.items.get(key(book.text(setting)))
        if item is None:
            problems.append(_not_in_force(book, draft.option, "items", book.text(setting)))
        else:
            lines.append(item_line(item, from_float(value), words))
    access = book.access.get(key(draft.site.access))
    if access and access.hire_item:
        item = book.items.get(key(access.hire_item))
        if item is None:
            problems.append(_not_in_force(book, draft.option, "items", access.hire_item))
        else:
            lines.append(_access_line(item, access.name, days))
    wanted = _kits(book, draft, whole)
    problems += kits.missing_items(book, [k for k, _ in wanted], draft.option.source.place("Option"))
    lines += kits.kit_lines(book, wanted, lambda code: key(code) in worked.dropped, without=("job",))
    for row in hours:
        if row.trade == extras.TYPED:
            continue
        trade = book.trades.get(key(row.trade))
        if trade is None:
            problems.append(_not_in_force(book, draft.option, "trades", row.trade))
            continue
        words = f"{row.task}, {row.visit} visit, {trade.name}"
        lines.append(
            make_line(slug(row.task), words, "labour", from_float(row.hours), "h", trade.cost_per_hour, row.working,
                      trade.origin)
        )  # fmt: skip
    lines = [line for line in lines if key(line.code) not in worked.dropped]
    return [*lines, *worked.extras.lines], problems


def _travel_words(site: Site, trip: Trip) -> str:
    words = f"2 x {number(trip.travel)} km x {trip.visits} visits"
    return words if trip.sites == 1 else f"{words} of trip {site.trip}, shared by {trip.sites} sites"


def _access_line(item: Item, access: str, days: Mapping[str, int]) -> Line:
    by_day = key(item.unit) in ("day", "days", "d")
    count = sum(days.values()) if by_day else 1
    return item_line(item, Decimal(count), f"access: {access}, {count} {item.unit}")


def _kits(book: RateBook, draft: Draft, whole: Measures) -> list[tuple[str, Measures]]:
    """Each kit with the measures of the fixings that need it."""
    found: list[tuple[str, Measures]] = [(kits.ALWAYS, whole)]
    by_kit: dict[str, list[str]] = {}
    for f in draft.fixings:
        kit = book.supports[key(f.held_by)].kit
        if kit:
            by_kit.setdefault(kit, []).append(f.name)
    for kit, names in by_kit.items():
        own = measures.static_measures(measures.of_fixings(draft.counted, names))
        found.append((kit, {**{k: whole[k] for k in VISIT_DEPENDENT}, **own}))
    return found


def _sails(book: RateBook, draft: Draft) -> list[Line]:
    counts: dict[tuple[str, str], int] = {}
    lines = []
    for h in draft.hung:
        if h.taken.code:
            at = (h.taken.code, h.taken.colour)
            counts[at] = counts.get(at, 0) + 1
        else:
            lines.append(cloth.cloth_line(book, h.taken))
    return [*(cloth.stock_line(book, code, colour, n) for (code, colour), n in counts.items()), *lines]


def _rigging(book: RateBook, draft: Draft) -> list[Line]:
    """One line for each part; rings that are sewn into a stock sail are not bought."""
    needed: dict[str, tuple[float, list[str]]] = {}
    for h in draft.hung:
        stock = book.sails.get(key(h.taken.code)) if h.taken.code else None
        for c in h.corners:
            for code, amount in c.parts:
                part = book.rigging[key(code)]
                if part.kind == "ring" and stock is not None and stock.rings_sewn_in:
                    continue
                total, words = needed.get(key(code), (0.0, []))
                needed[key(code)] = (total + amount, [*words, f"{h.taken.sail}/{c.fixing} {number(amount)}"])
    lines = []
    for code, (total, words) in needed.items():
        part = book.rigging[code]
        quantity = from_float(total)
        packs = ""
        if key(part.per) not in ("m", "metre"):
            quantity, packs = whole_packs(quantity, part.pack)
        lines.append(
            make_line(part.code, part.description, "material", quantity, part.per, part.price,
                      " + ".join(words) + packs, part.origin)
        )  # fmt: skip
    return lines


def _posts(book: RateBook, draft: Draft) -> list[Line]:
    """Posts in their shortest sufficient stock lengths."""
    groups: dict[tuple[str, float], list[str]] = {}
    for p in draft.posts:
        groups.setdefault((p.post, p.stock_length), []).append(f"{p.post_name} {number(p.length)}")
    lines = []
    for (code, stock), words in groups.items():
        section = book.posts[key(code)]
        count = len(words)
        metres = from_float(stock) * count
        if key(section.per) == "each":
            quantity, unit = Decimal(count), "each"
        elif key(section.per) == "kg":
            quantity, unit = metres * from_float(section.mass or 0.0), "kg"
        else:
            quantity, unit = metres, "m"
        text = f"{section.description}, {count} of {plain(from_float(stock))} m"
        working = f"{count} x {number(stock)} m for {', '.join(words)} m needed"
        lines.append(make_line(section.code, text, "material", quantity, unit, section.price, working, section.origin))
    return lines


def _not_in_force(book: RateBook, option: Option, table: str, name: str) -> Problem:
    later = book.later.get((table, key(name)))
    since = f"its first row holds from {later.isoformat()}" if later else "there is no such row"
    place = option.source.place("Option")
    return problem("rate-not-in-force", place, table=table, name=name, day=book.day.isoformat(), since=since)


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


def job_lines(
    book: RateBook, header: Header, typed: Sequence[Extra]
) -> tuple[tuple[Line, ...], extras.ExtraLines, list[Problem]]:
    """Lines of the whole job: extras without a site, kits and tasks for each job."""
    found, problems = extras.extra_lines(book, typed, "")
    dropped = extras.replaced_codes(typed)
    whole: Measures = {"job": {"count": 1.0}}
    gone: Callable[[str], bool] = lambda code: key(code) in dropped  # noqa: E731
    lines = kits.kit_lines(book, [(kits.ALWAYS, whole)], gone, only=("job",))
    for row in labour.task_hours(book.labour, whole, {}, only=("job",)):
        trade = book.trades.get(key(row.trade))
        if trade is None or gone(slug(row.task)):
            continue
        lines.append(
            make_line(slug(row.task), f"{row.task}, {trade.name}", "labour", from_float(row.hours), "h",
                      trade.cost_per_hour, row.working, trade.origin)
        )  # fmt: skip
    return (*lines, *found.lines), found, problems
