"""Three-point values against a published network of tasks, and prices drawn from them against what is known."""

from __future__ import annotations

from decimal import Decimal
from math import erf, sqrt

import numpy as np
import pytest

from estimator.pricing.chance import Spread, Uncertain, by_formula, contingency_for, simulate
from estimator.pricing.three_point import draw, mean, shape, sixth_squared, value_at, variance

D = Decimal

# Source: a published exercise on a network of fourteen tasks (low, likely, high in days; which go before), with the
# means and standard deviations that it prints.
TASKS: dict[str, tuple[float, float, float, str]] = {
    "A": (5, 5, 7, ""),
    "B": (1, 2, 5, ""),
    "C": (5, 5, 5, "A"),
    "D": (4, 8, 13, "A"),
    "E": (1, 10, 17, "BC"),
    "F": (1, 5, 7, "D"),
    "G": (2, 6, 9, "D"),
    "H": (4, 4, 6, "EF"),
    "I": (2, 7, 10, "GH"),
    "J": (2, 4, 7, "I"),
    "K": (6, 10, 13, "I"),
    "L": (2, 6, 6, "J"),
    "M": (2, 2, 3, "K"),
    "N": (7, 7, 12, "LM"),
}
PRINTED = {
    "A": (5.33, 0.33), "B": (2.33, 0.67), "C": (5, 0), "D": (8.17, 1.5), "E": (9.67, 2.67), "F": (4.67, 1),
    "G": (5.83, 1.17), "H": (4.33, 0.33), "I": (6.67, 1.33), "J": (4.17, 0.83), "K": (9.83, 1.17), "L": (5.33, 0.67),
    "M": (2.17, 0.17), "N": (7.83, 0.83),
}  # fmt: skip


@pytest.mark.parametrize("task", TASKS)
def test_means_and_deviations_of_the_network(task: str) -> None:
    low, likely, high, _ = TASKS[task]
    assert mean(low, likely, high) == pytest.approx(PRINTED[task][0], abs=0.005)
    assert sqrt(sixth_squared(low, high)) == pytest.approx(PRINTED[task][1], abs=0.005)


def test_the_longest_way_through_the_network_and_its_chances() -> None:
    # Source: the slack of B 8, D and F 1.83 days is printed with that exercise; the way A-C-E-H-I-K-M-N of 50.8333
    # days and the chances of 53 and 55 days follow from it (derived).
    length = {task: mean(*TASKS[task][:3]) for task in TASKS}
    ready: dict[str, float] = {}
    for task in TASKS:
        ready[task] = length[task] + max((ready[before] for before in TASKS[task][3]), default=0.0)
    latest = dict.fromkeys(TASKS, ready["N"])
    for task in reversed(TASKS):
        for before in TASKS[task][3]:
            latest[before] = min(latest[before], latest[task] - length[task])
    slack = {task: latest[task] - ready[task] for task in TASKS}
    assert ready["N"] == pytest.approx(50.8333, abs=5e-5)
    assert [slack[task] for task in "BDF"] == pytest.approx([8, 1.83, 1.83], abs=0.005)
    longest = [task for task in TASKS if slack[task] < 1e-9]
    assert "".join(longest) == "ACEHIKMN"
    spread = sum(sixth_squared(TASKS[task][0], TASKS[task][2]) for task in longest)
    assert (spread, sqrt(spread)) == pytest.approx((11.19444, 3.34581), abs=5e-6)

    def chance(days: float) -> float:
        return (1 + erf((days - ready["N"]) / sqrt(2 * spread))) / 2

    assert (chance(53), chance(55)) == pytest.approx((0.7414, 0.8935), abs=2e-4)


@pytest.mark.parametrize(
    ("low", "likely", "high"), [(1.0, 10.0, 17.0), (0.0, 0.0, 6.0), (2.0, 5.0, 5.0), (-3.0, -1.0, 4.0)]
)
def test_mean_and_variance_are_those_of_the_beta_distribution(low: float, likely: float, high: float) -> None:
    # Source: mean p / (p + q) and variance p q / ((p + q)^2 (p + q + 1)) of a beta distribution, on its range.
    p, q = shape(low, likely, high)
    assert mean(low, likely, high) == pytest.approx(low + (high - low) * p / (p + q))
    assert variance(low, likely, high) == pytest.approx((high - low) ** 2 * p * q / ((p + q) ** 2 * (p + q + 1)))
    # the likely value is where the density is highest: (p - 1) / (p + q - 2)
    assert likely == pytest.approx(low + (high - low) * (p - 1) / (p + q - 2))


