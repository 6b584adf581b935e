"""Sheet `Actuals`: what it may say, what is wrong with it, and that it never touches a price."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.pipeline import Outcome, exit_status
from estimator.pricing.model import PricedJob, Used
from estimator.pricing.used import after_job
from tests.build import fixing, option, run, square, write_job

TWO = [{"Site": "Yard", "Ground": "firm", "Travel": 10}, {"Site": "Deck", "Ground": "sand", "Travel": 20}]


def deck(rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{**row, "Site": "Deck"} for row in rows]


def yard(path: Path, *rows: dict[str, Any], **more: Any) -> Path:
    """One site with one sail on four posts."""
    made = {"fixings": square(6), "options": [option("A B C D", "SQ-5000")], **more}
    return write_job(path / "yard.xlsx", actuals=rows, **made)


def two_sites(path: Path, *rows: dict[str, Any]) -> Path:
    options = [option("A B C D", "SQ-5000"), *deck([option("A B C D", "SQ-4000"), option("A B C D", "SQ-5000", "2")])]
    options[1]["Chosen"] = "yes"
    return yard(path, *rows, sites=TWO, fixings=[*square(6), *deck(square(6.2))], options=options)


def said(outcome: Outcome) -> list[tuple[str, str, str]]:
    """Code, level and cell of everything that is said of the sheet."""
    return [(p.code, p.level, p.place.cell) for p in outcome.problems if p.place.sheet == "Actuals"]


def priced(path: Path) -> PricedJob:
    outcome = run(path)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def only(path: Path) -> Used:
    (used,) = priced(path).used
    return used


def test_a_row_is_read_with_everything_it_says(tmp_path: Path) -> None:
    row = {"Site": "yard", "Option": "1", "What": "Hang  SAIL", "Quantity": 7.25, "Unit": "h", "Day": date(2026, 5, 4),
           "By": "Wren", "Notes": "windy"}  # fmt: skip
    job = priced(yard(tmp_path, row)).job
    (actual,) = job.actuals
    assert (actual.site, actual.option, actual.what, actual.is_task) == ("Yard", "1", "hang sail", True)
    assert (actual.quantity, actual.unit, actual.day) == (Decimal("7.25"), "h", date(2026, 5, 4))
    assert (actual.by, actual.notes) == ("Wren", "windy")
    assert job.counts["Actuals"] == (1, 0)


@pytest.mark.parametrize(
    "what", ["hang sail", "hang-sail", "dig", "place concrete", "travel", "CON-TRUCK", "travel-km"]
)
def test_tasks_and_codes_are_known_by_name(tmp_path: Path, what: str) -> None:
    used = only(yard(tmp_path, {"What": what, "Quantity": 1, "Unit": None}))
    assert used.planned_quantity > 0
    assert used.is_task is (not what.startswith(("CON", "travel-")))


def test_a_row_of_extras_is_known_by_its_description(tmp_path: Path) -> None:
    extra = {"Site": "Yard", "Description": "Lift paving", "Quantity": 2, "Unit": "each", "Cost each": 35}
    used = only(yard(tmp_path, {"What": "lift paving", "Quantity": 5}, extras=[extra]))
    assert (used.planned_quantity, used.unit) == (Decimal(2), "each")
    assert used.used_cost - used.planned_cost == Decimal("105.00")


WRONG: list[tuple[dict[str, Any], list[tuple[str, str, str]]]] = [
    ({"What": "hagn sail", "Quantity": 1, "Unit": "h"}, [("actual-unknown", "error", "C2")]),
    ({"What": None, "Quantity": 1, "Unit": "h"}, [("blank", "error", "C2")]),
    ({"What": "dig", "Quantity": None, "Unit": "h"}, [("blank", "error", "D2")]),
    ({"What": "dig", "Quantity": "a lot", "Unit": "h"}, [("not-a-number", "error", "D2")]),
    ({"What": "dig", "Quantity": -1, "Unit": "h"}, [("out-of-bounds", "error", "D2")]),
    ({"What": "dig", "Quantity": 1, "Unit": "days"}, [("unit-mismatch", "error", "E2")]),
    ({"What": "CON-TRUCK", "Quantity": 1, "Unit": "bag"}, [("unit-mismatch", "error", "E2")]),
    ({"Site": "Yrad", "What": "dig", "Quantity": 1, "Unit": "h"}, [("site-unknown", "error", "A2")]),
    ({"Option": "9", "What": "dig", "Quantity": 1, "Unit": "h"}, [("option-unknown", "error", "B2")]),
    ({"What": "dig", "Quantity": 1, "Unit": "h", "Day": "3/4/26"}, [("ask-date", "error", "F2")]),
]  # fmt: skip


@pytest.mark.parametrize(("row", "expected"), WRONG, ids=[str(code) for _, code in WRONG])
def test_a_slip_is_told_at_its_cell_and_takes_no_price_away(
    tmp_path: Path, row: dict[str, Any], expected: list[tuple[str, str, str]]
) -> None:
    columns = {"Site": None, "Option": None, "What": None, "Quantity": None, "Unit": None, "Day": None}
    outcome = run(yard(tmp_path, {**columns, **row}))
    assert said(outcome) == expected
    assert exit_status(outcome) == 0
    assert outcome.priced is not None
    plain = priced(yard(tmp_path))
    assert outcome.priced.totals == plain.totals


def test_a_hint_is_given(tmp_path: Path) -> None:
    outcome = run(yard(tmp_path, {"What": "hagn sail", "Quantity": 1, "Unit": "h"}))
    (message,) = [p.message for p in outcome.problems if p.code == "actual-unknown"]
    assert "Did you mean 'hang sail'?" in message


def test_a_sheet_without_its_headings_takes_no_price_away(tmp_path: Path) -> None:
    outcome = run(yard(tmp_path, {"Task": "dig", "Hours": 4}))
    assert [level for _, level, _ in said(outcome)][:1] == ["error"]
    assert exit_status(outcome) == 0


def test_a_blank_unit_is_told_once_and_taken_as_the_line_has_it(tmp_path: Path) -> None:
    outcome = run(yard(tmp_path, {"What": "dig", "Quantity": 1}, {"What": "CON-TRUCK", "Quantity": 2}))
    assert [(c, lv) for c, lv, _ in said(outcome)] == [("actual-unit-blank", "note")]
    assert outcome.priced is not None
    assert [u.unit for u in outcome.priced.used] == ["h", "m3"]


def test_units_are_turned_and_rows_add_up(tmp_path: Path) -> None:
    rows = [{"What": "dig", "Quantity": 90, "Unit": "min"}, {"What": "dig", "Quantity": 2, "Unit": "h"}]
    assert only(yard(tmp_path, *rows)).used == Decimal("3.5")


def test_actuals_change_no_price(tmp_path: Path) -> None:
    assert priced(yard(tmp_path, {"What": "dig", "Quantity": 99})).totals == priced(yard(tmp_path)).totals


def test_a_blank_option_is_the_chosen_one_and_another_is_not_counted(tmp_path: Path) -> None:
    rows = [{"Site": "Deck", "Option": o, "What": "dig", "Quantity": 5, "Unit": "h"} for o in (None, "1", "2")]
    job = priced(two_sites(tmp_path, *rows))
    assert [(u.site, u.option, u.used, u.counted) for u in job.used] == [
        ("Deck", "1", Decimal(10), True),
        ("Deck", "2", Decimal(5), False),
    ]
    (first, _) = job.used
    assert after_job(job).hours == first.used_cost - first.planned_cost


def test_a_row_without_a_site_is_of_all_chosen_options(tmp_path: Path) -> None:
    used = only(two_sites(tmp_path, {"What": "dig", "Quantity": 5, "Unit": "h"}))
    job = priced(two_sites(tmp_path))
    hours = sum(h.hours for o in job.options if o.chosen for h in o.taken.hours if h.task == "dig")
    assert float(used.planned_quantity) == pytest.approx(hours, rel=1e-12)
    assert {(p.site, p.option) for p in used.planned} == {("Yard", "1"), ("Deck", "1")}


def test_rows_of_the_job_and_of_its_sites_are_held_against_the_plan_once(tmp_path: Path) -> None:
    rows = [{"Site": None, "What": "dig", "Quantity": 5}, {"Site": "Deck", "What": "dig", "Quantity": 2}]
    used = only(two_sites(tmp_path, *rows))
    assert used.used == Decimal(7)
    assert {p.site for p in used.planned} == {"Yard", "Deck"}


def test_an_option_without_its_site_is_asked_about(tmp_path: Path) -> None:
    outcome = run(two_sites(tmp_path, {"Site": None, "Option": "2", "What": "dig", "Quantity": 5, "Unit": "h"}))
    assert said(outcome) == [("actual-without-site", "error", "A2")]


def test_what_was_not_planned_is_told_and_its_cost_counted(tmp_path: Path) -> None:
    outcome = run(yard(tmp_path, {"What": "tighten rope grips again", "Quantity": 2, "Unit": "h"}))
    assert said(outcome) == [("actual-not-planned", "warning", "A2")]
    assert outcome.priced is not None
    (used,) = outcome.priced.used
    rate = outcome.priced.book.trades["installer"].cost_per_hour
    assert (used.planned, used.rate, used.by_rows) == ((), rate, False)
    assert after_job(outcome.priced).hours == 2 * rate


def test_an_option_without_a_price_has_no_plan(tmp_path: Path) -> None:
    row = {"What": "dig", "Quantity": 2, "Unit": "h"}
    for site in ("Yard", None):
        outcome = run(yard(tmp_path, {"Site": site, **row}, options=[option("A B C D", "SQ-7000")]))
        assert [c for c, *_ in said(outcome)] == ["actual-no-price"]
        assert outcome.priced is not None
        assert outcome.priced.used == ()


def test_without_a_chosen_option_there_is_no_plan(tmp_path: Path) -> None:
    options = [option("A B C D", "SQ-5000", "1"), option("A B C D", "SQ-4000", "2")]
    row = {"Site": "Yard", "What": "dig", "Quantity": 2, "Unit": "h"}
    assert [c for c, *_ in said(run(yard(tmp_path, row, options=options)))] == ["actual-no-chosen"]


def test_hours_typed_instead_of_a_task_are_compared_and_teach_nothing(tmp_path: Path) -> None:
    typed = {"Site": "Yard", "Description": "Vacuum dig", "Quantity": 4, "Unit": "h", "Cost each": 90, "Kind": "labour",
             "Visit": "footings", "Instead of": "dig"}  # fmt: skip
    used = only(yard(tmp_path, {"What": "dig", "Quantity": 6, "Unit": "h"}, extras=[typed]))
    assert (used.planned_quantity, used.used_cost, used.by_rows) == (Decimal(4), Decimal("540.00"), False)


def test_one_code_in_two_units_is_told(tmp_path: Path) -> None:
    typed = {"Site": "Deck", "Option": "1", "Description": "Concrete", "Quantity": 30, "Unit": "bag", "Cost each": 9,
             "Kind": "material", "Instead of": "CON-TRUCK"}  # fmt: skip
    path = two_sites(tmp_path, {"What": "CON-TRUCK", "Quantity": 3, "Unit": "m3"})
    book = load_workbook(path)
    sheet = book.create_sheet("Extras")
    sheet.append(list(typed))
    sheet.append(list(typed.values()))
    book.save(path)
    outcome = run(path)
    assert ("actual-two-units", "warning") in [(c, lv) for c, lv, _ in said(outcome)]
    assert outcome.priced is not None
    (used,) = outcome.priced.used
    assert {p.line.unit for p in used.planned} == {"m3"}


def test_what_is_left_of_the_price(tmp_path: Path) -> None:
    rows = [{"What": "hang sail", "Quantity": 3, "Unit": "h"}, {"What": "CON-TRUCK", "Quantity": 3, "Unit": "m3"}]
    job = priced(yard(tmp_path, *rows))
    after = after_job(job)
    hang, concrete = job.used
    assert after.hours == 2 * job.book.trades["installer"].cost_per_hour  # 1 h was planned
    assert after.quantities == concrete.used_cost - concrete.planned_cost
    assert after.cost_after == job.totals.cost + after.hours + after.quantities
    assert after.left - after.left_after == after.hours + after.quantities
    assert hang.is_task
    assert not concrete.is_task


def test_a_task_of_the_whole_job_is_planned_in_its_own_lines(tmp_path: Path) -> None:
    from tests.rate_books import with_changes

    def add(rows: list[dict[str, str]]) -> None:
        rows.append({**rows[0], "task": "load the van", "for each": "job", "measure": "count", "hours": "2"})

    rates = with_changes(tmp_path / "rates", {"labour": add})
    outcome = run(yard(tmp_path, {"What": "load the van", "Quantity": 3, "Unit": "h"}), rates)
    assert outcome.priced is not None
    (used,) = outcome.priced.used
    assert used.planned_quantity == Decimal(2)
    assert used.by_rows
    assert [(p.site, p.option) for p in used.planned] == [("", "")]


def test_the_example_row_is_skipped(tmp_path: Path) -> None:
    job = priced(yard(tmp_path, {"Site": "EXAMPLE", "What": "hang sail", "Quantity": 6.5}))
    assert job.job.actuals == ()
    assert job.used == ()


def test_a_job_without_a_hole_plans_no_digging(tmp_path: Path) -> None:
    """Hours of it are named and not compared."""
    fixings = [fixing(n, x, y, 2.6, "beam") for n, (x, y) in zip("ABC", ((0, 0), (6.2, 0), (3.1, 5.4)), strict=True)]
    row = {"What": "dig", "Quantity": 1, "Unit": "h"}
    outcome = run(yard(tmp_path, row, fixings=fixings, options=[option("A B C", "TRI-5000")]))
    assert ("actual-not-planned", "warning", "A2") in said(outcome)
