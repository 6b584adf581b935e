"""Whether the corner sets of the default book can hang the usual sails on given fixings.

Rule: R = corner to centroid, D = stretch x R, P = eye + shackles + ring, o and c the tensioner open and closed,
p the pitch: n = the least whole number >= 0 with P + o + n p >= gap - (hook on stretch) x R, and
left = gap - D - P - n p - c has to be at least the take up reserve.
"""

from __future__ import annotations

from math import ceil, sqrt

import pytest

from estimator.rates.model import CornerSet
from tests.rates.books import default_book

BOOK = default_book()
HOOK, RESERVE = BOOK.number("hook on stretch"), BOOK.number("take up reserve")


def parts_length(corner_set: CornerSet) -> float:
    def length(code: str) -> float:
        return (BOOK.rigging[code.casefold()].length or 0.0) if code else 0.0

    return length(corner_set.eye) + corner_set.shackles * length(corner_set.shackle) + length(corner_set.ring)


def hangs_by(side: float, radius: float, stretch: float, gap: float) -> str:
    """The first set and tensioner that takes the gap, blank for none."""
    sets = list(BOOK.corner_sets.values())
    first = next(i for i, s in enumerate(sets) if s.up_to >= side)
    for each in sets[first:]:
        pitch = BOOK.rigging[each.chain.casefold()].pitch
        fixed = parts_length(each)
        for code in each.tensioners:
            part = BOOK.rigging[code.casefold()]
            assert part.open
            assert part.closed
            assert pitch
            links = max(0, ceil((gap - HOOK * radius - fixed - part.open) / pitch - 1e-9))
            if gap - stretch * radius - fixed - links * pitch - part.closed >= RESERVE:
                return f"{each.name} {code}"
    return ""


@pytest.mark.parametrize("shape", ["square", "triangle"])
@pytest.mark.parametrize("side", [3.0, 4.0, 5.0, 6.0])
@pytest.mark.parametrize("cloth", [c.code for c in BOOK.cloths.values() if not c.waterproof])
def test_every_gap_from_450_to_900_mm_is_hung(cloth: str, side: float, shape: str) -> None:
    radius = side / sqrt(2) if shape == "square" else side / sqrt(3)
    stretch = BOOK.cloths[cloth.casefold()].stretch
    unhung = [mm for mm in range(450, 901) if not hangs_by(side, radius, stretch, mm / 1000)]
    assert unhung == []


def test_the_usual_set_is_used_where_it_fits_and_the_short_one_where_room_is_scarce() -> None:
    assert hangs_by(5, 5 / sqrt(2), 0.03, 0.60).startswith("standard")
    assert hangs_by(5, 5 / sqrt(2), 0.03, 0.45).startswith("short")
    assert hangs_by(5, 5 / sqrt(2), 0.03, 0.30) == ""


def test_each_tensioner_has_about_100_mm_and_more() -> None:
    taken = {p.code: p.open - p.closed for p in BOOK.rigging.values() if p.open and p.closed}
    assert len(taken) >= 5
    assert min(taken.values()) > 0.1
