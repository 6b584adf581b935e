"""A job in a parcel: everything it is priced from as bytes, so that a machine without our disks can do it.

The machine prices it in a folder of its own that ends with the work. What came of it travels back as bytes and is
written here: so nothing is written twice, whatever happens to the machine, and every file is saved in one step.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from glob import escape
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock

from estimator.core.problems import Place, problem, worst_first
from estimator.jobfile import CREW, PRICED, QUOTE
from estimator.many.job import price_safely
from estimator.many.model import Choices, Result
from estimator.many.prints import asked_print, rate_files, wrote_print
from estimator.sheets.door import whole

_ALONE = Lock()  # a machine may work in threads, which drawing is not made for


@dataclass(frozen=True, slots=True)
class File:
    """A file by its name in its folder. changed: when, in nanoseconds; None: nobody asks."""

    name: str
    data: bytes
    changed: int | None = None


@dataclass(frozen=True, slots=True)
class Book:
    """A rate book as it is sent: a folder of files, or the one workbook."""

    name: str
    folder: bool
    files: tuple[File, ...]


@dataclass(frozen=True, slots=True)
class Parcel:
    """A job as it is sent. beside: what lies where its outputs go and belongs to it; apart: they go into another folder
    than the job's; book: None for the default one; asked: the fingerprint of what it is priced from."""

    job: File
    beside: tuple[File, ...]
    apart: bool
    choices: Choices
    book: Book | None
    asked: str


@dataclass(frozen=True, slots=True)
class Returned:
    """What comes back. kept, written: files as they are now, those of earlier runs that were put aside and the outputs;
    gone: names that are no more; wants: the rate book that the job names, when it was not sent; other: the machine has
    another version of the program, or another default rate book, and did nothing."""

    result: Result
    kept: tuple[File, ...] = ()
    written: tuple[File, ...] = ()
    gone: tuple[str, ...] = ()
    wants: str = ""
    other: bool = False


def pack(job: Path, choices: Choices, rates: Path | None) -> Parcel | None:
    """A job with all that it needs; None where something cannot be read. rates: its rate book, None for the default."""
    files = rate_files(rates)
    asked = asked_print(job, rates, choices)
    if not files or not asked:
        return None
    book = Book(rates.name, rates.is_dir(), tuple(File(*file) for file in files)) if rates else None
    folder = choices.out or job.parent
    try:
        apart = not folder.samefile(job.parent)
        beside = tuple(_file(path) for path in _belonging(job, folder) if apart or path.name != job.name)
        return Parcel(_file(job), beside, apart, replace(choices, rates=None, out=None), book, asked)
    except OSError:
        return None


def price_parcel(parcel: Parcel) -> Returned:
    """Price a job in a folder of its own, of which nothing is left afterwards."""
    with _ALONE, TemporaryDirectory(prefix="estimator-") as top:
        job = Path(top, "job", parcel.job.name)
        out = Path(top, "out") if parcel.apart else job.parent
        _lay(job.parent, [parcel.job])
        _lay(out, parcel.beside)
        rates = None
        if parcel.book is not None:
            rates = Path(top, "book", parcel.book.name)
            _lay(rates if parcel.book.folder else rates.parent, parcel.book.files)
        choices = replace(parcel.choices, rates=rates, out=out if parcel.apart else None)
        if asked_print(job, rates, choices) != parcel.asked:
            return Returned(Result("broken off"), other=True)
        result = price_safely(job, choices)
        if rates is None and result.rates is not None:
            return Returned(result, wants=str(result.rates).removeprefix(f"{job.parent}{os.sep}"))
        return _returned(parcel, result, out)


def _returned(parcel: Parcel, result: Result, out: Path) -> Returned:
    """What is different now, and every output also where it is the same as before."""
    before = {each.name: each.data for each in parcel.beside}
    if not parcel.apart:
        before[parcel.job.name] = parcel.job.data
    now = {path.name: _file(path) for path in sorted(out.iterdir()) if path.is_file()}
    names = [path.name for path in result.written]
    kept = tuple(file for name, file in now.items() if name not in names and before.get(name) != file.data)
    small = replace(result, rates=None, written=(), asked="", wrote="")
    return Returned(small, kept, tuple(now[name] for name in names), tuple(sorted(before.keys() - now.keys())))


def unpack(job: Path, choices: Choices, rates: Path | None, sent: Parcel, back: Returned) -> Result:
    """Write what came back, and say what became of the job. rates: the rate book that was sent with it."""
    from estimator.report.package.earlier import over_input
    from estimator.report.package.save import save_atomic

    folder = choices.out or job.parent
    lay = {each.name: each.data for each in (*sent.beside, *(() if sent.apart else (sent.job,)))}
    files = [*back.kept, *back.written]
    own = [] if sent.apart else [job.name]
    found = over_input(job, [folder / f.name for f in files if f.name not in own])
    found += [
        problem("changed-meanwhile", Place(file=f.name)) for f in files if _bytes(folder / f.name) != lay.get(f.name)
    ]
    for file in () if found else back.kept:
        refused = save_atomic(file.data, folder / file.name)
        if refused is not None:
            found.append(refused)
        elif file.changed is not None:
            os.utime(folder / file.name, ns=(file.changed, file.changed))
    written: list[Path] = []
    if not found:  # what cannot be kept is not written over
        for file in back.written:
            refused = save_atomic(file.data, folder / file.name)
            if refused is None:
                written.append(folder / file.name)
            else:
                found.append(refused)
        for name in back.gone:
            (folder / name).unlink(missing_ok=True)
    result = replace(back.result, rates=rates, written=tuple(written))
    if found:
        result = replace(result, status="not written", problems=tuple(worst_first([*found, *result.problems])))
    return replace(result, asked=asked_print(job, rates, choices), wrote=wrote_print(written))


def _belonging(job: Path, folder: Path) -> list[Path]:
    """The files of a folder that this job writes, or reads because an earlier run wrote them."""
    stems = {job.stem, job.stem.removesuffix(PRICED)}
    ends = (PRICED, QUOTE, CREW, "-variation")
    found = {path for stem in stems for end in ends for path in folder.glob(f"{escape(stem)}{end}*")}
    return sorted(path for path in found if path.is_file())


def _file(path: Path) -> File:
    return File(path.name, whole(path), path.stat().st_mtime_ns)


def _lay(folder: Path, files: Iterable[File]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for file in files:
        path = folder / file.name
        path.write_bytes(file.data)
        if file.changed is not None:
            os.utime(path, ns=(file.changed, file.changed))


def _bytes(path: Path) -> bytes | None:
    """What a file holds now; None where there is none."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError:
        return b""  # saving over it will say why
