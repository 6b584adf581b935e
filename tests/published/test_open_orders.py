"""Situations about buying concrete that people have asked about in public; the right answers are our own arithmetic."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import ceil, pi
from pathlib import Path

import pytest

from estimator.core.money import cents
from estimator.pricing.order_concrete import BY_HAND, BY_TRUCK, WITH_MIXER, compare, placed, running_short, ways
from estimator.pricing.order_rows import buying
from estimator.rates.model import RateBook
from estimator.takeoff.model import Pour
from tests.pricing.orders import house, priced, rows_of, sites, yards
from tests.rates.books import default_book

FOOT = 0.3048
BOOK = default_book()
D = Decimal


def test_52_bags_bought_and_18_used(tmp_path: Path) -> None:
    # 26 holes, 8 in by 2 ft, bags of 66 lb: two bags a hole were bought, 52, and about 0.7 a hole used, 18. The post
    # takes more than half of the hole; bags are rounded once for the job and not for each hole.
    def only_bags(rows: list[dict[str, str]]) -> None:
        rows[:] = [r for r in rows if r["code"] == "CON-BAG-30"]

    def no_layers(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["stone layer (mm)"] = row["concrete pad (mm)"] = "0"

    hole = {"Depth (m)": 2 * FOOT, "Hole (m)": 8 * FOOT / 12, "Lean": 0, "Post": "RT-150"}
    names = [f"Side {n}" for n in range(7)]
    rows = yards(*names, **hole)
    last = [{**row, **(hole if row["Held by"] == "new post" else {})} for row in house(names[-1])]
    rows["fixings"] = [f for f in rows["fixings"] if f["Site"] != names[-1]] + last
    job = priced(tmp_path, {"concrete": only_bags, "ground": no_layers}, **rows)
    holes = [f for o in job.options for f in o.taken.footings]
    assert len(holes) == 26
    assert all(f.hole == pytest.approx(0.0198, abs=0.0001) for f in holes)  # 19.8 litres each
    net = sum(f.concrete for f in holes)
    assert 0.5 < 1 - net / sum(f.hole for f in holes) < 0.6  # what the posts take
    (bags,) = rows_of(job.order, "CON-BAG-30")
    assert bags.quantity == ceil(net * 1.1 / 0.014)
    assert 17 <= bags.quantity <= 19
    in_the_bill = [x.quantity for o in job.options if o.bill for x in o.bill.lines if x.code == "CON-BAG-30"]
    assert len(in_the_bill) == 7
    assert bags.quantity < sum(in_the_bill) < 26 < 52
    assert job.order is not None
    assert sum(c.net for c in job.order.concrete) == pytest.approx(net)
    assert sum(c.gross for c in job.order.concrete) == pytest.approx(net * 1.1)


def test_six_leaning_posts_one_metre_deep() -> None:
    # holes of 450 mm by 1 m: 159 litres each, 0.95 m3 in all: by bag, with a mixer, or ready mixed
    volume = 6 * pi * 0.45**2 / 4
    assert volume / 6 == pytest.approx(0.159, abs=0.0005)
    assert volume == pytest.approx(0.954, abs=0.001)
    by = placed(BOOK, crew=2, day=8)
    found = {(w.code, w.how): w for w in ways(BOOK, volume, by)}
    assert {how for _, how in found} == {BY_HAND, WITH_MIXER, BY_TRUCK}
    hand, mixed = found["CON-BAG-20", BY_HAND], found["CON-BAG-20", WITH_MIXER]
    truck = found["CON-TRUCK", BY_TRUCK]
    assert hand.quantity == mixed.quantity == ceil(volume / 0.009259) == 104
    assert (hand.hire, mixed.hire, mixed.days) == (0, 55, 1)
    assert float(hand.hours) == pytest.approx(volume * 4.65)
    assert float(mixed.hours) == pytest.approx(volume * 3)
    assert mixed.total == hand.total - hand.labour + mixed.labour + 55
    # the truck: a least load of 1 m3, and 1.43 hours of two people are 0.72 hours, of which half an hour is free
    assert (truck.quantity, truck.goods) == (1, 235)
    assert float(truck.waiting_hours) == pytest.approx(volume * 1.5 / 2 - 0.5)
    assert truck.waiting == cents(truck.waiting_hours * 95)
    assert truck.total == truck.goods + truck.labour + truck.waiting
    assert compare(BOOK, "Playground", Pour(volume / 1.1, 0.1, 1.0, "CON-TRUCK"), by).ways[0] == truck


@pytest.mark.parametrize(("volume", "way"), [(0.05, BY_HAND), (0.15, BY_HAND), (0.5, BY_TRUCK), (5.0, BY_TRUCK)])
def test_a_small_load_is_paid_as_the_least_one(volume: float, way: str) -> None:
    by = placed(BOOK, crew=2, day=8)
    found = sorted(ways(BOOK, volume, by), key=lambda w: w.total)
    assert found[0].how == way
    truck = next(w for w in found if w.how == BY_TRUCK)
    assert truck.quantity == max(1, ceil(volume * 4) / 4)
    assert truck.goods == cents(truck.quantity * 235)


def by_the_yard() -> RateBook:
    """Bags of 0.45 cubic feet and trucks of 10 cubic yards."""
    yard = 27 * FOOT**3
    rows = dict(BOOK.concrete)
    rows["con-bag-20"] = replace(rows["con-bag-20"], yield_=0.45 * FOOT**3)
    rows["con-truck"] = replace(rows["con-truck"], largest_load=10 * yard, pack=None, minimum_load=yard)
    del rows["con-bag-30"]
    return replace(BOOK, concrete=rows)


def test_two_cubic_yards_short() -> None:
    # 26 cubic yards were ordered and came as 10, 9 and the rest; 2 were missing after the plant had shut, which took
    # 120 bags mixed by hand: 2 yards are 54 cubic feet, at 0.45 a bag 120.
    book, yard = by_the_yard(), 27 * FOOT**3
    by = placed(book, crew=4, day=8)
    truck = next(w for w in ways(book, 26 * yard, by) if w.how == BY_TRUCK)
    assert truck.loads == 3
    assert float(truck.quantity) == pytest.approx(26 * yard)
    hand = next(w for w in ways(book, 2 * yard, by) if w.how == BY_HAND)
    assert hand.quantity == 120
    # what was ordered to spare is told beside what running short by as much would cost
    site = compare(book, "Slab", Pour(26 * yard, 2 / 26, 1.0, "CON-TRUCK"), by)
    kept = site.reserve
    assert kept.volume == pytest.approx(2 * yard)
    assert kept.cost == cents(D(f"{kept.volume:.15g}") * site.ways[0].price)
    no_truck = replace(book, concrete={"con-bag-20": book.concrete["con-bag-20"]})
    short, words = running_short(no_truck, 2 * yard, by)
    assert words.startswith("120 bags by hand")
    assert short == hand.goods + hand.labour
    assert short > 2 * kept.cost
    assert kept.short <= short  # another load, where one still comes


def test_the_last_load_is_no_small_one() -> None:
    # loads are shared out evenly: 6.25 m3 on trucks of 6 are two loads and no least load of 1 m3 for the last quarter
    by = placed(BOOK, crew=2, day=8)
    truck = next(w for w in ways(BOOK, 6.2, by) if w.how == BY_TRUCK)
    assert (truck.loads, truck.quantity) == (2, D("6.25"))
    assert float(truck.waiting_hours) == pytest.approx(6.2 * 1.5 / 2 - 2 * 0.5)


def test_a_truck_serves_one_site_and_bags_serve_all(tmp_path: Path) -> None:
    rows = yards("Deep", "One", "Two")
    rows["sites"] = sites("Deep", "One", "Two")
    for f in rows["fixings"]:
        f["Hole (m)"], f["Depth (m)"] = (0.6, 1.2) if f["Site"] == "Deep" else (0.3, 0.5)
    job = priced(tmp_path, **rows)
    (truck,) = rows_of(job.order, "CON-TRUCK")
    assert truck.description.endswith("for Deep")
    bags = [r for r in (job.order.rows if job.order else ()) if r.unit == "bag"]
    assert len(bags) == 1
    assert [s for s, _ in bags[0].sites] == ["One", "Two"]
    assert job.order is not None
    by_site = {c.site: c for c in job.order.concrete}
    assert bags[0].needed == sum((by_site[s].ways[0].needed for s in ("One", "Two")), D(0))
    assert bags[0].quantity <= sum(by_site[s].ways[0].quantity for s in ("One", "Two"))
    assert buying(job.book, "concrete", bags[0].code).supplier == bags[0].supplier
