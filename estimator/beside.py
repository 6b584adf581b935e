"""What lies beside a job from earlier runs: the accepted price, and the revision before this one."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from estimator.core.problems import Place, Problem, problem, worst_first
from estimator.pricing.model import PricedJob
from estimator.sheets.door import open_door

if TYPE_CHECKING:
    from estimator.report.changes.model import Printed


def take_in(priced: PricedJob, target: Path) -> tuple[PricedJob, Path | None]:
    """The job with its accepted prices and with what changed since the revision before, from what lies at `target`
    (where its priced workbook goes) and beside it, and what is to be said of them; and under which name the workbook
    at `target` has to be kept before it is replaced, None where it need not be. Nothing is looked at for a first
    revision of which nothing is accepted.
    """
    from estimator.report.changes.accept import asks, status_place, with_accepted
    from estimator.report.changes.earlier import with_changes

    revision = priced.job.header.revision
    if revision < 2 and not asks(priced):
        return _checked(priced, []), None
    problems: list[Problem] = []
    lies = _read(target) if target.exists() else None
    if isinstance(lies, Problem):
        if asks(priced):
            problems.append(
                problem("accepted-not-read", status_place(priced), file=target.name, why=lies.message.rstrip("."))
            )
        lies = None
    keep = None
    before, name = _kept(target, revision), ""
    if before is not None:
        name = before.file
    if lies is not None and lies.revision < revision:
        there = kept_name(target, lies.revision)
        if not there.exists():  # what is kept already is what went out under that revision
            keep = there
            if before is None or before.revision < lies.revision:
                before, name = lies, there.name
    priced, found = with_accepted(priced, lies or before)
    problems += found
    if before is not None:
        priced = with_changes(priced, before, name)
    elif revision > 1:
        wanted = kept_name(target, revision - 1).name
        problems.append(problem("revision-not-found", priced.job.header.source.place("Revision"), wanted=wanted))
    return _checked(priced, problems), keep


def _checked(priced: PricedJob, problems: list[Problem]) -> PricedJob:
    """The job with more problems, and with variations of what nobody has accepted named."""
    from estimator.report.changes.accept import too_early

    found = [*problems, *too_early(priced)]
    return replace(priced, problems=tuple(worst_first([*priced.problems, *found]))) if found else priced


def kept_name(target: Path, revision: int) -> Path:
    """Where the priced workbook of an earlier revision is kept.

    >>> kept_name(Path("yard-priced.xlsx"), 1).name
    'yard-priced-r1.xlsx'
    """
    return target.with_name(f"{target.stem}-r{revision}{target.suffix}")


def keep_earlier(target: Path, kept: Path | None) -> list[Problem]:
    """Keep the workbook at `target` under another name, where it is to be kept; what to say of it."""
    from estimator.report.package.save import save_atomic

    if kept is None:
        return []
    try:
        refused = save_atomic(target.read_bytes(), kept)
    except OSError as error:
        refused = problem("save-failed", Place(file=kept.name), reason=error.strerror or type(error).__name__)
    return [refused or problem("revision-kept", Place(file=target.name), kept=kept.name)]


def _kept(target: Path, revision: int) -> Printed | None:
    """The workbook of the latest revision before this one that is kept and can be read."""
    named = re.compile(re.escape(target.stem) + r"-r(\d+)" + re.escape(target.suffix))
    found = sorted(
        ((int(m[1]), p) for p in target.parent.glob(f"*{target.suffix}") if (m := named.fullmatch(p.name))),
        reverse=True,
    )
    for number, path in found:
        if number < revision:
            printed = _read(path)
            if not isinstance(printed, Problem) and printed.revision < revision:
                return printed
    return None


def _read(path: Path) -> Printed | Problem:
    from estimator.report.changes.printed import read_printed

    opened = open_door(path)
    return opened if isinstance(opened, Problem) else read_printed(opened)


@dataclass(frozen=True, slots=True)
class Said:
    """What a command has to say. status: 0 it could be answered, 1 something has no price, 2 a file cannot be used."""

    lines: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    written: tuple[Path, ...] = ()
    status: int = 0


def compare_files(before: Path, now: Path, out: Path | None = None) -> Said:
    """Hold two priced workbooks against each other; out: also a new workbook with every part of every difference."""
    from estimator.report.changes.book import render_compared
    from estimator.report.changes.compared import compare, in_words
    from estimator.report.package.save import save_atomic
    from estimator.report.package.zipping import settle

    opened = [open_door(path) for path in (before, now)]
    wrong = [o for o in opened if isinstance(o, Problem)]
    usable = [o for o in opened if not isinstance(o, Problem)]
    if wrong:
        return Said((), tuple(wrong), (), 2)
    found = compare(usable[0], usable[1])
    if isinstance(found, list):
        return Said((), tuple(found), (), 2)
    lines = tuple(in_words(found))
    if out is None:
        return Said(lines)
    if out.exists():
        return Said(lines, (problem("new-over-old", Place(file=out.name)),), (), 2)
    refused = save_atomic(settle(render_compared(found)), out)
    return Said(lines, (refused,), (), 2) if refused else Said(lines, (), (out,))
