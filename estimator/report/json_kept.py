"""What the JSON says of accepted prices, variations and what changed since an earlier revision."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from estimator.core.money import plain
from estimator.pricing.model import Accepted, Changes, PricedJob
from estimator.pricing.told import contract, variations


def accepted_data(accepted: Accepted) -> dict[str, Any]:
    """An accepted price."""
    return {
        "price_before_tax": str(accepted.price_before_tax),
        "tax": str(accepted.tax),
        "price": str(accepted.price),
        "revision": accepted.revision,
        "priced_on": accepted.day.isoformat(),
    }


def kept_data(priced: PricedJob) -> dict[str, Any]:
    """The keys of the whole job; each only where there is something to say."""
    data: dict[str, Any] = {}
    if priced.job_accepted:
        data["job_accepted"] = accepted_data(priced.job_accepted)
    whole, varied = contract(priced), variations(priced)
    if varied:
        data["variations"] = [
            {
                "variation": v.name,
                "price": str(v.price),
                "lines": [
                    {
                        "site": x.option.site.name if x.option else None,
                        "option": x.option.option.name if x.option else None,
                        "description": x.apart.line.description,
                        "quantity": plain(x.apart.line.quantity),
                        "unit": x.apart.line.unit,
                        "reason": x.apart.reason,
                        "price": str(x.price),
                        "counted": x.counted,
                    }
                    for x in v.lines
                ],
            }
            for v in varied
        ]
    if whole is not None:
        total = whole + sum((v.price for v in varied), Decimal("0.00"))
        data["contract"] = {"accepted": str(whole), "with_variations": str(total)}
    if priced.changes is not None:
        data["changes"] = _changes(priced.changes)
    return data


def _changes(changes: Changes) -> dict[str, Any]:
    return {
        "revision": changes.revision,
        "file": changes.file,
        "priced_on": changes.day.isoformat(),
        "told": list(changes.told),
        "office": list(changes.office),
        "prices": [
            {
                "site": p.site or None,
                "option": p.option or None,
                "before": None if p.before is None else str(p.before),
                "now": None if p.now is None else str(p.now),
                "parts": [{"why": words, "amount": str(amount)} for words, amount in p.parts],
            }
            for p in changes.prices
        ],
    }
