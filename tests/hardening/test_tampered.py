"""What somebody changed by hand on our sheets of a priced workbook is found on the next run, with its effect in money.

Situations: a bid 25 % low because a number had been typed over a formula; a subtotal that should have covered one row
more, on which bond, insurance and fee were built (public decisions on corrections of bids).
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from estimator.jobfile import look_into
from estimator.report.package.alignment import row_numbers
from estimator.report.package.grid import Stands
from estimator.report.package.package import open_package
from estimator.report.package.wrote import Record, found_record, packed, unpacked
from estimator.report.words import money_words
from tests.hardening.books import by_hand, changed, found, priced, row_of, small_job
from tests.office import absent, program
from tests.report.package.books import edited, moved_to_front, swapped, with_copy


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return small_job(tmp_path / "job.xlsx")


@pytest.fixture
def book(job: Path) -> Path:
    priced(job)
    return job.with_name("job-priced.xlsx")


def prices(book: Path) -> tuple[Decimal, Decimal]:
    """Price and cost of the first option as they stand on its sheet."""
    sheet = load_workbook(book, data_only=True)["Bill"]
    cost, price = (sheet.cell(row_of(book, "Bill", w), 7).value for w in ("Cost", "Price"))
    return Decimal(str(price)), Decimal(str(cost))


def test_a_workbook_nobody_touched_says_nothing(book: Path) -> None:
    before = book.read_bytes()
    assert found(priced(book)) == []
    assert book.read_bytes() == before
    assert [p.name for p in book.parent.iterdir() if p.suffix == ".xlsx"] == ["job.xlsx", "job-priced.xlsx"]


def test_another_program_that_only_saves_it_changes_nothing(book: Path) -> None:
    changed(book, lambda b: None)
    assert found(priced(book)) == []


@pytest.mark.office
def test_an_office_program_that_only_saves_it_changes_nothing(book: Path) -> None:
    office = program()
    if office is None:
        absent("a priced workbook saved by an office program")
        return
    with tempfile.TemporaryDirectory() as home:
        profile = f"-env:UserInstallation={(Path(home) / 'p').as_uri()}"
        command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", home, str(book)]
        subprocess.run(command, check=True, capture_output=True, timeout=120)
        shutil.copy(Path(home) / book.name, book)
    record = found_record(open_package(book.read_bytes()))
    assert record is not None
    assert found(priced(book)) == []


def test_a_typed_over_total_is_named_with_what_it_does(book: Path) -> None:
    price, cost = prices(book)
    row = row_of(book, "Bill", "Cost")
    changed(book, lambda b: b["Bill"].__setitem__(f"G{row}", 1000))
    done = priced(book)
    assert found(done)[0] == ("Bill", f"G{row}", "tampered-total")
    said = by_hand(done)[0].message
    assert "1,000 is typed over the formula =ROUND(SUM(G5:" in said
    assert f"which gives {cost.normalize():,f}" in said
    # overhead 8 %, contingency 5 %, margin 20 % on price and sales tax 10 % of the default rate book, by hand
    wrong = (Decimal(1000) * Decimal("1.13") / Decimal("0.8") * Decimal("1.1")).quantize(Decimal("0.01"))
    assert f"would be {money_words(wrong, 'EUR')} instead of {money_words(price, 'EUR')}" in said
    assert f"({money_words(wrong - price, 'EUR')}, {(wrong - price) / price * 100:+.1f} %)" in said
    assert "'Instead of' and its Reason" in said
    assert prices(book) == (price, cost), "our sheets are written afresh"
    todo = [str(c.value) for row in load_workbook(book)["To check"].iter_rows() for c in row if c.value]
    assert any("1,000 is typed over" in w for w in todo), "the finding is not lost"


def test_the_bid_that_was_a_quarter_low(book: Path) -> None:
    """6,881,800 stood where 8,313,086 should have: + 20.8 % on what was bid. The same slip in the price of our job."""
    price, _ = prices(book)
    low = (price * Decimal(6_881_800) / Decimal(8_313_086)).quantize(Decimal("0.01"))
    row = row_of(book, "Bill", "Price")
    changed(book, lambda b: b["Bill"].__setitem__(f"G{row}", float(low)))
    (slip, _) = by_hand(priced(book))
    assert slip.code == "tampered-total"
    assert "-17.2 %" in slip.message  # 1 - 1 / 1.208


@pytest.mark.parametrize(("first", "last", "rows"), [(6, 0, "5"), (5, 1, "{last}"), (6, 1, "5, {last}")])
def test_a_sum_that_leaves_out_a_row_names_the_row(book: Path, first: int, last: int, rows: str) -> None:
    row = row_of(book, "Bill", "Cost")
    changed(book, lambda b: b["Bill"].__setitem__(f"G{row}", f"=ROUND(SUM(G{first}:G{row - 1 - last}),2)"))
    (slip, _) = by_hand(priced(book))
    assert (slip.place.cell, slip.code) == (f"G{row}", "tampered-formula")
    assert f"leaves out row{'s' if ',' in rows else ''} {rows.format(last=row - 1)};" in slip.message
    assert " %)" in slip.message


def test_a_rate_and_a_quantity(book: Path) -> None:
    row = row_of(book, "Bill", "Vehicle")

    def change(b: Workbook) -> None:
        b["Bill"][f"F{row}"] = 8.5
        b["Bill"][f"D{row + 1}"] = "=3*2"

    changed(book, change)
    done = priced(book)
    assert found(done)[:2] == [("Bill", f"F{row}", "tampered-value"), ("Bill", f"D{row + 1}", "tampered-value")]
    assert "(travel-km Vehicle) 8.5 stands where 0.85 was written" in by_hand(done)[0].message
    assert "=3*2 stands where 1 was written" in by_hand(done)[1].message
    assert all(" %)" in p.message for p in by_hand(done)[:2])


@pytest.mark.parametrize(("at", "counted"), [("top", False), ("middle", True), ("end", False)])
@pytest.mark.parametrize("follow", [True, False])
def test_a_row_put_in(book: Path, at: str, counted: bool, follow: bool) -> None:
    """follow: the program moves the rows of every formula, as office programs do; a plain library does not."""
    end = row_of(book, "Bill", "Cost")
    row = {"top": 5, "middle": 20, "end": end}[at]
    changed(book, lambda b: _put_in(b, row, follow))
    done = priced(book)
    slips = {p.code: p for p in by_hand(done)}
    assert slips["tampered-row"].place.cell == f"B{row}"
    assert "a row was put in here (Paving; 500)" in slips["tampered-row"].message
    assert ("no price changes" not in slips["tampered-row"].message) is counted
    assert ("tampered-shifted" in slips) is not follow
    assert set(slips) <= {"tampered-row", "tampered-shifted", "priced-kept"}


def _put_in(b: Workbook, row: int, follow: bool) -> None:
    import re

    b["Bill"].insert_rows(row)
    b["Bill"].cell(row, 2, "Paving")
    b["Bill"].cell(row, 7, 500)
    if not follow:
        return

    def moved(m: re.Match[str]) -> str:
        return m[0] if m[1] or int(m[3]) < row else f"{m[2]}{int(m[3]) + 1}"

    for sheet in b.worksheets:
        for line in sheet.iter_rows():
            for cell in line:
                if isinstance(cell.value, str) and cell.value.startswith("="):
                    if sheet.title == "Bill":
                        cell.value = re.sub(r"('[^']*'!)?\b([A-Z]{1,2})(\d+)\b", moved, cell.value)
                    else:
                        cell.value = re.sub(
                            r"('Bill'!)([A-Z]{1,2})(\d+)\b",
                            lambda m: m[0] if int(m[3]) < row else f"{m[1]}{m[2]}{int(m[3]) + 1}",
                            cell.value,
                        )


def test_a_row_taken_out(book: Path) -> None:
    row = row_of(book, "Bill", "Vehicle")
    changed(book, lambda b: b["Bill"].delete_rows(row))
    slips = {p.code: p for p in by_hand(priced(book))}
    assert slips["tampered-gone"].place.cell == f"A{row}"
    assert "(1): with it the price of the job would be" in slips["tampered-gone"].message


def test_a_result_that_its_formula_does_not_give(book: Path) -> None:
    """What is shown counts for whoever reads the file without working it out: a preview, a phone, a print."""
    price, _ = prices(book)
    part = f"<v>{price.normalize():f}</v>".encode()
    data = edited(book.read_bytes(), lambda parts: parts.update(_with(parts, part, b"<v>1.5</v>")))
    book.write_bytes(data)
    done = priced(book)
    assert {c for *_, c in found(done)} == {"tampered-result", "priced-kept"}
    assert "1.5 is shown, but the formula beneath gives" in by_hand(done)[0].message


def _with(parts: dict[str, bytes], old: bytes, new: bytes) -> dict[str, bytes]:
    hit = {n: c.replace(old, new) for n, c in parts.items() if "worksheets" in n and old in c}
    assert hit
    return hit


def test_what_is_written_beside_is_told_and_kept(book: Path) -> None:
    def change(b: Workbook) -> None:
        b["Bill"]["K10"] = "ask again"
        b["Summary"]["T3"] = 33

    changed(book, change)
    before = book.read_bytes()
    done = priced(book)
    assert [(s, c) for s, c, code in found(done) if code == "typed-beside"] == [("Summary", "T3"), ("Bill", "K10")]
    assert "K10: 'ask again'" in by_hand(done)[1].message
    kept = [p for p in book.parent.iterdir() if p.name.startswith("job-priced 2")]
    assert [p.read_bytes() for p in kept] == [before]


def test_many_changes_are_told_together(book: Path) -> None:
    def change(b: Workbook) -> None:
        for row in range(5, 35):
            b["Bill"].cell(row, 6).value = 1

    changed(book, change)
    codes = [c for *_, c in found(priced(book))]
    assert codes.count("tampered-value") == 12
    assert codes.count("tampered-more") == 1


def test_check_says_the_same_and_writes_nothing(book: Path) -> None:
    row = row_of(book, "Bill", "Cost")
    changed(book, lambda b: b["Bill"].__setitem__(f"G{row}", 1000))
    before = {p: p.read_bytes() for p in book.parent.iterdir()}
    assert [p.place.cell for p in look_into(book, None, None).problems if p.code == "tampered-total"] == [f"G{row}"]
    assert {p: p.read_bytes() for p in book.parent.iterdir()} == before


def test_it_is_found_too_when_the_job_itself_is_priced_again(job: Path, book: Path) -> None:
    changed(book, lambda b: b["Bill"].__setitem__("G60", 1000))
    before = book.read_bytes()
    done = priced(job)
    assert found(done) == [("Bill", "G60", "tampered-total"), ("", "", "priced-kept")]
    assert by_hand(done)[0].place.file == "job-priced.xlsx"
    assert before in [p.read_bytes() for p in book.parent.iterdir()]
    assert found(priced(job)) == []


def test_cells_of_the_job_changed_in_the_priced_workbook_are_kept(job: Path, book: Path) -> None:
    """A person fills in the priced workbook and then prices the first one: nothing of that is lost."""
    changed(book, lambda b: b["Options"].__setitem__("D2", "SQ-4000"))
    assert found(priced(book)) == []
    mine = book.read_bytes()
    done = priced(job)
    assert [p.code for p in by_hand(done)] == ["priced-kept"]
    assert "this run did not read" in by_hand(done)[0].message
    assert mine in [p.read_bytes() for p in book.parent.iterdir()]
    changed(job, lambda b: b["Options"].__setitem__("C2", "D C B A"))
    assert found(priced(job)) == [], "a job that went on is no reason to keep what was made of it"


def test_another_file_of_that_name_is_kept(job: Path) -> None:
    other = job.with_name("job-priced.xlsx")
    for content in (b"a note of mine", small_job(job.with_name("mine.xlsx")).read_bytes()):
        other.write_bytes(content)
        assert [p.code for p in by_hand(priced(job))] == ["priced-kept"]
        assert content in [p.read_bytes() for p in job.parent.iterdir() if p.name.startswith("job-priced 2")]


def test_ours_renamed_moved_copied_deleted_is_no_slip(book: Path) -> None:
    data = book.read_bytes()
    renamed = swapped(data, "xl/workbook.xml", (' name="Bill" sheetId', ' name="Costs" sheetId'))
    parts = edited(
        renamed, lambda p: p.update({n: c.replace(b"'Bill'!", b"Costs!") for n, c in p.items() if "sheets/" in n})
    )
    for other in (parts, moved_to_front(data, "Bill"), with_copy(data, "Summary", "Summary (2)", "Summary")):
        book.write_bytes(other)
        assert found(priced(book)) == []
    book.write_bytes(data)
    changed(book, lambda b: b.remove(b["Labour"]))
    assert found(priced(book)) == []
    assert "Labour" in load_workbook(book).sheetnames


def test_a_changed_cell_of_a_renamed_sheet_is_named_by_its_name(book: Path) -> None:
    data = swapped(book.read_bytes(), "xl/workbook.xml", (' name="Bill" sheetId', ' name="Costs" sheetId'))
    book.write_bytes(
        edited(data, lambda p: p.update({n: c.replace(b"'Bill'!", b"Costs!") for n, c in p.items() if "sheets/" in n}))
    )
    row = row_of(book, "Costs", "Cost")
    changed(book, lambda b: b["Costs"].__setitem__(f"G{row}", 1))
    assert found(priced(book))[0] == ("Costs", f"G{row}", "tampered-total")


def test_a_workbook_without_the_record_says_so(book: Path) -> None:
    def change(b: Workbook) -> None:
        for name in [n for n in b.defined_names if n.startswith("_estimator_wrote")]:
            del b.defined_names[name]

    changed(book, change)
    assert found(priced(book)) == [("", "", "own-sheets-unrecorded")]
    assert found(priced(book)) == []


def test_a_record_comes_back_whole_or_not_at_all() -> None:
    cells = {
        "Bill": {(5, 4): Stands("", 2.5), (5, 7): Stands("ROUND(D5*F5,2)", 12.5), (6, 7): Stands("SUM(G5:G5)", None)}
    }
    record = Record({"Bill": "Dad's bill"}, cells, (), "a", "b")
    texts = packed(record)
    again = unpacked(texts)
    assert again is not None
    assert (again.names, again.cells, again.sheets, again.origin) == (record.names, cells, "a", "b")
    for damaged in ([], ["x"], [texts[0][:-8]], [texts[0][::-1]]):
        assert unpacked(damaged) is None


def test_rows_are_found_again() -> None:
    def sheet(*rows: float | None) -> dict[tuple[int, int], Stands]:
        return {(n, 1): Stands("", float(r)) for n, r in enumerate(rows, 1) if r is not None}

    assert row_numbers(sheet(1.0, 2, 3), sheet(1.0, 2, 3)) == {1: 1, 2: 2, 3: 3}
    assert row_numbers(sheet(1.0, 2, 3), sheet(1.0, 9, 2, 3)) == {1: 1, 2: 3, 3: 4}
    assert row_numbers(sheet(1.0, 2, 3), sheet(2.0, 3.0)) == {2: 1, 3: 2}
    assert row_numbers(sheet(1.0, 2, 3, 4), sheet(1.0, 7, 3, 4, 5)) == {1: 1, 2: 2, 3: 3, 4: 4}
