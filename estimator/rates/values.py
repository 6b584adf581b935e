"""One cell of a rate table to a value in the unit that the model keeps."""

from __future__ import annotations

import re
from datetime import date, datetime
from typing import Any

from estimator.core.money import from_float
from estimator.core.names import as_text, key
from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.core.units import knows, spelling, to_si
from estimator.rates.columns import QUANTITIES
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column

_NUMBER = re.compile(r"([-+−]?\d+(?:[ \u00a0\u202f]\d{3})*(?:[.,]\d+)?)\s*(\D.*)?", re.S)
_KIND = {"length": "length", "angle": "angle", "percent": "percent"}


def split_number(text: str, mark: str) -> tuple[float, str] | None:
    """Number and unit of a text; None when it is none or when its point or comma can be meant in two ways.

    mark: point or comma, how typed numbers are meant; blank: unknown.

    >>> split_number("2,9 m", ""), split_number("1.200", ""), split_number("1.200", "point")
    ((2.9, 'm'), None, (1.2, ''))
    """
    match = _NUMBER.fullmatch(text.strip())
    if not match:
        return None
    digits = re.sub(r"[\s\u00a0\u202f]", "", match[1]).replace("−", "-")
    if (mark == "point" and "," in digits) or (mark == "comma" and "." in digits):
        return None
    if not mark and re.search(r"[.,]\d{3}$", digits) and not re.match(r"[-+]?0+[.,]", digits):
        return None
    return float(digits.replace(",", ".")), (match[2] or "").strip()


def quantity(number: float, unit: str, kind: str) -> float | None:
    """A number in the unit that the model keeps; None when the unit is of another kind.

    kind: of core.units, or two of them as a quotient.

    >>> quantity(15.709, "kPa/m", "stress/length"), quantity(200, "g/m2", "mass"), quantity(1, "m", "force")
    (15709.0, 0.2, None)
    """
    top, _, bottom = kind.partition("/")
    over, _, under = unit.partition("/") if kind in ("stress/length", "mass") else (unit, "", "")
    if kind == "mass":
        bottom = next((k for k in ("length", "area") if under and knows(under, k)), "?" if under else "")
    if not knows(over, top) or (bottom and not knows(under, bottom)):
        return None
    return float(f"{to_si(number, over, top) / (to_si(1, under, bottom) if bottom else 1):.15g}")


def read_cell(cell: Cell, column: Column, unit: str, mark: str, place: Place) -> tuple[Any, list[Problem]]:
    """The value of a cell, or None and what is wrong. unit: of the heading."""
    if cell.kind in ("error", "uncalculated"):
        return None, [_bad(place, column, cell, "a typed value or a calculated formula")]
    if column.kind in ("text", "name", "names", "size"):
        return as_text(cell.value), []
    if column.kind == "date":
        return _date(cell, column, place)
    if column.kind in ("choice", "yes"):
        return _choice(cell, column, place)
    return _number(cell, column, unit, mark, place)


def _bad(place: Place, column: Column, cell: Cell, wanted: str, hint: str = "") -> Problem:
    shown = as_text(cell.formula if cell.value is None else cell.value)
    return problem("rate-cell", place, column=column.name, found=shown, wanted=wanted, hint=hint)


def _date(cell: Cell, column: Column, place: Place) -> tuple[date | None, list[Problem]]:
    if isinstance(cell.value, datetime):
        return cell.value.date(), []
    text = as_text(cell.value)
    try:
        if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            return date.fromisoformat(text), []
    except ValueError:
        pass
    return None, [_bad(place, column, cell, "a day written like 2026-04-03")]


def _choice(cell: Cell, column: Column, place: Place) -> tuple[str | bool | None, list[Problem]]:
    if column.kind == "yes" and isinstance(cell.value, bool):
        return cell.value, []
    choices = ("yes", "no") if column.kind == "yes" else column.choices
    found = key(cell.value)
    match = next((c for c in choices if key(c) == found), None)
    if match is None:
        hint = did_you_mean(found, choices)
        return None, [_bad(place, column, cell, f"one of {', '.join(choices)}", hint)]
    return match == "yes" if column.kind == "yes" else match, []


def _number(cell: Cell, column: Column, unit: str, mark: str, place: Place) -> tuple[Any, list[Problem]]:
    if isinstance(cell.value, bool) or not isinstance(cell.value, int | float | str):
        return None, [_bad(place, column, cell, "a number")]
    if isinstance(cell.value, str):
        parsed = split_number(cell.value, mark)
        if parsed is None:
            return None, [_bad(place, column, cell, "a number with a decimal point that cannot be misread")]
        number, own = parsed
    else:
        number, own = float(cell.value), ("%" if "%" in cell.number_format else "")
        if own:
            number *= 100
    value, wanted = _in_unit(number, own or unit, column)
    if value is None:
        return None, [_bad(place, column, cell, wanted)]
    low, high = column.low, column.high
    if (low is not None and value < low) or (high is not None and value > high):
        return None, [
            problem(
                "rate-bounds", place, column=column.name, found=as_text(cell.value), low=f"{low:g}", high=f"{high:g}"
            )
        ]
    if column.kind == "whole":
        return (int(value), []) if value == int(value) else (None, [_bad(place, column, cell, "a whole number")])
    return (from_float(value) if column.kind in ("money", "percent") else value), []


def _in_unit(number: float, unit: str, column: Column) -> tuple[float | None, str]:
    """The number in the unit of its column, or None and what the cell should hold."""
    kind = _KIND.get(column.kind) or QUANTITIES.get(column.name, "")
    if not kind:
        return (None, "a number without a unit") if spelling(unit) else (number, "")
    if unit:
        return quantity(number, unit, kind), f"a number with a unit of {kind}"
    if kind in ("force", "stress", "section", "stress/length", "volume"):
        return None, f"a number with its unit ({kind}), here or in the heading's brackets"
    if kind == "percent":
        return (number if abs(number) < 1 else None), "a per cent, such as 10 %"
    return number, ""
