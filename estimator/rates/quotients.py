"""Columns whose heading holds a quotient of units, such as kg/m or kPa/m."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from estimator.core.problems import Place, Problem, problem
from estimator.core.units import knows, to_si
from estimator.rates.columns import QUOTIENTS

_EXAMPLES = {
    ("mass", "area"): "g/m2",
    ("mass", "length"): "kg/m",
    ("force", "length"): "kN/m",
    ("stress", "length"): "kPa/m",
    ("force", "volume"): "kN/m3",
}


def quotients(
    table: str, values: Mapping[str, Any], units: Mapping[str, str], place: Callable[[str], Place]
) -> tuple[dict[str, Any], list[Problem]]:
    """The values of a row with its quotients in SI; a unit that is missing or of another kind is an error.

    >>> quotients("ground", {"lateral bearing": 15.7}, {"lateral bearing": "kPa/m"}, lambda column: Place())
    ({'lateral bearing': 15700.0}, [])
    """
    converted = dict(values)
    problems: list[Problem] = []
    for (of_table, column), (above, below, low, high) in QUOTIENTS.items():
        if of_table != table or column not in values:
            continue
        top, _, bottom = (part.strip() for part in units[column].partition("/"))
        if not (knows(top, above) and knows(bottom, below)):
            words = {"column": column, "found": units[column] or "no unit", "wanted": _EXAMPLES[above, below]}
            problems.append(problem("rate-heading-unit", place(column), **words))
            continue
        factor = to_si(1, top, above) / to_si(1, bottom, below)
        value = float(f"{to_si(values[column], top, above) / to_si(1, bottom, below):.15g}")
        converted[column] = value
        if not low <= value <= high:
            shown = {"found": f"{values[column]:g} {units[column]}", "hint": ""}
            bounds = {"low": f"{low / factor:.6g} {units[column]}", "high": f"{high / factor:.6g} {units[column]}"}
            problems.append(problem("out-of-bounds", place(column), column=column, **shown, **bounds))
    return converted, problems
