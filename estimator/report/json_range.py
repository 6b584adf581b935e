"""The range of the price as plain data: money as decimal strings, shares as fractions."""

from __future__ import annotations

from typing import Any

from estimator.pricing.chance import Spread
from estimator.pricing.model import PricedJob

VALUES = ("low10", "middle50", "high90", "mean", "sd")


def range_data(priced: PricedJob) -> dict[str, Any]:
    """The key `range`; no key where the job has none.

    low10 to sd and the movers are of the price with tax; contingency: the one that the range justifies, a fraction of
    the cost, beside the one in the price; at_low, at_high: what that input alone makes of the price.
    """
    found, cost = priced.ranged, priced.totals.cost
    if found is None:
        return {}
    return {
        "range": {
            **_values(found.price),
            "before_tax": _values(found.before_tax),
            "cost": _values(found.cost),
            "seed": found.seed,
            "draws": found.draws,
            "correlation": found.correlation,
            "chance": found.chance,
            "contingency": f"{found.justified / cost:.6f}" if found.justified is not None and cost else None,
            "contingency_in_price": f"{found.contingency / cost:.6f}" if cost else None,
            "contingency_enough": found.enough,
            "cost_covered": found.covered,
            "movers": [
                {"name": m.name, "at_low": str(m.at_low), "at_high": str(m.at_high)} for m in found.price.movers
            ],
        }
    }


def _values(spread: Spread) -> dict[str, str]:
    return {name: str(getattr(spread, name)) for name in VALUES}
