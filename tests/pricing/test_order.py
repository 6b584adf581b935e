"""The order of a job: everything chosen is in it, pooled and rounded once; nothing of it changes a price."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import estimator.pricing.order_cut as order_cut
from estimator.core.names import key
from estimator.pricing.model import PricedJob
from estimator.report.json_out import job_data
from tests.build import option, square
from tests.pricing.orders import extra, house, outcome, priced, rows_of, sites, yards
from tests.promises import broken
from tests.rate_books import put

D = Decimal


def materials(job: PricedJob) -> set[str]:
    """Codes of the materials that the bills of the chosen options and of the whole job have."""
    bills = [o.bill for o in job.options if o.chosen and o.bill] + ([job.job_bill] if job.job_bill else [])
    return {key(x.code) for b in bills for x in b.lines if x.kind == "material"}


def test_all_chosen_options_are_pooled_and_rounded_once(tmp_path: Path) -> None:
    rows = yards("One", "Two", "Three")
    rows["fixings"] = [f for name in ("One", "Two", "Three") for f in house(name)]
    job = priced(tmp_path, **rows)
    assert job.order is not None
    assert {key(r.code) for r in job.order.rows} - set(job.book.concrete) == materials(job) - set(job.book.concrete)
    # each option needs half a tube of sealant and has one in its bill; the job needs one and a half
    (sealant,) = rows_of(job.order, "sealant")
    each = [x.quantity for o in job.options if o.bill for x in o.bill.lines if x.code == "sealant"]
    assert sealant.needed < sealant.quantity < sum(each)
    assert sealant.billed == sum(x.cost for o in job.options if o.bill for x in o.bill.lines if x.code == "sealant")
    assert job.order.goods < job.order.billed
    assert [s for s, _ in sealant.sites] == ["One", "Two", "Three"]


def test_what_is_not_chosen_is_not_bought(tmp_path: Path) -> None:
    rows = yards("One")
    other = {**option("A B C D", "SQ-4000", "dear"), "Site": "One", "Colour": "navy"}
    job = priced(tmp_path, **{**rows, "options": [*rows["options"], other]})
    assert rows_of(job.order, "SQ-5000")
    assert not rows_of(job.order, "SQ-4000")


def test_nothing_chosen_means_no_order_and_no_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("a plan was made")

    monkeypatch.setattr(order_cut, "plan_cuts", refuse)
    rows = yards("One")
    both = [{**rows["options"][0], "Chosen": None}, {**option("A B C D", "SQ-4000", "2"), "Site": "One"}]
    job = priced(tmp_path, **{**rows, "options": both})
    assert job.order is None
    assert job_data(job)["order"] == []


def test_a_site_without_a_price_is_named(tmp_path: Path) -> None:
    rows = yards("One", "Two")
    rows["options"][1]["Size"] = "9 x 9 m"
    job = priced(tmp_path, **rows)
    assert job.order is not None
    assert job.order.missing == ("Two",)
    assert {s for r in job.order.rows for s, _ in r.sites} == {"One"}


def test_colours_are_bought_apart_and_a_colour_that_nobody_named_is_asked(tmp_path: Path) -> None:
    rows = yards("One", "Two", "Three")
    rows["options"][1]["Colour"] = "navy"
    rows["options"][2]["Colour"] = None
    order = priced(tmp_path, **rows).order
    found = rows_of(order, "SQ-5000")
    assert [(r.colour, r.quantity, bool(r.asked)) for r in found] == [
        ("sand", 1, False),
        ("navy", 1, False),
        ("", 1, True),
    ]
    assert order is not None
    posts = [r for r in order.rows if r.table == "posts"]
    assert {r.colour for r in posts} == {"treated for ground contact"}  # of a post its finish
    assert not any(r.asked for r in posts)


@pytest.mark.parametrize("place", [0, 1, 2])
def test_a_row_at_the_top_in_the_middle_and_at_the_end_is_counted(tmp_path: Path, place: int) -> None:
    # a federal bid once left out the last of its items, and so the sum over them
    rows, bare = yards("One"), tmp_path / "bare"
    bare.mkdir()
    more = [extra(f"Thing {n}", n + 1, Site="One", **{"Cost each": 100 + n}) for n in range(2)]
    before = priced(bare, **rows, extras=more).order
    more.insert(place, extra("The forgotten one", 3, Site="One", **{"Cost each": "58.25"}))
    after = priced(tmp_path, **rows, extras=more).order
    assert before is not None
    assert after is not None
    assert after.goods - before.goods == after.billed - before.billed == D("174.75")
    known = {r.description for r in before.rows}
    assert [(r.description, r.quantity) for r in after.rows if r.description not in known] == [("The forgotten one", 3)]


def test_typed_things_are_pooled_with_computed_ones(tmp_path: Path) -> None:
    more = [
        extra("Spare shackles", 3, Site="One", Item="SHK-09"),
        extra("Bought shackles at the quay", 2, Site="One", **{"Cost each": 7}),
        extra("Money back for the old sail", 1, Site="One", **{"Cost each": -40}),
        extra("Offered", 5, Site="One", Item="SHK-09", **{"Offered apart": "yes"}),
        extra("For the whole job", 4, Item="SHK-09"),
        extra("Painter", 4, Site="One", Kind="subcontract", **{"Cost each": 70}),
    ]
    job = priced(tmp_path, **yards("One"), extras=more)
    (shackles,) = rows_of(job.order, "SHK-09")
    assert shackles.needed == 8 + 3 + 4
    assert dict(shackles.sites) == {"One": 11, "whole job": 4}
    typed = [(r.description, r.quantity, r.supplier) for r in rows_of(job.order, "extra")]
    assert typed == [("Bought shackles at the quay", 2, "")]


def test_posts_come_from_the_stock_that_costs_least(tmp_path: Path) -> None:
    # two posts of 3.9 m a site: the bill has a 4 m bar each for 46.20 a metre; two fit one of 8.4 m
    rates = {
        "posts": put("code", "SHS-100", **{"stock lengths (m)": "4.0, 8.4", "stock prices": "200; 330"}),
        "settings": put("name", "saw kerf", value="5"),
    }
    rows = yards("One", "Two", Post="SHS-100", **{"Depth (m)": 1.1, "Lean": 0})
    job = priced(tmp_path, rates, **rows)
    lengths = {p.length for o in job.options for p in o.taken.posts}
    assert all(3.7 < n < 4 for n in lengths)
    (bars,) = rows_of(job.order, "SHS-100")
    assert (bars.quantity, bars.packs, bars.pack, bars.per, bars.cost) == (D("33.6"), 4, D("8.4"), "bar", D(1320))
    assert bars.billed == sum(x.cost for o in job.options if o.bill for x in o.bill.lines if x.code == "SHS-100")
    assert job.order is not None
    (plan,) = [c for c in job.order.cuttings if c.code == "SHS-100"]
    assert plan.proved
    assert plan.kerf == pytest.approx(0.005)
    assert sorted(name for b in plan.bars for name, _, _ in b.pieces) == sorted(
        f"{site}: {post}" for site in ("One", "Two") for post in "ABCD"
    )
    for bar in plan.bars:
        used = sum(length * n for _, length, n in bar.pieces)
        assert bar.off_cut == pytest.approx(bar.length - used - 2 * 0.005, abs=0.0021)
    # a wider cut leaves no room for two
    wide = {**rates, "settings": put("name", "saw kerf", value="20")}
    narrow = rates["posts"], put("code", "SHS-100", **{"stock lengths (m)": f"4.0, {2 * max(lengths) + 0.01:.3f}"})

    def both(table: list[dict[str, str]]) -> None:
        for change in narrow:
            change(table)

    tight = tmp_path / "tight"
    tight.mkdir()
    (bars,) = rows_of(priced(tight, {**wide, "posts": both}, **rows).order, "SHS-100")
    assert (bars.pack, bars.packs) == (4, 8)


def test_chain_comes_from_reels_in_whole_links_and_rope_in_lengths(tmp_path: Path) -> None:
    rows = yards("One", "Two")
    for row in rows["options"]:
        row["Run"] = "chain, A wire rope"
    rates = {"rigging": put("code", "CH-8", **{"stock lengths (m)": "1, 4", "stock prices": "9; 29"})}
    job = priced(tmp_path, rates, **rows, extras=[extra("Spare chain", 0.6, "m", Site="One", Item="CH-8")])
    assert job.order is not None
    chain, rope = (next(c for c in job.order.cuttings if c.kind == kind) for kind in ("chain", "wire rope"))
    pieces = {(n, length) for b in chain.bars for n, length, _ in b.pieces}
    assert ("One: Spare chain", 0.6) in pieces
    assert len(pieces) == 2 * 3 + 1
    pitch = 0.024
    for bar in chain.bars:
        links = sum(
            -(-length // pitch) if (length / pitch) % 1 > 1e-6 else round(length / pitch) for _, length, _ in bar.pieces
        )
        assert links + len(bar.pieces) - 1 <= bar.length / pitch + 1e-6  # a cut spoils a link
    assert sum(r.cost for r in rows_of(job.order, "CH-8")) == chain.cost
    assert {b.length for b in rope.bars} == {5.0}
    assert sum(n for b in rope.bars for _, _, n in b.pieces) == 2
    corners = [c for o in job.options for c in o.taken.corners if c.run == "chain"]
    needed = sum((r.needed for r in rows_of(job.order, "CH-8")), D(0))
    assert float(needed) == pytest.approx(sum(c.cut_length for c in corners) + 0.6)


def test_a_piece_longer_than_every_reel_is_said_and_bought_to_measure(tmp_path: Path) -> None:
    rates = {"rigging": put("code", "CH-8", **{"stock lengths (m)": "0.3", "stock prices": "3"})}
    found = outcome(tmp_path, rates, **yards("One"))
    (said,) = [p for p in found.problems if p.code == "order-not-cut"]
    assert (said.level, said.place.sheet, said.place.cell) == ("warning", "rigging", "R19")
    assert "CH-8" in said.message
    assert found.priced is not None
    (chain,) = rows_of(found.priced.order, "CH-8")
    assert (chain.per, chain.pack, chain.left_over) == ("m", None, 0)
    assert chain.cost == chain.billed


def test_price_breaks_count_what_all_sites_need_together(tmp_path: Path) -> None:
    rates = {"rigging": put("code", "TEN-M12", **{"price breaks": "8: 20; 12: 17.50"})}
    (one,) = rows_of(priced(tmp_path, rates, **yards("One")).order, "TEN-M12")
    assert (one.quantity, one.price, one.cost) == (4, D("26.4"), D("105.60"))
    more = tmp_path / "three"
    more.mkdir()
    (three,) = rows_of(priced(more, rates, **yards("One", "Two", "Three")).order, "TEN-M12")
    assert (three.quantity, three.price, three.cost) == (12, D("17.50"), D("210.00"))
    assert three.billed == 3 * one.cost  # the bill prices each option alone


def test_a_break_of_posts_by_the_metre_lowers_every_bar(tmp_path: Path) -> None:
    rates = {"posts": put("code", "SHS-100", **{"stock prices": "", "price breaks": "30: 40.00"})}
    rows = yards("One", "Two", Post="SHS-100")
    bars = rows_of(priced(tmp_path, rates, **rows).order, "SHS-100")
    assert sum(r.quantity for r in bars) >= 30
    assert all(r.price == r.pack * 40 for r in bars if r.pack)


def test_suppliers_their_least_order_delivery_and_days(tmp_path: Path) -> None:
    rates = {
        "suppliers": put(
            "supplier",
            "Harbour Row Cloth Loft",
            **{"minimum order": "400", "delivery free from": "900", "lead days": "9"},
        ),
        "sails": put("code", "SQ-5000", **{"lead days": "30"}),
    }
    job = priced(tmp_path, rates, job={"Finish by": date(2026, 6, 30)}, **yards("One"))
    assert job.order is not None
    by = {s.name: s for s in job.order.suppliers}
    loft, yard = by["Harbour Row Cloth Loft"], by["Millbrook Timber Yard"]
    assert (loft.goods, loft.minimum, loft.short, loft.delivery) == (D("338.00"), 400, D("62.00"), 28)
    assert (loft.lead_days, loft.order_by) == (30, date(2026, 5, 31))
    # posts stand in concrete that rests seven days before the sail is hung
    assert (yard.lead_days, yard.order_by) == (5, date(2026, 6, 18))
    assert job.order.delivery == sum(s.delivery for s in job.order.suppliers)
    assert job.order.goods == sum(s.goods for s in job.order.suppliers)
    rates["suppliers"] = put("supplier", "Harbour Row Cloth Loft", **{"delivery free from": "338"})
    free = tmp_path / "free"
    free.mkdir()
    job = priced(free, rates, **yards("One"))
    assert job.order is not None
    loft = next(s for s in job.order.suppliers if s.name == "Harbour Row Cloth Loft")
    assert (loft.delivery, loft.order_by) == (0, None)


def test_a_supplier_that_comes_too_late_is_a_warning(tmp_path: Path) -> None:
    found = outcome(tmp_path, job={"Finish by": date(2026, 4, 20)}, **yards("One", Post="SHS-100"))
    late = [p for p in found.problems if p.code == "order-late"]
    assert [p.level for p in late] == ["warning"]
    assert "Quayside Steel Stock" in late[0].message
    assert "2026-03-30" in late[0].message
    assert late[0].place.sheet == "Job"


def test_the_order_changes_no_price(tmp_path: Path) -> None:
    """Suppliers, breaks and stock prices are for whoever buys: a book without them prices to the same cent."""

    def bare(rows: list[dict[str, str]]) -> None:
        for row in rows:
            for column in ("supplier", "price breaks", "stock prices", "waiting price", "mixer", "largest load (m3)"):
                if column in row:
                    row[column] = ""

    tables = ("sails", "cloths", "rigging", "posts", "concrete", "items")
    rows: dict[str, Any] = yards("One", "Two", Post="SHS-100")
    (tmp_path / "plain").mkdir()
    full, plain = priced(tmp_path, **rows), priced(tmp_path / "plain", dict.fromkeys(tables, bare), **rows)
    assert full.totals == plain.totals
    assert full.order is not None
    assert plain.order is not None
    assert full.order.billed == plain.order.billed
    assert [s.name for s in plain.order.suppliers] == [""]


def test_the_same_job_gives_the_same_order(tmp_path: Path) -> None:
    rows = yards("One", "Two", Post="SHS-100")
    first, again = priced(tmp_path, **rows).order, priced(tmp_path, **rows).order
    assert first == again


def test_the_json_keeps_its_promises(tmp_path: Path) -> None:
    job = priced(tmp_path, **yards("One", "Two", Post="SHS-100"), extras=[extra("Spare", 2, Item="SHK-09")])
    assert broken(job_data(job)) == []


def test_many_sites_are_one_purchase(tmp_path: Path) -> None:
    names = [f"Site {n}" for n in range(30)]
    rows = {
        "sites": sites(*names),
        "fixings": [
            {**f, "Site": s} for i, s in enumerate(names) for f in square(6, 2.3 + i * 0.02, Post="SHS-100", Lean=i % 9)
        ],
        "options": [{**option("A B C D", "SQ-5000"), "Site": s, "Colour": "sand"} for s in names],
    }
    job = priced(tmp_path, **rows)
    assert job.order is not None
    (plan,) = [c for c in job.order.cuttings if c.code == "SHS-100"]
    cut = [p for b in plan.bars for p in b.pieces]
    assert len(cut) == 120
    assert {(n, length) for n, length, _ in cut} == {
        (f"{o.site.name}: {p.post_name}", p.length) for o in job.options for p in o.taken.posts
    }
    assert plan.least <= plan.cost
    assert plan.gap < D("0.03")
    assert plan.cost <= sum(r.billed for r in rows_of(job.order, "SHS-100")) * D("1.1")
