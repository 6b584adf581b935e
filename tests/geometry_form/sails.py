"""Sails for the tests of form: drawn at random, twisted and raised."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Sail:
    """What a film and its load are asked with; fixings only for some."""

    corners: Array
    dips: list[float]
    fixings: Array | None
    prestress: float
    pressure: float
    stiffness: float
    poisson: float
    edge_stiffness: float


def random_sail(seed: int) -> Sail:
    """3 to 8 corners on a stretched round of 2 to 6 m, up to 0.8 m above or below the mean, hollows of 4 to 9 %."""
    draw = np.random.default_rng(seed)
    n = 3 + seed % 6
    angle = 2 * np.pi * (np.arange(n) + draw.uniform(-0.15, 0.15, n)) / n
    radius = draw.uniform(2, 6) * draw.uniform(0.9, 1.1, n)
    rise = draw.uniform(-0.8, 0.8, n)
    corners = np.stack([radius * np.cos(angle), draw.uniform(0.6, 1) * radius * np.sin(angle), 3 + rise], axis=1)
    if draw.random() < 0.3:
        corners = corners[::-1]
    chords = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    dips = (chords * draw.uniform(0.04, 0.06 if n == 3 else 0.09, n)).tolist()
    out = corners - corners.mean(axis=0)
    out /= np.linalg.norm(out, axis=1)[:, None]
    fixings = corners + out * draw.uniform(0.15, 0.6, (n, 1)) if draw.random() < 0.5 else None
    pressure = float(draw.choice([-1, 1])) * float(10 ** draw.uniform(1.7, 3.1))
    stiffness, edge = float(10 ** draw.uniform(4.3, 5.5)), float(10 ** draw.uniform(5, 6.5))
    return Sail(corners, dips, fixings, draw.uniform(300, 2000), pressure, stiffness, float(draw.uniform(0, 0.4)), edge)
