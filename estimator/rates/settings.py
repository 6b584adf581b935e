"""The settings that a rate book must hold, and how each value is read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.core.names import as_text
from estimator.core.problems import Problem, did_you_mean, problem
from estimator.core.units import knows, spelling, to_si
from estimator.rates.model import Setting
from estimator.rates.rows import RateRow
from estimator.rates.values import split_number

FOOTING_RULES = ("longest side", "third of the height", "third of the post", "deeper of side and third of the height")


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a setting is read. kind: a kind of core.units, `number`, `text`, or a unit that is kept as written;
    low, high: bounds in the unit that is kept."""

    kind: str
    low: float = 0
    high: float = float("inf")
    choices: tuple[str, ...] = ()


_FACTOR = Wanted("number", 1, 20)
_TEXT = Wanted("text")
SETTINGS: Mapping[str, Wanted] = {
    "spare length": Wanted("percent", 0, 0.5),
    "top margin": Wanted("post width", 0, 10),
    "lean": Wanted("angle", 0, 30),
    "cut-off": Wanted("length", 0, 1),
    "chain tail": Wanted("length", 0, 2),
    "longest chain run": Wanted("length", 0, 20),
    "hook on stretch": Wanted("percent", 0, 0.1),
    "take up reserve": Wanted("length", 0, 0.5),
    "least gap": Wanted("length", 0, 2),
    "off bisector limit": Wanted("angle", 0, 90),
    "footing rule": Wanted("text", choices=FOOTING_RULES),
    "hole per post width": Wanted("number", 1, 10),
    "hole step": Wanted("length", 0.001, 0.5),
    "least hole": Wanted("length", 0.1, 2),
    "least cover": Wanted("length", 0, 1),
    "concrete waste": Wanted("percent", 0, 1),
    "stone loose factor": Wanted("number", 1, 3),
    "cloth waste": Wanted("percent", 0, 1),
    "cure before touch": Wanted("day", 0, 60),
    "cure before hanging": Wanted("day", 0, 60),
    "crew": Wanted("number", 1, 50),
    "hours a day": Wanted("time", 1, 24),
    "travel speed": Wanted("km/h", 5, 130),
    "travel trade": _TEXT,
    "concrete trade": _TEXT,
    "digging trade": _TEXT,
    "digging visit": _TEXT,
    "tape error": Wanted("length", 0, 0.1),
    "even pull": Wanted("number", 0, 1),
    "longest over shortest": Wanted("number", 1, 10),
    "usual cloth": _TEXT,
    "pretension": Wanted("force", 0, 20_000),
    "chain sag limit": Wanted("length", 0, 0.5),
    "load factor chain": _FACTOR,
    "load factor wire rope": _FACTOR,
    "load factor shackle": _FACTOR,
    "load factor eye": _FACTOR,
    "load factor hook": _FACTOR,
    "load factor tensioner": _FACTOR,
    "load factor ring": _FACTOR,
    "load factor thimble": _FACTOR,
    "load factor grip": _FACTOR,
    "take-down gust": Wanted("km/h", 10, 250),
    "take-down factor": Wanted("number", 0.1, 1),
    "take-down step": Wanted("km/h", 1, 50),
    "rain": Wanted("mm/h", 1, 1000),
    "valid for": Wanted("day", 1, 730),
    "deposit": Wanted("percent", 0, 1),
    "currency": _TEXT,
    "tax by": Wanted("text", choices=("line", "total")),
    "stone item": _TEXT,
    "spoil item": _TEXT,
    "travel item": _TEXT,
}
_SAME = {"day": ("day", "days", "d"), "post width": ("post width", "post widths")}


def read_settings(rows: Sequence[RateRow], marks: str) -> tuple[dict[str, Setting], list[Problem]]:
    """The settings in force, by name in lower case. marks: how typed numbers are meant (point, comma, blank)."""
    settings: dict[str, Setting] = {}
    problems: list[Problem] = []
    for row in rows:
        wanted = SETTINGS.get(row.key)
        if wanted is None:
            hint = did_you_mean(row.key, SETTINGS)
            problems.append(problem("setting-unknown", row.place("name"), name=row.text("name"), hint=hint))
        value, wrong = _value(row, wanted or _guess(row), marks)
        problems += wrong
        if value is not None:
            shown = " ".join(x for x in (row.text("value"), row.text("unit")) if x)
            settings[row.key] = Setting(row.text("name"), value, row.text("unit"), row.origin, shown)
    return settings, problems


def _guess(row: RateRow) -> Wanted:
    """A setting of the user's own: a plain number without a unit, else text."""
    return Wanted("number", float("-inf")) if isinstance(row.values["value"], int | float) else _TEXT


def _value(row: RateRow, wanted: Wanted, mark: str) -> tuple[float | str | None, list[Problem]]:
    raw = row.values["value"]
    text = as_text(raw)
    if wanted.kind == "text":
        if wanted.choices and text.casefold() not in wanted.choices:
            allowed = ", ".join(wanted.choices)
            return None, [_wrong(row, f"one of {allowed}", did_you_mean(text, wanted.choices))]
        return text.casefold() if wanted.choices else text, []
    parsed = split_number(text, mark or "point")
    if parsed is None:
        return None, [_wrong(row, "a number")]
    number, own = parsed
    unit = spelling(own or row.text("unit"))
    value = _in_unit(number, unit, wanted.kind)
    if value is None:
        need = {"percent": "%", "angle": "deg", "length": "mm or m", "force": "kN", "time": "h"}
        kind = need.get(wanted.kind, "" if wanted.kind == "number" else wanted.kind)
        return None, [_wrong(row, f"a number in {kind}" if kind else "a number without a unit")]
    if not wanted.low <= value <= wanted.high:
        place = row.place("value")
        found = f"{text} {unit}".strip()
        return None, [
            problem("rate-bounds", place, column=row.key, found=found, low=f"{wanted.low:g}", high=f"{wanted.high:g}")
        ]
    return value, []


def _in_unit(number: float, unit: str, kind: str) -> float | None:
    """In the unit that is kept, or None for a unit that is missing or of another kind."""
    if kind == "number":
        return None if unit else number
    if not unit:
        return None
    if kind == "km/h":
        return float(f"{to_si(number, unit, 'speed') * 3.6:.15g}") if knows(unit, "speed") else None
    if kind == "mm/h":
        return number if unit == kind else None
    if kind in _SAME:
        return number if unit.casefold() in _SAME[kind] else None
    return to_si(number, unit, kind) if knows(unit, kind) else None


def _wrong(row: RateRow, wanted: str, hint: str = "") -> Problem:
    found = " ".join(x for x in (row.text("value"), row.text("unit")) if x)
    return problem("rate-cell", row.place("value"), column=row.key, found=found, wanted=wanted, hint=hint)
