"""The weight of what was seen: closed forms, limits, and what must hold for any jobs."""

from __future__ import annotations

from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.actuals.shrink import factor, middle, weight, wild

HOURS = st.floats(0.1, 500)
JOBS = st.lists(st.tuples(HOURS, HOURS), min_size=1, max_size=30)


@pytest.mark.parametrize(
    ("ratios", "k", "expected"),
    [
        ([1.5], 4, 1.1),  # 1 + 1/5 x 0.5
        ([1.5] * 4, 4, 1.25),  # half way
        ([1.5] * 96, 4, 1.48),  # nearly there: 96 / 100
        ([2.0, 1.0], 2, 1.25),  # mean 1.5, weight 1/2
        ([0.5], 1, 0.75),
        ([1.7], 0, 1.7),  # old hours worth no job: only what was seen counts
    ],
)
def test_worked_by_hand(ratios: list[float], k: float, expected: float) -> None:
    assert factor(sum(ratios), len(ratios), len(ratios), k) == pytest.approx(expected, rel=1e-12)


def test_it_is_the_mean_of_what_was_seen_and_k_jobs_that_went_as_planned() -> None:
    """The best estimate of a mean after a normal prior: k = variance of a job / variance of the prior.

    Worked out a second way, by precisions: each job counts 1 / variance, the prior 1 / its own.
    """
    ratios, of_a_job, of_the_prior = [1.4, 0.9, 1.8, 1.2], 0.3, 0.12
    precise = 1 / of_the_prior + len(ratios) / of_a_job
    expected = (1 / of_the_prior + sum(ratios) / of_a_job) / precise
    assert factor(sum(ratios), len(ratios), len(ratios), of_a_job / of_the_prior) == pytest.approx(expected, rel=1e-12)


@given(JOBS, st.floats(0, 100))
def test_the_new_hours_lie_between_the_old_and_what_was_seen(jobs: list[tuple[float, float]], k: float) -> None:
    used, planned = sum(u for u, _ in jobs), sum(p for _, p in jobs)
    times = factor(used, planned, len(jobs), k)
    low, high = sorted((1.0, used / planned))
    assert low - 1e-9 <= times <= high + 1e-9
    assert times > 0


@given(st.floats(0.01, 50), st.floats(0, 50), st.floats(0.01, 50))
def test_more_jobs_weigh_more_and_a_firmer_past_less(n: float, more: float, k: float) -> None:
    assert weight(n + more, k) >= weight(n, k)
    assert weight(n, k + more) <= weight(n, k)
    assert 0 < weight(n, k) < 1


@given(HOURS, st.integers(1, 50), st.floats(0, 50))
def test_jobs_that_went_as_planned_change_nothing(planned: float, n: int, k: float) -> None:
    assert isclose(factor(planned, planned, n, k), 1.0)


def test_no_job_has_no_weight_even_where_the_past_is_worth_nothing() -> None:
    assert weight(0, 0) == 0.0


def test_few_jobs_are_held_against_the_plan_and_more_against_each_other() -> None:
    assert middle([4.0, 4.2]) == 1.0
    assert wild([4.0, 4.2], 3) == [True, True]
    # a row that is wrong by four is found out as soon as three jobs say so
    assert wild([4.0, 4.2, 3.8], 3) == [False] * 3
    assert wild([1.0, 1.1, 0.9, 3.2], 3) == [False, False, False, True]
    assert wild([1.0, 1.1, 0.9, 0.3], 3) == [False, False, False, True]
    assert wild([3.0, 1 / 3], 3) == [False, False]  # just within
