"""Read the sheet `Side by side` back: what each option gives, where its fixings are, what was accepted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from estimator.core.names import key
from estimator.core.problems import Place
from estimator.pricing.model import Accepted
from estimator.report import side_by_side as side
from estimator.report.changes.cells import Grid
from estimator.report.changes.model import Printed, PrintedOption, PrintedPoint
from estimator.report.side_facts import TOLD
from estimator.screening.limit import NONE_TOLD, gust_words
from estimator.sheets.columns import Column
from estimator.sheets.context import Context
from estimator.sheets.quantities import read_number

LENGTH = Column("a length", "length")
HEAD = (side.OPTION, side.MARKED, side.STATUS, side.OFFER, side.PRICE, side.BEFORE, side.COST_ROW)
FIGURES = frozenset((*HEAD, *side.ACCEPTED, side.SINCE, side.DAY, side.NOW, side.GUST, side.SCREENED))


def read_sides(at: Grid, printed: Printed) -> Printed:
    """The printed job with what the sheet says of its options."""
    rows = at.rows()
    found: dict[tuple[str, str], PrintedOption] = {}
    known = {(key(o.site), key(o.name)): o for o in (*printed.options, *([printed.whole] if printed.whole else []))}
    for number, row in enumerate(rows):
        if at.text(row, 1) != side.OPTION or number == 0:
            continue
        site = at.text(rows[number - 1], 1)
        table = _table(at, row)
        for column in range(2, 2 + side.BESIDE):
            name = at.text(row, column)
            whole = site == side.WHOLE and column == 2 and not name
            option = known.get(("", "") if whole else (key(site), key(name)))
            if option is not None and (whole or name):
                found[key(option.site), key(option.name)] = _option(at, table, column, option)
    points = _points(at, printed.units)
    options = []
    for option in printed.options:
        here = (key(option.site), key(option.name))
        options.append(replace(found.get(here, option), points=tuple(points.get(here, ()))))
    whole_option = found.get(("", ""), printed.whole) if printed.whole else None
    return replace(printed, options=tuple(options), whole=whole_option)


def _table(at: Grid, first: int) -> dict[str, int]:
    """The rows of one table by their labels; the first of a label counts."""
    found: dict[str, int] = {}
    row = first
    while at.text(row, 1):
        found.setdefault(at.text(row, 1), row)
        row += 1
    return found


def _option(at: Grid, table: dict[str, int], column: int, option: PrintedOption) -> PrintedOption:
    facts = {}
    for label, row in table.items():
        value = at.sheet.cells.get((row, column))
        if label not in FIGURES and value is not None and value.kind == "text":
            facts[label] = str(value.value)
    if side.GUST in table:
        gust = at.number(table[side.GUST], column)
        if gust is not None or at.text(table[side.GUST], column):
            facts[TOLD] = gust_words(float(gust)) if gust else NONE_TOLD
    offer = at.text(table[side.OFFER], column) if side.OFFER in table else option.offer
    return replace(option, facts=facts, offer=offer, accepted=_accepted(at, table, column))


def _accepted(at: Grid, table: dict[str, int], column: int) -> Accepted | None:
    figures = [at.number(table[name], column) for name in (*side.ACCEPTED, side.SINCE) if name in table]
    if len(figures) != 4 or any(f is None for f in figures) or side.DAY not in table:
        return None
    price, before, tax, revision = (f or Decimal(0) for f in figures)
    cent = Decimal("0.00")
    try:
        day = date.fromisoformat(at.text(table[side.DAY], column))
    except ValueError:
        return None
    return Accepted(before + cent, tax + cent, price + cent, int(revision), day)


def _points(at: Grid, units: str) -> dict[tuple[str, str], list[PrintedPoint]]:
    first = next((r for r in at.rows() if at.text(r, 1) == side.POINTS), None)
    found: dict[tuple[str, str], list[PrintedPoint]] = {}
    row = (first or 0) + 2
    while first and at.text(row, 1):
        places = [_length(at, row, column, units) for column in (5, 6, 7)]
        if None not in places:
            across, out, height = (p or 0.0 for p in places)
            point = PrintedPoint(at.text(row, 3), at.text(row, 4), across, out, height)
            found.setdefault((key(at.text(row, 1)), key(at.text(row, 2))), []).append(point)
        row += 1
    return found


def _length(at: Grid, row: int, column: int, units: str) -> float | None:
    cell = at.sheet.cells.get((row, column))
    if cell is None:
        return None
    value, _ = read_number(cell, LENGTH, "m" if cell.kind == "number" else "", Context(units=units), Place())
    return None if value is None else float(value)
