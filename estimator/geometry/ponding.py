"""Where rain would stand on a sail: the deepest pool that a surface of triangles holds before it runs over an edge."""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heapify, heappop, heappush

import numpy as np
from numpy.typing import NDArray

from estimator.geometry.form_mesh import Index
from estimator.geometry.plane import Array

LEAST = 1e-3  # m: a film of water under this is no pool


@dataclass(frozen=True, slots=True)
class Pool:
    """Standing water, just before it runs over.

    middle: above the centre of the water, at its surface, and lowest: the deepest place of the surface, each (x, y, z)
    [m]; depth [m]: there; area [m2]: in plan; volume [m3].
    """

    middle: tuple[float, float, float]
    lowest: tuple[float, float, float]
    depth: float
    area: float
    volume: float


def pool(points: Array, triangles: Index, least: float = LEAST) -> Pool | None:
    """The deepest pool of a surface that holds water; None where every pool is shallower than `least` [m].

    points (k, 3) [m], finite, z up; triangles (m, 3). Water leaves over every edge of the surface. The surface is taken
    as it stands: no drop goes through, and it does not sink under the water, so a pool found here will grow.
    Of pools equally deep the one with the lowest node number is given. A surface without any edge gives None.

    >>> at = np.array([(0, 0, 1), (2, 0, 1), (2, 2, 1), (0, 2, 1), (1, 1, 0.7)], dtype=float)
    >>> found = pool(at, np.array([(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4)]))
    >>> round(found.depth, 6), round(found.area, 6), round(found.volume, 6)  # a pyramid: 4 x 0.3 / 3
    (0.3, 4.0, 0.4)
    """
    nodes = np.asarray(points, dtype=float)
    corners = np.asarray(triangles, dtype=np.intp).reshape(-1, 3)
    pairs, used = _edges(corners)
    near = _neighbours(len(nodes), pairs)
    heights: list[float] = nodes[:, 2].tolist()
    level = water_levels(heights, near, sorted(set(pairs[used == 1].ravel().tolist())))
    depth = np.where(np.isfinite(level), level - nodes[:, 2], 0.0)
    deepest = int(np.argmax(depth)) if len(depth) else 0
    if not len(depth) or depth[deepest] <= 0 or depth[deepest] < least:
        return None
    wet = np.zeros(len(nodes), dtype=bool)
    wet[_together(deepest, near, (depth > 0).tolist())] = True
    on = nodes[corners[wet[corners].any(axis=1)]]
    middle, area, volume = _water(on, float(level[deepest]))
    if volume <= 0:  # hanging upright: nothing stands on it
        return None
    x, y, z = nodes[deepest].tolist()
    return Pool((middle[0], middle[1], float(level[deepest])), (x, y, z), float(depth[deepest]), area, volume)


def water_levels(heights: list[float], near: list[list[int]], outlets: list[int]) -> Array:
    """Height (k) to which water would stand at every node: its own, or that over which it has to run; inf: no way out.

    near: the neighbours of every node. outlets: the nodes where water leaves.

    Source: flooding inward with a priority queue (published as priority-flood, 2014, for terrain): the sea rises round
    the surface and enters each node over the lowest neighbour it has reached, so that a node stands at the larger of
    its own height and the level it was entered from. Every node enters the queue once: O(n log n). Going along sides
    only loses nothing: a way across a flat triangle never stays lower than one along its sides.

    >>> water_levels([1, 0, 3, 0, 2], [[1], [0, 2], [1, 3], [2, 4], [3]], [0, 4]).tolist()
    [1.0, 1.0, 3.0, 2.0, 2.0]
    """
    level = np.full(len(heights), np.inf)
    reached = [False] * len(heights)
    queue = [(heights[node], node) for node in outlets]
    for node in outlets:
        reached[node] = True
    heapify(queue)
    while queue:
        height, node = heappop(queue)
        level[node] = height
        for other in near[node]:
            if not reached[other]:
                reached[other] = True
                heappush(queue, (max(heights[other], height), other))
    return level


def _edges(triangles: Index) -> tuple[Index, NDArray[np.intp]]:
    """Sides (s, 2) of the triangles, each once, and of how many triangles each is a side."""
    sides = np.sort(np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    pairs, used = np.unique(sides, axis=0, return_counts=True)
    return pairs, used


def _neighbours(count: int, pairs: Index) -> list[list[int]]:
    near: list[list[int]] = [[] for _ in range(count)]
    for one, other in pairs.tolist():
        near[one].append(other)
        near[other].append(one)
    return near


def _together(start: int, near: list[list[int]], wet: list[bool]) -> list[int]:
    """The wet nodes that hang together with `start`; neighbours under water always stand under the same level."""
    found, left = {start}, [start]
    while left:
        for other in near[left.pop()]:
            if wet[other] and other not in found:
                found.add(other)
                left.append(other)
    return sorted(found)


def _water(corners: Array, level: float) -> tuple[tuple[float, float], float, float]:
    """Centre in plan, area in plan and volume of the water on triangles (m, 3, 3) under a level.

    The part of a triangle that lies on one side of the level is a triangle or what one leaves, so all three are exact
    for the flat triangle.
    """
    area = moment_x = moment_y = volume = 0.0
    for triangle in corners.tolist():
        (ax, ay, _), (bx, by, _), (cx, cy, _) = triangle
        whole = abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / 2
        depths = [level - corner[2] for corner in triangle]
        under = [i for i in range(3) if depths[i] > 0]
        pieces = [(1.0, [(c[0], c[1], d) for c, d in zip(triangle, depths, strict=True)])]
        if len(under) == 1:
            pieces = [_tip(triangle, depths, under[0])]
        elif len(under) == 2:  # the whole less the dry tip, whose depths are negative
            share, tip = _tip(triangle, depths, 3 - sum(under))
            pieces.append((-share, tip))
        for share, tip in pieces:
            flat = whole * share
            wedge = flat * sum(d for _, _, d in tip) / 3
            area += flat
            volume += wedge
            # first moments of depth over a triangle: of products of linear functions, area / 12 (sum sum + sum of each)
            total = sum(d for _, _, d in tip)
            moment_x += flat / 12 * (sum(x for x, _, _ in tip) * total + sum(x * d for x, _, d in tip))
            moment_y += flat / 12 * (sum(y for _, y, _ in tip) * total + sum(y * d for _, y, d in tip))
    return (moment_x / (volume or 1.0), moment_y / (volume or 1.0)), area, volume


def _tip(triangle: list[list[float]], depths: list[float], at: int) -> tuple[float, list[tuple[float, float, float]]]:
    """The corner of a triangle that is alone on its side of the level: its share of the area, and (x, y, depth)."""
    x, y, _ = triangle[at]
    tip, share = [(x, y, depths[at])], 1.0
    for other in ((at + 1) % 3, (at + 2) % 3):
        part = depths[at] / (depths[at] - depths[other])
        tip.append((x + part * (triangle[other][0] - x), y + part * (triangle[other][1] - y), 0.0))
        share *= part
    return share, tip
