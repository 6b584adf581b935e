"""Random jobs by the thousand: engine total = stored value = recalculation by an office program.

    python -m tests.nightly.recalculated --jobs 10000 --folder FOLDER

Every tenth job is a full one, put into the user's workbook as `estimator price` does it. The others are small, and
their sheets are a workbook of their own, as they are beside an .ods file. One line a batch stands in
FOLDER/batches.jsonl; a run that was ended goes on where it stopped.
"""

from __future__ import annotations

import argparse
import gc
import json
import multiprocessing
import os
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from functools import cache, partial
from pathlib import Path

from estimator import pipeline
from estimator.jobfile import price_file
from estimator.pricing.model import Bill, JobTotals, PricedJob, Totals
from estimator.rates.read import load_rates
from estimator.report.book import render_sheets
from estimator.report.package.audit import audit
from estimator.report.package.zipping import settle
from tests.build import DAY, run
from tests.office import Grid, Stored, program, recalculated, stored
from tests.random_jobs import random_job
from tests.rate_books import setting, with_changes

FULL = 10  # every so manieth job
TOTALS = ("Cost", "Price before tax", "Tax", "Price")


@dataclass(frozen=True, slots=True)
class Checked:
    """What became of the jobs of some seeds. totals: figures of the engine found again on the sheets; differing: in
    words; seconds: of the processor, the office program's too."""

    seeds: tuple[int, ...]
    options: int
    cells: int
    totals: int
    differing: tuple[str, ...]
    seconds: float


@dataclass(frozen=True, slots=True)
class Written:
    """A priced job and the workbook that holds our sheets of it."""

    priced: PricedJob
    data: bytes


def check_jobs(
    seeds: Sequence[int], folder: Path, full: Callable[[int], bool] = lambda seed: seed % FULL == 0
) -> Checked:
    """Write, price and recalculate the jobs of some seeds. folder: an empty one, or one of an earlier call."""
    began = _spent()
    by_line = folder / "by line"
    if not by_line.exists():
        with_changes(by_line, {"settings": setting("tax by", "line")})
    written: dict[str, Written] = {}
    differing: list[str] = []
    with rates_read_once():
        for seed in seeds:
            try:
                written[str(seed)] = write(seed, folder, by_line if seed % 3 == 0 else None, full(seed))
            except Exception as wrong:  # of whatever kind: one job that breaks is told, the others go on
                differing.append(f"{seed}: {type(wrong).__name__} {wrong}")
    cells, totals, more = compare(written)
    options = sum(o.bill is not None for w in written.values() for o in w.priced.options)
    seconds = _spent() - began
    return Checked(tuple(seeds), options, cells, totals, (*differing, *more), seconds)


def _spent() -> float:
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


def compare(written: Mapping[str, Written]) -> tuple[int, int, list[str]]:
    """Formula cells, totals of the engine found again, and in words what differs once all is recalculated."""
    cells = totals = 0
    differing: list[str] = []
    for name, again in recalculated({name: w.data for name, w in written.items()}):
        held = stored(written[name].data)
        cells += len(held)
        told = list(_totals(written[name].priced, again, held))
        totals += len(told)
        differing += [f"{name} {words}" for words in (*_cells(held, again), *(w for w in told if w))]
    return cells, totals, differing


class rates_read_once:
    """While it lasts, a rate book is read once and not once a job."""

    def __enter__(self) -> None:
        pipeline.load_rates = _loaded

    def __exit__(self, *_: object) -> None:
        pipeline.load_rates = load_rates
        _loaded.cache_clear()


@cache
def _loaded(path: Path | None, day: date):  # type: ignore[no-untyped-def]
    return load_rates(path, day)


def write(seed: int, folder: Path, rates: Path | None = None, full: bool = False) -> Written:
    """The priced workbook of the job of a seed."""
    job = random_job(folder / f"{seed}.xlsx", seed, small=not full)
    if full:
        done = price_file(job, rates, today=DAY, quote=False, crew=False, drawings=False)
        assert done.written, done.problems
        assert done.outcome is not None
        priced, data = done.outcome.priced, done.written[0].read_bytes()
        done.written[0].unlink()
        assert audit(data) == []
    else:
        priced = run(job, rates).priced
        assert priced is not None
        data = settle(render_sheets(priced, drawings=False))
    job.unlink()
    assert priced is not None
    return Written(priced, data)


def _cells(held: Stored, again: Mapping[str, Grid]) -> Iterator[str]:
    """Every formula cell whose stored value is not the recalculated one."""
    for (sheet, cell), (formula, value) in held.items():
        fresh = _at(again[sheet], cell)
        if not _same(value, fresh):
            yield f"{sheet}!{cell} {formula}: {value!r} is {fresh!r} when recalculated"


def _same(value: object, fresh: str) -> bool:
    if isinstance(value, bool):
        return fresh == str(value).upper()
    if isinstance(value, float):
        number = _number(fresh)
        return number is not None and abs(value - number) <= max(1e-9, 1e-12 * abs(value))
    return value == fresh


def _number(words: str) -> float | None:
    percent = words.endswith("%")
    try:
        return float(words.removesuffix("%")) / (100 if percent else 1)
    except ValueError:
        return None


def _at(grid: Grid, cell: str) -> str:
    letters = cell.rstrip("0123456789")
    row, column = int(cell[len(letters) :]) - 1, 0
    for letter in letters:
        column = 26 * column + ord(letter) - 64
    return grid[row][column - 1] if row < len(grid) and column <= len(grid[row]) else ""


