"""Folders and workbooks as they come: other locales, other encodings, strange files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.core.problems import Place
from estimator.rates.columns import RATE_TABLES
from estimator.rates.files import read_csv
from estimator.rates.model import RateBook
from estimator.rates.read import load_rates
from estimator.rates.where import default_rates
from tests.rates.books import DAY, changed, copy_book, default_book, errors, rows_of, write_rows

NUMERIC = ("price", "rate", "hours", "quantity", "value", "length", "pitch", "closed", "open", "mass", "width", "up to")


def _write_workbook(path: Path, typed: bool) -> None:
    """The default book as a workbook: a sheet for each table, numbers as numbers where typed."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    for table in RATE_TABLES:
        sheet = book.create_sheet(table.sheet.replace("_", " ").title())
        for row in rows_of(table.sheet):
            sheet.append([_typed(text) if typed else text or None for text in row])
    book.save(path)


def _typed(text: str) -> object:
    if len(text) == 10 and text[4] == text[7] == "-":
        return date.fromisoformat(text)
    try:
        return float(text) if text else None
    except ValueError:
        return text


def _compare(one: RateBook, other: RateBook) -> None:
    """Equal but for the name, the files that its cells stand in, and how settings are written."""

    def plain(book: RateBook) -> RateBook:
        nowhere = {"place": Place(), "dated": Place(), "held": Place()}
        prices = {at: replace(p, **nowhere) for at, p in book.prices.items()}
        settings = {n: replace(s, shown="") for n, s in book.settings.items()}
        return replace(book, name="", settings=settings, prices=prices, business_at={})

    assert plain(one) == plain(other)


def test_a_workbook_equals_the_folder(tmp_path: Path) -> None:
    path = tmp_path / "rates.xlsx"
    _write_workbook(path, typed=True)
    book, problems = load_rates(path, DAY)
    assert problems == []
    assert book is not None
    assert book.name == "rates.xlsx"
    _compare(book, default_book())


def test_a_mistake_in_a_workbook_stands_at_its_cell(tmp_path: Path) -> None:
    from openpyxl import load_workbook

    path = tmp_path / "rates.xlsx"
    _write_workbook(path, typed=True)
    workbook = load_workbook(path)
    workbook["Trades"]["C2"] = "dear"
    workbook.create_sheet("Holiday plan")
    workbook.save(path)
    book, problems = load_rates(path, DAY)
    assert book is None
    assert errors(problems) == [("rates.xlsx", "trades", "C2", "not-a-number")]
    assert [p.code for p in problems if p.level == "note"] == ["rate-table-unknown"]


