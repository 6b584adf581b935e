"""The settings that a rate book must hold, and how each value is read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import cast

from estimator.core.problems import Problem, did_you_mean, problem
from estimator.rates.model import Setting
from estimator.rates.rows import RateRow
from estimator.sheets.columns import Column, Kind
from estimator.sheets.grammar import read_value

FOOTING_RULES = ("longest side", "third of the height", "third of the post", "deeper of side and third of the height")


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a setting is read. kind: a kind of core.units, `number`, `text`, or a unit that is kept as written;
    low, high: bounds in the unit that is kept."""

    kind: str
    low: float = 0
    high: float = float("inf")
    choices: tuple[str, ...] = ()
    may_lack: bool = False  # an older book has no row for it; what needs it is then left out, and said


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
    "wind standard": Wanted("text", may_lack=True),
    "air density": Wanted("kg/m3", 0.9, 1.4, may_lack=True),
    "gust over mean": Wanted("number", 1, 3, may_lack=True),
    "uplift coefficient": Wanted("number", 0.1, 4, may_lack=True),
    "down coefficient": Wanted("number", 0.1, 4, may_lack=True),
    "lateral bearing factor": Wanted("number", 0.5, 2, may_lack=True),
    "pole safety factor": Wanted("number", 1, 5, may_lack=True),
    "sideways over upward low": Wanted("number", 0, 20, may_lack=True),
    "sideways over upward high": Wanted("number", 0, 20, may_lack=True),
    "movement limit": Wanted("percent", 0.001, 0.5, may_lack=True),
    "concrete weight": Wanted("kg/m3", 1000, 4000, may_lack=True),
    "pond water": Wanted("mm", 0.5, 200, may_lack=True),
    "rain": Wanted("mm/h", 1, 1000),
    "creep": Wanted("percent", 0, 0.1),
    "head height": Wanted("length", 0, 5),
    "service clearance": Wanted("length", 0, 5),
    "sail clearance": Wanted("length", 0, 5),
    "valid for": Wanted("day", 1, 730),
    "deposit": Wanted("percent", 0, 1),
    "budget low": Wanted("percent", 0, 0.9),
    "budget high": Wanted("percent", 0, 3),
    "travel low": Wanted("percent", 0, 1, may_lack=True),
    "travel high": Wanted("percent", 1, 20, may_lack=True),
    "range seed": Wanted("whole", 0, 2_147_483_647, may_lack=True),
    "range draws": Wanted("whole", 1000, 1_000_000, may_lack=True),
    "range correlation": Wanted("number", 0, 1, may_lack=True),
    "range chance": Wanted("percent", 0.5, 0.99, may_lack=True),
    "price age": Wanted("day", 1, 3650, may_lack=True),
    "outlier factor": Wanted("number", 1.1, 100, may_lack=True),
    "verbal rise": Wanted("percent", 0, 5, may_lack=True),
    "told rise": Wanted("percent", 0, 5, may_lack=True),
    "saw kerf": Wanted("length", 0, 0.02, may_lack=True),
    "truck free time": Wanted("time", 0, 10, may_lack=True),
    "actuals weight": Wanted("number", 0, 1000, may_lack=True),
    "actuals outlier": Wanted("number", 1.1, 100, may_lack=True),
    "currency": _TEXT,
    "tax by": Wanted("text", choices=("line", "total")),
    "stone item": _TEXT,
    "spoil item": _TEXT,
    "travel item": _TEXT,
}
# Units that are kept as written, with their spellings; how each other kind is read.
_SAME = {
    "day": ("day", "days", "d"),
    "post width": ("post width", "post widths"),
    "mm/h": ("mm/h",),
    "mm": ("mm",),
    "kg/m3": ("kg/m3",),
}
_KEPT: Mapping[str, Kind] = {**dict.fromkeys(_SAME, "number"), "km/h": "speed"}


def read_settings(rows: Sequence[RateRow]) -> tuple[dict[str, Setting], list[Problem]]:
    """The settings in force, by name in lower case."""
    settings: dict[str, Setting] = {}
    problems: list[Problem] = []
    for row in rows:
        wanted = SETTINGS.get(row.key)
        if wanted is None:
            hint = did_you_mean(row.key, SETTINGS)
            problems.append(problem("setting-unknown", row.place("name"), name=row.text("name"), hint=hint))
        value, wrong = _value(row, wanted or _TEXT)
        problems += wrong
        if value is not None:
            shown = " ".join(x for x in (row.text("value"), row.text("unit")) if x)
            settings[row.key] = Setting(row.text("name"), value, row.text("unit"), row.origin, shown)
    return settings, problems


def _value(row: RateRow, wanted: Wanted) -> tuple[float | str | None, list[Problem]]:
    unit = row.text("unit")
    kind, heading = cast(Kind, _KEPT.get(wanted.kind, wanted.kind)), unit
    if wanted.kind in _SAME or kind in ("number", "whole"):
        heading = ""
        if unit.casefold() not in _SAME.get(wanted.kind, ("",)):
            need = f"a number, and '{wanted.kind}' in the column unit" if wanted.kind in _SAME else "no unit"
            return None, [_wrong(row, need)]
    high = None if wanted.high == float("inf") else wanted.high
    scale = 3.6 if wanted.kind == "km/h" else 1.0
    low = wanted.low / scale
    if wanted.choices:
        column = Column(row.key, "choice", choices=wanted.choices)
    elif kind == "text":
        return row.text("value"), []
    else:
        column = Column(row.key, kind, low=low, high=high and high / scale)
    value, problems = read_value(row.raw["value"], column, heading, row.context, row.place("value"))
    if value is None or isinstance(value, str):
        return value, problems
    assert isinstance(value, int | float | Decimal)
    return float(f"{float(value) * scale:.12g}"), problems


def _wrong(row: RateRow, wanted: str) -> Problem:
    found = " ".join(x for x in (row.text("value"), row.text("unit")) if x)
    return problem("rate-cell", row.place("unit"), column=row.key, found=found, wanted=wanted, hint="")