def test_the_convention_of_a_sixth_is_another_variance() -> None:
    # Source: derived. In the middle of its range (q - p = 0) the beta distribution has (b - a)2 / 28, not / 36.
    assert variance(0, 3, 6) == pytest.approx(36 / 28)
    assert sixth_squared(0, 6) == pytest.approx(1.0)


@pytest.mark.parametrize("x", [0.05, 0.2, 0.5, 0.9])
def test_shares_of_two_beta_distributions_in_closed_form(x: float) -> None:
    # Source: derived, whole exponents are a binomial sum. p 2, q 4: 1 - (1 - x)^5 - 5 x (1 - x)^4; p 1, q 5:
    # 1 - (1 - x)^5.
    share = np.array([1 - (1 - x) ** 5 - 5 * x * (1 - x) ** 4, 1 - (1 - x) ** 5])
    assert value_at(10, 11, 14, share)[0] == pytest.approx(10 + 4 * x)
    assert value_at(10, 10, 14, share)[1] == pytest.approx(10 + 4 * x)


ROWS = [
    Uncertain("digging hours", 6, 9, 20, D("62.50")),
    Uncertain("bags of concrete", 22, 24, 30, D("9.80")),
    Uncertain("fixing hours", 5, 6, 8, D("62.50")),
    Uncertain("spoil taken away", 1.5, 2, 4, D("85")),
    Uncertain("discount of the maker", 0, 50, 120, D("-1")),
    Uncertain("day of hire", 1, 1, 1, D("180")),
    Uncertain("tape", 1, 2, 3, D("4")),
]


def spread(rows: list[Uncertain], base: Decimal, seed: int = 1, correlation: float = 0.5, count: int = 20000) -> Spread:
    found = simulate(rows, base, count, seed, correlation)
    assert isinstance(found, Spread), found
    return found


def test_mean_and_variance_of_the_draws_within_three_standard_errors() -> None:
    # Source: closed form (sums of means and variances), errors of a sample of n: sd / sqrt n, and
    # sqrt((m4 - variance^2) / n). Of 40 figures a tenth of one is expected outside; none of these is.
    middle, deviation = by_formula(ROWS, D(4000))
    for seed in range(20):
        found = spread(ROWS, D(4000), seed)
        drawn = np.array(found.drawn)
        assert abs(float(found.mean - middle)) < 3 * float(deviation) / sqrt(len(drawn)) + 0.005
        fourth = float(((drawn - drawn.mean()) ** 4).mean())
        square = float(deviation) ** 2
        assert abs(drawn.var(ddof=1) - square) < 3 * sqrt((fourth - square**2) / len(drawn)), seed
        assert float(found.sd) == pytest.approx(float(drawn.std(ddof=1)), abs=0.005)


def test_one_row_gives_the_shares_of_its_own_distribution() -> None:
    # Source: derived, as above: of p 2, q 4 the tenth, the half and the nine tenths, from the binomial sum.
    found = spread([Uncertain("x", 10, 11, 14, D(100))], D(1100), count=200_000)
    for price, share in ((found.low10, 0.1), (found.middle50, 0.5), (found.high90, 0.9)):
        x = (float(price) / 100 - 10) / 4
        assert 1 - (1 - x) ** 5 - 5 * x * (1 - x) ** 4 == pytest.approx(share, abs=0.003)


def test_movers_are_the_five_that_move_most_and_by_how_much() -> None:
    found = spread(ROWS, D(4000))
    # one in ten of a row's values lies beyond each end: counted from draws of that row alone
    ends = {}
    for row in ROWS:
        low, high = np.quantile(draw(row.low, row.likely, row.high, 200_000, seed=5), [0.1, 0.9])
        ends[row.name] = (float(row.weight) * (low - row.likely), float(row.weight) * (high - row.likely))
    first = sorted(ends, key=lambda name: -abs(ends[name][1] - ends[name][0]))[:5]
    assert [m.name for m in found.movers] == first
    assert "tape" not in first  # the sixth
    assert first[0] == "digging hours"
    for mover in found.movers:
        assert (float(mover.at_low), float(mover.at_high)) == pytest.approx(ends[mover.name], abs=3)
        assert mover.swing == abs(mover.at_high - mover.at_low)
    cheaper = next(m for m in found.movers if m.name == "discount of the maker")
    assert cheaper.at_high < 0 < cheaper.at_low


def test_the_contingency_that_a_spread_justifies() -> None:
    base = D(4000)
    found = spread(ROWS, base)
    share = contingency_for(found, base)
    assert share is not None
    assert found.chance(base * (1 + share)) == pytest.approx(0.8, abs=2e-4)
    more = contingency_for(found, base, at=0.95)
    assert more is not None
    assert more > share > 0
    assert contingency_for(found, D(9000)) == 0  # enough is in it already
    assert contingency_for(found, D(0)) is None
