"""Yards to screen: a twisted square sail on four posts of one's choice."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from estimator.pricing.model import PricedJob, PricedOption
from tests.build import fixing, option, run, write_job
from tests.rate_books import Change, with_changes

SITE = {
    "Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Wind speed": "25 m/s", "Wind is": "gust",
}  # fmt: skip


def posts(post: str = "CHS-168", hole: float = 0.75, depth: float = 2.2, **more: Any) -> list[dict[str, Any]]:
    """Four fixings A B C D, high and low in turn, on posts of one kind."""
    places = ((0, 0, 2.4), (6, 0, 3.4), (6, 6, 2.4), (0, 6, 3.4))
    given = {"Post": post, "Hole (m)": hole, "Depth (m)": depth, **more}
    return [fixing(n, x, y, z, **given) for n, (x, y, z) in zip("ABCD", places, strict=True)]


def priced(
    folder: Path,
    fixings: list[dict[str, Any]] | None = None,
    site: Mapping[str, Any] | None = None,
    changes: Mapping[str, Change] | None = None,
    screen: bool = False,
    **more: Any,
) -> PricedJob:
    """A yard priced and screened; changes: of the default rate book; more: cells of the option."""
    job = write_job(
        folder / "yard.xlsx",
        sites=[{**SITE, **(site or {})}],
        fixings=fixings if fixings is not None else posts(),
        options=[option("A B C D", **{"Size": "made to fit", "Hardware": "heavy", **more})],
    )
    rates = with_changes(folder / "rates", changes) if changes else None
    outcome = run(job, rates, screen=screen)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def screened(folder: Path, *args: Any, **more: Any) -> PricedOption:
    """The one option of a yard."""
    return priced(folder, *args, **more).options[0]
