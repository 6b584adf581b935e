"""Hostile files: bounded time and memory, no file read but the job's own, nothing of a text ever a formula."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path

import pytest
from openpyxl import load_workbook

from estimator.core.names import visible
from estimator.jobfile import price_file
from estimator.rates.files import read_csv
from estimator.rates.new_rows import as_csv, inert, written_table
from estimator.report.package.audit import audit
from tests.build import DAY
from tests.hardening.hostile import CASES, MOST_MEGABYTES, MOST_SECONDS, UNSAFE, injected, measure

INPUT = ("Job", "Sites", "Fixings", "Options", "Extras")
# those that are over in a second or two
QUICK = [
    n
    for n in CASES
    if n.startswith(("a small", "zip", "5,001", "entity", "external", "100,000 el", "one shared", ".ods"))
]
QUICK = [n for n in QUICK if "280 MB" not in n]


def _bounded(name: str, folder: Path) -> None:
    found = measure(name, folder)
    assert not found.trace, found.said
    assert found.status in (0, 1, 2)
    assert found.seconds < MOST_SECONDS, found
    assert found.megabytes < MOST_MEGABYTES, found
    assert "root:" not in (folder / "said.txt").read_text("utf-8", "replace")
    assert found.status != 2 or found.said.startswith("error: "), found.said


@pytest.mark.parametrize("name", QUICK)
def test_a_hostile_file(name: str, tmp_path: Path) -> None:
    _bounded(name, tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("name", [n for n in CASES if n not in QUICK])
def test_a_hostile_file_that_takes_a_while(name: str, tmp_path: Path) -> None:
    _bounded(name, tmp_path)


@pytest.fixture(scope="module")
def outputs(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    job = injected(tmp_path_factory.mktemp("injected") / "=job.xlsx")
    sheet = load_workbook(job)["Options"]
    texts = [c for row in load_workbook(job).worksheets[1].iter_rows() for c in row if str(c.value)[:1] in UNSAFE]
    assert len(texts) > 3
    assert all(c.data_type == "s" for c in texts), "the job holds texts, as a person typed them behind an apostrophe"
    assert sheet.cell(2, 1).value == "=Yard"
    done = price_file(job, today=DAY, with_json=True, mail=True)
    assert done.status == 0, [p.message for p in done.problems if p.level == "error"]
    return list(done.written)


def test_no_text_becomes_a_formula(outputs: list[Path]) -> None:
    seen = 0
    for path in (p for p in outputs if p.suffix == ".xlsx"):
        with zipfile.ZipFile(path) as z:
            parts = {n: z.read(n).decode("utf-8") for n in z.namelist() if n.endswith((".xml", ".rels"))}
        formulas = [f for text in parts.values() for f in re.findall(r"<f[ >][^<]*", text)]
        assert not [f for f in formulas if "cmd" in f or "1+1" in f], path.name
        assert formulas == [] or "priced" in path.name, path.name
        assert not [t for n, t in parts.items() if n.endswith(".rels") and "TargetMode" in t], "nothing leads outside"
        for row in (r for s in load_workbook(path).worksheets for r in s.iter_rows()):
            for cell in row:
                if isinstance(cell.value, str) and cell.value[:1] in UNSAFE and "cmd" in cell.value:
                    assert cell.data_type == "s"
                    seen += 1
        assert audit(path.read_bytes()) == []
    assert seen > 20
    assert {p.suffix for p in outputs} == {".xlsx", ".json", ".pdf", ".eml"}


def test_controls_are_in_no_output(outputs: list[Path]) -> None:
    for path in outputs:
        if path.suffix == ".xlsx":
            ours = [s for s in load_workbook(path).worksheets if s.title not in INPUT]
            texts = [str(c.value or "") for s in ours for row in s.iter_rows() for c in row]
            assert texts
            assert not [t for t in texts if re.search(r"[\x00-\x08\x0b-\x1f]", t)], path.name
        elif path.suffix == ".json":
            assert "\u202e" in json.loads(path.read_text("utf-8"))["job"]["name"], "data are handed on as they are"
        elif path.suffix == ".eml":
            assert not re.search(rb"[\x00-\x08\x0b\x0c\x0e-\x1f]", path.read_bytes())


def test_texts_of_a_csv_file() -> None:
    table = written_table(None, "items")
    assert table is not None
    first = table.texts[table.rows[0].number]
    odd = ["=1+1", "-x", "@a", "+b", "\tc", "-2.5", "plain"]
    row = (*odd, *first[len(odd) :])
    text = as_csv(table, [row])
    cells = text.splitlines()[1]
    assert cells.startswith("'=1+1,'-x,'@a,'+b,'\tc,-2.5,plain")
    back, problems = read_csv(text.encode(), "items.csv")
    assert back is not None
    assert problems == []
    assert [str(back.sheet.cells[2, n + 1].value) for n in range(len(odd))] == odd
    assert inert("") == ""


def test_what_acts_on_a_terminal_is_shown_by_its_number() -> None:
    assert visible("a\x1b]0;x\x07\u2028\u202e\u00e9 \u200d\u00a0日") == "a\\x1b]0;x\\x07\\u2028\\u202eé \u200d\u00a0日"
    assert visible("\udcff\n") == "\\udcff\\n"


def test_a_zip_that_holds_more_than_it_says_is_cut_off(tmp_path: Path) -> None:
    from estimator.core.problems import Problem
    from estimator.sheets.door import check_bytes

    job = tmp_path / "job.xlsx"
    CASES["zip that says a part is smaller than it is"](job)
    found = check_bytes(job.read_bytes(), "job.xlsx")
    assert isinstance(found, Problem)
    assert found.code == "file-cut-short"
    assert zipfile.is_zipfile(io.BytesIO(job.read_bytes()))
