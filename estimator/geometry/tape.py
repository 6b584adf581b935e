"""Points from taped distances: least squares over all lines, with what they prove and what they do not."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import TYPE_CHECKING

from estimator.geometry.tape_checks import (
    Taped,
    area_span,
    class_limit,
    corner_angle,
    length_faults,
    line_std,
    naming_faults,
    plan_length,
    reduce_to_plan,
    tie_faults,
)
from estimator.geometry.tape_model import (
    Adjusted,
    AdjustedLine,
    AdjustedPoint,
    Closure,
    Fault,
    OtherPlace,
    Refused,
    Suspect,
    TapeClass,
    TapedLine,
    TapedPoint,
    Verdict,
)

if TYPE_CHECKING:
    from estimator.geometry.tape_frame import Figure

__all__ = [
    "Adjusted",
    "AdjustedLine",
    "AdjustedPoint",
    "Closure",
    "Fault",
    "OtherPlace",
    "Refused",
    "Suspect",
    "TapedLine",
    "TapedPoint",
    "adjust",
    "area_span",
    "class_limit",
    "corner_angle",
    "line_std",
    "plan_length",
]


def adjust(
    points: Sequence[TapedPoint],
    lines: Sequence[TapedLine],
    tape_class: TapeClass = "II",
    tape_error: float = 0.003,
) -> Adjusted | Refused:
    """Coordinates of points from the lines taped between them, or the faults that forbid any.

    tape_error: standard deviation of reading, sag and hold of the tape [m].
    Least squares over all lines, each weighted by its own standard deviation, straight ones in space with the
    two heights taken as exact. Axes: coordinates that are given are held. With none given the first point is the
    origin and the second lies along Across; with one, that point keeps its place and the direction is the same;
    with two or more they are the frame. The first further point clearly beside the line of the first two is taken
    on its Out side. Names are compared without case and outer space.

    >>> found = adjust([TapedPoint(n, 2.5) for n in "ABC"],
    ...     [TapedLine("A", "B", 4.0), TapedLine("B", "C", 3.0), TapedLine("C", "A", 5.0)])
    >>> [(p.name, round(p.across, 3), round(p.out, 3)) for p in found.points], found.unchecked
    ([('A', 0.0, 0.0), ('B', 4.0, 0.0), ('C', 4.0, 3.0)], True)
    >>> found.mirror
    'Seen from A to B: C left.'
    """
    if faults := naming_faults(points, lines):
        return Refused(tuple(faults))
    taped = reduce_to_plan(points, lines, tape_class, tape_error)
    if faults := tie_faults(taped) + length_faults(taped):
        return Refused(tuple(faults))
    if not points:
        return Adjusted((), (), 0, 0.0, 0.0, "unchecked", None, (), "", None, ())
    # numpy stays off the start-up path of commands that tape nothing
    from estimator.geometry.tape_frame import choose, figures, mirror_words
    from estimator.geometry.tape_slip import find_slip, misclosure_limit
    from estimator.geometry.tape_solve import missing_pairs, network

    net = network(taped)
    if missing := missing_pairs(net):
        return Refused((_flexes(taped, missing),))
    found = figures(taped)
    figure, other_places = choose(taped, found)
    adjusted = _lines(taped, figure)
    spare = len(lines) - net.unknowns
    limit = misclosure_limit(spare)
    told: tuple[Verdict, Suspect | None, tuple[Suspect, ...]] = ("closes" if spare else "unchecked", None, ())
    if spare and figure.misfit > limit:
        told = find_slip(taped, adjusted, [(figure.xy, figure.misfit), *found], spare)
    return Adjusted(
        _points(taped, figure),
        adjusted,
        spare,
        figure.misfit,
        limit,
        *told,
        mirror_words(taped, figure),
        _closure(taped, figure),
        tuple(other_places),
    )


def _points(taped: Taped, figure: Figure) -> tuple[AdjustedPoint, ...]:
    rows = zip(taped.points, figure.xy.tolist(), figure.std.tolist(), strict=True)
    return tuple(AdjustedPoint(p.name, x, y, p.height, sx, sy, p.across is not None) for p, (x, y), (sx, sy) in rows)


def _lines(taped: Taped, figure: Figure) -> tuple[AdjustedLine, ...]:
    from estimator.geometry.tape_solve import computed, network, redundancies

    if not taped.lines:
        return ()
    net = network(taped)
    residuals = (computed(net, figure.xy) - net.taped).tolist()
    rows = zip(taped.lines, residuals, taped.stds, redundancies(net, figure.xy).tolist(), strict=True)
    return tuple(
        AdjustedLine(
            line.start,
            line.end,
            line.length,
            line.level,
            off,
            std,
            share,
            off / std / sqrt(share) if share > 1e-6 else 0.0,
        )
        for line, off, std, share in rows
    )


def _flexes(taped: Taped, missing: list[tuple[int, int]]) -> Fault:
    """The figure has no one shape; of four sides in a ring also the areas they allow."""
    names = [point.name for point in taped.points]
    pairs = tuple((names[i], names[j]) for i, j in missing)
    ring = _ring(taped)
    if ring:
        span = area_span(*(taped.plans[at] for at in ring))
        if span is None:
            longest = max(ring, key=lambda at: taped.plans[at])
            over = 2 * taped.plans[longest] - sum(taped.plans[at] for at in ring)
            others = [at for at in ring if at != longest]
            return Fault("too-long", tuple(names[p] for p in taped.pairs[longest]), (longest, *others), over)
        return Fault("flexes", tuple(names), tuple(ring), tape=pairs, least=span[0], greatest=span[1])
    loose = dict.fromkeys(name for pair in pairs for name in pair)
    return Fault("flexes", tuple(loose), tape=pairs)


def _ring(taped: Taped) -> list[int]:
    """The lines in order round four points that they join in a ring, from the first point; else empty."""
    if len(taped.points) != 4 or len(taped.lines) != 4 or len(set(taped.pairs)) != 4:
        return []
    ring: list[int] = []
    at = 0
    while len(ring) < 4:
        onward = [n for n, pair in enumerate(taped.pairs) if at in pair and n not in ring]
        if not onward:
            return []
        ring.append(onward[0])
        at = sum(taped.pairs[onward[0]]) - at
    return ring if at == 0 else []


def _closure(taped: Taped, figure: Figure) -> Closure | None:
    """What four sides and one diagonal make of the other; None unless four points are taped all six ways once."""
    from estimator.geometry.tape_frame import crossing_pairs
    from estimator.geometry.tape_solve import computed, network, settle

    if len(taped.points) != 4 or len(taped.lines) != 6 or len(set(taped.pairs)) != 6 or len(taped.held) > 1:
        return None
    diagonals = crossing_pairs(figure)
    if diagonals is None:
        return None
    line = taped.pairs.index(diagonals[1])
    xy, _ = settle(network(taped.without(line)), figure.xy)
    gap = float(computed(network(taped), xy)[line]) - taped.lines[line].length
    (a, c), (b, d) = (tuple(taped.points[at].name for at in pair) for pair in diagonals)
    return Closure((a, c), (b, d), gap)
