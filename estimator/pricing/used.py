"""What the sheet `Actuals` says was used, held against the plan of the bill: hours by task, quantities by line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.names import key
from estimator.core.problems import Problem, problem, scoped
from estimator.core.units import convert
from estimator.job.model import Actual, Job
from estimator.pricing.model import Bill, Planned, PricedJob, PricedOption, Used
from estimator.rates.model import RateBook
from estimator.takeoff.extras import priced_codes
from estimator.takeoff.labour import DIG, MIX, TRAVEL, slug

NO_SITE = "?"  # a problem of what was used takes no price away
HOURS = "h"
WHOLE = ("", "")
TRADES = "trades"  # the table of a line that the labour rows have made
Where = tuple[str, str]  # site and option


@dataclass(frozen=True, slots=True)
class AfterJob:
    """Cost in the price and cost with what was used; what is not noted counts as planned. price: before tax.

    hours, quantities: how much more was used than planned, in money; left: price less cost, for overhead,
    contingency and profit.
    """

    cost: Decimal
    hours: Decimal
    quantities: Decimal
    price: Decimal

    @property
    def cost_after(self) -> Decimal:
        """With what was used."""
        return self.cost + self.hours + self.quantities

    @property
    def left(self) -> Decimal:
        """Of the price over the cost, as planned."""
        return self.price - self.cost

    @property
    def left_after(self) -> Decimal:
        """Of the price over the cost, after the job."""
        return self.price - self.cost_after


def after_job(priced: PricedJob) -> AfterJob:
    """What the job has cost, as far as it was noted, beside its price; the chosen options and the job's own lines."""

    def more(tasks: bool) -> Decimal:
        found = (u.used_cost - u.planned_cost for u in priced.used if u.counted and u.is_task is tasks)
        return sum(found, Decimal("0.00"))

    return AfterJob(priced.totals.cost, more(True), more(False), priced.totals.price_before_tax)


def planned_and_used(
    job: Job, book: RateBook, options: Sequence[PricedOption], job_bill: Bill | None
) -> tuple[tuple[Used, ...], list[Problem]]:
    """One comparison for each place and each task or line, tasks first, and what cannot be compared.

    Rows of the whole job and rows of its sites add up: where both say something of one task, the sites' chosen
    options are held against the plan together.
    """
    problems: list[Problem] = []
    rows: dict[tuple[Where, str], list[Actual]] = {}
    whole = {key(a.what) for a in job.actuals if not a.site}
    chosen = {(o.site.name, o.option.name) for o in options if o.chosen}
    for actual in job.actuals:
        at = _where(actual, options, job_bill)
        if isinstance(at, Problem):
            problems.append(at)
            continue
        if at in chosen and key(actual.what) in whole:
            at = WHOLE
        rows.setdefault((at, key(actual.what)), []).append(actual)
    found: list[Used] = []
    for (at, _), same in rows.items():
        used, more = _used(book, same, at, _bills(at, options, job_bill), at == WHOLE or at in chosen)
        problems += more
        found += [used] if used else []
    return tuple(sorted(found, key=lambda u: not u.is_task)), scoped(problems, site=NO_SITE)


def _where(actual: Actual, options: Sequence[PricedOption], job_bill: Bill | None) -> Where | Problem:
    """The site and option whose plan a row is held against."""
    if not actual.site:
        sites = dict.fromkeys(o.site.name for o in options)
        lost = [s for s in sites if not any(o.chosen and o.bill for o in options if o.site.name == s)]
        if lost or not (sites or job_bill):
            return problem("actual-no-price", actual.source.place("Site"), name=", ".join(lost) or "the job")
        return WHOLE
    mine = [o for o in options if o.site.name == actual.site]
    asked = [o for o in mine if o.option.name == actual.option] if actual.option else [o for o in mine if o.chosen]
    if not asked:
        return problem("actual-no-chosen", actual.source.place("Option"), name=actual.site)
    if asked[0].bill is None:
        name = f"{actual.site}, option {asked[0].option.name}"
        return problem("actual-no-price", actual.source.place("Option"), name=name)
    return asked[0].site.name, asked[0].option.name


