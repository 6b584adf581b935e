"""A corner that no set can be hung in says which gap would do: that gap does, and none between does."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from estimator.rates.model import RateBook
from estimator.rates.read import load_rates
from estimator.takeoff.model import Corner
from estimator.takeoff.rigging import Hanging, TooShort, hang_corner
from tests.build import DAY

SETS = st.sampled_from(["light", "standard", "heavy", "short"])


@cache
def book() -> RateBook:
    found, _ = load_rates(None, DAY)
    assert found is not None
    return found


def corner(gap: float, radius: float, run: str) -> Hanging:
    return Hanging("1", "A", gap, 0.0, 0.0, radius, 0.03, True, run, bool(run))


@given(SETS, st.floats(0.02, 1.2), st.floats(1, 12), st.sampled_from(["", "chain", "wire rope"]), st.floats(0, 0.999))
def test_the_gap_that_is_asked_for_is_the_next_that_does(
    name: str, gap: float, radius: float, run: str, share: float
) -> None:
    sets = [book().corner_sets[name]]
    asked = corner(gap, radius, run)
    found = hang_corner(book(), sets, asked)
    if isinstance(found, Corner):
        return
    if found.needed is None:
        assert all(isinstance(hang_corner(book(), sets, replace(asked, gap=g / 20)), TooShort) for g in range(1, 60))
        return
    assert found.needed > gap
    assert isinstance(hang_corner(book(), sets, replace(asked, gap=found.needed + 1e-9)), Corner)
    between = gap + (found.needed - gap) * share
    if found.needed - between > 1e-6:
        assert isinstance(hang_corner(book(), sets, replace(asked, gap=between)), TooShort)


def test_a_tensioner_whose_way_is_too_short_never_reaches() -> None:
    # 3 % of 12 m less 1 % pulled by hand is 240 mm; a tensioner of 145 mm less a reserve of 25 mm makes up 120 mm
    found = hang_corner(book(), [book().corner_sets["short"]], corner(0.6, 12, "chain"))
    assert isinstance(found, TooShort)
    assert (found.needed, round(found.stretch, 6)) == (None, 0.24)
