"""From cost to price before tax: one step after another, each rounded once to the cent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import cents, to_step
from estimator.core.names import key
from estimator.job.model import Header
from estimator.pricing.model import ChargeTaken
from estimator.rates.model import RateBook
from estimator.takeoff.model import Line

KINDS = {
    "materials": "material",
    "material": "material",
    "labour": "labour",
    "hire": "hire",
    "subcontract": "subcontract",
    "fee": "fee",
}
PROFIT = ("margin", "markup")
DISCOUNT, CONTINGENCY, ROUNDING = "discount", "contingency", "rounding"
ZERO = Decimal("0.00")


@dataclass(frozen=True, slots=True)
class Step:
    """One step as it is to be taken. taken_on 'step': rounding to whole numbers of `rate`."""

    step: str
    taken_on: str
    rate: Decimal


def steps_for(book: RateBook, header: Header, margin: Decimal | None) -> list[Step]:
    """The steps of the rate book with what the job and the option say instead.

    margin: the option's own, which wins over the job's. A step that the book lacks is added where it belongs:
    contingency before the profit, the discount last.
    """
    steps = [Step(c.step, key(c.taken_on), c.rate) for c in book.charges]
    if header.contingency is not None:
        steps = _replaced(steps, (CONTINGENCY,), Step(CONTINGENCY, "", header.contingency), "cost", first=True)
    profit = None
    if margin is not None:
        profit = Step("margin", "price", margin)
    elif header.margin is not None:
        profit = Step("margin", "price", header.margin)
    elif header.markup is not None:
        profit = Step("markup", "running", header.markup)
    if profit is not None:
        steps = _replaced(steps, PROFIT, profit, profit.taken_on)
    if header.discount is not None:
        steps = _replaced(steps, (DISCOUNT,), Step(DISCOUNT, "", header.discount), "running")
    if header.round_to is not None:
        steps.append(Step(ROUNDING, "step", header.round_to))
    return steps


def _replaced(steps: list[Step], names: Sequence[str], new: Step, usual: str, first: bool = False) -> list[Step]:
    """The steps with the first of these names replaced and the other ones left out."""
    at = next((i for i, s in enumerate(steps) if key(s.step) in names), None)
    if at is None:
        new = Step(new.step, new.taken_on or usual, new.rate)
        return [new, *steps] if first else [*steps, new]
    new = Step(new.step, new.taken_on or steps[at].taken_on, new.rate)
    return [new if i == at else s for i, s in enumerate(steps) if i == at or key(s.step) not in names]


def take_charges(lines: Sequence[Line], steps: Sequence[Step]) -> tuple[ChargeTaken, ...]:
    """The charges on these lines, in order.

    Amount = rate x what it is taken on, half up to the cent; on the price: running x rate / (1 - rate).
    A discount is taken off.
    """
    cost = sum((line.cost for line in lines), ZERO)
    by_kind = cost_by_kind(lines)
    running = cost
    taken: list[ChargeTaken] = []
    for s in steps:
        rate: Decimal | None = -s.rate if key(s.step) == DISCOUNT else s.rate
        base = running
        if s.taken_on == "cost":
            base = cost
        elif s.taken_on in KINDS:
            base = by_kind.get(KINDS[s.taken_on], ZERO)
        if s.taken_on == "step":
            amount, rate = to_step(running, s.rate) - running, None
        elif s.taken_on == "price":
            assert rate is not None
            amount = cents(base * rate / (1 - rate))
        else:
            assert rate is not None
            amount = cents(base * rate)
        taken.append(ChargeTaken(s.step, s.taken_on, rate, base, amount))
        running += amount
    return tuple(taken)


def cost_by_kind(lines: Sequence[Line]) -> Mapping[str, Decimal]:
    """Cost of the lines by kind."""
    found: dict[str, Decimal] = {}
    for line in lines:
        found[line.kind] = found.get(line.kind, ZERO) + line.cost
    return found


def markup_of(margin: Decimal) -> Decimal:
    """The markup on cost that a margin on price amounts to: k = m / (1 - m).

    >>> markup_of(Decimal("0.20"))
    Decimal('0.25')
    """
    return margin / (1 - margin)


def margin_of(markup: Decimal) -> Decimal:
    """The margin on price that a markup on cost amounts to: m = k / (1 + k).

    >>> margin_of(Decimal("0.25"))
    Decimal('0.2')
    """
    return markup / (1 + markup)


def profit_of(charges: Sequence[ChargeTaken], price_before_tax: Decimal) -> tuple[Decimal | None, Decimal | None]:
    """Margin and markup as they come out: profit after discount and rounding, over the price and over what
    stood before the profit; None without a profit step or where the division has no meaning."""
    steps = [c for c in charges if key(c.step) in PROFIT]
    if not steps:
        return None, None
    own = sum((c.amount for c in charges if key(c.step) in (*PROFIT, DISCOUNT, ROUNDING)), ZERO)
    before = price_before_tax - own
    return (own / price_before_tax if price_before_tax else None), (own / before if before else None)
