"""Consent rows as JSON."""

from __future__ import annotations

from typing import Any

from estimator.takeoff.consent import Compared


def consent_data(c: Compared) -> dict[str, Any]:
    """One row held against the option, in SI; null for what is not known."""
    asked = c.row.limit is None
    return {
        "measure": c.row.measure,
        "when": c.row.when,
        "compare": None if asked else c.row.compare,
        "limit": c.row.limit,
        "value": c.known.amount,
        "bound": c.known.bound or None,
        "margin": c.margin,
        "inside": c.inside,
        "source": c.row.origin.source,
        "question": c.question or None,
    }
