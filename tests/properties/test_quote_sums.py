"""What the customer's copy prints adds up to its own total: over random jobs, from the cells of the copy alone."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import load_workbook

from estimator.report.quote import render_quote
from estimator.report.quote_text import offered
from tests.build import run
from tests.random_jobs import random_job


def _figures(data: bytes) -> list[Decimal]:
    book = load_workbook(BytesIO(data))
    cells = (c.value for sheet in book for row in sheet.iter_rows() for c in row)
    return [Decimal(repr(v)).quantize(Decimal("0.01")) for v in cells if isinstance(v, int | float)]


def _adds_up(tmp_path: Path, seeds: range) -> int:
    seen = 0
    for seed in seeds:
        priced = run(random_job(tmp_path / f"{seed}.xlsx", seed)).priced
        assert priced is not None
        if not priced.totals.complete or not offered(priced):
            continue
        printed = _figures(render_quote(priced, drawings=False))
        chosen = [o.bill.totals for o in offered(priced) if o.chosen and o.bill]
        parts = [*chosen, *([priced.job_bill.totals] if priced.job_bill else [])]
        for each in parts:
            assert each.price in printed, (seed, each.price)
        # the price with tax of every part is printed, and so is their sum: nobody has to trust a figure not shown
        total = sum((t.price for t in parts), Decimal("0.00"))
        assert total == priced.totals.price
        assert total in printed, (seed, total)
        if priced.totals.tax and len(parts) == 1:
            assert {parts[0].price_before_tax, parts[0].tax} <= set(printed), seed
            assert parts[0].price_before_tax + parts[0].tax == parts[0].price
        seen += 1
    return seen


def test_a_few_copies_add_up(tmp_path: Path) -> None:
    assert _adds_up(tmp_path, range(12)) > 4


@pytest.mark.long
def test_many_copies_add_up(tmp_path: Path) -> None:
    assert _adds_up(tmp_path, range(200, 300)) > 40
