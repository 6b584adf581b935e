"""Tables: a heading row, then rows, each column of one kind; lengths in the units of the job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimator.core.money import from_float
from estimator.core.units import show_length
from estimator.report import look
from estimator.report.look import INK, RULE, Sheet
from estimator.report.words import lines_high

# units of the screening, the same in every job: its working is told in them
SAME = {"pull": ("kN", 1e-3), "pounds": ("lbf", 1 / 4.4482216152605), "stress": ("MPa", 1e-6)}
SAME |= {"moment": ("kNm", 1e-3)}
SAME |= {"speed": ("m/s", 1.0), "km/h": ("km/h", 3.6), "mph": ("mph", 1 / 0.44704)}
METRIC = {**SAME, "length": ("m", 1.0), "area": ("m²", 1.0), "volume": ("m³", 1.0), "force": ("kN", 1e-3)}
FEET = {**SAME, "area": ("sq ft", 1 / 0.3048**2), "volume": ("cu ft", 1 / 0.3048**3), "force": SAME["pounds"]}
FORMATS = {"length": look.METRES, "area": look.AREA, "volume": look.VOLUME, "force": look.AREA, "pull": look.AREA}
FORMATS |= {"angle": look.DEGREES, "hours": look.HOURS, "whole": look.WHOLE, "percent": look.PERCENT}
FORMATS |= {
    "moment": look.AREA,
    "pounds": look.WHOLE,
    "stress": "#,##0.0",
    "speed": "0.0",
    "km/h": "0.0",
    "mph": "0.0",
    "share": "0%",
}
RIGHT = {*FORMATS, "quantity", "money", "rate"}
PLAIN = 16.5  # the least height of a row [points]


@dataclass(frozen=True, slots=True)
class Col:
    """One column. kind: text, length, area, volume, force, angle, hours, whole, percent, quantity, money, rate; of the
    screening pull (kN), pounds, moment (kNm), stress, speed, km/h, mph, share (per cent without decimals)."""

    head: str
    kind: str = "text"
    width: float = 12


def metric(units: str) -> bool:
    """Whether a job's lengths are shown in metres."""
    return not units.casefold().startswith("feet")


def unit(kind: str, units: str) -> tuple[str, float]:
    """The unit a kind is shown in, and what an SI value is multiplied by; no unit for kinds that have none.

    >>> unit("area", "metric"), unit("length", "feet and inches")
    (('m²', 1.0), ('', 1.0))
    """
    return (METRIC if metric(units) else FEET).get(kind, ("", 1.0))


HEAD = {
    "bold": True,
    "font_size": 9,
    "font_color": look.ACCENT,
    "bottom": 1,
    "bottom_color": INK,
    "text_wrap": True,
    "valign": "bottom",
}


def headings(sheet: Sheet, row: int, columns: Sequence[Col], widths: Sequence[float] = ()) -> None:
    """The heading row, units in brackets. widths: of the sheet's columns, where the table has none of its own."""
    high = 0.0
    for number, column in enumerate(columns):
        name = unit(column.kind, sheet.look.units)[0]
        shown = f"{column.head} ({name})" if name else column.head
        width = widths[number] if widths else column.width
        high = max(high, lines_high(shown, width, 9, bold=True))
        align: dict[str, Any] = {"align": "right"} if column.kind in RIGHT else _beside(columns, number)
        sheet.text(row, number, shown, **HEAD, **align)
    sheet.height(row, high + 3)


def _beside(columns: Sequence[Col], number: int) -> dict[str, Any]:
    """Text that follows a column of numbers stands a little away from them."""
    return {"indent": 1, "align": "left"} if number and columns[number - 1].kind in RIGHT else {}


def asides_of(columns: Sequence[Col]) -> list[dict[str, Any]]:
    """What columns of text add to the style of their cells."""
    return [_beside(columns, n) if c.kind not in RIGHT else {} for n, c in enumerate(columns)]


def put(sheet: Sheet, row: int, number: int, kind: str, value: Any, **style: Any) -> None:
    """One cell by its kind; None leaves it empty."""
    if value is None or value == "":
        sheet.blank(row, number, **style)
    elif kind == "text" or isinstance(value, str):
        align = {"align": "right"} if kind in RIGHT else {"text_wrap": True}
        sheet.text(row, number, value, **align, **style)
    elif kind == "length" and not metric(sheet.look.units):
        sheet.text(row, number, show_length(value, sheet.look.units), align="right", **style)
    elif kind == "quantity":
        sheet.number(row, number, value, look.quantity_format(Decimal(value)), **style)
    elif kind in ("money", "rate"):
        sheet.number(row, number, value, sheet.look.money(2 if kind == "money" else 4), **style)
    else:
        factor = unit(kind, sheet.look.units)[1]
        shown = value if factor == 1.0 else from_float(float(value) * factor)
        plain = "pounds" if kind == "force" and not metric(sheet.look.units) else kind
        sheet.number(row, number, shown, FORMATS[plain], **style)


def line(
    sheet: Sheet,
    row: int,
    columns: Sequence[Col],
    values: Sequence[Any],
    widths: Sequence[float] = (),
    asides: Sequence[dict[str, Any]] = (),
    **style: Any,
) -> dict[str, Any]:
    """One row, as high as its longest text needs: no program is trusted to find the height itself.

    asides: of the columns, for whoever writes many rows. Gives the style of its cells, for those written apart.
    """
    high, size, bold = PLAIN, style.get("font_size", 10), bool(style.get("bold"))
    asides = asides or asides_of(columns)
    for number, (column, value) in enumerate(zip(columns, values, strict=True)):
        if column.kind == "text" and value:
            width = (widths[number] if widths else column.width) - (1.5 if asides[number] else 0)
            high = max(high, lines_high(str(value), width, size, bold))
    middle = {"valign": "vcenter"} if high == PLAIN else {}
    for number, (column, value) in enumerate(zip(columns, values, strict=True)):
        put(sheet, row, number, column.kind, value, **asides[number], **middle, **style)
    sheet.height(row, high)
    return {**middle, **style}


def rows(
    sheet: Sheet,
    row: int,
    columns: Sequence[Col],
    values: Sequence[Sequence[Any]],
    groups: int = 2,
    widths: Sequence[float] = (),
) -> int:
    """The rows of a table from a row on; a stronger rule where the first `groups` cells change. Gives the row after."""
    asides = asides_of(columns)
    for count, cells in enumerate(values):
        new = count > 0 and list(cells[:groups]) != list(values[count - 1][:groups])
        rule = {"top": 1, "top_color": INK if new else RULE} if count else {}
        line(sheet, row, columns, cells, widths, asides, **rule)
        row += 1
    return row


def table(
    sheet: Sheet,
    row: int,
    columns: Sequence[Col],
    values: Sequence[Sequence[Any]],
    groups: int = 2,
    widths: Sequence[float] = (),
) -> int:
    """Headings and rows; one quiet line where there is nothing. Gives the row after."""
    headings(sheet, row, columns, widths)
    if not values:
        sheet.text(row + 1, 0, "none", font_color=look.FAINT)
        return row + 2
    return rows(sheet, row + 1, columns, values, groups, widths)


def section(sheet: Sheet, row: int, words: str) -> int:
    """A heading over a block. Gives the row after."""
    sheet.text(row, 0, words, bold=True, font_size=12)
    sheet.height(row, 22)
    return row + 1
