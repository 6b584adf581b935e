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
class Refused:
    """Why points or a sail were refused.

    why: a key of WHYS. corners: the corners or fixings it is about, counted from 0, in fixing order; for
    `crossing` and `side used up` the first corner of each side. words: a plain sentence, lengths in metres.
    gap, needed: of every corner, signed (negative: past its fixing); empty where no placement was reached.
    least_margin: the best that any placement reaches [m]. largest_scale: the largest factor, at most 1, of the
    outline that would fit; 0: none; None: not looked for.
    """

    why: str
    words: str
    corners: tuple[int, ...] = ()
    gap: tuple[float, ...] = ()
    needed: tuple[float, ...] = ()
    least_margin: float | None = None
    largest_scale: float | None = None
