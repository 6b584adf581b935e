"""A priced job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from estimator.core.money import cents
from estimator.core.problems import Problem
from estimator.job.model import Job, Option, Site
from estimator.pricing.chance import Spread, Uncertain
from estimator.pricing.order_model import Order
from estimator.rates.model import RateBook
from estimator.screening.model import Screened
from estimator.takeoff.model import Apart, Line, Survey, Takeoff


@dataclass(frozen=True, slots=True)
class ChargeTaken:
    """One step from cost to price. rate: as applied; a discount has a negative rate and amount. base: what
    the rate was taken on. For `taken_on` price the amount is base x rate / (1 - rate). rate None: rounding."""

    step: str
    taken_on: str
    rate: Decimal | None
    base: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class TaxTaken:
    """One tax. by_line: the amount is the sum of the tax on each line, rounded line by line."""

    code: str
    name: str
    base: Decimal
    rate: Decimal
    amount: Decimal
    by_line: tuple[Decimal, ...] = ()  # tax of each line, in the order of the lines; empty: on the total
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Totals:
    """price_before_tax = cost + charges; price = price_before_tax + tax."""

    cost: Decimal
    price_before_tax: Decimal
    tax: Decimal
    price: Decimal
    margin: Decimal | None  # profit over price before tax, fraction
    markup: Decimal | None  # profit over what stood before the profit step, fraction


@dataclass(frozen=True, slots=True)
class Bill:
    """A block of lines with its charges, taxes and totals: an option's, or the whole job's."""

    lines: tuple[Line, ...]
    charges: tuple[ChargeTaken, ...]
    taxes: tuple[TaxTaken, ...]
    totals: Totals
    line_prices: tuple[Decimal, ...] = ()  # price before tax shared over the lines, when tax is by line


@dataclass(frozen=True, slots=True)
class Accepted:
    """The price that a customer has accepted, kept as it stood when it was first printed: revision and day are of that
    pricing. It is told to the customer in place of the bill's own totals, which stay as they are worked out."""

    price_before_tax: Decimal
    tax: Decimal
    price: Decimal
    revision: int
    day: date


@dataclass(frozen=True, slots=True)
class Reworked:
    """What became of one price since an earlier revision. before, now: with tax, None where there was none; parts: in
    words with the money each makes of the difference; they add up to now - before where both are known."""

    site: str  # blank: the whole job
    option: str
    before: Decimal | None
    now: Decimal | None
    parts: tuple[tuple[str, Decimal], ...] = ()


@dataclass(frozen=True, slots=True)
class Changes:
    """What changed since an earlier revision, found in the priced workbook `file`. told: in words without money, as
    the customer may read them; office: what only the office reads; prices: what that makes in money."""

    revision: int
    file: str
    day: date
    told: tuple[str, ...]
    office: tuple[str, ...]
    prices: tuple[Reworked, ...]


@dataclass(frozen=True, slots=True)
class PricedOption:
    """status: priced, provisional, not priced. bill: None when not priced."""

    site: Site
    option: Option
    status: str
    chosen: bool
    quote_status: str  # budget, firm, accepted, expired
    taken: Takeoff
    bill: Bill | None
    apart: tuple[tuple[Apart, Decimal], ...] = ()  # with the price, with tax, of each
    screened: Screened | None = None
    accepted: Accepted | None = None  # of a chosen option whose status is accepted


@dataclass(frozen=True, slots=True)
class JobTotals:
    """Sums over the chosen options and the job's own lines. missing: sites that are not in the sum."""

    cost: Decimal
    price_before_tax: Decimal
    tax: Decimal
    price: Decimal
    complete: bool
    missing: tuple[str, ...]
    nothing: bool = False  # no chosen option and no line of the whole job has a price: the sums mean nothing


@dataclass(frozen=True, slots=True)
class Planned:
    """A line of a bill that something used is held against. site and option blank: of the whole job; number: of the
    line in its bill, from 0."""

    site: str
    option: str
    number: int
    line: Line


@dataclass(frozen=True, slots=True)
class Used:
    """What was used of one task or line, beside what was planned.

    site, option blank: the chosen options of all sites with the lines of the whole job. rate: cost of a unit; used:
    in `unit`; counted: in a chosen option, so that the job's cost changes by it; by_rows: a task whose plan came from
    the rate book alone; day: the last one it was noted on.
    """

    what: str
    is_task: bool
    site: str
    option: str
    planned: tuple[Planned, ...]
    unit: str
    used: Decimal
    rate: Decimal
    counted: bool
    by_rows: bool
    day: date | None

    @property
    def planned_quantity(self) -> Decimal:
        """In `unit`."""
        return sum((p.line.quantity for p in self.planned), Decimal(0))

    @property
    def planned_cost(self) -> Decimal:
        """As it stands in the bill."""
        return sum((p.line.cost for p in self.planned), Decimal("0.00"))

    @property
    def used_cost(self) -> Decimal:
        """Rounded once, half up to the cent; at several rates the planned cost in the proportion of the quantities."""
        whole = self.planned_quantity
        if whole and not self.one_rate:
            return cents(self.used * self.planned_cost / whole)
        return cents(self.used * self.rate)

    @property
    def one_rate(self) -> bool:
        """Whether everything planned has one rate; else `rate` is the planned cost over the planned quantity."""
        return len({p.line.rate for p in self.planned}) == 1


@dataclass(frozen=True, slots=True)
class PriceRange:
    """What the job may come to. rows: what varies, as shares of what is likely, weighed by the price with tax;
    sources: of their low and high; contingency: in the price; justified: the one with which the cost is met in so
    large a share of all draws as `chance`, None where there is no cost; enough: share of the draws in which the
    contingency does; covered: in which the price leaves no loss, its other charges paid."""

    cost: Spread
    before_tax: Spread
    price: Spread
    rows: tuple[Uncertain, ...]
    sources: tuple[str, ...]
    seed: int
    draws: int
    correlation: float
    chance: float
    contingency: Decimal
    justified: Decimal | None
    enough: float
    covered: float


@dataclass(frozen=True, slots=True)
class PricedJob:
    """The whole result: what every report is made from."""

    job: Job
    book: RateBook
    options: tuple[PricedOption, ...]  # in the order typed
    job_bill: Bill | None  # lines of the whole job
    totals: JobTotals
    problems: tuple[Problem, ...]  # worst first
    job_apart: tuple[tuple[Apart, Decimal], ...] = ()
    surveys: Mapping[str, Survey] = field(default_factory=dict)  # taped sites by name
    order: Order | None = None  # what to buy; None where nothing is chosen, or nothing of it is bought
    job_accepted: Accepted | None = None  # of the lines of the whole job, where the job's status is accepted
    changes: Changes | None = None  # from revision 2 on, where an earlier one lies beside
    ranged: PriceRange | None = None  # None: nothing varies, or the rate book does not say how far
    used: tuple[Used, ...] = ()  # what the sheet Actuals says, held against the plan
