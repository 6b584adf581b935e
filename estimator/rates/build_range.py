"""How far rows of the rate book may come out otherwise: their columns `low` and `high`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from estimator.core.names import key
from estimator.rates.model import Ends, RateBook
from estimator.rates.rows import RateRow

KEYED = ("cloths", "posts", "ground", "items", "trades")


def ends(row: RateRow) -> Ends | None:
    """The ends of a row; None where neither is given, an end that is blank is what is likely."""
    low, high = row.values.get("low"), row.values.get("high")
    if low is None and high is None:
        return None
    return Ends(1.0 if low is None else float(low), 1.0 if high is None else float(high))


def with_ends(book: RateBook, now: Mapping[str, Sequence[RateRow]]) -> RateBook:
    """The book with the ends of its rows. now: the rows in force, by table."""
    found = {table: {row.key: e for row in now[table] if (e := ends(row))} for table in (*KEYED, "labour")}
    changed: dict[str, Any] = {
        table: {k: replace(row, ends=found[table].get(k)) for k, row in getattr(book, table).items()}
        for table in KEYED
        if found[table]
    }
    if found["labour"]:
        tasks = found["labour"]
        changed["labour"] = tuple(
            replace(t, ends=tasks.get(" / ".join(map(key, (t.task, t.for_each, t.measure, t.visit)))))
            for t in book.labour
        )
    return replace(book, **changed) if changed else book
