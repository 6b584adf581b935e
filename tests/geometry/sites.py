"""Random sails and sites for the tests of geometry."""

from __future__ import annotations

import numpy as np

Array = np.ndarray


def convex_outline(rng: np.random.Generator, n: int) -> Array:
    """Corners on an ellipse at uneven angles: convex, 2 to 8 m across."""
    shares = rng.uniform(0.6, 1.4, n)
    angle = np.cumsum(shares / shares.sum()) * 2 * np.pi
    return np.stack([rng.uniform(1.0, 4.0) * np.cos(angle), rng.uniform(1.0, 4.0) * np.sin(angle)], axis=1)


def outward_of(outline: Array) -> Array:
    """Outward bisectors of a counter-clockwise outline."""
    back = np.roll(outline, 1, axis=0) - outline
    ahead = np.roll(outline, -1, axis=0) - outline
    back /= np.linalg.norm(back, axis=1, keepdims=True)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    both = back + ahead
    return -both / np.linalg.norm(both, axis=1, keepdims=True)


def site_around(rng: np.random.Generator, outline: Array, aside: float, low: float, high: float) -> Array:
    """Fixings about an outline: each 0.3 to 1.2 m out along its bisector, up to `aside` off it, heights low to high."""
    out = outward_of(outline)
    gaps = rng.uniform(0.3, 1.2, len(outline))[:, None]
    sideways = np.stack([-out[:, 1], out[:, 0]], axis=1) * rng.uniform(-aside, aside, len(outline))[:, None]
    heights = rng.uniform(low, high, len(outline))
    return np.column_stack([outline + gaps * out + sideways, heights])


def rough_site(rng: np.random.Generator, n: int) -> Array:
    """Fixings round a convex polygon of their own, 4 to 10 m across, for sails that may or may not fit."""
    plan = convex_outline(rng, n) * 1.3
    return np.column_stack([plan, rng.uniform(2.0, 4.0, n)])
