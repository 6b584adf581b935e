"""Random bills as they stand printed."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from estimator.core.money import cents
from estimator.pricing.charges import Step
from estimator.pricing.model import Bill
from estimator.pricing.price import bill_of
from estimator.rates.model import Origin, Tax
from estimator.report.changes.model import PrintedBill
from estimator.report.changes.of_priced import printed_bill
from estimator.takeoff.model import Line

KINDS = ("material", "labour", "hire", "subcontract", "fee")
STEPS = (
    Step("overhead", "cost", Decimal("0.08")),
    Step("waste", "materials", Decimal("0.031")),
    Step("margin", "price", Decimal("0.2")),
    Step("discount", "running", Decimal("0.03")),
)
TAXES = (
    Tax("A", "General", Decimal("0.1"), (), True, Origin("taxes", 2)),
    Tax("B", "Of hire", Decimal("0.0355"), ("hire",), True, Origin("taxes", 3)),
)


def line(code: str, quantity: str, rate: str, kind: str = "material", unit: str = "each", words: str = "") -> Line:
    """A line with its cost."""
    q, r = Decimal(quantity), Decimal(rate)
    return Line(code, words or f"part {code}", kind, q, unit, r, cents(q * r), "counted")


def bill(*lines: Line, steps: tuple[Step, ...] = STEPS, taxes: tuple[Tax, ...] = TAXES, by_line: bool = False) -> Bill:
    """Lines with charges and taxes."""
    return bill_of(lines, steps, taxes, by_line)


def printed(*lines: Line, **more: object) -> PrintedBill:
    """The same as it stands in a workbook."""
    found = printed_bill(bill(*lines, **more))  # type: ignore[arg-type]
    assert found is not None
    return found


def random_bill(rng: Random) -> PrintedBill:
    """Some of a few codes, some of them twice, at rates that vary; charges and taxes that come and go."""
    lines = [
        line(
            f"C{rng.randint(0, 7)}",
            str(Decimal(rng.randint(-50, 9000)) / rng.choice((1, 8, 1000))),
            str(Decimal(rng.randint(0, 99_999)) / rng.choice((100, 1000))),
            rng.choice(KINDS[:3]),
            rng.choice(("each", "m")),
            rng.choice(("", "grey", "blue")),
        )
        for _ in range(rng.randint(0, 14))
    ]
    steps = [Step(s.step, s.taken_on, s.rate + Decimal(rng.randint(0, 3)) / 100) for s in STEPS if rng.random() < 0.8]
    if rng.random() < 0.4:
        steps.append(Step("rounding", "step", Decimal(rng.choice((1, 5, 10)))))
    taxes = tuple(t for t in TAXES if rng.random() < 0.8)
    return printed(*lines, steps=tuple(steps), taxes=taxes, by_line=rng.random() < 0.4)
