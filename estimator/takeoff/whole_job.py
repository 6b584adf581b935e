"""Lines of the whole job."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.problems import Problem
from estimator.job.model import Extra
from estimator.rates.model import RateBook
from estimator.takeoff import extras, kits, labour
from estimator.takeoff.labour import slug
from estimator.takeoff.lines import make_line
from estimator.takeoff.model import Line, Measures


def job_lines(book: RateBook, typed: Sequence[Extra]) -> tuple[tuple[Line, ...], extras.ExtraLines, list[Problem]]:
    """Lines of the whole job: extras without a site, kits and tasks for each job."""
    found, problems = extras.extra_lines(book, typed, "")
    dropped = extras.replaced_codes(typed)
    whole: Measures = {"job": {"count": 1.0}}
    gone: Callable[[str], bool] = lambda code: key(code) in dropped  # noqa: E731
    lines = kits.kit_lines(book, [(kits.ALWAYS, whole)], gone, only=("job",))
    for row in labour.task_hours(book.labour, whole, {}, only=("job",)):
        trade = book.trades.get(key(row.trade))
        if trade is None or gone(slug(row.task)):
            continue
        lines.append(
            make_line(slug(row.task), f"{row.task}, {trade.name}", "labour", from_float(row.hours), "h",
                      trade.cost_per_hour, row.working, trade.origin)
        )  # fmt: skip
    return (*lines, *found.lines), found, problems
