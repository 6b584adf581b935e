"""One cell to one value, by the declaration of its column; what cannot be read is a problem, never a guess."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal

from estimator.core.money import from_float, plain
from estimator.core.names import key
from estimator.core.problems import Place, Problem, did_you_mean, problem
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column
from estimator.sheets.context import Context
from estimator.sheets.numbers import tidy_text
from estimator.sheets.quantities import NUMERIC, read_number
from estimator.sheets.shown import what_was_typed

__all__ = ["Context", "Read", "read_value"]

Read = str | tuple[str, ...] | float | int | Decimal | date | bool | None

_YES = frozenset({"yes", "y", "x", "true", "1", "✓", "✔", "☑"})
_NO = frozenset({"no", "n", "false", "0", "☐"})
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?", re.ASCII)
_SOME_DATE = re.compile(r"\d{1,4}\s*[/.\- ]\s*\d{1,2}\s*[/.\- ]\s*\d{1,4}", re.ASCII)


def read_value(
    cell: Cell | None, column: Column, heading_unit: str, context: Context, place: Place
) -> tuple[Read, list[Problem]]:
    """The value of a cell by its column, and what is to be said about it.

    A blank cell is None (a yes/no: False), and so is one that cannot be used; then a problem of level error says
    why. heading_unit: the unit in the heading's brackets, blank for none. Values: text, name, choice, size: str;
    names, choices: tuple; yes: bool; date; numbers as `quantities.read_number` says.

    >>> read_value(Cell("2900mm", "text"), Column("Height", "length", low=0, high=30), "", Context(), Place())
    (2.9, [])
    """
    if cell is None or is_blank(cell):
        return (False if column.kind == "yes" else None), []
    if cell.kind == "uncalculated":
        return None, [problem("uncalculated", place, column=column.name, formula=short(cell.formula or ""))]
    if cell.kind == "error":
        free = column.kind == "text" and not column.required and not column.table
        formula = f" of the formula {short(cell.formula)}" if cell.formula else ""
        code = "error-text" if free else "error-cell"
        return None, [problem(code, place, column=column.name, found=cell.value, formula=formula)]
    if column.kind in NUMERIC:
        return read_number(cell, column, heading_unit, context, place)
    if column.kind == "yes":
        return _yes(cell, column, place)
    if column.kind == "date":
        return _date(cell, column, place)
    if column.kind in ("choice", "choices"):
        return _choices(cell, column, place)
    if cell.kind in ("date", "time") and (column.kind != "text" or column.table):
        found, typed = what_was_typed(cell)
        words = {"column": column.name, "found": found, "typed": typed, "format": cell.number_format}
        return None, [problem("date-as-name", place, **words)]
    text = cell_text(cell)
    if column.kind == "names":
        return split_names(text), []
    return text, []


def is_blank(cell: Cell) -> bool:
    """Whether a cell holds nothing but spaces; a formula that was never calculated is not blank."""
    return cell.kind == "text" and not tidy_text(str(cell.value))


def cell_text(cell: Cell) -> str:
    """A cell as a person would type it."""
    value = cell.value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return plain(from_float(float(value)))
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == datetime.min.time() else value.isoformat(" ", "minutes")
    return str(value).strip()


def split_names(text: str) -> tuple[str, ...]:
    """Names of a list, set apart by spaces, commas or semicolons.

    >>> split_names("A, B;C  D")
    ('A', 'B', 'C', 'D')
    """
    return tuple(name for name in re.split(r"[\s,;\u200b\ufeff]+", text) if name)


def short(formula: str, limit: int = 80) -> str:
    """A formula short enough for a sentence."""
    return formula if len(formula) <= limit else formula[: limit - 4] + " ..."


def _yes(cell: Cell, column: Column, place: Place) -> tuple[bool | None, list[Problem]]:
    word = key(cell_text(cell))
    if word in _YES or word in _NO:
        return word in _YES, []
    return None, [problem("not-yes-or-no", place, column=column.name, found=cell_text(cell))]


def _date(cell: Cell, column: Column, place: Place) -> tuple[date | None, list[Problem]]:
    if isinstance(cell.value, datetime) and cell.value.year > 1904:
        return cell.value.date(), []
    text = tidy_text(cell_text(cell))
    match = _ISO.fullmatch(text) if cell.kind == "text" else None
    if match:
        try:
            return date(*(int(part) for part in match.groups())), []
        except ValueError:
            pass
    code = "ask-date" if cell.kind == "text" and not match and _SOME_DATE.fullmatch(text) else "not-a-date"
    return None, [problem(code, place, column=column.name, found=text)]


def _choices(cell: Cell, column: Column, place: Place) -> tuple[str | tuple[str, ...] | None, list[Problem]]:
    text = cell_text(cell)
    spelled = {_choice_key(choice): choice for choice in column.choices}
    parts = re.split(r"[,;\n]", text) if column.kind == "choices" else [text]
    if column.kind == "choices" and all(_choice_key(p) in spelled for p in text.split()):
        parts = text.split()
    found = [spelled.get(_choice_key(part)) for part in parts if part.strip()]
    if None not in found:
        chosen = tuple(choice for choice in found if choice is not None)
        return (chosen if column.kind == "choices" else chosen[0]), []
    wrong = next(part.strip() for part in parts if part.strip() and _choice_key(part) not in spelled)
    words = {"column": column.name, "found": wrong, "choices": ", ".join(column.choices)}
    return None, [problem("not-a-choice", place, hint=did_you_mean(wrong, column.choices), **words)]


def _choice_key(text: str) -> str:
    return key(text.replace("_", " "))
