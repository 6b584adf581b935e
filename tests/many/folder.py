"""Folders of small jobs, and what a run made of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

from estimator.core.problems import Problem
from estimator.many.model import Choices, Result
from estimator.many.plan import plan
from estimator.many.whole import Outturn, Run, Step, price_all
from tests.build import DAY, option, square, write_job

PLAIN = Choices(DAY, drawings=False, pdf=False)
FULL = Choices(DAY, with_json=True, mail=True)


def job(folder: Path, name: str = "yard", side: float = 6.0, **items: object) -> Path:
    """A job with one sail on four posts."""
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.xlsx"
    return write_job(path, job=items, fixings=square(side), options=[option("A B C D", "SQ-5000")])


def twelve(folder: Path) -> Path:
    """Twelve files: nine jobs, one with an error, one cut short, and one that is no workbook."""
    folder.mkdir(exist_ok=True)
    for number in range(1, 10):
        job(folder, f"job {number}", 5.6 + number / 100, Currency="EUR" if number % 2 else "NZD")
    write_job(folder / "wrong.xlsx", fixings=square(6), options=[option("A B C X", "SQ-5000")])
    (folder / "cut.xlsx").write_bytes((folder / "job 1.xlsx").read_bytes()[:3000])
    (folder / "note.ods").write_text("buy cloth")
    return folder


def steps() -> tuple[list[Step], Callable[[Step], None]]:
    """A list, and what fills it."""
    found: list[Step] = []
    return found, found.append


def run_folder(folder: Path, choices: Choices, **words: object) -> Outturn:
    """A run over a folder, its table beside the outputs."""
    run = Run(plan([folder]), choices, choices.out or folder, **words)  # type: ignore[arg-type]
    return price_all(run, lambda _: None, lambda: None)


def outputs(folder: Path) -> dict[str, bytes]:
    """Every file of a folder but the table of the run."""
    return {p.name: p.read_bytes() for p in sorted(folder.iterdir()) if p.is_file() and p.stem != "run-table"}


def table(folder: Path) -> list[dict[str, str]]:
    """The rows of the run table, as any other program reads them."""
    return list(csv.DictReader(io.StringIO((folder / "run-table.csv").read_text("utf-8-sig"), newline="")))


def without_seconds(folder: Path) -> list[dict[str, str]]:
    """The same without what a clock put into it, and with the names of the jobs alone."""
    return [{**row, "File": Path(row["File"]).name, "Seconds": ""} for row in table(folder)]


def results(found: object) -> dict[int, Result]:
    """What became of each job, by number; each comes once."""
    made: dict[int, Result] = {}
    for each in found:  # type: ignore[attr-defined]
        assert not isinstance(each, Problem), each
        if each is not None:
            assert each[0] not in made
            made[each[0]] = each[1]
    return made
