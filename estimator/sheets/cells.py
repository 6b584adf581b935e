"""Cells with their places: what stands in a workbook's sheets, nothing yet read into it."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import MOST_CELLS, Area, area
from estimator.sheets.door import Opened, open_door
from estimator.sheets.package import own_sheets, sheet_entries
from estimator.sheets.tidy import Facts, Tidied, tidy
from estimator.sheets.tidy_parts import line_ends

if TYPE_CHECKING:
    from openpyxl import Workbook

CellKind = Literal["text", "number", "date", "time", "bool", "error", "uncalculated"]
Arrays = list[tuple[Area, str]]
MOST_STEPS = 5_000_000  # cells looked at for array formulas: a file made to be slow is not followed to its end
Value = str | int | float | bool | datetime | time | timedelta | None


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that holds something. formula: with its equals sign, None for a typed value. A time is a `time`,
    or a `timedelta` past a day; a formula without a stored result is `uncalculated` and has no value."""

    value: Value
    kind: CellKind
    formula: str | None = None
    number_format: str = "General"


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet. cells: (row, column), both from 1, to the cells that hold something; merged: areas of more than
    one cell; filtered: hidden rows inside a filter; tables: areas that the spreadsheet program knows as tables."""

    name: str
    cells: Mapping[tuple[int, int], Cell]
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    filtered_rows: frozenset[int] = frozenset()
    merged: tuple[Area, ...] = ()
    totals_rows: frozenset[int] = frozenset()
    state: str = "visible"
    tables: tuple[Area, ...] = ()


@dataclass(frozen=True, slots=True)
class Book:
    """A workbook as read. own: our own output sheets, name to logical name, which are never read; names: all
    tabs in order; manual: it does not calculate by itself; defined: defined names, by key, to their formulas; tables:
    names of tables, by key, to sheet and area; kind: xlsx, ods or xls; unread: sheets of the user's own that are too
    long to be read, and stand among `sheets` without cells."""

    name: str
    sheets: tuple[Sheet, ...]
    names: tuple[str, ...] = ()
    own: Mapping[str, str] = field(default_factory=dict)
    manual: bool = False
    since_1904: bool = False
    defined: Mapping[str, str] = field(default_factory=dict)
    tables: Mapping[str, tuple[str, Area]] = field(default_factory=dict)
    kind: str = "xlsx"
    unread: tuple[str, ...] = ()


def open_book(path: Path, sheets: Iterable[str] | None = None) -> tuple[Opened, Book] | Problem:
    """Door and reading in one step; the one reason why a file cannot be used."""
    opened = open_door(path)
    if isinstance(opened, Problem):
        return opened
    book = read_book(opened, sheets)
    return book if isinstance(book, Problem) else (opened, book)


def read_book(opened: Opened, sheets: Iterable[str] | None = None) -> Book | Problem:
    """The sheets of a workbook in the order of their tabs; own sheets and chart sheets left out.

    sheets: names of the sheets to read, None for all; a long unknown sheet costs no time when it is not asked for.
    """
    from lxml.etree import XMLSyntaxError

    keys = None if sheets is None else frozenset(key(name) for name in sheets)
    try:
        if opened.kind == "ods":
            from estimator.sheets.ods import read_ods

            return read_ods(opened, keys)
        if opened.kind == "xls":
            from estimator.sheets.xls import read_xls

            return read_xls(opened, keys)
        own = own_sheets(opened)
        entries = sheet_entries(opened)
        wanted = None if keys is None else frozenset(e.name for e in entries if key(e.name) in keys)
        tidied = tidy(opened, wanted, frozenset(own))
        if tidied.over:
            return problem("file-too-many-cells", Place(opened.name), limit=f"{MOST_CELLS:,}")
        read = _read(tidied)
    except (XMLSyntaxError, ValueError) as error:
        return problem("part-broken", Place(opened.name), part="a sheet or list of it", reason=str(error).split(",")[0])
    except Exception as error:  # of the library that reads the copy, such as a formula it cannot take apart
        reason = " ".join(str(error).split())[:80] or type(error).__name__
        return problem("part-broken", Place(opened.name), part="a sheet", reason=reason)
    names = tuple(e.name for e in entries)
    return Book(
        opened.name,
        read,
        names,
        own,
        tidied.manual,
        tidied.since_1904,
        tidied.defined,
        tidied.tables,
        opened.kind,
        tidied.unread,
    )


def read_own(opened: Opened) -> Mapping[str, Sheet] | Problem:
    """Our own output sheets in a priced workbook, by what each is for (`Summary`), wherever they stand and whatever
    they are called now; empty for a workbook without ours. Of copies the one that is named for its purpose counts."""
    from lxml.etree import XMLSyntaxError

    try:
        own = own_sheets(opened)
        read = _read(tidy(opened, frozenset(own), frozenset())) if own else ()
    except (XMLSyntaxError, ValueError) as error:
        return problem("part-broken", Place(opened.name), part="a sheet or list of it", reason=str(error).split(",")[0])
    found: dict[str, Sheet] = {}
    for sheet in read:
        purpose = own[sheet.name]
        if purpose not in found or key(sheet.name) == key(purpose):
            found[purpose] = sheet
    return found


def _read(tidied: Tidied) -> tuple[Sheet, ...]:
    import io

    from openpyxl import load_workbook

    def load(values: bool) -> Workbook:
        return load_workbook(io.BytesIO(tidied.data), read_only=True, data_only=values, keep_links=False)

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of dates out of range: they arrive as error cells
        values = load(True)
        formulas = load(False) if any(f.formulas for f in tidied.facts) else None
        sheets = []
        for index, (entry, facts) in enumerate(zip(tidied.entries, tidied.facts, strict=True)):
            found, arrays = _formulas(formulas, f"S{index}") if formulas is not None and facts.formulas else ({}, [])
            cells = with_arrays(_cells(values, f"S{index}", facts, found), arrays)
            sheets.append(_sheet(entry.name, entry.state, facts, cells))
    return tuple(sheets)


def _formulas(book: Workbook, name: str) -> tuple[dict[tuple[int, int], str], Arrays]:
    """The formulas of a sheet by place, and those whose results fill an area."""
    found, arrays = {}, []
    for row in book[name].iter_rows():
        for cell in row:
            if cell.value is not None and cell.data_type == "f":
                text = getattr(cell.value, "text", cell.value)  # an array formula is an object with its text
                shown = text if isinstance(text, str) else "a data table"
                found[cell.row, cell.column] = shown = shown if shown.startswith("=") else f"={shown}"
                filled = area(str(getattr(cell.value, "ref", None) or ""))
                if filled and filled[:2] != filled[2:]:
                    arrays.append((filled, shown))
    return found, arrays


def with_arrays(cells: dict[tuple[int, int], Cell], arrays: Arrays) -> dict[tuple[int, int], Cell]:
    """The cells, those inside the area of an array formula with that formula: only its first cell has it itself."""
    steps = MOST_STEPS
    for (top, left, bottom, right), formula in arrays:
        few = (bottom - top + 1) * (right - left + 1) < len(cells)
        inside = ((r, c) for r in range(top, bottom + 1) for c in range(left, right + 1))
        steps -= min(len(cells), (bottom - top + 1) * (right - left + 1))
        for place in list(inside if few else cells) if steps > 0 else ():
            cell = cells.get(place)
            if cell and not cell.formula and top <= place[0] <= bottom and left <= place[1] <= right:
                cells[place] = replace(cell, formula=formula)
    return cells


def _cells(
    book: Workbook, name: str, facts: Facts, formulas: Mapping[tuple[int, int], str]
) -> dict[tuple[int, int], Cell]:
    cells: dict[tuple[int, int], Cell] = {}
    for row in book[name].iter_rows():
        for cell in row:
            if cell.value is None:
                continue
            place = (cell.row, cell.column)
            value, kind = _typed(cell.value, cell.data_type)
            if value != "" or place in formulas:
                cells[place] = Cell(value, kind, formulas.get(place), cell.number_format or "General")
    for place, formula in formulas.items():
        if place not in cells and place not in facts.empty_text:
            cells[place] = Cell(None, "uncalculated", formula)
    return dict(sorted(cells.items()))


def _typed(value: object, data_type: str) -> tuple[Value, CellKind]:
    if data_type == "e":
        return str(value), "error"
    if isinstance(value, bool):
        return value, "bool"
    if isinstance(value, int | float):
        return value, "number"
    if isinstance(value, datetime):
        return value, "date"
    if isinstance(value, date):
        return datetime(value.year, value.month, value.day), "date"  # noqa: DTZ001
    if isinstance(value, time | timedelta):
        return value, "time"
    return str(value), "text"


def _sheet(name: str, state: str, facts: Facts, cells: Mapping[tuple[int, int], Cell]) -> Sheet:
    inside = range(facts.filter[0], facts.filter[2] + 1) if facts.filter else range(0)
    filtered = frozenset(row for row in facts.hidden_rows if row in inside)
    return Sheet(
        name,
        cells,
        frozenset(facts.hidden_rows) - filtered,
        frozenset(facts.hidden_columns),
        filtered,
        tuple(a for a in facts.merged if a[:2] != a[2:]),
        frozenset(facts.totals_rows),
        state,
        tuple(facts.tables.values()),
    )


def sheet_from_rows(name: str, rows: Sequence[Sequence[str]]) -> Sheet:
    """A sheet from rows of text, such as those of a CSV file; blank texts are no cells.

    >>> sheet_from_rows("posts", [["code", ""], ["P1", "2.9"]]).cells[2, 2].value
    '2.9'
    """
    cells = {
        (r, c): Cell(line_ends(text), "text")
        for r, row in enumerate(rows, start=1)
        for c, text in enumerate(row, start=1)
        if text.strip()
    }
    return Sheet(name, cells)
