"""Where everything of the bill stands, before anything is written: so that any formula can point at any cell.

The bill is one long column of rows, cut into sheets. A block is an option's, and the last one the whole job's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.pricing.model import Bill, PricedJob, PricedOption
from estimator.pricing.told import VARIATION, Variation, variations
from estimator.report.look import quoted
from estimator.report.rows import cell
from estimator.report.table import Col
from estimator.takeoff.model import Apart

HEAD_ROWS = 3
SHEET_ROWS = 1_000_000
CODE, WORDS, KIND, QUANTITY, UNIT, RATE, COST, WORKING, SHARE = range(9)
FIRST_TAX = SHARE + 1
COLUMNS = (
    Col("Code", "text", 16),
    Col("Description", "text", 34),
    Col("Kind", "text", 20),
    Col("Quantity, or base", "money", 17),
    Col("Unit", "text", 10),
    Col("Rate", "rate", 13),
    Col("Cost", "money", 14),
    Col("How it came about", "text", 46),
)


@dataclass(frozen=True, slots=True)
class Block:
    """A block of the bill. start: its first row, counted over all bill sheets from nought."""

    start: int
    words: str
    bill: Bill | None
    apart: tuple[tuple[Apart, Decimal], ...]
    option: PricedOption | None  # None: the whole job's

    @property
    def lines(self) -> int:
        """The first line; without a bill the row that says why."""
        return self.start + 1

    @property
    def cost(self) -> int:
        """The row of the cost."""
        return self.lines + (len(self.bill.lines) if self.bill else 0)

    @property
    def charges(self) -> int:
        """The first charge."""
        return self.cost + 1

    @property
    def before_tax(self) -> int:
        """The row of the price before tax."""
        return self.charges + (len(self.bill.charges) if self.bill else 0)

    @property
    def taxes(self) -> int:
        """The first tax."""
        return self.before_tax + 1

    @property
    def tax(self) -> int:
        """The row of the sum of the taxes."""
        return self.taxes + (len(self.bill.taxes) if self.bill else 0)

    @property
    def price(self) -> int:
        """The row of the price."""
        return self.tax + 1

    @property
    def beside(self) -> int:
        """The heading of what is priced beside."""
        return self.price + 1 if self.bill else self.lines + 1

    @property
    def end(self) -> int:
        """The first row of the next block; one row stays free before it."""
        return self.beside + (1 + 2 * len(self.apart) if self.apart else 0) + 1


@dataclass(frozen=True, slots=True)
class VariedBlock:
    """A variation, outside the blocks of the options. start: its first row, counted like that of a block."""

    start: int
    variation: Variation

    @property
    def lines(self) -> int:
        """The first line; below each stands its price."""
        return self.start + 1

    @property
    def price(self) -> int:
        """The row of the price of what counts."""
        return self.lines + 2 * len(self.variation.lines)

    @property
    def end(self) -> int:
        """The first row of what follows; one row stays free before it."""
        return self.price + 2


@dataclass(frozen=True, slots=True)
class Plan:
    """All blocks and the rule that turns a row into a sheet and a cell."""

    blocks: tuple[Block, ...]
    rows_a_sheet: int
    names: Mapping[str, str]
    varied: tuple[VariedBlock, ...] = ()

    @property
    def sheets(self) -> tuple[str, ...]:
        """Our own names of the bill sheets: Bill, Bill 2 ..."""
        ends = [b.end for b in self.blocks] + [b.end for b in self.varied]
        last = max(ends, default=1) - 1
        return tuple("Bill" if n == 0 else f"Bill {n + 1}" for n in range(max(last - 1, 0) // self.rows_a_sheet + 1))

    def at(self, row: int) -> tuple[int, int]:
        """Number of the sheet and row on it, both from nought."""
        sheet, rest = divmod(row, self.rows_a_sheet)
        return sheet, HEAD_ROWS + rest

    def ref(self, row: int, column: int, seen_from: int | None = None) -> str:
        """A cell as a formula names it. seen_from: a row on the same sheet needs no sheet name."""
        sheet, there = self.at(row)
        here = seen_from is not None and self.at(seen_from)[0] == sheet
        return ("" if here else self.sheet(sheet) + "!") + cell(there, column)

    def spans(self, first: int, count: int, column: int, seen_from: int) -> list[str]:
        """The ranges of one column that cover `count` rows: one, or one a sheet where the block runs on."""
        found, row, last = [], first, first + count - 1
        while row <= last:
            sheet = row // self.rows_a_sheet
            stop = min(last, (sheet + 1) * self.rows_a_sheet - 1)
            found.append(self.ref(row, column, seen_from) + ":" + cell(self.at(stop)[1], column))
            row = stop + 1
        return found

    def sheet(self, number: int) -> str:
        """The quoted name of a bill sheet."""
        name = "Bill" if number == 0 else f"Bill {number + 1}"
        return quoted(self.names.get(name, name))


def plan(priced: PricedJob, names: Mapping[str, str], sheet_rows: int = SHEET_ROWS) -> Plan:
    """The blocks of a job. sheet_rows: the most rows on one bill sheet, headings included."""
    blocks: list[Block] = []
    start = 0
    for option in priced.options:
        status = "NOT PRICED" if option.bill is None else option.status
        mark = ", chosen" if option.chosen else ""
        words = f"{option.site.name}: option {option.option.name} ({status}{mark})"
        blocks.append(Block(start, words, option.bill, _offered(option.apart), option))
        start = blocks[-1].end
    if priced.job_bill is not None or priced.job_apart:
        blocks.append(Block(start, "Whole job", priced.job_bill, _offered(priced.job_apart), None))
        start = blocks[-1].end
    varied: list[VariedBlock] = []
    for variation in variations(priced):
        varied.append(VariedBlock(start, variation))
        start = varied[-1].end
    return Plan(tuple(blocks), max(sheet_rows - HEAD_ROWS, 1), names, tuple(varied))


def _offered(apart: tuple[tuple[Apart, Decimal], ...]) -> tuple[tuple[Apart, Decimal], ...]:
    """What stands beside its block; variations have blocks of their own."""
    return tuple((a, price) for a, price in apart if a.why != VARIATION)
