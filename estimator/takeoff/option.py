"""One option from its fixings to a draft: everything that does not depend on other sites."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Fixing, Job, Option, Sail, Site
from estimator.rates.model import RateBook
from estimator.takeoff import consent, shape
from estimator.takeoff.draft import Draft
from estimator.takeoff.ground_work import dig, makes
from estimator.takeoff.hang import Hung, hang_sail
from estimator.takeoff.model import Point, WallMarks


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
        if found and len(found) == len(sail.corners_at):
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
    if taken.footings and site.services in ("", "none", "plans"):
        at = site.source.place("Services")
        problems.append(problem("services-not-located", at, name=site.name, services=site.services or "nothing"))
    problems += shape.shape_problems(book, site, hung, draft.drains, by_name)
    place = site.place or job.header.place
    tests = consent.tests_of(book.consent, place, _facts(book, draft)) if place else []
    problems += _consent_problems(site, place, tests)
    return replace(draft, consent=tuple(tests)), problems


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


def _facts(book: RateBook, draft: Draft) -> consent.Facts:
    """What is known for the consent rows."""
    house = sum(book.supports[key(f.held_by)].house for f in draft.fixings)
    cloths = [book.cloths[key(h.taken.cloth)] for h in draft.hung]
    conditions = {"house anchor" if house else "free-standing"}
    if any(c.waterproof for c in cloths):
        conditions.add("waterproof")
    to_boundary = {f.name: f.to_boundary for f in draft.fixings}
    edges = [f.edge_to_boundary for f in draft.footings]
    near_sail = [d for d in to_boundary.values() if d is not None]
    known = [e for e in edges if e is not None]
    return consent.Facts(
        plan_area=sum(h.taken.plan_area for h in draft.hung) if draft.hung else None,
        height_above_ground=max((f.height - f.ground for f in draft.fixings), default=None),
        footing_to_boundary=min(known) if known and len(known) == len(edges) else None,
        sail_to_boundary=min(near_sail) if near_sail and len(near_sail) == len(to_boundary) else None,
        existing_sails=None if draft.site.existing_sails is None else float(draft.site.existing_sails),
        house_anchor=float(house),
        conditions=frozenset(conditions),
    )


def _consent_problems(site: Site, place: str, tests: Sequence[consent.Test]) -> list[Problem]:
    """A row that is not kept is a warning, a value that is not known is a question."""
    found = []
    at = site.source.place("Place")
    for t in tests:
        limit = f"{t.row.limit:g}" if t.row.limit is not None else "none"
        words = {"place": place, "measure": t.row.measure, "limit": limit, "when": t.row.when or "always"}
        if t.inside is False:
            found.append(problem("consent-needed", at, value=f"{t.value:.2f}", source=t.row.origin.source, **words))
        elif t.inside is None:
            found.append(problem("consent-unknown", at, **words))
    return found
