"""Rate books for tests: the default one with some rows changed."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from estimator.rates.where import default_rates

Change = Callable[[list[dict[str, str]]], object]


def with_changes(folder: Path, changes: Mapping[str, Change]) -> Path:
    """A copy of the default rate book in which each named table has been changed in place."""
    shutil.copytree(default_rates(), folder)
    for table, change in changes.items():
        edit(folder / f"{table}.csv", change)
    return folder


def edit(path: Path, change: Change) -> None:
    """Change the rows of one CSV table in place."""
    with path.open(encoding="utf-8-sig", newline="") as f:
        reader = csv.DictReader(f)
        fields = list(reader.fieldnames or ())
        rows = list(reader)
    change(rows)
    with path.open("w", encoding="utf-8", newline="") as f:
        writer = csv.DictWriter(f, fields, lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def setting(name: str, value: str) -> Change:
    """A change of one setting."""

    def change(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r["name"] == name)
        row["value"] = value

    return change


def put(key_column: str, key: str, **values: str) -> Change:
    """A change of some cells of the first row with a key; column names with spaces as keyword dictionaries."""

    def change(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r[key_column] == key)
        row.update(values)

    return change
