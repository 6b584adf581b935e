"""What a tape is good for, and what is wrong with taped lines before any adjustment. Lengths m, areas m2."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import acos, ceil, degrees, hypot, isfinite, sqrt

from estimator.core.names import key
from estimator.geometry.tape_model import Fault, TapeClass, TapedLine, TapedPoint

# a and b of the limit a + b L in mm, L the length in metres rounded up to a whole metre
_CLASSES: Mapping[TapeClass, tuple[float, float]] = {"I": (0.1, 0.1), "II": (0.3, 0.2), "III": (0.6, 0.4)}

Pair = tuple[int, int]


def class_limit(length: float, tape_class: TapeClass = "II") -> float:
    """Largest error a tape of its class may have over a length [m]; KeyError for an unknown class.

    length: m, > 0, read from a hook or a zero mark (an end-face zero adds its own).
    Source: UK SI 2016/1153 Schedule 1I (the same as annex MI-008 of directive 2014/32/EU): a + b L.

    >>> class_limit(7.2), class_limit(10, "I"), class_limit(3, "III")
    (0.0019, 0.0011, 0.0018)
    """
    fixed, per_metre = _CLASSES[tape_class]
    return round(fixed + per_metre * ceil(round(length, 6)), 6) / 1000


def line_std(length: float, tape_class: TapeClass = "II", tape_error: float = 0.0) -> float:
    """Standard deviation of a taped line [m]: the class limit as a uniform error, and the reading.

    tape_error: standard deviation of reading, sag and hold [m]. A uniform error within +/- a has a / root 3.

    >>> round(line_std(7.2, tape_error=0.003), 6)
    0.003194
    """
    return hypot(class_limit(length, tape_class) / sqrt(3), tape_error)


def plan_length(length: float, rise: float) -> float:
    """Plan length of a straight line between two heights [m]; 0 where the rise takes it all.

    >>> plan_length(5.0, -3.0)
    4.0
    """
    return sqrt(max(length**2 - rise**2, 0.0))


def corner_angle(first: float, second: float, opposite: float) -> float:
    """Angle between two sides of a triangle from its three sides [degrees], by the cosine rule.

    >>> round(corner_angle(5.8, 4.9, 7.593), 2)
    90.0
    """
    cosine = (first**2 + second**2 - opposite**2) / (2 * first * second)
    return degrees(acos(min(1.0, max(-1.0, cosine))))


def triangle_area(a: float, b: float, c: float) -> float:
    """Area of a triangle from its three sides [m2] (Heron); 0 where they do not close.

    >>> triangle_area(3, 4, 5)
    6.0
    """
    s = (a + b + c) / 2
    return sqrt(max(s * (s - a) * (s - b) * (s - c), 0.0))


def area_span(a: float, b: float, c: float, d: float) -> tuple[float, float] | None:
    """Least and greatest area of a quadrilateral with four given sides in order [m2]; None if they do not close.

    Over every length of the diagonal from the first corner, its triangles on either side of it (a corner bent
    in over that diagonal can be smaller still). Greatest: all corners on one circle (Brahmagupta); the area
    has no other turning point, so the least is at the shortest or the longest diagonal.

    >>> [round(area) for area in area_span(50, 64, 30, 67 + 11 / 12)]
    [947, 2605]
    """
    shortest, longest = max(abs(a - b), abs(c - d)), min(a + b, c + d)
    if shortest > longest:
        return None
    s = (a + b + c + d) / 2
    greatest = sqrt(max((s - a) * (s - b) * (s - c) * (s - d), 0.0))
    return min(triangle_area(a, b, p) + triangle_area(c, d, p) for p in (shortest, longest)), greatest


@dataclass(frozen=True, slots=True)
class Taped:
    """Lines reduced to plan. pairs: places of their two points, the lesser first; stds: of the taped length;
    plans and plan_stds: the same in plan; held: place, across, out of each point whose coordinates are given."""

    points: tuple[TapedPoint, ...]
    lines: tuple[TapedLine, ...]
    pairs: tuple[Pair, ...]
    stds: tuple[float, ...]
    plans: tuple[float, ...]
    plan_stds: tuple[float, ...]
    held: tuple[tuple[int, float, float], ...]

    def rise(self, line: int) -> float:
        """Difference of height that a straight line overcomes [m]; 0 for a level one."""
        first, second = self.pairs[line]
        return 0.0 if self.lines[line].level else abs(self.points[first].height - self.points[second].height)

    def without(self, line: int) -> Taped:
        """The same without one of its lines."""
        left = [at for at in range(len(self.lines)) if at != line]
        kept = {
            name: tuple(getattr(self, name)[at] for at in left)
            for name in ("lines", "pairs", "stds", "plans", "plan_stds")
        }
        return replace(self, **kept)


def reduce_to_plan(
    points: Sequence[TapedPoint], lines: Sequence[TapedLine], tape_class: TapeClass, tape_error: float
) -> Taped:
    """Every line with its standard deviation, and in plan. Names must be known."""
    place = {key(p.name): at for at, p in enumerate(points)}
    pairs, stds, plans, plan_stds = [], [], [], []
    for line in lines:
        i, j = sorted((place[key(line.start)], place[key(line.end)]))
        std = line_std(line.length, tape_class, tape_error)
        plan = line.length if line.level else plan_length(line.length, points[i].height - points[j].height)
        pairs.append((i, j))
        stds.append(std)
        plans.append(plan)
        # the growth of the plan length with one std of the line; std x length / plan would be endless on a steep one
        plan_stds.append(std if line.level else sqrt(plan**2 + 2 * line.length * std) - plan)
    held = tuple((at, p.across, p.out) for at, p in enumerate(points) if p.across is not None and p.out is not None)
    return Taped(tuple(points), tuple(lines), tuple(pairs), tuple(stds), tuple(plans), tuple(plan_stds), held)


def naming_faults(points: Sequence[TapedPoint], lines: Sequence[TapedLine]) -> list[Fault]:
    """Names and numbers that cannot be used at all."""
    faults: list[Fault] = []
    keys = [key(p.name) for p in points]
    for at, point in enumerate(points):
        if keys[at] in keys[:at]:
            faults.append(Fault("named-twice", (point.name,)))
        if (point.across is None) != (point.out is None):
            faults.append(Fault("half-given", (point.name,)))
    for at, line in enumerate(lines):
        for name in (line.start, line.end):
            if key(name) not in keys:
                faults.append(Fault("unknown-name", (name,), (at,)))
        if key(line.start) == key(line.end):
            faults.append(Fault("same-point", (line.start,), (at,)))
        if not (isfinite(line.length) and line.length > 0):
            faults.append(Fault("not-a-length", (line.start, line.end), (at,)))
    return faults


def tie_faults(taped: Taped) -> list[Fault]:
    """Points that too few lines hold, and groups that no line joins.

    Two held points or more stand for a frame that is there already: a held point then needs no line.
    """
    points = taped.points
    frame = {at for at, _, _ in taped.held} if len(taped.held) > 1 else set()
    beside: dict[int, set[int]] = {at: set() for at in range(len(points))}
    for i, j in taped.pairs:
        beside[i].add(j)
        beside[j].add(i)
    enough = min(2, len(points) - 1)
    loose = [at for at in beside if at not in frame and len(beside[at]) < enough]
    groups = list(_groups(beside, frame))
    big = [group for group in groups if len(group) > 1 or group & frame]
    faults = [Fault("loose-point", (points[at].name,)) for at in loose]
    if len(big) > 1:
        faults.append(Fault("apart", tuple(points[min(group - frame or group)].name for group in big)))
    return faults


def _groups(beside: Mapping[int, set[int]], frame: set[int]) -> Iterator[set[int]]:
    left = set(beside)
    while left:
        group, todo = set(), {min(left)}
        while todo:
            at = todo.pop()
            group.add(at)
            todo |= beside[at] - group
            if at in frame:
                todo |= frame - group
        left -= group
        yield group


def length_faults(taped: Taped) -> list[Fault]:
    """Lengths that cannot all be: too steep, repeats that differ, a side longer than the two others.

    Each is let pass within three standard deviations: three points in one row never add up to the millimetre.
    """
    faults = []
    for at, (line, (i, j)) in enumerate(zip(taped.lines, taped.pairs, strict=True)):
        rise = abs(taped.points[i].height - taped.points[j].height)
        if not line.level and rise - line.length > 3 * taped.stds[at]:
            faults.append(Fault("too-steep", (line.start, line.end), (at,), rise - line.length))
    for p, q in combinations(range(len(taped.lines)), 2):
        differ = abs(taped.plans[p] - taped.plans[q])
        if taped.pairs[p] == taped.pairs[q] and differ > 3 * hypot(taped.plan_stds[p], taped.plan_stds[q]):
            faults.append(Fault("repeats-disagree", (taped.lines[p].start, taped.lines[p].end), (p, q), differ))
    return faults or list(_triangle_faults(taped))


def _triangle_faults(taped: Taped) -> Iterator[Fault]:
    sides: dict[Pair, tuple[float, float, tuple[int, ...]]] = {}
    for at, pair in enumerate(taped.pairs):
        sides.setdefault(pair, (taped.plans[at], taped.plan_stds[at], (at,)))
    for (i, ax, ay), (j, bx, by) in combinations(taped.held, 2):
        sides[i, j] = (hypot(ax - bx, ay - by), 0.0, ())
    for corners in combinations(range(len(taped.points)), 3):
        if all(pair in sides for pair in combinations(corners, 2)):
            *others, longest = sorted(combinations(corners, 2), key=lambda pair: sides[pair][0])
            too_long = sides[longest][0] - sum(sides[pair][0] for pair in others)
            if too_long > 3 * hypot(*(sides[pair][1] for pair in (longest, *others))):
                third = next(at for at in corners if at not in longest)
                lines = sides[longest][2] + sides[others[0]][2] + sides[others[1]][2]
                yield Fault("too-long", tuple(taped.points[at].name for at in (*longest, third)), lines, too_long)