def _bills(at: Where, options: Sequence[PricedOption], job_bill: Bill | None) -> Mapping[Where, Bill]:
    bills = {(o.site.name, o.option.name): (o.bill, o.chosen) for o in options if o.bill}
    if at != WHOLE:
        return {where: bill for where, (bill, _) in bills.items() if where == at}
    found = {where: bill for where, (bill, chosen) in bills.items() if chosen}
    return {**found, **({WHOLE: job_bill} if job_bill else {})}


def _used(
    book: RateBook, same: Sequence[Actual], at: Where, bills: Mapping[Where, Bill], counted: bool
) -> tuple[Used | None, list[Problem]]:
    """One task or line at one place."""
    first = same[0]
    place = first.source.place("What")
    planned = tuple(_planned(first, bills))
    units = list(dict.fromkeys(p.line.unit for p in planned))
    # what is in no bill and no table has the unit that it was counted in
    typed = next((a.unit for a in same if a.unit), "")
    unit = HOURS if first.is_task else units[0] if units else _unit(book, first.what) or typed
    problems = []
    fits = tuple(p for p in planned if key(p.line.unit) == key(unit))
    if len(fits) < len(planned):
        words = {"what": first.what, "units": " and ".join(units), "unit": unit}
        problems.append(problem("actual-two-units", place, **words))
    total, days = Decimal(0), [a.day for a in same if a.day]
    for actual in same:
        quantity = convert(actual.quantity, actual.unit or unit, unit)
        if quantity is None:
            words = {"found": actual.unit, "unit": unit, "item": actual.what}
            return None, [*problems, problem("unit-mismatch", actual.source.place("Unit"), **words)]
        total += quantity
    if not fits:
        name = ", option ".join(at) if at != WHOLE else "the job"
        problems.append(problem("actual-not-planned", place, what=first.what, name=name))
    by_rows = first.is_task and bool(fits) and all(p.line.table == TRADES for p in planned)
    rate = _rate(book, first, fits)
    used = Used(first.what, first.is_task, *at, fits, unit, total, rate, counted, by_rows, max(days, default=None))
    return used, problems


def _planned(actual: Actual, bills: Mapping[Where, Bill]) -> Iterable[Planned]:
    """The lines a row is held against: those of its code, else those of its description."""
    code = key(slug(actual.what) if actual.is_task else actual.what)
    every = [Planned(*at, n, line) for at, bill in bills.items() for n, line in enumerate(bill.lines)]
    found = [p for p in every if key(p.line.code) == code and (p.line.kind == "labour" or not actual.is_task)]
    return found or [p for p in every if not actual.is_task and key(p.line.description) == code]


def _unit(book: RateBook, code: str) -> str:
    item = priced_codes(book).get(key(code))
    return item.unit if item else ""


def _rate(book: RateBook, actual: Actual, planned: Sequence[Planned]) -> Decimal:
    """Cost of a unit: as planned, the mean where the plan has several; of what is not planned by the rate book."""
    rates = {p.line.rate for p in planned}
    quantity = sum((p.line.quantity for p in planned), Decimal(0))
    if len(rates) == 1:
        return rates.pop()
    if quantity:
        return sum((p.line.cost for p in planned), Decimal(0)) / quantity
    if not actual.is_task:
        item = priced_codes(book).get(key(actual.what))
        return item.price if item else Decimal(0)
    usual = {DIG: "digging trade", MIX: "concrete trade", TRAVEL: "travel trade"}.get(actual.what)
    names = [book.text(usual)] if usual else [t.trade for t in book.labour if key(t.task) == key(actual.what)]
    trade = book.trades.get(key(names[0])) if names else None
    return trade.cost_per_hour if trade else Decimal(0)
