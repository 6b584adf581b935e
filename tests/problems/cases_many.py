"""What is said of a run of many jobs: of its folder, its table, the processes and the machines that work for it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from estimator.core.problems import Problem
from estimator.many.clash import clashes
from estimator.many.model import Choices, Result
from estimator.many.parcel import Returned, price_parcel
from estimator.many.plan import plan
from estimator.many.table import HEADINGS
from estimator.many.whole import Run, Step, price_all
from tests.build import DAY, option
from tests.problems.model import Case, Road
from tests.problems.yards import Build, Yard, flat, write_yards

YARD = Yard("Yard", (), fixings=flat(6), options=[option("A B C D", "SQ-5000")])
LEAST = Choices(DAY, quote=False, crew=False, drawings=False, pdf=False)
ADDRESS = "tcp://127.0.0.1:8786"


def _job(folder: Path) -> Path:
    return write_yards(folder / "job.xlsx", [YARD])


def _run(folder: Path, **more: Any) -> list[Problem]:
    """What a run of a folder says, of itself and of its jobs."""
    steps: list[Step] = []
    found = price_all(Run(plan([folder]), LEAST, folder, **more), steps.append, lambda: None)
    return [*found.problems, *(p for step in steps if step.result for p in step.result.problems if p.level == "error")]


def _in(fault: Callable[[Path], AbstractContextManager[Any]], **more: Any) -> Road:
    """A run while something is wrong. fault: of the folder."""

    def road(job: Path, rates: Path | None) -> Sequence[Problem]:
        with fault(job.parent):
            return _run(job.parent, **more)

    return road


def _no_fault(folder: Path) -> AbstractContextManager[Any]:
    return nullcontext()


@contextmanager
def _not_installed(folder: Path) -> Iterator[None]:
    """As where the package for clusters is not installed; what is imported meanwhile stays."""
    before = sys.modules.pop("distributed", None)
    sys.modules["distributed"] = None  # type: ignore[assignment]
    try:
        yield
    finally:
        del sys.modules["distributed"]
        if before is not None:
            sys.modules["distributed"] = before


@dataclass(frozen=True)
class Task:
    """A task of a machine that has come to its end."""

    result: Callable[[], Returned]
    status: str = "finished"


class Machine:
    """What stands for a scheduler with one machine. done: what comes of a task."""

    def __init__(self, done: Callable[[Callable[[], Returned]], Task]) -> None:
        self.done = done

    def ncores(self) -> dict[str, int]:
        return {ADDRESS: 1}

    def submit(self, work: Callable[[Any], Returned], parcel: Any, key: str) -> Task:
        assert work is price_parcel
        return self.done(lambda: work(parcel))

    def cancel(self, tasks: Sequence[Task]) -> None:
        assert all(task.status == "finished" for task in tasks)


def _cluster(done: Callable[[Path], Callable[[Callable[[], Returned]], Task]]) -> Road:
    """A run on a machine. done: of the folder, what comes of a task."""

    @contextmanager
    def fault(folder: Path) -> Iterator[None]:
        @contextmanager
        def connected(address: str) -> Iterator[Machine]:
            yield Machine(done(folder))

        with (
            patch("estimator.many.whole.connected", connected),
            patch("estimator.many.cluster._ready", lambda client, running: running),
        ):
            yield

    return _in(fault, cluster=ADDRESS)


def _raised(error: Callable[[], Exception]) -> Road:
    def result() -> Returned:
        raise error()

    return _cluster(lambda folder: lambda work: Task(result))


def _killed() -> Exception:
    from distributed import KilledWorker

    return KilledWorker("job", None, 3)


def _changed(folder: Path) -> Callable[[Callable[[], Returned]], Task]:
    """Somebody writes to the name of the priced workbook while it is made elsewhere."""

    def done(work: Callable[[], Returned]) -> Task:
        back = work()
        (folder / "job-priced.xlsx").write_bytes(b"somebody else's")
        return Task(lambda: back)

    return done


def _other(folder: Path) -> Callable[[Callable[[], Returned]], Task]:
    return lambda work: Task(lambda: Returned(Result("broken off"), other=True))


def _unreachable(folder: Path) -> AbstractContextManager[Any]:
    return patch("estimator.many.cluster._answers", side_effect=OSError("refused"))


@contextmanager
def _empty(folder: Path) -> Iterator[None]:
    """A scheduler that answers and has no machine."""

    async def answers(address: str) -> None:
        assert address == ADDRESS

    class Client:
        def __init__(self, address: str, **more: Any) -> None:
            assert address == ADDRESS

        def wait_for_workers(self, count: int, timeout: float) -> None:
            raise TimeoutError("no worker came")

        def close(self, timeout: float) -> None: ...

    with patch("estimator.many.cluster._answers", answers), patch("distributed.Client", Client):
        yield


def _table(content: bytes) -> Build:
    def build(folder: Path) -> Path:
        (folder / "run-table.csv").write_bytes(content)
        return _job(folder)

    return build


def _in_the_way(job: Path, rates: Path | None) -> list[Problem]:
    quote = write_yards(job.with_name("job-quote.xlsx"), [YARD])
    return list(clashes([job, quote], None).values())


def _case(code: str, build: Build, road: Road) -> Case:
    return Case(code, build, frozenset({("", "", code)}), road)


CASES: tuple[Case, ...] = (
    _case("no-jobs", lambda folder: folder / "job.xlsx", _in(_no_fault)),
    _case("job-in-the-way", _job, _in_the_way),
    _case("job-fault", _job, _in(lambda folder: patch("estimator.many.job.price_file", side_effect=ArithmeticError))),
    _case("table-kept", _table(b"a note of mine"), _in(_no_fault)),
    _case("table-unread", _table(",".join(HEADINGS).encode() + b"\r\njob.xlsx,priced\r\n"), _in(_no_fault)),
    _case("changed-meanwhile", _job, _cluster(_changed)),
    _case("job-process-ended", _job, _raised(_killed)),
    _case("cluster-missing", _job, _in(_not_installed, cluster=ADDRESS)),
    _case("cluster-unreachable", _job, _in(_unreachable, cluster=ADDRESS)),
    _case("cluster-empty", _job, _in(_empty, cluster=ADDRESS)),
    _case("cluster-lacks", _job, _raised(lambda: ModuleNotFoundError("no estimator there", name="estimator"))),
    _case("cluster-lost", _job, _raised(TimeoutError)),
    _case("cluster-other", _job, _cluster(_other)),
)
