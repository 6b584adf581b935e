"""What there is to draw of an option, in the axes of the site [m], before anybody thinks of paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import cos, dist, hypot, radians, sin, tan

from estimator.core.names import key
from estimator.geometry.edges import edge_radius, half_angle
from estimator.pricing.model import PricedJob, PricedOption
from estimator.takeoff.model import Footing, Point, Post, SailTaken

Pair = tuple[float, float]
Spot3 = tuple[float, float, float]
SAME = 0.02  # m: fixings this near in plan share one label
BESIDE = 0.8  # m of wall drawn past what hangs on it
STEPS = 16  # chords of a hollow edge


@dataclass(frozen=True, slots=True)
class Spot:
    """Fixings at one place in plan. kind: house, post, tree, other; names and heights go together."""

    across: float
    out: float
    names: tuple[str, ...]
    heights: tuple[float, ...]
    ground: float
    held_by: str
    kind: str


@dataclass(frozen=True, slots=True)
class Edge:
    """One side of a sail: straight from corner to corner, and hollow."""

    start: Spot3
    end: Spot3
    length: float
    hollow: tuple[Spot3, ...]


@dataclass(frozen=True, slots=True)
class Cloth:
    """A sail: edges in order, and a link from each fixing to its corner."""

    name: str
    edges: tuple[Edge, ...]
    links: tuple[tuple[Spot3, Spot3], ...]

    @property
    def outline(self) -> list[Spot3]:
        """The hollow outline all round."""
        return [p for e in self.edges for p in e.hollow[:-1]]

    @property
    def middle(self) -> Spot3:
        """The mean of the corners."""
        return mean([e.start for e in self.edges])


@dataclass(frozen=True, slots=True)
class House:
    """A line of a wall or eaves in plan. behind: unit vector to the side where the building is; ends: whether the
    wall truly ends there, or is only drawn that far; marks, rafters: distances from the start."""

    start: Pair
    end: Pair
    behind: Pair
    ends: tuple[bool, bool]
    name: str = ""
    marks: tuple[tuple[str, float, float], ...] = ()  # name, from the start, from the end of the wall
    rafters: tuple[Pair, ...] = ()


@dataclass(frozen=True, slots=True)
class Scene:
    """All of it. spans: pairs of fixings round the sails and across them, with the level distance."""

    spots: tuple[Spot, ...]
    cloths: tuple[Cloth, ...]
    posts: tuple[Post, ...]
    footings: tuple[Footing, ...]
    houses: tuple[House, ...]
    sides: tuple[tuple[Spot, Spot], ...]
    diagonals: tuple[tuple[Spot, Spot], ...]
    low: Pair
    high: Pair
    bottom: float
    top: float


def mean(points: Sequence[Spot3]) -> Spot3:
    """The mean of some points."""
    return tuple(sum(p[n] for p in points) / len(points) for n in range(3))  # type: ignore[return-value]


def scene_of(priced: PricedJob, option: PricedOption) -> Scene:
    """Everything to draw of an option that has points."""
    taken = option.taken
    spots = _spots(priced, taken.points)
    by_name = {key(n): s for s in spots for n in s.names}
    cloths = tuple(_cloth(priced, option, s) for s in taken.sails)
    sides, diagonals = _spans(taken.sails, by_name)
    xs = (
        [s.across for s in spots] + [e.start[0] for c in cloths for e in c.edges] + [p.foot_across for p in taken.posts]
    )
    ys = [s.out for s in spots] + [e.start[1] for c in cloths for e in c.edges] + [p.foot_out for p in taken.posts]
    for f in taken.footings:
        xs += [f.hole_across - f.diameter / 2, f.hole_across + f.diameter / 2]
        ys += [f.hole_out - f.diameter / 2, f.hole_out + f.diameter / 2]
    houses = tuple(_houses(priced, option, spots, (min(xs), max(xs))))
    ends = [p for h in houses for p in (h.start, h.end)]
    xs, ys = xs + [p[0] for p in ends], ys + [p[1] for p in ends]
    grounds = {p.post_name: ground_at(spots, p) for p in taken.posts}
    bottom = min([s.ground for s in spots] + [grounds.get(f.post_name, 0.0) - f.hole_depth for f in taken.footings])
    top = max([h for s in spots for h in s.heights] + [head_of(p, grounds[p.post_name])[2] for p in taken.posts])
    return Scene(
        spots, cloths, taken.posts, taken.footings, houses, sides, diagonals,
        (min(xs), min(ys)), (max(xs), max(ys)), bottom, top,
    )  # fmt: skip


def ground_at(spots: Sequence[Spot], post: Post) -> float:
    """Level of the ground at a post."""
    names = {key(n) for n in post.fixings}
    return next((s.ground for s in spots if names & {key(n) for n in s.names}), 0.0)


def head_of(post: Post, ground: float) -> Spot3:
    """The top of a post: it leans away from the sail."""
    lean = radians(post.lean)
    aside = post.above_ground * sin(lean)
    x, y = post.foot_across - post.toward[0] * aside, post.foot_out - post.toward[1] * aside
    return x, y, ground + post.above_ground * cos(lean)


def below(post: Post, ground: float, depth: float) -> Spot3:
    """The axis of a post at a depth below ground."""
    aside = depth * tan(radians(post.lean))
    return post.foot_across + post.toward[0] * aside, post.foot_out + post.toward[1] * aside, ground - depth


def hollow_edge(start: Spot3, end: Spot3, middle: Spot3, hollow: float) -> tuple[Spot3, ...]:
    """Points of a hollow edge, from start to end: an arc toward the middle of the sail, dip = hollow x side.

    >>> [round(x, 3) for x in hollow_edge((0, 0, 0), (4, 0, 0), (2, 5, 0), 0.1)[8]]
    [2.0, 0.4, 0.0]
    """
    chord = dist(start, end)
    if hollow <= 0 or chord == 0:
        return start, end
    along = [(b - a) / chord for a, b in zip(start, end, strict=True)]
    inward = [m - a for a, m in zip(start, middle, strict=True)]
    share = sum(i * u for i, u in zip(inward, along, strict=True))
    inward = [i - share * u for i, u in zip(inward, along, strict=True)]
    long = hypot(*inward)
    if long == 0:
        return start, end
    dip = hollow * chord
    radius, half = edge_radius(chord, dip), half_angle(chord, dip)
    found = []
    for n in range(STEPS + 1):
        turn = half * (2 * n / STEPS - 1)
        go, off = chord / 2 + radius * sin(turn), radius * cos(turn) - (radius - dip)
        found.append(tuple(a + u * go + i / long * off for a, u, i in zip(start, along, inward, strict=True)))
    return tuple(found)  # type: ignore[arg-type]


def _spots(priced: PricedJob, points: Sequence[Point]) -> tuple[Spot, ...]:
    found: list[list[Point]] = []
    for p in points:
        near = (g for g in found if hypot(g[0].across - p.across, g[0].out - p.out) < SAME)
        group = next(near, None)
        if group is None:
            found.append([p])
        else:
            group.append(p)
    return tuple(
        Spot(
            g[0].across, g[0].out, tuple(p.fixing for p in g), tuple(p.height for p in g), g[0].ground, g[0].held_by,
            _kind(priced, g[0]),
        )
        for g in found
    )  # fmt: skip


def _kind(priced: PricedJob, point: Point) -> str:
    support = priced.book.supports.get(key(point.held_by))
    if support and support.house:
        return "house"
    if support and support.makes:
        return "post"
    return "tree" if "tree" in key(point.held_by) else "other"


def _cloth(priced: PricedJob, option: PricedOption, sail: SailTaken) -> Cloth:
    cloth = priced.book.cloths.get(key(sail.cloth))
    hollow = cloth.edge_hollow if cloth else 0.0
    middle, count = mean(sail.corners), len(sail.corners)
    edges = []
    for n in range(count):
        a, b = sail.corners[n], sail.corners[(n + 1) % count]
        length = sail.sides[n] if n < len(sail.sides) else dist(a, b)
        edges.append(Edge(a, b, length, hollow_edge(a, b, middle, hollow)))
    at = {key(p.fixing): (p.across, p.out, p.height) for p in option.taken.points}
    pairs = zip(sail.fixings, sail.corners, strict=False)
    links = tuple((at[key(f)], corner) for f, corner in pairs if key(f) in at)
    return Cloth(sail.sail, tuple(edges), links)


def _spans(
    sails: Sequence[SailTaken], by_name: dict[str, Spot]
) -> tuple[tuple[tuple[Spot, Spot], ...], tuple[tuple[Spot, Spot], ...]]:
    """Sides and diagonals between fixings, each once; past five corners only the diagonals from the first."""
    sides: dict[frozenset[Spot], tuple[Spot, Spot]] = {}
    across: dict[frozenset[Spot], tuple[Spot, Spot]] = {}
    for sail in sails:
        ring = [by_name[key(f)] for f in sail.fixings if key(f) in by_name]
        pairs = [(ring[n], ring[(n + 1) % len(ring)]) for n in range(len(ring))]
        sides |= {frozenset(p): p for p in pairs if p[0] != p[1]}
        others = [p for p in combinations(ring, 2) if len(ring) <= 5 or p[0] == ring[0]]
        across |= {frozenset(p): p for p in others if p[0] != p[1]}
    return tuple(sides.values()), tuple(p for k, p in across.items() if k not in sides)


def _houses(priced: PricedJob, option: PricedOption, spots: Sequence[Spot], reach: Pair) -> list[House]:
    middle = mean([(s.across, s.out, 0.0) for s in spots])
    found = []
    marked: set[str] = set()
    for wall in option.taken.marks:
        left, right = wall.start_across, wall.start_across + wall.length
        a, b = max(left, reach[0] - BESIDE), min(right, reach[1] + BESIDE)
        rafters = []
        if wall.first_rafter is not None and wall.rafter_spacing:
            count = int((wall.length - wall.first_rafter) / wall.rafter_spacing + 1e-6) + 1
            places = [left + wall.first_rafter + n * wall.rafter_spacing for n in range(count)]
            rafters = [(x, wall.out) for x in places if a <= x <= b]
        behind = (0.0, -1.0 if middle[1] >= wall.out else 1.0)
        marks = tuple((name, start, end) for name, start, end, _ in wall.marks)
        ends = (a <= left, b >= right)
        found.append(House((a, wall.out), (b, wall.out), behind, ends, wall.wall, marks, tuple(rafters)))
        marked |= {key(m[0]) for m in marks}
    rest = [s for s in spots if s.kind == "house" and not marked & {key(n) for n in s.names}]
    for level in dict.fromkeys(round(s.out, 2) for s in rest):
        mine = [s for s in rest if abs(s.out - level) < 0.011]
        upright = [s for s in rest if len(mine) == 1 and abs(s.across - mine[0].across) < 0.011]
        if len(upright) > 1:
            if mine[0] is upright[0]:
                ys = [s.out for s in upright]
                behind = (-1.0 if middle[0] >= mine[0].across else 1.0, 0.0)
                x, low, high = mine[0].across, min(ys) - BESIDE / 2, max(ys) + BESIDE / 2
                found.append(House((x, low), (x, high), behind, (False, False)))
            continue
        xs, out = [s.across for s in mine], mine[0].out
        behind = (0.0, -1.0 if middle[1] >= out else 1.0)
        found.append(House((min(xs) - BESIDE / 2, out), (max(xs) + BESIDE / 2, out), behind, (False, False)))
    return found
