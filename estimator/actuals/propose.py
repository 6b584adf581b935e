"""From what several jobs have seen to rows that could be added to the rate book. Nothing is changed here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

from estimator.actuals.evidence import CONCRETE, GROUND, LABOUR, Seen, Target, hours_now, seen_in
from estimator.actuals.shrink import factor, middle, weight, wild
from estimator.core.money import plain
from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.pricing.model import PricedJob
from estimator.rates.dated import in_force
from estimator.rates.model import RateBook
from estimator.rates.new_rows import Written, as_csv, changed_row, written_table
from estimator.rates.rows import RateRow

JOBS_WORTH, OUTLIER = "actuals weight", "actuals outlier"  # settings
SOURCE = "actuals of "
BETWEEN = " + "  # names of jobs in a source
NAMED = {LABOUR: "task", GROUND: "ground", CONCRETE: "code"}  # the column that names a row


@dataclass(frozen=True, slots=True)
class NewRow:
    """A row that could be added. what: it is for, in words; old, new: its hours; cells: as the table writes them."""

    table: str
    what: str
    old: float
    new: float
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the jobs say of one target. seen: the jobs that count, planned by the hours of today; left_out: the
    others, each with the reason; n: how many count, one that was planned by it in part as that part."""

    target: Target
    seen: tuple[Seen, ...]
    left_out: tuple[tuple[str, str], ...]
    n: float
    weight: float
    rows: tuple[NewRow, ...]

    @property
    def planned(self) -> float:
        """Hours planned in all, by the hours of today."""
        return sum(s.planned for s in self.seen)

    @property
    def used(self) -> float:
        """Hours used in all."""
        return sum(s.used for s in self.seen)


@dataclass(frozen=True, slots=True)
class Proposed:
    """All proposals; since: the day from which the rows hold; worth: how many jobs the old hours are worth, None where
    the rate book does not say; tables: as they are written, by name."""

    proposals: tuple[Proposal, ...]
    since: date
    worth: float | None
    tables: Mapping[str, Written]

    def csv(self, table: str) -> str:
        """The rows to add to a table, blank for none."""
        rows = [r.cells for p in self.proposals for r in p.rows if r.table == table]
        return as_csv(self.tables[table], rows) if rows else ""


def day_after(jobs: Iterable[PricedJob]) -> tuple[date, bool]:
    """The day after the last actual, and True; where no row has a day, the day after the last pricing, and False."""
    listed = list(jobs)
    days = [a.day for j in listed for a in j.job.actuals if a.day]
    return max(days or [j.job.header.priced_on for j in listed]) + timedelta(days=1), bool(days)


def propose(
    jobs: Sequence[tuple[str, PricedJob]], book: RateBook, path: Path | None, since: date
) -> tuple[Proposed, list[Problem]]:
    """What each target's hours could become from a day on.

    jobs: each with its name; book: the rate book of that day, at `path` (None: the default one). A job that was
    planned by other hours than today's counts as if it had been planned by today's: what it says is hours for each
    unit of what they are counted by. A job that a row already comes from does not count again.
    """
    worth, limit = book.known(JOBS_WORTH), book.known(OUTLIER)
    lacking = [n for n, value in ((JOBS_WORTH, worth), (OUTLIER, limit)) if value is None]
    if worth is None or limit is None:
        place = Place(book.name, "settings")
        return Proposed((), since, None, {}), [problem("actuals-setting", place, name=n) for n in lacking]
    every: dict[Target, list[Seen]] = {}
    for name, priced in jobs:
        for target, seen in seen_in(priced, name).items():
            every.setdefault(target, []).append(seen)
    tables = {t: w for t in dict.fromkeys(t.table for t in every) if (w := written_table(path, t))}
    proposals, problems = [], []
    for target, found in every.items():
        if target.table in tables:
            proposal, more = _proposal(target, found, book, tables[target.table], since, (worth, limit))
            proposals.append(proposal)
            problems += more
    return Proposed(tuple(proposals), since, worth, tables), problems


