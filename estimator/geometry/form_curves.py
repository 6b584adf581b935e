"""Hanging curves in closed form: the parabola (load even along the span), the catenary (even along the cable).

Source: statics of a cable in any textbook; the closed forms are mathematics.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import asinh, cosh, hypot, inf, sinh, sqrt


@dataclass(frozen=True, slots=True)
class Hanging:
    """A cable between two points at one level.

    level: the level part of the pull [N]; upright: on each support [N]; most: the largest pull, at the supports [N];
    length: of the cable [m]; sag: at the middle [m].
    """

    level: float
    upright: float
    most: float
    length: float
    sag: float


def parabola(w: float, span: float, sag: float) -> Hanging:
    """Cable under w [N/m] even along the span [m], sag [m] at the middle.

    H = w L2 / (8 s), V = w L / 2, S = (L/2) (sqrt(1 + k2) + asinh(k) / k) with k = 4 s / L.
    Without sag the pull is endless, without load it is nothing.

    >>> round(parabola(w=1, span=10, sag=1).most, 6), round(parabola(w=1, span=10, sag=1).length, 6)
    (13.462912, 10.260606)
    """
    upright = w * span / 2
    if sag <= 0:
        level = inf if w > 0 else 0.0
        return Hanging(level, upright, level, span, 0.0)
    level, k = w * span * span / (8 * sag), 4 * sag / span
    return Hanging(level, upright, hypot(level, upright), span / 2 * (sqrt(1 + k * k) + asinh(k) / k), sag)


def catenary(w: float, span: float, a: float) -> Hanging:
    """Cable of w [N/m] along itself over span [m]; a = H / w [m], the radius at its lowest point.

    sag = a (cosh(L / 2a) - 1), S = 2 a sinh(L / 2a), T / H = cosh(L / 2a).

    >>> round(catenary(w=1, span=100, a=100).sag, 6)
    12.762597
    """
    half = span / (2 * a)
    return Hanging(w * a, w * a * sinh(half), w * a * cosh(half), 2 * a * sinh(half), 2 * a * sinh(half / 2) ** 2)


def catenary_of_length(span: float, length: float) -> float:
    """The a [m] of the catenary of a given length over a span; endless for a cable no longer than the span.

    >>> round(catenary_of_length(span=10, length=10.5), 6)
    9.196396
    """
    return _a(span, lambda half: sinh(half) / half, length / span)


def catenary_of_sag(span: float, sag: float) -> float:
    """The a [m] of the catenary of a given sag over a span; endless without sag.

    >>> round(catenary_of_sag(span=1, sag=0.1), 6)
    1.266324
    """
    return _a(span, lambda half: sinh(half / 2) ** 2 / half, sag / span)


def _a(span: float, grows: Callable[[float], float], wanted: float) -> float:
    """Halve the range of L / 2a: what grows with it from near nothing passes the wanted value once."""
    low, high = 1e-9, 500.0
    if grows(low) >= wanted:
        return inf
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if grows(middle) < wanted else (low, middle)
    return span / (low + high)
