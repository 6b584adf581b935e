"""Read a priced workbook back: its own sheets, by the words and places they are written with."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.report.blocks import CODE, COST, HEAD_ROWS, KIND, QUANTITY, RATE, SHEET_ROWS, UNIT, WORDS
from estimator.report.changes.cells import Grid, grid
from estimator.report.changes.model import Printed, PrintedBill, PrintedLine, PrintedOption, PrintedStep
from estimator.report.changes.sides import read_sides
from estimator.sheets.areas import reference
from estimator.sheets.cells import Sheet, read_own
from estimator.sheets.door import Opened

WHOLE = "whole job"
TOTALS = ("Cost", "Price before tax", "Tax", "Price")
NEEDED = ("Summary", "Bill", "Basis")


def read_printed(opened: Opened) -> Printed | Problem:
    """What a priced workbook says, or the one reason why it cannot be used."""
    found = _read(opened)
    if isinstance(found, Problem) and found.place.sheet:  # one of two workbooks: a cell alone does not say whose
        words = found.message.removeprefix(f"{found.place}: ")
        return replace(found, message=f"{found.place}: {opened.name}: {words}")
    return found


def _read(opened: Opened) -> Printed | Problem:
    sheets = read_own(opened)
    if isinstance(sheets, Problem):
        return sheets
    place = Place(opened.name)
    if not sheets:
        return problem("not-priced-workbook", place)
    missing = [name for name in NEEDED if name not in sheets]
    if missing:
        return problem("priced-sheet-missing", place, sheets=", ".join(missing))
    stale = [(s.name, at) for s in sheets.values() for at, c in sorted(s.cells.items()) if c.kind == "uncalculated"]
    if stale:
        first, at = stale[0]
        names = ", ".join(dict.fromkeys(name for name, _ in stale))
        return problem("priced-not-calculated", Place(opened.name, first, reference(*at)), sheets=names)
    summary, basis = grid(sheets["Summary"]), grid(sheets["Basis"])
    head = _head(summary)
    try:
        day, revision = date.fromisoformat(head.get("Priced on", "")), int(head.get("Revision", ""))
    except ValueError:
        said = next((f"B{r}" for r in summary.rows() if summary.text(r, 1) in ("Priced on", "Revision")), "A1")
        return problem("priced-unreadable", Place(opened.name, sheets["Summary"].name, said), what="day and revision")
    blocks = dict(_blocks(sheets))
    options, whole = [], None
    for at_row, option in _options(summary):
        start = f"{option.site}: option {option.name} (" if option.site else "Whole job"
        rows = next((rows for words, rows in blocks.items() if words.startswith(start)), [])
        bill = _bill(rows) if rows else None
        if bill is None and option.status != "NOT PRICED":
            block = (rows[0][0].sheet.name, rows[0][1]) if rows else (sheets["Summary"].name, at_row)
            return problem("priced-unreadable", Place(opened.name, block[0], f"A{block[1]}"), what=option.called)
        if option.site:
            options.append(replace(option, bill=bill, offer=head.get("Status", "")))
        else:
            whole = replace(option, bill=bill, offer=head.get("Status", ""))
    name = head.get("Job") or summary.text(2, 1)
    units = "feet and inches" if "sq ft" in " ".join(summary.texts()) else "metric"
    printed = Printed(opened.name, name, revision, day, head.get("Currency", ""), units, tuple(options), whole)
    printed = replace(printed, rates=_rates(basis), steps=_steps(basis), settings=_settings(basis))
    side = sheets.get("Side by side")
    return read_sides(grid(side), printed) if side else printed


def _head(summary: Grid) -> dict[str, str]:
    """The facts at the head of the Summary, by their labels."""
    found: dict[str, str] = {}
    for row in summary.rows():
        if summary.text(row, 1) == "Job total":
            break
        if summary.text(row, 1) and summary.text(row, 2):
            found.setdefault(summary.text(row, 1), summary.text(row, 2))
    return found


def _options(summary: Grid) -> Iterator[tuple[int, PrintedOption]]:
    """The rows of the table of options, with their numbers; figures and facts come later."""
    first = next((r for r in summary.rows() if summary.text(r, 1) == "Site" and summary.text(r, 2) == "Option"), None)
    row = (first or 0) + 1
    while first and summary.text(row, 1):
        marked = summary.text(row, 3)
        if marked == WHOLE:
            yield row, PrintedOption("", "", True, "", "", None)
        else:
            site, name = summary.text(row, 1), summary.text(row, 2)
            yield row, PrintedOption(site, name, marked == "chosen", summary.text(row, 4), "", None)
        row += 1


def _blocks(sheets: Mapping[str, Sheet]) -> Iterator[tuple[str, list[tuple[Grid, int]]]]:
    """The blocks of the bill: its first words, and its rows; blocks are parted by a free row."""
    bills = sorted((n for n in sheets if n == "Bill" or n.startswith("Bill ")), key=lambda n: int(n[5:] or 1))
    last, rows = -2, list[tuple[Grid, int]]()
    for number, name in enumerate(bills):
        bill = grid(sheets[name])
        for row in bill.rows():
            if row <= HEAD_ROWS:
                continue
            place = number * (SHEET_ROWS - HEAD_ROWS) + row
            if place > last + 1 and rows:
                yield rows[0][0].text(rows[0][1], CODE + 1), rows
                rows = []
            rows.append((bill, row))
            last = place
    if rows:
        yield rows[0][0].text(rows[0][1], CODE + 1), rows


def _bill(rows: Sequence[tuple[Grid, int]]) -> PrintedBill | None:
    """Lines, charges, taxes and totals of a block; None where it has no price."""
    parts: list[list[tuple[Grid, int]]] = [[]]
    totals: list[Decimal] = []
    for at, row in rows[1:]:
        if len(totals) == len(TOTALS):
            break
        words, free = at.text(row, WORDS + 1), at.number(row, QUANTITY + 1) is None and not at.text(row, KIND + 1)
        value = at.number(row, COST + 1)
        if free and words == TOTALS[len(totals)] and value is not None:
            totals.append(value)
            parts.append([])
        else:
            parts[-1].append((at, row))
    if len(totals) < len(TOTALS):
        return None
    lines, charges, taxes = parts[0], parts[1], parts[2]
    return PrintedBill(
        tuple(_line(at, row) for at, row in lines),
        tuple(_step(at, row) for at, row in charges),
        tuple(_step(at, row) for at, row in taxes),
        *totals,
    )


def _line(at: Grid, row: int) -> PrintedLine:
    def figure(column: int) -> Decimal:
        return at.number(row, column + 1) or Decimal(0)

    texts = (at.text(row, c + 1) for c in (CODE, WORDS, KIND))
    code, words, kind = texts
    return PrintedLine(code, words, kind, figure(QUANTITY), at.text(row, UNIT + 1), figure(RATE), figure(COST))


def _step(at: Grid, row: int) -> PrintedStep:
    kind = at.text(row, KIND + 1)
    rate = None if kind == "to the step" else at.number(row, RATE + 1)
    base, amount = at.number(row, QUANTITY + 1) or Decimal(0), at.number(row, COST + 1) or Decimal(0)
    on = "" if rate is None else kind.removeprefix("on ")
    return PrintedStep(at.text(row, WORDS + 1), on, base, rate, amount)


def _under(basis: Grid, heading: str) -> Iterator[int]:
    """The rows of a table of the sheet Basis."""
    at = next((r for r in basis.rows() if basis.text(r, 1) == heading), None)
    row = (at or 0) + 2
    while at and basis.text(row, 1) not in ("", "none"):
        yield row
        row += 1


def _rates(basis: Grid) -> dict[tuple[str, str, str], Decimal]:
    found = {}
    for row in _under(basis, "Rates used"):
        rate = basis.number(row, 3)
        if rate is not None and basis.text(row, 1) != "Extras":
            found[basis.text(row, 1), key(basis.text(row, 2)), basis.text(row, 4)] = rate
    return found


def _steps(basis: Grid) -> dict[tuple[str, str], Decimal]:
    rows = _under(basis, "From cost to price")
    return {(basis.text(r, 1), basis.text(r, 2)): basis.number(r, 3) or Decimal(0) for r in rows}


def _settings(basis: Grid) -> dict[str, str]:
    return {basis.text(r, 2): " ".join((basis.text(r, 3), basis.text(r, 4))).strip() for r in _under(basis, "Settings")}
