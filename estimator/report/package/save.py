"""Save a file in one step: the old one stays whole until the new one is on the disk."""

from __future__ import annotations

import errno
import io
import os
import re
import secrets
import shutil
import stat
import zipfile
from contextlib import suppress
from pathlib import Path
from time import time

from estimator.core.problems import Place, Problem, problem
from estimator.report.package.locks import lock_of

SPARE = 48  # bytes
AN_HOUR = 3600
_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}


def save_atomic(data: bytes, target: Path) -> Problem | None:
    """Write the bytes to the target, or say in one sentence why not; then the target is as it was.

    A new file gets the usual mode, an old one keeps its own. Through a symbolic link the file it leads to
    is replaced. The bytes are written beside the target, read back and flushed before they take its name.
    """
    place = Place(file=str(target))
    real = Path(os.path.realpath(target))
    try:
        refused = _in_the_way(target, real, place)
    except OSError as error:
        return problem("save-failed", place, reason=error.strerror or type(error).__name__)
    if refused is not None:
        return refused
    _clear_away(real.parent)
    temp = real.with_name(f".estimator-{os.getpid():08x}{secrets.token_hex(4)}.part")
    step = "write"
    try:
        _write(temp, data)
        if not _same(temp, data):
            return problem("save-damaged", place)
        if real.exists():
            shutil.copymode(real, temp)
        step = "replace"
        os.replace(temp, real)
    except PermissionError:
        if step == "replace":
            return problem("save-refused", place)
        return problem("save-folder-closed", place, folder=real.parent)
    except OSError as error:
        if error.errno in _FULL:
            return problem("save-disk-full", place)
        return problem("save-failed", place, reason=error.strerror or type(error).__name__)
    finally:
        # gone already after a replace; any failure, an interrupt too, leaves nothing behind
        with suppress(OSError):
            temp.unlink()
    _flush_folder(real.parent)
    return None


def too_long(target: Path) -> Problem | None:
    """A name that has no room for those that are made from it: under a day, of a variation, of a lock."""
    try:
        os.lstat(target.with_name(f"{target.stem}{'x' * SPARE}{target.suffix}"))
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            return problem("save-name-long", Place(file=target.name[:40] + "…"), long=SPARE)
    return None


def unfinished(folder: Path, pid: int) -> list[Path]:
    """Unfinished files that a process left in a folder, which was killed while it saved."""
    return list(folder.glob(f".estimator-{pid:08x}????????.part"))


def _clear_away(folder: Path) -> None:
    """Unfinished files of ours that a run left which was killed; young ones may be of a run that still goes on."""
    with suppress(OSError):
        for path in folder.glob(".estimator-*.part"):
            with suppress(OSError):
                if (
                    re.fullmatch(r"\.estimator-([0-9a-f]{12}|[0-9a-f]{16})\.part", path.name)
                    and path.stat().st_mtime < time() - AN_HOUR
                ):
                    path.unlink()


def _in_the_way(target: Path, real: Path, place: Place) -> Problem | None:
    if not real.parent.is_dir():
        return problem("save-no-folder", place, folder=real.parent)
    if real.is_dir():
        return problem("save-in-the-way", place)
    lock = lock_of(target) or lock_of(real)
    if lock is not None:
        return problem("save-open", place, holder=f" by {lock.holder}" if lock.holder else "", lock=lock.path.name)
    if real.exists() and not real.stat().st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH):
        return problem("save-read-only", place)
    return None


def _write(temp: Path, data: bytes) -> None:
    with open(temp, "xb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())


def _same(temp: Path, data: bytes) -> bool:
    """Whether the disk gave back what was written, and a zip among it is whole."""
    back = temp.read_bytes()
    if back != data:
        return False
    if not data.startswith(b"PK"):
        return True
    try:
        with zipfile.ZipFile(io.BytesIO(back)) as archive:
            return archive.testzip() is None
    except zipfile.BadZipFile:
        return False


def _flush_folder(folder: Path) -> None:
    """Make the new name last through a power cut; some systems cannot do that for a folder."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
