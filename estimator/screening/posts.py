"""New posts and their footings under the pulls of all sails on them. Forces N, moments N m, stresses Pa, lengths m."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from estimator.core.names import key
from estimator.geometry.fasteners import GRAVITY
from estimator.geometry.pole import (
    clay_capacity,
    clay_moment,
    constrained_depth,
    constrained_moment,
    sand_capacity,
    sand_moment,
    unconstrained_depth,
    unconstrained_force,
)
from estimator.geometry.post_bending import bending_stress, top_movement
from estimator.geometry.sections import cold_formed_radii, round_solid, round_tube, square_solid, square_tube
from estimator.rates.model import Ground, PostSection, RateBook
from estimator.screening.parts import Asked, Part, Pulls
from estimator.takeoff.draft import Draft
from estimator.takeoff.model import Footing, Point, Post


@dataclass(frozen=True, slots=True)
class AtGround:
    """What the pulls come to at the foot of a post. sideways, upward (negative: it presses down) [N]; moment [N m];
    arm: height at which the sideways pull would make the same moment [m]."""

    sideways: float
    upward: float
    moment: float
    arm: float


def at_ground(pulls: Pulls, points: dict[str, Point], post: Post, ground: float) -> AtGround:
    """Pulls on a post brought to its foot: the lean is in the way from the foot to each fixing.

    Source: moments about the foot, r x F; what twists the post about its own axis is left out.
    """
    force, turning = [0.0, 0.0, 0.0], [0.0, 0.0]
    for (_, fixing), (x, y, z) in pulls.items():
        if fixing not in post.fixings:
            continue
        p = points[fixing]
        across, out, up = p.across - post.foot_across, p.out - post.foot_out, p.height - ground
        for axis, part in enumerate((x, y, z)):
            force[axis] += part
        turning[0] += out * z - up * y
        turning[1] += up * x - across * z
    sideways, moment = hypot(force[0], force[1]), hypot(*turning)
    return AtGround(sideways, force[2], moment, moment / sideways if sideways > 1e-9 else 0.0)


def post_parts(book: RateBook, draft: Draft) -> tuple[list[Part], list[str]]:
    """Bending, movement and footing of every new post in the ground, and what is not known of them.

    A post on a plate is an engineer's: its moment is shown, nothing is held against it.
    """
    parts: list[Part] = []
    unknown: list[str] = []
    points = {p.fixing: p for p in draft.points}
    footings = {key(f.post_name): f for f in draft.footings}
    tied = {key(f.post_name) for f in draft.fixings if f.tied}
    for post in draft.posts:
        section = book.posts[key(post.post)]
        stands = _Stands(points, post, max(points[f].ground for f in post.fixings))
        if post.on_plate:
            unknown.append(f"post {post.post_name} on a plate: an engineer designs plate, weld and anchors")
            parts.append(_plate(stands))
            continue
        bent, missing = _bending(book, stands, section)
        parts += bent
        unknown += missing
        footing = footings.get(key(post.post_name))
        if footing is None:
            continue
        ground = book.ground.get(key(footing.ground))
        held, missing = _footing(book, stands, footing, ground, key(post.post_name) in tied)
        parts += held
        unknown += missing
    return parts, unknown


@dataclass(frozen=True, slots=True)
class _Stands:
    """A post with its fixings and the level of its ground."""

    points: dict[str, Point]
    post: Post
    ground: float

    @property
    def where(self) -> str:
        """The post in words."""
        return f"post {self.post.post_name}"

    @property
    def height(self) -> float:
        """Of its highest fixing above the ground."""
        return max(self.points[f].height for f in self.post.fixings) - self.ground

    def loads(self, pulls: Pulls) -> AtGround:
        """What pulls come to at its foot."""
        return at_ground(pulls, self.points, self.post, self.ground)


def _plate(stands: _Stands) -> Part:
    def look(pulls: Pulls) -> Asked:
        at = stands.loads(pulls)
        return Asked(
            at.moment, None, f"moment at the plate {at.moment / 1000:.2f} kNm, {at.sideways / 1000:.2f} kN sideways"
        )

    return Part("post", "moment at the base plate", stands.where, stands.post.fixings, "Nm", "an engineer has to say",
                look, counted=False)  # fmt: skip


def section_area(section: PostSection) -> float:
    """Area of a section's wood or steel [m2]."""
    width, wall = section.width, section.wall
    if section.shape == "round":
        return (round_tube(width, wall) if wall else round_solid(width)).area
    return (square_tube(width, width, wall, cold_formed_radii(wall)) if wall else square_solid(width, width)).area


