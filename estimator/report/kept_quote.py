"""An older customer's copy with other figures is kept beside the new one, under its date."""

from __future__ import annotations

import io
import os
import re
from datetime import date, datetime
from pathlib import Path

from estimator.core.problems import Place, Problem, problem


def keep_old(target: Path, new: bytes) -> Path | Problem | None:
    """Move an existing copy with other figures out of the way; None where there is nothing to keep."""
    try:
        old = target.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        return problem("save-failed", Place(file=target.name), reason=error.strerror or type(error).__name__)
    if old == new or (figures(old) is not None and figures(old) == figures(new)):
        return None
    return _moved(target, _free_name(target, day_of(old) or _changed_on(target)))


def keep_beside(target: Path, kept: Path | None) -> Path | Problem:
    """Move what lies beside a copy that is kept, under the same name; under its own date where no copy lay there."""
    named = None if kept is None else kept.with_suffix(target.suffix)
    if named is None or named.exists():
        named = _free_name(target, _changed_on(target))
    return _moved(target, named)


def _moved(target: Path, kept: Path) -> Path | Problem:
    try:
        os.replace(target, kept)
    except OSError as error:
        return problem("save-failed", Place(file=target.name), reason=error.strerror or type(error).__name__)
    return kept


def _changed_on(target: Path) -> date:
    return datetime.fromtimestamp(target.stat().st_mtime).astimezone().date()


def _free_name(target: Path, day: date) -> Path:
    number = 1
    while True:
        again = "" if number == 1 else f" ({number})"
        kept = target.with_name(f"{target.stem} {day.isoformat()}{again}{target.suffix}")
        if not kept.exists():
            return kept
        number += 1


def figures(data: bytes) -> list[float] | None:
    """Every number of a copy, sheet by sheet; None for something that cannot be read."""
    values = _values(data)
    if values is None:
        return None
    return [float(v) for v in values if isinstance(v, int | float) and not isinstance(v, bool)]


def day_of(data: bytes) -> date | None:
    """The first date in a copy: the day it was priced on."""
    for v in _values(data) or []:
        if isinstance(v, datetime):
            return v.date()
        if isinstance(v, date):
            return v
        if isinstance(v, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", v):
            return date.fromisoformat(v)
    return None


def _values(data: bytes) -> list[object] | None:
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(data), data_only=True)
        return [
            v for sheet in book.worksheets for row in sheet.iter_rows(values_only=True) for v in row if v is not None
        ]
    except Exception:  # whatever lies under that name is not ours to judge: it is kept
        return None
