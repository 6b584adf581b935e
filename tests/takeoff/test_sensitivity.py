"""Every table of the rate book reaches the result: one row changed, no code changed."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.report.json_out import job_data
from tests.build import fixing, option, run, write_job
from tests.rate_books import Change, put, setting, with_changes

JOB: dict[str, Any] = {
    "job": {"Place": "Millbrook", "Tax": "ST"},
    "sites": [{"Site": "Yard", "Ground": "firm", "Access": "barrow only", "Travel": 10, "Existing sails": 0}],
    "fixings": [
        fixing("A", 0, 0, 2.8, "rafter"),
        fixing("B", 6, 0, 2.8, "rafter"),
        fixing("C", 6, 6, 2.6, **{"To boundary (m)": 3}),
        fixing("D", 0, 6, 2.6, **{"To boundary (m)": 3}),
    ],
    "options": [
        option("A B C D", "SQ-5000", name="stock", Chosen="yes"),
        option("A B C D", "made to fit", name="made", Cloth="COAT-DRY"),
    ],
}


def _price(tmp_path: Path, changes: Mapping[str, Change]) -> dict[str, dict[str, Any]]:
    """Each option's data, by name."""
    folder = with_changes(tmp_path / f"rates {len(list(tmp_path.iterdir()))}", changes)
    outcome = run(write_job(tmp_path / "job.xlsx", **JOB), folder)
    assert outcome.priced is not None, outcome.problems
    data = json.loads(json.dumps(job_data(outcome.priced)))
    return {o["option"]: o for o in data["sites"][0]["options"]}


def _cost(option_data: Mapping[str, Any]) -> Decimal:
    return Decimal(option_data["totals"]["cost"])


def _line(option_data: Mapping[str, Any], code: str) -> Decimal:
    return sum((Decimal(x["cost"]) for x in option_data["lines"] if x["code"] == code), Decimal(0))


def _raise(column: str, key: str, value_column: str, by: str) -> Change:
    def change(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r[column] == key)
        row[value_column] = str(Decimal(row[value_column]) + Decimal(by))

    return change


MORE_COST: list[tuple[str, Change, str, Callable[[Mapping[str, Any]], Decimal]]] = [
    # table, change, option, by how much its cost must rise
    ("sails", _raise("code", "SQ-5000", "price", "10"), "stock", lambda o: Decimal(10)),
    ("rigging", _raise("code", "SHK-09", "price", "1"), "stock", lambda o: Decimal(8)),
    ("items", _raise("code", "post-cap", "price", "2"), "stock", lambda o: Decimal(4)),
    ("kits", put("item", "post-cap", quantity="3"), "stock", lambda o: 4 * Decimal("7.5")),
    ("labour", _raise("task", "hang sail", "hours", "2"), "stock", lambda o: 2 * Decimal(48)),
    ("trades", _raise("trade", "labourer", "cost per hour", "1"), "stock", lambda o: Decimal("0")),
]


@pytest.mark.parametrize(("table", "change", "name", "by"), MORE_COST, ids=[c[0] for c in MORE_COST])
def test_a_dearer_row_costs_that_much_more(
    tmp_path: Path, table: str, change: Change, name: str, by: Callable[[Mapping[str, Any]], Decimal]
) -> None:
    before, after = _price(tmp_path, {})[name], _price(tmp_path, {table: change})[name]
    if table == "trades":
        hours = sum(h["hours"] for h in before["labour"] if h["trade"] == "labourer")
        assert abs(_cost(after) - _cost(before) - Decimal(hours)) < Decimal("0.05")
    else:
        assert _cost(after) - _cost(before) == by(before)


def _second(rows: list[dict[str, str]]) -> None:
    rows[1]["depth (m)"] = "1.5"


def _all(column: str, value: str, **only: str) -> Change:
    def change(rows: list[dict[str, str]]) -> None:
        for row in rows:
            if all(row[c] == v for c, v in only.items()):
                row[column] = value

    return change


FLOWS: list[tuple[str, Change, str, str]] = [
    # table, change, option, what of the option's data must differ
    ("settings", setting("take up reserve", "40"), "made", "corners"),
    ("cloths", put("code", "COAT-DRY", **{"stretch (%)": "1.5"}), "made", "sails"),
    ("corner_sets", put("set", "standard", shackles="1"), "made", "corners"),
    ("posts", put("code", "LT-115", **{"hole diameter (mm)": "500"}), "stock", "footings"),
    ("supports", put("support", "rafter", priced="engineer"), "stock", "status"),
    ("ground", put("ground", "firm", **{"stone layer (mm)": "150"}), "stock", "footings"),
    ("access", put("access", "barrow only", **{"labour factor": "2"}), "stock", "labour"),
    ("footing_depths", _second, "stock", "footings"),
    ("concrete", _all("price", "2000"), "stock", "lines"),
    ("charges", put("step", "margin", **{"rate (%)": "25"}), "stock", "charges"),
    ("taxes", put("code", "ST", **{"rate (%)": "12.5"}), "stock", "taxes"),
    ("consent", put("measure", "plan area", limit="90 m2"), "stock", "nothing"),
    ("consent", _all("limit", "90 m2", measure="plan area"), "made", "lines"),
]


@pytest.mark.parametrize(("table", "change", "name", "field"), FLOWS, ids=[f"{c[0]}-{c[3]}" for c in FLOWS])
def test_a_changed_row_reaches_the_result(tmp_path: Path, table: str, change: Change, name: str, field: str) -> None:
    before, after = _price(tmp_path, {})[name], _price(tmp_path, {table: change})[name]
    if field == "nothing":
        shown = before.pop("consent"), after.pop("consent")
        assert after == before  # a limit that is not reached changes nothing but the row that is shown
        assert shown[0] != shown[1]
        return
    assert after[field] != before[field]
    if field not in ("status", "corners", "sails"):
        assert after["totals"]["price"] != before["totals"]["price"]


def test_a_deeper_row_gives_that_depth(tmp_path: Path) -> None:
    after = _price(tmp_path, {"footing_depths": _second})["stock"]
    assert after["footings"][0]["depth"] == pytest.approx(1.5)


def test_a_new_row_can_be_used_at_once(tmp_path: Path) -> None:
    def add(rows: list[dict[str, str]]) -> None:
        corner = {"kit": "rafter", "item": "sealant", "for each": "corner", "measure": "count", "quantity": "1"}
        rows.append({**rows[0], **corner})

    before, after = _price(tmp_path, {})["stock"], _price(tmp_path, {"kits": add})["stock"]
    # two rafters share half a tube; two corners more need two and a half, so three whole tubes
    assert _line(after, "sealant") - _line(before, "sealant") == 2 * Decimal("9.5")
