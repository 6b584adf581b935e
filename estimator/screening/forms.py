"""Sails of an option as membranes: each shape solved once in a run, each pressure on it once.

A sail is turned and moved into a frame of its own first, so that the same sail on another site, or facing another way,
is the same shape. Lengths m, forces N, pressures Pa.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import atan2, cos, dist, sin, sqrt
from typing import TYPE_CHECKING

from estimator.rates.model import Cloth
from estimator.screening.model import Vector
from estimator.takeoff.hang import Hung
from estimator.takeoff.model import Point

if TYPE_CHECKING:
    from estimator.geometry.form import Film, Loaded
    from estimator.geometry.form_density import NotSettled

DIVISIONS = 10  # of each edge; the mesh that the screening runs at
SMALL = 5.0  # Pa; a sail that finds no rest under so little finds none under more
GRAIN = 5  # decimals of a metre that make two shapes one
NEEDED = ("stiffness", "edge stiffness", "pretension", "wind share")  # columns of cloths


@dataclass(frozen=True, slots=True)
class Figures:
    """What the form needs of a cloth. stiffness, pretension [N/m]; edge_stiffness [N]."""

    stiffness: float
    edge_stiffness: float
    pretension: float


@dataclass(frozen=True, slots=True)
class Key:
    """What makes two shapes one: corners when tight, fixings and dips of the edges in the sail's own frame."""

    corners: tuple[Vector, ...]
    fixings: tuple[Vector, ...]
    dips: tuple[float, ...]
    figures: Figures


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A sail at rest, and under every pressure that was asked for so far."""

    film: Film
    figures: Figures
    solved: dict[float, Loaded | NotSettled] = field(default_factory=dict)


Shapes = dict[Key, "Shape | NotSettled"]


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A shape where it hangs. turned: angle of its frame [rad]; at: where its frame begins; share: part of the wind's
    pressure that its cloth takes."""

    sail: str
    fixings: tuple[str, ...]
    shape: Shape
    turned: float
    at: Vector
    share: float


def figures_of(cloth: Cloth) -> Figures | tuple[str, ...]:
    """The figures of a cloth, or the columns of its row that are blank."""
    given = (cloth.stiffness, cloth.edge_stiffness, cloth.pretension, cloth.wind_share)
    if cloth.stiffness is None or cloth.edge_stiffness is None or cloth.pretension is None or cloth.wind_share is None:
        return tuple(name for name, value in zip(NEEDED, given, strict=True) if value is None)
    return Figures(cloth.stiffness, cloth.edge_stiffness, cloth.pretension)


@dataclass(frozen=True, slots=True)
class Hanging:
    """What makes a sail a shape, and where it hangs: as of `Placed`."""

    key: Key
    turned: float
    at: Vector


def hanging(hung: Hung, points: Sequence[Point], figures: Figures, hollow: float) -> Hanging:
    """A sail with every corner hung, in its own frame.

    points: the fixings in the order of the corners; hollow: dip of an edge over its length.
    """
    fixings = [(p.across, p.out, p.height) for p in points]
    tight = [
        _pulled(corner, fixing, hook.stretch / hook.gap)
        for corner, fixing, hook in zip(hung.taken.corners, fixings, hung.corners, strict=True)
    ]
    turned = atan2(fixings[1][1] - fixings[0][1], fixings[1][0] - fixings[0][0])
    at = fixings[0]
    own = [_into(c, at, turned) for c in tight]
    to = [_into(f, at, turned) for f in fixings]
    dips = tuple(round(hollow * dist(c, own[(i + 1) % len(own)]), GRAIN) for i, c in enumerate(own))
    return Hanging(Key(tuple(own), tuple(to), dips, figures), turned, at)


def place(
    shapes: Shapes, hung: Hung, points: Sequence[Point], figures: Figures, hollow: float, share: float
) -> Placed | NotSettled:
    """A sail with every corner hung, brought to rest under its pretension.

    shapes: those of this run, kept from option to option; points, hollow: as of `hanging`.
    """
    from estimator.geometry.form import film
    from estimator.geometry.form_density import NotSettled

    how = hanging(hung, points, figures, hollow)
    key = how.key
    if key not in shapes:
        found = film(key.corners, figures.pretension, dips=key.dips, fixings=key.fixings, divisions=DIVISIONS)
        shapes[key] = found if isinstance(found, NotSettled) else Shape(found, figures)
    shape = shapes[key]
    if isinstance(shape, NotSettled):
        return shape
    return Placed(hung.taken.sail, tuple(p.fixing for p in points), shape, how.turned, how.at, share)


def under(shape: Shape, pressure: float) -> Loaded | NotSettled:
    """A shape under a pressure [Pa], above nothing upward; begun from the nearest pressure that is solved already."""
    from estimator.geometry.form import Loaded, loaded
    from estimator.geometry.form_density import NotSettled

    def solve(start: Loaded | None) -> Loaded | NotSettled:
        figures = shape.figures
        return loaded(shape.film, pressure, figures.stiffness, edge_stiffness=figures.edge_stiffness, start=start)

    if pressure not in shape.solved:
        found = solve(_near(shape, pressure))
        if isinstance(found, NotSettled) and abs(pressure) > SMALL:
            # half the pressure on the way: a start that is nearer
            half = under(shape, pressure / 2)
            found = solve(half) if isinstance(half, Loaded) else found
        shape.solved[pressure] = found
    return shape.solved[pressure]


def _near(shape: Shape, pressure: float) -> Loaded | None:
    """A start for a pressure: along the line through the two nearest that are solved, in the speed that makes them."""
    from estimator.geometry.form import Loaded

    solved = {p: f for p, f in shape.solved.items() if isinstance(f, Loaded) and p * pressure >= 0}
    nearest = sorted(solved, key=lambda p: (abs(p - pressure), p))[:2]
    if not nearest:
        return None
    one = solved[nearest[0]]
    if len(nearest) == 1:
        return one
    other = solved[nearest[1]]
    here, near, far = (sqrt(abs(p)) for p in (pressure, *nearest))
    return replace(one, points=one.points + (one.points - other.points) * ((here - near) / (near - far)))


def pulls_on(placed: Placed, pressure: float) -> list[Vector] | NotSettled:
    """Pull of the sail on each of its fixings [N], in the order of its corners."""
    from estimator.geometry.form_density import NotSettled

    found = under(placed.shape, pressure)
    if isinstance(found, NotSettled):
        return found
    return [_turned((float(x), float(y), float(z)), placed.turned) for x, y, z in found.forces]


def where(placed: Placed, point: Sequence[float]) -> Vector:
    """A point of the shape's frame on the site."""
    x, y, z = _turned((float(point[0]), float(point[1]), float(point[2])), placed.turned)
    return x + placed.at[0], y + placed.at[1], z + placed.at[2]


def _pulled(corner: Vector, fixing: Vector, share: float) -> Vector:
    x, y, z = (c + (f - c) * share for c, f in zip(corner, fixing, strict=True))
    return x, y, z


def _into(point: Vector, at: Vector, turned: float) -> Vector:
    x, y, z = _turned((point[0] - at[0], point[1] - at[1], point[2] - at[2]), -turned)
    return round(x, GRAIN) + 0.0, round(y, GRAIN) + 0.0, round(z, GRAIN) + 0.0


def _turned(point: Vector, angle: float) -> Vector:
    c, s = cos(angle), sin(angle)
    return c * point[0] - s * point[1], s * point[0] + c * point[1], point[2]
