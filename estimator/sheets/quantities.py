"""Numbers with their units: a cell of a numeric column to its value in the unit of its kind."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from estimator.core.money import from_float, plain
from estimator.core.problems import Place, Problem, problem
from estimator.core.units import KIND_WORDS, knows, to_si, unit_kind
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column
from estimator.sheets.context import Context
from estimator.sheets.numbers import read_amount
from estimator.sheets.shown import is_percent, only_words, shown_unit, what_was_typed, without_currency

PLAIN = frozenset({"number", "whole", "money"})
NUMERIC = PLAIN | frozenset({"percent", *KIND_WORDS})
_SLIPS = {
    "length": ("mm", "cm", "m", "ft", "in"),
    "distance": ("m", "km", "mi"),
    "speed": ("m/s", "km/h", "mph", "kn"),
    "force": ("N", "kN", "kgf"),
    "stress": ("Pa", "kPa", "MPa", "GPa"),
    "mass": ("g", "kg", "t"),
    "section": ("mm3", "cm3", "m3"),
}

Number = float | int | Decimal
Say = Callable[..., list[Problem]]


def read_number(
    cell: Cell, column: Column, heading_unit: str, context: Context, place: Place
) -> tuple[Number | None, list[Problem]]:
    """The value of a numeric cell in the unit of its kind, None with the reason where it cannot be used.

    length m, distance km, angle degrees, speed m/s, area m2, volume m3, force N, stress Pa, mass kg, section m3,
    time h, number: float; whole: int; percent (fraction) and money: Decimal.
    """
    wanted = column.example if column.kind in PLAIN and column.example else context.example(column.kind)

    def say(code: str, **words: Any) -> list[Problem]:
        told: dict[str, Any] = {"column": column.name, "wanted": wanted, **words}
        return [problem(code, place, **told)]

    if cell.kind in ("bool", "date", "time"):
        return None, _no_number(cell, say)
    if cell.kind == "number":
        number = from_float(float(cell.value))  # type: ignore[arg-type]  # the kind says so
        return _typed_number(number, cell, column, heading_unit, context, say)
    text = str(cell.value)
    found = " ".join(text.split())
    amount = read_amount(without_currency(text) if column.kind == "money" else text, context.decimal_mark)
    if isinstance(amount, str):
        return None, say(amount, found=found)
    if amount.fraction and not amount.unit and heading_unit not in ("in", "ft", '"', "'"):
        return None, say("ask-range", found=found)
    if amount.unit and not knows(amount.unit, column.kind):
        return None, _wrong_unit(found, amount.unit, column.kind, say)
    unit = amount.unit or heading_unit
    value, problems = _within(amount.readings, unit, found, column, context, say)
    if value is not None and not unit:
        problems = [*problems, *_default_note(column, context, say)]
    if value is not None and heading_unit and not amount.unit and column.kind == "percent":
        problems = [*problems, *_small_percent(100 * Decimal(str(value)), column, say)]
    return value, problems


def _typed_number(
    number: Decimal, cell: Cell, column: Column, heading_unit: str, context: Context, say: Say
) -> tuple[Number | None, list[Problem]]:
    """A real number of a cell: its format can say per cent, or show a unit."""
    shown = shown_unit(cell.number_format)
    if only_words(cell.number_format):
        return None, say("bool-as-number", found="TRUE" if number else "FALSE")
    if is_percent(cell.number_format):
        if column.kind != "percent":
            text = f"{plain(number * 100)} %"
            return None, say("percent-as-number", found=text, typed=f"{plain(number * 100)} or {plain(number)}")
        return _within((number * 100,), "%", f"{plain(number * 100)} %", column, context, say)
    unit, notes = heading_unit, []
    if column.kind not in PLAIN and shown and knows(shown, column.kind):
        first = f"{plain(number)} {heading_unit or shown}"
        if heading_unit and to_si(1, shown, column.kind) != _si_of_one(heading_unit, column.kind):
            second = f"{plain(number)} {shown}"
            notes = say("unit-conflict", shown=second, unit=heading_unit, first=first, second=second)
        elif not heading_unit:
            unit = shown
            if to_si(1, shown, column.kind) != _si_of_one(context.default_unit(column.kind), column.kind):
                notes = say("unit-shown", shown=first, first=first)
    value, problems = _within((number,), unit, plain(number), column, context, say)
    if value is not None and not unit:
        problems = [*problems, *_default_note(column, context, say)]
    if value is not None and unit and column.kind == "percent":
        notes = _small_percent(number, column, say)
    return value, [*notes, *problems]


def _small_percent(number: Decimal, column: Column, say: Say) -> list[Problem]:
    """0.24 under a heading in per cent is 0.24 %, as it says; but a cell of the format per cent shows 24 % for it."""
    if not 0 < abs(number) < 1 or not _in_bounds(number, column):
        return []
    found, fraction = plain(number), f"{plain(number * 100)} %"
    return say("small-percent", found=found, shown=f"{found} %", fraction=fraction)


def _si_of_one(unit: str, kind: str) -> float:
    return to_si(1, unit, kind) if unit and knows(unit, kind) else 0.0


def _within(
    readings: tuple[Decimal, ...], unit: str, found: str, column: Column, context: Context, say: Say
) -> tuple[Number | None, list[Problem]]:
    """The one reading that lies in the column's bounds; a question where both do, an error where none does."""
    kind = column.kind
    if kind == "percent" and not unit:
        return _bare_percent(readings, found, column, context, say)
    if kind not in PLAIN:
        unit = unit or context.default_unit(kind)
        if not unit:
            return None, say("unit-needed", found=found)
        if not knows(unit, kind):
            return None, _wrong_unit(found, unit, kind, say)
    if kind == "whole":
        readings = tuple(n for n in readings if _whole(n)) or readings[:1]
        if not _whole(readings[0]):
            return None, say("not-whole", found=found)
    values = [_value(n, unit, kind) for n in readings]
    inside = [i for i, v in enumerate(values) if _in_bounds(v, column)]
    shown = [f"{plain(n)} {unit if kind not in PLAIN else ''}".strip() for n in readings]
    if not inside:
        return None, _out_of_bounds(readings[-1], unit, shown[-1], column, context, say)
    if len(inside) == 2 and values[0] != values[1]:
        return None, say("ask-number", found=found, first=shown[0], second=shown[1])
    value = values[inside[0]]
    notes = (
        [] if len(readings) == 1 else say("read-as", found=found, shown=shown[inside[0]], other=shown[1 - inside[0]])
    )
    return value, notes


