"""The table of a run: safe as CSV, the same when read back, kept when it is somebody else's, added up in a workbook."""

from __future__ import annotations

import csv
import io
import os
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from estimator.core.problems import Place, problem
from estimator.many.book import counts, render_table, sums
from estimator.many.job import price_one
from estimator.many.model import NOT_REACHED, STATUSES, Result
from estimator.many.table import HEADINGS, Row, amount, as_csv, read_csv, read_table, row_of, stands
from tests.build import DAY
from tests.many.folder import PLAIN, job, run_folder

TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=12)
ROWS = st.builds(
    Row, TEXT.filter(bool), st.sampled_from([*STATUSES, NOT_REACHED]), TEXT, TEXT, TEXT, TEXT, TEXT, TEXT, TEXT, TEXT
)


@settings(max_examples=40, deadline=None)
@given(st.lists(ROWS, max_size=5, unique_by=lambda row: row.file))
def test_what_is_written_reads_back_the_same_and_is_never_a_formula(rows: list[Row]) -> None:
    data = as_csv(rows)
    found = read_csv(data)
    assert found == ({row.file: row for row in rows}, 0)
    for line in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")):
        for cell in line:
            assert cell.lstrip()[:1] not in ("=", "@"), cell


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=60))
def test_damage_is_told_and_never_raises(noise: bytes) -> None:
    rows = [Row(f"{n}.xlsx", "priced") for n in range(3)]
    data = as_csv(rows)
    for broken in (noise, data + noise, data[:-30] + noise, noise + data):
        found = read_csv(broken)
        assert found is None or set(found[0].values()) - set(rows) == {r for r in found[0].values() if r not in rows}


def test_a_row_that_lost_cells_is_counted_and_the_others_stand() -> None:
    good, other = Row("a.xlsx", "priced"), Row("b.xlsx", "priced")
    lines = as_csv([good, other]).splitlines(keepends=True)
    assert read_csv(lines[0] + b"c.xlsx,priced\r\n" + lines[2]) == ({"b.xlsx": other}, 1)
    assert read_csv(lines[0] + lines[1].replace(b"priced", b"great") + lines[2]) == ({"b.xlsx": other}, 1)
    assert read_csv(lines[1]) is None


def test_a_row_says_what_became_of_a_job(tmp_path: Path) -> None:
    found = [problem("file-cut-short", Place("a.xlsx")), problem("job-process-ended", Place("a.xlsx"))]
    long = [replace(p, message="=x\n " * 200) for p in found]
    written = (tmp_path / "out" / "a-priced.xlsx", tmp_path / "out" / "a-crew.xlsx")
    result = Result("not written", tuple(long), 4, (), written, "EUR", "10.00", "11.00", 1.26)
    row = row_of("a.xlsx", result, tmp_path)
    assert (row.errors, row.warnings, row.notes, row.seconds) == ("2", "0", "4", "1.3")
    assert row.written == "out/a-priced.xlsx; out/a-crew.xlsx"
    assert len(row.first) == 300
    assert row.first.startswith("=x =x")
    assert row.first.endswith("…")


def test_a_row_stands_while_nothing_that_it_was_made_from_changed(tmp_path: Path) -> None:
    path = job(tmp_path)
    result = price_one(path, PLAIN)
    row = row_of("yard.xlsx", result, tmp_path)
    assert stands(row, path, tmp_path, PLAIN)
    assert not stands(row, path, tmp_path, replace(PLAIN, mail=True))
    for status in STATUSES:
        settled = status in ("priced", "provisional", "not all priced", "cannot be used")
        assert stands(replace(row, status=status), path, tmp_path, PLAIN) == settled
    assert not stands(replace(row, asked=""), path, tmp_path, PLAIN)
    data = result.written[1].read_bytes()
    result.written[1].write_bytes(data + b" ")
    assert not stands(row, path, tmp_path, PLAIN)
    result.written[1].write_bytes(data)
    job(tmp_path, side=5.8)
    assert not stands(row, path, tmp_path, PLAIN)


@pytest.mark.long
def test_a_job_that_was_priced_to_its_own_name_stands(tmp_path: Path) -> None:
    path = job(tmp_path)
    price_one(path, PLAIN)
    path.unlink()
    own = tmp_path / "yard-priced.xlsx"
    assert stands(row_of(own.name, price_one(own, PLAIN), tmp_path), own, tmp_path, PLAIN)


