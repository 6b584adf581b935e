"""Cells of an .xls (the binary kind, of Excel 5 to 2003): values, number formats, and formulas as far as they are told.

A library reads the records; it is shown nothing but the bytes, and whatever it trips over is one sentence.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.sheets.cells import Cell, CellKind, Sheet, Value, with_arrays
from estimator.sheets.package import MARK, Opened
from estimator.sheets.tidy_parts import cleaned
from estimator.sheets.xls_formulas import Formulas, formulas_of, is_manual, name_text, sheet_places

if TYPE_CHECKING:
    from estimator.sheets.cells import Book

MOST_CELLS = 500_000
_STATES = ("visible", "hidden", "veryHidden")
_EMPTY, _TEXT, _NUMBER, _DATE, _BOOL, _ERROR, _BLANK = range(7)  # kinds of cells, as the library numbers them


def read_xls(opened: Opened, wanted: frozenset[str] | None) -> Book | Problem:
    """The sheets of an .xls. wanted: keys of the names to read, None for all."""
    place = Place(opened.name)
    try:
        return _read(opened, wanted)
    except MemoryError:
        return problem("xls-broken", place, reason="its records ask for more memory than there is")
    except Exception as error:  # a library that trusts the file: a damaged one can make it fail in any way
        words = str(error)
        if "encrypted" in words:
            return problem("file-password", place)
        if "Can't find workbook" in words:
            return problem("file-other-office", place)
        return problem("xls-broken", place, reason=" ".join(words.split())[:80] or type(error).__name__)


def _read(opened: Opened, wanted: frozenset[str] | None) -> Book | Problem:
    import xlrd

    from estimator.sheets.cells import Book

    book = xlrd.open_workbook(
        file_contents=opened.data, formatting_info=True, on_demand=True, ragged_rows=True, logfile=io.StringIO()
    )
    names = book.sheet_names()
    places = sheet_places(book)
    own, defined = {}, {}
    for name in book.name_obj_list:
        text = name_text(book, name)
        if name.name == MARK and 0 <= name.scope < len(names):
            own[names[name.scope]] = text.strip('="')
        elif text and not name.hidden:
            defined[key(name.name)] = text
    sheets, manual, left = [], False, MOST_CELLS
    for index, title in enumerate(names):
        if title in own or (wanted is not None and key(title) not in wanted):
            continue
        at = places[index] if index < len(places) else 0
        formulas = formulas_of(book, at) if at else Formulas()
        manual = manual or (at > 0 and is_manual(book, at))
        sheet = book.sheet_by_index(index)
        left -= sum(sheet.row_len(row) for row in range(sheet.nrows))
        if left < 0:
            return problem("file-too-many-cells", Place(opened.name), limit=f"{MOST_CELLS:,}")
        sheets.append(_sheet(book, sheet, title, formulas))
        book.unload_sheet(index)
    return Book(opened.name, tuple(sheets), tuple(names), own, manual, bool(book.datemode), defined=defined, kind="xls")


def _sheet(book: object, sheet: object, title: str, formulas: Formulas) -> Sheet:
    cells = with_arrays(dict(_cells(book, sheet, formulas.texts)), formulas.arrays)
    rows = {number + 1 for number, info in sheet.rowinfo_map.items() if info.hidden}  # type: ignore[attr-defined]
    columns = {number + 1 for number, info in sheet.colinfo_map.items() if info.hidden}  # type: ignore[attr-defined]
    merged = (
        (top + 1, left + 1, bottom, right)
        for top, bottom, left, right in sheet.merged_cells  # type: ignore[attr-defined]
    )
    state = _STATES[min(sheet.visibility, 2)]  # type: ignore[attr-defined]
    return Sheet(
        title,
        cells,
        frozenset(rows),
        frozenset(columns),
        merged=tuple(a for a in merged if a[:2] != a[2:]),
        state=state,
    )


def _cells(
    book: object, sheet: object, formulas: Mapping[tuple[int, int], str]
) -> Iterator[tuple[tuple[int, int], Cell]]:
    from xlrd import error_text_from_code

    formats, styles = book.format_map, book.xf_list  # type: ignore[attr-defined]
    since_1904 = bool(book.datemode)  # type: ignore[attr-defined]
    for row in range(sheet.nrows):  # type: ignore[attr-defined]
        for column in range(sheet.row_len(row)):  # type: ignore[attr-defined]
            kind, value = sheet.cell_type(row, column), sheet.cell_value(row, column)  # type: ignore[attr-defined]
            place = (row + 1, column + 1)
            formula = formulas.get(place)
            if kind in (_EMPTY, _BLANK) or (kind == _TEXT and value == "" and formula is None):
                continue
            style = sheet.cell_xf_index(row, column)  # type: ignore[attr-defined]
            known = formats.get(styles[style].format_key) if style < len(styles) else None
            code = known.format_str if known else "General"
            if kind == _TEXT:
                if value != "":
                    yield place, Cell(cleaned(value), "text", formula, code)
            elif formula in ("=TRUE", "=FALSE"):  # what some programs make of a typed TRUE
                yield place, Cell(formula == "=TRUE", "bool", formula, code)
            elif kind == _ERROR:
                yield place, Cell(error_text_from_code.get(value, "an error"), "error", formula, code)
            elif kind == _BOOL:
                yield place, Cell(bool(value), "bool", formula, code)
            elif kind == _DATE:
                yield place, Cell(*_date(value, since_1904, code), formula, code)
            else:
                number = int(value) if value == int(value) and abs(value) < 1e15 else value
                yield place, Cell(number, "number", formula, code)


def _date(value: float, since_1904: bool, code: str) -> tuple[Value, CellKind]:
    """A serial day as date or time; one that is no day is an error, so that it is named."""
    if "[h" in code.casefold() or 0 <= value < 1:
        spent = timedelta(seconds=round(value * 86400, 3))
        if "[h" in code.casefold() and not 0 <= value < 1:
            return spent, "time"
        of_day = datetime(1, 1, 1) + spent if spent < timedelta(1) else datetime(1, 1, 1)  # noqa: DTZ001
        return of_day.time(), "time"
    if not 0 <= value < 2_958_466:
        return f"{value:g}", "error"
    start = datetime(1904, 1, 1) if since_1904 else datetime(1899, 12, 30 if value >= 60 else 31)  # noqa: DTZ001
    return start + timedelta(days=int(value), seconds=round(value % 1 * 86400)), "date"
