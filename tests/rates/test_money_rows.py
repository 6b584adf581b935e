"""Rows about money: the cost of an hour, caps, stages, prices with a memory, and a decimal point that moved."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.problems import Problem
from estimator.rates.build_money import hour_cost
from estimator.rates.checks_money import slipped
from estimator.rates.model import RateBook
from estimator.rates.read import load_rates
from tests.rate_books import Change, put, with_changes
from tests.rates.books import DAY, cell_of, copy_book, default_book

D = Decimal


def load(folder: Path, changes: dict[str, Change], day: date = DAY) -> tuple[RateBook | None, list[Problem]]:
    return load_rates(with_changes(folder / "rates", changes), day)


def later(key_column: str, name: str, since: str, **values: str) -> Change:
    """A newer row of a key with some cells changed."""

    def change(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r[key_column] == name)
        rows.append({**row, **values, "valid_from": since})

    return change


def test_the_default_book_builds_up_what_its_trades_cost() -> None:
    book = default_book()
    assert {w.trade: w.built_up for w in book.wages.values()} == {t.name: t.cost_per_hour for t in book.trades.values()}


@pytest.mark.parametrize(
    ("wage", "on_costs", "paid", "billable", "cost"),
    # by hand: 30.00 x 1.25 = 37.50; x 2080 / 1560 = 50.00; 20.01 x 1.10 x 1000 / 999 = 22.0330...
    [
        ("30", "0.25", "2080", "1560", "50.00"),
        ("20.01", "0.10", "1000", "999", "22.03"),
        ("25", "0", "1", "1", "25.00"),
    ],
)
def test_an_hour_is_built_up(wage: str, on_costs: str, paid: str, billable: str, cost: str) -> None:
    assert hour_cost(D(wage), D(on_costs), D(paid), D(billable)) == D(cost)


def test_a_blank_cost_is_taken_from_the_wages(tmp_path: Path) -> None:
    wages = put("trade", "installer", **{"wage per hour": "30"})
    book, problems = load(tmp_path, {"trades": put("trade", "installer", **{"cost per hour": ""}), "wages": wages})
    assert problems == []
    assert book is not None
    # 30 x 1.28 x 1800 / 1296
    assert book.trades["installer"].cost_per_hour == D("53.33")
    assert book.trades["installer"].working.endswith("= 53.33")
    assert book.prices["trades", "installer"].price == D("53.33")


def test_a_cost_apart_from_the_wages_is_warned_about_and_kept(tmp_path: Path) -> None:
    book, problems = load(tmp_path, {"trades": put("trade", "installer", **{"cost per hour": "48.49"})})
    assert [(p.code, p.place.cell) for p in problems] == [("trade-cost-apart", cell_of("trades", "cost per hour", 2))]
    assert book is not None
    assert book.trades["installer"].cost_per_hour == D("48.49")
    _, near = load(tmp_path / "near", {"trades": put("trade", "installer", **{"cost per hour": "48.48"})})
    assert near == []  # within 1 %


def test_a_trade_without_any_cost_is_an_error(tmp_path: Path) -> None:
    book = with_changes(tmp_path / "rates", {"trades": put("trade", "rigger", **{"cost per hour": ""})})
    (book / "wages.csv").unlink()
    found, problems = load_rates(book, DAY)
    assert found is None
    assert [p.code for p in problems if p.level == "error"] == ["trade-cost-blank"]


def test_more_hours_billed_than_paid_is_asked_about(tmp_path: Path) -> None:
    _, problems = load(tmp_path, {"wages": put("trade", "rigger", **{"billable hours a year": "1801"})})
    assert "wage-hours" in {p.code for p in problems}


def test_a_new_set_of_caps_ends_the_old_one(tmp_path: Path) -> None:
    def change(rows: list[dict[str, str]]) -> None:
        rows.append({**rows[0], "up to": "8000", "cap (%)": "15", "valid_from": "2026-01-01"})
        rows.append({**rows[0], "up to": "", "cap (%)": "8", "valid_from": "2026-01-01"})

    path = with_changes(tmp_path / "rates", {"deposit_caps": change})
    caps = {}
    for day in (date(2025, 12, 31), DAY):
        book, _ = load_rates(path, day)
        assert book is not None
        caps[day.year] = [(c.up_to, c.cap) for c in book.deposit_caps if not c.off_site]
    assert caps == {
        2025: [(D(5000), D("0.2")), (D(20000), D("0.1")), (None, D("0.05"))],
        2026: [(D(8000), D("0.15")), (None, D("0.08"))],
    }


def test_stages_of_each_condition_sum_to_the_whole(tmp_path: Path) -> None:
    def change(rows: list[dict[str, str]]) -> None:
        first = rows[0]
        rows += [{**first, "stage": "posts stand", "when": "posts", "share (%)": "40"}]
        rows += [{**first, "stage": "sail hangs", "when": "posts", "share (%)": "59.99"}]

    _, problems = load(tmp_path, {"payment_stages": change})
    assert [(p.code, p.place.cell) for p in problems] == [("stages-sum", "C4")]
    assert "99.99 %" in problems[0].message


SLIPS = [
    ("items", "code", "tip-fee", "price", "600", "rate-tenfold"),
    ("items", "code", "tip-fee", "price", "5.5", "rate-tenfold"),
    ("taxes", "code", "ST", "rate (%)", "1", "rate-tenfold"),
    ("charges", "step", "overhead", "rate (%)", "80", "rate-tenfold"),
    ("trades", "trade", "rigger", "cost per hour", "560", "rate-tenfold"),
    ("labour", "task", "survey", "hours", "20", "rate-tenfold"),
    ("ground", "ground", "firm", "hand hours per m3", "52", "rate-tenfold"),
    ("settings", "name", "travel speed", "value", "6", "rate-tenfold"),
    ("settings", "name", "travel speed", "value", "80", ""),
    ("items", "code", "tip-fee", "price", "120", ""),
    ("taxes", "code", "ST", "rate (%)", "12.5", ""),
]


@pytest.mark.parametrize(("table", "column", "name", "heading", "text", "code"), SLIPS)
def test_a_rate_ten_times_or_a_tenth_of_what_it_was_is_pointed_out(
    table: str, column: str, name: str, heading: str, text: str, code: str, tmp_path: Path
) -> None:
    book, problems = load(tmp_path, {table: later(column, name, "2026-01-01", **{heading: text})})
    assert book is not None  # it is asked about, and priced with
    found = [p for p in problems if p.code == "rate-tenfold"]
    assert [p.code for p in found] == ([code] if code else [])
    for p in found:
        assert p.place.sheet == table
        assert p.place.cell == cell_of(
            table, heading.split(" (")[0], int(p.place.cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        )


def test_a_slip_of_another_day_is_not_told(tmp_path: Path) -> None:
    changes = {"items": later("code", "tip-fee", "2027-01-01", price="600")}
    assert load(tmp_path, changes)[1] == []


@pytest.mark.parametrize(
    ("table", "column", "name", "text", "high"),
    [
        ("taxes", "code", "ST", "40", False),
        ("taxes", "code", "ST", "40.1", True),
        ("charges", "step", "overhead", "100", False),
        ("charges", "step", "overhead", "101", True),
    ],
)
def test_a_rate_that_is_too_high_is_asked_about(
    table: str, column: str, name: str, text: str, high: bool, tmp_path: Path
) -> None:
    _, problems = load(tmp_path, {table: put(column, name, **{"rate (%)": text})})
    assert [p.code for p in problems] == (["rate-high"] if high else [])


@given(
    st.decimals(min_value=D("0.01"), max_value=D("99999"), places=2),
    st.integers(min_value=-3, max_value=3),
    st.decimals(min_value=D("0.7"), max_value=D("1.4"), places=2),
)
def test_a_moved_point_shows_through_a_rise(price: Decimal, places: int, rise: Decimal) -> None:
    assert slipped(price.scaleb(places) * rise, price) == places


def test_a_charge_may_say_material_or_materials(tmp_path: Path) -> None:
    for word in ("material", "materials"):
        book, problems = load(tmp_path / word, {"charges": put("step", "overhead", **{"taken on": word})})
        assert problems == []
        assert book is not None
        assert book.charges[0].taken_on == word


def test_a_price_knows_its_past_and_how_it_was_given(tmp_path: Path) -> None:
    def change(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r["code"] == "tip-fee")
        rows.append({**row, "price": "66", "valid_from": "2025-01-01"})
        held = {"price is": "verbal", "valid until": "2026-05-01"}
        rows.append({**row, "price": "72", "valid_from": "2026-01-01", **held})

    book, problems = load(tmp_path, {"items": change})
    assert problems == []
    assert book is not None
    price = book.prices["items", "tip-fee"]
    assert (price.price, price.given, price.valid_until) == (D(72), "verbal", date(2026, 5, 1))
    assert [(p.valid_from, p.price) for p in price.past] == [(date(2025, 1, 1), D(66)), (date(2020, 1, 1), D(60))]
    assert price.group == "items fee per load"


def test_a_book_of_before_all_this_prices_the_same(tmp_path: Path) -> None:
    new = default_book()
    old = copy_book(tmp_path)
    for table in ("wages", "deposit_caps", "payment_stages", "digging_limits"):
        (old / f"{table}.csv").unlink()
    book, problems = load_rates(old, DAY)
    assert book is not None
    assert {p.code for p in problems} == {"rate-table-lacking"}
    assert {t.name: t.cost_per_hour for t in book.trades.values()} == {
        t.name: t.cost_per_hour for t in new.trades.values()
    }
    assert (book.deposit_caps, book.payment_stages, dict(book.digging_limits)) == ((), (), {})
