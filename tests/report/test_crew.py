"""The crew's workbook and the set-out pages: all that is needed on site, and no money in any byte."""

from __future__ import annotations

import re
import zipfile
from functools import cache
from io import BytesIO
from math import hypot, isclose
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.pricing.model import PricedJob
from estimator.report import crew_tables, setout
from estimator.report.book import render_sheets
from estimator.report.crew import cautions, render_crew
from tests.build import option, run, square, write_job
from tests.golden import samples
from tests.report import sample


@cache
def river() -> PricedJob:
    priced = run(samples.FOLDER / "riverside.xlsx").priced
    assert priced is not None
    return priced


@cache
def river_crew() -> bytes:
    return render_crew(river())


def parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(BytesIO(data)) as found:
        return {n: found.read(n) for n in found.namelist()}


def words(data: bytes, sheet: str) -> str:
    book = load_workbook(BytesIO(data))
    return "\n".join(str(c.value) for r in book[sheet].iter_rows() for c in r if c.value is not None)


def money(priced: PricedJob) -> set[str]:
    """Every money figure of a job, as it could be written; a bare whole number is everywhere."""
    bills = [o.bill for o in priced.options if o.bill] + ([priced.job_bill] if priced.job_bill else [])
    figures = {priced.totals.cost, priced.totals.price, priced.totals.price_before_tax, priced.totals.tax}
    for bill in bills:
        figures |= {x.cost for x in bill.lines} | {x.rate for x in bill.lines} | {c.amount for c in bill.charges}
        figures |= {bill.totals.cost, bill.totals.price, bill.totals.price_before_tax, bill.totals.tax}
    figures |= {x for o in priced.options for _, x in o.apart}
    found = {form for f in figures for form in (f"{abs(f):.2f}", f"{abs(f):,.2f}", f"{abs(f):f}".rstrip("0"))}
    return {f for f in found if len(f.replace(".", "").replace(",", "")) > 3 and "." in f and not f.endswith(".")}


@pytest.mark.parametrize("make", [river, sample.priced])
def test_no_byte_knows_money(make: Any) -> None:
    priced = make()
    figures = money(priced)
    assert len(figures) > 40
    for name, data in parts(render_crew(priced)).items():
        text = data.decode("utf-8", "replace")
        assert not name.endswith(".png") or b"tEXt" not in data
        said = re.sub(r"<[^>]*>", " ", text)
        for word in ("cost", "costs", "rate", "rates", "price", "prices", "priced", "margin", "markup", "currency"):
            assert not re.search(rf"\b{word}\b", said, re.IGNORECASE), (name, word)
        assert "EUR" not in said
        for figure in figures:
            assert not re.search(rf"(?<![\d.,]){re.escape(figure)}(?![\d])", said), (name, figure)


def test_the_scan_finds_a_leak() -> None:
    """The test above can fail."""
    priced = sample.priced(name="Terrace at 1,246.79")
    assert "1,246.79" in words(render_crew(priced), "Job")
    assert "1,246.79" in money(priced)


def test_values_only_nothing_hidden_and_the_same_bytes() -> None:
    priced = river()
    data = river_crew()
    assert data == render_crew(priced)
    text = "".join(p.decode("utf-8", "replace") for n, p in parts(data).items() if not n.endswith(".png"))
    for never in ("<f>", 'state="hidden"', "definedName", "hidden=", "<hyperlink ", "comment"):
        assert never not in text, never
    assert "<dc:creator></dc:creator>" in text
    assert load_workbook(BytesIO(data)).sheetnames == [
        "Job", "Set-out", "Load", "As built", "Sail order", "Sail order 2", "Sail order 3",
    ]  # fmt: skip


def test_only_chosen_options_with_a_price() -> None:
    priced = river()
    said = words(river_crew(), "Set-out")
    assert "Cafe terrace: option Waterproof, chosen" in said
    assert "Stock sail" not in said
    assert "One sail" not in said
    none = render_crew(sample.priced().__class__(priced.job, priced.book, (), None, priced.totals, ()))
    assert "Nothing is chosen yet" in words(none, "Job")


def test_first_sheet_says_where_and_what_to_beware_of() -> None:
    priced = river()
    said = words(river_crew(), "Job")
    for part in (
        "3 Quay Street", "barrow only", "known from plans only", "traffic", "P1: 1.600 m to the boundary",
        "Vehicles pass near.", "An arborist has to agree", "not measured yet, measure first: T, R",
        "engineer's design", "Pruning of the plane tree",
    ):  # fmt: skip
        assert part in said, part
    every = "\n".join(line for o in priced.options for line in cautions(priced, o))
    assert "provisional" not in every


def test_load_is_sorted_by_visit() -> None:
    book = load_workbook(BytesIO(river_crew()))
    rows = [str(c.value) for c in book["Load"]["A"] if c.value]
    footings, hang = (
        rows.index("Visit footings: 1 day, 8.28 person-hours"),
        rows.index("Visit hang: 1 day, 6.90 person-hours"),
    )
    early, late = rows[footings:hang], rows[hang : hang + 20]
    assert any(r.startswith("Round steel tube") for r in early)
    assert any(r.startswith("Timber to brace") for r in early)
    assert "Drainage stone 20 mm" in early
    assert any(r.startswith("Cut the posts to: P1 3.965 m") for r in early)
    assert "Sail 1, made to fit, white" in late
    assert any(r.startswith("Cut the chain to: W1 0.264 m") for r in late)
    assert not any("Spoil" in r or "Vehicle" in r or "Freight" in r for r in rows)


