"""What geometry answers when a shape cannot be: a value with plain words, never an exception."""

from __future__ import annotations

from dataclasses import dataclass

# Every `why` that geometry can give, with what it means.
WHYS = {
    "too few": "fewer than three points, or lists of different length",
    "not a number": "a coordinate, length or share that is not a finite number, or is negative",
    "coincident": "two points are one",
    "in one line": "the points lie in one line, or nearly",
    "crossing": "two sides cross when the points are joined in this order",
    "turned in": "a corner that turns inward, or is straight, cannot be pulled tight",
    "past its fixing": "the sail is larger than its fixings allow: a corner would lie past its fixing",
    "no room": "a corner leaves its parts less room than they need",
    "side used up": "the hardware at both ends is longer than the side",
    "no rest": "the corner lengths do not settle: the stretch is far too large",
}


@dataclass(frozen=True, slots=True)
class Short:
    """A corner that does not fit: index of its fixing from 0; gap, negative when past its fixing, and needed [m]."""

    index: int
    gap: float
    needed: float


@dataclass(frozen=True, slots=True)
class Refused:
    """Why points or a sail were refused.

    why: a key of WHYS. words: a plain sentence, lengths in metres. at: the points it is about, from 0, in the order
    given; for `crossing` and `side used up` the first point of each side. corners: those that do not fit, in the
    best placement found. least_margin: of that placement [m]. largest_scale: the largest factor, at most 1, of the
    outline that would fit; 0: none; None: not looked for.
    """

    why: str
    words: str
    at: tuple[int, ...] = ()
    corners: tuple[Short, ...] = ()
    least_margin: float | None = None
    largest_scale: float | None = None
