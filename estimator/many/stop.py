"""Ctrl-C in the middle of a run: the first ends it after the jobs under way, the second at once."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, current_thread, main_thread
from types import FrameType


@contextmanager
def ctrl_c() -> Iterator[Event]:
    """Set when Ctrl-C was pressed; pressed again, it raises KeyboardInterrupt as always."""
    asked = Event()

    def first(_signal: int, _frame: FrameType | None) -> None:
        asked.set()
        signal.signal(signal.SIGINT, signal.default_int_handler)

    if current_thread() is not main_thread():  # signals are the main thread's
        yield asked
        return
    before = signal.signal(signal.SIGINT, first)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGINT, before)
