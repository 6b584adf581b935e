"""What goes into and comes out of the adjustment of taped points. Lengths m, areas m2."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TapeClass = Literal["I", "II", "III"]
Verdict = Literal["unchecked", "closes", "one slipped", "one of these slipped", "several slipped"]


@dataclass(frozen=True, slots=True)
class TapedPoint:
    """A point of the site; its coordinates are held where both are given, and sought where neither is."""

    name: str
    height: float
    across: float | None = None
    out: float | None = None


@dataclass(frozen=True, slots=True)
class TapedLine:
    """A distance between two points: along the straight line between them, or level (in plan)."""

    start: str
    end: str
    length: float
    level: bool = False


@dataclass(frozen=True, slots=True)
class AdjustedPoint:
    """A point in the axes of the site with its standard deviations; both are 0 where it is held."""

    name: str
    across: float
    out: float
    height: float
    across_std: float
    out_std: float
    given: bool


@dataclass(frozen=True, slots=True)
class AdjustedLine:
    """A line after the adjustment, in its own sense (straight or level).

    residual: computed - taped. redundancy: how much of an error in it the other lines show (0 none, 1 all).
    test: the residual over its own standard deviation (0 where nothing checks the line).
    """

    start: str
    end: str
    length: float
    level: bool
    residual: float
    std: float
    redundancy: float
    test: float

    @property
    def checked(self) -> bool:
        """Whether any other line would show a slip in this one."""
        return self.redundancy > 1e-6


@dataclass(frozen=True, slots=True)
class Suspect:
    """A line that may have slipped.

    line: its place among the lines. lengths: those that would close the figure, nearest first; empty where no
    length would. misreading: the usual slip that fits, blank where none does. sure: the chance that it is this
    line, if one line alone slipped and each was as likely to; None where the lines cannot tell.
    """

    line: int
    lengths: tuple[float, ...]
    misreading: str
    sure: float | None


@dataclass(frozen=True, slots=True)
class Closure:
    """Four sides and the first diagonal give the second: computed - taped [m], in the second's own sense."""

    first: tuple[str, str]
    second: tuple[str, str]
    difference: float


@dataclass(frozen=True, slots=True)
class OtherPlace:
    """A second place of a point that the lines allow just as well: tape one more line to it."""

    name: str
    across: float
    out: float


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Points and lines in the order given.

    spare: lines beyond those that fix the figure. misclosure: sum of squares of residual / std; limit: what
    chance alone passes once in a hundred figures (0 without a spare line). slip: the line named as the lone
    slip; suspects: when none can be named, every line that could be it (with one spare line: all).
    """

    points: tuple[AdjustedPoint, ...]
    lines: tuple[AdjustedLine, ...]
    spare: int
    misclosure: float
    limit: float
    verdict: Verdict
    slip: Suspect | None
    suspects: tuple[Suspect, ...]
    mirror: str
    closure: Closure | None
    other_places: tuple[OtherPlace, ...]

    @property
    def unchecked(self) -> bool:
        """True where no line is spare: nothing shows a slip of the tape."""
        return self.spare == 0

    @property
    def closes(self) -> bool:
        """False where the misclosure is more than chance explains."""
        return self.verdict in ("unchecked", "closes")


FaultKind = Literal[
    "named-twice",
    "unknown-name",
    "same-point",
    "not-a-length",
    "half-given",
    "loose-point",
    "apart",
    "too-steep",
    "repeats-disagree",
    "too-long",
    "flexes",
]


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason why the lines give no points.

    names: the points it is about; lines: places among the lines; by: how far it is off [m]; tape: pairs that,
    taped as well, would fix the figure; least, greatest: areas that four sides alone allow [m2].
    """

    kind: FaultKind
    names: tuple[str, ...] = ()
    lines: tuple[int, ...] = ()
    by: float = 0.0
    tape: tuple[tuple[str, str], ...] = ()
    least: float | None = None
    greatest: float | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """Why no points can be given; at least one fault."""

    faults: tuple[Fault, ...]