def _bending(book: RateBook, stands: _Stands, section: PostSection) -> tuple[list[Part], list[str]]:
    names, where = stands.post.fixings, stands.where
    modulus, allowed, elastic = section.section_modulus, section.allowable_stress, section.modulus
    if modulus is None or allowed is None:
        return [], [f"{where}: the row of {section.code} has no section modulus or allowable stress"]
    area = section_area(section)
    source = f"M/W + N/A against the allowable stress of the row {section.code} in posts"

    def bends(pulls: Pulls) -> Asked:
        at = stands.loads(pulls)
        stress = bending_stress(at.moment, modulus, max(0.0, -at.upward), area)
        words = (
            f"{at.sideways / 1000:.2f} kN sideways, moment {at.moment / 1000:.2f} kNm over {modulus * 1e6:.1f} cm3"
            f" = {stress / 1e6:.0f} MPa against {allowed / 1e6:g} MPa"
        )
        return Asked(stress, allowed, words)

    found = [Part("post", f"bending of {section.code}", where, names, "Pa", source, bends)]
    limit = book.known("movement limit")
    if elastic is None or limit is None:
        return found, []
    height, inertia = stands.height, modulus * section.width / 2

    def moves(pulls: Pulls) -> Asked:
        at = stands.loads(pulls)
        gives = top_movement(at.moment / height, height, height, elastic, inertia)
        words = (
            f"its top gives {gives * 1000:.0f} mm at {height:.2f} m; more than {limit * 100:g} % of it is pointed out"
        )
        return Asked(gives, limit * height, words)

    how = "cantilever, the ground does not give; limit: setting movement limit"
    return [*found, Part("post", f"movement of {section.code}", where, names, "m", how, moves, counted=False)], []


def _footing(
    book: RateBook, stands: _Stands, footing: Footing, ground: Ground | None, tied: bool
) -> tuple[list[Part], list[str]]:
    where, names = f"footing of {stands.where}", stands.post.fixings
    bearing, factor = ground.lateral_bearing if ground else None, book.known("lateral bearing factor")
    parts = [_weight(book, stands, footing)] if book.known("concrete weight") else []
    if ground is None or bearing is None or factor is None:
        name = ground.name if ground else footing.ground
        return parts, [f"{where}: nothing is known of what the ground ({name}) holds sideways; have it tested"]
    lateral, width, depth = bearing * factor, footing.diameter, footing.depth

    def free(pulls: Pulls) -> Asked:
        at = stands.loads(pulls)
        holds = unconstrained_force(at.arm, width, lateral, depth)
        needs = unconstrained_depth(at.sideways, at.arm, width, lateral)
        on_slab = constrained_depth(at.moment, width, lateral)
        words = (
            f"{at.sideways / 1000:.2f} kN at {at.arm:.2f} m: needs {needs:.2f} m, is {depth:.2f} m deep and "
            f"{width * 1000:.0f} mm wide; held at the ground by a slab it would need {on_slab:.2f} m"
        )
        return Asked(at.sideways, holds, words)

    def held(pulls: Pulls) -> Asked:
        at = stands.loads(pulls)
        needs = constrained_depth(at.moment, width, lateral)
        words = (
            f"tied at the ground, moment {at.moment / 1000:.2f} kNm: needs {needs:.2f} m, is {depth:.2f} m deep; "
            f"free it would need {unconstrained_depth(at.sideways, at.arm, width, lateral):.2f} m"
        )
        return Asked(at.moment, constrained_moment(width, lateral, depth), words)

    of = f"{bearing / 1000:g} kPa/m sideways x {factor:g} of the row {ground.name} in ground"
    if tied:
        source = f"pole held at the ground, IBC 1807.3.2.2; {of}"
        parts.insert(0, Part("footing", "sideways hold", where, names, "Nm", source, held))
    else:
        source = f"pole free at the ground, IBC 1807.3.2.1; {of}"
        parts.insert(0, Part("footing", "sideways hold", where, names, "N", source, free))
    second = None if tied else _second_view(book, stands, footing, ground)
    return [*parts, *([second] if second else [])], []


def _second_view(book: RateBook, stands: _Stands, footing: Footing, ground: Ground) -> Part | None:
    """The ultimate hold of a short pole in clay or sand over its safety factor, beside the building code's."""
    safety = book.known("pole safety factor")
    strength, angle, weight = ground.shear_strength, ground.friction_angle, ground.unit_weight
    if safety is None or (strength is None and (angle is None or weight is None)):
        return None
    width, depth = footing.diameter, footing.depth

    def look(pulls: Pulls) -> Asked:
        at = stands.loads(pulls)
        if strength is not None:
            most = clay_capacity(strength, width, depth, at.arm)
            moment, soil = clay_moment(at.sideways, strength, width, at.arm), f"clay of {strength / 1000:g} kPa"
        else:
            most = sand_capacity(weight or 0.0, angle or 0.0, width, depth, at.arm)
            moment = sand_moment(at.sideways, weight or 0.0, angle or 0.0, width, at.arm)
            soil = f"sand of {angle:g} degrees"
        words = (
            f"{at.sideways / 1000:.2f} kN at {at.arm:.2f} m; ultimate in {soil} {most / 1000:.2f} kN over {safety:g}; "
            f"greatest moment below ground {moment / 1000:.2f} kNm"
        )
        return Asked(at.sideways, max(most / safety, 1e-9), words)

    source = f"short free pole, Broms 1964, over the setting pole safety factor; ground {ground.name}"
    return Part("footing", "sideways hold, second view", f"footing of {stands.where}", stands.post.fixings, "N",
                source, look, counted=False)  # fmt: skip


def _weight(book: RateBook, stands: _Stands, footing: Footing) -> Part:
    heavy = (book.known("concrete weight") or 0.0) * GRAVITY * footing.concrete

    def look(pulls: Pulls) -> Asked:
        up = max(0.0, stands.loads(pulls).upward)
        return Asked(
            up, heavy, f"{up / 1000:.2f} kN upward against {heavy / 1000:.2f} kN of concrete; friction left out"
        )

    source = "weight of the concrete; setting concrete weight"
    return Part("footing", "weight against uplift", f"footing of {stands.where}", stands.post.fixings, "N", source,
                look, counted=False)  # fmt: skip
