"""Mutants of workbooks by the thousand: none may end in a traceback, hang, or change a figure in silence.

    python -m tests.hardening.fuzz --mutants 20000 [--seed 1] [--workers 2] [--base NAME]
    python -m tests.hardening.fuzz --replay SEED [--base NAME]

A mutant prices the same, or is refused in a sentence, or differs in a cell that `To check` names or `Basis` shows as
another reader reads it. Workers are processes that are used again; one that hangs or dies is a failure of its mutant.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path

from tests.hardening.fuzz_bases import base
from tests.hardening.fuzz_try import Verdict, chosen, tried

HANG = 10.0  # s of work for one mutant, of waiting six times as long: a busy machine is no hang
MEMORY = 3_000_000_000  # bytes of addresses of a worker
MOST_MEGABYTES = 1_200.0  # at the peak of one mutant
ENDS = ("same", "told", "shown", "refused", "failed")


@dataclass
class Worker:
    """A process that tries mutants. seed: the one it is at, None for idle; since: when it began; worked: what the
    process had worked by then [s]."""

    process: BaseProcess
    pipe: Connection
    seed: int | None = None
    since: float = 0.0
    worked: float = 0.0


def _work(pipe: Connection, only: str) -> None:
    """Try what comes, as long as there is somebody who sends it."""
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    parent = os.getppid()
    while True:
        while not pipe.poll(5):
            if os.getppid() != parent:
                return  # nobody asks any more
        seed = pipe.recv()
        _forget_peak()
        found = tried(seed, only)
        pipe.send(replace(found, megabytes=_peak()))


def _forget_peak() -> None:
    try:
        Path("/proc/self/clear_refs").write_text("5")
    except OSError:  # then the peak is that of the whole run
        return


def _peak() -> float:
    """The peak memory since it was last forgotten [MB]; 0 where the system does not tell."""
    try:
        lines = Path("/proc/self/status").read_text().splitlines()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM")), 0.0)


def _start(only: str) -> Worker:
    ours, theirs = multiprocessing.Pipe()
    process = multiprocessing.get_context("fork").Process(target=_work, args=(theirs, only), daemon=True)
    process.start()
    theirs.close()
    return Worker(process, ours)


def run(seeds: Iterable[int], workers: int = 1, only: str = "") -> Iterator[Verdict]:
    """The verdicts of seeds, as they come."""
    waiting = iter(seeds)
    pool = [_start(only) for _ in range(workers)]
    try:
        while True:
            for worker in pool:
                if worker.seed is None and (seed := next(waiting, None)) is not None:
                    worker.seed, worker.since, worker.worked = seed, time.monotonic(), _worked(worker)
                    worker.pipe.send(seed)
            busy = [w for w in pool if w.seed is not None]
            if not busy:
                return
            ready = wait([w.pipe for w in busy], timeout=0.5)
            for number, worker in enumerate(pool):
                if worker.pipe in ready:
                    found = _answer(worker)
                    if found.end == "failed" and found.faults[:1] == ("the worker died",):
                        pool[number] = _start(only)
                    worker.seed = None
                    yield found
                elif worker.seed is not None and _hangs(worker):
                    worker.process.kill()
                    worker.process.join()
                    yield _failed(worker, f"no answer in {HANG:g} s")
                    pool[number] = _start(only)
    finally:
        for worker in pool:
            worker.process.kill()
            worker.process.join()


def _worked(worker: Worker) -> float:
    """The seconds of work of a process; 0 where the system does not tell."""
    try:
        fields = Path(f"/proc/{worker.process.pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _hangs(worker: Worker) -> bool:
    return _worked(worker) - worker.worked > HANG or time.monotonic() - worker.since > 6 * HANG


def _answer(worker: Worker) -> Verdict:
    try:
        found: Verdict = worker.pipe.recv()
    except EOFError:
        worker.process.join()
        return _failed(worker, "the worker died")
    if found.megabytes > MOST_MEGABYTES:
        return replace(found, end="failed", faults=(*found.faults, f"{found.megabytes:.0f} MB of memory"))
    return found


def _failed(worker: Worker, why: str) -> Verdict:
    assert worker.seed is not None
    return Verdict(worker.seed, "?", "?", "see the replay", "failed", (why,), time.monotonic() - worker.since)


def table(found: Sequence[Verdict]) -> list[str]:
    """What became of the mutants, by kind, as rows of a document."""
    rows = [
        "| kind | mutants | priced the same | told | shown in Basis | refused | failures | most s | most MB |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for kind in [*sorted({v.kind for v in found}), "all"]:
        mine = [v for v in found if kind in (v.kind, "all")]
        ends = Counter(v.end for v in mine)
        counts = " | ".join(f"{ends[e]:,}" for e in ENDS)
        seconds, megabytes = max(v.seconds for v in mine), max(v.megabytes for v in mine)
        rows.append(f"| {kind} | {len(mine):,} | {counts} | {seconds:.1f} | {megabytes:.0f} |")
    return rows


def keep(found: Verdict, folder: Path, only: str) -> None:
    """A failure as a file, and a line about it."""
    folder.mkdir(parents=True, exist_ok=True)
    name, mutant = chosen(found.seed, only)
    (folder / f"{found.seed}.{base(name).kind if name != 'rates' else 'csv'}").write_bytes(mutant.data)
    with open(folder / "failures.txt", "a", encoding="utf-8") as listed:
        listed.write(f"{found.seed}\t{name}\t{mutant.done}\t{' ;; '.join(found.faults)}\n")


def replay(seed: int, only: str) -> int:
    """Try one mutant here and say everything about it."""
    found = tried(seed, only, write=True)
    print(f"{found.base}: {found.done}\n{found.end}, {found.seconds:.2f} s")
    for fault in found.faults:
        print(f"  {fault}")
    return found.end == "failed"


def main(words: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="mutants of workbooks")
    parser.add_argument("--mutants", type=int, default=1_000)
    parser.add_argument("--seed", type=int, default=1, help="of the first mutant")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--base", default="", help="one base alone")
    parser.add_argument("--replay", type=int, help="one seed, told in full")
    parser.add_argument("--keep", type=Path, default=Path(tempfile.gettempdir()) / "estimator-fuzz")
    given = parser.parse_args(words)
    if given.replay is not None:
        return replay(given.replay, given.base)
    found: list[Verdict] = []
    start = time.monotonic()
    for verdict in run(range(given.seed, given.seed + given.mutants), given.workers, given.base):
        found.append(verdict)
        if verdict.end == "failed":
            keep(verdict, given.keep, given.base)
            print(
                f"{verdict.seed} {verdict.base}: {verdict.done[:120]} => {'; '.join(verdict.faults)[-400:]}", flush=True
            )
        if len(found) % 500 == 0:
            print(f"{len(found):,} mutants, {time.monotonic() - start:.0f} s", file=sys.stderr, flush=True)
    print("\n".join(table(found)))
    print(f"{len(found):,} mutants from seed {given.seed} in {time.monotonic() - start:.0f} s, {given.workers} workers")
    return any(v.end == "failed" for v in found)


if __name__ == "__main__":
    sys.exit(main())
