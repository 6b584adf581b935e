"""Fingerprints: of what a job is priced from, and of what was written. Blank where something cannot be read."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from estimator import __version__
from estimator.many.model import Choices
from estimator.rates.where import default_rates
from estimator.sheets.door import whole


def asked_print(job: Path, rates: Path | None, choices: Choices) -> str:
    """A fingerprint of the job's bytes, its rate book, what was asked for, the day and the version of the program.

    rates: the rate book it is priced with, None for the default one.
    """
    book = rate_files(rates)
    try:
        data = whole(job)
    except OSError:
        return ""
    if book is None:
        return ""
    words = {name: str(value) for name, value in asdict(choices).items() if name not in ("rates", "out")}
    parts = [__version__, _of(data), (rates or default_rates()).name, sorted(words.items())]
    return _of(json.dumps([*parts, [(name, _of(content)) for name, content in book]]).encode())


def wrote_print(written: Sequence[Path]) -> str:
    """A fingerprint of files, names and bytes; blank where one of them cannot be read any more."""
    try:
        return _of(json.dumps([(path.name, _of(whole(path))) for path in written]).encode())
    except OSError:
        return ""


def rate_files(rates: Path | None) -> tuple[tuple[str, bytes], ...] | None:
    """The files of a rate book with their bytes, by name: every CSV file of a folder, or the one workbook; None where
    they cannot be read. rates: None for the default rate book."""
    path = rates or default_rates()
    try:
        if not path.is_dir():
            return ((path.name, whole(path)),)
        files = sorted(f for f in path.iterdir() if f.suffix.casefold() == ".csv" and not f.name.startswith((".", "~")))
        return tuple((f.name, whole(f)) for f in files)
    except (OSError, ValueError):
        return None


def _of(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
