"""Words and amounts that nobody outside the office may see, planted in random jobs and in their rate book.

A word stands in each column that is the office's own, so that a leak is unmistakable; two more stand in the columns
that are written for the crew and for the customer, to prove that the search sees what is there.
"""

from __future__ import annotations

import csv
from pathlib import Path
from random import Random
from typing import Any

from tests.random_jobs import random_job
from tests.rate_books import Change, with_changes

FOR_CUSTOMER, FOR_CREW, WHY = "CANARYFORCUSTOMER", "CANARYFORCREW", "CANARYWHYVARIED"
RATES, FOLDER, USER = "CANARYRATEPATH", "CANARYJOBPATH", "CANARYUSERNAME"
# column of a sheet -> word in every row of it
COLUMNS = {
    ("Sites", "Notes"): "CANARYSITENOTE", ("Fixings", "Notes"): "CANARYFIXINGNOTE", ("Tape", "Notes"): "CANARYTAPENOTE",
    ("Walls", "Notes"): "CANARYWALLNOTE", ("Options", "Notes"): "CANARYOPTIONNOTE",
    ("Actuals", "Notes"): "CANARYACTUALNOTE", ("Actuals", "By"): "CANARYACTUALBY",
    ("Fixings", "My remark"): "CANARYOWNCOLUMN", ("My sums", "What I pay"): "CANARYOWNSHEET",
}  # fmt: skip
OF_JOB = {*COLUMNS.values(), "CANARYJOBNOTE", "CANARYUNSHOWN", "CANARYREASON", "CANARYCOMMENT", "CANARYCOMMENTER",
          "CANARYAUTHOR", "CANARYNAMED"}  # fmt: skip
# column of the rate book -> word at the end of every value; in all tables, or in those that only the office reads
EVERY_TABLE = {
    "supplier": "CANARYSUPPLIER", "supplier code": "CANARYSUPPLIERCODE", "source": "CANARYSOURCE",
}  # fmt: skip
OFFICE_TABLES = {"charges": "CANARYCHARGE", "trades": "CANARYTRADE", "wages": "CANARYWAGE",
                 "settings": "CANARYSETTING", "suppliers": "CANARYPROVIDER"}  # fmt: skip
# what stands in a rate book without ever being printed
UNPRINTED = {"CANARYCHARGE", "CANARYTRADE", "CANARYWAGE", "CANARYSETTING", "CANARYPROVIDER"}
OF_RATES = {*EVERY_TABLE.values(), *OFFICE_TABLES.values()}
OFFICE = {*OF_JOB, *OF_RATES, RATES, FOLDER, USER}
MONEY = ("price", "cost per hour", "wage per hour", "delivery", "waiting price")
TERMS = {"Margin": "18.43 %", "Markup": "27.61 %", "Discount": "3.19 %", "Contingency": "7.37 %"}
CHARGES = {"overhead": "8.37", "contingency": "5.29", "margin": "20.83"}


def canary_rates(folder: Path) -> Path:
    """The default rate book with a word in every column of the office's and an odd number of cents in every price."""
    from estimator.rates.where import default_rates

    names = sorted(p.stem for p in default_rates().glob("*.csv"))
    return with_changes(folder / RATES, {name: _planted(name) for name in names})


def _planted(table: str) -> Change:
    def change(rows: list[dict[str, str]]) -> None:
        for number, row in enumerate(rows):
            for column, word in EVERY_TABLE.items():
                if row.get(column):
                    row[column] += word if column == "supplier code" else f" {word}"
            if table in OFFICE_TABLES:
                row["description"] = f"{row['description']} {OFFICE_TABLES[table]}".strip()
            for column in MONEY:
                if row.get(column):
                    row[column] = odd(row[column], number)
            if table == "charges" and row["step"] in CHARGES:
                row["rate (%)"] = CHARGES[row["step"]]

    return change


def odd(value: str, number: int) -> str:
    """A price with cents that nobody would choose, near the one that was there.

    >>> odd("48", 0), odd("14.5", 3)
    ('48.37', '14.79')
    """
    return f"{int(float(value))}.{37 + 34 * number % 60}"


