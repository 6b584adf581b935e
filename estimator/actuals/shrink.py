"""Old hours drawn toward what was seen, by how much has been seen."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

FEW = 3  # jobs from which they have a middle of their own; fewer are held against the plan


def weight(n: float, k: float) -> float:
    """The weight Z of what n jobs say, from 0 (the old hours stay) to 1 (only what was seen counts): Z = n / (n + k).

    k: how many jobs the old hours are worth; in theory the variance from job to job over the variance from one firm's
    true mean to another's. Source: H. Bühlmann, Experience rating and credibility, ASTIN Bulletin 4 (1967): the best
    estimate that is linear in what was seen; James and Stein (1961) draw means together in the same way.

    >>> weight(4, 4), weight(0, 4), weight(1, 4)
    (0.5, 0.0, 0.2)
    """
    return n / (n + k) if n > 0 else 0.0


def factor(used: float, planned: float, n: float, k: float) -> float:
    """What the old hours are multiplied by: 1 + Z x (used / planned - 1); planned > 0.

    used / planned over all jobs together, so that the total of the hours, and with it the money, comes right.

    >>> factor(used=12, planned=8, n=4, k=4)
    1.25
    """
    return 1.0 + weight(n, k) * (used / planned - 1.0)


def middle(ratios: Sequence[float]) -> float:
    """What a ratio is held against: the median of three jobs and more, else 1, the plan."""
    return median(ratios) if len(ratios) >= FEW else 1.0


def wild(ratios: Sequence[float], limit: float) -> list[bool]:
    """Which ratios lie more than `limit` times over or under the middle; limit > 1.

    >>> wild([1.1, 0.9, 5.0], 3), wild([3.5], 3), wild([4, 4.2, 3.9], 3)
    ([False, False, True], [True], [False, False, False])
    """
    m = middle(ratios)
    return [not m / limit <= r <= m * limit for r in ratios]
