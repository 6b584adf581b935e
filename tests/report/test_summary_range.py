"""The range of the price in the priced workbook: figures, chart, and who never sees it."""

from __future__ import annotations

import re
import shutil
import zipfile
from decimal import Decimal
from html import unescape
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob
from estimator.report import summary_range
from estimator.report.book import render_sheets
from estimator.report.package.audit import audit
from tests import office
from tests.build import DAY, option, run, square, write_job
from tests.rates.with_ends import without_ranges

D = Decimal
HEAD = "Range of the price, indicative"


def job(tmp_path: Path, **header: Any) -> Path:
    return write_job(
        tmp_path / "yard.xlsx",
        job=header,
        sites=[{"Site": "Yard", "Ground": "unknown", "Access": "easy", "Travel": 12}],
        fixings=square(5),
        options=[option("A B C D", "SQ-4000", name="one", Chosen="yes"), option("A B C D", "SQ-3600", name="two")],
    )


def priced(path: Path, rates: Path | None = None) -> PricedJob:
    outcome = run(path, rates)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def summary(data: bytes, name: str = "Summary") -> list[list[Any]]:
    sheet = load_workbook(BytesIO(data), data_only=True)[name]
    return [[c.value for c in row] for row in sheet.iter_rows()]


def row_of(rows: list[list[Any]], words: str) -> list[Any]:
    return next(r for r in rows if any(str(c).startswith(words) for c in r if c is not None))


def charts(data: bytes) -> dict[str, str]:
    with zipfile.ZipFile(BytesIO(data)) as file:
        return {n: file.read(n).decode("utf-8") for n in file.namelist() if "/charts/" in n and "rels" not in n}


def test_low_middle_and_high_stand_under_the_columns_they_belong_to(tmp_path: Path) -> None:
    made = priced(job(tmp_path))
    found = made.ranged
    assert found is not None
    rows = summary(render_sheets(made, drawings=False))
    assert row_of(rows, HEAD)
    cost, before, price = summary_range.IN_COST, summary_range.IN_BEFORE, summary_range.IN_PRICE
    for words, name in summary_range.ROWS:
        row = row_of(rows, words)
        for column, spread in ((cost, found.cost), (before, found.before_tax), (price, found.price)):
            assert row[column] == float(getattr(spread, name))
    as_priced = row_of(rows, "As priced")
    totals = made.totals
    assert [as_priced[c] for c in (cost, before, price)] == [
        float(totals.cost),
        float(totals.price_before_tax),
        float(totals.price),
    ]


def test_the_contingency_in_the_price_stands_beside_the_one_that_is_justified(tmp_path: Path) -> None:
    made = priced(job(tmp_path, Contingency="3 %"))
    found, cost = made.ranged, made.totals.cost
    assert found is not None
    assert found.justified is not None
    rows = summary(render_sheets(made, drawings=False))
    held, justified = row_of(rows, "In the price"), row_of(rows, "Justified by the range: enough in 80 %")
    column = summary_range.IN_COST
    assert held[column : column + 2] == [float(found.contingency), pytest.approx(float(found.contingency / cost))]
    assert justified[column : column + 2] == [float(found.justified), pytest.approx(float(found.justified / cost))]
    enough = row_of(rows, "Chance that the contingency in the price is enough")[column]
    assert enough == summary_range.chance_words(found.enough)


def test_the_chart_draws_the_movers_that_stand_beside_it(tmp_path: Path) -> None:
    made = priced(job(tmp_path))
    assert made.ranged is not None
    movers = made.ranged.price.movers
    assert movers[0].name == "digging (ground unknown), hours"
    data = render_sheets(made, {"Summary": "Dad's sums"}, drawings=False)
    (chart,) = charts(data).values()
    sheet = load_workbook(BytesIO(data), data_only=True)["Dad's sums"]
    places = [unescape(p) for p in re.findall(r"<c:f>([^<]*)</c:f>", chart)]
    assert len(places) == 4
    assert all(p.startswith("'Dad''s sums'!$") for p in places)
    values = {p: [c.value for (c,) in sheet[p.rpartition("!")[2]]] for p in places}
    names, lows, _, highs = (values[p] for p in places)
    assert names == [m.name for m in movers]
    assert lows == [float(m.at_low) for m in movers]
    assert highs == [float(m.at_high) for m in movers]
    cached = [float(v) for v in re.findall(r"<c:v>(-?[\d.]+)</c:v>", chart)]
    assert cached == pytest.approx(lows + highs)


def test_the_chart_keeps_to_its_cells_and_drawings_to_their_size(tmp_path: Path) -> None:
    data = render_sheets(priced(job(tmp_path)))
    with zipfile.ZipFile(BytesIO(data)) as file:
        drawn = [file.read(n).decode() for n in file.namelist() if re.fullmatch(r"xl/drawings/drawing\d+\.xml", n)]
    assert len(drawn) == 2  # Summary, Set-out
    for drawing in drawn:
        chart = "graphicFrame" in drawing
        assert ("twoCellAnchor" in drawing) is chart
        assert ("oneCellAnchor" in drawing) is not chart
        assert 'cx="0"' not in drawing.replace('<a:ext cx="0" cy="0"/>', "" if chart else "x")