def canary_job(folder: Path, seed: int, small: bool = False, revision: int = 1) -> Path:
    """The random job of a seed with words of the office's all over it. folder: where the rate book lies too."""
    from openpyxl import load_workbook
    from openpyxl.comments import Comment
    from openpyxl.workbook.defined_name import DefinedName

    rng = Random(f"canary {seed}")
    path = random_job(folder / f"job{seed}.xlsx", seed, small=small)
    book = load_workbook(path)
    job = book["Job"]
    for row in job.iter_rows(min_row=2):
        row[1].value = TERMS.get(str(row[0].value), row[1].value)
    for item in (("Notes", "CANARYJOBNOTE"), ("Rates", RATES), ("Revision", revision), ("Customer", "Fern Alder")):
        job.append(item)
    sites = [r[0].value for r in book["Sites"].iter_rows(min_row=2)]
    _sheet(book, "Tape", ("Site", "From", "To"), [(s, "A", "B") for s in sites])
    _sheet(book, "Walls", ("Site", "Wall", "Length (m)", "Fixing height (m)", "Post height (m)"),
           [(sites[0], "Back", 8, 2.7, 2.4)])  # fmt: skip
    _sheet(book, "My sums", ("Sum",), [(371.93,)])
    if "Extras" not in book.sheetnames:
        _sheet(book, "Extras", ("Site", "Description", "Quantity", "Unit", "Cost each", "Kind"), [])
    _extra(book["Extras"], Description="Deal with CANARYUNSHOWN", Reason="CANARYREASON", Kind="subcontract", each=71.43)
    if rng.random() < 0.4:
        _extra(book["Extras"], Description="One more eye", Reason=WHY, Kind="fee", each=57.19, Variation="V1",
               Site=sites[0])  # fmt: skip
    for (sheet, column), word in COLUMNS.items():
        if sheet in book.sheetnames:
            _column(book[sheet], column, word)
    for sheet in ("Sites", "Fixings"):
        _column(book[sheet], "For the crew", FOR_CREW)
    for sheet in ("Sites", "Options"):
        _column(book[sheet], "For the customer", FOR_CUSTOMER)
    _margins(book["Options"])
    book["Sites"]["A1"].comment = Comment("CANARYCOMMENT", "CANARYCOMMENTER")
    book.properties.creator = book.properties.lastModifiedBy = "CANARYAUTHOR"
    book.defined_names["CANARYNAMED"] = DefinedName("CANARYNAMED", attr_text="'My sums'!$A$2")
    book.save(path)
    return path


def _sheet(book: Any, name: str, headings: tuple[str, ...], rows: list[tuple[Any, ...]]) -> None:
    sheet = book.create_sheet(name)
    for row in (headings, *rows):
        sheet.append(row)


def _headings(sheet: Any) -> dict[str, int]:
    return {str(c.value): c.column for c in sheet[1] if c.value}


def _at(sheet: Any, heading: str) -> int:
    found = _headings(sheet)
    if heading not in found:
        sheet.cell(1, len(found) + 1, heading)
    return found.get(heading, len(found) + 1)


def _column(sheet: Any, heading: str, word: str) -> None:
    column = _at(sheet, heading)
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, column, word)


def _extra(sheet: Any, each: float, **values: Any) -> None:
    row = sheet.max_row + 1
    for heading, value in {"Quantity": 1, "Unit": "each", "Cost each": each, **values}.items():
        sheet.cell(row, _at(sheet, heading), value)


def _margins(sheet: Any) -> None:
    column = _at(sheet, "Profit margin")
    for row in range(2, sheet.max_row + 1):
        if sheet.cell(row, column).value:
            sheet.cell(row, column, "31.27 %")


def planted_in(path: Path) -> set[str]:
    """The words of a rate book in a folder of CSV files."""
    found = set()
    for table in path.glob("*.csv"):
        with table.open(encoding="utf-8", newline="") as f:
            text = " ".join(v for row in csv.reader(f) for v in row)
        found |= {word for word in OF_RATES if word in text}
    return found
