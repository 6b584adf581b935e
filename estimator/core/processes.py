"""Processes that work for this one: how many, how they are begun, and that none outlives it."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread


def cores() -> int:
    """How many processes can work at the same time here."""
    if hasattr(os, "sched_getaffinity"):  # only those that this process may use
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@contextmanager
def deaf() -> Iterator[None]:
    """A process that is begun now never hears Ctrl-C: the keys reach every process of a terminal, and only the one that
    began the others may act on them. Where a system cannot do that, it is the first thing that a new process does."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [signal.SIGINT])
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def begin() -> None:
    """The first thing in a new process: deaf to Ctrl-C, and not left over when the one that began it is gone."""
    from multiprocessing import parent_process

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:

        def follow() -> None:
            parent.join()
            os.kill(os.getpid(), signal.SIGTERM)

        Thread(target=follow, daemon=True).start()