def test_the_chart_is_carried_into_the_workbook_of_the_user_and_once(tmp_path: Path) -> None:
    first = price_file(job(tmp_path), today=DAY, quote=False, crew=False)
    assert first.status == 0
    out = first.written[0]
    data = out.read_bytes()
    assert audit(data) == []
    assert len(charts(data)) == 1
    again = price_file(out, today=DAY, quote=False, crew=False)
    assert list(again.written) == [out]
    assert out.read_bytes() == data


def test_the_chart_goes_with_the_range(tmp_path: Path) -> None:
    out = price_file(job(tmp_path), today=DAY, quote=False, crew=False).written[0]
    price_file(out, without_ranges(tmp_path / "book"), today=DAY, quote=False, crew=False)
    data = out.read_bytes()
    assert audit(data) == []
    assert charts(data) == {}
    assert not any(HEAD in str(c) for row in summary(data) for c in row)


def test_a_chart_of_the_user_stays(tmp_path: Path) -> None:
    from openpyxl.chart import BarChart, Reference

    path = job(tmp_path)
    book = load_workbook(path)
    own = book.create_sheet("Mine")
    for row in ((1, 2), (3, 4)):
        own.append(row)
    chart = BarChart()
    chart.add_data(Reference(own, min_col=1, max_col=2, min_row=1, max_row=2))
    own.add_chart(chart, "D2")
    book.save(path)
    theirs = charts(path.read_bytes())
    out = price_file(path, today=DAY, quote=False, crew=False).written[0]
    found = charts(out.read_bytes())
    assert len(found) == len(theirs) + 1 == 2
    assert all(found[name] == text for name, text in theirs.items())
    assert audit(out.read_bytes()) == []


def test_basis_says_how_it_came_about_and_every_low_and_high(tmp_path: Path) -> None:
    made = priced(job(tmp_path))
    assert made.ranged is not None
    rows = summary(render_sheets(made, drawings=False), "Basis")
    assert "beta-PERT" in str(row_of(rows, "Range of the price"))
    for r in made.ranged.rows:
        row = next(x for x in rows if r.name in x and (r.group or "alone") in x)
        assert row[2:4] == [r.low, r.high]
        assert row[4] == pytest.approx(float(r.weight))
        assert "common practice, no source" in str(row[5])
        assert "from 2020-01-01" in str(row[5])


def test_without_low_and_high_there_is_no_block_and_basis_says_why(tmp_path: Path) -> None:
    made = priced(job(tmp_path), without_ranges(tmp_path / "book"))
    data = render_sheets(made, drawings=False)
    assert charts(data) == {}
    assert not any(HEAD in str(c) for row in summary(data) for c in row)
    assert "No row of the rate book has a low or high value" in str(
        row_of(summary(data, "Basis"), "Range of the price")
    )


def test_neither_customer_nor_crew_is_told(tmp_path: Path) -> None:
    path = job(tmp_path, Status="budget")
    made = priced(path)
    assert made.ranged is not None
    done = price_file(path, today=DAY, with_json=True)
    told = [p for p in done.written if "-quote" in p.name or "-crew" in p.name]
    assert len([p for p in told if p.suffix == ".xlsx"]) == 2
    drawn = {f"{getattr(s, name):,.2f}" for s in (made.ranged.price, made.ranged.before_tax, made.ranged.cost)
             for name in ("low10", "middle50", "high90", "mean", "sd")}  # fmt: skip
    for file in told:
        if file.suffix != ".xlsx":
            continue
        assert charts(file.read_bytes()) == {}
        words = [str(c) for s in load_workbook(file).worksheets for row in s.iter_rows(values_only=True) for c in row]
        assert not any("indicative" in w and "ange of the price" in w for w in words)
        assert not any("beta" in w or "one in ten" in w or "moves the price" in w for w in words)
        assert not any(money in w for w in words for money in drawn)


@pytest.mark.office
def test_a_recalculation_leaves_what_was_drawn(tmp_path: Path) -> None:
    out = price_file(job(tmp_path), today=DAY, quote=False, crew=False, drawings=False).written[0]
    if office.program() is None:
        office.absent("range of the price")
        return
    before = tmp_path / "before.xlsx"
    shutil.copy(out, before)
    (after,) = office.recalculate([before], tmp_path / "again")
    was, now = summary(before.read_bytes()), summary(after.read_bytes())
    block = next(i for i, row in enumerate(was) if any(str(c) == HEAD for c in row))
    figures = 0
    for old, new in zip(was[block:], now[block:], strict=False):
        for a, b in zip(old, new, strict=False):
            if isinstance(a, int | float):
                assert b == pytest.approx(a, abs=1e-9, rel=1e-12)
                figures += 1
    assert figures >= 3 * 6 + 4 + 2 * 5
    # the chart is still there, with its five inputs
    assert len(charts(after.read_bytes())) == 1


@pytest.mark.parametrize(("page", "breaks"), [(5000.0, False), (600.0, True)])
def test_a_page_keeps_the_block_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, page: float, breaks: bool
) -> None:
    monkeypatch.setattr(summary_range, "_page_high", lambda paper, widths: page)
    data = render_sheets(priced(job(tmp_path)), drawings=False)
    with zipfile.ZipFile(BytesIO(data)) as file:
        sheet = file.read("xl/worksheets/sheet1.xml").decode()
    head = next(i for i, row in enumerate(summary(data), start=1) if any(str(c) == HEAD for c in row))
    assert re.findall(r'<brk id="(\d+)"', sheet) == ([str(head - 1)] if breaks else [])
