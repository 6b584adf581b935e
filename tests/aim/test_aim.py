"""The price that is aimed at: the margin gives it when priced with it, and every change was really tried."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.aim.ask import aim_at
from estimator.aim.tries import Scope, best, tried
from estimator.cli import main
from estimator.pricing.aim import Priced, rate_for, totals_at
from estimator.pricing.model import PricedJob
from estimator.pricing.taxes import taxes_for
from tests.build import option, run, square, write_job

LADDER = {
    "Site": "Yard", "Description": "Second ladder", "Quantity": 1, "Unit": "day", "Cost each": 80, "Kind": "hire",
}  # fmt: skip


def yard(folder: Path, **job: Any) -> PricedJob:
    path = write_job(
        folder / "yard.xlsx",
        job={"Tax": "ST", **job},
        fixings=square(6),
        options=[option("A B C D", "made to fit", Cloth="KNIT-HEAVY")],
        extras=[LADDER],
    )
    priced = run(path).priced
    assert priced is not None
    assert priced.options[0].bill is not None
    return priced


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> PricedJob:
    return yard(tmp_path_factory.mktemp("plain"))


def blocks(priced: PricedJob) -> list[Priced]:
    bill = priced.options[0].bill
    assert bill is not None
    return [Priced(bill.lines, True)]


@settings(max_examples=25, deadline=None)
@given(share=st.decimals("0.85", "3", places=4), before_tax=st.booleans(), markup=st.booleans())
def test_the_rate_that_is_found_gives_the_price(
    plain: PricedJob, share: Decimal, before_tax: bool, markup: bool
) -> None:
    job, book = plain.job, plain.book
    taxes, _ = taxes_for(book, job.header)
    now = plain.totals.price_before_tax if before_tax else plain.totals.price
    aim = (now * share).quantize(Decimal("0.01"))
    found = rate_for(book, job.header, blocks(plain), taxes, aim, before_tax=before_tax, markup=markup)
    if found.rate is None:
        assert not found.least <= aim <= found.most
        return
    again = totals_at(book, job.header, blocks(plain), taxes, found.rate, markup)
    assert found.price == (again.price_before_tax if before_tax else again.price)
    # a tax on a whole cent before it may skip a cent after it, never more than one
    assert abs(found.price - aim) <= (Decimal("0.00") if before_tax else Decimal("0.01"))
    assert found.exact is (found.price == aim)


def test_margin_and_markup_are_one_price_by_the_published_formula(plain: PricedJob) -> None:
    """Source: k = m / (1 - m), arithmetic of margin on price and markup on cost."""
    job, book = plain.job, plain.book
    taxes, _ = taxes_for(book, job.header)
    at = [
        rate_for(book, job.header, blocks(plain), taxes, plain.totals.price, markup=markup).rate
        for markup in (False, True)
    ]
    assert at[0] == Decimal("0.2")
    assert at[1] == Decimal("0.25")


def test_typed_into_the_job_the_margin_gives_the_price(tmp_path: Path, plain: PricedJob) -> None:
    job, book = plain.job, plain.book
    taxes, _ = taxes_for(book, job.header)
    aim = plain.totals.price + 250
    found = rate_for(book, job.header, blocks(plain), taxes, aim)
    assert found.rate is not None
    again = yard(tmp_path, Margin=f"{found.rate * 100} %")
    assert again.totals.price == found.price


def test_a_rounding_step_is_respected(tmp_path: Path) -> None:
    priced = yard(tmp_path, **{"Round price to": 50})
    taxes, _ = taxes_for(priced.book, priced.job.header)
    aim = priced.totals.price_before_tax + 230
    found = rate_for(priced.book, priced.job.header, blocks(priced), taxes, aim, before_tax=True)
    assert found.price % 50 == 0
    assert abs(found.price - aim) <= 25
    assert not found.exact


def test_below_cost_and_beyond_every_margin_are_said(plain: PricedJob) -> None:
    low = aim_at(plain, Decimal("100"))
    assert low.status == 0
    assert any(line.startswith("No margin gives it") and "would be lost" in line for line in low.lines)
    high = aim_at(plain, Decimal("9999999"))
    assert any("99 %" in line for line in high.lines)
    assert "No change of the job is needed to come down to it." in high.lines


def test_every_change_was_tried_and_the_best_ones_reach_the_aim(plain: PricedJob) -> None:
    scope = Scope(plain, (plain.options[0],), False, False)
    every = list(tried(scope))
    assert len({t.changes[0].kind for t in every if t.changes}) > 5
    aim = plain.totals.price - 60
    found = best(scope, aim)
    assert len(found) == 3
    reach = [t for t in found if t.price <= aim]
    assert reach
    steady = [t for t in reach if not t.weaker]
    assert [t.price for t in steady] == sorted((t.price for t in steady), reverse=True)
    # no single change that makes nothing weaker comes nearer to the aim without missing it than the first
    nearest = max(t.price for t in every if t.price <= aim and not t.weaker)
    assert found[0].weaker or found[0].price == nearest


def test_leaving_an_extra_out_is_worth_its_cost_with_charges_and_tax(tmp_path: Path, plain: PricedJob) -> None:
    scope = Scope(plain, (plain.options[0],), False, False)
    without = next(t for t in tried(scope) if t.changes and t.changes[0].kind.startswith("extra"))
    path = write_job(
        tmp_path / "less.xlsx",
        job={"Tax": "ST"},
        fixings=square(6),
        options=[option("A B C D", "made to fit", Cloth="KNIT-HEAVY")],
    )
    less = run(path).priced
    assert less is not None
    assert without.price == less.totals.price


def test_the_command_says_it_in_words_and_writes_nothing(tmp_path: Path, plain: PricedJob) -> None:
    yard(tmp_path)
    before = {p: p.read_bytes() for p in tmp_path.iterdir()}
    aim = plain.totals.price - 60
    found = CliRunner().invoke(main, ["aim", str(tmp_path / "yard.xlsx"), "--price", str(aim)])
    assert found.exit_code == 0, found.output
    assert re.search(r"A margin of [\d.]+ % on the price, or a markup of [\d.]+ % on cost", found.output)
    assert "Changes that bring it to the price" in found.output
    assert "Traceback" not in found.output
    assert {p: p.read_bytes() for p in tmp_path.iterdir()} == before


@pytest.mark.parametrize(
    ("args", "status"),
    [
        (["--price", "about 4000"], 2),
        (["--price", "-5"], 2),
        (["--price", "4000", "--option", "nobody's"], 2),
        (["--price", "4000", "--rates", "no-such-book"], 2),
    ],
)
def test_what_cannot_be_answered_is_told(tmp_path: Path, args: list[str], status: int) -> None:
    yard(tmp_path)
    found = CliRunner().invoke(main, ["aim", str(tmp_path / "yard.xlsx"), *args])
    assert found.exit_code == status, found.output
    assert "Traceback" not in found.output
