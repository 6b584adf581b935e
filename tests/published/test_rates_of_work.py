"""Hours, rates of tax and bands of a budget that sources print, against the default rate book and the code."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.core.money import cents
from estimator.pricing.price import bill_of
from estimator.rates.read import load_rates
from estimator.rates.where import default_rates
from estimator.report.terms import budget_range
from estimator.takeoff.labour import Hole, dig_hours
from estimator.takeoff.lines import make_line
from tests.rate_books import with_changes
from tests.rates.books import default_book

BOOK = default_book()
D = Decimal
YARD = 0.764554858  # m3


def dug(hours_a_m3: float) -> float:
    """Hours to dig one cubic metre by hand in ground of so many."""
    ground = replace(BOOK.ground["firm"], hand_hours=hours_a_m3)
    return dig_hours(Hole("A", 1.0, 1.0, ground, None, None, "hand", 1.0))[0]


@pytest.mark.parametrize(
    ("stages", "hours"),
    # Source: a course on ground works, hand excavation in ordinary soil, hours a m3 to get out, throw and clear, by
    # depth: to 1 m, 1 to 2 m, 2 to 3 m. For 3 to 4 m it prints 2.4 + 5.2 + 1.4 = 8.0, a misprint: they sum to 9.0.
    [((2.4,), 2.4), ((2.4, 1.4, 1.4), 5.2), ((2.4, 2.8, 1.4), 6.6), ((2.4, 5.2, 1.4), 9.0)],
)
def test_digging_by_hand_by_depth(stages: tuple[float, ...], hours: float) -> None:
    assert dug(sum(stages)) == pytest.approx(hours)


def test_holes_for_posts_are_dug_between_one_and_two_metres() -> None:
    # Source: the same course.
    assert dug(BOOK.ground["firm"].hand_hours) == pytest.approx(5.2)


@pytest.mark.parametrize(("ground", "hours"), [("sand", 4.0), ("clay", 6.5)])
def test_digging_and_filling_by_ground(ground: str, hours: float) -> None:
    # Source: a table of trade averages, person-hours a m3 of foundation: sand 4.0, sand with marl 6.5, marl 10.5.
    assert BOOK.ground[ground].hand_hours == hours


def test_wheeling_spoil() -> None:
    # Source: a directory of trade education: wheel up to 50 m, 1.25 h a m3.
    assert next(t.hours for t in BOOK.labour if t.task == "load spoil") == 1.25


def test_mixing_and_placing_by_hand() -> None:
    # Source: Gillette and Hill, Concrete Construction Methods and Costs, 1908: 16 men lay 45 yd3 in 10 h.
    assert BOOK.concrete["con-bag-20"].hours == pytest.approx(4.650, abs=1e-3)  # 160 / (45 x 0.764554858 m3)
    assert BOOK.concrete["con-bag-20"].hours * YARD == pytest.approx(3.556, abs=1e-3)  # a yd3


def test_a_day_of_that_gang_costs_what_the_book_says() -> None:
    # Source: the same book: 16 men, a foreman and a boy come to 27.50 a day, 0.61 a yd3.
    day = [make_line("x", "x", "labour", D(1), "day", D(cost), "w") for cost in ("6.00", "15.00", "3.00", "3.50")]
    cost = bill_of(day, [], [], by_line=False).totals.cost
    assert (cost, cents(cost / 45)) == (D("27.50"), D("0.61"))


def test_a_budget_figure_has_the_band_of_its_class() -> None:
    # Source: AACE 18R-97, outer limits: class 5 -50/+100 %, 4 -30/+50, 3 -20/+30, 2 -15/+20, 1 -10/+15.
    assert budget_range(BOOK, D(1000)) == (D(800), D(1300))  # class 3, 10 to 40 % defined


# Source: GST Distribution Review 2012, table G.1: standard rates.
STANDARD = {"AU": 10, "NZ": 15, "DE": 19, "IE": 23, "HU": 27, "DK": 25, "NO": 25}
# Since when: from memory. New Zealand 12.5 to 15 % on 2010-10-01, France 19.6 to 20 % on 2014-01-01.
CHANGED = {"NZ": ("12.5", "15", "2010-10-01"), "FR": ("19.6", "20", "2014-01-01")}


def test_no_standard_rate_of_tax_looks_like_a_slip(tmp_path: Path) -> None:
    def add(rows: list[dict[str, str]]) -> None:
        for code, rate in STANDARD.items():
            rows.append({**rows[0], "code": code, "rate (%)": str(rate), "usual": ""})

    book, problems = load_rates(with_changes(tmp_path / "rates", {"taxes": add}), date(2026, 4, 3))
    assert book is not None
    assert problems == []
    assert {c: book.taxes[c.casefold()].rate * 100 for c in STANDARD} == {c: D(r) for c, r in STANDARD.items()}


@pytest.mark.parametrize("code", sorted(CHANGED))
def test_a_tax_changes_on_its_day(code: str, tmp_path: Path) -> None:
    before, after, day = CHANGED[code]

    def always(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["valid_from"] = ""

    def add(rows: list[dict[str, str]]) -> None:
        always(rows)
        rows.append({**rows[0], "code": code, "rate (%)": before})
        rows.append({**rows[0], "code": code, "rate (%)": after, "valid_from": day})

    tables = {file.stem: always for file in default_rates().glob("*.csv")}
    path = with_changes(tmp_path / "rates", {**tables, "taxes": add})
    since = date.fromisoformat(day)
    for when, rate in ((since - timedelta(days=1), before), (since, after)):
        book, problems = load_rates(path, when)
        assert book is not None, problems
        assert problems == []  # a rise of a fifth is no slip of the decimal point
        assert book.taxes[code.casefold()].rate == D(rate) / 100
