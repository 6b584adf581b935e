"""A priced job as it stands printed in a workbook: figures to 15 digits, as a cell holds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from estimator.core.names import key
from estimator.pricing.model import Accepted


@dataclass(frozen=True, slots=True)
class PrintedLine:
    """A line of the bill."""

    code: str
    description: str
    kind: str
    quantity: Decimal
    unit: str
    rate: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class PrintedStep:
    """A charge, or a tax. on: what it is taken on; rate None: rounding to a step."""

    name: str
    on: str
    base: Decimal
    rate: Decimal | None
    amount: Decimal


@dataclass(frozen=True, slots=True)
class PrintedBill:
    """A block of the bill."""

    lines: tuple[PrintedLine, ...]
    charges: tuple[PrintedStep, ...]
    taxes: tuple[PrintedStep, ...]
    cost: Decimal
    before_tax: Decimal
    tax: Decimal
    price: Decimal


@dataclass(frozen=True, slots=True)
class PrintedPoint:
    """A fixing that an option uses [m]."""

    fixing: str
    held_by: str
    across: float
    out: float
    height: float


@dataclass(frozen=True, slots=True)
class PrintedOption:
    """An option; name blank in the option of the whole job's lines, whose site is blank too.

    offer: budget, firm, accepted, expired; facts: what it gives the customer, by name; bill None: not priced.
    """

    site: str
    name: str
    chosen: bool
    status: str
    offer: str
    bill: PrintedBill | None
    facts: Mapping[str, str] = field(default_factory=dict)
    points: tuple[PrintedPoint, ...] = ()
    accepted: Accepted | None = None

    @property
    def called(self) -> str:
        """In words."""
        return f"{self.site}, option {self.name}" if self.site else "lines of the whole job"


@dataclass(frozen=True, slots=True)
class Printed:
    """A priced workbook. rates: (table, code, per) to the rate; steps: (table, step) to the rate; settings: name to
    value and unit, as shown."""

    file: str
    job: str
    revision: int
    day: date
    currency: str
    units: str
    options: tuple[PrintedOption, ...]
    whole: PrintedOption | None
    rates: Mapping[tuple[str, str, str], Decimal] = field(default_factory=dict)
    steps: Mapping[tuple[str, str], Decimal] = field(default_factory=dict)
    settings: Mapping[str, str] = field(default_factory=dict)

    def option(self, site: str, name: str) -> PrintedOption | None:
        """The option of a site by its name; None where there is none."""
        return next((o for o in self.options if key(o.site) == key(site) and key(o.name) == key(name)), None)

    @property
    def price(self) -> Decimal:
        """With tax, of what is chosen and of the whole job's lines."""
        bills = [o.bill for o in self.options if o.chosen and o.bill]
        bills += [self.whole.bill] if self.whole and self.whole.bill else []
        return sum((b.price for b in bills), Decimal("0.00"))
