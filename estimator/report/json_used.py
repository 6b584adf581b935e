"""What was used, held against the plan, as JSON."""

from __future__ import annotations

from typing import Any

from estimator.core.money import plain
from estimator.pricing.model import PricedJob, Used
from estimator.pricing.used import after_job


def used_data(priced: PricedJob) -> dict[str, Any]:
    """The rows and what is left over the cost; nothing where the sheet Actuals has no rows."""
    if not priced.used:
        return {}
    after = after_job(priced)
    return {
        "planned_and_used": [_row(u) for u in priced.used],
        "after_job": {
            "cost": str(after.cost),
            "hours_cost_more": str(after.hours),
            "quantities_cost_more": str(after.quantities),
            "cost_after": str(after.cost_after),
            "price_before_tax": str(after.price),
            "left": str(after.left),
            "left_after": str(after.left_after),
        },
    }


def _row(u: Used) -> dict[str, Any]:
    return {
        "site": u.site or None,
        "option": u.option or None,
        "what": u.what,
        "task": u.is_task,
        "planned": plain(u.planned_quantity),
        "used": plain(u.used),
        "unit": u.unit,
        "planned_cost": str(u.planned_cost),
        "used_cost": str(u.used_cost),
        "counted": u.counted,
    }
