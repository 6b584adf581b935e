"""Rows to add to a table of a rate book: an old row as it is written, with some of its cells changed."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from estimator.rates.columns import RATE_TABLES
from estimator.rates.files import FORMULA_STARTS, find_tables
from estimator.rates.rows import RateRow, read_rows
from estimator.rates.where import default_rates
from estimator.sheets.grammar import cell_text
from estimator.sheets.headings import find_table

ADDED = {"valid from": "valid_from", "source": "source"}  # a table that is never dated may lack them


@dataclass(frozen=True, slots=True)
class Written:
    """A table as it is written. columns: of each column that is known, its place from 0; texts: of each row, by its
    number, what stands in its cells; comma: decimal commas, so that semicolons set the columns apart."""

    headings: tuple[str, ...]
    columns: Mapping[str, int]
    rows: tuple[RateRow, ...]
    texts: Mapping[int, tuple[str, ...]]
    comma: bool


def written_table(path: Path | None, name: str) -> Written | None:
    """A table of a rate book, None where it cannot be read. path: None for the default rate book."""
    tables, _ = find_tables(path or default_rates())
    table = next(t for t in RATE_TABLES if t.sheet == name)
    found = tables.get(name)
    at = find_table(found.sheet, table.columns) if found else None
    if found is None or at is None:
        return None
    heads = {h.column: h.text for h in (*at.columns.values(), *at.unknown)}
    width = max(heads)
    columns = {n: h.column - 1 for n, h in at.columns.items()}
    more = [n for n in ADDED if n not in columns]
    headings = (*(heads.get(c, "") for c in range(1, width + 1)), *(ADDED[n] for n in more))
    columns |= {n: width + place for place, n in enumerate(more)}
    rows, _ = read_rows(found, table)
    cells = found.sheet.cells

    def text(row: int, column: int) -> str:
        return cell_text(cells[row, column]) if (row, column) in cells else ""

    texts = {r.number: (*(text(r.number, c) for c in range(1, width + 1)), *("" for _ in more)) for r in rows}
    return Written(headings, columns, tuple(rows), texts, found.mark == "comma")


def changed_row(table: Written, row: RateRow, changes: Mapping[str, str]) -> tuple[str, ...]:
    """The cells of a row with some changed: column name to text, a number with a point."""
    cells = list(table.texts[row.number])
    for name, text in changes.items():
        cells[table.columns[name]] = text
    return tuple(cells)


def as_csv(table: Written, rows: Iterable[tuple[str, ...]]) -> str:
    """Rows under the headings of their table, to be added to it as they are."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";" if table.comma else ",", lineterminator="\n")
    writer.writerow(table.headings)
    writer.writerows([inert(text) for text in row] for row in rows)
    return out.getvalue()


def inert(text: str) -> str:
    """A text of a CSV file as no spreadsheet program takes for a formula; the reader takes the mark off again.

    >>> inert("=1+1"), inert("-2.5"), inert("+ 3,5"), inert("plain")
    ("'=1+1", '-2.5', '+ 3,5', 'plain')
    """
    number = re.fullmatch(r"[+-]?\s*[0-9][0-9\s.,]*%?", text, re.ASCII)
    starts = text[:1] in FORMULA_STARTS or text.lstrip()[:1] in FORMULA_STARTS
    return f"'{text}" if text.strip() and starts and not number else text
