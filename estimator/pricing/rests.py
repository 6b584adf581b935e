"""What the cost of an option rests on: prices in writing or by word of mouth, sizes measured, told or assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import cents, from_float
from estimator.core.names import key
from estimator.job.model import Fixing, Job
from estimator.pricing.charges import DISCOUNT, PROFIT, ROUNDING
from estimator.pricing.model import Bill, PricedOption
from estimator.rates.model import Price, RateBook
from estimator.takeoff.labour import DIG, MIX, slug
from estimator.takeoff.model import Footing, Line, Post

ZERO = Decimal("0.00")
FIRM, VERBAL = "firm", "verbal"
MEASURED, TOLD, ASSUMED = "measured", "told", "assumed"
WORST = (ASSUMED, TOLD, MEASURED)
GROUND = ("post", "footing")


@dataclass(frozen=True, slots=True)
class Rests:
    """Money at cost. firm, verbal: prices so given; unsaid: prices nobody has said it of; own: the firm's own hours.
    Told and assumed: posts, their holes, what fills them and the work on them, where a fixing's size is not measured.
    profit: None where no step makes one."""

    cost: Decimal
    firm: Decimal
    verbal: Decimal
    unsaid: Decimal
    own: Decimal
    told: Decimal
    assumed: Decimal
    profit: Decimal | None
    verbal_codes: tuple[str, ...] = ()
    told_at: tuple[str, ...] = ()
    assumed_at: tuple[str, ...] = ()


def price_of(book: RateBook, line: Line) -> Price | None:
    """What the rate book knows of the price of a line; None for hours and for what is typed in Extras."""
    return book.prices.get((line.table, key(line.code)))


def given_of(book: RateBook, line: Line) -> str:
    """How the price of a line was given: firm, verbal, blank."""
    price = price_of(book, line)
    return line.given or (price.given if price else "")


Counted = Mapping[str, Sequence[tuple[str, str]]]  # code to what its rows count by: for each, measure


def counted_in(book: RateBook) -> Counted:
    """By what the codes of kits and tasks are counted."""
    counted: dict[str, list[tuple[str, str]]] = {}
    for code, each, measure in (
        *((key(r.item), r.for_each, r.measure) for r in book.kits),
        *((slug(t.task), t.for_each, t.measure) for t in book.labour),
    ):
        counted.setdefault(code, []).append((each, measure))
    return counted


def rests_on(
    job: Job, book: RateBook, bill: Bill, option: PricedOption | None = None, counted: Counted | None = None
) -> Rests:
    """What the cost of a bill rests on. option: whose it is; None: the whole job's, which has no fixings; counted: of
    the book, for whoever asks for many."""
    sums = dict.fromkeys((FIRM, VERBAL, ""), ZERO)
    codes: dict[str, None] = {}
    own = ZERO
    for line in bill.lines:
        given = given_of(book, line)
        if line.kind == "labour" and not given:
            own += line.cost
            continue
        sums[given] += line.cost
        if given == VERBAL:
            codes[line.code if line.table else line.description] = None
    fixings: Mapping[str, Fixing] = {}
    told = assumed = ZERO
    if option is not None:
        fixings = {key(f.name): f for f in job.fixings.get(option.site.name, ())}
        told, assumed = _costs(book, option, fixings, bill.lines, counted or counted_in(book))
    used = [fixings[key(p.fixing)] for p in option.taken.points if key(p.fixing) in fixings] if option else []
    steps = [c for c in bill.charges if key(c.step) in (*PROFIT, DISCOUNT, ROUNDING)]
    profit = sum((c.amount for c in steps), ZERO) if any(key(c.step) in PROFIT for c in steps) else None
    return Rests(
        cost=bill.totals.cost,
        firm=sums[FIRM],
        verbal=sums[VERBAL],
        unsaid=sums[""],
        own=own,
        told=told,
        assumed=assumed,
        profit=profit,
        verbal_codes=tuple(codes),
        told_at=tuple(f.name for f in used if f.known_by == TOLD),
        assumed_at=tuple(f.name for f in used if (f.known_by or ASSUMED) == ASSUMED),
    )


Shares = list[tuple[float, str]]  # how much of a line hangs on each post or hole, and how that one is known


def _worst(fixings: Mapping[str, Fixing], names: Sequence[str]) -> str:
    """How a post is known: as the least known of its fixings; what nobody has said is assumed."""
    found = {fixings[key(n)].known_by or ASSUMED for n in names if key(n) in fixings}
    return next((w for w in WORST if w in found), ASSUMED)


def _costs(
    book: RateBook, option: PricedOption, fixings: Mapping[str, Fixing], lines: Sequence[Line], counted: Counted
) -> list[Decimal]:
    """The cost that hangs on what was told, and on what was assumed; each line's part rounded once."""
    posts = [(p, _worst(fixings, p.fixings)) for p in option.taken.posts]
    footings = [(f, _worst(fixings, f.fixings)) for f in option.taken.footings]
    sums = {TOLD: ZERO, ASSUMED: ZERO}
    for line in lines:
        shares = _shares(book, counted, line, posts, footings)
        if not shares:
            continue
        whole = sum(weight for weight, _ in shares)
        for name in sums:
            mine = sum(weight for weight, known in shares if known == name)
            sums[name] += cents(line.cost * from_float(mine / whole)) if whole else ZERO
    return [sums[TOLD], sums[ASSUMED]]


def _shares(
    book: RateBook,
    counted: Counted,
    line: Line,
    posts: Sequence[tuple[Post, str]],
    footings: Sequence[tuple[Footing, str]],
) -> Shares:
    code = key(line.code)
    section = book.posts.get(code)
    if section:
        alone = key(section.per) == "each"
        return [(1.0 if alone else p.stock_length, known) for p, known in posts if key(p.post) == code]
    for name, measure in (
        (_item(book, "stone item"), "stone"),
        (_item(book, "spoil item"), "spoil"),
        (slug(DIG), "hole"),
        (slug(MIX), "concrete"),
    ):
        if name and code == name:
            return [(_measure(f, measure), known) for f, known in footings]
    if code in book.concrete:
        return [(f.concrete, known) for f, known in footings]
    rows = counted.get(code, ())
    if not rows or any(each not in GROUND for each, _ in rows):
        return []  # counted by something else too: which part is the ground's cannot be told from the line
    each, measure = rows[0]
    return [(_measure(x, measure), known) for x, known in (posts if each == "post" else footings)]


def _item(book: RateBook, setting: str) -> str:
    found = book.settings.get(setting)
    return key(str(found.value)) if found else ""


def _measure(of: Post | Footing, name: str) -> float:
    return 1.0 if name == "count" else float(getattr(of, name))
