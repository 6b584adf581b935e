"""Sheet `Order`: every row is in its sum, a recalculation changes no cent, and nobody but the office sees it."""

from __future__ import annotations

import re
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from estimator.core.names import key
from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob
from estimator.report.book import render_sheets
from tests import office
from tests.build import DAY, write_job
from tests.pricing.orders import extra, priced, yards
from tests.rate_books import put, with_changes

SUM, BILLED = "L", "N"
EXTRAS = [
    extra("At the top", 3, Site="One", Kind="material", **{"Cost each": 10.01}),
    extra("In the middle", 2, Site="One", Kind="material", **{"Cost each": 20.02}),
    extra("At the end", 1, Site="Two", Kind="material", **{"Cost each": 30.03}),
]
TERMS = {"Finish by": date(2026, 6, 30)}


def rows() -> dict[str, Any]:
    """Two sites with wire rope, small and large loads of concrete, and typed things."""
    made = yards("One", "Two", Post="SHS-100")
    for row in made["options"]:
        row["Run"] = "chain, A wire rope"
    for row in made["fixings"]:
        row["Hole (m)"], row["Depth (m)"] = (0.6, 1.2) if row["Site"] == "One" else (0.3, 0.5)
    return {**made, "extras": [*EXTRAS, extra("Spare rope", 3, "m", Item="WR-6")]}


def sheet_of(path: Path, job: PricedJob, name: str = "Order") -> tuple[Worksheet, Worksheet]:
    """The sheet with its formulas, and with its values."""
    path.write_bytes(render_sheets(job, drawings=False))
    return load_workbook(path)[name], load_workbook(path, data_only=True)[name]


def test_it_stands_between_the_hours_and_the_set_out(tmp_path: Path) -> None:
    path = tmp_path / "sheets.xlsx"
    path.write_bytes(render_sheets(priced(tmp_path, **rows()), drawings=False))
    names = load_workbook(path, read_only=True).sheetnames
    assert names.index("Labour") < names.index("Order") < names.index("Set-out")


def test_every_row_of_a_supplier_is_in_its_sum(tmp_path: Path) -> None:
    job = priced(tmp_path, **rows())
    assert job.order is not None
    formulas, values = sheet_of(tmp_path / "sheets.xlsx", job)
    sums = [r for r in range(1, formulas.max_row + 1) if formulas[f"C{r}"].value == "together"]
    assert len(sums) == len(job.order.suppliers)
    seen: list[str] = []
    for row, supplier in zip(sums, job.order.suppliers, strict=True):
        found = re.fullmatch(rf"=ROUND\(SUM\({SUM}(\d+):{SUM}(\d+)\),2\)", formulas[f"{SUM}{row}"].value)
        assert found
        first, last = int(found[1]), int(found[2])
        assert formulas[f"A{first - 1}"].value == "Code"  # the first row under the headings
        assert last == row - 1  # and the last one above the sum
        assert values[f"{SUM}{row}"].value == pytest.approx(float(supplier.goods), abs=1e-9)
        assert sum(values[f"{SUM}{r}"].value for r in range(first, last + 1)) == pytest.approx(float(supplier.goods))
        seen += [formulas[f"C{r}"].value for r in range(first, last + 1)]
    assert sorted(seen) == sorted(r.description for r in job.order.rows)
    assert {e["Description"] for e in EXTRAS} <= set(seen)


def test_the_sums_above_are_those_below_and_the_bill_s(tmp_path: Path) -> None:
    job = priced(tmp_path, job=TERMS, **rows())
    assert job.order is not None
    formulas, values = sheet_of(tmp_path / "sheets.xlsx", job)
    at = {values[f"C{r}"].value: r for r in range(1, 30)}
    row = at["Goods ordered, and the same in the bill"]
    assert values[f"{SUM}{row}"].value == pytest.approx(float(job.order.goods))
    assert values[f"{BILLED}{row}"].value == pytest.approx(float(job.order.billed))
    less = at["Order less than the bill (more: minus)"]
    assert values[f"{BILLED}{less}"].value == pytest.approx(float(job.order.billed - job.order.goods))
    # what the bill has is pointed at, cell by cell
    bills = [f for row in formulas.iter_rows() for c in row if "'Bill'!" in (f := str(c.value))]
    assert len(bills) == sum(1 for r in job.order.rows if r.lines)
    assert "2026-06-09" in {values[f"D{r}"].value for r in range(1, 30)}  # 14 days, and 7 for the concrete


def test_the_cutting_plan_names_every_post_once(tmp_path: Path) -> None:
    _, values = sheet_of(tmp_path / "sheets.xlsx", priced(tmp_path, **rows()))
    told = " ".join(str(c.value) for c in values["E"] if c.value)
    for site in ("One", "Two"):
        for post in "ABCD":
            assert len(re.findall(rf"{site}: {post} \d", told)) == 1
    verdicts = [str(c.value) for c in values["A"] if c.value and "proved" in str(c.value)]
    assert any(v == "SHS-100: no other plan costs less (proved); a cut takes 0.003 m." for v in verdicts)
    assert any(v.startswith("CH-8:") and v.endswith("a cut spoils one link.") for v in verdicts)