def test_what_is_no_table_of_a_run_is_kept_and_told(tmp_path: Path) -> None:
    csv_file, book = tmp_path / "run-table.csv", tmp_path / "run-table.xlsx"
    csv_file.write_text("Shift,Hours\nMonday,8\n")
    mine = Workbook()
    mine.save(book)
    data = book.read_bytes()
    for path in (csv_file, book):
        os.utime(path, (1_775_000_000, 1_775_000_000))
    rows, found = read_table(csv_file, book)
    assert rows == {}
    assert [p.code for p in found] == ["table-kept", "table-kept"]
    assert (tmp_path / "run-table 2026-03-31.csv").read_text() == "Shift,Hours\nMonday,8\n" or (
        tmp_path / "run-table 2026-04-01.csv"
    ).exists()
    assert [p.read_bytes() for p in tmp_path.glob("run-table 2026*.xlsx")] == [data]
    assert not csv_file.exists()
    assert not book.exists()


def test_our_own_table_is_not_put_aside(tmp_path: Path) -> None:
    csv_file, book = tmp_path / "run-table.csv", tmp_path / "run-table.xlsx"
    row = Row("a.xlsx", "priced")
    csv_file.write_bytes(as_csv([row]))
    book.write_bytes(render_table([row], [], DAY))
    assert read_table(csv_file, book) == ({"a.xlsx": row}, [])
    csv_file.write_bytes(b"")
    assert read_table(csv_file, book) == ({}, [])


def test_a_table_that_is_open_ends_the_run_before_anything_is_priced(tmp_path: Path) -> None:
    job(tmp_path)
    (tmp_path / ".~lock.run-table.xlsx#").write_text(",kim,desk,,;")
    ended = run_folder(tmp_path, PLAIN, processes=1)
    assert ended.status == 2
    assert [p.code for p in ended.problems] == ["save-open"]
    assert not list(tmp_path.glob("*-priced.xlsx"))


SOME = [
    Row("a.xlsx", "priced", "100.05", "110.06", "EUR", "0", "1", "2", "look", "1.2", "a-priced.xlsx; a-crew.xlsx"),
    Row("=b.xlsx", "not all priced", "50.00", "55.00", "EUR", "1", "0", "0", "=1+1", "0.9"),
    Row("c.xlsx", "priced", "7.10", "8.17", "$", "0", "0", "0", "", "1.0"),
    Row("d.xlsx", "cannot be used", errors="1", first="damaged"),
    Row("e.xlsx", "priced", "1.00", "1.10", "", "x", "0", "0", "", "soon"),
    Row("f.xlsx"),
]


def test_sums_are_by_currency_and_of_what_has_a_price() -> None:
    assert [(s.currency, s.jobs, s.before_tax, s.price) for s in sums(SOME)] == [
        ("EUR", 2, Decimal("150.05"), Decimal("165.06")),
        ("$", 1, Decimal("7.10"), Decimal("8.17")),
        ("", 1, Decimal("1.00"), Decimal("1.10")),
    ]
    assert counts(SOME) == "6 jobs: 3 priced, 1 not all priced, 1 cannot be used, 1 not reached"
    assert amount("1.234,00") is None
    assert amount("NaN") is None


def test_the_workbook_holds_the_rows_as_text_and_numbers_and_live_sums() -> None:
    data = render_table(SOME, ["x.xlsx, which is hidden"], DAY)
    assert data == render_table(SOME, ["x.xlsx, which is hidden"], DAY)
    formulas = load_workbook(io.BytesIO(data))["Run table"]
    values = load_workbook(io.BytesIO(data), data_only=True)["Run table"]
    rows = {row[0]: row for row in values.iter_rows(values_only=True) if row[0]}
    assert rows["=b.xlsx"][1:9] == ("not all priced", 50, 55, "EUR", 1, 0, 0, "=1+1")
    assert rows["a.xlsx"][9:11] == (2, 1.2)
    assert rows["e.xlsx"][5] is None
    texts = [str(c.value) for row in formulas.iter_rows() for c in row if c.data_type == "f"]
    assert texts == [f"=ROUND(SUMIF(E6:E11,E{n},{c}6:{c}11),2)" for n in (15, 16) for c in "CD"]
    assert rows["2 jobs"][2:5] == (150.05, 165.06, "EUR")
    assert any(text and "x.xlsx, which is hidden" in str(text) for text in rows)


def test_the_headings_fit_the_rows() -> None:
    assert len(HEADINGS) == len(Row.__slots__)
