"""One broken table for each mistake: the error stands at its cell and the book is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.rates.columns import KEYS, MAY_LACK, RATE_TABLES
from estimator.rates.read import load_rates
from estimator.rates.settings import SETTINGS
from tests.rates.books import DAY, Rows, cell_of, changed, column_of, copy_book, errors, rows_of, with_cell


def row_of(table: str, *names: str) -> int:
    """The row of the sheet whose first cells are these."""
    return next(i for i, row in enumerate(rows_of(table), start=1) if tuple(row[: len(names)]) == names)


CELLS = [
    ("settings", "lean", "value", "five", "not-a-number"),
    ("settings", "lean", "value", "45", "out-of-bounds"),
    ("settings", "lean", "unit", "mm", "unit-wrong-kind"),
    ("settings", "cut-off", "unit", "", "out-of-bounds"),
    ("settings", "cut-off", "value", "", "blank"),
    ("settings", "footing rule", "value", "deep enough", "not-a-choice"),
    ("settings", "tax by", "value", "sail", "not-a-choice"),
    ("settings", "top margin", "unit", "mm", "rate-cell"),
    ("settings", "cure before hanging", "unit", "h", "rate-cell"),
    ("settings", "crew", "unit", "kg", "rate-cell"),
    ("settings", "travel speed", "unit", "kg", "unit-wrong-kind"),
    ("settings", "digging visit", "value", "digging", "rate-cell"),
    ("settings", "concrete trade", "value", "plumber", "rate-reference"),
    ("settings", "usual cloth", "value", "SILK", "rate-reference"),
    ("settings", "stone item", "value", "gravel", "rate-reference"),
    ("wording", "care", "place", "cure", "not-a-choice"),
    ("wording", "rock", "when", "stones", "not-a-choice"),
    ("wording", "rock", "text", "", "blank"),
    ("sails", "SQ-5000", "sides", "5 5 5 5 m", "size-needs-diagonal"),
    ("sails", "SQ-5000", "sides", "big", "rate-cell"),
    ("sails", "SQ-5000", "cloth", "SILK", "rate-reference"),
    ("sails", "SQ-5000", "price", "cheap", "not-a-number"),
    ("sails", "SQ-5000", "price", "-1", "out-of-bounds"),
    ("sails", "SQ-5000", "rings sewn in", "maybe", "not-yes-or-no"),
    ("cloths", "KNIT-LIGHT", "stretch", "60", "out-of-bounds"),
    ("cloths", "KNIT-LIGHT", "waterproof", "perhaps", "not-yes-or-no"),
    ("cloths", "KNIT-LIGHT", "minimum fall", "5 m", "unit-wrong-kind"),
    ("cloths", "KNIT-LIGHT", "mass", "200 m", "unit-not-wanted"),
    ("rigging", "CH-6", "pitch", "18.5 kg", "unit-wrong-kind"),
    ("rigging", "CH-6", "pitch", "18500", "out-of-bounds"),
    ("rigging", "CH-6", "pitch", "", "rate-part-blank"),
    ("rigging", "CH-6", "kind", "chian", "not-a-choice"),
    ("rigging", "CH-6", "per", "each", "rate-per"),
    ("rigging", "WR-6", "turn back", "", "rate-part-blank"),
    ("rigging", "WR-6", "grips per end", "2.5", "not-whole"),
    ("rigging", "TEN-M10", "open", "150", "rate-part-lengths"),
    ("rigging", "EYE-M12", "length", "", "rate-part-blank"),
    ("corner_sets", "light", "eye", "EYE-M13", "rate-reference"),
    ("corner_sets", "light", "eye", "SHK-08", "rate-part-kind"),
    ("corner_sets", "light", "tensioners", "TEN-M10, CH-6", "rate-part-kind"),
    ("corner_sets", "light", "up to", "", "blank"),
    ("posts", "LT-125", "width", "125 m", "out-of-bounds"),
    ("posts", "LT-125", "stock lengths", "2.4, long", "not-a-number"),
    ("posts", "LT-125", "stock lengths", "2.4, 300", "out-of-bounds"),
    ("posts", "LT-125", "shape", "oval", "not-a-choice"),
    ("posts", "LT-125", "per", "m2", "rate-per"),
    ("supports", "rafter", "priced", "perhaps", "not-a-choice"),
    ("supports", "rafter", "kit", "rafters", "rate-reference"),
    ("supports", "rafter", "makes", "wall", "not-a-choice"),
    ("ground", "firm", "stone layer", "100 m", "out-of-bounds"),
    ("ground", "firm", "swell", "0.5", "out-of-bounds"),
    ("ground", "firm", "lateral bearing", "0.001", "out-of-bounds"),
    ("access", "crane", "hire item", "hire-balloon", "rate-reference"),
    ("footing_depths", "3", "depth", "", "blank"),
    ("concrete", "CON-TRUCK", "per", "bag", "rate-per"),
    ("concrete", "CON-BAG-20", "form", "sack", "not-a-choice"),
    ("items", "stone-20mm", "unit", "bag", "rate-per"),
    ("items", "stone-20mm", "kind", "stone", "not-a-choice"),
    ("items", "travel-km", "price", "", "blank"),
    ("kits", "rafter", "item", "bracket", "rate-reference"),
    ("kits", "rafter", "measure", "length", "rate-measure"),
    ("kits", "rafter", "for each", "rafter", "not-a-choice"),
    ("kits", "rafter", "quantity", "-1", "out-of-bounds"),
    ("labour", "survey", "trade", "plumber", "rate-reference"),
    ("labour", "survey", "measure", "area", "rate-measure"),
    ("labour", "survey", "visit", "tuesday", "not-a-choice"),
    ("labour", "survey", "hours", "2 days", "not-a-number"),
    ("trades", "installer", "cost per hour", "much", "not-a-number"),
    ("wages", "rigger", "trade", "plumber", "rate-reference"),
    ("wages", "rigger", "billable hours a year", "0", "out-of-bounds"),
    ("deposit_caps", "Millbrook", "cap", "120", "out-of-bounds"),
    ("deposit_caps", "Millbrook", "customer is", "both", "not-a-choice"),
    ("payment_stages", "within seven days after hand-over", "share", "90", "stages-sum"),
    ("payment_stages", "within seven days after hand-over", "when", "tuesday", "not-a-choice"),
    ("digging_limits", "hand", "trade", "plumber", "rate-reference"),
    ("digging_limits", "hand", "trade", "", "digging-limit-bare"),
    ("digging_limits", "auger", "item", "hire-balloon", "rate-reference"),
    ("items", "tip-fee", "price is", "by phone", "not-a-choice"),
    ("items", "tip-fee", "valid until", "1/2/26", "ask-date"),
    ("charges", "margin", "rate", "100", "rate-margin"),
    ("charges", "margin", "taken on", "profit", "not-a-choice"),
    ("taxes", "ST", "rate", "110", "out-of-bounds"),
    ("taxes", "ST", "on kinds", "material, pets", "rate-cell"),
    ("sails", "SQ-5000", "supplier", "Nobody", "rate-reference"),
    ("items", "sealant", "lead days", "-1", "out-of-bounds"),
    ("items", "sealant", "lead days", "soon", "not-a-number"),
    ("items", "screw-coach-m12", "pack", "0", "out-of-bounds"),
    ("items", "screw-coach-m12", "pack", "-10", "out-of-bounds"),
    ("items", "screw-coach-m12", "price breaks", "50: 2.20; 20: 1.95", "rate-breaks"),
    ("items", "screw-coach-m12", "price breaks", "50: 2.20; 50: 1.95", "rate-breaks"),
    ("items", "screw-coach-m12", "price breaks", "50: 2.20; 200: 2.30", "rate-breaks"),
    ("items", "screw-coach-m12", "price breaks", "50: 2.50", "rate-breaks"),
    ("items", "screw-coach-m12", "price breaks", "50 at 2.20", "rate-cell"),
    ("items", "screw-coach-m12", "price breaks", "50:", "rate-cell"),
    ("items", "screw-coach-m12", "price breaks", "many: 2.20", "not-a-number"),
    ("items", "screw-coach-m12", "price breaks", "50: -2.20", "out-of-bounds"),
    ("items", "screw-coach-m12", "price breaks", "-50: 2.20", "out-of-bounds"),
    ("posts", "SHS-100", "stock prices", "144, 190", "rate-stock-prices"),
    ("posts", "SHS-100", "stock prices", "144, 190, 231, 268, 333, dear", "not-a-number"),
    ("posts", "SHS-100", "stock prices", "-1, 190, 231, 268, 333, 392", "out-of-bounds"),
    ("posts", "SHS-100", "price breaks", "60: 44.00", "rate-breaks-twice"),
    ("rigging", "CH-8", "stock lengths", "5, 0, 30", "out-of-bounds"),
    ("rigging", "CH-8", "stock lengths", "5, 10 kg, 30", "unit-wrong-kind"),
    ("rigging", "CH-6", "stock prices", "45", "rate-stock-prices"),
    ("rigging", "CH-10", "stock prices", "90", "rate-stock-prices"),
    ("rigging", "SHK-09", "stock lengths", "1", "rate-stock-lengths"),
    ("concrete", "CON-TRUCK", "largest load", "0", "out-of-bounds"),
    ("concrete", "CON-TRUCK", "waiting price", "-5", "out-of-bounds"),
    ("concrete", "CON-BAG-20", "mixer", "hire-balloon", "rate-reference"),
    ("suppliers", "Millbrook Timber Yard", "minimum order", "-150", "out-of-bounds"),
    ("consent", "Millbrook", "limit", "30", "rate-cell"),
    ("consent", "Millbrook", "limit", "30 m", "unit-wrong-kind"),
    ("consent", "Millbrook", "measure", "colour", "not-a-choice"),
    ("consent", "Old Quay", "when", "raining", "not-a-choice"),
    ("items", "tip-fee", "valid_from", "1/2/26", "ask-date"),
]
# Where the error does not stand in the cell that was changed but in the one that has to be put right.
ELSEWHERE = {
    ("settings", "lean", "unit"): "value",
    ("settings", "cut-off", "unit"): "value",
    ("settings", "travel speed", "unit"): "value",
}


@pytest.mark.parametrize(("table", "name", "heading", "text", "code"), CELLS)
def test_a_bad_cell_is_named(table: str, name: str, heading: str, text: str, code: str, tmp_path: Path) -> None:
    row = row_of(table, name)
    book, problems = load_rates(with_cell(tmp_path, table, row, heading, text), DAY)
    at = cell_of(table, ELSEWHERE.get((table, name, heading), heading), row)
    assert book is None
    assert (f"{table}.csv", table, at, code) in errors(problems)


@pytest.mark.parametrize("table", [t.sheet for t in RATE_TABLES])
def test_a_bad_cell_makes_no_further_errors(table: str, tmp_path: Path) -> None:
    # One row that cannot be read must not turn every row that points at it into an error of its own.
    heading = KEYS[table][0]
    book, problems = load_rates(with_cell(tmp_path, table, 2, heading, ""), DAY)
    assert book is None
    assert errors(problems) == [(f"{table}.csv", table, cell_of(table, heading, 2), "blank")]


def test_every_missing_setting_is_named(tmp_path: Path) -> None:
    kept = "lean"
    only = changed(
        tmp_path, "settings", lambda rows: rows.__setitem__(slice(1, None), [r for r in rows if r[0] == kept])
    )
    _, problems = load_rates(only, DAY)
    missing = [p.message for p in problems if p.code == "setting-missing"]
    needed = {name for name, wanted in SETTINGS.items() if not wanted.may_lack}
    assert len(missing) == len(needed) - 1
    assert all(any(f"'{name}'" in message for message in missing) for name in needed if name != kept)


def test_a_book_of_before_the_screening_still_prices(tmp_path: Path) -> None:
    book = changed(
        tmp_path,
        "settings",
        lambda rows: rows.__setitem__(
            slice(1, None), [r for r in rows[1:] if r[0] not in SETTINGS or not SETTINGS[r[0]].may_lack]
        ),
    )
    (book / "usual_lines.csv").unlink()
    found, problems = load_rates(book, DAY)
    assert found is not None
    assert found.known("air density") is None
    assert [(p.code, p.level) for p in problems] == [("rate-table-lacking", "note")]


@pytest.mark.parametrize("table", sorted(set(KEYS) - set(MAY_LACK)))
def test_a_missing_table_is_named(table: str, tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    (book / f"{table}.csv").unlink()
    found, problems = load_rates(book, DAY)
    missing = [p for p in problems if p.code == "rate-table-missing"]
    assert found is None
    assert [p.place.file for p in missing] == ["book"]
    assert f"'{table}'" in missing[0].message


@pytest.mark.parametrize("table", list(RATE_TABLES), ids=lambda t: t.sheet)
def test_a_missing_column_is_named(table, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    needed = next(c.name for c in table.columns if c.required)

    def drop(rows: Rows) -> None:
        at = column_of(table.sheet, needed)
        for row in rows:
            row.pop(at)

    found, problems = load_rates(changed(tmp_path, table.sheet, drop), DAY)
    assert found is None
    assert (f"{table.sheet}.csv", table.sheet, "A1", "heading-missing") in errors(problems)


def test_the_same_row_and_day_twice_names_both_rows(tmp_path: Path) -> None:
    _, problems = load_rates(changed(tmp_path, "trades", lambda rows: rows.append(list(rows[1]))), DAY)
    assert errors(problems) == [("trades.csv", "trades", "A5", "rate-row-twice")]
    assert "rows 2 and 5" in problems[0].message


def test_a_code_of_two_tables_names_both(tmp_path: Path) -> None:
    row = row_of("items", "tip-fee")
    _, problems = load_rates(with_cell(tmp_path, "items", row, "code", "sq-5000"), DAY)
    clash = next(p for p in problems if p.code == "rate-code-twice")
    assert f"items!A{row}" in clash.message
    assert clash.place.sheet == "sails" or "sails!A" in clash.message


def test_a_support_name_of_two_rows_is_refused(tmp_path: Path) -> None:
    first, second = row_of("supports", "rafter"), row_of("supports", "tree")
    _, problems = load_rates(with_cell(tmp_path, "supports", first, "also", "rafters, Tree"), DAY)
    assert errors(problems) == [("supports.csv", "supports", cell_of("supports", "also", second), "rate-name-twice")]
    assert f"row {first}" in problems[0].message


def test_a_set_with_neither_chain_nor_rope_is_refused(tmp_path: Path) -> None:
    def bare(rows: Rows) -> None:
        for heading in ("chain", "wire rope"):
            rows[1][column_of("corner_sets", heading)] = ""

    _, problems = load_rates(changed(tmp_path, "corner_sets", bare), DAY)
    assert [code for *_, code in errors(problems)] == ["rate-set-run"]


def test_a_quotient_needs_its_unit_in_the_heading(tmp_path: Path) -> None:
    def plain_kilograms(rows: Rows) -> None:
        rows[0][column_of("posts", "mass")] = "mass (kg)"

    _, problems = load_rates(changed(tmp_path, "posts", plain_kilograms), DAY)
    assert {code for *_, code in errors(problems)} == {"rate-heading-unit"}
    assert "has kg; write a unit such as kg/m in its brackets" in problems[0].message


def test_a_quotient_out_of_bounds_tells_them_in_its_own_unit(tmp_path: Path) -> None:
    row = row_of("ground", "firm")
    _, problems = load_rates(with_cell(tmp_path, "ground", row, "lateral bearing", "0.001"), DAY)
    told = next(p for p in problems if p.code == "out-of-bounds")
    assert "0.001 kPa/m? 'lateral bearing' lies between 0.1 kPa/m and 1000 kPa/m;" in told.message


def test_a_part_without_any_load_is_a_warning(tmp_path: Path) -> None:
    row = row_of("rigging", "CH-8")
    book, problems = load_rates(with_cell(tmp_path, "rigging", row, "breaking load", ""), DAY)
    assert book is not None
    assert [(p.level, p.code) for p in problems] == [("warning", "rate-part-load")]


def test_a_business_without_a_name_is_a_warning(tmp_path: Path) -> None:
    book, problems = load_rates(changed(tmp_path, "business", lambda rows: rows.pop(1)), DAY)
    assert book is not None
    assert [(p.level, p.code) for p in problems] == [("warning", "rate-business-name")]


def test_all_mistakes_are_found_at_once(tmp_path: Path) -> None:
    def three(rows: Rows) -> None:
        price = column_of("items", "price")
        rows[1][price], rows[3][price], rows[5][price] = "x", "", "-1"

    _, problems = load_rates(changed(tmp_path, "items", three), DAY)
    assert [code for *_, code in errors(problems)] == ["not-a-number", "blank", "out-of-bounds"]
