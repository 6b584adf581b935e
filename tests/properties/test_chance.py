"""Prices drawn from three-point values: what holds for any rows."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import inf, nan, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.pricing.chance import Spread, Uncertain, Unclear, by_formula, contingency_for, simulate
from estimator.pricing.three_point import draw, mean, variance

D = Decimal
BASE = D(1000)
values = st.lists(st.floats(-100, 100), min_size=3, max_size=3).map(sorted)


@st.composite
def rows(draw: st.DrawFn, group: str = "") -> list[Uncertain]:
    found = []
    for i in range(draw(st.integers(1, 6))):
        low, likely, high = draw(values)
        weight = draw(st.integers(-500, 500))
        found.append(Uncertain(f"r{i}", low, likely, high, D(weight) / 10, group))
    return found


def spread(given_rows: list[Uncertain], base: Decimal = BASE, correlation: float = 0.5, seed: int = 1) -> Spread:
    found = simulate(given_rows, base, 2000, seed, correlation)
    assert isinstance(found, Spread), found
    return found


@settings(max_examples=60, deadline=None)
@given(rows(), st.integers(0, 2**31))
def test_the_same_seed_gives_the_same_and_shares_stand_in_order(some: list[Uncertain], seed: int) -> None:
    one = spread(some, seed=seed)
    assert one == spread(some, seed=seed)
    assert one.low10 <= one.middle50 <= one.high90
    assert one.at(0) <= one.low10
    assert one.at(1) >= one.high90
    least = 1000 + sum(min(float(r.weight) * (v - r.likely) for v in (r.low, r.high)) for r in some)
    most = 1000 + sum(max(float(r.weight) * (v - r.likely) for v in (r.low, r.high)) for r in some)
    assert least - 1e-6 <= one.drawn[0] <= one.drawn[-1] <= most + 1e-6
    assert len(one.movers) <= 5
    assert [m.swing for m in one.movers] == sorted((m.swing for m in one.movers), reverse=True)


@settings(max_examples=60, deadline=None)
@given(rows())
def test_draws_keep_to_the_closed_form(some: list[Uncertain]) -> None:
    # five standard errors: of a million honest draws fewer than one falls outside
    middle, deviation = by_formula(some, D(1000))
    found = spread(some)
    assert abs(float(found.mean - middle)) <= 5 * float(deviation) / sqrt(2000) + 0.006


@settings(max_examples=40, deadline=None)
@given(rows(), st.integers(-100, 100))
def test_another_base_shifts_and_nothing_else(some: list[Uncertain], by: int) -> None:
    one, two = np.array(spread(some).drawn), np.array(spread(some, D(1000 + by)).drawn)
    assert two == pytest.approx(one + by, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(rows(group="soil"))
def test_rows_of_one_group_that_cost_spread_wider_than_alone(some: list[Uncertain]) -> None:
    same_way = [replace(r, weight=abs(r.weight)) for r in some]
    alone = spread([replace(r, group="") for r in same_way])
    together, closely = spread(same_way), spread(same_way, correlation=0.9)
    if len({r.name for r in same_way if r.weight and r.high - r.low > 1}) < 2:
        assert float(together.sd) == pytest.approx(float(alone.sd), rel=0.15, abs=1)
        return
    slack = 0.06 * float(closely.sd)  # of 2000 draws
    assert float(alone.sd) <= float(together.sd) + slack
    assert float(together.sd) <= float(closely.sd) + slack


def test_a_group_as_one_adds_deviations_and_one_apart_adds_squares() -> None:
    pair = [Uncertain("a", 1, 3, 9, D(10), "soil"), Uncertain("b", 1, 3, 9, D(10), "soil")]
    single = 10 * sqrt(variance(1, 3, 9))
    for correlation, expected in ((1.0, 2 * single), (0.0, sqrt(2) * single)):
        found = simulate(pair, D(0), 40000, 3, correlation)
        assert isinstance(found, Spread)
        assert float(found.sd) == pytest.approx(expected, rel=0.02)
    middle = simulate(pair, D(0), 40000, 3, 0.5)
    assert isinstance(middle, Spread)
    assert sqrt(2) * single * 1.1 < float(middle.sd) < 2 * single * 0.95


def test_what_pulls_against_each_other_in_a_group_spreads_less() -> None:
    pair = [Uncertain("a", 1, 3, 9, D(10), "soil"), Uncertain("b", 1, 3, 9, D(-10), "soil")]
    assert spread(pair, correlation=0.9).sd < spread([replace(r, group="") for r in pair]).sd


def test_a_row_keeps_its_own_spread_in_a_group() -> None:
    # a copula changes how rows go together and not how one row goes
    row = Uncertain("a", 2, 3, 9, D(10))
    other = Uncertain("b", 2, 3, 9, D(0), "soil")
    one = simulate([row], D(0), 40000, 1)
    two = simulate([replace(row, group="soil"), other], D(0), 40000, 1)
    assert isinstance(one, Spread)
    assert isinstance(two, Spread)
    for share in (0.05, 0.25, 0.5, 0.75, 0.95):
        assert float(two.at(share)) == pytest.approx(float(one.at(share)), abs=0.8)


def test_two_groups_do_not_know_of_each_other() -> None:
    apart = [Uncertain("a", 1, 3, 9, D(10), "soil"), Uncertain("b", 1, 3, 9, D(10), "wind")]
    found = simulate(apart, D(0), 40000, 3, 0.9)
    assert isinstance(found, Spread)
    assert float(found.sd) == pytest.approx(sqrt(2) * 10 * sqrt(variance(1, 3, 9)), rel=0.02)


def test_a_row_that_is_known_moves_nothing() -> None:
    found = spread([Uncertain("fixed", 4, 4, 4, D(100)), Uncertain("free", 1, 2, 3, D(0))])
    assert (found.low10, found.high90, found.sd, found.movers) == (D("1000.00"), D("1000.00"), D("0.00"), ())
    assert by_formula([Uncertain("fixed", 4, 4, 4, D(100))], D(1000)) == (D(1000), D(0))
    assert contingency_for(found, D(1000)) == 0
    assert spread([]).middle50 == D("1000.00")
    assert set(draw(4, 4, 4, 5)) == {4.0}


def test_another_figure_in_one_row_leaves_the_others_as_drawn() -> None:
    one = [Uncertain("a", 1, 3, 9, D(10)), Uncertain("b", 0, 0, 0, D(1))]
    two = [one[0], Uncertain("b", 5, 5, 5, D(1))]
    assert spread(one).drawn == pytest.approx(spread(two).drawn)


def test_draws_of_a_value() -> None:
    drawn = draw(1, 10, 17, 100_000, seed=7)
    assert (drawn == draw(1, 10, 17, 100_000, seed=7)).all()
    assert not (drawn == draw(1, 10, 17, 100_000, seed=8)).all()
    assert 1 <= drawn.min() < drawn.max() <= 17
    assert drawn.mean() == pytest.approx(mean(1, 10, 17), abs=3 * sqrt(variance(1, 10, 17) / 100_000))


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (Uncertain("a", 3, 2, 5, D(1)), "low 3, likely 2, high 5"),
        (Uncertain("a", 1, 6, 5, D(1)), "low 1, likely 6, high 5"),
        (Uncertain("a", 1, nan, 5, D(1)), "numbers"),
        (Uncertain("a", 1, 2, inf, D(1)), "numbers"),
        (Uncertain("a", 1, 2, 3, D("NaN")), "numbers"),
        (Uncertain("a", 1, 2, 3, D("sNaN")), "numbers"),
    ],
)
def test_a_row_that_cannot_be_drawn_is_named(row: Uncertain, says: str) -> None:
    found = simulate([Uncertain("good", 1, 2, 3, D(1)), row], D(10))
    assert isinstance(found, tuple)
    assert [u.name for u in found] == ["a"]
    assert says in found[0].words


def test_all_that_is_wrong_is_said_at_once() -> None:
    found = simulate([Uncertain("a", 3, 2, 5, D(1))], D("Infinity"), count=1, correlation=1.5)
    assert isinstance(found, tuple)
    assert [u.name for u in found] == ["a", "", "", ""]
    assert all(isinstance(u, Unclear) and u.words for u in found)
