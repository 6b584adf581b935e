"""Lines of the whole job."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from estimator.core.names import key
from estimator.core.problems import Problem
from estimator.job.model import Extra
from estimator.rates.model import RateBook
from estimator.takeoff import extras, kits, labour
from estimator.takeoff.labour import labour_line, slug
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
        lines.append(labour_line(row, trade, f"{row.task}, {trade.name}"))
    return (*lines, *found.lines), found, problems