def test_every_way_to_buy_concrete_is_shown_and_one_taken(tmp_path: Path) -> None:
    _, values = sheet_of(tmp_path / "sheets.xlsx", priced(tmp_path, **rows()))
    top = next(c.row for c in values["A"] if c.value == "Concrete, by hand, with a mixer or by truck")
    said = [str(values[f"D{r}"].value or "") for r in range(top, values.max_row + 1)]
    assert sum(s.startswith("taken") for s in said) == 2
    assert sum(s.endswith("in the bill") for s in said) == 2
    told = " ".join(str(values[f"A{r}"].value or "") for r in range(top, values.max_row + 1))
    assert told.count("Running short by as much would cost") == 2


def test_nothing_to_buy_is_said(tmp_path: Path) -> None:
    made = rows()
    made["extras"] = []
    for row in made["options"]:
        row["Size"] = "9 x 9 m"
    _, values = sheet_of(tmp_path / "sheets.xlsx", priced(tmp_path, **made))
    told = [str(c.value) for c in values["A"] if c.value]
    assert any(t.startswith("Nothing to buy") for t in told)
    assert "INCOMPLETE: without One, Two, which has no chosen option with a price." in told


def test_a_colour_that_nobody_named_is_asked(tmp_path: Path) -> None:
    made = rows()
    made["options"][0]["Colour"] = None
    _, values = sheet_of(tmp_path / "sheets.xlsx", priced(tmp_path, **made))
    assert "No colour is named for SQ-5000: ask before it is ordered." in {c.value for c in values["A"]}
    assert [c.value for c in values["D"]].count("to be asked") == 1


def books(folder: Path) -> list[Path]:
    """Priced jobs with everything an order can hold, and rates that do not divide."""
    awkward = {
        "rigging": put("code", "CH-8", **{"stock lengths (m)": "1.3, 7.7", "stock prices": "11.11; 61.37"}),
        "posts": put("code", "SHS-100", price="46.23457", **{"stock prices": "", "price breaks": "9: 44.44443"}),
        "concrete": put("code", "CON-TRUCK", price="234.567", **{"waiting price": "94.99", "largest load (m3)": "0.7"}),
        "suppliers": put("supplier", "Harbour Row Cloth Loft", **{"minimum order": "1234.56"}),
    }
    rates = with_changes(folder / "rates", awkward)
    found = []
    for name, job in (
        ("plain", {}),
        ("feet", {"Units": "feet and inches", "Currency": "$"}),
        ("days", TERMS),
    ):
        (folder / name).mkdir()
        path = write_job(folder / name / f"{name}.xlsx", job=job, **rows())
        done = price_file(path, rates, today=DAY, quote=False, crew=False, drawings=False)
        assert done.status == 0, done.problems
        found.append(done.written[0])
    return found


@pytest.mark.office
def test_a_recalculation_changes_no_figure_of_the_order(tmp_path: Path) -> None:
    before = books(tmp_path)
    if office.program() is None:
        office.absent("the order")
        return
    for was, now in zip(before, office.recalculate(before, tmp_path / "out"), strict=True):
        ours = {c: (f, v) for s, c, f, v in office.formula_cells(was) if s == "Order"}
        theirs = {c: v for s, c, _, v in office.formula_cells(now) if s == "Order"}
        assert ours.keys() == theirs.keys()
        assert len(ours) > 100
        for place, (formula, value) in ours.items():
            assert isinstance(value, int | float), (was.name, place, formula, value)
            assert theirs[place] == pytest.approx(value, abs=1e-9, rel=1e-12), (was.name, place, formula)


def test_nobody_else_sees_from_whom_it_is_bought(tmp_path: Path) -> None:
    path = write_job(tmp_path / "yard.xlsx", job=TERMS, **rows())
    done = price_file(path, today=DAY, drawings=False)
    assert done.outcome is not None
    assert done.outcome.priced is not None
    book = done.outcome.priced.book
    codes = {b.code for b in book.buying.values() if len(b.code) > 4}
    names = {s.name for s in book.suppliers.values()}
    copies = [p for p in done.written if ("quote" in p.name or "crew" in p.name) and p.suffix == ".xlsx"]
    assert len(copies) == 2
    for copy in copies:
        with zipfile.ZipFile(copy) as z:
            text = key("\n".join(z.read(n).decode("utf-8", "replace") for n in z.namelist() if n.endswith(".xml")))
        for word in (*names, *codes, "cutting plan", "least order"):
            assert not re.search(rf"(?<![\w-]){re.escape(key(word))}(?![\w-])", text), (copy.name, word)
    (office_copy,) = [p for p in done.written if p.name == "yard-priced.xlsx"]
    with zipfile.ZipFile(office_copy) as z:
        told = "".join(z.read(n).decode("utf-8") for n in z.namelist() if "sharedStrings" in n)
    assert "Quayside Steel Stock" in told
