"""Single changes of an option that may bring its price down, each tried on a copy of the job: what a person could type
into the workbook. Facts of the site are never changed, and no size rule is broken.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial
from typing import Any

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.job.model import Extra, Fixing, Job, Option, Run, Size
from estimator.pricing.model import PricedJob, PricedOption
from estimator.rates.model import RateBook
from estimator.takeoff.labour import slug
from estimator.takeoff.model import SailTaken
from estimator.takeoff.sizes import outline_of, stock_size

Apply = Callable[[Job, RateBook], tuple[Job, RateBook]]
WAYS = ("hand", "auger", "excavator")
NEEDED_VISITS = ("footings", "hang")
SMALLER = 4  # next smaller stock sails that are tried
ALIKE = 1.25  # how much more one side of a stock sail may have shrunk than another
HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Change:
    """kind: changes of one kind exclude each other; words: what is changed; loses: what is given up that the quote
    does not show by itself, blank for nothing; apply: on a copy of the job and its rates."""

    kind: str
    words: str
    loses: str
    apply: Apply

    @property
    def weaker(self) -> bool:
        """Whether it may make a part weaker that holds the sail."""
        return self.kind in ("hardware", "run", "posts", "footings")


def changes_of(priced: PricedJob, option: PricedOption) -> Iterator[Change]:
    """Every change that is tried for an option with a price."""
    book = priced.book
    yield from _cloths(book, option)
    yield from _sizes(book, option)
    yield from _hardware(book, option)
    yield from _runs(option)
    yield from _tensioned(option)
    yield from _posts(book, option)
    yield from _footings(priced, option)
    yield from _digging(option)
    yield from _concrete(book, option)
    yield from _extras(priced.job, option)
    yield from _visits(book, option)


def _set(option: PricedOption, names: Collection[str] | None = None, **fields: Any) -> Apply:
    """Set fields of the sails of an option: of those with these names (as they are compared), None for all."""
    site, name = option.site.name, option.option.name

    def one(o: Option) -> Option:
        if o.site != site or o.name != name:
            return o
        return replace(
            o, sails=tuple(replace(s, **fields) if names is None or key(s.name) in names else s for s in o.sails)
        )

    return lambda job, book: (replace(job, options=tuple(one(o) for o in job.options)), book)


def _on_fixings(option: PricedOption, change: Callable[[Fixing], Fixing]) -> Apply:
    site = option.site.name

    def apply(job: Job, book: RateBook) -> tuple[Job, RateBook]:
        return replace(job, fixings={**job.fixings, site: tuple(change(f) for f in job.fixings.get(site, ()))}), book

    return apply


def both(first: Apply, second: Apply) -> Apply:
    """One change after the other."""
    return lambda job, book: second(*first(job, book))


def _cloths(book: RateBook, option: PricedOption) -> Iterator[Change]:
    made = {key(s.sail) for s in option.taken.sails if s.origin != "stock"}
    used = {key(s.cloth) for s in option.taken.sails if key(s.sail) in made}
    for cloth in book.cloths.values():
        if made and used != {key(cloth.code)}:
            change = _set(option, made, cloth=cloth.code)
            yield Change("cloth", f"cloth {cloth.code}", "", change)


def _sizes(book: RateBook, option: PricedOption) -> Iterator[Change]:
    """Ready-made sails of about the same shape that are smaller than what hangs there, the largest of them first."""
    from estimator.geometry.outline import flat_area, sides_of

    for taken in option.taken.sails:
        found = []
        for stock in book.sails.values():
            shape = outline_of(stock_size(stock))
            if len(shape) == len(taken.fixings) and key(stock.code) != key(taken.code):
                area, sides = flat_area(shape), sides_of(shape)
                if area < taken.flat_area - HAIR and _alike(sides, taken.sides):
                    found.append((area, stock.code))
        for _, code in sorted(found, reverse=True)[:SMALLER]:
            yield Change(
                f"size {taken.sail}", f"{_sail(option, taken)}stock sail {code}", "", _sized(option, taken, code)
            )


def _alike(sides: Sequence[float], others: Sequence[float]) -> bool:
    """Whether two outlines have about the same shape, from whichever corner they begin."""
    shrunk = [[a / b for a, b in zip((*sides[n:], *sides[:n]), others, strict=True)] for n in range(len(sides))]
    return min(max(s) / min(s) for s in shrunk) <= ALIKE


def _sized(option: PricedOption, taken: SailTaken, code: str) -> Apply:
    return _set(option, {key(taken.sail)}, size=Size("stock", code, code), cloth="")


def _sail(option: PricedOption, taken: SailTaken) -> str:
    return f"sail {taken.sail}: " if len(option.taken.sails) > 1 else ""


def _hardware(book: RateBook, option: PricedOption) -> Iterator[Change]:
    """Other corner sets that cover the longest side: a set is never taken beyond its size."""
    longest = max((max(s.sides) for s in option.taken.sails), default=0.0)
    used = {key(c.set) for c in option.taken.corners}
    for found in book.corner_sets.values():
        if used != {key(found.name)} and found.up_to + HAIR >= longest:
            change = _set(option, hardware=found.name)
            yield Change("hardware", f"corner set {found.name}", "other parts at the corners", change)


def _runs(option: PricedOption) -> Iterator[Change]:
    used = {c.run for c in option.taken.corners}
    for run in ("chain", "wire rope"):
        if used and used != {run}:
            change = _set(option, run=Run(run))
            yield Change("run", f"{run} at every corner", "", change)


def _tensioned(option: PricedOption) -> Iterator[Change]:
    """Tensioners at two corners that lie across from each other."""
    tight = [c for c in option.taken.corners if c.tensioner]
    if len(tight) > 2 * len(option.taken.sails):
        change: Apply = lambda job, book: (job, book)  # noqa: E731
        for s in option.taken.sails:
            two = (s.fixings[0], s.fixings[len(s.fixings) // 2])
            change = both(change, _set(option, {key(s.sail)}, tensioned=two))
        lost = f"tensioners at {len(tight) - 2 * len(option.taken.sails)} corners: the sail is harder to tighten again"
        yield Change("tensioned", "tensioners at two corners of each sail", lost, change)


def _posts(book: RateBook, option: PricedOption) -> Iterator[Change]:
    """Other sections that cover the height of every fixing; a post on a plate stays what it is."""
    posts = option.taken.posts
    level = {key(p.fixing): p.height - p.ground for p in option.taken.points}
    highest = max((level[key(f)] for p in posts for f in p.fixings if key(f) in level), default=0.0)
    used = {key(p.post) for p in posts}
    names = {key(f) for p in posts for f in p.fixings}
    for section in book.posts.values():
        if posts and used != {key(section.code)} and section.up_to + HAIR >= highest:
            sails = _set(option, post=section.code)
            fixings = _on_fixings(option, lambda f: replace(f, post="") if key(f.name) in names else f)
            yield Change("posts", f"posts of section {section.code}", "", both(sails, fixings))


def _footings(priced: PricedJob, option: PricedOption) -> Iterator[Change]:
    """Shallower holes by another rule of the rate book, and narrower ones never: rules of thumb, all of them."""
    units = priced.job.header.units
    for rule in dict.fromkeys(name for f in option.taken.footings for name, _ in f.others):
        depths = {key(f.post_name): dict(f.others).get(rule, f.depth) for f in option.taken.footings}
        now = {key(f.post_name): f.depth for f in option.taken.footings}
        if any(depths[name] > now[name] + HAIR for name in now) or all(depths[n] > now[n] - HAIR for n in now):
            continue
        sails = _set(option, depth=max(depths.values()))
        fixings = _on_fixings(option, partial(_deep, depths))
        least, most = (show_length(x, units) for x in (min(depths.values()), max(depths.values())))
        shown = most if least == most else f"{least} to {most}"
        before = show_length(max(now.values()), units)
        words = f"footings by '{rule}': {shown} deep in place of {before}"
        yield Change(
            "footings",
            words,
            "depth of the footings, by a rule of thumb: an engineer has to agree",
            both(sails, fixings),
        )


def _deep(depths: Mapping[str, float], fixing: Fixing) -> Fixing:
    depth = depths.get(key(fixing.post_name or fixing.name))
    return fixing if depth is None else replace(fixing, depth=depth)


def _digging(option: PricedOption) -> Iterator[Change]:
    site = option.site
    for way in WAYS:
        if option.taken.footings and way != (site.digging or "hand"):
            words = f"digging by {way}" if way == "hand" else f"digging by {way}, if one can get there"

            def apply(job: Job, book: RateBook, way: str = way) -> tuple[Job, RateBook]:
                sites = tuple(replace(s, digging=way) if s.name == site.name else s for s in job.sites)
                return replace(job, sites=sites), book

            yield Change("digging", words, "", apply)


def _concrete(book: RateBook, option: PricedOption) -> Iterator[Change]:
    """Another way to buy concrete. The cheapest with its hours is taken already, but charges can turn that round."""
    lines = option.bill.lines if option.bill else ()
    used = next((k for k in book.concrete if any(key(x.code) == k for x in lines)), None)
    for way, row in book.concrete.items():
        if used is not None and way != used:

            def apply(job: Job, rates: RateBook, way: str = way) -> tuple[Job, RateBook]:
                return job, replace(rates, concrete={way: rates.concrete[way]})

            yield Change("concrete", f"concrete as {row.description}", "", apply)


def _extras(job: Job, option: PricedOption) -> Iterator[Change]:
    """Leaving out what was typed, or offering it apart."""
    for number, extra in enumerate(job.extras):
        mine = extra.site == option.site.name and extra.option in ("", option.option.name)
        beside = extra.by_others or extra.offered_apart or extra.variation or not extra.quantity
        if mine and not beside:

            def apply(job: Job, book: RateBook, number: int = number) -> tuple[Job, RateBook]:
                left = tuple(e for n, e in enumerate(job.extras) if n != number)
                return replace(job, extras=left), book

            what = extra.description
            words = f"without '{what}'" if not extra.instead_of else f"'{what}' as the rate book has it"
            yield Change(f"extra {number}", words, "" if extra.instead_of else what, apply)


def _visits(book: RateBook, option: PricedOption) -> Iterator[Change]:
    """Without a visit that neither digs nor hangs. A sail made for the job is measured again before it is sewn."""
    made = any(s.origin != "stock" for s in option.taken.sails)
    for visit in option.taken.visits:
        if key(visit) in NEEDED_VISITS or (made and key(visit) == "re-measure"):
            continue
        tasks = [t.task for t in book.labour if key(t.visit) == key(visit)]
        if not tasks or any(h.trade == "extra" and key(h.visit) == key(visit) for h in option.taken.hours):
            continue
        extras = tuple(_dropped(option, task) for task in tasks)

        def apply(job: Job, rates: RateBook, extras: Sequence[Extra] = extras) -> tuple[Job, RateBook]:
            return replace(job, extras=(*job.extras, *extras)), rates

        yield Change(f"visit {visit}", f"without the {visit} visit", f"the {visit} visit: {', '.join(tasks)}", apply)


def _dropped(option: PricedOption, task: str) -> Extra:
    return Extra(
        option.site.name, option.option.name, f"without {task}", Decimal(0), "h", "", None, "labour", "", slug(task),
        False, False, False, "", "", option.option.source,
    )  # fmt: skip
