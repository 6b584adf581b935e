"""Setting out from a wall: marks, posts opposite them, and how far the edge of a hole stays from a line. SI."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import acos, ceil, cos, degrees, floor, hypot, isfinite, radians
from typing import Literal

_ON_RAFTER = 0.001  # m: a mark this near a rafter is on it
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class WallMark:
    """A fixing on the wall. to_start, to_end: its distance from both ends of the wall [m]; moved: how far it went
    outward to its rafter [m]; rafter: which one from the start of the wall, the first is 1, None: none known."""

    name: str
    to_start: float
    to_end: float
    across: float
    out: float
    height: float
    moved: float
    rafter: int | None


@dataclass(frozen=True, slots=True)
class WallPost:
    """A post opposite a mark; height and ground: levels above the site's datum [m]."""

    name: str
    opposite: str
    across: float
    out: float
    height: float
    ground: float


@dataclass(frozen=True, slots=True)
class WallSetOut:
    """marks W1, W2 from left to right, P1 opposite W1 and P2 opposite W2: W1, W2, P2, P1 go round the sail.

    each_end: spare taken at each end [m]; extra_each_corner: what moving outward adds to each corner's gap [m].
    """

    marks: tuple[WallMark, WallMark]
    posts: tuple[WallPost, WallPost]
    each_end: float
    extra_each_corner: float


@dataclass(frozen=True, slots=True)
class WallRefused:
    """Why a sail cannot be set out on a wall.

    kind: off-the-wall (a mark would leave the wall), no-rafter (no rafter outward of it), rafters-half-given (one
    of first rafter and spacing without the other), not-a-length. marks: those at fault; by: how far each of them
    lies outside the last place it could have [m]; longest: the longest side along the wall that would fit, 0 where
    none would [m].
    """

    kind: Literal["off-the-wall", "no-rafter", "rafters-half-given", "not-a-length"]
    marks: tuple[str, ...] = ()
    by: tuple[float, ...] = ()
    longest: float | None = None


@dataclass(frozen=True, slots=True)
class TwoTape:
    """A place from two marks, by level distances [m]. crossing: angle between the tapes there [degrees]; side: on
    which side of the line from first to second it lies, left or right."""

    first: str
    second: str
    first_distance: float
    second_distance: float
    crossing: float
    side: str


def set_out_wall(
    *,
    length: float,
    start_across: float,
    out: float,
    centre: float,
    fixing_height: float,
    first_rafter: float | None = None,
    rafter_spacing: float | None = None,
    side_along: float,
    side_out: float,
    spare_each_end: float,
    needed_each_end: float,
    post_height: float,
    post_ground: float,
) -> WallSetOut | WallRefused:
    """Marks on a wall along Across, and posts opposite them, for a sail of four sides with square corners.

    All m. length: of the wall; centre and first_rafter from its start; rafters from the first on, every spacing,
    to the end of the wall. Each end gets the larger of spare_each_end and needed_each_end; a mark off a rafter
    moves outward to the next. Posts stand opposite the marks as moved, out by side_out and both ends.

    >>> found = set_out_wall(length=8, start_across=0, out=0, centre=4, fixing_height=2.6, first_rafter=0.3,
    ...     rafter_spacing=0.6, side_along=4, side_out=3, spare_each_end=0.2, needed_each_end=0.25, post_height=2.2,
    ...     post_ground=0)
    >>> [(m.name, round(m.to_start, 3), round(m.moved, 3)) for m in found.marks]
    [('W1', 1.5, 0.25), ('W2', 6.3, 0.05)]
    >>> [(p.name, p.opposite, round(p.across, 3), round(p.out, 3)) for p in found.posts]
    [('P1', 'W1', 1.5, 3.5), ('P2', 'W2', 6.3, 3.5)]
    """
    lengths = [length, side_along, side_out, 1.0 if rafter_spacing is None else rafter_spacing]
    others = [centre, spare_each_end, needed_each_end, 0.0 if first_rafter is None else first_rafter]
    if not all(map(isfinite, lengths + others)) or min(lengths) <= 0 or min(others) < 0:
        return WallRefused("not-a-length")
    if (first_rafter is None) != (rafter_spacing is None):
        return WallRefused("rafters-half-given")
    end = max(spare_each_end, needed_each_end)
    wanted = (centre - side_along / 2 - end, centre + side_along / 2 + end)
    lowest, highest = _reach(length, first_rafter, rafter_spacing)
    beyond = (lowest - wanted[0], wanted[1] - highest)
    over = (-wanted[0] > _SAME, wanted[1] - length > _SAME)
    slack = _SAME if first_rafter is None else _ON_RAFTER
    short = [at for at in (0, 1) if over[at] or beyond[at] > slack]
    if short:
        longest = max(2 * (min(centre - lowest, highest - centre) - end), 0.0)
        marks_short, by = tuple(f"W{at + 1}" for at in short), tuple(beyond[at] for at in short)
        return WallRefused("off-the-wall" if any(over) else "no-rafter", marks_short, by, longest)
    left, right = (_outward(at, way, first_rafter, rafter_spacing) for at, way in zip(wanted, (-1, 1), strict=True))
    marks = tuple(
        WallMark(name, at, length - at, start_across + at, out, fixing_height, abs(at - before), rafter)
        for name, (at, rafter), before in (("W1", left, wanted[0]), ("W2", right, wanted[1]))
    )
    post_out = out + end + side_out + end
    posts = tuple(
        WallPost(name, mark.name, mark.across, post_out, post_height, post_ground)
        for name, mark in (("P1", marks[0]), ("P2", marks[1]))
    )
    extra = extra_gap(end, marks[0].moved, marks[1].moved)
    return WallSetOut((marks[0], marks[1]), (posts[0], posts[1]), end, extra)


