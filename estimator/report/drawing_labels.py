"""Where labels go: each tries its places in turn and takes the one that hides least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan2, ceil, cos, degrees, hypot, radians, sin

from estimator.report.drawing_paper import FINE, PLAIN, SOFT, Box, Pair, Paper, text_size

HIDES_LABEL, HIDES_LINE, OFF_PAGE = 40.0, 0.6, 400.0
MARGIN = 0.5  # mm of air round a label
NEAR, FAR = 5.0, (0.0, 2.0, 4.5, 8.0, 12.0, 17.0)


@dataclass(frozen=True, slots=True)
class Words:
    """One line of a label."""

    text: str
    size: float = PLAIN
    bold: bool = False
    ink: str = "0.0"


@dataclass(frozen=True, slots=True)
class Place:
    """A place a label may take: its middle [mm], its turn [degrees] and what it costs to be there."""

    x: float
    y: float
    angle: float = 0.0
    cost: float = 0.0


def at_point(paper: Paper, at: Pair, lines: Sequence[Words], clear: float, away: Pair = (0.0, 0.0)) -> None:
    """A label beside a point. clear: mm to keep free round the point; away: the side it belongs on, (0, 0): any."""
    wide, high = _size(lines)
    places = []
    for step in FAR:
        for turn in range(0, 360, 30):
            ux, uy = cos(radians(turn)), sin(radians(turn))
            reach = clear + step
            x = at[0] + ux * reach + (ux if abs(ux) > 0.3 else ux * 0.4) * wide / 2
            y = at[1] + uy * reach + uy * high / 2
            against = 1 - (ux * away[0] + uy * away[1]) / (hypot(*away) or 1.0) if any(away) else 0.0
            places.append(Place(x, y, 0.0, step * 0.7 + against * 2.5))
    best = _best(paper, places, wide, high)
    if hypot(best.x - at[0], best.y - at[1]) > clear + NEAR + hypot(wide, high) / 2:
        paper.line([at, _edge(best, wide, high, at)], FINE, SOFT, kept=False)
    _write(paper, best, lines)


def along_line(paper: Paper, a: Pair, b: Pair, words: Words, off: float = 2.0, side: Pair | None = None) -> None:
    """A label along a line. off: mm from the line; side: a direction that says on which side it belongs."""
    long = hypot(b[0] - a[0], b[1] - a[1])
    if long < 1e-6:
        return
    ux, uy = (b[0] - a[0]) / long, (b[1] - a[1]) / long
    angle = (degrees(atan2(uy, ux)) + 90.001) % 180 - 90.001
    wide, high = text_size(words.text, words.size, words.bold)
    places = []
    for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82):
        for way in (1.0, -1.0):
            for more in (0.0, 2.5):
                nx, ny = -uy * way, ux * way
                wrong = side is not None and nx * side[0] + ny * side[1] < 0
                x = a[0] + ux * long * share + nx * (off + more)
                y = a[1] + uy * long * share + ny * (off + more)
                places.append(Place(x, y, angle, abs(share - 0.5) * 8 + more + (12.0 if wrong else 0.0)))
    _write(paper, _best(paper, places, wide, high), [words])


def down_a_ladder(wanted: Sequence[float], step: float, low: float, high: float) -> list[float]:
    """Heights as near as possible to the wanted ones, in their order from low to high, at least a step apart.

    >>> [round(y, 2) for y in down_a_ladder([0.0, 1.0, 9.0], 3, 0.0, 20.0)]
    [0.0, 3.0, 9.0]
    >>> [round(y, 2) for y in down_a_ladder([19.0, 19.5], 3, 0.0, 20.0)]
    [17.0, 20.0]
    """
    found = [max(y, low) for y in wanted]
    for n in range(1, len(found)):
        found[n] = max(found[n], found[n - 1] + step)
    top = high
    for n in reversed(range(len(found))):
        found[n] = min(found[n], top)
        top = found[n] - step
    return found


def _size(lines: Sequence[Words]) -> Pair:
    sizes = [text_size(n.text, n.size, n.bold) for n in lines]
    return max(s[0] for s in sizes), sum(s[1] for s in sizes)


def _best(paper: Paper, places: Sequence[Place], wide: float, high: float) -> Place:
    import numpy as np

    boxes = np.array(paper.boxes or [(1e9, 1e9, 1e9, 1e9)])
    dots = np.array(paper.dots or [(1e9, 1e9)])

    def hides(place: Place) -> float:
        mine = np.array(_squares(place, wide + MARGIN, high + MARGIN))
        left, low, right, top = (mine[:, n, None] for n in range(4))
        across = np.minimum(right, boxes[:, 2]) - np.maximum(left, boxes[:, 0])
        up = np.minimum(top, boxes[:, 3]) - np.maximum(low, boxes[:, 1])
        shared = np.clip(across, 0, None) * np.clip(up, 0, None)
        inside = (dots[:, 0] > left) & (dots[:, 0] < right) & (dots[:, 1] > low) & (dots[:, 1] < top)
        off = float(max(-left.min(), right.max() - paper.width, -low.min(), top.max() - paper.high, 0.0))
        touches = 6.0 if shared.any() else 0.0
        hidden = HIDES_LABEL * float(shared.sum()) / (high * high) + HIDES_LINE * float(inside.sum())
        return place.cost + touches + hidden + OFF_PAGE * off

    return min(places, key=lambda place: round(hides(place), 6))


def _squares(place: Place, wide: float, high: float) -> list[Box]:
    """Upright boxes that together cover a turned label."""
    if not place.angle:
        return [(place.x - wide / 2, place.y - high / 2, place.x + wide / 2, place.y + high / 2)]
    count = max(ceil(wide / high * 1.5), 1)
    ux, uy = cos(radians(place.angle)), sin(radians(place.angle))
    span = max(wide - high, 0.0)
    middles = [((n / (count - 1) - 0.5) if count > 1 else 0.0) * span for n in range(count)]
    half = high / 2
    return [
        (place.x + m * ux - half, place.y + m * uy - half, place.x + m * ux + half, place.y + m * uy + half)
        for m in middles
    ]


def _edge(place: Place, wide: float, high: float, at: Pair) -> Pair:
    """Where a leader from a point meets the label."""
    x = min(max(at[0], place.x - wide / 2 - 0.4), place.x + wide / 2 + 0.4)
    y = min(max(at[1], place.y - high / 2), place.y + high / 2)
    return x, y


def _write(paper: Paper, place: Place, lines: Sequence[Words]) -> None:
    wide, high = _size(lines)
    y = place.y + high / 2
    for n in lines:
        tall = text_size(n.text, n.size, n.bold)[1]
        middle = (place.x, y - tall / 2)
        paper.text(middle, n.text, n.size, bold=n.bold, ink=n.ink, angle=place.angle, kept=False)
        y -= tall
    paper.boxes += _squares(place, wide, high)
