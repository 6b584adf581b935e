"""Rate books whose rows may come out otherwise than the default book's."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Mapping, Sequence
from pathlib import Path

from estimator.pricing.price_range import SETTINGS
from estimator.rates.where import default_rates

RANGED = ("ground", "labour")  # tables of the default book that have the columns
SETTINGS_OF_RANGE = (*SETTINGS, "travel low", "travel high")
LOW, HIGH = "low (%)", "high (%)"


def with_ends(folder: Path, ends: Mapping[str, Mapping[str, tuple[str, str]]]) -> Path:
    """The default book with low and high of some rows, by table and key; the columns are added where they lack."""
    shutil.copytree(default_rates(), folder)
    for table, rows in ends.items():
        fields, found = _read(folder / f"{table}.csv")
        for row in found:
            if row[fields[0]] in rows:
                row[LOW], row[HIGH] = rows[row[fields[0]]]
        _write(folder / f"{table}.csv", list(dict.fromkeys([*fields, LOW, HIGH])), found)
    return folder


def without_ranges(folder: Path, kept: tuple[str, ...] = ()) -> Path:
    """The default book as it was before it knew of ranges: no such columns, no such settings but those kept."""
    shutil.copytree(default_rates(), folder)
    for table in RANGED:
        fields, found = _read(folder / f"{table}.csv")
        _write(folder / f"{table}.csv", [f for f in fields if f not in (LOW, HIGH)], found)
    without_settings(folder, [name for name in SETTINGS_OF_RANGE if name not in kept])
    return folder


def without_settings(folder: Path, names: Sequence[str]) -> None:
    """Take settings out of a book."""
    fields, found = _read(folder / "settings.csv")
    _write(folder / "settings.csv", fields, [row for row in found if row["name"] not in names])


def _read(path: Path) -> tuple[list[str], list[dict[str, str]]]:
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        return list(reader.fieldnames or ()), list(reader)


def _write(path: Path, fields: list[str], rows: list[dict[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fields, extrasaction="ignore", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