def extra_gap(each_end: float, moved_left: float, moved_right: float) -> float:
    """What two marks moved outward add to the gap of every corner [m].

    each_end: gap along and out of each corner before the move [m]; the sail hangs midway between the marks, so
    that each of its corners takes half of both moves.

    >>> round(extra_gap(0.25, 0.3, 0.1), 4)
    0.1612
    """
    return hypot(each_end + (moved_left + moved_right) / 2, each_end) - hypot(each_end, each_end)


def two_tape(marks: Sequence[tuple[str, float, float]], target: tuple[float, float]) -> TwoTape | None:
    """Distances to a place from the two marks whose tapes cross nearest to a right angle.

    marks: name, across, out of each known mark [m]; target: across, out [m]. Level distances. None where no two
    marks can fix it (fewer than two, or all in one line with it).

    >>> found = two_tape([("W1", 0, 0), ("W2", 3, 0), ("W3", 9, 0)], (3, 4))
    >>> found.first, found.second, round(found.second_distance, 3), round(found.crossing, 1), found.side
    ('W1', 'W3', 7.211, 93.2, 'left')
    """
    found = min(_tapes(marks, target), key=lambda tapes: round(abs(tapes.crossing - 90), 6), default=None)
    return found if found and 0.1 < found.crossing < 179.9 else None


def hole_edge_clearance(
    fixing_to_line: float, hole_diameter: float, displacement: float, angle: float | None = None
) -> float:
    """Distance from the edge of a hole to a boundary or service [m]; negative: the hole crosses it.

    fixing_to_line: from the fixing, in plan [m]; displacement: of the hole's centre from the fixing, in plan [m];
    angle: between the displacement and the shortest way to the line [degrees], 0 straight toward it, 180 straight
    away; None: not known, taken as straight toward it.

    >>> round(hole_edge_clearance(1.0, 0.4, 0.3), 3), round(hole_edge_clearance(1.0, 0.4, 0.3, angle=180), 3)
    (0.5, 1.1)
    """
    toward = 1.0 if angle is None else cos(radians(angle))
    return fixing_to_line - displacement * toward - hole_diameter / 2


def _reach(length: float, first: float | None, spacing: float | None) -> tuple[float, float]:
    """The least and the greatest place a mark may take, from the start of the wall [m]."""
    if first is None or spacing is None:
        return 0.0, length
    return first, first + floor((length - first) / spacing + _SAME) * spacing


def _outward(at: float, way: int, first: float | None, spacing: float | None) -> tuple[float, int | None]:
    """A place moved outward (way -1: to the start, 1: to the end) to a rafter, and which rafter that is."""
    if first is None or spacing is None:
        return at, None
    nearest = round((at - first) / spacing)
    if abs(first + nearest * spacing - at) <= _ON_RAFTER:
        return at, nearest + 1
    step = floor((at - first) / spacing) if way < 0 else ceil((at - first) / spacing)
    return first + step * spacing, step + 1


def _tapes(marks: Sequence[tuple[str, float, float]], target: tuple[float, float]) -> Iterator[TwoTape]:
    for (first, x1, y1), (second, x2, y2) in combinations(marks, 2):
        ax, ay, bx, by = x1 - target[0], y1 - target[1], x2 - target[0], y2 - target[1]
        one, two = hypot(ax, ay), hypot(bx, by)
        if min(one, two) > _SAME:
            crossing = degrees(acos(max(-1.0, min(1.0, (ax * bx + ay * by) / (one * two)))))
            # seen from the target, the marks go round left-handed where it lies left of the line between them
            yield TwoTape(first, second, one, two, crossing, "left" if ax * by - ay * bx > 0 else "right")
