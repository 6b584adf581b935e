"""Deposit and stages: they sum to the price to the cent, whatever the shares."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.money import CENT, largest_remainders
from estimator.pricing.model import PricedJob
from estimator.pricing.payment import payment_of
from tests.build import fixing, option, run, square, write_job
from tests.rate_books import with_changes

D = Decimal


@st.composite
def shares(draw: st.DrawFn) -> list[Decimal]:
    """Up to eight shares in hundredths of a per cent that sum to 1."""
    cuts = sorted(draw(st.lists(st.integers(0, 10_000), max_size=7)))
    return [D(b - a) / 10_000 for a, b in zip([0, *cuts], [*cuts, 10_000], strict=True)]


@given(st.decimals(min_value=D("-1000"), max_value=D("9999999"), places=2), shares())
def test_parts_sum_to_the_whole_and_none_is_a_cent_off(total: Decimal, parts: list[Decimal]) -> None:
    found = largest_remainders(total, parts)
    assert sum(found, D(0)) == total
    assert all(abs(part - total * share) < CENT for part, share in zip(found, parts, strict=True))
    assert all(part == part.quantize(CENT) for part in found)


def test_a_total_without_parts() -> None:
    assert largest_remainders(D("12.34"), []) == []


def thirds(rows: list[dict[str, str]]) -> None:
    first = rows[0]
    rows[:] = [{**first, "stage": "at the end", "when": ""}]
    for stage, when, share in (
        ("posts stand", "posts", "33.33"),
        ("sail hangs", "posts", "33.33"),
        ("after hand-over", "posts", "33.34"),
        ("sail hangs", "no posts", "100"),
    ):
        rows.append({**first, "stage": stage, "when": when, "share (%)": share})


def priced(folder: Path, **rows: Any) -> PricedJob:
    rates = with_changes(folder / "rates", {"payment_stages": thirds})
    outcome = run(write_job(folder / "job.xlsx", **rows), rates)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


@pytest.mark.parametrize("deposit", ["0 %", "13.7 %", "20 %", "100 %"])
def test_stages_share_out_what_the_deposit_leaves(deposit: str, tmp_path: Path) -> None:
    made = priced(tmp_path, job={"Deposit": deposit}, fixings=square(6), options=[option("A B C D", "SQ-5000")])
    parts = payment_of(made).parts
    names = ["posts stand", "sail hangs", "after hand-over"] if deposit != "100 %" else []
    assert [p.name for p in parts] == ([] if deposit == "0 %" else ["deposit"]) + names
    assert sum((p.share for p in parts), D(0)) == 1
    assert sum((p.amount or D(0) for p in parts), D(0)) == made.totals.price


def test_the_stages_follow_what_is_chosen(tmp_path: Path) -> None:
    rows: dict[str, Any] = {"fixings": [*square(6), *WALL]}
    both = [option("A B C D", "SQ-5000", Chosen="yes"), option("E F G H", "SQ-5000", "2")]
    made = priced(tmp_path, options=both, **rows)
    assert [p.name for p in payment_of(made).parts] == ["deposit", "posts stand", "sail hangs", "after hand-over"]
    (tmp_path / "wall").mkdir()
    both = [option("A B C D", "SQ-5000"), option("E F G H", "SQ-5000", "2", Chosen="yes")]
    made = priced(tmp_path / "wall", options=both, **rows)
    assert [p.name for p in payment_of(made).parts] == ["deposit", "sail hangs"]


def test_no_amounts_while_nobody_has_chosen(tmp_path: Path) -> None:
    both = [option("A B C D", "SQ-5000"), option("E F G H", "SQ-5000", "2")]
    made = priced(tmp_path, options=both, fixings=[*square(6), *WALL])
    parts = payment_of(made).parts
    # one option has posts and the other has none: only the stages that hold always are sure
    assert [(p.name, p.amount) for p in parts] == [("deposit", None), ("at the end", None)]


WALL = [fixing(n, x, y, 2.6, "rafter") for n, (x, y) in zip("EFGH", ((0, 9), (6, 9), (6, 15), (0, 15)), strict=True)]