def _totals(priced: PricedJob, again: Mapping[str, Grid], held: Stored) -> Iterator[str]:
    """Of each total of the engine blank, or where it is not the cell that shows it, stored or recalculated.

    The cells are found by what is written beside them: on Summary below `Job total` and in the row of each option, on
    Bill in the four last rows of each block.
    """
    summary = again["Summary"]
    bills = [o.bill for o in priced.options]
    whole = [priced.job_bill] if priced.job_bill else []
    if not priced.totals.nothing:
        first = next(i for i, row in enumerate(summary) if row[0] == "Job total") + 1
        assert tuple(row[0] for row in summary[first : first + 4]) == TOTALS
        yield from _four(priced.totals, "Summary", [(first + i, 1) for i in range(4)], again, held)
    head = next(i for i, row in enumerate(summary) if row[:2] == ["Site", "Option"])
    columns = [summary[head].index(name) for name in TOTALS]
    for number, bill in enumerate([*bills, *whole], start=1):
        if bill:
            yield from _four(bill.totals, "Summary", [(head + number, c) for c in columns], again, held)
    rows = [(i, row[1]) for i, row in enumerate(again["Bill"]) if row[0] == "" and row[1] in TOTALS and row[3] == ""]
    known: list[Bill] = [b for b in [*bills, *whole] if b]
    assert [words for _, words in rows] == list(TOTALS) * len(known)
    for number, bill in enumerate(known):
        yield from _four(bill.totals, "Bill", [(i, 6) for i, _ in rows[4 * number : 4 * number + 4]], again, held)


def _four(
    totals: Totals | JobTotals, sheet: str, places: Iterable[tuple[int, int]], again: Mapping[str, Grid], held: Stored
) -> Iterator[str]:
    values = (totals.cost, totals.price_before_tax, totals.tax, totals.price)
    for value, (row, column) in zip(values, places, strict=True):
        cell = f"{chr(65 + column)}{row + 1}"
        _, kept = held.get((sheet, cell), ("", None))
        fresh = again[sheet][row][column]
        right = Decimal(fresh or "NaN") == value == Decimal(f"{kept:.15g}" if isinstance(kept, float) else "NaN")
        yield "" if right else f"{sheet}!{cell}: the engine says {value}, stored is {kept!r}, recalculated {fresh!r}"


def _batch(folder: Path, seeds: Sequence[int]) -> Checked:
    with tempfile.TemporaryDirectory(dir=folder) as own:
        found = check_jobs(seeds, Path(own))
    gc.collect()
    return found


def _done(notes: Path) -> list[Checked]:
    if not notes.exists():
        return []
    rows = [json.loads(line) for line in notes.read_text(encoding="utf-8").splitlines()]
    return [Checked(**{**row, "seeds": tuple(row["seeds"]), "differing": tuple(row["differing"])}) for row in rows]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the batches that are not done yet and print what all of them say."""
    asked = argparse.ArgumentParser(prog="python -m tests.nightly.recalculated")
    asked.add_argument("--jobs", type=int, default=10_000)
    asked.add_argument("--first", type=int, default=0, help="the first seed")
    asked.add_argument("--batch", type=int, default=40, help="workbooks in one run of the office program")
    asked.add_argument("--workers", type=int, default=1)
    asked.add_argument("--folder", type=Path, default=Path("recalculated"), help="where the notes of the run stand")
    given = asked.parse_args(arguments)
    if program() is None:
        sys.exit("LibreOffice is not installed: nothing can be recalculated")
    given.folder.mkdir(parents=True, exist_ok=True)
    notes = given.folder / "batches.jsonl"
    wanted = range(given.first, given.first + given.jobs)
    before = {seed for c in _done(notes) for seed in c.seeds}
    left = [seed for seed in wanted if seed not in before]
    batches = [left[i : i + given.batch] for i in range(0, len(left), given.batch)]
    work = partial(_batch, given.folder)
    with multiprocessing.get_context("spawn").Pool(given.workers, initializer=gc.freeze) as pool:
        ready = len(wanted) - len(left)
        for found in pool.imap_unordered(work, batches):
            with notes.open("a", encoding="utf-8") as f:
                f.write(json.dumps(asdict(found)) + "\n")
            ready += len(found.seeds)
            pace = found.seconds / len(found.seeds)
            print(f"{ready} of {len(wanted)} jobs, {pace:.2f} s a job, {len(found.differing)} differ", flush=True)
    return _table([c for c in _done(notes) if set(c.seeds) <= set(wanted)])


def _table(found: Sequence[Checked]) -> int:
    jobs = sum(len(c.seeds) for c in found)
    differing = [words for c in found for words in c.differing]
    seconds = sum(c.seconds for c in found)
    for name, figure in (
        ("jobs", f"{jobs:,}"),
        ("options priced", f"{sum(c.options for c in found):,}"),
        ("formula cells", f"{sum(c.cells for c in found):,}"),
        ("totals of the engine found again", f"{sum(c.totals for c in found):,}"),
        ("differing", f"{len(differing):,}"),
        ("seconds of the processor a job", f"{seconds / max(jobs, 1):.2f}"),
    ):
        print(f"{name:34}{figure:>12}")
    print(*differing[:50], sep="\n")
    return 1 if differing else 0


if __name__ == "__main__":
    sys.exit(main())
