"""Three-point values: the least, the likely and the most that something may be (low, likely, high).

Their chances are taken as a beta distribution on that range whose mean is (low + 4 likely + high) / 6, known as
beta-PERT. All in the unit of the value; low <= likely <= high.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

REACH = 8.5  # no score that a float between 0 and 1 can give lies further out
STEPS = 1024


def mean(low: float, likely: float, high: float) -> float:
    """Mean of a three-point value.

    Source: the definition of beta-PERT: (a + 4 m + b) / 6.

    >>> mean(1, 10, 17)
    9.666666666666666
    """
    return (low + 4 * likely + high) / 6


def variance(low: float, likely: float, high: float) -> float:
    """Variance of a three-point value drawn from its beta distribution.

    Source: p q / ((p + q)^2 (p + q + 1)) of a beta distribution with p + q = 6, on the range: with the mean u it is
    (u - a)(b - u) / 7.

    >>> round(variance(1, 10, 17), 4)  # (9.6667 - 1) x (17 - 9.6667) / 7
    9.0794
    """
    middle = mean(low, likely, high)
    return (middle - low) * (high - middle) / 7


def sixth_squared(low: float, high: float) -> float:
    """Variance of a three-point value as networks of tasks are reckoned by hand: the range is six standard deviations.

    A convention of its own; it is not the variance of the beta distribution. Source: ((b - a) / 6)^2, as printed with
    the first networks of tasks (1959) and since.

    >>> round(sixth_squared(1, 17), 4)
    7.1111
    """
    return ((high - low) / 6) ** 2


def shape(low: float, likely: float, high: float) -> tuple[float, float]:
    """The two exponents p, q of the beta distribution; low < high.

    Source: beta-PERT: p = 1 + 4 (m - a) / (b - a), q = 6 - p.

    >>> shape(0, 1, 4)
    (2.0, 4.0)
    """
    first = 1 + 4 * (likely - low) / (high - low)
    return first, 6 - first


def value_at(low: float, likely: float, high: float, share: NDArray[np.float64]) -> NDArray[np.float64]:
    """The values under which such shares (0 to 1) of all draws lie; low = high gives that one.

    >>> import numpy as np
    >>> [round(float(v), 4) for v in value_at(2, 5, 8, np.array([0.1, 0.5, 0.9]))]
    [3.4798, 5.0, 6.5202]
    """
    from scipy.special import betaincinv

    if low == high:
        return 0 * share + low
    first, second = shape(low, likely, high)
    found: NDArray[np.float64] = low + (high - low) * betaincinv(first, second, share)
    return found


def value_at_score(low: float, likely: float, high: float, score: NDArray[np.float64]) -> NDArray[np.float64]:
    """The values at normal scores: below each lies so large a share of all draws as lies below its score.

    From a table in straight lines, right to a ten thousandth of the range and many times faster than `value_at`.
    score: of the standard normal distribution, from -8.5 to 8.5.

    >>> import numpy as np
    >>> [round(float(v), 3) for v in value_at_score(2, 5, 8, np.array([-1.2816, 0.0, 1.2816]))]
    [3.48, 5.0, 6.52]
    """
    if low == high:
        return 0 * score + low
    table = _at_scores(shape(low, likely, high)[0])
    place = (score + REACH) * (STEPS / (2 * REACH))
    below = place.astype(int).clip(0, STEPS - 1)
    found: NDArray[np.float64] = low + (high - low) * (
        table[below] + (place - below) * (table[below + 1] - table[below])
    )
    return found


@lru_cache(maxsize=512)
def _at_scores(first: float) -> NDArray[np.float64]:
    """Values of the beta distribution with exponents first and 6 - first at even steps of the normal score."""
    import numpy as np
    from scipy.special import betaincinv, ndtr

    table: NDArray[np.float64] = betaincinv(first, 6 - first, ndtr(np.linspace(-REACH, REACH, STEPS + 1)))
    table.flags.writeable = False  # one table serves every row of its shape
    return table


def draw(low: float, likely: float, high: float, count: int, seed: int | Sequence[int] = 1) -> NDArray[np.float64]:
    """So many values drawn one by one; the same seed gives the same.

    >>> float(draw(3, 3, 3, 1)[0])
    3.0
    """
    import numpy as np

    return value_at(low, likely, high, np.random.default_rng(seed).random(count))
