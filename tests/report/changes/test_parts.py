"""The parts of a difference add up to it to the cent, and each change stands under its own cause."""

from __future__ import annotations

from decimal import Decimal
from random import Random

import pytest

from estimator.pricing.charges import Step
from estimator.report.changes.parts import (
    ADRIFT,
    CAUSES,
    CHARGE,
    CHARGE_RATE,
    GONE,
    NEW,
    QUANTITY,
    RATE,
    ROUNDING,
    TAX,
    TAX_RATE,
    by_cause,
    parts_of,
)
from tests.report.changes.bills import STEPS, TAXES, line, printed, random_bill

ZERO = Decimal(0)


@pytest.mark.parametrize("seed", range(300))
def test_the_parts_add_up_to_the_cent(seed: int) -> None:
    rng = Random(seed)
    before, now = random_bill(rng), random_bill(rng)
    parts = parts_of(before, now)
    assert sum((p.amount for p in parts), ZERO) == now.price - before.price
    assert sum((amount for _, amount in by_cause(parts)), ZERO) == now.price - before.price
    assert not any(p.cause == ADRIFT for p in parts), "a bill of ours always adds up"
    assert all(p.amount for p in parts)


@pytest.mark.parametrize("seed", range(50))
def test_a_bill_against_itself_is_nothing(seed: int) -> None:
    bill = random_bill(Random(seed))
    assert parts_of(bill, bill) == ()


def causes(before: object, now: object) -> dict[str, Decimal]:
    found: dict[str, Decimal] = {}
    for part in parts_of(before, now):  # type: ignore[arg-type]
        found[part.cause] = found.get(part.cause, ZERO) + part.amount
    return found


def test_more_of_a_line_is_a_quantity_and_what_follows_from_it() -> None:
    found = causes(printed(line("A", "2", "10")), printed(line("A", "3", "10")))
    assert found[QUANTITY] == Decimal("10.00")
    assert set(found) == {QUANTITY, CHARGE, TAX}


def test_a_dearer_line_is_a_rate() -> None:
    """2 at 10, then 3 at 12: 10 for the third at the old rate, then 2 more for each of the three."""
    found = causes(printed(line("A", "2", "10")), printed(line("A", "3", "12")))
    assert (found[QUANTITY], found[RATE]) == (Decimal("10.00"), Decimal("6.00"))


def test_new_and_gone_lines_and_lines_of_another_unit() -> None:
    before = printed(line("A", "2", "10"), line("B", "1", "5"))
    now = printed(line("A", "2", "10", unit="m"), line("C", "1", "7"))
    found = causes(before, now)
    assert (found[NEW], found[GONE]) == (Decimal("27.00"), Decimal("-25.00"))


def test_typed_lines_are_one_only_by_their_words() -> None:
    before = printed(line("extra", "1", "40", words="Move the gate"))
    now = printed(line("extra", "1", "60", words="Lift paving"), line("extra", "1", "45", words="Move the gate"))
    found = causes(before, now)
    assert (found[NEW], found[RATE]) == (Decimal("60.00"), Decimal("5.00"))


def test_a_line_whose_words_changed_is_still_that_line() -> None:
    before, now = (
        printed(line("P", "4.2", "20", words="Post, 1 of 4.2 m")),
        printed(line("P", "4.8", "20", words="4.8")),
    )
    assert set(causes(before, now)) == {QUANTITY, CHARGE, TAX}


def test_another_rate_of_a_charge_or_a_tax_stands_apart_from_what_follows_the_cost() -> None:
    lines = line("A", "10", "100")
    margin = tuple(Step(s.step, s.taken_on, Decimal("0.25")) if s.step == "margin" else s for s in STEPS)
    found = causes(printed(lines), printed(lines, steps=margin))
    # 1111 is charged; 1111 x 0.25 / 0.75 - 1111 x 0.2 / 0.8 = 370.33 - 277.75
    assert found[CHARGE_RATE] == Decimal("370.33") - Decimal("277.75")
    dropped = causes(printed(lines), printed(lines, taxes=TAXES[1:]))
    assert set(dropped) == {TAX_RATE}
    without = causes(printed(lines), printed(lines, steps=STEPS[:-1]))
    assert without[CHARGE_RATE] > 0, "a discount that is gone makes the price dearer"


def test_rounding_to_a_step_is_rounding() -> None:
    lines = line("A", "1", "100")
    found = causes(printed(lines), printed(lines, steps=(*STEPS, Step("rounding", "step", Decimal(50)))))
    assert set(found) <= {ROUNDING, TAX}
    assert found[ROUNDING]


def test_a_sum_that_was_typed_over_is_named_as_such() -> None:
    import dataclasses

    bill = printed(line("A", "1", "100"))
    typed = dataclasses.replace(bill, price=bill.price + 7)
    (part,) = parts_of(bill, typed)
    assert (part.cause, part.amount) == (ADRIFT, Decimal(7))


def test_every_cause_has_words() -> None:
    assert set(CAUSES) == {QUANTITY, RATE, NEW, GONE, CHARGE, CHARGE_RATE, ROUNDING, TAX, TAX_RATE, ADRIFT}
