"""Rows that hold from a day on."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

from estimator.rates.read import load_rates
from tests.rates.books import DAY, Rows, changed, column_of, errors, rows_of


def _later(table: str, heading: str, text: str, since: str, row: int = 1):  # type: ignore[no-untyped-def]
    def add(rows: Rows) -> None:
        new = list(rows[row])
        new[column_of(table, heading)] = text
        new[column_of(table, "valid_from")] = since
        rows.append(new)

    return add


def test_the_latest_row_up_to_the_day_counts(tmp_path: Path) -> None:
    path = changed(tmp_path, "trades", _later("trades", "cost per hour", "52", "2026-04-03"))
    rates = {}
    for day in (date(2026, 4, 2), date(2026, 4, 3), date(2030, 1, 1)):
        book, problems = load_rates(path, day)
        assert book is not None, problems
        rates[day.isoformat()] = book.trades["installer"].cost_per_hour
    assert rates == {"2026-04-02": Decimal(48), "2026-04-03": Decimal(52), "2030-01-01": Decimal(52)}


def test_a_row_added_below_keeps_the_order_of_the_table(tmp_path: Path) -> None:
    path = changed(tmp_path, "charges", _later("charges", "rate", "9", "2026-01-01"))
    book, _ = load_rates(path, DAY)
    assert book is not None
    assert [c.step for c in book.charges] == ["overhead", "contingency", "margin", "discount"]
    assert book.charges[0].rate == Decimal("0.09")
    assert book.charges[0].origin.row == len(rows_of("charges")) + 1


def test_a_row_without_a_day_holds_always_until_a_dated_one(tmp_path: Path) -> None:
    def blank(rows: Rows) -> None:
        rows[1][column_of("trades", "valid_from")] = ""
        _later("trades", "cost per hour", "52", "2026-01-01")(rows)

    path = changed(tmp_path, "trades", blank)
    early, _ = load_rates(path, date(2025, 12, 31))
    late, _ = load_rates(path, DAY)
    assert early is not None
    assert late is not None
    assert early.trades["installer"].cost_per_hour == 48
    assert late.trades["installer"].cost_per_hour == 52


def test_a_key_of_a_later_day_is_known_but_not_in_force(tmp_path: Path) -> None:
    def add(rows: Rows) -> None:
        new = list(rows[1])
        new[0], new[column_of("sails", "valid_from")] = "TRI-9000", "2027-01-01"
        rows.append(new)

    book, problems = load_rates(changed(tmp_path, "sails", add), DAY)
    assert problems == []
    assert book is not None
    assert "tri-9000" not in book.sails
    assert book.later == {("sails", "tri-9000"): date(2027, 1, 1)}


def test_a_row_that_points_at_a_later_one_says_from_when(tmp_path: Path) -> None:
    def postpone(rows: Rows) -> None:
        row = next(r for r in rows if r[0] == "post-cap")
        row[column_of("items", "valid_from")] = "2027-01-01"

    book, problems = load_rates(changed(tmp_path, "items", postpone), DAY)
    assert book is None
    assert {p.code for p in problems} == {"rate-reference-later"}
    assert "holds only from 2027-01-01; the day asked for is 2026-04-03" in problems[0].message


def test_a_day_before_the_first_row_says_what_there_is() -> None:
    book, problems = load_rates(None, date(2019, 12, 31))
    assert book is None
    assert {code for *_, code in errors(problems)} == {"rate-none-in-force", "setting-later"}
    assert any("from 2020-01-01" in p.message for p in problems)


def test_two_kit_rows_with_another_item_are_two_rows(tmp_path: Path) -> None:
    book, _ = load_rates(None, DAY)
    assert book is not None
    assert len([k for k in book.kits if k.kit == "rafter"]) == 3
    path = changed(tmp_path, "kits", _later("kits", "quantity", "2", "2026-01-01"))
    newer, _ = load_rates(path, DAY)
    assert newer is not None
    assert len(newer.kits) == len(book.kits)
    assert newer.kits[0].quantity == 2