def _whole(number: Decimal) -> bool:
    """Whether a number is whole, however long it is: a remainder of more digits than are kept cannot be taken."""
    return number == number.to_integral_value()


def _bare_percent(
    readings: tuple[Decimal, ...], found: str, column: Column, context: Context, say: Say
) -> tuple[Number | None, list[Problem]]:
    """A per cent without its sign: below 1 a fraction, said aloud; 1 and more is asked."""
    number = readings[0]
    as_percent, as_fraction = f"{plain(number)} %", f"{plain(number * 100)} %"
    if len(readings) == 1 and abs(number) < 1:
        value, problems = _within((number * 100,), "%", found, column, context, say)
        told = say("read-as-percent", found=found, shown=as_fraction) if value else []
        return value, [*told, *problems]
    if number == 1 or len(readings) > 1 or _in_bounds(number, column):
        return None, say("ask-percent", found=found, first=as_percent, second=as_fraction)
    return None, say(
        "out-of-bounds",
        found=f"{found} ({as_fraction})",
        **_bounds(column, context),
        hint=f" Did you mean {as_percent}?",
    )


def _value(number: Decimal, unit: str, kind: str) -> Number:
    if kind == "whole":
        return int(number)
    if kind == "money":
        return number
    if kind == "percent":
        return number / 100
    if kind == "number":
        return float(number)
    value = to_si(float(number), unit, kind)
    return round(value, 6) + 0.0 if kind == "length" else value  # float noise only: a micrometre


def _in_bounds(value: Number, column: Column) -> bool:
    number = float(value)
    return (column.low is None or number >= column.low - 1e-12) and (
        column.high is None or number <= column.high + 1e-12
    )


def _bounds(column: Column, context: Context) -> dict[str, str]:
    def show(bound: float | None, none: str) -> str:
        return none if bound is None else context.show(bound, column.kind)

    return {"low": show(column.low, "any smaller value"), "high": show(column.high, "any larger value")}


def _out_of_bounds(number: Decimal, unit: str, shown: str, column: Column, context: Context, say: Say) -> list[Problem]:
    hint = ""
    for other in _SLIPS.get(column.kind, ()):
        value = to_si(float(number), other, column.kind)
        if other != unit and value and _in_bounds(value, column):
            meant = f"{plain(number)} {other}"
            in_words = context.show(value, column.kind)
            hint = f" Did you mean {in_words} ({meant})?" if in_words != meant else f" Did you mean {meant}?"
            break
    return say("out-of-bounds", found=shown, **_bounds(column, context), hint=hint)


def _default_note(column: Column, context: Context, say: Say) -> list[Problem]:
    """That a bare number was read in the usual unit, where another would be thinkable."""
    noted = column.kind not in PLAIN and column.kind not in ("angle", "percent", "time")
    if not noted or (column.kind == "distance" and not context.feet):
        return []
    words = {"m": "metres", "ft": "feet"}
    unit = context.default_unit(column.kind)
    return say("read-in-unit", unit=words.get(unit, unit))


def _wrong_unit(found: str, unit: str, kind: str, say: Say) -> list[Problem]:
    is_kind = unit_kind(unit)
    if kind in PLAIN and is_kind:
        return say("unit-not-wanted", found=found)
    if is_kind:
        return say("unit-wrong-kind", found=found, unit=unit, is_kind=KIND_WORDS[is_kind], want_kind=KIND_WORDS[kind])
    if kind in PLAIN or not re.fullmatch(r"[^\W\d_]+[. ]*", unit):
        return say("not-a-number", found=found)
    return say("unit-unknown", found=found, unit=unit)


def _no_number(cell: Cell, say: Say) -> list[Problem]:
    if cell.kind == "bool":
        return say("bool-as-number", found="TRUE" if cell.value else "FALSE")
    found, typed = what_was_typed(cell)
    return say(f"{cell.kind}-as-number", found=found, typed=typed, format=cell.number_format)
