"""Sites of one trip share travel and set-up; nothing is counted twice and nothing is lost."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.report.json_out import job_data
from tests.build import fixing, run, write_job


def _job(tmp_path: Path, trip: str | None, **more: Any) -> dict[str, Any]:
    sites = [
        {"Site": name, "Ground": "firm", "Access": "easy", "Travel": 20, "Trip": trip} for name in ("North", "South")
    ]
    fixings = [
        {**fixing(n, x, y, 2.6, held), "Site": site}
        for site, held in (("North", "new post"), ("South", "rafter"))
        for n, x, y in (("A", 0, 0), ("B", 6, 0), ("C", 6, 6), ("D", 0, 6))
    ]
    options = [
        {"Site": site, "Option": "1", "Corners at": "A B C D", "Size": "SQ-5000", **more} for site in ("North", "South")
    ]
    outcome = run(write_job(tmp_path / f"{trip}.xlsx", sites=sites, fixings=fixings, options=options))
    assert outcome.priced is not None, outcome.problems
    return job_data(outcome.priced)


def _options(data: dict[str, Any]) -> list[dict[str, Any]]:
    return [s["options"][0] for s in data["sites"]]


def _line(option: dict[str, Any], code: str) -> Decimal:
    return sum((Decimal(x["quantity"]) for x in option["lines"] if x["code"] == code), Decimal(0))


def test_alone_each_site_pays_its_own_way(tmp_path: Path) -> None:
    north, south = _options(_job(tmp_path, None))
    assert north["visits"] > south["visits"]  # rafters need no footings
    for option in (north, south):
        assert option["measures"]["visit"]["km"] == 2 * 20 * option["visits"]
        assert _line(option, "travel-km") == 2 * 20 * option["visits"]
        assert option["measures"]["site"]["count"] == 1


def test_together_they_share_the_longer_list_of_visits(tmp_path: Path) -> None:
    north, south = _options(_job(tmp_path, "tour"))
    trips = north["visits"]
    assert north["measures"]["visit"]["km"] + south["measures"]["visit"]["km"] == pytest.approx(2 * 20 * trips)
    assert _line(north, "travel-km") + _line(south, "travel-km") == 2 * 20 * trips
    assert north["measures"]["site"]["count"] + south["measures"]["site"]["count"] == 1
    assert north["measures"]["visit"]["count"] + south["measures"]["visit"]["count"] == trips
    assert len({h["visit"] for h in south["labour"]}) == south["visits"]


def test_sharing_is_cheaper_and_nothing_else_changes(tmp_path: Path) -> None:
    alone, shared = _job(tmp_path, None), _job(tmp_path, "tour")
    assert Decimal(shared["totals"]["cost"]) < Decimal(alone["totals"]["cost"])
    for one, two in zip(_options(alone), _options(shared), strict=True):
        assert one["corners"] == two["corners"]
        assert one["footings"] == two["footings"]
        assert _line(one, "dig") == _line(two, "dig")
