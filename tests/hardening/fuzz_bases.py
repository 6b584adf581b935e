"""Base workbooks of the mutants: small jobs that price in some hundredths of a second, each built once a process."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any

import xlsxwriter

from estimator.jobfile import price_file
from estimator.rates.where import default_rates
from tests.build import DAY
from tests.golden.samples import FOLDER
from tests.hardening.mutate_zip import packed, unpacked
from tests.workbooks.biff import xls
from tests.workbooks.odf import ods

Rows = Sequence[Sequence[Any]]
Sheets = Mapping[str, Rows]

JOB: Rows = (
    ("Item", "Value"), ("Job name", "Two yards"), ("Priced on", DAY), ("Currency", "EUR"), ("Margin", 0.2),
    ("Contingency", "5 %"), ("Valid for", 600), ("Crew", 2),
)  # fmt: skip
SITES: Rows = (
    ("Site", "Ground", "Rock at (m)", "Access", "Travel (km)", "Trip"),
    ("Yard", "firm", 2.5, "easy", 10, "tour"),
    ("Park", "soft", None, "steps", 12.5, "tour"),
)
HEADS = ("Site", "Fixing", "Held by", "Across (m)", "Out (m)", "Height (m)", "Ground level (m)", "Post", "Known by")
TRIANGLE = (("A", 0, 0, 2.6), ("B", 6, 0, 2.9), ("C", 3, 5.25, 2.4))
SQUARE = (("A", 0, 0, 2.5), ("B", 6.1, 0, 3.1), ("C", 6.1, 5.9, 2.5), ("D", 0, 5.9, 3.1))
EXTRAS: Rows = (
    ("Site", "Option", "Description", "Quantity", "Unit", "Item", "Cost each", "Kind"),
    ("Yard", None, "Lift out two slabs", 2, "each", None, 35.5, "labour"),
    (None, None, "Folder", 1, "each", None, 33.25, "fee"),
)


def _posts(site: str, places: Sequence[tuple[str, float, float, float]], held: str = "new post") -> list[list[Any]]:
    return [
        [site, n, held if i else "rafter", x, y, z, 0, "CHS-140" if i == 2 else None, "measured"]
        for i, (n, x, y, z) in enumerate(places)
    ]


SMALL: Sheets = {
    "Job": JOB[:5],
    "Sites": (SITES[0][:5], SITES[1][:5]),
    "Fixings": (HEADS, *_posts("Yard", SQUARE)),
    "Options": (("Site", "Option", "Corners at", "Size", "Chosen"), ("Yard", "1", "A B C D", "SQ-5000", "yes")),
}
TWO: Sheets = {
    "Job": JOB,
    "Sites": SITES,
    "Fixings": (HEADS, *_posts("Yard", TRIANGLE), *_posts("Park", SQUARE)),
    "Options": (
        ("Site", "Option", "Corners at", "Size", "Cloth", "Run", "Profit margin", "Chosen"),
        ("Yard", "1", "A B C", "4 4 4 m", "KNIT-LIGHT", "chain", 0.25, "yes"),
        ("Yard", "2", "A B C", "made to fit", "KNIT-HEAVY", "chain, B wire rope", None, None),
        ("Park", 1, "A B C D", "made to fit", "KNIT-LIGHT", None, "31 %", None),
    ),
    "Extras": EXTRAS,
}
WALL: Sheets = {
    "Job": JOB[:5],
    "Sites": SITES[:2],
    "Walls": (
        ("Site", "Wall", "Length (m)", "Fixing height (mm)", "First rafter (m)", "Rafter spacing (mm)", "Post height"),
        ("Yard", "House", 8, 2700, 0.3, 600, "2.4 m"),
    ),
    "Options": (("Site", "Option", "Wall", "Size"), ("Yard", "1", "House", "SQ-4000")),
}
TAPED: Sheets = {
    "Job": JOB[:5],
    "Sites": SITES[:2],
    "Fixings": (
        ("Site", "Fixing", "Held by", "Height (m)", "Ground level (m)"),
        *(("Yard", n, "new post", 2.6 + k / 10, 0) for k, n in enumerate("ABCD")),
    ),
    "Tape": (
        ("Site", "From", "To", "Length (m)", "Taken"),
        ("Yard", "A", "B", 6, "level"), ("Yard", "B", "C", 6, "level"), ("Yard", "C", "D", 6, "level"),
        ("Yard", "D", "A", 6, "level"), ("Yard", "A", "C", 8.485, "level"), ("Yard", "B", "D", 8.485, "level"),
    ),
    "Options": SMALL["Options"],
    "Actuals": (("Site", "What", "Quantity", "Unit", "Day"), ("Yard", "hang sail", 6.5, "h", DAY)),
}  # fmt: skip


@dataclass(frozen=True)
class Base:
    """A base. kind: xlsx, ods, xls or rates (a job beside a folder of CSV files, of which `data` is `name`'s)."""

    name: str
    data: bytes
    kind: str = "xlsx"


def written(sheets: Sheets, *, dressed: bool = False) -> bytes:
    """The sheets as a workbook. dressed: title rows, a merged heading, units in formats, a formula, hidden things."""
    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"strings_to_formulas": False, "strings_to_numbers": False}) as book:
        book.set_properties({"created": datetime(2026, 4, 3)})  # noqa: DTZ001
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        percent = book.add_format({"num_format": "0%"})
        millimetres = book.add_format({"num_format": '0" mm"'})
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            down = 2 if dressed and name == "Fixings" else 0
            if down:
                sheet.merge_range("A1:D1", "Points, as measured")
                sheet.set_row(1, 20)
                sheet.set_column(9, 9, 8, None, {"hidden": True})
            for r, row in enumerate(rows, start=down):
                for c, value in enumerate(row):
                    if value is None:
                        continue
                    if value == DAY:
                        sheet.write_datetime(r, c, value, day)
                    elif name == "Job" and rows[r - down][0] == "Margin" and c == 1:
                        sheet.write_number(r, c, value, percent)
                    elif dressed and name == "Fixings" and c == 5 and r == 4:
                        sheet.write_formula(r, c, "=2.9", None, value)
                    elif dressed and name == "Fixings" and c == 5 and r == 5:
                        sheet.write_number(r, c, value * 1000, millimetres)
                    elif isinstance(value, str):
                        sheet.write_string(r, c, value)
                    else:
                        sheet.write_number(r, c, value)
            if dressed and name == "Fixings":
                sheet.set_row(4, None, None, {"hidden": True})
        if dressed:
            book.define_name("Datum", "=Fixings!$G$4")
            notes = book.add_worksheet("My notes")
            notes.write_string(0, 0, "Ring the customer")
            notes.write_formula(1, 1, "=Fixings!F4*2", None, 5.2)
    return made.getvalue()


