"""A whole run: what stands from an earlier one, every other job priced, the table kept up to date meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Event
from time import monotonic

from estimator.core.problems import Place, Problem, problem
from estimator.core.processes import cores
from estimator.many.book import render_table
from estimator.many.clash import clashes
from estimator.many.cluster import connected, on_cluster
from estimator.many.model import NOT_REACHED, STATUSES, Choices, Ended, Result
from estimator.many.plan import TABLE, Plan, real
from estimator.many.run import in_processes, in_turn
from estimator.many.stop import ctrl_c
from estimator.many.table import Row, as_csv, from_folder, read_table, row_of, stands
from estimator.report.package.save import save_atomic

OFTEN = 2.0  # seconds between two savings of the table, more where they take long
STOPPED = 130  # the exit status after Ctrl-C, as other commands have it


@dataclass(frozen=True, slots=True)
class Run:
    """What is to be done. folder: of the table; resume: go on with what lies there; processes: 0 for as many as there
    are cores; cluster: the address of a scheduler, blank for this machine; strict: a clash of names ends it before
    anything is written."""

    plan: Plan
    choices: Choices
    folder: Path
    resume: bool = False
    processes: int = 0
    cluster: str = ""
    strict: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One job that came to its end. number: in the order of the plan; done, of: jobs; result: None where it stands as
    an earlier run left it."""

    number: int
    done: int
    of: int
    job: Path
    row: Row
    result: Result | None


@dataclass(frozen=True, slots=True)
class Outturn:
    """How a run ended. status: the highest of all jobs, or 130 after Ctrl-C; stood: jobs that an earlier run did; done:
    jobs that came to their end, those among them."""

    status: int
    problems: tuple[Problem, ...]
    rows: tuple[Row, ...] = ()
    written: tuple[Path, ...] = ()
    stood: int = 0
    done: int = 0


def price_all(run: Run, tell: Callable[[Step], None], stopping: Callable[[], None]) -> Outturn:
    """Price every job of a run. tell: called with each job that has come to its end; stopping: called once when Ctrl-C
    was pressed while jobs are under way."""
    jobs = run.plan.jobs
    if not jobs:
        left = f" Left out: {'; '.join(run.plan.left)}." if run.plan.left else ""
        return Outturn(2, (problem("no-jobs", Place(file=str(run.folder)), left=left),))
    wrong = clashes(jobs, run.choices.out)
    if wrong and run.strict:
        return Outturn(2, tuple(wrong.values()))
    rows, problems = _first_rows(run, wrong)
    stood = sum(row.status != NOT_REACHED for row in rows) - len(wrong)
    with ctrl_c() as asked:
        try:
            begun = _through(run, rows, problems, wrong, asked, tell, stopping)
        except KeyboardInterrupt:  # Ctrl-C again
            begun = True
            asked.set()
    if not begun:
        return Outturn(2, tuple(problems))
    rows = _without_rate_books(run, rows)
    refused = _save(run, rows)
    problems += refused
    done = sum(row.status != NOT_REACHED for row in rows)
    statuses = [STATUSES.get(row.status, 0) for row in rows]
    worst = max([2 if any(p.level == "error" for p in problems) else 0, *statuses])
    status = STOPPED if asked.is_set() and done < len(rows) else worst
    return Outturn(status, tuple(problems), tuple(rows), () if refused else _paths(run), stood, done)


