"""One option from its fixings to a draft: everything that does not depend on other sites."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Extra, Fixing, Job, Option, Sail, Site
from estimator.rates.model import Ground, RateBook
from estimator.takeoff import consent, footings, posts
from estimator.takeoff.hang import Hung, hang_sail
from estimator.takeoff.labour import Hole
from estimator.takeoff.measures import Counted
from estimator.takeoff.model import Corner, Footing, Point, Post, WallMarks


@dataclass(frozen=True, slots=True)
class Draft:
    """An option as far as it stands alone; visits, travel and lines come from `finish`."""

    site: Site
    option: Option
    fixings: tuple[Fixing, ...] = ()
    points: tuple[Point, ...] = ()
    hung: tuple[Hung, ...] = ()
    posts: tuple[Post, ...] = ()
    footings: tuple[Footing, ...] = ()
    holes: tuple[Hole, ...] = ()
    factors: Mapping[str, float] = field(default_factory=dict)  # labour factor by post name key
    engineer: tuple[str, ...] = ()
    consent: tuple[consent.Test, ...] = ()
    extras: tuple[Extra, ...] = ()
    marks: tuple[WallMarks, ...] = ()

    @property
    def corners(self) -> tuple[Corner, ...]:
        """All corners of all sails."""
        return tuple(c for h in self.hung for c in h.corners)

    @property
    def counted(self) -> Counted:
        """What the measures are made from."""
        return Counted(
            self.points,
            [h.taken for h in self.hung],
            self.corners,
            self.posts,
            self.footings,
            any(t.inside is False for t in self.consent),
            bool(self.engineer),
        )


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
    taken, more = _posts(book, site, used, sails, hung)
    problems += more
    points = tuple(
        Point(f.name, f.held_by, f.across, f.out, f.height, f.ground, f.post_name if _makes(book, f) else "")
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
    )
    place = site.place or job.header.place
    tests = consent.tests_of(book.consent, place, _facts(book, draft)) if place else []
    problems += _consent_problems(site, place, tests)
    return replace(draft, consent=tuple(tests)), problems


def _makes(book: RateBook, fixing: Fixing) -> str:
    return book.supports[key(fixing.held_by)].makes


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


@dataclass(frozen=True, slots=True)
class _Taken:
    posts: tuple[Post, ...]
    footings: tuple[Footing, ...]
    holes: tuple[Hole, ...]
    factors: Mapping[str, float]


def _posts(
    book: RateBook,
    site: Site,
    used: Sequence[Fixing],
    sails: Sequence[tuple[Sail, Sequence[Fixing]]],
    hung: Sequence[Hung],
) -> tuple[_Taken, list[Problem]]:
    """New posts and their footings."""
    mine = [f for f in used if _makes(book, f)]
    asked, problems = posts.gather(mine, [(s, [f.name for f in fixings]) for s, fixings in sails])
    at: dict[str, list[tuple[float, float, float]]] = {}
    sides: dict[str, float] = {}
    for h in hung:
        for name, corner in zip(h.taken.fixings, h.taken.corners, strict=True):
            at.setdefault(name, []).append(corner)
            sides[name] = max(sides.get(name, 0.0), *h.taken.sides)
    access = book.access.get(key(site.access))
    done: list[Post] = []
    dug: list[Footing] = []
    holes: list[Hole] = []
    factors: dict[str, float] = {}
    for a in asked:
        if not all(f.name in sides for f in a.fixings):
            continue  # a sail on this post could not be fitted, so nothing is known of it
        section = posts.choose_section(book, a)
        if isinstance(section, Problem):
            problems.append(section)
            continue
        top = a.top
        on_plate = all(_makes(book, f) == "plate post" for f in a.fixings)
        height = top.height - top.ground
        depth = footings.choose_depth(book, max(sides[f.name] for f in a.fixings), height, a.depth)
        post = posts.take_post(book, a, section, depth.depth, posts.pulls_on(a, at), on_plate)
        if isinstance(post, Problem):
            problems.append(post)
            continue
        done.append(post)
        if post.toward == (0.0, 0.0) and not a.tied and a.lean != 0.0 and not on_plate:
            problems.append(problem("post-plumb", a.place, name=post.post_name))
        ground = _ground(book, site, a.fixings)
        if ground is None:
            continue
        factors[key(post.post_name)] = ground.labour_factor * (access.labour_factor if access else 1.0)
        if on_plate:
            continue
        diameter = a.hole or section.hole or footings.hole_diameter(
            section.width, book.number("hole per post width"), book.number("hole step"), book.number("least hole")
        )  # fmt: skip
        rock_at = next((f.rock_at for f in a.fixings if f.rock_at is not None), site.rock_at)
        footing = footings.take_footing(book, post, section, ground, depth, diameter, rock_at)
        problems += footings.footing_problems(book, footing, depth, height, section.width, a.place)
        dug.append(footing)
        rock = book.ground.get("rock")
        if footing.rock_from is not None:
            problems.append(
                problem("rock-in-hole", a.place, name=post.post_name, rock=f"{footing.rock_from:.2f}",
                        hole=f"{footing.hole_depth:.2f}")
            )  # fmt: skip
        holes.append(
            Hole(post.post_name, footing.hole, footing.hole_depth, ground, rock, footing.rock_from, site.digging,
                 factors[key(post.post_name)])
        )  # fmt: skip
    return _Taken(tuple(done), tuple(dug), tuple(holes), factors), problems


def _ground(book: RateBook, site: Site, fixings: Sequence[Fixing]) -> Ground | None:
    name = next((f.ground_class for f in fixings if f.ground_class), site.ground)
    return book.ground.get(key(name))


def _facts(book: RateBook, draft: Draft) -> consent.Facts:
    """What is known for the consent rows."""
    house = sum(book.supports[key(f.held_by)].house for f in draft.fixings)
    cloths = [book.cloths[key(h.taken.cloth)] for h in draft.hung]
    conditions = {"house anchor" if house else "free-standing"}
    if any(c.waterproof for c in cloths):
        conditions.add("waterproof")
    to_boundary = {f.name: f.to_boundary for f in draft.fixings}
    edges = []
    for f in draft.footings:
        near = [d for n in f.fixings if (d := to_boundary.get(n)) is not None]
        shift = max((abs(f.hole_across - p.across) ** 2 + abs(f.hole_out - p.out) ** 2) ** 0.5
                    for p in draft.points if p.fixing in f.fixings)  # fmt: skip
        # which way the boundary lies is not known, so the hole may have moved toward it
        edges.append(min(near) - shift - f.diameter / 2 if near else None)
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
