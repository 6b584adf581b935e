"""Sheets and headings that are not as they should be, rows that are read or left out otherwise than it looks, and
formulas whose values may be old."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName
from openpyxl.worksheet.table import Table

from tests.problems.books import at, write
from tests.problems.cases_cells import CORNERS, OPTION, SITES, items
from tests.problems.model import Case
from tests.sheets.build import BOOK, edited, replaced
from tests.workbooks.books import cell_is
from tests.workbooks.books import job as small_job

SHEETS: Mapping[str, Any] = {"Job": items(), "Sites": SITES, "Fixings": CORNERS, "Options": [OPTION]}
HEADS = ("Site", "Fixing", "Held by", "Across (m)", "Out (m)", "Height (m)")
PLACES = {"A": (0, 0), "B": (6, 0), "C": (3, 5.2), "D": (9, 9), "E": (9, 8), "F": (8, 9)}
OURS = (
    '<definedNames><definedName name="_estimator_sheet" localSheetId="4" hidden="1">"Bill"</definedName></definedNames>'
)

EXTRAS = [("Description", "Quantity", "Unit", "Cost each", "Kind"), ("Folder", 1, "each", 33, "fee")]


def _rows(names: str) -> list[Sequence[Any]]:
    """Rows of Fixings."""
    return [("Yard", n, "new post", *PLACES[n], 2.6) for n in names]


def _case(
    name: str,
    told: set[tuple[str, str, str]],
    sheets: Mapping[str, Any],
    change: Callable[[Workbook], Any] | None = None,
) -> Case:
    """The usual job with some sheets put in another way; None leaves one out."""
    made = {n: rows for n, rows in {**SHEETS, **sheets}.items() if rows is not None}
    return Case(name, lambda folder: write(folder / "job.xlsx", made, change), frozenset(told))


def _look(book: Workbook) -> None:
    """Hidden and filtered rows, a hidden column and sheet, rows below a table, cells merged over rows."""
    book["Options"].sheet_state = "hidden"
    sheet = book["Fixings"]
    for row in (2, 4):
        sheet.row_dimensions[row].hidden = True
    sheet.auto_filter.ref = "A3:F6"
    sheet.column_dimensions["E"].hidden = True
    sheet.add_table(Table(displayName="points", ref="A1:F5"))
    sheet.merge_cells("A6:A7")
    sheet.merge_cells("F6:F7")


def _marked(book: Workbook) -> None:
    """A sheet of ours that was renamed and filled by hand."""
    book["Extras"].defined_names["_estimator_sheet"] = DefinedName("_estimator_sheet", attr_text='"Order"', hidden=True)


def _long(folder: Path) -> Path:
    """A job with a sheet of the user's own that has more cells than are looked through."""
    row = "".join(f"<c><v>{n}</v></c>" for n in range(10_000))
    rows = '<row r="9">' + "</row><row>".join([row] * 20 + ["<c><v>1</v></c>"]) + "</row>"
    log = replaced(small_job(Log=[("Day",), (1,)]), "xl/worksheets/sheet5.xml", "</sheetData>", f"{rows}</sheetData>")
    (folder / "job.xlsx").write_bytes(log)
    return folder / "job.xlsx"


def _fed(folder: Path) -> Path:
    """A job that calculates by hand only, and is fed by a sheet of ours, by another workbook, and by what cannot be
    followed."""

    def by_hand(part: bytes) -> bytes:
        assert b"<calcPr " in part
        return part.replace(b"</sheets>", f"</sheets>{OURS}".encode()).replace(
            b"<calcPr ", b'<calcPr calcMode="manual" '
        )

    data = edited(small_job(**{"My bill": [("x",), (6,)]}), (BOOK, by_hand))
    feeds = (("D3", "'My bill'!A2", 6), ("D6", "[1]Rates!A1", 6), ("F2", "INDIRECT(&quot;A&quot;&amp;1)", 2.6))
    for cell, formula, value in feeds:
        data = cell_is(data, "Fixings", cell, f"><f>{formula}</f><v>{value}</v>")
    (folder / "job.xlsx").write_bytes(data)
    return folder / "job.xlsx"


CASES: tuple[Case, ...] = (
    _case("no options", at("Options", ("", "sheet-missing")), {"Options": None}),
    _case(
        "an empty sheet",
        at("Sites", ("", "sheet-empty")) | at("Options", ("A2", "site-unknown")),
        {"Sites": [], "Fixings": None},
    ),
    _case(
        "copies of sheets",
        at("Fixings", ("", "sheet-twice")) | at("Last year", ("", "sheet-looks-like")),
        {"Fixings ": [HEADS, *_rows("A")], "Last year": [HEADS, *_rows("A")]},
    ),
    _case(
        "a sheet of a tablet",
        at("Fixings - Table 1", ("", "sheet-read-as")),
        {"Fixings": None, "Fixings - Table 1": CORNERS},
    ),
    _case("a marked sheet", at("Extras", ("", "sheet-marked")), {"Extras": EXTRAS}, _marked),
    Case("a long sheet", _long, frozenset(at("Log", ("", "sheet-unread")))),
    _case(
        "headings",
        at("Fixings", ("A1", "heading-missing"), ("D1", "heading-twice"), ("B1", "headings-unknown"))
        | at("Fixings", ("H2", "under-no-heading"))
        | at("Options", ("C2", "fixing-unknown")),
        {
            "Fixings": [
                ("Site", "Point", "Held by", "Across (m)", "Across", "Height (m)"),
                ("Yard", "A", "new post", 0, 0, 2.6, None, 5),
            ]
        },
    ),
    _case(
        "rows that are no fixings",
        at("Fixings", ("A1", "above-headings"), ("", "example-skipped"), ("", "total-skipped")),
        {"Fixings": [*_rows("D"), HEADS, ("EXAMPLE", "A", "rafter", 0, 0, 2.9), *_rows("ABC"), ("Total", 3)]},
    ),
    _case(
        "how rows look",
        at("Fixings", ("A2", "rows-hidden"), ("A4", "rows-filtered"), ("A6", "rows-below-table"))
        | at("Fixings", ("E1", "columns-hidden"), ("A6", "merged-filled"), ("F7", "merged-cell"))
        | at("Options", ("", "sheet-hidden")),
        {"Fixings": [HEADS, *_rows("ABCDEF")]},
        _look,
    ),
    _case(
        "items",
        at("Job", ("B10", "item-twice"), ("", "item-unknown"), ("B8", "value-without-item")),
        {"Job": [*items(), ("Colour of the van", "red"), (), ("", "mine"), (), ("Currency", "USD")]},
    ),
    Case(
        "formulas",
        _fed,
        frozenset(
            at("Fixings", ("D3", "fed-by-output"), ("D6", "fed-by-other-book"), ("F2", "feeds-not-followed"))
            | at("Fixings", ("F2", "manual-calculation"))
        ),
    ),
)
