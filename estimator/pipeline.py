"""The steps in order, nothing else: a job in, a priced job out. No global state, so it runs in any worker."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from itertools import count
from pathlib import Path

from estimator.core.names import key
from estimator.core.problems import Place, Problem, once, problem, scoped, worst_first
from estimator.job.header import read_header
from estimator.job.model import Extra, Header, Job, Option
from estimator.job.read import read_job
from estimator.pricing.model import Bill, PricedJob, PricedOption
from estimator.pricing.order import make_order
from estimator.pricing.payment import payment_problems
from estimator.pricing.price import apart_prices, job_totals, make_bill
from estimator.pricing.price_checks import price_problems
from estimator.pricing.price_range import price_range
from estimator.pricing.taxes import taxes_for
from estimator.pricing.used import planned_and_used
from estimator.pricing.usual import missing
from estimator.rates.model import RateBook, Tax
from estimator.rates.read import load_rates
from estimator.screening.together import screen_all
from estimator.sheets.cells import Book, read_book
from estimator.sheets.door import Opened
from estimator.sheets.rows import find_sheet
from estimator.takeoff.draft import Draft, Trip, Worked
from estimator.takeoff.finish import finish, known_only, work_out
from estimator.takeoff.labour import DIG, MIX, TRAVEL, slug
from estimator.takeoff.model import Apart
from estimator.takeoff.option import draft_option
from estimator.takeoff.points import option_points, site_points
from estimator.takeoff.whole_job import job_lines

Progress = Callable[[int, int], None]
EXPIRED, ACCEPTED = "expired", "accepted"  # an accepted price has been taken up and does not run out


@dataclass(frozen=True, slots=True)
class Outcome:
    """A priced job, or why there is none. usable: False when the file or the rate book cannot be used; rates: the rate
    book it was priced with, or was to be; None: the default one, or it did not come so far."""

    priced: PricedJob | None
    problems: tuple[Problem, ...]
    usable: bool
    rates: Path | None = None


@dataclass(frozen=True, slots=True)
class _Step:
    option: Option
    draft: Draft
    worked: Worked | None


_BySite = dict[str | None, list[Problem]]  # errors; None: of the whole job
_Trips = dict[str, list[_Step]]


def price_workbook(
    opened: Opened,
    path: Path,
    today: date,
    rates: Path | None = None,
    progress: Progress | None = None,
    screen: bool = False,
    cores: int = 1,
) -> Outcome:
    """Price the job in an opened workbook.

    rates: a rate book that wins over the job's own; today: the day when the job names none; progress: called
    with how many options are done and how many there are; screen: also the options of sites without a wind speed;
    cores: how many processes may share the screening of many different sails.
    """
    book = read_book(opened)
    if isinstance(book, Problem):
        return Outcome(None, (book,), usable=False)
    header, context, problems = read_header(book, path.name, today)
    problems += [problem("sheet-unread", Place(book.name, name)) for name in book.unread]
    if not _is_job(book, problems):
        return Outcome(None, (problem("not-a-job", Place(file=path.name)),), usable=False)
    at = rates or (path.parent / header.rates if header.rates else None)
    rate_book, found = load_rates(at, header.priced_on)
    if rate_book is None:
        return Outcome(None, tuple(worst_first([*problems, *found])), usable=False, rates=at)
    expired = _expired(header, rate_book, today)
    problems += [*found, *expired]
    job, found = read_job(book, path.name, header, context, allowed_names(rate_book))
    priced = price_job(job, rate_book, [*problems, *found], progress, screen, cores)
    if expired:
        options = tuple(replace(o, quote_status=EXPIRED) if o.quote_status != ACCEPTED else o for o in priced.options)
        priced = replace(priced, options=options)
    priced = replace(priced, ranged=price_range(priced))
    return Outcome(priced, priced.problems, usable=True, rates=at)


def price_job(
    job: Job,
    book: RateBook,
    problems: Sequence[Problem] = (),
    progress: Progress | None = None,
    screen: bool = False,
    cores: int = 1,
) -> PricedJob:
    """Every option of a job taken off, priced and screened; problems: what reading it has found so far."""
    found = list(problems)
    taxes, more = taxes_for(book, job.header)
    found += more
    points = {}
    for site in job.sites:
        points[site.name], more = site_points(book, job, site)
        found += scoped(more, site=site.name)
    steps: list[_Step] = []
    wrong: _BySite = {}
    seen = 0  # of what was found, already looked through for errors
    sites = {s.name: s for s in job.sites}
    for option in job.options:
        at, more = option_points(book, points[option.site], option, job.header.units)
        found += more
        option = at.option
        draft, more = draft_option(book, job, sites[option.site], option, at.fixings, at.marks)
        found += scoped(more, site=option.site, option=option.name)
        worked = None
        _sorted_in(wrong, found, seen)
        seen = len(found)
        if not _touched(wrong, option):
            worked, more = work_out(book, draft)
            found += scoped(more, site=option.site, option=option.name)
        steps.append(_Step(option, draft, worked))
    options = []
    grave: list[Problem] = []  # what may come down stands before what may cost
    trips = _trips(steps)
    for step in steps:
        _sorted_in(wrong, found, seen)
        seen = len(found)
        priced, more = _price_option(job, book, step, trips, taxes, wrong)
        found += scoped(more, site=step.option.site, option=step.option.name)
        options.append(priced)
    steps_done = count(1)

    def done() -> None:
        if progress:
            progress(next(steps_done), len(steps))

    for number, (screened, more) in enumerate(screen_all(book, [s.draft for s in steps], screen, cores, done)):
        grave += scoped(more, site=options[number].site.name, option=options[number].option.name)
        options[number] = replace(options[number], screened=screened)
    job_bill, apart, more = _job_bill(job, book, taxes)
    found += [*more, *missing(job, book, options, job_bill)]
    totals = job_totals(options, job_bill, [s.name for s in job.sites])
    order, more = make_order(job, book, options, job_bill, totals.missing)
    found += more
    if not totals.complete:
        words = ", ".join(totals.missing) or "no site"
        found.append(problem("total-incomplete", job.header.source.place("Job name"), missing=words, site="?"))
    surveys = {name: p.survey for name, p in points.items() if p.survey}
    used, more = planned_and_used(job, book, options, job_bill)
    made = PricedJob(job, book, tuple(options), job_bill, totals, (), apart, surveys, order=order, used=used)
    found += [*more, *price_problems(made), *payment_problems(made)]
    return replace(made, problems=tuple(worst_first(once([*grave, *found]))))


def _price_option(
    job: Job, book: RateBook, step: _Step, trips: _Trips, taxes: Sequence[Tax], wrong: _BySite
) -> tuple[PricedOption, list[Problem]]:
    site, option = step.draft.site, step.option
    quote_status = option.status or job.header.status
    unpriced = PricedOption(site, option, "not priced", option.chosen, quote_status, known_only(step.draft), None)
    if step.worked is None or _touched(wrong, option):
        return unpriced, []
    taken, problems = finish(book, job.header, step.draft, step.worked, _trip(step, trips))
    if any(p.level == "error" for p in problems):
        return unpriced, problems
    bill = make_bill(book, job.header, taken.lines, taxes, option.margin)
    status = "provisional" if taken.engineer else "priced"
    apart = apart_prices(book, job.header, taken.apart, taxes, option.margin)
    if bill.totals.price_before_tax < bill.totals.cost:
        problems.append(problem("below-cost", option.source.place("Option"), cost=bill.totals.cost,
                                price=bill.totals.price_before_tax))  # fmt: skip
    return PricedOption(site, option, status, option.chosen, quote_status, taken, bill, apart), problems


def _trips(steps: Sequence[_Step]) -> _Trips:
    """The chosen options that can be worked out, by the trip of their site."""
    found: _Trips = {}
    for s in steps:
        if s.draft.site.trip and s.worked and s.option.chosen:
            found.setdefault(key(s.draft.site.trip), []).append(s)
    return found


def _trip(step: _Step, trips: _Trips) -> Trip:
    """What this option shares with the chosen options of the other sites of its trip."""
    assert step.worked is not None
    own = step.draft.site
    others = [s for s in trips.get(key(own.trip), ()) if s.option.site != own.name] if own.trip else []
    visits = max([len(step.worked.visits), *(len(s.worked.visits) for s in others if s.worked)])
    travel = max([own.travel, *(s.draft.site.travel for s in others)])
    return Trip(1 + len(others), visits, travel)


def _job_bill(
    job: Job, book: RateBook, taxes: Sequence[Tax]
) -> tuple[Bill | None, tuple[tuple[Apart, Decimal], ...], list[Problem]]:
    typed: list[Extra] = [e for e in job.extras if not e.site and not e.option]
    lines, found, problems = job_lines(book, typed)
    apart = apart_prices(book, job.header, found.apart, taxes, None)
    if not lines or any(p.level == "error" for p in problems):
        return None, apart, problems
    # rounding to a step is for a site's price; the job's own lines are small and keep their cents
    header = replace(job.header, round_to=None)
    return make_bill(book, header, lines, taxes, None), apart, problems


def _sorted_in(wrong: _BySite, found: Sequence[Problem], start: int) -> None:
    """Add the errors among what was found from a place on, by the site that they are of."""
    for p in found[start:]:
        if p.level == "error":
            wrong.setdefault(p.site, []).append(p)


def _touched(wrong: _BySite, option: Option) -> bool:
    """Whether an error touches this option."""
    corners = {key(n) for sail in option.sails for n in sail.corners_at}
    for p in (*wrong.get(None, ()), *wrong.get(option.site, ())):
        if p.site is None or (
            p.site == option.site
            and (p.option in (None, option.name))
            and (p.fixing is None or key(p.fixing) in corners or p.option == option.name)
        ):
            return True
    return False


def exit_status(outcome: Outcome) -> int:
    """0 every option priced or provisional; 1 something not priced; 2 nothing that can be used."""
    if not outcome.usable or outcome.priced is None:
        return 2
    options = outcome.priced.options
    lost = any(p.level == "error" and p.place.sheet and key(p.place.sheet) == "options" for p in outcome.problems)
    whole = any(p.level == "error" and p.site is None for p in outcome.problems)
    return 1 if lost or whole or not options or any(o.bill is None for o in options) else 0


def allowed_names(book: RateBook) -> Mapping[str, Mapping[str, str]]:
    """The names a job may use, by table: key as compared to the book's spelling."""
    supports = {key(s.name): s.name for s in book.supports.values()}
    for s in book.supports.values():
        for other in s.also:
            supports.setdefault(key(other), s.name)
    by_code = {
        "sails": [r.code for r in book.sails.values()],
        "cloths": [r.code for r in book.cloths.values()],
        "posts": [r.code for r in book.posts.values()],
        "rigging": [r.code for r in book.rigging.values()],
        "concrete": [r.code for r in book.concrete.values()],
        "items": [r.code for r in book.items.values()],
        "ground": [r.name for r in book.ground.values()],
        "access": [r.name for r in book.access.values()],
        "corner_sets": [r.name for r in book.corner_sets.values()],
    }
    named = {table: {key(n): n for n in names} for table, names in by_code.items()}
    priced = {
        k: n for table in ("items", "sails", "cloths", "posts", "rigging", "concrete") for k, n in named[table].items()
    }
    tasks = {key(n): t for t in (*(r.task for r in book.labour), DIG, MIX, TRAVEL) for n in (slug(t), t)}
    return {**named, "supports": supports, "priced": priced, "labour": tasks}


def _expired(header: Header, book: RateBook, today: date) -> list[Problem]:
    """A price that has run out before today must not go out again as it stands."""
    days = header.valid_days if header.valid_days is not None else int(book.number("valid for"))
    until = header.priced_on + timedelta(days=days)
    if until >= today:
        return []
    place = header.source.place("Priced on")
    return [problem("price-expired", place, until=until.isoformat(), day=header.priced_on.isoformat())]


def _is_job(book: Book, problems: Sequence[Problem]) -> bool:
    """A workbook with none of our input sheets is some other workbook."""
    return any(find_sheet(book, name) for name in ("Job", "Sites", "Fixings", "Options"))
