"""From priced jobs with their actuals to what is said and proposed; nothing is opened or written but the rate book."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from estimator.actuals.evidence import LABOUR
from estimator.actuals.propose import Proposed, day_after, propose
from estimator.actuals.words import job_words, last_words, proposed_words
from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem, worst_first
from estimator.pricing.model import PricedJob
from estimator.rates.read import load_rates
from estimator.sheets.columns import ACTUALS

Jobs = Sequence[tuple[Path, PricedJob]]


@dataclass(frozen=True, slots=True)
class Told:
    """What the actuals of some jobs have told. lines: in words; written: the rows that could be added; status: 2 where
    a file cannot be used, 1 where a row of Actuals cannot, else 0."""

    lines: tuple[str, ...]
    problems: tuple[Problem, ...]
    written: tuple[Path, ...]
    status: int


def learn(jobs: Jobs, rates: Path | None, since: date | None, out: Path | None) -> Told:
    """Planned and used of each job, and what the rate book could be given.

    jobs: each with its file; rates: wins over the jobs' own rate book; since: the day from which the rows are to
    hold, None for the day after the last actual; out: a new file for the rows of `labour`, those of other tables go
    beside it.
    """
    twice = _same_job(jobs)
    if twice:
        return Told((), (twice,), (), 2)
    named = list(zip(_names(jobs), (priced for _, priced in jobs), strict=True))
    lines = [line for name, priced in named for line in job_words(name, priced)]
    problems = [p for name, priced in named for p in _of_actuals(priced, name if len(named) > 1 else "")]
    status = 1 if any(p.level == "error" for p in problems) else 0
    if not any(priced.used for _, priced in named):
        return Told((*lines, "Nothing is proposed."), tuple(worst_first(problems)), (), status)
    path = _rate_book(jobs, rates)
    if isinstance(path, Problem):
        return Told(tuple(lines), tuple(worst_first([*problems, path])), (), 2)
    day, noted = (since, True) if since else day_after([priced for _, priced in named])
    if not noted:
        problems.append(problem("actuals-day", _first_day(jobs), day=day.isoformat()))
    book, found = load_rates(path, day)
    if book is None:
        return Told(tuple(lines), tuple(worst_first([*problems, *found])), (), 2)
    proposed, found = propose(named, book, path, day)
    problems += found
    lines += proposed_words(proposed) if proposed.worth is not None else []
    written, refused = _write(proposed, out) if out else ([], [])
    lines += last_words(proposed, [(table, str(file)) for table, file in written])
    found = worst_first([*problems, *refused])
    return Told(tuple(lines), tuple(found), tuple(file for _, file in written), 2 if refused else status)


def _first_day(jobs: Jobs) -> Place:
    """The first cell where a day could be filled in."""
    return next(actual.source.place("Day") for _, priced in jobs for actual in priced.job.actuals)


def _of_actuals(priced: PricedJob, name: str) -> Iterator[Problem]:
    """What is wrong on the sheet Actuals, with the job's name where there are several."""
    for p in priced.problems:
        if key(p.place.sheet) == key(ACTUALS.sheet):
            yield replace(p, message=f"{name}, {p.message}" if name else p.message)


def _write(proposed: Proposed, out: Path) -> tuple[list[tuple[str, Path]], list[Problem]]:
    """The rows of each table to a file of its own, never over an existing one."""
    from estimator.report.package.save import save_atomic

    texts = {t: text for t in proposed.tables if (text := proposed.csv(t))}
    paths = {t: out if t == LABOUR else out.with_name(f"{out.stem}-{t}{out.suffix}") for t in texts}
    old = [problem("new-over-old", Place(file=str(path))) for path in paths.values() if path.exists()]
    if old:
        return [], old
    written: list[tuple[str, Path]] = []
    for table, path in paths.items():
        refused = save_atomic(texts[table].encode("utf-8"), path)
        if refused:
            return written, [refused]
        written.append((table, path))
    return written, []


def _same_job(jobs: Jobs) -> Problem | None:
    """A job that is named twice, as itself or as its priced workbook: its hours must not count twice."""
    seen: dict[tuple[Path, str], Path] = {}
    for path, priced in jobs:
        at = (path.resolve().parent, priced.job.file.casefold())
        if at in seen:
            return problem("actuals-same-job", Place(file=path.name), other=seen[at].name)
        seen[at] = path
    return None


def _names(jobs: Jobs) -> list[str]:
    """What each job is called: its file, with its folder where two have one name."""
    stems = [Path(priced.job.file).stem for _, priced in jobs]
    return [
        f"{path.resolve().parent.name}/{stem}" if stems.count(stem) > 1 else stem
        for (path, _), stem in zip(jobs, stems, strict=True)
    ]


def _rate_book(jobs: Jobs, rates: Path | None) -> Path | Problem | None:
    """The rate book that is to learn; a problem where the jobs have several and none is named."""
    if rates is not None:
        return rates
    paths = [path.parent / priced.job.header.rates if priced.job.header.rates else None for path, priced in jobs]
    for (path, _), other in zip(jobs, paths, strict=True):
        if (other and other.resolve()) != (paths[0] and paths[0].resolve()):
            return problem("actuals-two-books", Place(file=path.name), other=jobs[0][0].name)
    return paths[0]
