"""What an old job lends a new one: its customer, sites and fixings, as they are typed into a blank workbook."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.sheets.columns import FIXINGS, JOB, SITES
from estimator.sheets.door import Opened

LENT = ("Customer", "Customer is", "Customer address", "Customer email", "Site contact", "Place", "Units",
        "Decimal mark", "Paper", "Currency", "Tax", "Prices shown", "Rates")  # fmt: skip


def lent(old: Opened) -> Mapping[str, list[Mapping[str, Any]]]:
    """Rows by sheet, column name to value, in the units of the new headings; empty when it cannot be read."""
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
