"""Jobs of several sites for the tests of the order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from estimator.pipeline import Outcome
from estimator.pricing.model import PricedJob
from estimator.pricing.order_model import Order, Ordered
from tests.build import fixing, option, run, square, write_job
from tests.rate_books import Change, with_changes

FREE = {"Ground": "firm", "Access": "easy", "Travel": 10}


def outcome(folder: Path, rates: Mapping[str, Change] | None = None, **rows: Any) -> Outcome:
    """A job of plain rows, priced with the default rate book or a changed one."""
    book = with_changes(folder / "rates", rates) if rates else None
    return run(write_job(folder / "job.xlsx", **rows), book)


def priced(folder: Path, rates: Mapping[str, Change] | None = None, **rows: Any) -> PricedJob:
    """The same, where it has to be usable."""
    found = outcome(folder, rates, **rows)
    assert found.priced is not None, found.problems
    return found.priced


def sites(*names: str) -> list[dict[str, Any]]:
    """Rows of Sites."""
    return [{"Site": name, **FREE} for name in names]


def yards(*names: str, height: float = 2.6, size: str = "SQ-5000", **more: Any) -> dict[str, Any]:
    """The rows of a job with one chosen square sail on four new posts at each site."""
    fixings = [{**row, "Site": name} for name in names for row in square(6, height, **more)]
    options = [{**option("A B C D", size), "Site": name, "Colour": "sand", "Chosen": "yes"} for name in names]
    return {"sites": sites(*names), "fixings": fixings, "options": options}


def rows_of(order: Order | None, code: str) -> list[Ordered]:
    """The rows of a code."""
    assert order is not None
    return [r for r in order.rows if r.code == code]


def extra(description: str, quantity: float, unit: str = "each", **more: Any) -> dict[str, Any]:
    """A row of Extras."""
    return {"Description": description, "Quantity": quantity, "Unit": unit, **more}


def house(site: str, heights: Sequence[float] = (2.6, 2.6)) -> list[dict[str, Any]]:
    """Two rafters and two posts."""
    places = ((0, 0, "rafter"), (6, 0, "rafter"), (6, 6, "new post"), (0, 6, "new post"))
    tall = (2.9, 2.9, *heights)
    rows = [fixing(n, x, y, h, held) for n, (x, y, held), h in zip("ABCD", places, tall, strict=True)]
    return [{**row, "Site": site} for row in rows]
