"""Footings: depth by rule, hole, base layers, concrete, spoil. Lengths m, volumes m3, in place."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, cos, pi, radians

from estimator.core.problems import Place, Problem, problem
from estimator.geometry.post import hole_centre
from estimator.rates.model import FootingDepth, Ground, PostSection, RateBook
from estimator.takeoff.model import Footing, Post

HAIR = 1e-9

LONGEST_SIDE = "longest side"
THIRD_OF_HEIGHT = "third of the height"
THIRD_OF_POST = "third of the post"
DEEPER = "deeper of side and third of the height"


def hole_volume(diameter: float, depth: float) -> float:
    """Volume of a bored post hole [m3].

    diameter: of the auger [m]; depth: below finished ground [m]; both > 0.
    Source: right circular cylinder, V = pi d^2 h / 4.

    >>> round(hole_volume(diameter=0.45, depth=0.9), 4)
    0.1431
    """
    return pi * diameter**2 * depth / 4


def outline_area(shape: str, width: float) -> float:
    """Area of a post's outline [m2]: round or square; a hollow section counts as solid (it is capped).

    >>> outline_area("square", 0.1), round(outline_area("round", 0.1), 6)
    (0.010000000000000002, 0.007854)
    """
    return pi * width**2 / 4 if shape == "round" else width**2


def depth_by_side(rows: Sequence[FootingDepth], side: float) -> tuple[float, bool]:
    """Depth for a longest side [m], and whether the table had to be stretched beyond its last row.

    Linear between rows; below the first the first; above the last its slope goes on.
    Source: common practice, no source (3 m side 0.8 m, 5 m side 1.2 m).
    """
    rows = sorted(rows, key=lambda r: r.longest_side)
    if side <= rows[0].longest_side or len(rows) == 1:
        return rows[0].depth, side > rows[-1].longest_side
    low, high = next(((a, b) for a, b in itertools.pairwise(rows) if side <= b.longest_side), (rows[-2], rows[-1]))
    slope = (high.depth - low.depth) / (high.longest_side - low.longest_side)
    return low.depth + slope * (side - low.longest_side), side > rows[-1].longest_side


def hole_diameter(width: float, per_width: float, step: float, least: float) -> float:
    """Diameter of a hole by the post's width [m]: up to the next step, at least the least hole.

    Source: common practice, no source (about three post widths).

    >>> round(hole_diameter(width=0.125, per_width=3, step=0.05, least=0.3), 3)
    0.4
    """
    return max(least, ceil(width * per_width / step - HAIR) * step)


@dataclass(frozen=True, slots=True)
class Depth:
    """A depth with the rule that gave it, and what the other rules give."""

    depth: float
    rule: str
    others: tuple[tuple[str, float], ...]
    stretched: bool


def choose_depth(book: RateBook, longest_side: float, height: float, given: float | None) -> Depth:
    """The footing depth [m]. height: of the highest fixing out of the ground; given: wins over every rule."""
    by_side, stretched = depth_by_side(book.footing_depths, longest_side)
    rules = {LONGEST_SIDE: by_side, THIRD_OF_HEIGHT: height / 3, THIRD_OF_POST: height / 2}
    if given is not None:
        return Depth(given, "given", tuple(rules.items()), False)
    wanted = book.text("footing rule")
    rule = (LONGEST_SIDE if by_side + HAIR >= height / 3 else THIRD_OF_HEIGHT) if wanted == DEEPER else wanted
    others = tuple((name, depth) for name, depth in rules.items() if name != rule)
    return Depth(rules[rule], rule, others, stretched and rule == LONGEST_SIDE)


def take_footing(
    book: RateBook,
    post: Post,
    section: PostSection,
    ground: Ground,
    depth: Depth,
    diameter: float,
    rock_at: float | None,
) -> Footing:
    """The hole of a post and what goes into it."""
    d = depth.depth
    layers = ground.stone + ground.pad
    hole_depth = d + layers
    area = hole_volume(diameter, 1.0)
    outline = outline_area(section.shape, section.width)
    hole, stone, pad = area * hole_depth, area * ground.stone, area * ground.pad
    in_hole = outline * d / cos(radians(post.lean))
    concrete = area * d - in_hole + pad
    centre = hole_centre((post.foot_across, post.foot_out), d, post.lean, post.toward)
    rock = rock_at if rock_at is not None and rock_at < hole_depth - HAIR else None
    others = ", ".join(f"{name} {value:.3f}" for name, value in depth.others)
    working = (
        f"depth {d:.3f} by {depth.rule} (others: {others}); hole {diameter * 1000:.0f} mm x ({d:.3f} + stone "
        f"{ground.stone:.3f} + pad {ground.pad:.3f}) = {hole:.4f} m3; concrete {area * d:.4f} - post "
        f"{in_hole:.4f} + pad {pad:.4f} = {concrete:.4f}; "
        f"spoil {hole:.4f} x {ground.swell:g} = {hole * ground.swell:.4f}"
    )
    return Footing(
        post_name=post.post_name,
        fixings=post.fixings,
        rule=depth.rule,
        diameter=diameter,
        depth=d,
        hole_depth=hole_depth,
        hole_across=centre[0],
        hole_out=centre[1],
        hole=hole,
        stone=stone,
        pad=pad,
        concrete=concrete,
        spoil=hole * ground.swell,
        ground=ground.name,
        rock_from=rock,
        others=depth.others,
        working=working,
    )


def footing_problems(
    book: RateBook, footing: Footing, depth: Depth, height: float, width: float, place: Place
) -> list[Problem]:
    """What a person should look at: shallow, stretched table, narrow hole."""
    found = []
    name = footing.post_name
    if depth.depth < height / 3 - HAIR:
        found.append(
            problem("footing-shallow", place, name=name, depth=f"{depth.depth:.3f}", third=f"{height / 3:.3f}")
        )
    if depth.stretched:
        last = max(r.longest_side for r in book.footing_depths)
        found.append(problem("depth-table-stretched", place, name=name, last=f"{last:g}", depth=f"{depth.depth:.3f}"))
    cover = (footing.diameter - width) / 2
    if cover < book.number("least cover") - HAIR:
        found.append(
            problem(
                "hole-narrow",
                place,
                name=name,
                hole=f"{footing.diameter * 1000:.0f}",
                cover=f"{cover * 1000:.0f}",
                least=f"{book.number('least cover') * 1000:.0f}",
            )
        )
    if footing.concrete <= 0:
        found.append(
            problem("hole-full", place, name=name, hole=f"{footing.diameter * 1000:.0f}", width=f"{width * 1000:.0f}")
        )
    return found
