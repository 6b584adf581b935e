"""New posts under an option with their footings and holes, each in its own ground."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import hypot

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.geometry.wall import hole_edge_clearance
from estimator.job.model import Fixing, Sail, Site
from estimator.rates.model import Ground, RateBook
from estimator.takeoff import footings, posts
from estimator.takeoff.hang import Hung
from estimator.takeoff.labour import Hole
from estimator.takeoff.model import Footing, Post


def makes(book: RateBook, fixing: Fixing) -> str:
    """What a fixing's support makes: post, plate post, or nothing."""
    return book.supports[key(fixing.held_by)].makes


@dataclass(frozen=True, slots=True)
class Dug:
    """New posts with their footings and holes; factors: labour factor of ground and access by post name key."""

    posts: tuple[Post, ...]
    footings: tuple[Footing, ...]
    holes: tuple[Hole, ...]
    factors: Mapping[str, float]


def dig(
    book: RateBook,
    site: Site,
    used: Sequence[Fixing],
    sails: Sequence[tuple[Sail, Sequence[Fixing]]],
    hung: Sequence[Hung],
) -> tuple[Dug, list[Problem]]:
    """New posts and their footings, and what is wrong with them."""
    mine = [f for f in used if makes(book, f)]
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
        on_plate = all(makes(book, f) == "plate post" for f in a.fixings)
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
        footing = _edges(footing, a)
        problems += footings.footing_problems(book, footing, depth, height, section.width, a.place)
        problems += _boundary_problems(footing, a)
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
    return Dug(tuple(done), tuple(dug), tuple(holes), factors), problems


def _edges(footing: Footing, asked: posts.Asked) -> Footing:
    """The footing with the distance of its hole's edge to a boundary and a service, never too far.

    Which way they lie is not known, so the hole is taken to have moved toward them from each fixing.
    """

    def edge(values: Sequence[float | None]) -> float | None:
        known = [
            hole_edge_clearance(v, footing.diameter, hypot(footing.hole_across - f.across, footing.hole_out - f.out))
            for v, f in zip(values, asked.fixings, strict=True)
            if v is not None
        ]
        return min(known, default=None)

    return replace(
        footing,
        edge_to_boundary=edge([f.to_boundary for f in asked.fixings]),
        edge_to_service=edge([f.to_service for f in asked.fixings]),
    )


def _boundary_problems(footing: Footing, asked: posts.Asked) -> list[Problem]:
    boundary = footing.edge_to_boundary
    if boundary is None or boundary >= -1e-9:
        return []
    place = asked.top.source.place("To boundary")
    return [problem("hole-over-boundary", place, name=footing.post_name, by=f"{-boundary * 1000:.0f}")]


def _ground(book: RateBook, site: Site, fixings: Sequence[Fixing]) -> Ground | None:
    name = next((f.ground_class for f in fixings if f.ground_class), site.ground)
    return book.ground.get(key(name))
