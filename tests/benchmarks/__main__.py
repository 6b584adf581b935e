"""Every benchmark beside its floor: `python -m tests.benchmarks [--runs N] [--only word ...]`.

The floor of a job is a process that only reads its input cells and writes its output cells, with the reader and the
writer of the program and nothing else of it. Times are medians, memory is the highest of all runs. It is no test.
"""

from __future__ import annotations

import os
import pickle
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from statistics import median

import click

from estimator.core.processes import cores
from tests.benchmarks.floor import cells_of
from tests.benchmarks.jobs import different_sites, folder_of_jobs, many_sites

ESTIMATOR = [sys.executable, "-c", "from estimator.cli import main; main()"]
USERS = frozenset({"Job", "Sites", "Fixings", "Options"})
LESS = ["--no-pdf", "--no-crew", "--no-drawings"]


@dataclass(frozen=True)
class How:
    """runs: how often each is run; office: an office program recalculates what was written."""

    runs: int
    office: bool


@dataclass(frozen=True)
class Took:
    """seconds: the median; megabytes: the most."""

    seconds: float
    megabytes: float


@dataclass(frozen=True)
class Row:
    """A line of the table. target: what it is held to, blank for none; held: whether it is."""

    name: str
    floor: Took | None
    ours: Took
    office: float | None = None
    target: str = ""
    held: bool | None = None

    def __str__(self) -> str:
        floor = f"{self.floor.seconds:.2f}" if self.floor else ""
        ratio = f"{self.ours.seconds / self.floor.seconds:.1f}" if self.floor else ""
        office = f"{self.office:.1f}" if self.office is not None else ""
        held = "" if self.held is None else "yes" if self.held else "**no**"
        room = f"{self.ours.megabytes:.0f}" if self.ours.megabytes else ""
        cells = (self.name, floor, f"{self.ours.seconds:.2f}", ratio, room, office)
        return f"| {' | '.join((*cells, self.target, held))} |"


HEAD = """| what | floor (s) | ours (s) | ratio | ours, peak (MB) | LibreOffice (s) | target | held |
|---|---|---|---|---|---|---|---|"""


def run(command: Sequence[str], runs: int, before: Callable[[], object] = lambda: None) -> Took:
    """A command so many times, as a process of its own; it has to end well. What it prints last as a number is time
    that does not count."""
    seconds, megabytes = [], 0.0
    for _ in range(runs):
        before()
        start = time.perf_counter()
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        assert process.stdout is not None
        said = process.stdout.read().split()
        _, ended, used = os.wait4(process.pid, 0)
        took = time.perf_counter() - start
        assert os.waitstatus_to_exitcode(ended) in (0, 1), command
        seconds.append(took - (float(said[-1]) if "tests.benchmarks.floor" in command else 0.0))
        megabytes = max(megabytes, used.ru_maxrss / 1024)
    return Took(median(seconds), megabytes)


def clear(job: Path) -> None:
    """Take away what an earlier run has written beside a job."""
    for path in job.parent.glob(f"{job.stem}-*"):
        path.unlink()


def priced(job: Path, how: How, *more: str, floor: bool = True) -> Row:
    """A job priced by the command, beside its floor, and its priced workbook recalculated by an office program."""
    ours = run([*ESTIMATOR, "price", str(job), *more], how.runs, lambda: clear(job))
    workbooks = sorted(job.parent.glob(f"{job.stem}-*.xlsx"))
    main = job.with_name(f"{job.stem}-priced.xlsx")
    under = None
    if floor:
        cells = job.with_name("cells.pickle")
        with cells.open("wb") as out:
            pickle.dump([cells_of(w, USERS if w == main else frozenset()) for w in workbooks], out)
        bare = [sys.executable, "-m", "tests.benchmarks.floor", str(job), str(cells), str(job.with_name("bare.xlsx"))]
        under = run(bare, how.runs)
    return Row(job.stem, under, ours, recalculated(main) if how.office else None)


def recalculated(workbook: Path) -> float | None:
    """Seconds in which an office program recalculates a workbook and saves it; None where there is none, or it takes
    over ten minutes."""
    from tests.office import program, recalculate

    if program() is None:
        return None
    with tempfile.TemporaryDirectory() as out:
        start = time.perf_counter()
        try:
            recalculate([workbook], Path(out))
        except subprocess.TimeoutExpired:
            return None
        return time.perf_counter() - start


def start_up(how: How) -> list[Row]:
    bare = run([sys.executable, "-c", "import click"], how.runs)
    row = Row("start-up: the help of the command", bare, run([*ESTIMATOR, "--help"], how.runs), None, "3 times")
    return [held(row, 3.0)]


def held(row: Row, most: float) -> Row:
    """The row with whether its ratio is at most so much."""
    assert row.floor is not None
    return replace(row, held=row.ours.seconds <= most * row.floor.seconds)


