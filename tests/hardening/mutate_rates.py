"""A table of the rate book with something else typed into it, or damaged as a file."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from random import Random

from estimator.sheets.areas import reference
from tests.hardening.mutate_typed import as_typed, text_as_typed
from tests.hardening.mutate_zip import Mutant, damage


def mutate_table(tables: Mapping[str, bytes], seed: int) -> Mutant:
    """One table of a folder with a change; touched names its file first."""
    rng = Random(seed)
    names = sorted(tables)
    name = rng.choices(names, [len(tables[n]) ** 0.5 for n in names])[0]
    data = tables[name]
    roll = rng.random()
    if roll < 0.2:
        hurt = damage(data, rng)
        return Mutant(hurt.data, f"{name}: {hurt.done}", (name,), "rate book")
    rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    if roll < 0.3:
        words = _whole(rng, rows)
        separator = rng.choice(",;\t") if roll < 0.24 else ","
        encoding = rng.choice(("utf-8", "utf-16", "utf-8-sig", "cp1252")) if roll < 0.24 else "utf-8"
        return Mutant(
            _written(rows, separator, encoding), f"{name}: {words}, {encoding}, {separator!r}", (name,), "rate book"
        )
    r = rng.randrange(len(rows)) if roll < 0.9 else 0
    c = rng.randrange(len(rows[r]))
    old = rows[r][c]
    number = old.replace(".", "", 1).isdecimal()
    new = as_typed(rng, float(old) if number else old, "m") if number or rng.random() < 0.3 else text_as_typed(rng, old)
    rows[r][c] = "" if new is None else str(getattr(new, "number", getattr(new, "result", getattr(new, "words", new))))
    where = reference(r + 1, c + 1)
    return Mutant(
        _written(rows, ",", "utf-8"), f"{name}: {where} {old!r} -> {rows[r][c]!r:.60}", (name, where), "rate book"
    )


def _whole(rng: Random, rows: list[list[str]]) -> str:
    one, two = rng.randrange(len(rows)), rng.randrange(len(rows))
    roll = rng.randrange(6)
    if roll == 0:
        del rows[one]
        return f"row {one + 1} deleted"
    if roll == 1:
        rows.append(list(rows[one]))
        return f"row {one + 1} again at the end"
    if roll == 2:
        rows[one], rows[two] = rows[two], rows[one]
        return f"rows {one + 1} and {two + 1} swapped"
    if roll == 3:
        at = rng.randrange(len(rows[0]))
        for row in rows:
            del row[at : at + 1]
        return f"column {at + 1} deleted"
    if roll == 4:
        rows.insert(one, [])
        return f"an empty row at {one + 1}"
    at, other = rng.randrange(len(rows[0])), rng.randrange(len(rows[0]))
    for row in rows:
        if max(at, other) < len(row):
            row[at], row[other] = row[other], row[at]
    return f"columns {at + 1} and {other + 1} swapped"


def _written(rows: list[list[str]], separator: str, encoding: str) -> bytes:
    made = io.StringIO(newline="")
    csv.writer(made, delimiter=separator).writerows(rows)
    return made.getvalue().encode(encoding, "replace")
