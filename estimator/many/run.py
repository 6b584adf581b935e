"""Jobs one after the other in this process, or in as many processes as there are cores."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING

from estimator.core.processes import begin, deaf
from estimator.many.job import broken, ended, fault, price_safely
from estimator.many.model import Choices, Ended, Result

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

BEAT = 0.5  # seconds after which whoever waits is given a moment
MOST = 61  # processes, the most that one system can wait for


def in_turn(jobs: Sequence[Path], choices: Choices, asked: Event) -> Ended:
    """Every job in this process. asked: set when the run is to end."""
    for number, job in enumerate(jobs):
        if asked.is_set():
            return
        yield number, price_safely(job, choices)


def in_processes(jobs: Sequence[Path], choices: Choices, asked: Event, count: int) -> Ended:
    """Every job in one of `count` processes, in the order in which they come to an end.

    A process that ends under its job (killed, out of memory) takes the pool with it: the jobs that were under way are
    tried once more, each alone, and one under which it ends again is told so. The others go on in a new pool.
    """
    waiting = deque(range(len(jobs)))
    while waiting and not asked.is_set():
        doubtful: list[int] = []
        with _pool(min(count, len(waiting), MOST), jobs, choices) as pool:
            before = len(waiting)
            yield from _crowd(pool, jobs, choices, waiting, doubtful, asked, min(count, MOST))
        if len(waiting) == before and not asked.is_set():  # no process can be begun here
            number = waiting.popleft()
            yield number, price_safely(jobs[number], choices)
        for number in sorted(doubtful):
            if asked.is_set():
                return
            again: list[int] = []
            with _pool(1, [jobs[number]], choices) as pool:
                yield from _crowd(pool, jobs, choices, deque([number]), again, asked, 1)
            if again and not asked.is_set():
                yield number, ended(jobs[number])


def _crowd(
    pool: _Pool,
    jobs: Sequence[Path],
    choices: Choices,
    waiting: deque[int],
    doubtful: list[int],
    asked: Event,
    most: int,
) -> Ended:
    """Jobs that wait, until none does, or the pool breaks: then those under way are doubtful."""
    from concurrent.futures import FIRST_COMPLETED, wait
    from concurrent.futures.process import BrokenProcessPool

    running: dict[Future[Result], int] = {}
    whole = True
    while (whole and waiting and not asked.is_set()) or running:
        while whole and waiting and len(running) < most and not asked.is_set():  # no more than are under way
            try:
                running[pool.submit(jobs[waiting[0]], choices)] = waiting[0]
                waiting.popleft()
            except (BrokenProcessPool, OSError):
                whole = False
        ready, _ = wait(running, timeout=BEAT, return_when=FIRST_COMPLETED)
        if not ready:
            yield None
        for each in ready:
            number = running.pop(each)
            try:
                result = each.result()
            except BrokenProcessPool:
                doubtful.append(number)
                whole = False
            except Exception as error:  # what came of it did not find its way back
                yield number, broken(jobs[number], fault(jobs[number], error))
            else:
                yield number, result


@dataclass(frozen=True, slots=True)
class _Pool:
    """Processes that work for this one. pids: of all that were begun, those that are gone too."""

    executor: ProcessPoolExecutor
    pids: set[int]

    def submit(self, job: Path, choices: Choices) -> Future[Result]:
        """A job for the next process that is free; a new process where there are fewer than may be."""
        from multiprocessing import active_children

        others = {child.pid for child in active_children()}
        with deaf():
            future = self.executor.submit(price_safely, job, choices)
        self.pids.update(child.pid for child in active_children() if child.pid and child.pid not in others)
        return future


@contextmanager
def _pool(count: int, jobs: Sequence[Path], choices: Choices) -> Iterator[_Pool]:
    """Processes that are begun afresh, on every system the same way: a copy of this one might copy a lock that a thread
    holds. At the end none is left, nor what it had half written when it was ended."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import active_children, get_context

    pool = _Pool(ProcessPoolExecutor(count, get_context("spawn"), begin), set())
    try:
        yield pool
    except BaseException:  # the second Ctrl-C, or whoever asked wants no more
        for child in active_children():
            if child.pid in pool.pids:
                child.terminate()
        raise
    finally:
        pool.executor.shutdown(wait=True, cancel_futures=True)
        _clear_away({choices.out or job.parent for job in jobs}, pool.pids)


def _clear_away(folders: set[Path], pids: set[int]) -> None:
    """Take away what processes that are gone had half written."""
    from estimator.report.package.save import unfinished

    for path in [p for folder in folders for pid in pids for p in unfinished(folder, pid)]:
        with suppress(OSError):
            path.unlink()
