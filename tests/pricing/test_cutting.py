"""What cannot be cut is named, all of it at once, and nothing is raised."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from estimator.pricing.cutting import WHYS, Bar, CutPlan, NotCut, Piece, Stock, plan_cuts

D = Decimal
PIECE, STOCK = Piece(2400, 2, "P1"), Stock(6000, D("89.50"), "6 m")


def refused(pieces: list[Piece], stocks: list[Stock], kerf: int = 3) -> tuple[NotCut, ...]:
    found = plan_cuts(pieces, stocks, kerf)
    assert isinstance(found, tuple), found
    assert all(n.why in WHYS and n.words for n in found)
    return found


@pytest.mark.parametrize(
    ("piece", "why", "says"),
    [
        (replace(PIECE, length=6001), "too long", "6001 is longer than the longest bar, 6000"),
        (replace(PIECE, length=0), "length", "0"),
        (replace(PIECE, length=-5), "length", "-5"),
        (replace(PIECE, length=2400.5), "length", "2400.5"),  # type: ignore[arg-type]
        (replace(PIECE, length=True), "length", "True"),
        (replace(PIECE, count=0), "count", "0 pieces"),
        (replace(PIECE, count=10_001), "count", "10001"),
        (replace(PIECE, count=None), "count", "None"),  # type: ignore[arg-type]
    ],
)
def test_a_piece_that_cannot_be_cut(piece: Piece, why: str, says: str) -> None:
    (found,) = refused([Piece(1000, 1, "good"), piece], [STOCK])
    assert (found.name, found.why) == ("P1", why)
    assert says in found.words


@pytest.mark.parametrize(
    ("stock", "why"),
    [
        (replace(STOCK, price=None), "price"),
        (replace(STOCK, price=D("-1")), "price"),
        (replace(STOCK, price=D("NaN")), "price"),
        (replace(STOCK, price=D("sNaN")), "price"),
        (replace(STOCK, price=D("Infinity")), "price"),
        (replace(STOCK, price=D("1.00001")), "price"),
        (replace(STOCK, price=89.5), "price"),  # type: ignore[arg-type]
        (replace(STOCK, length=0), "length"),
        (replace(STOCK, length="6000"), "length"),  # type: ignore[arg-type]
        (replace(STOCK, available=-1), "available"),
        (replace(STOCK, available=1.5), "available"),  # type: ignore[arg-type]
    ],
)
def test_a_bar_that_cannot_be_bought(stock: Stock, why: str) -> None:
    (found,) = refused([PIECE], [Stock(9000, D(140), "9 m"), stock])
    assert (found.name, found.why) == ("6 m", why)


def test_no_bar_at_all() -> None:
    assert [n.why for n in refused([PIECE], [])] == ["no stock"]
    assert [n.why for n in refused([PIECE], [replace(STOCK, available=0)])] == ["no stock"]


def test_a_bar_of_which_there_is_none_is_no_bar() -> None:
    (found,) = refused([Piece(7000, 1, "long")], [STOCK, Stock(9000, D(140), "9 m", available=0)])
    assert (found.name, found.why) == ("long", "too long")


def test_everything_wrong_is_said_at_once() -> None:
    found = refused([Piece(7000, 0, "long"), Piece(0, 1, "none"), PIECE], [STOCK, replace(STOCK, price=None)], kerf=-1)
    assert [(n.name, n.why) for n in found] == [
        ("", "kerf"),
        ("6 m", "price"),
        ("long", "too long"),
        ("long", "count"),
        ("none", "length"),
    ]


def test_bars_that_run_out_name_the_pieces_that_are_left() -> None:
    few = [replace(STOCK, available=2), Stock(3000, D(50), "3 m", available=1)]
    found = refused([Piece(2400, 4, "P1"), Piece(2400, 3, "P2")], few)
    assert [(n.name, n.why) for n in found] == [("P2", "not enough")]
    assert found[0].words.startswith("2 of length 2400")


def test_nothing_to_cut_is_a_plan_of_nothing() -> None:
    assert plan_cuts([], [STOCK]) == CutPlan((), D(0), D(0), 0, False)
    plan = plan_cuts([], [])
    assert isinstance(plan, CutPlan)
    assert (plan.gap, plan.proved) == (D(0), True)


def test_bars_are_listed_with_names_longest_first() -> None:
    pieces = [Piece(1200, 2, "rail"), Piece(2400, 3, "P1"), Piece(2400, 1, "P2")]
    assert plan_cuts(pieces, [STOCK], 0) == CutPlan(
        bars=(
            Bar("6 m", 6000, D("89.50"), (Piece(2400, 2, "P1"), Piece(1200, 1, "rail")), 0, 1),
            Bar("6 m", 6000, D("89.50"), (Piece(2400, 1, "P1"), Piece(2400, 1, "P2"), Piece(1200, 1, "rail")), 0, 1),
        ),
        cost=D("179.00"),
        bound=D(179),
        left_over=0,
        out_of_time=False,
    )


def test_bars_in_the_yard_that_cost_nothing() -> None:
    plan = plan_cuts([Piece(2400, 2, "P1")], [Stock(6000, D(0), "yard")], 3)
    assert isinstance(plan, CutPlan)
    assert (plan.cost, plan.gap, plan.proved) == (D(0), D(0), True)
    assert [(b.count, b.left_over) for b in plan.bars] == [(1, 1194)]
