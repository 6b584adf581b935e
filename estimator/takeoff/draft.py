"""An option on its way: what is known before its trip, and what its trip shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from estimator.job.model import Extra, Fixing, Option, Site
from estimator.takeoff.concrete import Bought
from estimator.takeoff.consent import Compared, needed
from estimator.takeoff.extras import ExtraLines
from estimator.takeoff.hang import Hung
from estimator.takeoff.labour import Hole
from estimator.takeoff.measures import Counted
from estimator.takeoff.model import Corner, Drain, Fall, Footing, Hours, Measures, Point, Post, Pour, WallMarks


@dataclass(frozen=True, slots=True)
class Draft:
    """An option as far as it stands alone; visits, travel and lines come from `finish`."""

    site: Site
    option: Option
    fixings: tuple[Fixing, ...] = ()
    points: tuple[Point, ...] = ()
    hung: tuple[Hung, ...] = ()
    posts: tuple[Post, ...] = ()
    footings: tuple[Footing, ...] = ()
    holes: tuple[Hole, ...] = ()
    factors: Mapping[str, float] = field(default_factory=dict)  # labour factor by post name key
    engineer: tuple[str, ...] = ()
    consent: tuple[Compared, ...] = ()
    extras: tuple[Extra, ...] = ()
    marks: tuple[WallMarks, ...] = ()
    falls: tuple[Fall, ...] = ()
    drains: tuple[Drain, ...] = ()

    @property
    def corners(self) -> tuple[Corner, ...]:
        """All corners of all sails."""
        return tuple(c for h in self.hung for c in h.corners)

    @property
    def counted(self) -> Counted:
        """What the measures are made from."""
        return Counted(
            self.points,
            [h.taken for h in self.hung],
            self.corners,
            self.posts,
            self.footings,
            needed(self.consent),
            bool(self.engineer),
        )


@dataclass(frozen=True, slots=True)
class Trip:
    """What sites of one trip share. sites: how many share it; visits: of the whole trip; travel: km one way."""

    sites: int
    visits: int
    travel: float

    @property
    def km(self) -> float:
        """This site's part of the way there and back on every visit."""
        return 2 * self.travel * self.visits / self.sites


@dataclass(frozen=True, slots=True)
class Worked:
    """Hours and concrete of a draft before its trip is known."""

    hours: tuple[Hours, ...]
    visits: tuple[str, ...]
    extras: ExtraLines
    concrete: tuple[Bought, ...]
    dropped: frozenset[str]
    static: Measures
    weighed: Measures
    pour: Pour | None = None
