"""Sheet `Consent`: what was compared, in words, and what the approval costs, by formulas into the bill."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.book import render_sheets
from tests.build import fixing, option, run, square, write_job

ATTACHED, FREE = "Cafe", "Quay"


def job(tmp_path: Path, units: str = "metric") -> PricedJob:
    sites = [
        {"Site": ATTACHED, "Ground": "firm", "Access": "easy", "Place": "Millbrook", "Existing sails": 0,
         "Services": "plans"},
        {"Site": FREE, "Ground": "firm", "Access": "easy", "Place": "Old Quay"},
        {"Site": "Hill", "Ground": "firm", "Access": "easy", "Place": "Far Hill"},
    ]  # fmt: skip
    near = {"To boundary (m)": 1.6, "To service (m)": 0.9}
    fixings = [{**f, "Site": ATTACHED} for f in square(6, **near)]
    for f in fixings[:2]:
        f["Held by"] = "rafter"
    fixings += [{**f, "Site": s} for s in (FREE, "Hill") for f in square(5, 2.6)]
    options = [
        {**option("A B C D", "SQ-5000", name="stock"), "Site": ATTACHED, "Chosen": "yes"},
        {**option("A B C D", "made to fit", name="made", Cloth="COAT-DRY"), "Site": ATTACHED},
        *({**option("A B C D", "made to fit", Cloth="KNIT-LIGHT"), "Site": s} for s in (FREE, "Hill")),
    ]
    path = write_job(tmp_path / "job.xlsx", job={"Units": units}, sites=sites, fixings=fixings, options=options)
    outcome = run(path)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def sheet(priced: PricedJob, values: bool = True) -> Any:
    return load_workbook(BytesIO(render_sheets(priced, drawings=False)), data_only=values)["Consent"]


def rows(found: Any) -> list[list[Any]]:
    return [[c.value for c in row] for row in found.iter_rows()]


def test_it_states_no_law_and_is_for_the_office(tmp_path: Path) -> None:
    said = [str(c) for row in rows(sheet(job(tmp_path))) for c in row if c is not None]
    assert said[0] == look.OFFICE
    assert any("states no law" in w and "The council decides." in w for w in said)
    assert not any("OK" in w.split() or "passes" in w for w in said)


def test_every_row_that_was_compared_stands_with_its_result(tmp_path: Path) -> None:
    priced = job(tmp_path)
    found = rows(sheet(priced))
    by = {(r[0], r[1], r[3], r[4]): r for r in found if r[3]}
    area = by[ATTACHED, "stock", "plan area", "house anchor"]
    assert area[5:8] == ["25 m2", "at most 20 m2", "-5 m2"]
    assert area[9:] == ["over the limit: consent is priced", "invented for the default rate book", "2020-01-01"]
    assert by[ATTACHED, "stock", "plan area", "always"][9] == "inside the limit"
    assert by[ATTACHED, "stock", "sail to boundary", "always"][7] == "0.700 m"
    assert by[FREE, "1", "question", "always"][9].startswith("not known. Ask: Does the sail stand behind")
    assert "'Existing sails'" in by[FREE, "1", "existing sails", "always"][9]
    compared = sum(len(o.taken.consent) for o in priced.options)
    assert sum(r[11] == "2020-01-01" for r in found) == compared
    (nothing,) = [r for r in found if r[0] == "Hill" and r[2] == "Far Hill"]
    assert nothing[9].startswith("not known: the rate book has no row for this place")


def test_the_approval_is_summed_beside_the_sail_by_formulas(tmp_path: Path) -> None:
    priced = job(tmp_path)
    shown, live = rows(sheet(priced)), rows(sheet(priced, values=False))
    sums = {r[1]: (r, f) for r, f in zip(shown, live, strict=True) if r[3] == "approval together" and r[0] == ATTACHED}
    for o in priced.options[:2]:
        assert o.bill is not None
        row, formulas = sums[o.option.name]
        cost = {x.code: x.cost for x in o.bill.lines}
        approval = [c for code, c in cost.items() if code.startswith("consent-") or code == "meet-the-inspector"]
        assert len(approval) == 5
        assert row[5] == float(sum(approval))
        assert row[7] == float(cost["SQ-5000" if o.option.name == "stock" else "COAT-DRY"])
        assert formulas[5].startswith("=ROUND('Bill'!G")
        assert formulas[5].count("'Bill'!G") == 5
        assert bool(row[9]) is (row[5] > row[7])


def test_the_edge_of_each_hole_is_told(tmp_path: Path) -> None:
    priced = job(tmp_path)
    found = [r for r in rows(sheet(priced)) if r[8] == "at least 0.500 m"]
    assert len(found) == sum(len(o.taken.footings) for o in priced.options)
    edge = priced.options[0].taken.footings[0]
    assert found[0][4] == "plans"
    assert found[0][5:8] == pytest.approx([edge.diameter, edge.edge_to_boundary, edge.edge_to_service])
    assert found[0][9] == "near the service: move it, dig by hand, or by vacuum"
    assert found[-1][6:8] == ["not known", "not known"]
    assert "not given" in found[-1][9]


def test_feet_and_inches_follow_the_job(tmp_path: Path) -> None:
    found = rows(sheet(job(tmp_path, "feet and inches")))
    area = next(r for r in found if r[3] == "plan area" and r[4] == "house anchor")
    assert area[5:8] == ["269.1 sq ft", "at most 215.3 sq ft", "-53.8 sq ft"]  # 25, 20 and -5 m2


def test_a_value_a_hair_from_the_limit_does_not_read_like_it(tmp_path: Path) -> None:
    site = {"Site": "Yard", "Ground": "firm", "Access": "easy", "Place": "Old Quay"}
    at = ((0, 0), (6, 0), (6, 6), (0, 6))
    fixings = [fixing(n, x, y, 2.3998, "rafter") for n, (x, y) in zip("ABCD", at, strict=True)]
    path = write_job(tmp_path / "hair.xlsx", sites=[site], fixings=fixings, options=[option("A B C D", "SQ-5000")])
    outcome = run(path)
    assert outcome.priced is not None
    height = next(r for r in rows(sheet(outcome.priced)) if r[3] == "height above ground")
    assert height[5:8] == ["2.3998 m", "under 2.400 m", "0.0002 m"]
    assert height[9] == "inside the limit"
