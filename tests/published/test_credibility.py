"""Credibility by published figures.

Sources: H. Bühlmann, Experience rating and credibility, ASTIN Bulletin 4 (1967), Z = n / (n + k) with k = expected
variance within a risk over the variance between risks; the figures of a published table of Z, to a tenth of a per cent,
and its example of a fleet seen for 5 years with variances 25,000 and 5,000.
"""

from __future__ import annotations

import pytest

from estimator.actuals.shrink import factor, weight

TABLE = {
    1: {2: 33.3, 5: 16.7, 10: 9.1, 25: 3.8, 50: 2.0},
    3: {2: 60.0, 5: 37.5, 10: 23.1, 25: 10.7, 50: 5.7},
    5: {2: 71.4, 5: 50.0, 10: 33.3, 25: 16.7, 50: 9.1},
    10: {2: 83.3, 5: 66.7, 10: 50.0, 25: 28.6, 50: 16.7},
    25: {2: 92.6, 5: 83.3, 10: 71.4, 25: 50.0, 50: 33.3},
    50: {2: 96.2, 5: 90.9, 10: 83.3, 25: 66.7, 50: 50.0},
}


@pytest.mark.parametrize(("n", "k", "percent"), [(n, k, z) for n, row in TABLE.items() for k, z in row.items()])
def test_the_weight_of_so_many_years(n: int, k: int, percent: float) -> None:
    assert weight(n, k) * 100 == pytest.approx(percent, abs=0.05)


def test_the_fleet_is_a_blend_of_half_and_half() -> None:
    assert weight(5, 25_000 / 5_000) == 0.5
    assert factor(used=5 * 1.4, planned=5, n=5, k=5) == pytest.approx(1.2)
