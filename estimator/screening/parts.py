"""A part of an option with what is asked of it under any pull of the sails. Forces N, lengths m, stresses Pa.

Nothing here knows a wind: it looks at pulls, from whichever wind they come.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from estimator.screening.model import Check, Vector

Pulls = Mapping[tuple[str, str], Vector]  # pull of a sail on a fixing, by sail and fixing
CASES = ("rest", "up", "down")


@dataclass(frozen=True, slots=True)
class Asked:
    """demand and capacity in the unit of the part; capacity None: not known; working: in words."""

    demand: float
    capacity: float | None
    working: str
    part: str = ""  # where it changes with the pull: the weakest of several


@dataclass(frozen=True, slots=True)
class Part:
    """What is looked at. look: what a pull asks of it; counted: whether it takes part in the take-down wind."""

    kind: str
    part: str
    where: str
    fixings: tuple[str, ...]
    unit: str
    source: str
    look: Callable[[Pulls], Asked]
    counted: bool = True

    def used(self, pulls: Pulls) -> float:
        """Share of the capacity that is used; 0 where there is none."""
        asked = self.look(pulls)
        return asked.demand / asked.capacity if asked.capacity else 0.0


def alike(share: float) -> float:
    """A share without the digits in which two sides of a symmetric sail differ.

    >>> alike(1.23456789)
    1.23457
    """
    return float(f"{share:.6g}")


def total(pulls: Pulls, fixings: tuple[str, ...]) -> Vector:
    """Sum of the pulls on some fixings."""
    found = [pull for (_, fixing), pull in pulls.items() if fixing in fixings]
    x, y, z = (sum(p[axis] for p in found) for axis in range(3))
    return x, y, z


def check(part: Part, by_case: Mapping[str, Pulls]) -> Check:
    """The part in the case that asks most of it; where no capacity is known, the case of the greatest demand."""
    looked = {case: part.look(pulls) for case, pulls in by_case.items()}

    def asks(case: str) -> tuple[float, float]:
        asked = looked[case]
        return (asked.demand / asked.capacity if asked.capacity else 0.0), asked.demand

    case = max(looked, key=asks)
    most = looked[case]
    return Check(
        kind=part.kind,
        part=most.part or part.part,
        where=part.where,
        fixings=part.fixings,
        demand=most.demand,
        capacity=most.capacity,
        unit=part.unit,
        source=part.source,
        working=most.working,
        counted=part.counted and most.capacity is not None,
        case=case,
    )
