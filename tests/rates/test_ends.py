"""Columns `low` and `high`: how far a row may come out otherwise, and what is wrong with them."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.rates.model import Ends
from estimator.rates.read import load_rates
from tests.rates.books import DAY, cell_of, default_book, errors, rows_of, with_cell
from tests.rates.with_ends import with_ends, without_ranges


def row_of(table: str, key: str) -> int:
    """The row of a key as a spreadsheet counts it."""
    return [row[0] for row in rows_of(table)].index(key) + 1


def test_the_default_book_has_them_where_hours_hang_on_what_nobody_saw() -> None:
    book = default_book()
    assert all(g.ends is not None for g in book.ground.values())
    # nobody has dug in it: it may turn out to be rock, whose hours by hand the high value has to reach
    unknown, rock = book.ground["unknown"], book.ground["rock"]
    assert unknown.ends is not None
    assert unknown.ends.high * unknown.hand_hours >= rock.hand_hours
    assert rock.ends == Ends(0.5, 3.0)
    tasks = {t.task for t in book.labour if t.ends}
    assert {"set and brace post", "tension corner"} <= tasks
    assert (book.known("travel low"), book.known("travel high")) == (0.9, 1.4)
    assert not any(t.ends for t in book.trades.values())


def test_an_end_that_is_blank_is_what_is_likely(tmp_path: Path) -> None:
    path = with_cell(tmp_path, "labour", row_of("labour", "set and brace post"), "low", "")
    book, problems = load_rates(path, DAY)
    assert book is not None, problems
    assert next(t.ends for t in book.labour if t.task == "set and brace post") == Ends(1.0, 1.6)


@pytest.mark.parametrize("table", ["items", "posts", "cloths", "trades", "ground"])
def test_every_table_that_deserves_them_may_have_them(tmp_path: Path, table: str) -> None:
    key = rows_of(table)[1][0]
    book, problems = load_rates(with_ends(tmp_path / "book", {table: {key: ("70", "180")}}), DAY)
    assert book is not None, problems
    assert getattr(book, table)[key.casefold()].ends == Ends(0.7, 1.8)


@pytest.mark.parametrize(
    ("table", "key", "column", "text"),
    [
        ("labour", "set and brace post", "low", "130"),
        ("labour", "set and brace post", "high", "80"),
        ("labour", "tension corner", "low", "-5"),
        ("ground", "rock", "high", "5000"),
        ("ground", "rock", "low", "120 %"),
    ],
)
def test_low_likely_and_high_stand_in_that_order(tmp_path: Path, table: str, key: str, column: str, text: str) -> None:
    at = row_of(table, key)
    book, problems = load_rates(with_cell(tmp_path, table, at, column, text), DAY)
    assert book is None
    assert errors(problems) == [(f"{table}.csv", table, cell_of(table, column, at), "out-of-bounds")]
    assert "100 %" in next(p.message for p in problems if p.level == "error")


def test_words_in_them_are_named(tmp_path: Path) -> None:
    at = row_of("ground", "clay")
    book, problems = load_rates(with_cell(tmp_path, "ground", at, "high", "much"), DAY)
    assert book is None
    assert errors(problems) == [("ground.csv", "ground", cell_of("ground", "high", at), "not-a-number")]


@pytest.mark.parametrize(
    ("setting", "text"),
    [
        ("range draws", "10"),
        ("range draws", "20000.5"),
        ("range correlation", "1.2"),
        ("range chance", "100"),
        ("range seed", "-1"),
        ("travel low", "110"),
        ("travel high", "90"),
    ],
)
def test_settings_of_the_range_have_bounds(tmp_path: Path, setting: str, text: str) -> None:
    at = row_of("settings", setting)
    book, problems = load_rates(with_cell(tmp_path, "settings", at, "value", text), DAY)
    assert book is None
    assert [e[2] for e in errors(problems)] == [cell_of("settings", "value", at)], problems


def test_a_count_has_no_unit(tmp_path: Path) -> None:
    at = row_of("settings", "range seed")
    book, problems = load_rates(with_cell(tmp_path, "settings", at, "unit", "kg"), DAY)
    assert book is None
    assert errors(problems) == [("settings.csv", "settings", cell_of("settings", "unit", at), "rate-cell")]


def test_a_book_without_any_of_it_is_still_whole(tmp_path: Path) -> None:
    path = without_ranges(tmp_path / "book")
    book, problems = load_rates(path, DAY)
    assert book is not None
    assert problems == []
    assert not any(g.ends for g in book.ground.values())
    assert book.known("range seed") is None
