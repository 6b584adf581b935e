"""What a folder holds: the job workbooks in it, and what is left out and why."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from estimator.jobfile import CREW, PRICED, QUOTE
from estimator.report.words import plural

WORKBOOKS = (".xlsx", ".xlsm", ".ods", ".xls")
TABLE = "run-table"  # the name of the table of a run, .csv and .xlsx
KINDS = {
    PRICED: ("priced workbook", ""),
    QUOTE: ("customer's copy", "customer's copies"),
    CREW: ("crew's workbook", ""),
    "-variation": ("paper of a variation", "papers of variations"),
    TABLE: ("table of a run", "tables of runs"),
}
_LATER = r"(-r\d+)?( \d{4}-\d\d-\d\d( \(\d+\))?)?"  # of a revision, or kept under its day
_ENDS = {kind: re.compile(r"-.+" if kind == "-variation" else _LATER) for kind in KINDS if kind != TABLE}


@dataclass(frozen=True, slots=True)
class Plan:
    """jobs: what is to be priced, in order, each once; left: what was left out, a sentence each."""

    jobs: tuple[Path, ...]
    left: tuple[str, ...] = ()


def plan(named: Sequence[Path], deep: bool = False, spare: Iterable[Path | None] = ()) -> Plan:
    """The jobs of the files and folders that were named. A file counts whatever its name; of a folder every workbook
    directly in it, with `deep` also of the folders in it, but for what we wrote ourselves. spare: files and folders in
    which no job is looked for (the rate book, the folder for the outputs)."""
    jobs: dict[str, Path] = {}
    ours: Counter[str] = Counter()
    left: list[str] = []
    not_jobs = {real(path) for path in spare if path is not None}
    for path in named:
        if not path.is_dir():
            jobs.setdefault(real(path), path)
            continue
        for folder in _folders(path, deep, not_jobs):
            found, kinds, others = _in_folder(folder, not_jobs)
            ours.update(kinds)
            left += others
            for job in found:
                jobs.setdefault(real(job), job)
    if ours:
        counts = [plural(ours[kind], *words) for kind, words in KINDS.items() if ours[kind]]
        left.insert(0, f"{_listed(counts)}, which were written for the jobs here")
    return Plan(tuple(jobs.values()), tuple(left))


def table_folder(named: Sequence[Path], out: Path | None) -> Path:
    """Where the table of a run goes: to the other outputs, else into the first folder, or beside the first file."""
    return out or (named[0] if named[0].is_dir() else named[0].parent)


def real(path: Path) -> str:
    """A path as the system knows it, links followed, so that one file has one name; also for what can be no file."""
    try:
        return os.path.realpath(path)
    except ValueError:
        return str(path)


def _folders(top: Path, deep: bool, spare: set[str]) -> list[Path]:
    """The folder, and with `deep` those below it, without hidden ones; links to folders are not followed."""
    if not deep:
        return [top]
    found = []
    for here, below, _ in os.walk(top):
        below[:] = sorted(d for d in below if not d.startswith(".") and real(Path(here, d)) not in spare)
        found.append(Path(here))
    return found


def _in_folder(folder: Path, spare: set[str]) -> tuple[list[Path], list[str], list[str]]:
    """The jobs of a folder, the kinds of what we wrote, and what else is left out and why."""
    try:
        files = sorted(
            (p for p in folder.iterdir() if p.suffix.casefold() in WORKBOOKS and not p.is_dir()), key=_in_order
        )
    except OSError as error:
        return [], [], [f"the folder {folder}, which cannot be read ({error.strerror or type(error).__name__})"]
    hidden = {p for p in files if p.name.startswith((".", "~$"))}
    seen = [p for p in files if p not in hidden and p.stem != TABLE]
    stems = {p.stem for p in seen}
    jobs, kinds, others = [], [], []
    for path in files:
        kind = output_of(path.stem, stems) if path in seen else ""
        if real(path) in spare:
            others.append(f"{path.name}, the rate book")
        elif path.name.startswith(("~$", ".~lock.")):
            others.append(f"{path.name}, the mark of a workbook that is open")
        elif path in hidden:
            others.append(f"{path.name}, which is hidden")
        elif path.stem == TABLE:
            kinds.append(TABLE)
        elif kind:
            kinds.append(kind)
        else:
            jobs.append(path)
    return jobs, kinds, others


def output_of(stem: str, stems: Iterable[str]) -> str:
    """The kind of output a file of our own is, blank for none. stems: of the workbooks that lie beside it.

    >>> output_of("yard-quote", {"yard", "yard-quote"}), output_of("yard-quote", {"yard-quote"})
    ('-quote', '')
    >>> output_of("yard-priced", {"yard-priced"}), output_of("yard-quote-r2 2026-04-03", {"yard-priced"})
    ('', '-quote')
    """
    for kind, rest in _ENDS.items():
        for found in re.finditer(re.escape(kind), stem):
            job, more = stem[: found.start()], stem[found.end() :]
            mere = kind == PRICED and not more  # a priced workbook alone is a job
            if job and rest.fullmatch(more) and (job in stems or (not mere and job + PRICED in stems)):
                return kind
    return ""


def _in_order(path: Path) -> tuple[list[tuple[int, str]], str]:
    """Names as a person sorts them: job 9 before job 10."""
    parts = re.split(r"(\d+)", path.name.casefold())
    return [(int(p), "") if p.isascii() and p.isdigit() else (0, p) for p in parts], path.name


def _listed(words: Sequence[str]) -> str:
    return ", ".join(words[:-1]) + " and " + words[-1] if len(words) > 1 else words[0]
