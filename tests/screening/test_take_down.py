"""The take-down wind: by parts of known answer, and what must hold for any of them."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.screening.parts import Asked, Part, Pulls
from estimator.screening.take_down import HALVINGS, HIGHEST, STEP, take_down_wind
from tests.rate_books import Change
from tests.screening.yards import posts, screened

GRID = STEP / 2**HALVINGS


def part(name: str, capacity: float, share: float = 1.0, counted: bool = True) -> Part:
    """A part that bears a share of the pull on fixing A."""

    def look(pulls: Pulls) -> Asked:
        return Asked(share * pulls["1", "A"][0], capacity, "")

    return Part("corner", name, "at A", ("A",), "N", "", look, counted)


def squared(speed: float, case: str) -> Pulls:
    """Pulls that grow with the square of the speed: 100 N in still air and a newton for each m2/s2 upward."""
    grown = {"rest": 0.0, "up": speed * speed, "down": 0.3 * speed * speed}[case]
    return {("1", "A"): (100 + grown, 0.0, 0.0)}


def test_known_answers() -> None:
    found = take_down_wind([part("strong", 900), part("weak", 500), part("middle", 725)], squared)
    assert found is not None
    assert found.wind == pytest.approx(20.0, abs=GRID)
    assert (found.first, found.second) == ("weak, at A", "middle, at A")
    assert found.second_wind == pytest.approx(25.0, abs=GRID)
    assert found.reached


def test_used_up_in_still_air() -> None:
    found = take_down_wind([part("weak", 100), part("other", 900)], squared)
    assert found is not None
    assert (found.wind, found.first, found.reached) == (0.0, "weak, at A", True)
    assert found.second_wind == pytest.approx(sqrt(800), abs=GRID)


def test_nothing_used_up_and_nothing_to_look_at() -> None:
    found = take_down_wind([part("strong", 1e9), part("stronger", 1e10)], squared)
    assert found is not None
    assert (found.wind, found.reached) == (HIGHEST, False)
    assert (found.first, found.second) == ("strong, at A", "stronger, at A")
    assert take_down_wind([part("beside", 1.0, counted=False)], squared) is None
    assert take_down_wind([], squared) is None


def test_a_sail_without_rest_gives_no_figure() -> None:
    assert take_down_wind([part("strong", 1e9)], lambda v, case: None if v > 12 else squared(v, case)) is None


capacities = st.lists(st.floats(1, 5000), min_size=1, max_size=6)


@given(capacities, st.integers(0, 5), st.floats(0.05, 1))
def test_a_weaker_part_never_gives_a_higher_wind(given_loads: list[float], which: int, times: float) -> None:
    def wind(loads: Sequence[float]) -> float:
        found = take_down_wind([part(str(n), load) for n, load in enumerate(loads)], squared)
        assert found is not None
        return found.wind

    which %= len(given_loads)
    weaker = [load * times if n == which else load for n, load in enumerate(given_loads)]
    before, after = wind(given_loads), wind(weaker)
    assert after <= before
    exact = sqrt(max(min(weaker) - 100, 0.0))
    assert exact - GRID <= after <= exact + 1e-9 or after == HIGHEST
    if weaker[which] < min(load for n, load in enumerate(given_loads)) - 50 and 1 < exact < HIGHEST:
        assert after < before


def weaker(rows: list[dict[str, str]], column: str, times: float, only: str = "") -> None:
    for r in rows:
        if r[column] and (not only or only in next(iter(r.values()))):
            r[column] = str(float(r[column]) * times)


def changed(column: str, times: float, only: str = "") -> Change:
    return lambda rows: weaker(rows, column, times, only)


@pytest.mark.parametrize(
    ("table", "column", "only"),
    [
        ("rigging", "working load (kN)", ""),
        ("posts", "allowable stress (MPa)", ""),
        ("ground", "lateral bearing (kPa/m)", ""),
        ("rigging", "axial working load (kN)", "EYE"),
    ],
)
@pytest.mark.parametrize("times", [0.9, 0.5, 0.1])
def test_weaker_rows_of_the_rate_book_never_give_a_higher_wind(
    tmp_path: Path, table: str, column: str, only: str, times: float
) -> None:
    folders = [tmp_path / name for name in "ab"]
    for f in folders:
        f.mkdir()
    before = screened(folders[0], posts()).screened
    after = screened(folders[1], posts(), changes={table: changed(column, times, only)}).screened
    assert before is not None
    assert after is not None
    assert before.take_down is not None
    assert after.take_down is not None
    assert after.take_down.wind <= before.take_down.wind
    if times == 0.1:
        assert after.take_down.wind < before.take_down.wind


@pytest.mark.parametrize("depth", [1.2, 1.8, 2.6])
def test_stronger_ground_never_asks_for_a_deeper_footing(tmp_path: Path, depth: float) -> None:
    """The row of the footing with better ground is never used more; gravel bears twice what firm ground does."""
    used = []
    for ground in ("firm", "sand", "gravel", "rock"):
        folder = tmp_path / ground
        folder.mkdir()
        found = screened(folder, posts(depth=depth), {"Ground": ground}).screened
        assert found is not None
        rows = [c for c in found.checks if c.part == "sideways hold"]
        assert len(rows) == 4
        used.append(max(c.used or 0.0 for c in rows))
    assert used == sorted(used, reverse=True)
    assert used[0] > used[-1]
