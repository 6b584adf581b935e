"""One option from its fixings to a draft: everything that does not depend on other sites."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Fixing, Job, Option, Sail, Site
from estimator.job.options import LEAST_CORNERS, MOST_CORNERS
from estimator.rates.model import RateBook
from estimator.takeoff import consent_facts, shape
from estimator.takeoff.draft import Draft
from estimator.takeoff.ground_work import dig, makes
from estimator.takeoff.hang import Hung, hang_sail
from estimator.takeoff.model import Point, WallMarks
from estimator.takeoff.services import service_problems
from estimator.takeoff.site_risks import site_risks


def draft_option(
    book: RateBook,
    job: Job,
    site: Site,
    option: Option,
    at_site: Sequence[Fixing],
    marks: tuple[WallMarks, ...] = (),
) -> tuple[Draft, list[Problem]]:
    """The draft of an option, and what is wrong with it; what could not be worked out is left empty.

    at_site: the fixings of the site that have coordinates, tape worked out and walls set out.
    """
    problems: list[Problem] = []
    by_name = {key(f.name): f for f in at_site}
    sails: list[tuple[Sail, list[Fixing]]] = []
    for sail in option.sails:
        found = [by_name[key(n)] for n in sail.corners_at if key(n) in by_name]
        if len(found) == len(sail.corners_at) and _a_shape(found):
            sails.append((sail, found))
    used = list({f.name: f for _, fixings in sails for f in fixings}.values())
    engineer, more = _supports(book, used)
    problems += more
    hung: list[Hung] = []
    for sail, fixings in sails:
        one, more = hang_sail(book, sail, fixings)
        problems += more
        if one is not None:
            hung.append(one)
    taken, more = dig(book, site, used, sails, hung)
    problems += more
    points = tuple(
        Point(f.name, f.held_by, f.across, f.out, f.height, f.ground, f.post_name if makes(book, f) else "")
        for f in used
    )
    extras = tuple(e for e in job.extras if e.site == site.name and e.option in ("", option.name))
    draft = Draft(
        site=site,
        option=option,
        fixings=tuple(used),
        points=points,
        hung=tuple(hung),
        posts=taken.posts,
        footings=taken.footings,
        holes=taken.holes,
        factors=taken.factors,
        engineer=tuple(engineer),
        extras=extras,
        marks=marks,
        falls=shape.falls_of(hung),
        drains=shape.drains_of(book, hung),
    )
    problems += service_problems(book, site, used, taken.footings, extras)
    problems += shape.shape_problems(book, site, hung, draft.drains, by_name)
    problems += site_risks(book, site, used, hung, by_name)
    compared, more = consent_facts.compare(book, job.header, draft)
    return replace(draft, consent=compared), problems + more


def _a_shape(corners: Sequence[Fixing]) -> bool:
    """Whether a sail can have these corners; where it cannot, that was told when they were read."""
    return LEAST_CORNERS <= len({f.name for f in corners}) == len(corners) <= MOST_CORNERS


def _supports(book: RateBook, used: Sequence[Fixing]) -> tuple[list[str], list[Problem]]:
    """Fixings that need an engineer, and supports that cannot be priced or are near an edge."""
    engineer, problems = [], []
    for f in used:
        support = book.supports[key(f.held_by)]
        place = f.source.place("Held by")
        if support.priced == "no":
            problems.append(
                problem("support-not-priced", place, name=f.name, held_by=f.held_by, note=support.note.rstrip("."))
            )
        elif support.priced == "engineer":
            engineer.append(f.name)
            problems.append(
                problem("support-engineer", place, name=f.name, held_by=f.held_by, note=support.note.rstrip("."))
            )
        if support.least_to_edge:
            least = f"{support.least_to_edge * 1000:.0f}"
            edge = f.source.place("To edge")
            if f.to_edge is None:
                problems.append(problem("edge-unknown", edge, name=f.name, held_by=f.held_by, least=least))
            elif f.to_edge < support.least_to_edge - 1e-9:
                found = f"{f.to_edge * 1000:.0f}"
                problems.append(problem("edge-near", edge, name=f.name, held_by=f.held_by, found=found, least=least))
    return engineer, problems
