"""Consent rows of a place against what was taken off. It states no law: it compares with the rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.core.names import key
from estimator.rates.model import ConsentRow

AT_MOST = ("plan area", "height above ground", "existing sails", "house anchor")
HAIR = 1e-9


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of an option; None: not known. Areas m2, lengths m."""

    plan_area: float | None
    height_above_ground: float | None
    footing_to_boundary: float | None
    sail_to_boundary: float | None
    existing_sails: float | None
    house_anchor: float  # fixings on a building
    conditions: frozenset[str]


@dataclass(frozen=True, slots=True)
class Test:
    """One row held against the facts. margin: positive inside the limit; None: cannot be known."""

    row: ConsentRow
    value: float | None
    margin: float | None

    @property
    def inside(self) -> bool | None:
        """Whether the limit is kept; None when it cannot be known."""
        return None if self.margin is None else self.margin >= -HAIR


def tests_of(rows: Sequence[ConsentRow], place: str, facts: Facts) -> list[Test]:
    """The rows of a place whose condition holds, each with its value and margin."""
    values = {
        "plan area": facts.plan_area,
        "height above ground": facts.height_above_ground,
        "footing to boundary": facts.footing_to_boundary,
        "sail to boundary": facts.sail_to_boundary,
        "existing sails": facts.existing_sails,
        "house anchor": facts.house_anchor,
    }
    found = []
    for row in rows:
        if key(row.place) != key(place) or (row.when and key(row.when) not in facts.conditions):
            continue
        value = values.get(key(row.measure))
        margin = None
        if value is not None and row.limit is not None:
            margin = row.limit - value if key(row.measure) in AT_MOST else value - row.limit
        found.append(Test(row, value, margin))
    return found
