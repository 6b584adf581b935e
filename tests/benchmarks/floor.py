"""The floor of a benchmark, a process of its own: the same input cells read and the same output cells written, bare.

    python -m tests.benchmarks.floor INPUT.xlsx CELLS OUTPUT.xlsx

reads with the reader and writes with the writer that the program itself uses, and with nothing else of it. CELLS is
what `cells_of` found in the outputs of the program, one workbook after another. Prints the seconds of loading it, which
are no part of the floor.
"""

from __future__ import annotations

import pickle
import sys
import zipfile
from pathlib import Path
from time import perf_counter
from typing import Any

Cells = list[tuple[str, list[tuple[int, int, Any, str]]]]  # sheet: row, column, value, formula
NAMES = {"m": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}
RELATED = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"


def cells_of(path: Path, leave_out: frozenset[str] = frozenset()) -> Cells:
    """Every cell of a workbook that holds something, by sheet; leave_out: sheets that are the user's own."""
    from lxml import etree
    from openpyxl.utils.cell import coordinate_to_tuple

    tag = f"{{{NAMES['m']}}}"
    found: Cells = []
    with zipfile.ZipFile(path) as z:
        texts = ["".join(s.itertext(f"{tag}t")) for s in etree.fromstring(z.read("xl/sharedStrings.xml"))]
        related = {r.get("Id"): r.get("Target") for r in etree.fromstring(z.read("xl/_rels/workbook.xml.rels"))}
        for sheet in etree.fromstring(z.read("xl/workbook.xml")).iterfind("m:sheets/m:sheet", NAMES):
            if sheet.get("name") in leave_out:
                continue
            rows = []
            part = "xl/" + related[sheet.get(RELATED)].removeprefix("/xl/")
            with z.open(part) as data:
                for _, cell in etree.iterparse(data, tag=f"{tag}c"):
                    value, formula = cell.findtext(f"{tag}v"), cell.findtext(f"{tag}f") or ""
                    if value is not None:
                        row, column = coordinate_to_tuple(cell.get("r"))
                        kind = cell.get("t")
                        shown = texts[int(value)] if kind == "s" else value if kind == "str" else float(value)
                        rows.append((row - 1, column - 1, shown, formula))
                    cell.getparent().remove(cell)
            found.append((sheet.get("name"), rows))
    return found


def read(path: Path) -> int:
    """How many cells hold something."""
    from openpyxl import load_workbook

    book = load_workbook(path, read_only=True, data_only=True)
    return sum(v is not None for sheet in book for row in sheet.iter_rows(values_only=True) for v in row)


def write(cells: Cells, path: Path) -> None:
    """The cells as they are, without any style."""
    from xlsxwriter import Workbook

    book = Workbook(path, {"in_memory": True})
    for name, rows in cells:
        sheet = book.add_worksheet(name)
        for row, column, value, formula in rows:
            if formula:
                sheet.write_formula(row, column, formula, None, value)
            elif isinstance(value, str):
                sheet.write_string(row, column, value)
            else:
                sheet.write_number(row, column, value)
    book.close()


def main() -> None:
    """Run the floor of one job."""
    job, cells, out = (Path(a) for a in sys.argv[1:])
    start = perf_counter()
    with cells.open("rb") as stored:
        books: list[Cells] = pickle.load(stored)
    loading = perf_counter() - start
    read(job)
    for number, book in enumerate(books):
        write(book, out.with_stem(f"{out.stem}{number}"))
    print(loading)


if __name__ == "__main__":
    main()
