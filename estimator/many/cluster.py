"""Jobs on other machines, through a Dask scheduler: the same job function, with the job and its rate book as bytes."""

from __future__ import annotations

import asyncio
import hashlib
import logging
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Event
from time import monotonic, sleep
from typing import Any

from estimator.core.problems import Problem, problem
from estimator.many.job import broken, ended, fault, price_safely
from estimator.many.model import Choices, Ended, Result
from estimator.many.parcel import Parcel, Returned, pack, price_parcel, unpack
from estimator.many.plan import real
from estimator.many.run import BEAT

PATIENCE = 10  # seconds to find the scheduler, and again to see the first machine
ALONE = 60  # seconds without any machine after which a run gives up


@contextmanager
def connected(address: str) -> Iterator[Any]:
    """A client of the scheduler at an address, or why there is none."""
    try:
        from distributed import Client
    except ImportError:
        yield problem("cluster-missing")
        return
    log = logging.getLogger("distributed")
    level = log.level
    log.setLevel(logging.CRITICAL)  # what has to be said of a machine that went is said by us
    client = None
    try:
        try:
            asyncio.run(_answers(address))
            client = Client(address, timeout=PATIENCE, set_as_default=False)
            client.wait_for_workers(1, timeout=PATIENCE)
        except Exception as error:  # of many kinds: no such name, nobody listens, no address at all
            code = "cluster-unreachable" if client is None else "cluster-empty"
            yield problem(code, address=address, reason=_plain(error))
        else:
            yield client
    finally:
        if client is not None:
            with suppress(Exception):
                client.close(timeout=PATIENCE)
        log.setLevel(level)


async def _answers(address: str) -> None:
    """Look first whether a scheduler answers: a client that finds none goes on looking after it was given up."""
    from distributed.comm import connect

    comm = await asyncio.wait_for(connect(address, timeout=PATIENCE), PATIENCE + 1)
    await comm.close()


def on_cluster(client: Any, jobs: Sequence[Path], choices: Choices, asked: Event) -> Ended:
    """Every job on one of the machines, in the order in which they come back; ends with a problem when the cluster is
    gone.

    A job that was under way on a machine that died is given to another by the scheduler; what came back is written
    here, once.
    """
    waiting: deque[tuple[int, Path | None]] = deque((number, choices.rates) for number in range(len(jobs)))
    running: dict[Any, tuple[int, Path | None, Parcel]] = {}
    seen = monotonic()
    try:
        while (
            waiting or running
        ) and not asked.is_set():  # what is under way then is dropped: nothing of it is written
            room = _room(client)
            seen = monotonic() if room else seen
            if monotonic() - seen > ALONE:
                yield problem("cluster-lost")
                return
            while waiting and len(running) < room:
                number, rates = waiting.popleft()
                parcel = pack(jobs[number], choices, rates)
                if parcel is None:  # why is best said where the files are
                    yield number, price_safely(jobs[number], choices)
                    continue
                running[client.submit(price_parcel, parcel, key=_key(jobs[number], parcel))] = number, rates, parcel
            ready = _ready(client, list(running))
            if not ready:
                yield None
            for each in ready:
                number, rates, parcel = running.pop(each)
                back = _back(each, jobs[number])
                if isinstance(back, Problem):
                    yield back
                    return
                if isinstance(back, Result):
                    yield number, back
                elif back.wants:
                    waiting.appendleft((number, jobs[number].parent / back.wants))
                else:
                    yield number, unpack(jobs[number], choices, rates, parcel, back)
    finally:
        with suppress(Exception):
            client.cancel(list(running))


def _room(client: Any) -> int:
    """How many jobs may be under way, so that no machine waits for its next; 0 where none can be reached."""
    try:
        return 2 * int(sum(client.ncores().values()))
    except Exception:  # of many kinds, while a scheduler goes away
        return 0


def _ready(client: Any, running: list[Any]) -> list[Any]:
    """Those of the tasks that came to their end, after a moment's wait."""
    from distributed import wait

    if running:
        with suppress(TimeoutError, OSError), client.as_current():
            wait(running, timeout=BEAT, return_when="FIRST_COMPLETED")
    else:
        sleep(BEAT / 10)
    return [each for each in running if each.status in ("finished", "error", "cancelled")]


def _back(future: Any, job: Path) -> Returned | Result | Problem:
    """What came of a task."""
    from distributed import KilledWorker

    if future.status == "cancelled":
        return problem("cluster-lost")
    try:
        back = future.result()
    except KilledWorker:
        return ended(job)
    except ModuleNotFoundError as error:
        return problem("cluster-lacks", name=error.name or "estimator")
    except (OSError, TimeoutError):
        return problem("cluster-lost")
    except Exception as error:
        return broken(job, fault(job, error))
    assert isinstance(back, Returned)
    return problem("cluster-other") if back.other else back


def _key(job: Path, parcel: Parcel) -> str:
    """A name of the task by what is asked, so that the same is never worked out twice at the same time."""
    made = hashlib.sha256(f"{real(job)}\0{parcel.asked}".encode(errors="surrogateescape"))
    for file in parcel.beside:
        made.update(f"\0{file.name}\0{len(file.data)}\0".encode(errors="surrogateescape") + file.data)
    return f"job-{made.hexdigest()}"


def _plain(error: Exception) -> str:
    if isinstance(error, TimeoutError):
        return f"no answer in {PATIENCE} s"
    return " ".join(str(error).split())[:200] or type(error).__name__
