"""Formulas of the bill: sums over the rows of a block, wherever the block stands.

The rounding inside the sums keeps the noise of binary fractions away from the next rounding.
"""

from __future__ import annotations

from collections.abc import Sequence

from estimator.report.blocks import COST, KIND, Block, Plan
from estimator.report.look import Sheet


def here(sheets: Sequence[Sheet], plan: Plan, row: int) -> tuple[Sheet, int]:
    """The sheet that holds a row of the plan, and the row on it."""
    number, there = plan.at(row)
    return sheets[number], there


def less(whole: str, ranges: list[str]) -> str:
    """A sum less what stands in some ranges; the whole where there are none."""
    return f"ROUND({whole}-SUM({','.join(ranges)}),2)" if ranges else whole


def cost_of_lines(plan: Plan, block: Block, seen_from: int) -> str:
    """The sum of the costs of a block's lines."""
    count = len(block.bill.lines) if block.bill else 0
    ranges = plan.spans(block.lines, count, COST, seen_from)
    return f"ROUND(SUM({','.join(ranges)}),2)" if ranges else "0"


def of_kinds(plan: Plan, block: Block, kinds: Sequence[str], column: int, seen_from: int) -> str:
    """The sum of a column over the lines of some kinds."""
    count = len(block.bill.lines) if block.bill else 0
    names = plan.spans(block.lines, count, KIND, seen_from)
    values = plan.spans(block.lines, count, column, seen_from)
    terms = [f'SUMIF({n},"{kind}",{v})' for kind in kinds for n, v in zip(names, values, strict=True)]
    return f"ROUND({'+'.join(terms)},2)" if terms else "0"


def running(plan: Plan, block: Block, before: int, seen_from: int) -> str:
    """Cost and the first `before` charges."""
    return f"ROUND(SUM({','.join(plan.spans(block.cost, 1 + before, COST, seen_from))}),2)"
