"""Prices with a memory: old ones, ones that the quote outlives, ones by word of mouth, and ones that look wrong."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from math import log
from statistics import median
from typing import Any

from estimator.core.money import cents, from_float, plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.pricing.model import Bill, PricedJob, PricedOption
from estimator.pricing.rests import Rests, counted_in, price_of, rests_on
from estimator.rates.checks_money import slipped
from estimator.rates.model import Price, RateBook

MOST = 12  # codes that one sentence names
FEW = 4  # a group of fewer rows has no usual price
# modified z-score beyond which a value of a group stands out: Iglewicz and Hoaglin 1993, as in NIST's handbook 1.3.5.17
STANDS_OUT = 3.5
NORMAL = 0.6745  # of a normal distribution, half of all lies within so many standard deviations


def used_prices(priced: PricedJob) -> list[Price]:
    """The rows of the rate book that the lines of a job take their price from, each once, in the order met."""
    book = priced.book
    found: dict[tuple[str, str], Price] = {}
    for option in priced.options:
        if option.bill is None:
            continue
        lines = (*option.bill.lines, *(a.line for a, _ in option.apart))
        found |= {(p.table, key(p.code)): p for line in lines if (p := price_of(book, line))}
        trades = (book.prices.get(("trades", key(h.trade))) for h in option.taken.hours)
        found |= {(p.table, key(p.code)): p for p in trades if p}
    whole = (*(priced.job_bill.lines if priced.job_bill else ()), *(a.line for a, _ in priced.job_apart))
    found |= {(p.table, key(p.code)): p for line in whole if (p := price_of(book, line))}
    return list(found.values())


def quote_until(priced: PricedJob) -> date:
    """The last day on which the quote holds."""
    header = priced.job.header
    days = header.valid_days if header.valid_days is not None else int(priced.book.number("valid for"))
    return header.priced_on + timedelta(days=days)


def is_old(priced: PricedJob, price: Price) -> bool:
    """Whether a price is older than the rate book lets it be; one without a day is not known to be."""
    age, since = priced.book.known("price age"), price.origin.valid_from
    return age is not None and since is not None and (priced.job.header.priced_on - since).days > age


def price_problems(priced: PricedJob) -> list[Problem]:
    """What a person should look at before prices go out; each at its cell."""
    prices = used_prices(priced)
    return [*_old(priced, prices), *_held(priced, prices), *_odd(priced.book, prices), *_shares(priced)]


def _old(priced: PricedJob, prices: Sequence[Price]) -> Iterator[Problem]:
    old = sorted((p for p in prices if is_old(priced, p)), key=lambda p: p.origin.valid_from or date.min)
    if not old:
        return
    named: dict[str, list[str]] = {}
    for p in old[:MOST]:
        named.setdefault(p.origin.valid_from.isoformat() if p.origin.valid_from else "", []).append(p.code)
    listed = "; ".join(f"{', '.join(codes)} from {day}" for day, codes in named.items())
    if len(old) > MOST:
        listed += f"; and {len(old) - MOST} more, all on sheet Basis"
    words = {"age": f"{priced.book.known('price age'):g}", "day": priced.job.header.priced_on.isoformat()}
    yield problem("price-old", old[0].dated, count=len(old), listed=listed, **words)


def _held(priced: PricedJob, prices: Sequence[Price]) -> Iterator[Problem]:
    day, until = priced.job.header.priced_on, quote_until(priced)
    for p in prices:
        if p.valid_until is None or p.valid_until >= until:
            continue
        held = p.valid_until.isoformat()
        if p.valid_until < day:
            yield problem("price-held-no-more", p.held, code=p.code, until=held, day=day.isoformat())
        else:
            yield problem("price-outlives", p.held, code=p.code, until=held, quote=until.isoformat())


def _odd(book: RateBook, prices: Sequence[Price]) -> Iterator[Problem]:
    factor = book.known("outlier factor")
    if factor is None:
        return
    groups: dict[str, list[Price]] = {}
    for p in book.prices.values():
        if p.price > 0:
            groups.setdefault(p.group, []).append(p)
    for p in prices:
        if p.past and _apart(p.price, p.past[0].price) > factor and not slipped(p.price, p.past[0].price):
            before = p.past[0]  # one that is off by a power of ten is said of the whole book
            since = f"from {before.valid_from.isoformat()}" if before.valid_from else "before"
            words = {"now": plain(p.price), "before": plain(before.price), "since": since, "factor": f"{factor:g}"}
            yield problem("price-jumped", p.place, code=p.code, **words)
        like = [float(x.price) for x in groups.get(p.group, ())]
        if p.price > 0 and len(like) >= FEW and stands_out(float(p.price), like, factor):
            words = {"now": plain(p.price), "middle": plain(cents(from_float(median(like))))}
            yield problem("price-outlier", p.place, code=p.code, group=p.group, count=len(like), **words)


def _apart(one: Decimal, other: Decimal) -> float:
    """How many times the larger is of the smaller; 1 where one of them is nothing."""
    low, high = sorted((one, other))
    return float(high / low) if low > 0 else 1.0


def stands_out(value: float, like: Sequence[float], factor: float) -> bool:
    """Whether a value stands out from its like: more than `factor` times the median or less than its part, and by the
    modified z-score of the logarithms, so that a group of very unlike prices says nothing. All > 0.

    Source: Iglewicz and Hoaglin 1993, modified z-score 0.6745 (x - median) / MAD over 3.5.

    >>> stands_out(2.95, [2.95, 240, 260, 295, 310, 330], 3), stands_out(2.95, [1, 2.95, 20, 90, 300, 850], 3)
    (True, False)
    """
    middle = median(like)
    if max(value / middle, middle / value) <= factor:
        return False
    logs = [log(x) for x in like]
    centre = median(logs)
    spread = median(abs(x - centre) for x in logs)
    return NORMAL * abs(log(value) - centre) > STANDS_OUT * spread


def _shares(priced: PricedJob) -> Iterator[Problem]:
    counted = counted_in(priced.book)
    for bill, option in bills(priced):
        rests = rests_on(priced.job, priced.book, bill, option, counted)
        if rests.cost <= 0:
            continue
        name, place = "the whole job's lines", priced.job.header.source.place("Job name")
        site = of = "?"
        if option is not None:
            name, place = f"option {option.option.name}", option.option.source.place("Option")
            site, of = option.site.name, option.option.name
        words: dict[str, Any] = {"name": name, "cost": rests.cost}
        if rests.verbal > 0:
            said: dict[str, Any] = {
                "codes": _few(rests.verbal_codes),
                "rise": _rise(priced.book, "verbal rise", rests.verbal, rests),
            }
            part: dict[str, Any] = {"share": percent(rests.verbal, rests.cost), "money": rests.verbal}
            yield problem("price-verbal", place, site=site, option=of, **said, **part, **words)
        unmeasured = rests.told + rests.assumed
        if unmeasured > 0:
            at = (("told", rests.told_at), ("assumed", rests.assumed_at))
            where = "; ".join(f"{how} at {_few(names)}" for how, names in at if names)
            said = {"where": where, "rise": _rise(priced.book, "told rise", unmeasured, rests)}
            part = {"share": percent(unmeasured, rests.cost), "money": unmeasured}
            yield problem("facts-told", place, site=site, option=of, **said, **part, **words)


def bills(priced: PricedJob) -> list[tuple[Bill, PricedOption | None]]:
    """Every bill of a job with its option, the whole job's last."""
    found: list[tuple[Bill, PricedOption | None]] = [(o.bill, o) for o in priced.options if o.bill]
    return [*found, (priced.job_bill, None)] if priced.job_bill else found


def percent(part: Decimal, whole: Decimal) -> str:
    """A share in whole per cents; a part that is there is never nothing.

    >>> percent(Decimal("12.40"), Decimal(100)), percent(Decimal("0.01"), Decimal(100))
    ('12', 'under 1')
    """
    share = (part * 100 / whole).quantize(Decimal(1))
    return plain(share) if share >= 1 else "under 1"


def at_risk(book: RateBook, setting: str, part: Decimal) -> Decimal | None:
    """What a part of the cost would come dearer by, should it rise as such parts have; None where nobody says."""
    rise = book.known(setting)
    return None if rise is None else cents(part * from_float(rise))


def _rise(book: RateBook, setting: str, part: Decimal, rests: Rests) -> str:
    more = at_risk(book, setting, part)
    if not more:
        return ""
    rise = plain(from_float((book.known(setting) or 0) * 100))
    profit = f", {percent(more, rests.profit)} % of the profit" if rests.profit and rests.profit > 0 else ""
    return f" Should they come {rise} % dearer, as such have, that is {more}{profit}."


def _few(names: Sequence[str]) -> str:
    more = f" and {len(names) - MOST} more" if len(names) > MOST else ""
    return ", ".join(names[:MOST]) + more