@pytest.mark.parametrize("separator", [";", "\t"])
def test_other_separators_with_decimal_commas(separator: str, tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    for table in RATE_TABLES:
        heads, *rows = rows_of(table.sheet)
        lists = [i for i, head in enumerate(heads) if "stock" in head]
        for row in rows:
            for i, text in enumerate(row):
                if i in lists:
                    row[i] = "; ".join(part.strip().replace(".", ",") for part in text.split(","))
                elif isinstance(_typed(text), float):
                    row[i] = text.replace(".", ",")
        write_rows(book, table.sheet, [heads, *rows], separator)
    # the sizes of stock sails are text with their own points
    write_rows(book, "sails", rows_of("sails"))
    found, problems = load_rates(book, DAY)
    assert [p for p in problems if p.level == "error"] == []
    assert found is not None
    _compare(found, default_book())


ENCODINGS: list[tuple[str, Callable[[str], bytes], list[str]]] = [
    ("utf-8 with a mark", lambda t: t.encode("utf-8-sig"), []),
    ("utf-16", lambda t: t.encode("utf-16"), []),
    ("utf-16 without a mark", lambda t: t.encode("utf-16-le"), []),
    ("utf-16 the other way round", lambda t: t.encode("utf-16-be"), []),
    ("Windows Western", lambda t: t.replace("Installer", "Monteür").encode("cp1252"), ["rate-encoding"]),
]


@pytest.mark.parametrize(("encode", "notes"), [e[1:] for e in ENCODINGS], ids=[e[0] for e in ENCODINGS])
def test_encodings(encode: Callable[[str], bytes], notes: list[str], tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    text = (book / "trades.csv").read_text("utf-8")
    (book / "trades.csv").write_bytes(encode(text))
    found, problems = load_rates(book, DAY)
    assert [p.code for p in problems] == notes
    assert found is not None
    assert found.trades["installer"].cost_per_hour == 48


def test_line_ends_blank_lines_and_rows_above_the_headings(tmp_path: Path) -> None:
    rows = rows_of("trades")
    above = [["Rates of the yard, do not lend out"], []]
    book = changed(tmp_path, "trades", lambda r: None)
    write_rows(book, "trades", [*above, rows[0], rows[1], [], *rows[2:], [], []])
    data = (book / "trades.csv").read_bytes().replace(b"\n", b"\r\n")
    (book / "trades.csv").write_bytes(data)
    found, problems = load_rates(book, DAY)
    assert problems == []
    assert found is not None
    assert [t.origin.row for t in found.trades.values()] == [4, 6, 7]


def test_headings_in_another_order_case_and_unit(tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    write_rows(book, "footing_depths", [["Depth [cm]", "LONGEST_SIDE (ft)"], ["80", "10"], ["120", "16' 6\""]])
    found, problems = load_rates(book, DAY)
    assert [p for p in problems if p.level == "error"] == []
    assert found is not None
    assert [(d.longest_side, d.depth) for d in found.footing_depths] == [(3.048, 0.8), (5.0292, 1.2)]


def test_unknown_columns_files_and_settings_are_notes(tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    (book / "holidays.csv").write_text("day\n2026-12-24\n", "utf-8")
    (book / "read me.txt").write_text("mine", "utf-8")
    rows = rows_of("trades")
    write_rows(book, "trades", [[*row, "x"] for row in rows[:1]] + [[*row, "1"] for row in rows[1:]])
    settings_rows = rows_of("settings")
    settings_rows.append(["leen", "5", "deg", "", "2020-01-01", "mine"])
    write_rows(book, "settings", settings_rows)
    found, problems = load_rates(book, DAY)
    assert found is not None
    assert sorted(p.code for p in problems) == ["headings-unknown", "rate-table-unknown", "setting-unknown"]
    assert {p.level for p in problems} == {"note"}
    assert "Did you mean 'lean'?" in next(p for p in problems if p.code == "setting-unknown").message


def test_an_example_row_is_skipped_with_a_note(tmp_path: Path) -> None:
    book, problems = load_rates(
        changed(tmp_path, "trades", lambda rows: rows.insert(1, ["EXAMPLE", "", "dear", "", ""])), DAY
    )
    assert book is not None
    assert [(p.code, p.place.sheet) for p in problems] == [("example-skipped", "trades")]


def test_a_quotation_mark_that_is_never_closed_loses_no_row_in_silence(tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    text = (book / "items.csv").read_text("utf-8")
    (book / "items.csv").write_text(text.replace("Sealant", '"Sealant', 1), "utf-8")
    found, problems = load_rates(book, DAY)
    assert found is None
    assert ("items.csv", "", "", "rate-csv") in errors(problems)


@pytest.mark.parametrize("data", [b"", b"\n\n\n", b"\0\0\0\0", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", b"\xff\xfe\x00"])
def test_a_table_that_is_none(data: bytes, tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    (book / "trades.csv").write_bytes(data)
    found, problems = load_rates(book, DAY)
    assert found is None
    assert next(p.place.file for p in problems if p.level == "error") == "trades.csv"


def test_paths_that_are_no_rate_book(tmp_path: Path) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    text = tmp_path / "rates.xlsx"
    text.write_text("item,price\n", "utf-8")
    for path, code in (
        (tmp_path / "nowhere", "file-not-found"),
        (empty, "rate-folder-empty"),
        (text, "file-csv"),
    ):
        book, problems = load_rates(path, DAY)
        assert book is None
        assert [p.code for p in problems] == [code]


def test_a_table_twice_is_an_error(tmp_path: Path) -> None:
    book = copy_book(tmp_path)
    (book / "Corner sets.csv").write_bytes((book / "corner_sets.csv").read_bytes())
    found, problems = load_rates(book, DAY)
    assert found is None
    assert [code for *_, code in errors(problems)] == ["rate-table-twice"]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=400))
def test_no_bytes_whatever_raise(data: bytes) -> None:
    found, problems = read_csv(data, "trades.csv")
    assert found is not None or problems


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(table=st.sampled_from([t.sheet for t in RATE_TABLES]), data=st.data())
def test_no_cell_whatever_raises(table: str, data: st.DataObject, tmp_path_factory: pytest.TempPathFactory) -> None:
    rows = rows_of(table)
    row = data.draw(st.integers(0, len(rows) - 1))
    column = data.draw(st.integers(0, len(rows[0]) - 1))
    rows[row][column] = data.draw(
        st.text(max_size=12) | st.sampled_from(["1e9", "-1", "0", "100 %", "12'", "nan", "#REF!"])
    )
    book = copy_book(tmp_path_factory.mktemp("any"))
    write_rows(book, table, rows)
    found, problems = load_rates(book, DAY)
    assert (found is None) == any(p.level == "error" for p in problems)


@pytest.mark.parametrize("table", [t.sheet for t in RATE_TABLES])
def test_no_heading_that_is_lost_raises(table: str, tmp_path: Path) -> None:
    rows = rows_of(table)
    for column, heading in enumerate(rows[0]):
        folder = tmp_path / f"{column}"
        folder.mkdir()
        book = copy_book(folder)
        write_rows(book, table, [[*rows[0][:column], "x" + heading, *rows[0][column + 1 :]], *rows[1:]])
        found, problems = load_rates(book, DAY)
        assert (found is None) == any(p.level == "error" for p in problems)


def test_the_default_book_lies_in_the_checkout() -> None:
    assert (default_rates() / "settings.csv").is_file()