def _through(
    run: Run,
    rows: list[Row],
    problems: list[Problem],
    wrong: Mapping[Path, Problem],
    asked: Event,
    tell: Callable[[Step], None],
    stopping: Callable[[], None],
) -> bool:
    """Price every job that is not reached yet; False where the run could not begin. Rows and problems are filled in."""
    jobs = run.plan.jobs
    rest = [number for number, row in enumerate(rows) if row.status == NOT_REACHED]
    done, told = len(jobs) - len(rest), False
    with _source(run, [jobs[number] for number in rest], asked) as source:
        if isinstance(source, Problem):
            problems.append(source)
            return False
        if not any(p.level == "error" for p in problems):
            problems += _save(run, rows)
        if any(p.level == "error" for p in problems):
            return False
        _tell_first(run, rows, wrong, tell)
        beat = _often(run, rows)
        for found in source:
            if isinstance(found, Problem):
                problems.append(found)
            elif found is not None:
                number, done = rest[found[0]], done + 1
                rows[number] = row_of(rows[number].file, found[1], run.folder)
                tell(Step(number, done, len(jobs), jobs[number], rows[number], found[1]))
            if asked.is_set() and not told:
                told = True
                stopping()
            next(beat)
    return True


def _first_rows(run: Run, wrong: Mapping[Path, Problem]) -> tuple[list[Row], list[Problem]]:
    """The table before anything is priced: what clashes, what stands, and the rest not reached."""
    earlier, problems = read_table(*_paths(run))
    rows = []
    for job in run.plan.jobs:
        row = Row(from_folder(job, run.folder))
        before = earlier.get(row.file) if run.resume else None
        if job in wrong:
            row = row_of(row.file, _clashing(wrong[job]), run.folder)
        elif before is not None and stands(before, job, run.folder, run.choices):
            row = before
        rows.append(row)
    return rows, problems


def _without_rate_books(run: Run, rows: list[Row]) -> list[Row]:
    """The rows, with what proved to be the rate book of a job, and no job, called so."""
    books = {real(run.folder / row.rates) for row in rows if row.rates}
    return [
        Row(row.file, "rate book") if row.status == "cannot be used" and real(job) in books else row
        for job, row in zip(run.plan.jobs, rows, strict=True)
    ]


def _clashing(why: Problem) -> Result:
    return Result("two for one name", (why,))


def _tell_first(run: Run, rows: list[Row], wrong: Mapping[Path, Problem], tell: Callable[[Step], None]) -> None:
    """What is known before anything is priced."""
    known = [(number, row) for number, row in enumerate(rows) if row.status != NOT_REACHED]
    for done, (number, row) in enumerate(known, start=1):
        job = run.plan.jobs[number]
        tell(Step(number, done, len(rows), job, row, _clashing(wrong[job]) if job in wrong else None))


@contextmanager
def _source(run: Run, jobs: list[Path], asked: Event) -> Iterator[Ended | Problem]:
    """Where the jobs are priced; a problem when that is a cluster that cannot be worked with."""
    count = min(run.processes or cores(), len(jobs))
    if run.cluster and jobs:
        with connected(run.cluster) as client:
            if isinstance(client, Problem):
                yield client
                return
            with closing(on_cluster(client, jobs, run.choices, asked)) as source:
                yield source
    else:
        alone = in_turn(jobs, run.choices, asked)
        with closing(in_processes(jobs, run.choices, asked, count) if count > 1 else alone) as source:
            yield source


def _paths(run: Run) -> tuple[Path, Path]:
    return run.folder / f"{TABLE}.csv", run.folder / f"{TABLE}.xlsx"


def _save(run: Run, rows: list[Row]) -> list[Problem]:
    """Save the table both ways; what could not be saved."""
    from estimator.report.package.zipping import settle

    table, book = _paths(run)
    data = settle(render_table(rows, run.plan.left, run.choices.today))
    return [p for p in (save_atomic(as_csv(rows), table), save_atomic(data, book)) if p is not None]


def _often(run: Run, rows: list[Row]) -> Iterator[None]:
    """Saves the table every time it is asked, but not too often; what is refused meanwhile is said at the end."""
    saved, pause = monotonic(), OFTEN
    while True:
        if monotonic() - saved > pause:
            began = monotonic()
            save_atomic(as_csv(rows), _paths(run)[0])
            saved = monotonic()
            pause = max(OFTEN, 10 * (saved - began))
        yield
