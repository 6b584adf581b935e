"""Consent rows of a place held against what was taken off. It states no law: it compares, and the council decides.

What is not known is a question, never inside a limit.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.core.names import key
from estimator.core.problems import Place
from estimator.rates.model import ConsentRow

QUESTION = "question"
AREA, NUMBERS = "plan area", ("existing sails", "house anchor")
FROM_BELOW = ("at least", "over")
STRICT = ("under", "over")
OR_MORE, OR_LESS = "or more", "or less"
HAIR = 1e-6  # m, m2: under anything that a tape can tell, over the noise of a computed area
ERRORS_FIRST = "Put the errors of this option right; then it can be compared."
ASK_COUNCIL = "Ask the council what holds here."


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a measure. amount: m, m2 or a number, None: nothing; bound: blank where it is exact, `or more`
    or `or less` where a part of it is not known; of: what it was taken from; ask: what would make it known, and place:
    the cell to fill in for that, None where errors have to be put right first."""

    amount: float | None
    bound: str = ""
    of: str = ""
    ask: str = ERRORS_FIRST
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Condition:
    """Whether a condition holds, None: not known; ask and place as for `Known`."""

    holds: bool | None
    ask: str = ERRORS_FIRST
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of an option, by measure and by condition; a measure that has nothing to compare is left out."""

    measures: Mapping[str, Known]
    conditions: Mapping[str, Condition]


@dataclass(frozen=True, slots=True)
class Compared:
    """One row held against the facts. unsure: conditions of the row of which nobody knows whether they hold."""

    row: ConsentRow
    known: Known
    unsure: tuple[Condition, ...] = ()

    @property
    def from_below(self) -> bool:
        """Whether the value has to stay above the limit."""
        return self.row.compare in FROM_BELOW

    @property
    def inside(self) -> bool | None:
        """Whether the limit is kept; None: not known.

        A value of which a part is missing can break a limit but not keep it (or, bounded the other way, keep it but not
        break it). A row whose condition is not known can be kept, since then the condition does not matter.
        """
        apart = self._apart
        if apart is None:
            return None
        kept = apart > HAIR if self.row.compare in STRICT else apart >= -HAIR
        keeps = OR_MORE if self.from_below else OR_LESS  # the bound that can keep a limit and never break it
        if self.known.bound and kept is not (self.known.bound == keeps):
            return None
        return True if kept else None if self.unsure else False

    @property
    def margin(self) -> float | None:
        """How far inside the limit, negative beyond it; None where that is not known."""
        return None if self.known.bound and self.inside is None else self._apart

    @property
    def question(self) -> str:
        """What has to be asked; blank where the row could be compared."""
        if self.inside is not None:
            return ""
        if key(self.row.measure) == QUESTION:
            return self.row.description or ASK_COUNCIL
        if self.row.limit is None:
            return ASK_COUNCIL
        asked = [c.ask for c in self.unsure]
        return " ".join(dict.fromkeys(asked if self._known_but_for_conditions else [self.known.ask, *asked]))

    @property
    def cell(self) -> Place | None:
        """The cell whose filling in answers the question, where there is one."""
        if self._known_but_for_conditions:
            return next((c.place for c in self.unsure if c.place), None)
        return self.known.place

    @property
    def _known_but_for_conditions(self) -> bool:
        return bool(self.unsure) and self._apart is not None and not self.known.bound

    @property
    def _apart(self) -> float | None:
        if self.known.amount is None or self.row.limit is None:
            return None
        apart = self.known.amount - self.row.limit
        return (apart if self.from_below else -apart) + 0.0  # never a negative nought


def compared(rows: Sequence[ConsentRow], place: str, facts: Facts) -> tuple[Compared, ...]:
    """The rows of a place, less those whose conditions do not all hold and those with nothing to compare."""
    found = []
    for row in rows:
        measure = key(row.measure)
        if key(row.place) != key(place) or (measure != QUESTION and measure not in facts.measures):
            continue
        held = [facts.conditions.get(name, Condition(None, ASK_COUNCIL)) for name in conditions_of(row)]
        if all(c.holds is not False for c in held):
            unsure = tuple(c for c in held if c.holds is None)
            found.append(Compared(row, facts.measures.get(measure, Known(None)), unsure))
    return tuple(found)


def conditions_of(row: ConsentRow) -> list[str]:
    """The conditions of a row, all of which have to hold."""
    return [key(part) for part in re.split(r"[;,]", row.when) if part.strip()]


def needed(found: Sequence[Compared]) -> bool:
    """Whether consent is needed by the rows: one limit that is not kept is enough."""
    return any(c.inside is False for c in found)
