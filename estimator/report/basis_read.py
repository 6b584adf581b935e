"""Block of `Basis`: every row of the job workbook as it was understood, so that no reading of a cell is silent."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from estimator.core.money import from_float, plain
from estimator.core.units import show_length
from estimator.job.model import Understood
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.table import metric, section
from estimator.report.words import text_points
from estimator.sheets.columns import TABLES, Column
from estimator.sheets.context import DEFAULT_UNIT

UNITS = {**DEFAULT_UNIT, "angle": "°", "speed": "m/s"}
LONGEST = 60  # letters of a text that are repeated here; the rest stands in its own cell
COLUMNS: Mapping[str, Mapping[str, Column]] = {t.sheet: {c.name: c for c in t.columns} for t in TABLES}
MOST_NAMES = 600  # letters of a list of names, which are told in full unless somebody pasted a page
GAP = " · "


def write(sheet: Sheet, rows: Sequence[Understood], row: int, widths: Sequence[float]) -> int:
    """A line or more for each row: its sheet and number, then each cell with its column and what it was taken for.

    Lines run over the empty cells beside them and are broken by width, which is cheaper than cells put together.
    """
    row = section(sheet, row, "What was read, cell by cell, as it was understood")
    room = sum(widths[1:]) * 5.1
    for read in rows:
        pieces = list(understood(read, sheet.look.units))
        sheet.text(row, 0, f"{read.sheet} {read.row}" if read.row else read.sheet, font_color=look.FAINT)
        for line in lines(pieces, room) or ["nothing that could be used"]:
            sheet.text(row, 1, line, font_size=9)
            row += 1
    return row


def understood(read: Understood, units: str) -> Iterator[str]:
    """Each cell of a row that holds something, with its column and its value: `F7 Height 2.6 m`."""
    columns = COLUMNS.get(read.table, {})
    for cell, name, value, usable in read.cells:
        shown = f" {_shown(value, columns.get(name), units)}" if usable else ": not usable"
        yield f"{cell} {name}{shown}".strip()


def _cut(text: str, most: int) -> str:
    flat = " ".join(look.clean(text).split())
    return flat if len(flat) <= most else f"{flat[:most]}…"


def _shown(value: Any, column: Column | None, units: str) -> str:
    kind = column.kind if column else "text"
    if value is None or value == ():
        return "blank"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return _cut(", ".join(str(v) for v in value), MOST_NAMES)
    if isinstance(value, str):
        return _cut(value, LONGEST)
    if kind == "percent":
        return f"{plain(Decimal(str(value)) * 100)} %"
    number = plain(value if isinstance(value, Decimal) else from_float(float(value)))
    unit = UNITS.get(kind, "")
    shown = f"{number}{'' if unit in ('', '°') else ' '}{unit}"
    return f"{shown} ({show_length(float(value), units)})" if kind == "length" and not metric(units) else shown


def lines(pieces: Sequence[str], room: float) -> list[str]:
    """Pieces put one after another into lines no wider than `room` [points]; a piece is never broken."""
    found: list[str] = []
    used = 0.0
    for piece in pieces:
        wide = text_points(piece + GAP, 9)
        if found and used + wide <= room:
            found[-1] += GAP + piece
            used += wide
        else:
            found.append(piece)
            used = wide
    return found
