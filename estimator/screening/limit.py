"""The gust that the crew and the customer are told to take a sail down at: km/h, never the bare figure of a part."""

from __future__ import annotations

from math import floor

from estimator.geometry.wind import from_metres_per_second, to_metres_per_second
from estimator.rates.model import RateBook
from estimator.screening.model import Screened, TakeDown

NONE_TOLD = "none; not to be hung before an engineer has decided"
HAIR = 1e-4  # of a km/h, m/s or mile an hour: what sums of floats and a search leave below a whole figure


def printed_gust(book: RateBook, screened: Screened | None) -> float:
    """The gust that is told [km/h]: the lower of the firm's own limit (setting `take-down gust`) and the gust at which
    the first part is used up times the setting `take-down factor`, down to whole steps (`take-down step`).

    Without a screening the firm's own limit, down to the same steps. 0: less than one step is left, and the sail is
    not to be hung before an engineer has decided.
    """
    limit, step = book.number("take-down gust"), book.number("take-down step")
    if screened is not None and screened.take_down is not None:
        limit = min(limit, screened_share(book, screened.take_down))
    return steps_down(limit, step)


def screened_share(book: RateBook, take_down: TakeDown) -> float:
    """The share of the screened gust that may be told [km/h], before it goes down to whole steps."""
    return from_metres_per_second(take_down.wind, "km/h") * book.number("take-down factor")


def steps_down(value: float, step: float) -> float:
    """The whole steps in a value, step > 0; a hair less than a step counts as the step.

    >>> steps_down(74.9, 5), steps_down(25 * 3.6 * 0.7 / 0.9, 5), steps_down(4.9, 5)
    (70.0, 70.0, 0.0)
    """
    whole = max(floor((value + HAIR) / step), 0)
    return float(f"{whole * step:.12g}")


def gust_words(km_h: float) -> str:
    """A gust in the three units that people use, each rounded down: to be told, none may say more than the first.

    >>> gust_words(45), gust_words(70)
    ('45 km/h (12.5 m/s, 27 mph)', '70 km/h (19.4 m/s, 43 mph)')
    """
    speed = to_metres_per_second(km_h, "km/h")
    mph = from_metres_per_second(speed, "mph")
    return f"{steps_down(km_h, 1):.0f} km/h ({steps_down(speed, 0.1):.1f} m/s, {steps_down(mph, 1):.0f} mph)"


def told_words(book: RateBook, screened: Screened | None) -> str:
    """The gust that is told, in words for the crew and the customer: nothing else of a screening may reach them."""
    km_h = printed_gust(book, screened)
    return gust_words(km_h) if km_h else NONE_TOLD


def why_told(book: RateBook, screened: Screened | None) -> str:
    """How the gust that is told came about, for the office: it holds the bare figure.

    `the firm's own limit, 70 km/h, down to steps of 5 km/h` and the like.
    """
    limit, step = book.number("take-down gust"), book.number("take-down step")
    steps = f"down to steps of {step:g} km/h"
    own = f"the firm's own limit, {limit:g} km/h"
    if screened is None or screened.take_down is None:
        why = "the option is not screened" if screened is None else "no take-down wind could be found"
        return f"{own}, {steps}; {why}"
    factor, bare = book.number("take-down factor"), from_metres_per_second(screened.take_down.wind, "km/h")
    share = screened_share(book, screened.take_down)
    sum_words = f"{factor:g} x {bare:.1f} km/h = {share:.1f} km/h"
    if steps_down(min(limit, share), step) == 0:
        return f"{sum_words}, less than one step of {step:g} km/h: not to be hung before an engineer has decided"
    if limit <= share:
        return f"{own}, {steps}; it is lower than {sum_words}"
    return f"{sum_words}, {steps}; it is lower than {own}"
