"""Sheet `Actuals`: hours and quantities that were used on the job. Nothing in it touches a price.

Its problems are scoped to no site, so that a slip in it never takes the price of an option away.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.problems import Problem, did_you_mean, problem, scoped
from estimator.core.units import convert
from estimator.job.model import Actual, Extra, Option, Site
from estimator.job.rows import Names, Read

NO_SITE = "?"  # touches no option
HOURS = "h"


def read_actuals(
    reads: Sequence[Read],
    sites: Mapping[str, Site],
    options: Sequence[Option],
    extras: Sequence[Extra],
    names: Names,
) -> tuple[tuple[Actual, ...], list[Problem]]:
    """The rows in order, and what is wrong with the others, which are left out."""
    known = _known(extras, names)
    actuals: list[Actual] = []
    problems: list[Problem] = []
    blank: list[Actual] = []
    for read in reads:
        actual, found = _actual(read, sites, options, known)
        problems += [*read.row.problems, *found]
        if actual is not None:
            actuals.append(actual)
            blank += [] if actual.unit else [actual]
    if blank:
        place = blank[0].source.place("Unit")
        problems.append(problem("actual-unit-blank", place, count=len(blank)))
    return tuple(actuals), scoped(problems, site=NO_SITE)


def _known(extras: Sequence[Extra], names: Names) -> dict[str, tuple[str, bool]]:
    """What a row may name: key to how it is written and whether it is a task. A task wins over a code."""
    typed = {key(w): w for e in extras for w in (e.description, e.instead_of) if w}
    codes = {**typed, **names["priced"]}
    return {**{k: (w, False) for k, w in codes.items()}, **{k: (w, True) for k, w in names["labour"].items()}}


def _actual(
    read: Read, sites: Mapping[str, Site], options: Sequence[Option], known: Mapping[str, tuple[str, bool]]
) -> tuple[Actual | None, list[Problem]]:
    site, option, problems = _where(read, sites, options)
    found, quantity, unit = read.text("What"), read.get("Quantity"), read.text("Unit")
    what, is_task = known.get(key(found), ("", False))
    if found and not what:
        words = dict.fromkeys(name for name, _ in known.values())
        hint = did_you_mean(found, words)
        problems.append(problem("actual-unknown", read.place("What"), found=found, hint=hint))
    if is_task and unit and convert(Decimal(1), unit, HOURS) is None:
        words_of = {"found": unit, "unit": HOURS, "item": what}
        problems.append(problem("unit-mismatch", read.place("Unit"), **words_of))
    if problems or not what or quantity is None or not read.usable("Unit", "Site", "Option"):
        return None, problems
    day = read.get("Day")
    exact = quantity if isinstance(quantity, Decimal) else from_float(float(quantity))
    return (
        Actual(site, option, what, is_task, exact, unit, day, read.text("By"), read.text("Notes"), read.source),
        problems,
    )


def _where(read: Read, sites: Mapping[str, Site], options: Sequence[Option]) -> tuple[str, str, list[Problem]]:
    """Site and option as they are written elsewhere; the only site where an option alone is named."""
    site_text, option_text = read.text("Site"), read.text("Option")
    only = next(iter(sites.values())) if len(sites) == 1 else None
    site = sites.get(key(site_text)) if site_text else (only if option_text else None)
    if site is None and site_text:
        known = [s.name for s in sites.values()]
        words = {"found": site_text, "known": ", ".join(known) or "none", "hint": did_you_mean(site_text, known)}
        return "", "", [problem("site-unknown", read.place("Site"), **words)]
    if site is None:
        asked = [problem("actual-without-site", read.place("Site"), name=option_text)] if option_text else []
        return "", "", asked
    if not option_text:
        return site.name, "", []
    mine = [o.name for o in options if o.site == site.name]
    match = next((n for n in mine if key(n) == key(option_text)), "")
    if match:
        return site.name, match, []
    words = {"found": option_text, "known": ", ".join(mine) or "none", "hint": did_you_mean(option_text, mine)}
    return site.name, "", [problem("option-unknown", read.place("Option"), **words)]