def one_site(how: How) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        job = many_sites(Path(folder) / "one.xlsx", 1)
        plain = priced(job, how, "--json", *LESS)
        drawn = priced(job, replace(how, office=False), "--json", "--no-pdf", "--no-crew")
    return [
        held(replace(plain, name="one site, workbooks and JSON", target="2.5 times"), 2.5),
        held(replace(drawn, name="the same with drawings", target="4 times"), 4.0),
    ]


def thousand(how: How) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        job = many_sites(Path(folder) / "thousand.xlsx", 1000, 3)
        row = replace(priced(job, how, *LESS), name="1,000 sites with three options", target="1.6 times")
    return [held(row, 1.6)]


def screened(how: How) -> list[Row]:
    """The wind on every option: of few kinds of yards, then of as many kinds as sites, by one core and by all."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        job = many_sites(Path(folder) / "wind.xlsx", 1000, 3, wind=True)
        row = priced(job, How(1, office=False), *LESS, floor=False)
        rows.append(replace(row, name="1,000 sites with three options, all screened (9 shapes)"))
        job = different_sites(Path(folder) / "kinds.xlsx", 60)
        for number in (1, cores()):
            row = priced(job, How(min(how.runs, 3), office=False), *LESS, "--processes", str(number), floor=False)
            rows.append(replace(row, name=f"60 sites, 60 shapes, screened by {number} core{'s' * (number > 1)}"))
    return rows


def ten_thousand(how: How) -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        small = priced(many_sites(Path(folder) / "few.xlsx", 1000), How(min(how.runs, 3), how.office), *LESS)
        large = priced(many_sites(Path(folder) / "many.xlsx", 10_000), How(1, office=False), *LESS)
    growth = large.ours.seconds / small.ours.seconds
    good = growth <= 10.8 and large.ours.megabytes < 1500
    words = f"10.8 times that of 1,000 (is {growth:.1f}), under 1,500 MB"
    return [
        replace(small, name="1,000 sites with one option"),
        replace(large, name="10,000 sites with one option", target=words, held=good),
    ]


def folder_200(how: How) -> list[Row]:
    rows = []
    with tempfile.TemporaryDirectory() as place:
        jobs = folder_of_jobs(Path(place) / "jobs", 200)

        def fresh() -> None:
            shutil.rmtree(Path(place) / "out", ignore_errors=True)
            (Path(place) / "out").mkdir()

        for count in (1, cores()):
            more = ["--processes", str(count), "--out", str(Path(place) / "out"), *LESS]
            took = run([*ESTIMATOR, "price", str(jobs), *more], 1, fresh)
            rows.append(Row(f"a folder of 200 jobs, {count} process{'es' * (count > 1)}", None, took))
    return rows


def parts(how: How) -> list[Row]:
    """Form and take-down wind of one sail, and a cutting plan, in a process that has loaded all it needs."""
    from estimator.pricing.cutting import Piece, Stock, plan_cuts
    from tests.benchmarks.screening import seconds, yard

    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for corners in (4, 8):
            took, _ = seconds(yard(Path(folder), corners))
            rows.append(Row(f"form and take-down wind of a sail of {corners} corners", None, Took(took, 0.0)))
    stocks = [Stock(length, Decimal(price), str(length)) for length, price in ((6000, 80), (9000, 118), (12_000, 156))]
    pieces = [Piece(2400 + 137 * n, 5, f"P{n}") for n in range(12)]
    plan_cuts(pieces, stocks, 3)  # loads the solver
    taken = []
    for _ in range(how.runs):
        start = time.perf_counter()
        plan_cuts(pieces, stocks, 3)
        taken.append(time.perf_counter() - start)
    return [*rows, Row("cutting plan: 60 posts of 12 lengths over 3 stocks", None, Took(median(taken), 0.0))]


GROUPS: dict[str, Callable[[How], list[Row]]] = {
    "help": start_up,
    "one": one_site,
    "thousand": thousand,
    "screened": screened,
    "ten": ten_thousand,
    "folder": folder_200,
    "parts": parts,
}


@click.command()
@click.option("--runs", default=5, help="How often each is run; the median counts.")
@click.option("--no-office", is_flag=True, help="Without the recalculation, which takes minutes on the large ones.")
@click.option("--only", multiple=True, type=click.Choice(list(GROUPS)), help="These alone.")
def main(runs: int, only: tuple[str, ...], no_office: bool) -> None:
    """Print the table."""
    print(f"{date.today().isoformat()}, {os.cpu_count()} cores, Python {sys.version.split()[0]}\n\n{HEAD}", flush=True)
    for name, group in GROUPS.items():
        for row in group(How(runs, not no_office)) if not only or name in only else ():
            print(row, flush=True)


if __name__ == "__main__":
    main()
