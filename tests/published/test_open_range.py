"""Prices that came out otherwise, as told in public, against the range of a price and the contingency it justifies.

Figures marked (calc) follow from those told; distributions are this project's own and marked so.
"""

from __future__ import annotations

from decimal import Decimal
from math import sqrt
from pathlib import Path
from typing import Any

import pytest

from estimator.pricing.chance import Spread, Uncertain, by_formula, contingency_for, simulate
from estimator.pricing.model import PricedJob
from tests.build import option, run, square, write_job
from tests.rates.with_ends import with_ends

D = Decimal
INCH = 0.0254


def yard(tmp_path: Path, name: str, ground: str, rock_at: float | None = None, extras: Any = ()) -> Path:
    return write_job(
        tmp_path / f"{name}.xlsx",
        sites=[{"Site": "Yard", "Ground": ground, "Access": "easy", "Travel": 5, "Rock at": rock_at}],
        fixings=square(5),
        options=[option("A B C D", "SQ-4000")],
        extras=extras,
    )


def priced(path: Path, rates: Path | None = None) -> PricedJob:
    outcome = run(path, rates)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def spread_of(found: PricedJob) -> Spread:
    assert found.ranged is not None
    return found.ranged.price


# Granite under every hole. Told: a shelf at 12 to 18 in, five days of hire, all profit gone; the price had held 30
# person-minutes a hole by hand.


def test_ground_that_nobody_has_dug_makes_digging_the_first_mover(tmp_path: Path) -> None:
    seen, unseen = (priced(yard(tmp_path, ground, ground)) for ground in ("firm", "unknown"))
    assert spread_of(unseen).movers[0].name == "digging (ground unknown), hours"
    assert float(spread_of(unseen).sd) > 1.4 * float(spread_of(seen).sd)
    assert seen.ranged is not None
    assert unseen.ranged is not None
    assert seen.ranged.justified is not None
    assert unseen.ranged.justified is not None
    assert unseen.ranged.justified > seen.ranged.justified
    assert unseen.ranged.enough < seen.ranged.enough


@pytest.mark.parametrize("shelf", [12 * INCH, 18 * INCH])
def test_the_shelf_of_rock_lies_beyond_the_range_of_ground_that_was_taken_for_firm(
    tmp_path: Path, shelf: float
) -> None:
    # a range knows only what it was told of: rock has to be asked for, or the ground called unknown
    firm, unknown = (
        spread_of(priced(yard(tmp_path, "firm", "firm"))),
        spread_of(priced(yard(tmp_path, "un", "unknown"))),
    )
    met = priced(yard(tmp_path, "rock", "firm", rock_at=shelf))
    assert met.totals.price > firm.high90
    assert met.totals.price < unknown.at(1)
    first, second = spread_of(met).movers[:2]
    assert first.name == "digging (ground rock), hours"
    assert first.swing > 2 * second.swing


def test_what_five_days_of_hire_and_the_digging_beyond_thirty_minutes_do_to_a_price() -> None:
    # Six holes at 30 person-minutes (told: minutes; six is ours) and no hire are held; low, likely, high of the hours
    # and of the days are ours. By formula: mean and deviation; drawn: the chance that the price covers it.
    rows = [Uncertain("hours a hole", 0.4, 0.5, 8, D(6 * 40)), Uncertain("days of hire", 0, 0, 5, D(110))]
    cost, profit = D(4000), D(1000)
    middle, deviation = by_formula(rows, cost)
    found = simulate(rows, cost)
    assert isinstance(found, Spread)
    assert abs(float(found.mean - middle)) < 3 * float(deviation) / sqrt(20_000) + 0.005
    # all of it together takes all profit and more (calc): 7.5 h x 240 + 5 x 110 = 2350
    assert found.at(1) <= cost + D(2350)
    assert found.at(1) > cost + profit
    assert 0.8 < found.chance(cost + profit) < 1
    needed = contingency_for(found, cost, at=0.8)
    assert needed is not None
    assert needed > D("0.10")  # 5 % is what the default book takes


# Told 4 in of slab, found 10: extra hire and cutting came to 350, which was 15 % of the cost and half of the profit.
EXTRA = D(350)
COST, PROFIT = EXTRA / D("0.15"), 2 * EXTRA  # (calc)


def test_a_slab_told_thinner_than_it_is() -> None:
    # what was told is likely, what was found the high value; low and likely are one (ours), so p = 1, q = 5 and the
    # share under x of the range is 1 - (1 - x)^5 (derived)
    slab = Uncertain("slab, inches", 4, 4, 10, EXTRA / 6)
    found = simulate([slab], COST, count=200_000)
    assert isinstance(found, Spread)
    for at in (0.5, 0.8, 0.9):
        x = 1 - (1 - at) ** 0.2
        assert float(found.at(at) - COST) == pytest.approx(350 * x, abs=1.5)
    needed = contingency_for(found, COST, at=0.8)
    assert needed is not None
    assert float(needed) == pytest.approx((1 - 0.2**0.2) * 0.15, abs=5e-4)  # 4.1 % of the cost
    (mover,) = found.movers
    assert (mover.at_low, mover.at_high) == (
        pytest.approx(D(350) * D(1 - 0.9**0.2), abs=D("0.01")),
        pytest.approx(D(350) * D(1 - 0.1**0.2), abs=D("0.01")),
    )
    assert found.chance(COST + PROFIT) == 1.0  # half of the profit went, not all
    assert found.at(1) <= COST + PROFIT / 2


def test_a_price_by_thickness_that_was_told_moves_the_job(tmp_path: Path) -> None:
    # 10 in for 4 in: the high value of the core drilling is 250 %
    book = with_ends(tmp_path / "book", {"items": {"core-drill": ("100", "250")}})
    drill = {"Site": "Yard", "Description": "core drilling, slab told as 4 in", "Quantity": 4, "Unit": "each",
             "Item": "core-drill"}  # fmt: skip
    found = priced(yard(tmp_path, "slab", "firm", extras=[drill]), book)
    assert found.ranged is not None
    first = spread_of(found).movers[0]
    assert first.name == "Core drilling through a slab, price"
    row = next(r for r in found.ranged.rows if r.name == first.name)
    # 4 x 95 through overhead 8 %, contingency 5 %, margin 20 % and tax 10 %
    assert row.weight == D(380) * D("1.13") / D("0.8") * D("1.1")
    assert float(first.at_high) == pytest.approx(float(row.weight) * 1.5 * (1 - 0.1**0.2), abs=0.01)
    other = priced(yard(tmp_path, "known", "firm", extras=[drill]))
    assert spread_of(found).high90 > spread_of(other).high90
    assert found.totals == other.totals