def plain(value: Any) -> Any:
    """A value as the writers of .ods and .xls take it."""
    return value.isoformat() if hasattr(value, "isoformat") else value


def plain_sheets(sheets: Sheets) -> dict[str, list[list[Any]]]:
    """The sheets with days as texts."""
    return {name: [[plain(v) for v in row] for row in rows] for name, rows in sheets.items()}


@cache
def small() -> Base:
    return Base("small", written(SMALL))


@cache
def two() -> Base:
    return Base("two", written(TWO))


@cache
def dressed() -> Base:
    return Base("dressed", written({**TWO, "Fixings": (HEADS_DRESSED, *TWO["Fixings"][1:])}, dressed=True))


HEADS_DRESSED = (*HEADS[:5], "Height", *HEADS[6:])


@cache
def wall() -> Base:
    return Base("wall", written(WALL))


@cache
def taped() -> Base:
    return Base("taped", written(TAPED))


@cache
def feet() -> Base:
    """A job in feet and inches with a decimal comma: every number of it is a text."""
    sheets = {
        "Job": (*JOB[:5], ("Units", "feet and inches"), ("Decimal mark", "point")),
        "Sites": SITES[:2],
        "Fixings": (
            ("Site", "Fixing", "Held by", "Across", "Out", "Height", "Ground level"),
            ("Yard", "A", "new post", "0", "0", "8' 6\"", "0"),
            ("Yard", "B", "new post", "20'", "0", "9 ft", "0"),
            ("Yard", "C", "new post", "10' 2 1/2\"", "17.5", "2.6 m", "0"),
        ),
        "Options": (("Site", "Option", "Corners at", "Size"), ("Yard", "1", "A, B, C", "made to fit")),
    }
    return Base("feet", written(sheets))


@cache
def priced() -> Base:
    """A workbook that carries our own sheets."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.xlsx"
        job.write_bytes(two().data)
        price_file(job, None, None, quote=False, crew=False, drawings=False, today=DAY)
        return Base("priced", (Path(folder) / "job-priced.xlsx").read_bytes())


@cache
def messy() -> Base:
    return Base("messy", (FOLDER / "messy.xlsx").read_bytes())


@cache
def open_document() -> Base:
    return Base("ods", packed(unpacked(ods(plain_sheets(TWO)))), "ods")


@cache
def old_binary() -> Base:
    return Base("xls", xls(plain_sheets(TWO)), "xls")


@cache
def rates() -> dict[str, bytes]:
    """The tables of the default rate book, by file name."""
    return {p.name: p.read_bytes() for p in sorted(default_rates().glob("*.csv"))}


# with the share of each among the mutants
BASES = {
    "small": (small, 22), "two": (two, 22), "dressed": (dressed, 12), "wall": (wall, 7), "taped": (taped, 7),
    "feet": (feet, 6), "priced": (priced, 6), "ods": (open_document, 7), "xls": (old_binary, 5), "messy": (messy, 1),
    "rates": (small, 5),
}  # fmt: skip


def base(name: str) -> Base:
    """A base by its name; that of `rates` is the job which is priced with the mutated rate book."""
    return BASES[name][0]()
