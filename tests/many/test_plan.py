"""What a folder holds: jobs in order, and what is left out, each with a reason."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from openpyxl import Workbook

from estimator.many.clash import clashes
from estimator.many.plan import output_of, plan
from estimator.rates.where import default_rates
from tests.many.folder import PLAIN, job, run_folder


def names(folder: Path, deep: bool = False) -> list[str]:
    return [path.relative_to(folder).as_posix() for path in plan([folder], deep).jobs]


def lay(folder: Path, *files: str) -> None:
    for name in files:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"PK")


def test_all_kinds_of_workbooks_in_the_order_a_person_sorts_them(tmp_path: Path) -> None:
    lay(tmp_path, "b10.xlsx", "b9.xls", "a.XLSX", "c.ods", "d.xlsm", "notes.txt", "lines.csv", "deep/e.xlsx")
    assert names(tmp_path) == ["a.XLSX", "b9.xls", "b10.xlsx", "c.ods", "d.xlsm"]


def test_folders_in_it_are_looked_into_when_asked(tmp_path: Path) -> None:
    lay(tmp_path, "a.xlsx", "deep/b.xlsx", "deep/er/c.xlsx", ".hidden/d.xlsx")
    assert names(tmp_path, deep=True) == ["a.xlsx", "deep/b.xlsx", "deep/er/c.xlsx"]


def test_what_we_wrote_is_left_out_and_counted(tmp_path: Path) -> None:
    lay(
        tmp_path, "a.xlsx", "a-priced.xlsx", "a-quote.xlsx", "a-quote-r2.xlsx", "a-quote 2026-04-03.xlsx", "a-crew.xlsx"
    )
    lay(tmp_path, "a-priced 2026-04-03 (2).xlsx", "a-priced-r1.xlsx", "a-variation-V1.xlsx", "run-table.xlsx")
    found = plan([tmp_path])
    assert [p.name for p in found.jobs] == ["a.xlsx"]
    assert found.left == (
        "3 priced workbooks, 3 customer's copies, 1 crew's workbook, 1 paper of a variation and 1 table of a run, "
        "which were written for the jobs here",
    )


def test_a_priced_workbook_without_its_job_is_a_job(tmp_path: Path) -> None:
    lay(tmp_path, "a-priced.xlsx", "a-quote.xlsx", "a-crew.xlsx", "b-quote.xlsx", "c-priced.xlsm", "c.ods")
    # b-quote belongs to nothing here, so it may be somebody's job of that name: better tried than passed over
    assert names(tmp_path) == ["a-priced.xlsx", "b-quote.xlsx", "c.ods"]


@pytest.mark.parametrize(
    ("stem", "kind"),
    [
        ("a-quote-quote", "-quote"),
        ("a-quote", ""),
        ("a-quote-priced", "-priced"),
        ("a-quoted", ""),
        ("a-quote-crew 2026-04-03 (3)", "-crew"),
        ("a-quote-crew of two", ""),
        ("-quote", ""),
    ],
)
def test_names_that_look_alike(stem: str, kind: str) -> None:
    assert output_of(stem, {"a-quote", stem}) == kind


def test_open_hidden_and_spare_workbooks_are_named(tmp_path: Path) -> None:
    lay(tmp_path, "a.xlsx", "~$a.xlsx", ".b.xlsx", "._a.xlsx", "rates.xlsx")
    found = plan([tmp_path], spare=[tmp_path / "rates.xlsx", None])
    assert [p.name for p in found.jobs] == ["a.xlsx"]
    assert sorted(found.left) == [
        "._a.xlsx, which is hidden",
        ".b.xlsx, which is hidden",
        "rates.xlsx, the rate book",
        "~$a.xlsx, the mark of a workbook that is open",
    ]


def test_the_folder_for_the_outputs_holds_no_jobs(tmp_path: Path) -> None:
    lay(tmp_path, "a.xlsx", "out/b.xlsx")
    assert [p.name for p in plan([tmp_path], True, [tmp_path / "out"]).jobs] == ["a.xlsx"]


def test_a_file_named_twice_is_one_job(tmp_path: Path) -> None:
    lay(tmp_path, "a.xlsx", "b.xlsx")
    assert [p.name for p in plan([tmp_path / "b.xlsx", tmp_path, tmp_path / "b.xlsx"]).jobs] == ["b.xlsx", "a.xlsx"]


def test_a_folder_without_a_job_is_one_sentence(tmp_path: Path) -> None:
    lay(tmp_path, "~$a.xlsx")
    ended = run_folder(tmp_path, PLAIN)
    assert ended.status == 2
    assert [p.code for p in ended.problems] == ["no-jobs"]
    assert "~$a.xlsx" in ended.problems[0].message
    assert [p.name for p in tmp_path.iterdir()] == ["~$a.xlsx"]


def test_jobs_that_would_write_over_each_other(tmp_path: Path) -> None:
    lay(tmp_path, "a.xlsx", "a.xlsm", "b.xlsx", "b-quote.xlsx", "c.xlsx", "deep/c.xlsx", "d.xlsx")
    every = plan([tmp_path, *tmp_path.glob("b-quote.xlsx")], deep=True).jobs
    assert len(every) == 7
    beside = clashes(every, None)
    # one has macros and one has not, so only the quote and the crew's workbook would be the same
    assert {p.name: c.code for p, c in beside.items()} == {
        "a.xlsx": "one-output",
        "a.xlsm": "one-output",
        "b-quote.xlsx": "job-in-the-way",
    }
    together = clashes(every, tmp_path / "out")
    assert [p.name for p in together] == ["a.xlsm", "a.xlsx", "c.xlsx", "c.xlsx"]


def test_a_priced_workbook_and_its_job_are_one_name(tmp_path: Path) -> None:
    lay(tmp_path, "a.xlsx", "a-priced.xlsx")
    found = clashes([tmp_path / "a.xlsx", tmp_path / "a-priced.xlsx"], None)
    assert [p.code for p in found.values()] == ["job-in-the-way"]


def test_in_a_folder_a_clash_does_not_stop_the_others(tmp_path: Path) -> None:
    job(tmp_path, "a")
    (tmp_path / "a.xlsm").write_bytes(job(tmp_path, "b").read_bytes())
    ended = run_folder(tmp_path, PLAIN, processes=1)
    assert ended.status == 2
    assert [(r.file, r.status) for r in ended.rows] == [
        ("a.xlsm", "two for one name"),
        ("a.xlsx", "two for one name"),
        ("b.xlsx", "priced"),
    ]
    assert sorted(p.name for p in tmp_path.glob("*-priced*")) == ["b-priced.xlsx"]


def test_a_name_that_no_file_can_have_and_a_link_to_itself(tmp_path: Path) -> None:
    loop = tmp_path / "loop.xlsx"
    loop.symlink_to(loop)
    odd = Path("a\0b.xlsx")
    assert plan([loop, odd]).jobs == (loop, odd)
    assert clashes([loop, odd], None) == {}
    assert plan([tmp_path]).jobs == (loop,)


def test_a_workbook_that_is_the_rate_book_of_a_job_is_called_so(tmp_path: Path) -> None:
    book = Workbook()
    for table in sorted(default_rates().glob("*.csv")):
        sheet = book.create_sheet(table.stem)
        for row in csv.reader(table.read_text("utf-8-sig").splitlines()):
            sheet.append([float(t) if re.fullmatch(r"\d+\.?\d*", t) else t or None for t in row])
    book.save(tmp_path / "prices.xlsx")
    job(tmp_path, "a", Rates="prices.xlsx")
    ended = run_folder(tmp_path, PLAIN, processes=1)
    assert [(r.file, r.status) for r in ended.rows] == [("a.xlsx", "priced"), ("prices.xlsx", "rate book")]
    assert ended.status == 0
    again = run_folder(tmp_path, PLAIN, processes=1, resume=True)
    assert (again.status, again.stood) == (0, 1)
