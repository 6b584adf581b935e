"""What the screening of an option gives. Forces N, moments N m, stresses Pa, lengths m, speeds m/s.

Indicative, for a structural engineer to confirm: it shows which part gives first, and approves nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

Vector = tuple[float, float, float]  # across, out, up


@dataclass(frozen=True, slots=True)
class CornerForce:
    """Pull of the sail on one fixing. rest: in still air; up, down: in the wind, pushed up and pushed down."""

    sail: str
    fixing: str
    rest: Vector
    up: Vector
    down: Vector

    @property
    def greatest(self) -> float:
        """The largest of the three pulls [N]."""
        return max(hypot(*pull) for pull in (self.rest, self.up, self.down))


@dataclass(frozen=True, slots=True)
class Check:
    """One part held against what it is rated for.

    kind: corner, support, post, footing; part: what it is; where: on which fixing or post, in words; fixings: their
    names; capacity: None where nothing is known or an engineer has to say: never a pass; unit: N, Pa or m;
    counted: whether it takes part in the take-down wind; case: rest, up or down, whichever asks most of it.
    """

    kind: str
    part: str
    where: str
    fixings: tuple[str, ...]
    demand: float
    capacity: float | None
    unit: str
    source: str
    working: str
    counted: bool = True
    case: str = ""

    @property
    def used(self) -> float | None:
        """Share of the capacity that is used; None where there is no capacity."""
        return None if self.capacity is None else self.demand / self.capacity

    @property
    def name(self) -> str:
        """Part and place in words."""
        return f"{self.part}, {self.where}"


@dataclass(frozen=True, slots=True)
class TakeDown:
    """The gust at which the first part is used up, and the second with its own. wind 0: used up in still air;
    reached: False where nothing is used up by the highest gust that was tried, which `wind` then is."""

    wind: float
    first: str
    second: str
    second_wind: float | None
    reached: bool


@dataclass(frozen=True, slots=True)
class SailShape:
    """How a sail stands under its pretension. highest, lowest: points of the cloth; pond: middle of the pool that it
    would hold under rain and its depth, None where it drains or where that was not looked at; area of the cloth."""

    sail: str
    highest: Vector
    lowest: Vector
    area: float
    pond: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class Screened:
    """The screening of an option at a gust.

    gust: at the sail; gust_words: how it came about; up, down: pressures on the cloth that takes the whole of the
    wind [Pa]; checks: every part, the most used first; unknown: parts that could not be screened, in words.
    """

    gust: float
    gust_words: str
    up: float
    down: float
    forces: tuple[CornerForce, ...]
    checks: tuple[Check, ...]
    take_down: TakeDown | None
    shapes: tuple[SailShape, ...]
    unknown: tuple[str, ...]
