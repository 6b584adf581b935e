"""What a price rests on, how it is paid and what it holds of digging, as plain data; money as decimal strings."""

from __future__ import annotations

from typing import Any

from estimator.core.money import plain
from estimator.pricing.digging import digging_of
from estimator.pricing.model import PricedJob, PricedOption
from estimator.pricing.payment import payment_of
from estimator.pricing.rests import rests_on


def payment_data(priced: PricedJob) -> dict[str, Any]:
    """The deposit and the stages; amounts are null while the total is not complete."""
    payment = payment_of(priced)
    data: dict[str, Any] = {
        "parts": [
            {"stage": p.name, "share": plain(p.share), "amount": None if p.amount is None else str(p.amount)}
            for p in payment.parts
        ],
        "deposit_asked": plain(payment.asked),
    }
    if payment.cap:
        data["deposit_cap"] = plain(payment.cap.cap)
    return {"payment": data}


def option_money(priced: PricedJob, option: PricedOption) -> dict[str, Any]:
    """What the cost of an option rests on, and the digging in its price."""
    if option.bill is None:
        return {}
    rests = rests_on(priced.job, priced.book, option.bill, option)
    data: dict[str, Any] = {
        "rests_on": {
            name: str(getattr(rests, name)) for name in ("cost", "firm", "verbal", "unsaid", "own", "told", "assumed")
        }
    }
    found = digging_of(priced.book, priced.job.header, option)
    if found:
        data["digging"] = {
            "holes": found.holes,
            "digging": found.digging,
            "minutes_per_hole": plain(found.minutes),
            "of": "machine" if found.by_machine else "person",
            "hour_price_before_tax": None if found.hour is None else str(found.hour.price_before_tax),
            "hour_price": None if found.hour is None else str(found.hour.price),
        }
    return data
