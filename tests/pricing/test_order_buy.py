"""How much of one thing is bought: enough, in whole packs, never dearer than what was needed singly."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from estimator.core.money import cents
from estimator.pricing.order_buy import Bought, buy, pack_of, price_at
from estimator.rates.model import Break

D = Decimal
amounts = st.decimals(min_value=D("0.01"), max_value=D(500), places=2)
packs = st.one_of(st.none(), st.integers(1, 40).map(D), st.sampled_from([D("0.25"), D("2.5")]))
prices = st.decimals(min_value=D("0.10"), max_value=D(900), places=2)


@st.composite
def offers(draw: st.DrawFn) -> tuple[Decimal, tuple[Break, ...]]:
    """A price and steps from which it falls."""
    quantities = sorted(draw(st.sets(st.integers(2, 400), max_size=3)))
    falling = sorted(draw(st.lists(prices, min_size=len(quantities) + 1, max_size=len(quantities) + 1)), reverse=True)
    return falling[0], tuple(Break(D(q), p) for q, p in zip(quantities, falling[1:], strict=True))


@given(amounts, packs, st.one_of(st.none(), amounts), offers())
def test_it_is_enough_in_whole_packs_and_at_its_price(
    needed: Decimal, pack: Decimal | None, minimum: Decimal | None, offer: tuple[Decimal, tuple[Break, ...]]
) -> None:
    price, breaks = offer
    found = buy(needed, price, pack, minimum, breaks)
    assert found.quantity >= max(needed, minimum or 0)
    assert found.price == price_at(price, breaks, found.quantity)
    assert found.cost == cents(found.quantity * found.price)
    if pack:
        assert found.quantity == found.packs * pack
    else:
        assert found.packs is None


@given(st.lists(amounts, min_size=1, max_size=12), packs, prices)
def test_pooled_takes_no_more_packs_than_each_alone(needs: list[Decimal], pack: Decimal | None, price: Decimal) -> None:
    pooled = buy(sum(needs, D(0)), price, pack)
    singly = [buy(n, price, pack) for n in needs]
    assert pooled.quantity <= sum(s.quantity for s in singly)
    assert pooled.quantity - sum(needs) < (pack or D("1e-9"))  # less than one pack is left over
    assert pooled.packs is None or pooled.packs <= sum(s.packs or 0 for s in singly)


@given(st.lists(amounts, min_size=1, max_size=8), packs, offers())
def test_pooled_costs_no_more_than_each_alone_but_for_cents(
    needs: list[Decimal], pack: Decimal | None, offer: tuple[Decimal, tuple[Break, ...]]
) -> None:
    price, breaks = offer
    pooled, singly = (
        buy(sum(needs, D(0)), price, pack, None, breaks),
        [buy(n, price, pack, None, breaks) for n in needs],
    )
    assert pooled.cost <= sum(s.cost for s in singly) + D("0.005") * len(needs) + D("0.005")


@given(amounts, packs, offers())
def test_no_amount_that_is_enough_costs_less(
    needed: Decimal, pack: Decimal | None, offer: tuple[Decimal, tuple[Break, ...]]
) -> None:
    price, breaks = offer
    found = buy(needed, price, pack, None, breaks)
    step = pack or D("0.01")
    first = int(needed // step)
    for n in range(first, first + 900):
        if n * step >= needed:
            assert cents(n * step * price_at(price, breaks, n * step)) >= found.cost


@given(offers(), st.lists(amounts, min_size=2, max_size=6))
def test_more_is_never_dearer_a_unit(offer: tuple[Decimal, tuple[Break, ...]], amounts_: list[Decimal]) -> None:
    price, breaks = offer
    each = [price_at(price, breaks, q) for q in sorted(amounts_)]
    assert all(b <= a for a, b in pairwise(each))


def test_a_break_that_is_near_is_bought_up_to() -> None:
    # 9 at 5.00 are 45.00, 10 at 4.10 are 41.00; 7 at 5.00 are 35.00 and stay 7
    steps = (Break(D(10), D("4.10")),)
    assert buy(D(9), D(5), D(1), None, steps).quantity == 10
    assert buy(D(9), D(5), D(1), None, steps).words == "9 would do and cost 45: from 10 on the price falls"
    assert buy(D(7), D(5), D(1), None, steps) == Bought(D(7), 7, D(5), "")
    # packs of 4: the break at 10 is reached by 12 for 49.20, and 8 of them cost 40.00
    assert buy(D(8), D(5), D(4), None, steps).quantity == 8
    assert buy(D(9), D(5), D(4), None, steps).quantity == 12


def test_the_least_that_is_sold() -> None:
    assert buy(D(1), D(95), D(1), D(2)) == Bought(D(2), 2, D(95), "at least 2 are sold")
    assert buy(D(3), D(95), D(1), D(2)).words == ""


def test_what_is_sold_by_the_piece_is_bought_whole() -> None:
    assert [pack_of(u, None) for u in ("each", "tube", "cartridge", "set", "bag")] == [D(1)] * 5
    assert [pack_of(u, None) for u in ("m", "ft", "m2", "m3", "kg", "l")] == [None] * 6
    assert buy(D("2.5"), D(10), pack_of("each", None)).quantity == 3
