"""A blank job workbook, made from the column declarations, or filled with what an old job can lend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from estimator.report import look
from estimator.report.blank_lent import lent
from estimator.report.look import ACCENT, FAINT, INK, RULE, Sheet
from estimator.report.words import lines_high
from estimator.sheets.columns import TABLES, Column, Table
from estimator.sheets.door import Opened
from estimator.takeoff.labour import DIG, MIX, TRAVEL

UNITS = {"length": "m", "distance": "km", "angle": "degrees", "percent": "%"}
NEEDED, TYPED = "#F3EBDD", "#FBF8F2"  # behind a heading that is needed; behind a cell to be filled in
HEADING_ROW, LAST_ROW = 4, 400  # as the program counts rows, from 1; drop-downs reach down to the last row
UPRIGHT = 110  # the widest table, in characters, that still prints on an upright page
RULED = 24  # rows ruled for filling in by hand
MADE = date(2000, 1, 1)  # stands for every clock in the file
NARROW = {"length": 10.0, "angle": 10.0, "percent": 10.0, "whole": 10.0, "number": 10.0, "yes": 9.0, "distance": 9.0}
JOB_WORDS = "Fill in the second column. Only the job's name is needed; what is blank is taken as the notes say."
TABLE_WORDS = "Shaded headings are needed. The row EXAMPLE is skipped; write over it or leave it."
LIST_WORDS = "What the drop-downs offer, from the default rate book. Names of your own rate book may be typed as well."
UNIT_WORDS = {"Valid for": "days"}  # already said by the heading
Offers = Mapping[str, Sequence[tuple[str, str]]]


def blank_job(old: Opened | None, today: date | None = None) -> bytes:
    """The bytes of a blank job workbook; old: a job whose customer, sites and fixings are taken over.

    today: the day whose rates fill the drop-downs. The same declarations and rate book give the same bytes.
    """
    from estimator.report.package.zipping import settle

    book = look.start("", "metric", "A4", MADE)
    offers = _offers(today or date.today())
    filled = lent(old) if old else {}
    for table in TABLES:
        sheet = look.add_sheet(book, table.sheet, {})
        rows = filled.get(table.sheet, [])
        if table.items:
            _items(sheet, table, rows[0] if rows else {})
        else:
            _columns(sheet, table, rows)
        _drop_downs(sheet, table, offers)
    _lists(look.add_sheet(book, "Lists", {}), offers)
    return settle(look.finish(book))


def heading(column: Column) -> str:
    """The heading of a column, its unit in brackets.

    >>> heading(Column("Height", "length"))
    'Height (m)'
    """
    unit = "days" if column.name == "Valid for" else UNITS.get(column.kind, "")
    return f"{column.name} ({unit})" if unit else column.name


def _offers(day: date) -> Offers:
    """Names of the default rate book by table, each with a few words where the book has some."""
    from estimator.rates.read import load_rates

    book, _ = load_rates(None, day)
    assert book is not None
    priced = {"yes": "priced", "engineer": "provisional: an engineer decides", "no": "not priced"}
    return {
        "supports": [(r.name, f"{priced[r.priced]}. {r.note}".strip(" .")) for r in book.supports.values()],
        "ground": [(r.name, "") for r in book.ground.values()],
        "access": [(r.name, "") for r in book.access.values()],
        "posts": [(r.code, r.description) for r in book.posts.values()],
        "cloths": [(r.code, r.description) for r in book.cloths.values()],
        "corner_sets": [(r.name, "") for r in book.corner_sets.values()],
        "labour": [(name, "") for name in dict.fromkeys([*(r.task for r in book.labour), DIG, MIX, TRAVEL])],
        "taxes": [(r.code, r.name) for r in book.taxes.values()],
        "sails": [(r.code, r.description) for r in book.sails.values()],
    }


def _titles(sheet: Sheet, name: str, words: str, widths: list[float], *, landscape: bool) -> None:
    look.page(sheet, "Job workbook", "", widths, landscape=landscape, frozen=HEADING_ROW)
    sheet.ws.hide_gridlines(1)  # in sight while typing; on paper the rows are ruled
    sheet.text(0, 0, name, bold=True, font_size=15)
    sheet.text(1, 0, words, font_color=FAINT)
    sheet.height(0, 24)
    sheet.height(1, 18)


def _columns(sheet: Sheet, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """A table: notes above the headings, an EXAMPLE row below, then the rows taken over, then ruled rows."""
    widths = [_width(c) for c in table.columns]
    _titles(sheet, table.sheet, f"{table.note} {TABLE_WORDS}", widths, landscape=sum(widths) > UPRIGHT)
    first = HEADING_ROW  # the row below the headings, counted from 0
    for at, column in enumerate(table.columns):
        sheet.text(first - 2, at, "; ".join(_words(column)), text_wrap=True, valign="bottom", font_size=8, italic=True,
                   font_color=FAINT)  # fmt: skip
        _heading(sheet, at, heading(column), column.required)
        example = _number_or_text(column.example)
        _value(sheet, first, at, example, column, italic=True, font_color=FAINT)
        for down, row in enumerate(rows, start=first + 1):
            _value(sheet, down, at, row.get(column.name), column)
        for down in range(first + 1 + len(rows), first + 1 + max(len(rows), RULED)):
            _value(sheet, down, at, None, column)
            sheet.height(down, 20)
    high = [lines_high("; ".join(_words(c)), w, 8) for c, w in zip(table.columns, widths, strict=True)]
    sheet.height(first - 2, max(high))
    sheet.height(first - 1, 30)
    keys = sum(c.required and c.kind == "name" for c in table.columns)
    sheet.ws.freeze_panes(HEADING_ROW, max(keys, 1))


def _heading(sheet: Sheet, at: int, words: str, needed: bool = False) -> None:
    shade = {"bg_color": NEEDED} if needed else {}
    sheet.text(HEADING_ROW - 1, at, words, bold=True, text_wrap=True, valign="bottom", bottom=2, bottom_color=INK,
               **shade)  # fmt: skip


def _value(sheet: Sheet, row: int, at: int, value: Any, column: Column, **style: Any) -> None:
    """A cell to be filled in. Names and sizes are text, so that no program turns `3-4` into a date."""
    ruled = {"bottom": 4, "bottom_color": RULE, "right": 4, "right_color": RULE, "valign": "bottom", **style}
    align = ruled.pop("align", "left")  # numbers too: at the right they would run into the text beside them
    if column.kind in ("name", "names", "size"):
        ruled["num_format"] = "@"
    if value is None:
        sheet.blank(row, at, align=align, **ruled)
    elif isinstance(value, date):
        sheet.day(row, at, value, **ruled)
    elif isinstance(value, int | float | Decimal):
        sheet.number(row, at, value, ruled.pop("num_format", "General"), align=align, **ruled)
    else:
        sheet.text(row, at, value, align=align, **ruled)


def _width(column: Column) -> float:
    longest = max(len(word) for word in heading(column).split())
    return max(NARROW.get(column.kind, float(column.width)), longest + 3.0)


def _words(column: Column) -> list[str]:
    """What stands above a heading: whether it is needed, what may be typed, what a blank means."""
    words = ["needed"] if column.required else []
    if column.choices:
        joined = " or ".join([", ".join(column.choices[:-1]), column.choices[-1]])
        words.append(joined if column.kind == "choice" else f"any of {joined}")
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


def _items(sheet: Sheet, table: Table, filled: Mapping[str, Any]) -> None:
    """The sheet of items: Item, Value and what is meant."""
    _titles(sheet, table.sheet, JOB_WORDS, [23.0, 40.0, 62.0], landscape=False)
    sheet.height(HEADING_ROW - 2, 6)
    for at, words in enumerate(("Item", "Value", "What is meant")):
        _heading(sheet, at, words)
    for row, column in enumerate(table.columns, start=HEADING_ROW):
        sheet.text(row, 0, heading(column), bold=column.required, bottom=4, bottom_color=RULE,
                   **({"bg_color": NEEDED} if column.required else {}))  # fmt: skip
        dated = {"num_format": look.DATE} if column.kind == "date" else {}
        _value(sheet, row, 1, filled.get(column.name), column, text_wrap=True, bg_color=TYPED, **dated)
        said = [w for w in _words(column) if w != UNIT_WORDS.get(column.name)]
        example = [f"such as {column.example}"] if column.example else []
        sheet.text(row, 2, "; ".join([*said, *example]), font_size=9, italic=True, font_color=FAINT,
                   bottom=4, bottom_color=RULE)  # fmt: skip
        sheet.height(row, 17)


def _lists(sheet: Sheet, offers: Offers) -> None:
    """A plain sheet with what the drop-downs offer, one list below the other; nothing of the file is hidden."""
    _titles(sheet, "Lists", LIST_WORDS, [24.0, 96.0], landscape=False)
    sheet.ws.repeat_rows(0, 0)
    for name, row in _list_rows(offers).items():
        sheet.text(row - 1, 0, name.replace("_", " "), bold=True, bottom=1, bottom_color=INK)
        sheet.blank(row - 1, 1, bottom=1, bottom_color=INK)
        for down, (value, words) in enumerate(offers[name], start=row):
            sheet.text(down, 0, value)
            sheet.text(down, 1, words, font_size=9, font_color=ACCENT if "not priced" in words else FAINT)


def _list_rows(offers: Offers) -> dict[str, int]:
    """The first row of each list on `Lists`, counted from 0."""
    rows, row = {}, HEADING_ROW
    for name, pairs in offers.items():
        rows[name] = row
        row += len(pairs) + 2
    return rows


def _drop_downs(sheet: Sheet, table: Table, offers: Offers) -> None:
    for at, column in enumerate(table.columns):
        source = _source(table, column, offers)
        if not source:
            continue
        rule = {
            "validate": "list",
            "source": source,
            # a closed list refuses anything else; names of another rate book may be typed
            "error_type": "stop",
            "show_error": isinstance(source, list),
            "error_message": f"{column.name}: choose from the list, or leave it blank.",
        }
        rows = (HEADING_ROW + at, HEADING_ROW + at) if table.items else (HEADING_ROW, LAST_ROW - 1)
        place = 1 if table.items else at
        answer = sheet.ws.data_validation(rows[0], place, rows[1], place, rule)
        assert answer == 0, f"{table.sheet}, {column.name}: the drop-down was refused"


def _source(table: Table, column: Column, offers: Offers) -> str | list[str]:
    """What a drop-down offers: a closed list, a range of `Lists`, or the names on `Sites`."""
    if column.kind == "yes":
        return ["yes", "no"]
    if column.kind == "choice":
        return list(column.choices)
    if column.name == "Site" and table.sheet != "Sites":
        return f"=Sites!$A${HEADING_ROW + 1}:$A$60"
    wanted = "sails" if column.kind == "size" else column.table
    if wanted not in offers:
        return ""
    first = _list_rows(offers)[wanted] + 1
    return f"=Lists!$A${first}:$A${first + len(offers[wanted]) - 1}"
