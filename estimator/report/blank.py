"""A blank job workbook, made from the column declarations, or filled with what an old job can lend."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.sheets.columns import FIXINGS, JOB, SITES, TABLES, Column, Table
from estimator.sheets.door import Opened

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

UNITS = {"length": "m", "distance": "km", "angle": "degrees", "percent": "%"}
INK, QUIET, RULE = "FF1F2A37", "FF6B7280", "FFB8C0CA"
HEADING_ROW, LAST_ROW = 4, 400
LENT = ("Customer", "Customer is", "Customer address", "Customer email", "Site contact", "Place", "Units",
        "Decimal mark", "Paper", "Currency", "Tax", "Prices shown", "Rates")  # fmt: skip
TEXTS = {
    "Job": "Fill in the second column. Only the job's name is needed; what is blank is taken as the notes say.",
    "Lists": "What the drop-downs offer, from the default rate book. Names of your own rate book may be typed as well.",
}


def blank_job(old: Opened | None) -> bytes:
    """The bytes of a blank job workbook; old: a job whose customer, sites and fixings are taken over.

    The same declarations and rate book give the same bytes.
    """
    from openpyxl import Workbook

    from estimator.report.package.zipping import settle

    book = Workbook()
    book.remove(book.active)  # type: ignore[arg-type]
    lists = _names_to_offer()
    lent = _lent(old) if old else {}
    for table in TABLES:
        sheet = book.create_sheet(table.sheet)
        rows = lent.get(table.sheet, [])
        if table.items:
            _items(sheet, table, rows[0] if rows else {})
        else:
            _columns(sheet, table, rows)
    _lists(book, lists)
    for table in TABLES:
        _drop_downs(book, table, lists)
    found = io.BytesIO()
    book.save(found)
    return settle(found.getvalue())


def heading(column: Column) -> str:
    """The heading of a column, its unit in brackets.

    >>> heading(Column("Height", "length"))
    'Height (m)'
    """
    unit = UNITS.get(column.kind, "")
    return f"{column.name} ({unit})" if unit else column.name


def _names_to_offer() -> Mapping[str, Sequence[str]]:
    """Names of the default rate book by table."""
    from estimator.rates.read import load_rates

    book, _ = load_rates(None, date.today())
    assert book is not None
    return {
        "supports": [r.name for r in book.supports.values()],
        "ground": [r.name for r in book.ground.values()],
        "access": [r.name for r in book.access.values()],
        "posts": [r.code for r in book.posts.values()],
        "cloths": [r.code for r in book.cloths.values()],
        "corner_sets": [r.name for r in book.corner_sets.values()],
        "taxes": [r.code for r in book.taxes.values()],
        "sails": [r.code for r in book.sails.values()],
    }


def _titles(sheet: Worksheet, table: Table) -> None:
    from openpyxl.styles import Alignment, Font

    sheet["A1"] = table.sheet
    sheet["A1"].font = Font(bold=True, size=15, color=INK)
    sheet["A2"] = TEXTS.get(table.sheet, table.note)
    sheet["A2"].font = Font(size=10, color=QUIET)
    sheet["A2"].alignment = Alignment(vertical="top")
    sheet.sheet_view.showGridLines = True
    sheet.page_setup.orientation = "portrait" if table.items else "landscape"
    sheet.page_setup.paperSize = 9
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True  # type: ignore[union-attr]
    sheet.oddFooter.center.text = "&A, page &P of &N"  # type: ignore[union-attr]
    sheet.print_title_rows = f"{HEADING_ROW}:{HEADING_ROW}"


def _heading_cell(sheet: Worksheet, row: int, column: int, text: str, required: bool = False) -> None:
    from openpyxl.styles import Alignment, Border, Font, Side

    cell = sheet.cell(row, column, text)
    cell.font = Font(bold=True, color=INK, underline="single" if required else None)
    cell.alignment = Alignment(wrap_text=True, vertical="bottom")
    cell.border = Border(bottom=Side(style="medium", color=INK))


def _columns(sheet: Worksheet, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """A table: notes above the headings, an EXAMPLE row below, then the rows taken over."""
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    _titles(sheet, table)
    for number, column in enumerate(table.columns, start=1):
        note = sheet.cell(HEADING_ROW - 1, number, "; ".join(_words(column)))
        note.font = Font(size=8, italic=True, color=QUIET)
        note.alignment = Alignment(wrap_text=True, vertical="bottom")
        _heading_cell(sheet, HEADING_ROW, number, heading(column), column.required)
        sheet.column_dimensions[get_column_letter(number)].width = max(column.width, len(heading(column)) * 0.8 + 3)
        example = sheet.cell(HEADING_ROW + 1, number, _number_or_text(column.example))
        example.font = Font(italic=True, color=QUIET)
        example.alignment = Alignment(horizontal="left")
        for at, row in enumerate(rows, start=HEADING_ROW + 2):
            if row.get(column.name) is not None:
                sheet.cell(at, number, row[column.name])
    sheet.row_dimensions[HEADING_ROW - 1].height = 46
    sheet.row_dimensions[HEADING_ROW].height = 32
    first_free = 1 + sum(c.required and c.kind == "name" for c in table.columns)
    sheet.freeze_panes = sheet.cell(HEADING_ROW + 1, max(first_free, 2)).coordinate


def _words(column: Column) -> list[str]:
    words = ["needed"] if column.required else []
    if column.note:
        words.append(column.note)
    if column.kind == "yes" and not column.note:
        words.append("yes or blank")
    return words


def _number_or_text(text: str) -> float | str | None:
    try:
        return float(text)
    except ValueError:
        return text or None


def _items(sheet: Worksheet, table: Table, filled: Mapping[str, Any]) -> None:
    """The sheet of items: Item, Value and what is meant."""
    from openpyxl.styles import Alignment, Border, Font, Side

    _titles(sheet, table)
    for number, text in enumerate(("Item", "Value", "What is meant"), start=1):
        _heading_cell(sheet, HEADING_ROW, number, text)
    for row, column in enumerate(table.columns, start=HEADING_ROW + 1):
        name = f"{column.name} (days)" if column.name == "Valid for" else column.name
        sheet.cell(row, 1, name).font = Font(bold=column.required, color=INK)
        value = sheet.cell(row, 2, filled.get(column.name))
        value.border = Border(bottom=Side(style="thin", color=RULE))
        value.alignment = Alignment(horizontal="left", wrap_text=True)
        if column.kind == "date":
            value.number_format = "yyyy-mm-dd"
        words = "; ".join([*_words(column), *([" or ".join(column.choices)] if column.choices else [])])
        note = sheet.cell(row, 3, f"e.g. {column.example}" if column.example else words)
        note.font = Font(size=9, italic=True, color=QUIET)
    for letter, width in (("A", 22), ("B", 44), ("C", 48)):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = f"A{HEADING_ROW + 1}"


def _lists(book: Workbook, lists: Mapping[str, Sequence[str]]) -> None:
    """A plain sheet with what the drop-downs offer; nothing of the file is hidden."""
    from openpyxl.styles import Font

    sheet = book.create_sheet("Lists")
    sheet["A1"] = "Lists"
    sheet["A1"].font = Font(bold=True, size=15, color=INK)
    sheet["A2"] = TEXTS["Lists"]
    sheet["A2"].font = Font(size=10, color=QUIET)
    for number, (name, values) in enumerate(lists.items(), start=1):
        _heading_cell(sheet, HEADING_ROW, number, name.replace("_", " "))
        for row, value in enumerate(values, start=HEADING_ROW + 1):
            sheet.cell(row, number, value)
        sheet.column_dimensions[sheet.cell(1, number).column_letter].width = 20


def _drop_downs(book: Workbook, table: Table, lists: Mapping[str, Sequence[str]]) -> None:
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    sheet = book[table.sheet]
    names = list(lists)
    for number, column in enumerate(table.columns, start=1):
        choices = ("yes", "no") if column.kind == "yes" else column.choices
        source = ""
        if choices and column.kind in ("choice", "yes"):
            source = f'"{",".join(choices)}"'
        elif column.table in lists:
            letter = get_column_letter(names.index(column.table) + 1)
            last = HEADING_ROW + len(lists[column.table])
            source = f"Lists!${letter}${HEADING_ROW + 1}:${letter}${last}"
        elif column.kind == "size":
            letter = get_column_letter(names.index("sails") + 1)
            source = f"Lists!${letter}${HEADING_ROW + 1}:${letter}${HEADING_ROW + len(lists['sails'])}"
        if not source:
            continue
        rule = DataValidation(type="list", formula1=source, allow_blank=True, showErrorMessage=column.kind == "choice")
        rule.error = f"{column.name}: choose from the list, or leave it blank."
        sheet.add_data_validation(rule)
        if table.items:
            rule.add(f"B{HEADING_ROW + number}")
        else:
            letter = get_column_letter(number)
            rule.add(f"{letter}{HEADING_ROW + 1}:{letter}{LAST_ROW}")


def _lent(old: Opened) -> Mapping[str, list[Mapping[str, Any]]]:
    """Customer, sites and fixings of an old job, as values in the units of the new headings."""
    from estimator.core.problems import Problem
    from estimator.job.header import read_header
    from estimator.sheets.cells import read_book
    from estimator.sheets.grammar import Context
    from estimator.sheets.reader import read_items, read_table

    book = read_book(old)
    if isinstance(book, Problem):
        return {}
    _, context, _ = read_header(book, old.name, date.today())
    row, _ = read_items(book, JOB, context)
    header = {name: _shown(v, "", context) for name in LENT if (v := row.values.get(name)) is not None}
    found: dict[str, list[Mapping[str, Any]]] = {"Job": [header]}
    for table in (SITES, FIXINGS):
        kinds = {c.name: c.kind for c in table.columns}
        rows: Iterable[Any] = read_table(book, table, context if context else Context()).rows
        found[table.sheet] = [
            {name: _shown(v, kinds[name], context) for name, v in r.values.items() if v is not None and name in kinds}
            for r in rows
        ]
    return found


def _shown(value: Any, kind: str, context: Any) -> Any:
    """A value as it is typed into the new workbook."""
    if kind == "length" and context.units != "metric":
        return show_length(float(value), context.units)
    if kind == "speed":
        return f"{float(value):g} m/s"
    if kind == "yes":
        return "yes" if value else None
    if isinstance(value, tuple | list):
        return " ".join(str(v) for v in value)
    if isinstance(value, Decimal):
        return float(value) * (100 if kind == "percent" else 1)
    if isinstance(value, float):
        return round(value, 6)
    return value if isinstance(value, int | str | date) else key(value)
