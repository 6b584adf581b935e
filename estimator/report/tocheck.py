"""Sheet `To check`: every problem, worst first, with a link to its cell."""

from __future__ import annotations

from typing import Any

from estimator.core.problems import LEVELS, worst_first
from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.look import INK, RULE, Sheet
from estimator.report.reasons import in_job, said, where
from estimator.report.table import Col, headings, line, put

COLUMNS = (
    Col("Level", "text", 10),
    Col("Where", "text", 20),
    Col("What was found, and what to do", "text", 86),
    Col("Site", "text", 18),
    Col("Option", "text", 10),
    Col("Fixing", "text", 9),
)


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet. Errors are bold, and a strong rule divides the levels."""
    look.page(sheet, look.OFFICE, priced.job.header.name, [c.width for c in COLUMNS], landscape=True, frozen=3)
    look.title(sheet, look.OFFICE, "To check", len(COLUMNS) - 1)
    headings(sheet, 2, COLUMNS)
    before = LEVELS[0]
    for row, problem in enumerate(worst_first(priced.problems), 3):
        rule: dict[str, Any] = {"top": 1, "top_color": INK if problem.level != before else RULE} if row > 3 else {}
        before = problem.level
        cells = ("", where(priced, problem), said(problem), problem.site, problem.option, problem.fixing)
        rule = line(sheet, row, COLUMNS, cells, **rule)
        put(sheet, row, 0, "text", problem.level, bold=problem.level == "error", **rule)
        if in_job(priced, problem):
            sheet.link(row, 1, problem.place.sheet, problem.place.cell, str(problem.place), text_wrap=True, **rule)
        else:
            put(sheet, row, 1, "text", where(priced, problem), **rule)
    if not priced.problems:
        sheet.text(3, 0, "Nothing was found.", font_color=look.FAINT)
