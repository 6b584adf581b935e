"""Why one price differs from another: parts in money that add up to the difference to the cent.

A line that stands in both is first taken with the new quantity at the old rate, then at the new rate; charges and
taxes in the same way with what they are taken on.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from estimator.core.money import cents, plain
from estimator.core.names import key
from estimator.report.changes.model import PrintedBill, PrintedLine, PrintedStep
from estimator.takeoff.extras import TYPED

ZERO = Decimal("0.00")
QUANTITY, RATE, NEW, GONE = "quantity", "rate", "new", "gone"
CHARGE, CHARGE_RATE, TAX, TAX_RATE, ROUNDING, ADRIFT = "charge", "charge rate", "tax", "tax rate", "rounding", "adrift"
# in the order they are told
CAUSES = {
    QUANTITY: "more or less of what was there before",
    RATE: "other rates for what was there before",
    NEW: "what is new",
    GONE: "what is gone",
    CHARGE: "charges that follow the cost",
    CHARGE_RATE: "charges at another rate, new or gone",
    ROUNDING: "rounding",
    TAX: "tax that follows the price",
    TAX_RATE: "taxes at another rate, new or gone",
    ADRIFT: "figures that do not add up in one of the workbooks",
}
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a difference. cause: a key of `CAUSES`; what: which line or step; how: what became of it."""

    cause: str
    what: str
    how: str
    amount: Decimal


def parts_of(before: PrintedBill, now: PrintedBill) -> tuple[Part, ...]:
    """The parts of now.price - before.price, none of them nothing, in the order of `CAUSES`, the largest first."""
    found = [*_lines(before.lines, now.lines), *_charges(before.charges, now.charges), *_taxes(before.taxes, now.taxes)]
    rest = now.price - before.price - sum((p.amount for p in found), ZERO)
    found.append(Part(ADRIFT, "a sum that somebody has typed over", "", rest))
    order = list(CAUSES)
    return tuple(sorted((p for p in found if p.amount), key=lambda p: (order.index(p.cause), -abs(p.amount), p.what)))


def by_cause(parts: Sequence[Part]) -> tuple[tuple[str, Decimal], ...]:
    """The causes in words, each with the sum of its parts."""
    sums: dict[str, Decimal] = {}
    for part in parts:
        sums[part.cause] = sums.get(part.cause, ZERO) + part.amount
    return tuple((CAUSES[cause], sums[cause]) for cause in CAUSES if sums.get(cause))


def _pairs(
    before: Sequence[T], now: Sequence[T], names: Sequence[Callable[[T], Hashable | None]]
) -> tuple[list[tuple[T, T]], list[T], list[T]]:
    """Rows of both that are one, by the first name that they share, in their order; then what is left of each."""
    pairs: list[tuple[T, T]] = []
    left, right = list(before), list(now)
    for name in names:
        waiting: dict[Hashable, list[T]] = {}
        for row in left:
            at = name(row)
            if at is not None:
                waiting.setdefault(at, []).append(row)
        matched: list[T] = []
        rest: list[T] = []
        for row in right:
            group = waiting.get(name(row))
            if group:
                matched.append(group[0])
                pairs.append((group.pop(0), row))
            else:
                rest.append(row)
        left = [row for row in left if not any(row is m for m in matched)]
        right = rest
    return pairs, left, right


def _lines(before: Sequence[PrintedLine], now: Sequence[PrintedLine]) -> list[Part]:
    def same(x: PrintedLine) -> Hashable:
        return key(x.code), key(x.description), x.unit, x.kind

    def alike(x: PrintedLine) -> Hashable | None:
        return None if key(x.code) == TYPED else (key(x.code), x.unit, x.kind)

    pairs, gone, new = _pairs(before, now, (same, alike))
    found = []
    for old, line in pairs:
        step = cents(line.quantity * old.rate) - cents(old.quantity * old.rate)
        rate = cents(line.quantity * line.rate) - cents(line.quantity * old.rate)
        what = _called(line)
        less = line.quantity - old.quantity
        more = f"{_short(abs(less))} {line.unit} {_more(less)}, at {plain(old.rate)}"
        found.append(Part(QUANTITY, what, more, step))
        how = f"{plain(old.rate)} a {line.unit}, now {plain(line.rate)}, for {_short(line.quantity)} {line.unit}"
        found.append(Part(RATE, what, how, rate))
        found.append(Part(ROUNDING, what, "", line.cost - old.cost - step - rate))
    found += [Part(GONE, _called(x), _much(x), -x.cost) for x in gone]
    return found + [Part(NEW, _called(x), _much(x), x.cost) for x in new]


def _called(line: PrintedLine) -> str:
    code = "" if key(line.code) == TYPED else f"{line.code} "
    return f"{code}{line.description}"


def _much(line: PrintedLine) -> str:
    return f"{_short(line.quantity)} {line.unit} at {plain(line.rate)}"


def _short(quantity: Decimal) -> str:
    """A quantity to read: a third decimal says enough."""
    return plain(quantity.quantize(Decimal("0.001")))


def _more(difference: Decimal) -> str:
    return "more" if difference > 0 else "less"


def _amount(step: PrintedStep, base: Decimal, rate: Decimal) -> Decimal:
    return cents(base * rate / (1 - rate)) if step.on == "price" and rate != 1 else cents(base * rate)


def _charges(before: Sequence[PrintedStep], now: Sequence[PrintedStep]) -> list[Part]:
    return _steps(before, now, CHARGE, CHARGE_RATE)


def _taxes(before: Sequence[PrintedStep], now: Sequence[PrintedStep]) -> list[Part]:
    return _steps(before, now, TAX, TAX_RATE)


def _steps(before: Sequence[PrintedStep], now: Sequence[PrintedStep], follows: str, changed: str) -> list[Part]:
    pairs, gone, new = _pairs(before, now, (lambda s: (key(s.name), s.on),))
    found = []
    for old, step in pairs:
        whole = step.amount - old.amount
        if old.rate is None or step.rate is None:
            found.append(Part(ROUNDING, step.name, "to a step", whole))
            continue
        base = _amount(step, step.base, old.rate) - _amount(step, old.base, old.rate)
        rate = _amount(step, step.base, step.rate) - _amount(step, step.base, old.rate)
        how = f"{_percent(old.rate)}, now {_percent(step.rate)}"
        less = step.base - old.base
        found.append(Part(follows, step.name, f"{_percent(old.rate)} of {plain(abs(less))} {_more(less)}", base))
        found.append(Part(changed, step.name, how, rate))
        found.append(Part(ROUNDING, step.name, "line by line", whole - base - rate))
    for steps, sign, words in ((gone, -1, "gone"), (new, 1, "new")):
        for step in steps:
            cause = ROUNDING if step.rate is None else changed
            found.append(Part(cause, step.name, f"{words}, {_percent(step.rate)}", sign * step.amount))
    return found


def _percent(rate: Decimal | None) -> str:
    return "to a step" if rate is None else f"{plain(rate * 100)} %"