def _proposal(
    target: Target, found: Sequence[Seen], book: RateBook, table: Written, since: date, settings: tuple[float, float]
) -> tuple[Proposal, list[Problem]]:
    worth, limit = settings
    rows = _rows(table, target, since)
    now = hours_now(book, target)
    usable, left_out = _usable(found, rows, now)
    far = wild([s.used / s.planned for s in usable], limit)
    m = middle([s.used / s.planned for s in usable])
    what = "the plan" if m == 1.0 else f"the middle of the jobs, {m:.3g}"
    words = f"{{:.3g}} times the plan, more than {limit:g} times off {what}"
    left_out += [(s.job, words.format(s.used / s.planned)) for s, out in zip(usable, far, strict=True) if out]
    kept = tuple(s for s, out in zip(usable, far, strict=True) if not out)
    n = sum(s.share for s in kept)
    proposal = Proposal(target, kept, tuple(left_out), n, weight(n, worth), ())
    if not kept:
        return proposal, []
    times = factor(proposal.used, proposal.planned, n, worth)
    source = f"{SOURCE}{BETWEEN.join(s.job for s in kept)}; {jobs_words(n)}, weight {proposal.weight:.3g}"
    made, problems = [], []
    for row in rows:
        row_hours = float(row.values[target.column])
        hours = four_digits(row_hours * times)
        if hours == four_digits(row_hours):
            continue
        taken = _taken(table, row, since)
        if taken:
            words_of = {"name": row.key, "since": taken.isoformat(), "day": since.isoformat()}
            problems.append(problem("actuals-day-taken", row.place("valid from"), table=target.table, **words_of))
            continue
        typed = plain(hours).replace(".", ",") if table.comma else plain(hours)
        changes = {target.column: typed, "valid from": since.isoformat(), "source": source}
        what = _what(target, row)
        made.append(NewRow(target.table, what, row_hours, float(hours), changed_row(table, row, changes)))
    return Proposal(target, kept, tuple(left_out), n, proposal.weight, tuple(made)), problems


def _usable(found: Sequence[Seen], rows: Sequence[RateRow], now: float) -> tuple[list[Seen], list[tuple[str, str]]]:
    """What can be learned from, planned by the hours of today, and why not from the others."""
    usable: list[Seen] = []
    left_out: list[tuple[str, str]] = []
    already = {name for row in rows for name in _jobs_of(row.text("source"))}
    for seen in found:
        if now <= 0 or seen.then <= 0:
            left_out.append((seen.job, "the rate book has no such hours from that day on"))
        elif seen.used <= 0:
            left_out.append((seen.job, "0 h used says nothing of how long it takes"))
        elif seen.job in already:
            left_out.append((seen.job, "the row in force comes from it already"))
        else:
            planned = seen.planned * now / seen.then
            usable.append(Seen(seen.job, planned, seen.used, seen.share, now))
    return usable, left_out


def _rows(table: Written, target: Target, since: date) -> list[RateRow]:
    """The rows of a target in force on a day."""
    return [r for r in in_force(table.rows, since)[0] if key(r.text(NAMED[target.table])) == key(target.name)]


def _taken(table: Written, row: RateRow, since: date) -> date | None:
    """The day of a row for the same that would stand beside or after a new one."""
    return min((r.since for r in table.rows if r.key == row.key and r.since >= since), default=None)


def _jobs_of(source: str) -> list[str]:
    """The jobs that a row comes from, by its source."""
    names, between, _ = source.removeprefix(SOURCE).rpartition("; ")
    return names.split(BETWEEN) if between and source.startswith(SOURCE) else []


def _what(target: Target, row: RateRow) -> str:
    if target.table == LABOUR:
        return f"h for each {row.text('for each')} {row.text('measure')}"
    return target.column


def jobs_words(n: float) -> str:
    """How many jobs, in words.

    >>> jobs_words(1.0), jobs_words(2.5)
    ('1 job', '2.5 jobs')
    """
    return "1 job" if n == 1 else f"{n:.3g} jobs"


def four_digits(hours: float) -> Decimal:
    """Hours to four digits that count: finer would claim more than anybody has noted.

    >>> four_digits(1.16666667), four_digits(12345.0)
    (Decimal('1.167'), Decimal('12340'))
    """
    return Decimal(plain(Decimal(f"{hours:.3e}")))
