"""Faults while files are written: a child of its own is killed, or refused, at the n-th thing it does to a folder.

Every opening, renaming, removing and change of mode in the folder is seen by the interpreter's own audit; writing and
flushing are seen by a file object that writes in pieces. So no step of the program has to be known by name.
"""

from __future__ import annotations

import builtins
import errno
import os
import signal
import sys
import traceback
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PIECE = 16_384
PLAIN_OPEN: Any = builtins.open
KILL, INTERRUPT = -1, -2  # besides the numbers of errno
FAULTS = {
    "killed": KILL,
    "interrupted": INTERRUPT,
    "disk full": errno.ENOSPC,
    "over quota": errno.EDQUOT,
    "not allowed": errno.EACCES,
    "read-only disk": errno.EROFS,
    "faulty disk": errno.EIO,
}
SEEN = ("open", "os.rename", "os.remove", "os.chmod", "os.link", "os.mkdir", "os.truncate", "shutil.copymode")


@dataclass(frozen=True)
class Ended:
    """How a child ended. steps: what it did to the folder; said: its answer, or the trace of an error that got out."""

    killed: bool
    steps: int
    said: str
    escaped: bool


class _Watch:
    """Counts what is done to a folder, and strikes at one of the steps."""

    def __init__(self, folder: Path, at: int, fault: int) -> None:
        self.folder, self.at, self.fault, self.steps = str(folder), at, fault, 0
        self.on = True

    def audit(self, event: str, args: tuple[Any, ...]) -> None:
        if self.on and event in SEEN and any(isinstance(a, str) and a.startswith(self.folder) for a in args[:2]):
            self.step()

    def step(self) -> None:
        self.steps += 1
        if self.steps != self.at:
            return
        self.on = self.fault > 0 and self.on
        if self.fault == KILL:
            os.kill(os.getpid(), signal.SIGKILL)
        if self.fault == INTERRUPT:
            raise KeyboardInterrupt
        raise OSError(self.fault, os.strerror(self.fault))

    def opened(self, file: Any, mode: str = "r", *rest: Any, **more: Any) -> Any:
        found = PLAIN_OPEN(file, mode, *rest, **more)
        if "b" in mode and mode[0] in "wxa" and str(file).startswith(self.folder):
            return _Pieces(found, self)
        return found


class _Pieces:
    """A file that is written piece by piece, so that it can be caught half written."""

    def __init__(self, inner: Any, watch: _Watch) -> None:
        self.inner, self.watch = inner, watch

    def write(self, data: bytes) -> int:
        for start in range(0, len(data), PIECE):
            self.inner.write(data[start : start + PIECE])
            self.inner.flush()
            self.watch.step()
        return len(data)

    def __enter__(self) -> _Pieces:
        return self

    def __exit__(self, *_: object) -> None:
        self.inner.close()

    def __getattr__(self, name: str) -> Any:
        return getattr(self.inner, name)


def struck(action: Callable[[], str], folder: Path, at: int = 0, fault: int = KILL) -> Ended:
    """Run an action in a child and strike at the step `at` (0: never). The answer comes back through a pipe."""
    back, send = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(back)
        watch = _Watch(folder, at, fault)
        status, said = 0, ""
        try:
            sys.addaudithook(watch.audit)
            flush = os.fsync

            def flushed(handle: int) -> None:
                watch.step()
                flush(handle)

            os.fsync = flushed
            builtins.open = watch.opened  # type: ignore[assignment]
            said = action()
        except KeyboardInterrupt:
            said = "interrupted"
        except BaseException:
            status, said = 1, traceback.format_exc()
        watch.on = False
        os.write(send, f"{watch.steps}\n{status}\n{said}".encode("utf-8", "replace")[:60_000])
        os._exit(status)
    os.close(send)
    with os.fdopen(back, "rb") as pipe:
        answer = pipe.read().decode("utf-8", "replace")
    _, ended = os.waitpid(child, 0)
    steps, _, rest = answer.partition("\n")
    status, _, said = rest.partition("\n")
    return Ended(os.WIFSIGNALED(ended), int(steps or 0), said, status == "1")


def leftovers(folder: Path) -> list[str]:
    """Unfinished files of ours in a folder."""
    return [p.name for p in folder.iterdir() if p.name.startswith(".estimator-")]
