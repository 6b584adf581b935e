"""Changes tried: each is priced on a copy of the job that holds no more than its price depends on."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.aim.changes import Change, changes_of
from estimator.core.names import key
from estimator.job.model import Job
from estimator.pipeline import price_job
from estimator.pricing.model import PricedJob, PricedOption

MOST_OPTIONS = 6  # the dearest ones, where an aim is for several
MOST_PAIRS = 10  # pairs that are priced, those that should come nearest
SHOWN = 3
ZERO = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Scope:
    """What the aim is for. options: with a price; whole: with the lines of the whole job; all of it chosen, or one
    option; before_tax: which price."""

    priced: PricedJob
    options: tuple[PricedOption, ...]
    whole: bool
    before_tax: bool

    def of(self, option: PricedOption) -> Decimal:
        """The price of an option, as it is aimed at."""
        assert option.bill is not None
        totals = option.bill.totals
        return totals.price_before_tax if self.before_tax else totals.price

    @property
    def now(self) -> Decimal:
        """What it all comes to now."""
        total = sum((self.of(o) for o in self.options), ZERO)
        bill = self.priced.job_bill if self.whole else None
        if bill is not None:
            total += bill.totals.price_before_tax if self.before_tax else bill.totals.price
        return total


@dataclass(frozen=True, slots=True)
class Tried:
    """A change, or several together, of one option. price: of the scope with it; other: another option that is taken
    instead, None for a change of the option itself."""

    option: PricedOption
    changes: tuple[Change, ...]
    price: Decimal
    other: PricedOption | None = None

    @property
    def weaker(self) -> bool:
        """Whether it may make a part weaker that holds the sail."""
        return any(c.weaker for c in self.changes)


def best(scope: Scope, aim: Decimal) -> list[Tried]:
    """The changes that come to the aim with the least taken off the price, at most three; where fewer do, pairs of
    changes; then those that come nearest without reaching it. What may make a part weaker stands behind what does not.
    Of changes of one kind only the one that gives up least is taken, since the others give up more of the same."""
    singles = [t for t in tried(scope) if t.price < scope.now]
    reach = _one_a_kind([t for t in singles if t.price <= aim], lowest=False)
    if len(reach) < SHOWN:
        reach += [t for t in _pairs(scope, singles, aim) if t.price <= aim]
    over = _one_a_kind([t for t in singles if t.price > aim], lowest=True)
    over.sort(key=lambda t: (t.weaker, t.price))
    return [*sorted(reach, key=lambda t: (t.weaker, -t.price)), *over][:SHOWN]


def _one_a_kind(found: Sequence[Tried], *, lowest: bool) -> list[Tried]:
    """The lowest, or the highest, of each kind on each option; the lowest, or highest, first."""
    ordered = sorted(found, key=lambda t: t.price if lowest else -t.price)
    kept: dict[tuple[int, object], Tried] = {}
    prices: set[tuple[int, object]] = set()
    for t in ordered:
        kind = (id(t.option), t.changes[0].kind if t.changes else "another option")
        if kind not in kept and (id(t.option), t.price) not in prices:  # one price twice is one thing said twice
            kept[kind] = t
            prices.add((id(t.option), t.price))
    return list(kept.values())


def tried(scope: Scope) -> Iterator[Tried]:
    """Every single change with its price; those that cannot be priced are left out."""
    dearest = sorted(scope.options, key=lambda o: -scope.of(o))[:MOST_OPTIONS]
    for option in dearest:
        base = _base(scope, option)
        for change in changes_of(scope.priced, option):
            price = _with(scope, option, base, [change])
            if price is not None:
                yield Tried(option, (change,), price)
        for other in scope.priced.options:
            if other.site.name == option.site.name and other is not option and other.bill is not None:
                value = _value(scope, other, with_changes(scope, other, (), chosen=option.chosen))
                if value is not None and base is not None:
                    yield Tried(option, (), scope.now + value - base, other)


def _pairs(scope: Scope, singles: Sequence[Tried], aim: Decimal) -> list[Tried]:
    """Pairs of changes of one option and two kinds; those priced that by their savings should come nearest."""
    found = []
    for a, b in itertools.combinations([t for t in singles if t.changes], 2):
        if a.option is b.option and a.changes[0].kind != b.changes[0].kind and min(a.price, b.price) > aim:
            guess = a.price + b.price - scope.now
            found.append((abs(guess - aim) + (0 if guess <= aim else aim), a, b))
    pairs = []
    for _, a, b in sorted(found, key=lambda p: p[0])[:MOST_PAIRS]:
        base = _base(scope, a.option)
        changes = (a.changes[0], b.changes[0])
        price = _with(scope, a.option, base, changes)
        if price is not None:
            pairs.append(Tried(a.option, changes, price))
    return pairs


def with_changes(
    scope: Scope, option: PricedOption, changes: Sequence[Change], *, wind: bool = False, chosen: bool | None = None
) -> PricedJob:
    """The small job of an option, changed and priced. wind: screened too, also without a wind speed; chosen: whether
    the option is, where that differs."""
    job, book = small(scope.priced.job, option, wind=wind, chosen=chosen), scope.priced.book
    for change in changes:
        job, book = change.apply(job, book)
    return price_job(job, book, screen=wind)


def small(job: Job, option: PricedOption, *, wind: bool, chosen: bool | None = None) -> Job:
    """The job with the option, and the chosen options of the other sites of its trip, which share its travel."""
    counts = option.chosen if chosen is None else chosen
    trip = key(option.site.trip) if option.site.trip else None
    near = {s.name for s in job.sites if trip is not None and key(s.trip) == trip and s.name != option.site.name}
    options = tuple(
        replace(o, chosen=counts) if o.site == option.site.name else o
        for o in job.options
        if (o.site == option.site.name and key(o.name) == key(option.option.name)) or (o.site in near and o.chosen)
    )
    names = {o.site for o in options}
    sites = tuple(s if wind and s.name == option.site.name else replace(s, wind_speed=None) for s in job.sites)
    extras = tuple(e for e in job.extras if e.site in names)
    return replace(job, sites=tuple(s for s in sites if s.name in names), options=options, extras=extras)


def _base(scope: Scope, option: PricedOption) -> Decimal | None:
    return _value(scope, option, with_changes(scope, option, ()))


def _with(scope: Scope, option: PricedOption, base: Decimal | None, changes: Sequence[Change]) -> Decimal | None:
    """The price of the scope with changes of one option; None where it has none then."""
    value = _value(scope, option, with_changes(scope, option, changes))
    return None if value is None or base is None else scope.now + value - base


def _value(scope: Scope, option: PricedOption, made: PricedJob) -> Decimal | None:
    """What of a small job counts in the scope; None where the option, or one that shares its trip, has no price, or
    where a sail would be pulled askew that is not now."""
    counted = [o for o in made.options if scope.whole or same(o, option)]
    if not counted or any(o.bill is None for o in counted):
        return None
    if any(_askew(made, o) and not _askew(made, option) for o in counted if same(o, option)):
        return None
    return sum((scope.of(o) for o in counted), ZERO)


def _askew(made: PricedJob, option: PricedOption) -> bool:
    """Whether a corner is pulled further off its bisector than the rate book's limit."""
    limit = made.book.number("off bisector limit")
    return any(c.off_bisector > limit for c in option.taken.corners)


def same(a: PricedOption, b: PricedOption) -> bool:
    """Whether both are one option of the job."""
    return a.site.name == b.site.name and key(a.option.name) == key(b.option.name)
