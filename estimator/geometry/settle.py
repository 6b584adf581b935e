"""From places in the plane to corners in space: lift onto the surface, then shrink until the sides fit again."""

from __future__ import annotations

import numpy as np

from estimator.geometry.plane import Array
from estimator.geometry.surface import surface_heights

# A sloping sail is shorter in plan. The rule asks for 0.1 mm; this is far under it, so that nothing downstream
# depends on where the rounds stopped.
SETTLED = 1e-9


def settle(flat: Array, shift: Array, nominal: float, fixings: Array, rounds: int = 100) -> tuple[Array, Array]:
    """Corners (k, n, 3) in the axes of the plane and the factor (k) the outline was scaled by.

    flat (k, n, 2): outlines turned, about their centroid; shift (k, 2): the centroid; nominal: perimeter of the
    outline [m]; fixings (n, 3) in the axes of the plane. The outline is scaled about its centroid by nominal /
    straight perimeter of the lifted corners, again and again, at most `rounds` times.
    """
    scale = np.ones(len(flat))
    for _ in range(rounds):
        corners = lift(flat * scale[:, None, None] + shift[:, None], fixings)
        sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
        better = np.clip(scale * nominal / np.maximum(sides.sum(axis=1), 1e-300), 1e-6, 1.0)  # a slope only shortens
        change = np.abs(better - scale).max() * nominal
        scale = better
        if change < SETTLED or len(fixings) == 3:
            break
    return lift(flat * scale[:, None, None] + shift[:, None], fixings), scale


def lift(places: Array, fixings: Array) -> Array:
    """Places (..., 2) in the plane with their height on the surface through the fixings: (..., 3)."""
    return np.concatenate([places, surface_heights(fixings, places)[..., None]], axis=-1)
