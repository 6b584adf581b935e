"""Rows that hold from a day on: which one counts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from estimator.core.problems import Problem, problem
from estimator.rates.rows import RateRow


def in_force(rows: Sequence[RateRow], day: date) -> tuple[list[RateRow], dict[str, date], list[Problem]]:
    """The rows of one table that count on a day, those that hold only later, and rows that contradict.

    Of rows with one key the one with the latest `valid_from` up to the day counts, in the place of the key's
    first row, so that a row added at the end of the table keeps the table's order.
    """
    by_key: dict[str, list[RateRow]] = {}
    for row in rows:
        by_key.setdefault(row.key, []).append(row)
    now, later = [], {}
    problems = []
    for name, same in by_key.items():
        seen: dict[date, RateRow] = {}
        for row in same:
            if row.since in seen:
                problems.append(_twice(row, seen[row.since]))
            seen.setdefault(row.since, row)
        past = [d for d in seen if d <= day]
        if past:
            now.append(seen[max(past)])
        else:
            later[name] = min(seen)
    return now, later, problems


def _twice(row: RateRow, other: RateRow) -> Problem:
    since = "no valid_from" if row.since == date.min else f"valid_from {row.since.isoformat()}"
    return problem("rate-row-twice", row.place(), name=row.key, since=since, row=row.number, other=other.number)
