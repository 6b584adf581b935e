"""Which problems touch an option, and the words for why it has no price."""

from __future__ import annotations

from estimator.core.names import key
from estimator.core.problems import Problem
from estimator.pricing.model import PricedJob, PricedOption


def said(problem: Problem) -> str:
    """The message without the place before it, where the place has a column of its own.

    >>> from estimator.core.problems import Place
    >>> said(Problem("x", "note", Place("", "Sites", "D7"), "Sites!D7: blank."))
    'blank.'
    """
    return problem.message.removeprefix(f"{problem.place}: ")


def in_job(priced: PricedJob, problem: Problem) -> bool:
    """Whether the place is a cell of the workbook that is written, so that a link can lead to it; else it is in the
    rate book, or in a job workbook whose sheets are not carried over."""
    file, own = (name.replace("\\", "/").rsplit("/", 1)[-1] for name in (problem.place.file, priced.job.file))
    return bool(problem.place.sheet) and file in ("", own) and not priced.job.alone


def where(priced: PricedJob, problem: Problem) -> str:
    """The place in words: sheet and cell of the job workbook, or the file of the rate book before them."""
    place = problem.place
    name = "" if in_job(priced, problem) else place.file.replace("\\", "/").rsplit("/", 1)[-1]
    return ": ".join(dict.fromkeys(x for x in (name, str(place)) if x))


def touches(problem: Problem, option: PricedOption) -> bool:
    """Whether a problem touches an option: by job, site, option or a fixing that it uses."""
    if problem.site is not None and key(problem.site) != key(option.site.name):
        return False
    if problem.option is not None and key(problem.option) != key(option.option.name):
        return False
    if problem.fixing is None or problem.option is not None:
        return True
    return key(problem.fixing) in {key(p) for p in used(option)}


def used(option: PricedOption) -> tuple[str, ...]:
    """The fixings an option uses."""
    taken = tuple(p.fixing for p in option.taken.points)
    return taken or tuple(f for sail in option.option.sails for f in sail.corners_at)


def reason(priced: PricedJob, option: PricedOption) -> str:
    """The first error that touches an option, with its place; where there is none: where to look."""
    errors = [p for p in priced.problems if p.level == "error" and touches(p, option)]
    if not errors:
        return "see To check"
    more = f" (and {len(errors) - 1} more in To check)" if len(errors) > 1 else ""
    return errors[0].message + more
