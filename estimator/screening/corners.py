"""Corners and what holds them: the weakest part with its eye at the angle of the pull, and the support behind it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import acos, cos, degrees, hypot, radians, sin

from estimator.core.names import key
from estimator.geometry.fasteners import withdrawal
from estimator.rates.model import Part as RatedPart
from estimator.rates.model import RateBook, Support
from estimator.screening.model import Vector
from estimator.screening.parts import Asked, Part, Pulls, total
from estimator.takeoff.draft import Draft
from estimator.takeoff.model import Corner, Point, Post
from estimator.takeoff.rigging import weakest_part, working_load

TABLE_ENDS = 45.0  # degrees to the shank; DIN 580 has no value beyond


def corner_parts(book: RateBook, draft: Draft) -> tuple[list[Part], list[str]]:
    """One part a corner: the weakest of what hangs it. And corners of which nothing is rated."""
    parts, unknown = [], []
    posts = {name: post for post in draft.posts for name in post.fixings}
    for corner in draft.corners:
        where = f"sail {corner.sail} at {corner.fixing}"
        eyes, others = _loaded(book, corner)
        weakest, load = weakest_part(book, others)
        if load is None and not eyes:
            unknown.append(f"{where}: no part of the set {corner.set} has a working load; add one to rigging")
            continue
        eye = eyes[0] if eyes else None
        parts.append(
            Part(
                "corner",
                weakest or (eye.code if eye else ""),
                where,
                (corner.fixing,),
                "N",
                f"working loads of the set {corner.set}; an eye by the angle of the pull to its shank",
                _look(book, corner, eye, weakest, load, posts.get(corner.fixing)),
            )
        )
    return parts, unknown


def _loaded(book: RateBook, corner: Corner) -> tuple[list[RatedPart], list[str]]:
    """The rated eye of a corner, and its other parts that the pull goes through."""
    eyes, others = [], []
    for code, _ in corner.parts:
        part = book.rigging.get(key(code))
        if part is None or (part.kind == "chain" and corner.links == 0):
            continue
        if part.kind == "eye" and working_load(book, part):
            eyes.append(part)
        else:
            others.append(code)
    return eyes, others


def _look(
    book: RateBook, corner: Corner, eye: RatedPart | None, weakest: str, load: float | None, post: Post | None
) -> Callable[[Pulls], Asked]:
    at = (corner.sail, corner.fixing)

    def look(pulls: Pulls) -> Asked:
        pull = pulls[at]
        force = hypot(*pull)
        found, part, words = load, weakest, f"pull {force / 1000:.2f} kN"
        if eye is not None:
            held, how = eye_load(book, eye, pull, post)
            words += f"; eye {eye.code} {held / 1000:.2f} kN, {how}"
            if found is None or held < found:
                found, part = held, eye.code
        if weakest and load is not None:
            words += f"; weakest of the others {weakest} {load / 1000:.2f} kN"
        return Asked(force, found, words, part)

    return look


def eye_load(book: RateBook, eye: RatedPart, pull: Vector, post: Post | None) -> tuple[float, str]:
    """What an eye holds in the direction of a pull [N], and how it was found.

    The shank of an eye on a post is taken square to the post and toward the pull in plan. From the value along the
    shank to that at 45 degrees in a straight line, as DIN 580 has both; beyond, where it has none, lowered with the
    cosine, which is ours. On a building nobody has said which way the shank points: the value at 45 degrees.
    """
    slanted = working_load(book, eye) or 0.0
    if eye.axial_load is None:
        return slanted, "as rated"
    if post is None:
        return slanted, "at 45 degrees to its shank, since its direction is not known"
    angle = shank_angle(pull, post)
    if angle <= TABLE_ENDS:
        return eye.axial_load + (slanted - eye.axial_load) * angle / TABLE_ENDS, f"at {angle:.0f} degrees to its shank"
    beyond = slanted * max(cos(radians(angle)), 1e-3) / cos(radians(TABLE_ENDS))
    return beyond, f"at {angle:.0f} degrees to its shank: the table ends at 45, lowered by the cosine"


def shank_angle(pull: Vector, post: Post) -> float:
    """Angle [degrees] of a pull to a shank that is square to the post and points toward the pull in plan."""
    level = hypot(pull[0], pull[1])
    size = hypot(level, pull[2])
    if size == 0 or level == 0:
        return 90.0 if size else 0.0
    lean = radians(post.lean)
    # the part of the lean in the vertical plane of the pull tips the shank up or down with it
    tipped = lean * (post.toward[0] * pull[0] + post.toward[1] * pull[1]) / level
    cosine = (level * cos(tipped) + pull[2] * sin(tipped)) / size
    return degrees(acos(max(-1.0, min(1.0, cosine))))


def support_parts(book: RateBook, draft: Draft) -> tuple[list[Part], list[str]]:
    """What holds each fixing that is not on a new post of ours, where something is known of it."""
    parts, unknown = [], []
    for point in draft.points:
        support = book.supports[key(point.held_by)]
        if support.makes and support.priced != "engineer":
            continue  # a new post: looked at as post and footing
        if support.priced == "engineer":
            unknown.append(f"{point.fixing}, {support.name}: an engineer has to say what it holds")
            parts.append(_asked_of(point, support, None, "an engineer has to say"))
            continue
        capacity, source = support_load(support)
        if capacity is None:
            unknown.append(f"{point.fixing}, {support.name}: the rate book does not say what it holds")
        parts.append(_asked_of(point, support, capacity, source))
    return parts, unknown


def _asked_of(point: Point, support: Support, capacity: float | None, source: str) -> Part:
    def look(pulls: Pulls) -> Asked:
        force = hypot(*total(pulls, (point.fixing,)))
        return Asked(force, capacity, f"pull {force / 1000:.2f} kN against {source}")

    return Part("support", support.name, f"at {point.fixing}", (point.fixing,), "N", source, look, capacity is not None)


def support_load(support: Support) -> tuple[float | None, str]:
    """What a support holds by its row [N] and where from; None where the row does not say.

    A working load wins; else the pull-out of its coach screws, along their shanks. Source: NDS equation 12.2-1.
    """
    if support.working_load is not None:
        return support.working_load, "its working load in the rate book"
    given: Sequence[float | None] = (
        support.screws, support.screw_diameter, support.thread, support.wood_gravity,
    )  # fmt: skip
    if any(value is None for value in given):
        return None, "the rate book does not say"
    count, diameter, thread, gravity = (float(value or 0) for value in given)
    each = withdrawal(gravity, diameter, support.end_grain) * thread
    words = (
        f"pull-out of {count:.0f} coach screws {diameter * 1000:g} mm, {thread * 1000:g} mm of thread in "
        f"{'end' if support.end_grain else 'side'} grain of wood {gravity:g}: {each / 1000:.2f} kN each, "
        "NDS equation 12.2-1, before its factors for load duration and moisture"
    )
    return count * each, words
