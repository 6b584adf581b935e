"""The price that a customer is told: the accepted one where there is one, else the bill's; and variations by number."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.core.names import key
from estimator.pricing.model import Accepted, JobTotals, PricedJob, PricedOption, Totals
from estimator.takeoff.model import Apart

ZERO = Decimal("0.00")
VARIATION = "variation"


@dataclass(frozen=True, slots=True)
class Varied:
    """One line of a variation. option: None for the whole job; price: with tax; counted: of the whole job or of a
    chosen option, so that it changes the contract."""

    option: PricedOption | None
    apart: Apart
    price: Decimal
    counted: bool


@dataclass(frozen=True, slots=True)
class Variation:
    """All lines of one variation, with the price of those that count."""

    name: str
    lines: tuple[Varied, ...]

    @property
    def price(self) -> Decimal:
        """With tax, of the lines that count."""
        return sum((line.price for line in self.lines if line.counted), ZERO)

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why, as typed, each once."""
        return tuple(dict.fromkeys(line.apart.reason for line in self.lines if line.counted and line.apart.reason))


def told(option: PricedOption) -> Totals:
    """The totals of an option with a price as the customer is told them."""
    assert option.bill is not None
    return _kept(option.bill.totals, option.accepted)


def told_whole(priced: PricedJob) -> Totals | None:
    """The same of the job's own lines; None where there are none."""
    return None if priced.job_bill is None else _kept(priced.job_bill.totals, priced.job_accepted)


def told_job(priced: PricedJob) -> JobTotals:
    """The same of the whole: sums over the chosen options and the job's own lines. The cost stays the bill's."""
    totals = [*(told(o) for o in _chosen(priced)), *([whole] if (whole := told_whole(priced)) else [])]

    def total(field: str) -> Decimal:
        return sum((getattr(t, field) for t in totals), ZERO)

    return replace(priced.totals, price_before_tax=total("price_before_tax"), tax=total("tax"), price=total("price"))


def _kept(totals: Totals, accepted: Accepted | None) -> Totals:
    if accepted is None:
        return totals
    return replace(totals, price_before_tax=accepted.price_before_tax, tax=accepted.tax, price=accepted.price)


def _chosen(priced: PricedJob) -> list[PricedOption]:
    """The chosen options that have a price, one a site, as the job's total counts them."""
    return list({o.site.name: o for o in priced.options if o.chosen and o.bill is not None}.values())


def contract(priced: PricedJob) -> Decimal | None:
    """The accepted price with tax of all that is chosen; None while something chosen is not accepted."""
    chosen = [o for o in priced.options if o.chosen]
    held = [o.accepted for o in chosen] + ([priced.job_accepted] if priced.job_bill else [])
    if not chosen or any(a is None for a in held):
        return None
    return sum((a.price for a in held if a), ZERO)


def variation_name(text: str) -> str:
    """How a variation is called: a bare number gets a V.

    >>> variation_name("1"), variation_name(" v2 "), variation_name("Gate")
    ('V1', 'V2', 'Gate')
    """
    name = " ".join(text.split())
    found = re.fullmatch(r"[vV]?\s?(\d+)", name)
    return f"V{int(found[1])}" if found else name


def variations(priced: PricedJob) -> tuple[Variation, ...]:
    """Every variation of the job with its lines, by number, then by name."""
    groups: list[tuple[PricedOption | None, tuple[tuple[Apart, Decimal], ...]]] = [(o, o.apart) for o in priced.options]
    groups.append((None, priced.job_apart))
    lines: dict[str, list[Varied]] = {}
    names: dict[str, str] = {}
    for option, aparts in groups:
        for apart, price in aparts:
            if apart.why == VARIATION:
                name = variation_name(apart.variation)
                names.setdefault(key(name), name)
                counted = option is None or option.chosen
                lines.setdefault(key(name), []).append(Varied(option, apart, price, counted))
    return tuple(Variation(names[at], tuple(lines[at])) for at in sorted(lines, key=_in_order))


def _in_order(name: str) -> list[tuple[int, str]]:
    """V2 before V10."""
    return [(int(part), "") if part.isdigit() else (0, part) for part in re.split(r"(\d+)", name)]


def of_option(found: Sequence[Variation], option: PricedOption | None) -> Decimal:
    """What the variations of one option come to, with tax; None: those of the whole job."""
    return sum((line.price for v in found for line in v.lines if line.option is option), ZERO)
