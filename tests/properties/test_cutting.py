"""Cutting plans: what must not change them, and which way they move."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.pricing.cutting import CutPlan, Piece, Stock, plan_cuts
from tests.published.test_cutting import planned, short_pieces

D = Decimal
lengths = st.integers(300, 3000)
prices = st.integers(500, 20000).map(lambda c: D(c) / 100)


@st.composite
def jobs(draw: st.DrawFn) -> tuple[list[Piece], list[Stock], int]:
    pieces = [
        Piece(draw(lengths), draw(st.integers(1, 6)), f"p{i}")
        for i in range(draw(st.integers(min_value=1, max_value=6)))
    ]
    stocks = [Stock(draw(st.integers(3000, 8000)), draw(prices), f"s{i}") for i in range(draw(st.integers(1, 3)))]
    return pieces, stocks, draw(st.sampled_from([0, 2, 3]))


def shape(plan: CutPlan) -> list[tuple[str, int, list[tuple[int, int]]]]:
    """The bars without names."""
    found = []
    for bar in plan.bars:
        on = sorted(length for p in bar.pieces for length in [p.length] * p.count)
        found += [(bar.code, bar.length, [(length, on.count(length)) for length in dict.fromkeys(on)])] * bar.count
    return sorted(found)


@settings(max_examples=60, deadline=None)
@given(jobs(), st.randoms(use_true_random=False))
def test_the_same_pieces_in_any_order_are_cut_alike(job: tuple[list[Piece], list[Stock], int], order) -> None:  # type: ignore[no-untyped-def]
    pieces, stocks, kerf = job
    plan = planned(pieces, stocks, kerf)
    assert plan == planned(pieces, stocks, kerf)
    other = list(pieces)
    order.shuffle(other)
    assert shape(planned(other, stocks, kerf)) == shape(plan)
    one_by_one = [replace(p, count=1) for p in pieces for _ in range(p.count)]
    assert shape(planned(one_by_one, stocks, kerf)) == shape(plan)


@settings(max_examples=60, deadline=None)
@given(jobs(), st.integers(3000, 9000), prices)
def test_another_stock_makes_nothing_dearer_and_a_wider_cut_nothing_cheaper(
    job: tuple[list[Piece], list[Stock], int], length: int, price: Decimal
) -> None:
    pieces, stocks, kerf = job
    plan = planned(pieces, stocks, kerf)
    more = planned(pieces, [*stocks, Stock(length, price, "more")], kerf)
    wider = planned(pieces, stocks, kerf + 40)
    assert more.bound <= plan.cost
    assert plan.bound <= wider.cost
    if plan.proved and more.proved and wider.proved:
        assert more.cost <= plan.cost <= wider.cost


@settings(max_examples=40, deadline=None)
@given(jobs(), st.integers(2, 12))
def test_prices_and_lengths_in_another_unit(job: tuple[list[Piece], list[Stock], int], by: int) -> None:
    pieces, stocks, kerf = job
    plan = planned(pieces, stocks, kerf)
    dearer = planned(pieces, [replace(s, price=(s.price or D(0)) * by) for s in stocks], kerf)
    longer = planned(
        [replace(p, length=p.length * by) for p in pieces],
        [replace(s, length=s.length * by) for s in stocks],
        kerf * by,
    )
    if plan.proved and dearer.proved and longer.proved:
        assert dearer.cost == plan.cost * by
        assert longer.cost == plan.cost


@settings(max_examples=40, deadline=None)
@given(jobs(), lengths)
def test_a_piece_more_is_never_cheaper(job: tuple[list[Piece], list[Stock], int], length: int) -> None:
    pieces, stocks, kerf = job
    assert planned(pieces, stocks, kerf).bound <= planned([*pieces, Piece(length, 1, "more")], stocks, kerf).cost


@settings(max_examples=40, deadline=None)
@given(jobs())
def test_no_bar_costs_less_than_the_pieces_on_it_would_elsewhere(job: tuple[list[Piece], list[Stock], int]) -> None:
    """Of a proved plan no bar can be had from a cheaper stock, and no two bars go on one for less."""
    pieces, stocks, kerf = job
    plan = planned(pieces, stocks, kerf)
    if not plan.proved:
        return
    each = [(b.price, sum(p.count * (p.length + kerf) for p in b.pieces)) for b in plan.bars for _ in range(b.count)]
    for price, used in each:
        assert not [s for s in stocks if s.length + kerf >= used and (s.price or D(0)) < price]
    for i, (one, first) in enumerate(each):
        for two, second in each[:i]:
            assert not [s for s in stocks if s.length + kerf >= first + second and (s.price or D(0)) < one + two]


def test_what_ends_by_count_is_the_same_again() -> None:
    stocks = [Stock(4000, D(61), "4 m"), Stock(6000, D("89.50"), "6 m"), Stock(8000, D(119), "8 m")]
    one = planned(short_pieces(1), stocks, 3)
    assert not one.out_of_time
    assert plan_cuts(short_pieces(1), stocks, 3, 60) == one


def test_so_many_bars_of_one_kind_and_long_reels() -> None:
    plan = planned([Piece(2400, 5000, "rail")], [Stock(6000, D("89.50"), "6 m")], 3)
    assert [(b.count, b.left_over) for b in plan.bars] == [(2500, 1194)]
    assert plan.proved
    reel = planned([Piece(3150 + i, 2, f"r{i}") for i in range(8)], [Stock(305_000, D(410), "reel")], 2)
    assert [(b.code, b.count) for b in reel.bars] == [("reel", 1)]
