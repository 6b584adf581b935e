"""What was read stands on Basis cell by cell, as it was understood, whatever way it was typed."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

from estimator.report.basis_read import GAP, lines
from estimator.report.book import render_sheets
from estimator.report.words import text_points
from tests.build import fixing, option, run, square, write_job

HEAD = "What was read, cell by cell, as it was understood"


def told(path: Path) -> dict[str, list[str]]:
    """The pieces of the block, by the row of the job workbook that stands beside them."""
    outcome = run(path)
    assert outcome.priced is not None, outcome.problems
    sheet = load_workbook(BytesIO(render_sheets(outcome.priced, drawings=False)))["Basis"]
    rows = [(r[0], r[1]) for r in sheet.iter_rows(values_only=True)]
    start = next(n for n, (first, _) in enumerate(rows) if first == HEAD)
    found: dict[str, list[str]] = {}
    name = ""
    for first, words in rows[start + 1 :]:
        name = str(first) if first else name
        found.setdefault(name, []).extend(str(words).split(GAP))
    return found


def job(path: Path, fixings: list[dict[str, Any]], **terms: Any) -> Path:
    return write_job(path, job={"Margin": "20 %", **terms}, fixings=fixings, options=[option("A B C D", "SQ-5000")])


def test_every_row_is_there_with_each_of_its_cells(tmp_path: Path) -> None:
    found = told(job(tmp_path / "job.xlsx", square(6)))
    assert list(found) == ["Job 2", "Sites 2", "Fixings 2", "Fixings 3", "Fixings 4", "Fixings 5", "Options 2"]
    assert found["Fixings 3"] == [
        "A3 Site Yard", "B3 Fixing B", "C3 Held by new post", "D3 Across 6 m", "E3 Out 0 m", "F3 Height 2.6 m",
        "G3 Ground level 0 m", "H3 Known by measured",
    ]  # fmt: skip
    assert "B5 Margin 20 %" in found["Job 2"]
    assert "B3 Priced on 2026-04-03" in found["Job 2"]


def test_what_was_typed_in_another_way_is_shown_as_it_was_understood(tmp_path: Path) -> None:
    typed = square(6)
    typed[0]["Height (m)"] = "2,60 m"
    typed[1]["Height (m)"] = "2 600 mm"
    typed[2]["Height (m)"] = "8' 6 1/2\""
    typed[3]["Height (m)"] = "two and a half"
    typed[3]["Held by"] = "NEW  Post"
    found = told(job(tmp_path / "job.xlsx", typed))
    heights = [next(p for p in found[f"Fixings {n}"] if " Height" in p) for n in range(2, 6)]
    # 8 x 0.3048 + 6.5 x 0.0254 = 2.6035
    assert heights == ["F2 Height 2.6 m", "F3 Height 2.6 m", "F4 Height 2.6035 m", "F5 Height: not usable"]
    assert "C5 Held by NEW Post" in found["Fixings 5"]


def test_a_job_in_feet_shows_both(tmp_path: Path) -> None:
    path = job(tmp_path / "job.xlsx", square(6), Units="feet and inches")
    assert "D3 Across 6 m (19' 8 1/4\")" in told(path)["Fixings 3"]


def test_a_long_text_is_cut_and_a_blank_is_no_reading(tmp_path: Path) -> None:
    typed = [*square(6), fixing("E", 3, 3, 2.5, Notes="x" * 500)]
    typed[0]["Notes"] = "   "
    found = told(job(tmp_path / "job.xlsx", typed))
    assert f"I6 Notes {'x' * 60}…" in found["Fixings 6"]
    assert not any("Notes" in piece for piece in found["Fixings 2"])


def test_lines_are_no_wider_than_the_page() -> None:
    pieces = [f"A{n} Height {n / 7:.3f} m" for n in range(1, 40)]
    found = lines(pieces, 400.0)
    assert GAP.join(found).split(GAP) == pieces
    assert all(text_points(line, 9) <= 400 for line in found)
    assert len(found) < len(pieces) / 2


def test_a_page_in_a_list_of_names_is_cut(tmp_path: Path) -> None:
    path = write_job(tmp_path / "job.xlsx", fixings=square(6), options=[option("x" * 32_000, "SQ-5000")])
    assert f"C2 Corners at {'x' * 600}…" in told(path)["Options 2"]
