"""Rate books with a slip in each of many cells, and books of which files are missing or cannot be read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from tests.problems.books import Told, at, write
from tests.problems.cases_cells import CORNERS, OPTION, SITES, items
from tests.problems.model import Case
from tests.rates.books import Rows, cell_of, column_of, copy_book, rows_of, write_rows

LATER = "2027-01-01"  # after the day of the job
# Table, first cell of the row, heading, what is typed there; the code, blank where another cell is told.
CELLS = (
    ("settings", "top margin", "unit", "mm", "rate-cell"),
    ("items", "tip-fee", "code", "sq-5000", ""),
    ("labour", "survey", "trade", "plumber", "rate-reference"),
    ("corner_sets", "light", "eye", "SHK-08", "rate-part-kind"),
    ("rigging", "CH-6", "pitch", "", "rate-part-blank"),
    ("rigging", "TEN-M10", "open", "150", "rate-part-lengths"),
    ("rigging", "CH-8", "breaking load", "", ""),
    ("concrete", "CON-TRUCK", "per", "bag", "rate-per"),
    ("items", "screw-coach-m12", "price breaks", "50: 2.20; 20: 1.95", "rate-breaks"),
    ("posts", "SHS-100", "price breaks", "60: 44.00", "rate-breaks-twice"),
    ("rigging", "CH-10", "stock prices", "90", "rate-stock-prices"),
    ("rigging", "SHK-09", "stock lengths", "1", "rate-stock-lengths"),
    ("posts", "RT-200", "mass", "", ""),
    ("posts", "RT-200", "per", "kg", "rate-per-mass"),
    ("kits", "rafter", "measure", "length", "rate-measure"),
    ("charges", "margin", "rate", "100", "rate-margin"),
    ("taxes", "ST", "rate", "45", "rate-high"),
    ("trades", "rigger", "cost per hour", "90", "trade-cost-apart"),
    ("wages", "rigger", "billable hours a year", "1900", "wage-hours"),
    ("payment_stages", "within seven days after hand-over", "share", "90", "stages-sum"),
    ("digging_limits", "hand", "trade", "", "digging-limit-bare"),
    ("settings", "lean", "valid_from", LATER, ""),
)


# Other changes of whole tables: what is done to the rows, headings first.
TABLES: Mapping[str, Callable[[Rows], object]] = {
    "business": lambda rows: rows.pop(1),
    "access": lambda rows: [row.__setitem__(column_of("access", "valid_from"), LATER) for row in rows[1:]],
    "ground": lambda rows: rows[0].__setitem__(column_of("ground", "lateral bearing"), "lateral bearing (kPa)"),
    "settings": lambda rows: (rows.remove(_found(rows, "rain")), rows.append(["colour of the van", "red"])),
    "trades": lambda rows: rows.extend([list(rows[1]), _dated(rows, "labourer", "360"), ["diver"]]),
    "supports": lambda rows: _set(rows, "supports", "rafter", "also", "rafters, Tree"),
    "corner_sets": lambda rows: [_set(rows, "corner_sets", "heavy", c, "") for c in ("chain", "wire rope")],
    "items": lambda rows: _set(rows, "items", "post-cap", "valid_from", LATER),
}


def _found(rows: Rows, first: str) -> list[str]:
    """The row that begins with a word."""
    return next(row for row in rows if row[0] == first)


def _set(rows: Rows, table: str, first: str, heading: str, text: str) -> None:
    _found(rows, first)[column_of(table, heading)] = text


def _dated(rows: Rows, trade: str, cost: str) -> list[str]:
    """A row of a trade that holds from a later day, before that of the job."""
    row = list(_found(rows, trade))
    row[column_of("trades", "cost per hour")], row[column_of("trades", "valid_from")] = cost, "2026-01-01"
    return row


def _slips(folder: Path) -> Path:
    book = copy_book(folder)
    for table in {each[0] for each in CELLS} | set(TABLES):
        rows = rows_of(table)
        for _, first, heading, text, _ in (each for each in CELLS if each[0] == table):
            _set(rows, table, first, heading, text)
        TABLES.get(table, len)(rows)
        write_rows(book, table, [[*row, *[""] * (len(rows[0]) - len(row))] for row in rows])
    return book


def _row(table: str, first: str) -> int:
    """The row of the sheet that begins with a word."""
    return rows_of(table).index(_found(rows_of(table), first)) + 1


def _told() -> Told:
    told = {
        (table, cell_of(table, heading, _row(table, first)), code) for table, first, heading, _, code in CELLS if code
    }
    bearing = column_of("ground", "lateral bearing")
    told |= {
        ("ground", cell_of("ground", "lateral bearing", n), "rate-heading-unit")
        for n, row in enumerate(rows_of("ground")[1:], start=2)
        if row[bearing]
    }
    told |= at("trades", ("A5", "rate-row-twice"), ("C6", "rate-tenfold"), ("C7", "trade-cost-blank"))
    told |= at("supports", (cell_of("supports", "also", _row("supports", "tree")), "rate-name-twice"))
    told |= at("corner_sets", (cell_of("corner_sets", "chain", _row("corner_sets", "heavy")), "rate-set-run"))
    told |= at("sails", (cell_of("sails", "code", _row("sails", "SQ-5000")), "rate-code-twice"))
    caps = next(n for n, row in enumerate(rows_of("kits"), start=1) if "post-cap" in row)
    told |= at("kits", (cell_of("kits", "item", caps), "rate-reference-later"))
    told |= at("rigging", (cell_of("rigging", "working load", _row("rigging", "CH-8")), "rate-part-load"))
    told |= at("access", ("", "rate-none-in-force")) | at("business", ("", "rate-business-name"))
    told |= at("settings", ("", "setting-missing"), ("", "setting-later"))
    return frozenset(told | at("settings", (f"A{len(rows_of('settings'))}", "setting-unknown")))


def _files(folder: Path) -> Path:
    """A book in which each file but one can be read, or is missing."""
    book = copy_book(folder)
    for lost in ("posts", "suppliers"):
        (book / f"{lost}.csv").unlink()
    (book / "holidays.csv").write_text("day\n2026-12-24\n", "utf-8")
    (book / "Trades_.csv").write_bytes((book / "trades.csv").read_bytes())
    (book / "trades.csv").write_bytes(
        (book / "trades.csv").read_bytes().replace(b"Installer", "Monte\u00fcr".encode("cp1252"))
    )
    (book / "kits.csv").write_text('kit,for each\n"rafter,sail\n', "utf-8")
    (book / "access.csv").write_bytes(b"access,labour factor\neasy,1\0\n")
    return book


def _empty(folder: Path) -> Path:
    (folder / "book").mkdir()
    return folder / "book"


def _job(folder: Path) -> Path:
    sheets = {"Job": items(), "Sites": SITES, "Fixings": CORNERS, "Options": [OPTION]}
    return write(folder / "job.xlsx", sheets)


FILES = ("rate-file", "rate-csv", "rate-encoding", "rate-table-missing", "rate-table-lacking", "rate-table-unknown")
CASES: tuple[Case, ...] = (
    Case("a rate book of slips", _job, _told(), rates=_slips),
    Case(
        "files of a rate book",
        _job,
        frozenset(at("", *(("", code) for code in (*FILES, "rate-table-twice")))),
        rates=_files,
    ),
    Case("an empty rate book", _job, frozenset(at("", ("", "rate-folder-empty"))), rates=_empty),
)
