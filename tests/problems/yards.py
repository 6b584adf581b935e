"""Many small yards in one workbook, each with mistakes of its own, and the cells at which they must be told.

Every sheet has all its columns in the order in which they are declared, so that a cell follows from its column and row.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from openpyxl.utils import get_column_letter

from estimator.rates.where import default_rates
from estimator.sheets.columns import TABLES
from tests.build import fixing, option, write_job

Rows = Sequence[Mapping[str, Any]]
Told = tuple[str, str, str]  # sheet, cell and code
Said = tuple[str, str, str] | tuple[str, str, str, int]  # code, sheet, column and, from 0, which of the yard's own rows

HEADINGS = {table.sheet: tuple(c.name for c in table.columns) for table in TABLES}
SHEETS = ("Sites", "Fixings", "Options", "Extras", "Tape", "Walls", "Actuals")
AT = ("Options", "Corners at")
SIZE = ("Options", "Size")
SQUARE = ((0, 0), (1, 0), (1, 1), (0, 1))
# what nobody need be asked about
SITE = {"Ground": "firm", "Access": "easy", "Travel": 10, "Services": "located", "Test hole": "yes", "Near": "nothing"}


@dataclass(frozen=True)
class Yard:
    """A site with its rows, and what must be told of it. rows: by sheet; site: cells of its row on Sites."""

    name: str
    says: tuple[Said, ...]
    site: Mapping[str, Any] = field(default_factory=dict)
    fixings: Rows = ()
    options: Rows = ()
    extras: Rows = ()
    tape: Rows = ()
    walls: Rows = ()
    actuals: Rows = ()


def write_yards(path: Path, yards: Sequence[Yard], job: Mapping[str, Any] | None = None) -> Path:
    """One workbook of all the yards."""
    rows = {sheet.casefold(): [row for _, row in _rows(yards, sheet)] for sheet in SHEETS}
    return write_job(path, job=job, **rows)  # type: ignore[arg-type]


def yards_told(yards: Sequence[Yard]) -> frozenset[Told]:
    """Where each yard's problems must be told."""
    found = set()
    for yard in yards:
        for code, sheet, column, *which in yard.says:
            mine = [n for n, (name, _) in enumerate(_rows(yards, sheet), start=2) if name == yard.name]
            letter = get_column_letter(HEADINGS[sheet].index(column) + 1)
            found.add((sheet, f"{letter}{mine[which[0] if which else 0]}", code))
    return frozenset(found)


def job_told(job: Mapping[str, Any], **says: str) -> frozenset[Told]:
    """Where problems of items of the sheet Job must be told; says: code, with _ for -, to the item."""
    items = list({"Job name": "", "Priced on": "", "Currency": "", **job})
    return frozenset(("Job", f"B{items.index(item) + 2}", code.replace("_", "-")) for code, item in says.items())


def rate_told(code: str, table: str, column: str, key: str = "") -> Told:
    """Where a problem of a row of the default rate book must be told; key blank: of a row put behind its last."""
    with (default_rates() / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    number = next(n for n, row in enumerate(rows, start=1) if row[0] == key) if key else len(rows) + 1
    return table, f"{get_column_letter(rows[0].index(column) + 1)}{number}", code


def _rows(yards: Iterable[Yard], sheet: str) -> list[tuple[str, dict[str, Any]]]:
    """The rows of a sheet, each with the name of its yard."""
    found = []
    for yard in yards:
        own: Rows = ({**SITE, **yard.site},) if sheet == "Sites" else getattr(yard, sheet.casefold())
        for row in own:
            cells = {heading.split(" (")[0]: value for heading, value in row.items()}
            unknown = set(cells) - set(HEADINGS[sheet])
            assert not unknown, f"{yard.name}: {sheet} has no {unknown}"
            site = None if cells.get("Site", "") is None else yard.name  # None: a row of the whole job
            found.append((yard.name, {h: cells.get(h) for h in HEADINGS[sheet]} | {"Site": site}))
    return found


def made(corners: str = "A B C D", **more: Any) -> dict[str, Any]:
    """An option with a sail made to fit, of a cloth that is named."""
    return option(corners, "made to fit", **{"Cloth": "KNIT-LIGHT", **more})


def ring(along: float, out: float, heights: Sequence[float], held_by: str = "new post", **more: Any) -> list[Any]:
    """Four fixings A B C D on a rectangle [m]."""
    places = zip("ABCD", SQUARE, heights, strict=True)
    return [fixing(n, x * along, y * out, z, held_by, **more) for n, (x, y), z in places]


def flat(side: float, height: float = 2.6) -> list[Any]:
    """Four level fixings on a square."""
    return ring(side, side, (height,) * 4)


def steady() -> list[Any]:
    """Four fixings on which a sail made to fit hangs with nothing to be said of its shape or its posts."""
    return ring(5.3, 5.3, (2.6, 3.2, 2.6, 3.2))


def changed(rows: Rows, which: int, **cells: Any) -> list[dict[str, Any]]:
    """The rows with some cells of one of them changed; _ in a name of a cell stands for a blank."""
    named = {heading.replace("_", " "): value for heading, value in cells.items()}
    found = []
    for n, row in enumerate(rows):
        plain = {heading.split(" (")[0]: value for heading, value in row.items()}
        found.append({**plain, **named} if n == which else plain)
    return found


Build = Callable[[Path], Path]


def yards_in(yards: Sequence[Yard], job: Mapping[str, Any] | None = None) -> Build:
    """Writes the workbook of the yards into a folder."""
    return lambda folder: write_yards(folder / "job.xlsx", yards, job)