def test_as_built_cells_are_blank_and_ruled() -> None:
    sheet = load_workbook(BytesIO(river_crew()))["As built"]
    row = next(r for r in sheet.iter_rows() if r[0].value == "P1" and r[1].value)
    assert [c.value for c in row[2:6]] == [None] * 4
    assert all(c.border.left.style == c.border.bottom.style == "thin" for c in row)


def test_sail_order_names_what_the_sailmaker_needs() -> None:
    priced = river()
    data = river_crew()
    said = words(data, "Sail order")
    o = next(o for o in priced.options if o.option.name == "Waterproof")
    sail = o.taken.sails[0]
    for part in ("Coated cloth, waterproof", "white", "8 % of each side", "W1, W2", "anticlockwise", "Measured by",
                 "Round ring 10 x 45 mm", "Diagonals"):  # fmt: skip
        assert part in said, part
    figures = [float(x) for x in re.findall(r"^\d+\.\d+$", said, re.MULTILINE)]
    for length in (*sail.sides, *sail.sewn):
        assert any(isclose(f, length, abs_tol=1e-9) for f in figures)
    assert "Wait for" not in said


def test_two_tapes_meet_at_the_hole() -> None:
    priced = river()
    for o in priced.options:
        marks = {n: (x, y) for n, x, y in crew_tables.known_marks(priced, o)}
        marks |= {f"hole {f.post_name}": (f.hole_across, f.hole_out) for f in o.taken.footings}
        for t in crew_tables.tapes(priced, o):
            if t.first is None or t.second is None:
                assert not t.side
                continue
            one, two = (marks[n] for n in t.marks.split(", "))
            assert hypot(t.across - one[0], t.out - one[1]) == pytest.approx(t.first)
            assert hypot(t.across - two[0], t.out - two[1]) == pytest.approx(t.second)
            turn = (two[0] - one[0]) * (t.out - one[1]) - (two[1] - one[1]) * (t.across - one[0])
            assert t.side == ("left" if turn > 0 else "right")


def test_free_standing_posts_start_from_the_datum(tmp_path: Path) -> None:
    path = write_job(tmp_path / "free.xlsx", fixings=square(6), options=[option("A B C D", "made to fit")])
    priced = run(path).priced
    assert priced is not None
    found = crew_tables.tapes(priced, priced.options[0])
    assert [t.first is None for t in found] == [True, True, False, False]


def test_a_post_leans_away_from_the_sail() -> None:
    priced = river()
    o = next(o for o in priced.options if o.option.name == "Waterproof")
    assert {p.post_name: crew_tables.leans_to(p) for p in o.taken.posts} == {"P1": "right, out", "P2": "left, out"}
    for p in o.taken.posts:
        point = next(x for x in o.taken.points if x.fixing == p.post_name)
        away = (point.across - p.foot_across, point.out - p.foot_out)
        assert away[0] * p.toward[0] + away[1] * p.toward[1] < 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Coach screw M12 x 120", "coach screw M12, lead hole 10 mm"),  # a couple under the shank: common practice
        ("Coach screw 12 x 120", ""),
        ("Through bolt M12 with nut and washers", "through bolt M12, hole 13.5 mm"),  # ISO 273 medium, from memory
        ("Eye bolt M20 with nut and washer", "eye bolt M20, hole 22 mm"),  # ISO 273 medium, from memory
        ("Stud M12 for resin", "stud M12 in resin, hole as the maker of the resin says, blown clean"),
        ("Tensioner M12, jaw and jaw", ""),
    ],
)
def test_holes_to_drill(text: str, said: str) -> None:
    assert crew_tables.drill(text) == said


def test_set_out_has_a_drawing_and_pages_for_each_option() -> None:
    priced = river()
    data = render_sheets(priced)
    sheet = load_workbook(BytesIO(data))["Set-out"]
    taken = [o for o in priced.options if o.taken.sails]
    assert len(sheet._images) == len(taken)
    heads = [c.row for c in sheet["A"] if c.value and ": option " in str(c.value)]
    breaks = {b.id + 1 for b in sheet.row_breaks.brk}
    assert set(heads[1:]) <= breaks
    drawings = [p for n, p in parts(data).items() if n.startswith("xl/drawings/drawing") and b"<xdr:pic>" in p]
    assert drawings
    assert all(b"twoCellAnchor" not in d and b"oneCellAnchor" in d for d in drawings)


def test_of_very_many_options_only_the_chosen_are_drawn() -> None:
    options = river().options
    assert setout.to_draw(options) == [o for o in options if o.taken.sails]
    many = options * 11
    drawn = setout.to_draw(many)
    assert drawn
    assert all(o.chosen for o in drawn)
