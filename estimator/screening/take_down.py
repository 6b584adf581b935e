"""The gust at which the first part of an option is used up, and the second. Speeds m/s."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from estimator.screening.model import TakeDown
from estimator.screening.parts import Part, Pulls, alike

STEP = 5.0  # m/s between the gusts that are tried first
HIGHEST = 60.0  # m/s; a gust that no sail is left up in
HALVINGS = 9  # of a step: the answer is known to a hundredth of a m/s

PullsAt = Callable[[float, str], "Pulls | None"]  # the pulls at a gust in a case; None where the sail found no rest


def take_down_wind(parts: Sequence[Part], pulls_at: PullsAt) -> TakeDown | None:
    """The take-down wind by bisection; None where there is nothing to look at, or a sail found no rest on the way.

    The answer lies on a grid of gusts that is the same for every option and is the last one at which nothing is used
    up, so that a part made weaker can never raise it.
    """
    counted = [p for p in parts if p.counted]
    if not counted:
        return None
    first = _first_used_up(counted, pulls_at, 0.0)
    if first is None:
        return None
    wind, part = first
    if part is None:
        there = _cases(pulls_at, wind, ("up", "down")) or {}
        most = _most_used(counted, there)
        second = _most_used([p for p in counted if p is not most], there)
        return TakeDown(wind, _name(most), _name(second), None, reached=False)
    others = [p for p in counted if p is not part]
    second_wind, second = (_first_used_up(others, pulls_at, wind) or (None, None)) if others else (None, None)
    return TakeDown(wind, _name(part), _name(second), second_wind if second else None, reached=True)


def _name(part: Part | None) -> str:
    return f"{part.part}, {part.where}" if part else ""


def _cases(pulls_at: PullsAt, speed: float, cases: Sequence[str]) -> Mapping[str, Pulls] | None:
    found: dict[str, Pulls] = {}
    for case in cases if speed else ("rest",):
        pulls = pulls_at(speed, case)
        if pulls is None:
            return None
        found[case] = pulls
    return found


def _most_used(parts: Sequence[Part], by_case: Mapping[str, Pulls]) -> Part | None:
    """The part with the largest share used; of parts that stand alike the first, whatever the last digits say."""
    return max(
        parts, key=lambda p: alike(max((p.used(pulls) for pulls in by_case.values()), default=0.0)), default=None
    )


def _over(parts: Sequence[Part], by_case: Mapping[str, Pulls]) -> list[str]:
    """The cases in which some part is used up."""
    return [case for case, pulls in by_case.items() if any(p.used(pulls) >= 1 for p in parts)]


def _first_used_up(parts: Sequence[Part], pulls_at: PullsAt, start: float) -> tuple[float, Part | None] | None:
    """The last gust of the grid at which no part is used up, and the part that is at the next; 0 where one is used up
    in still air; the highest gust and None where nothing is used up."""
    low = start // STEP * STEP
    here = _cases(pulls_at, low, ("up", "down"))
    if here is None:
        return None
    if _over(parts, here):
        if low == 0:
            return 0.0, _most_used(parts, here)
        # used up at the grid's own step below the start: it can only be by the step, so look from still air
        return _first_used_up(parts, pulls_at, 0.0)
    while low < HIGHEST:
        high = low + STEP
        there = _cases(pulls_at, high, ("up", "down"))
        if there is None:
            return None
        over = _over(parts, there)
        if over:
            return _halved(parts, pulls_at, low, high, there, over)
        low = high
    return HIGHEST, None


def _halved(
    parts: Sequence[Part], pulls_at: PullsAt, low: float, high: float, there: Mapping[str, Pulls], over: Sequence[str]
) -> tuple[float, Part | None] | None:
    """Only cases in which something is used up at the upper end are looked at between the ends."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        here = _cases(pulls_at, middle, over)
        if here is None:
            return None
        if _over(parts, here):
            high, there, over = middle, here, _over(parts, here)
        else:
            low = middle
    return low, _most_used(parts, there)
