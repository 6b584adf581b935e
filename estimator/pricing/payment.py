"""How a price is paid: the deposit under the cap of its place, and the stages that share out the rest to the cent."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from estimator.core.money import CENT, cents, from_float, largest_remainders, plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.pricing.model import PricedJob, PricedOption
from estimator.pricing.told import told, told_job, told_whole
from estimator.rates.model import DepositCap, PaymentStage, RateBook
from estimator.takeoff.conditions import conditions, holds

DEPOSIT = "deposit"
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Part:
    """One payment. share: of the whole price; amount: None while the total is not known."""

    name: str
    share: Decimal
    amount: Decimal | None


@dataclass(frozen=True, slots=True)
class Payment:
    """What is paid, the deposit first. asked: the deposit as the job or the rate book has it; cap: the row that
    allows less than that, None where none does. The amounts sum to the price."""

    parts: tuple[Part, ...]
    asked: Decimal
    cap: DepositCap | None


def payment_of(priced: PricedJob) -> Payment:
    """How the price of what is chosen is paid; without amounts while it is not complete."""
    asked = _asked(priced)
    total = told_job(priced).price if priced.totals.complete else None
    cap = deposit_cap(priced)
    share, over = asked, cap is not None and cap.cap < asked
    if over and cap is not None:
        share = cap.cap
    amount = None
    if total is not None:
        amount = cents(total * share)
        if cap is not None:  # half a cent up could be more than the cap allows
            amount = min(amount, (total * cap.cap).quantize(CENT, ROUND_DOWN))
    parts = [Part(DEPOSIT, share, amount)] if share else []
    stages = stages_of(priced)
    amounts: Sequence[Decimal | None] = [None] * len(stages)
    if total is not None:
        amounts = largest_remainders(total - (amount or ZERO), [s.share for s in stages])
    parts += [Part(s.stage, s.share * (1 - share), a) for s, a in zip(stages, amounts, strict=True) if share < 1]
    return Payment(tuple(parts), asked, cap if over else None)


def payment_problems(priced: PricedJob) -> list[Problem]:
    """A deposit that is over its cap is said to the office; the quote prints what is allowed."""
    payment = payment_of(priced)
    if payment.cap is None:
        return []
    cap = payment.cap
    where = f" up to {plain(cap.up_to)}" if cap.up_to is not None else ""
    words = {"asked": plain(payment.asked * 100), "cap": plain(cap.cap * 100), "where": where, "place": cap.place}
    place = priced.job.header.source.place("Deposit")
    ask = ""
    if not cap.off_site and not priced.job.header.off_site and _off_site_rows(priced, cap):
        ask = " Where over half of the work is made off site it may be another: say so in 'Made off site'."
    return [problem("deposit-capped", place, source=cap.origin.source or "no source given", ask=ask, **words)]


def _asked(priced: PricedJob) -> Decimal:
    header, setting = priced.job.header, priced.book.settings.get(DEPOSIT)
    if header.deposit is not None:
        return header.deposit
    return from_float(setting.value) if setting and isinstance(setting.value, float) else ZERO


def deposit_cap(priced: PricedJob) -> DepositCap | None:
    """The strictest cap of the places of a job, at its price; where the price hangs on a choice, at every price that
    it can come to."""
    header = priced.job.header
    options = [o for o in priced.options if o.bill is not None]
    known = {key(c.place) for c in priced.book.deposit_caps}
    places = [p for p in dict.fromkeys(key(p) for p in (header.place, *(o.site.place for o in options))) if p in known]
    found = [
        cap
        for place in places
        for price in _prices(priced, options)
        for cap in caps_at(priced.book, place, header.customer_is, header.off_site, price)
    ]
    return min(found, key=lambda c: c.cap, default=None)


def _prices(priced: PricedJob, options: Sequence[PricedOption]) -> list[Decimal]:
    if priced.totals.complete:
        return [told_job(priced).price]
    whole = told_whole(priced)
    more = whole.price if whole else ZERO
    dearest: dict[str, Decimal] = {}
    for o in options:
        dearest[o.site.name] = max(told(o).price, dearest.get(o.site.name, ZERO))
    return [*(told(o).price + more for o in options), sum(dearest.values(), more)]


def caps_at(book: RateBook, place: str, customer_is: str, off_site: bool, price: Decimal) -> list[DepositCap]:
    """The cap that each kind of customer has at a price with tax. customer_is blank: every kind counts."""
    mine = [
        c
        for c in book.deposit_caps
        if key(c.place) == key(place) and (not c.customer_is or not customer_is or c.customer_is == customer_is)
    ]
    found = []
    for kind in dict.fromkeys(c.customer_is for c in mine):
        rows = [c for c in mine if c.customer_is == kind]
        if off_site and any(c.off_site for c in rows):
            rows = [c for c in rows if c.off_site]
        else:
            rows = [c for c in rows if not c.off_site]
        found += [c for c in rows if c.up_to is None or price <= c.up_to][:1]  # sorted by price
    return found


def _off_site_rows(priced: PricedJob, cap: DepositCap) -> bool:
    return any(c.off_site and key(c.place) == key(cap.place) for c in priced.book.deposit_caps)


def stages_of(priced: PricedJob) -> list[PaymentStage]:
    """The stages whose `when` holds for all that is chosen, else for some of it; those without one last."""
    offered = [o for o in priced.options if o.bill is not None]
    options = [o for o in offered if o.chosen] or offered
    true = [conditions(priced.book, o.site, o.taken, o.status, o.quote_status) for o in options]
    ways = dict.fromkeys(s.when for s in priced.book.payment_stages)
    named = [w for w in ways if w]
    best = next((w for w in named if true and all(holds(w, t) for t in true)), None)
    if best is None and "" not in ways:
        best = next((w for w in named if any(holds(w, t) for t in true)), None)
    return [s for s in priced.book.payment_stages if s.when == (best or "")]
