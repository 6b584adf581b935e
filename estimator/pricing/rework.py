"""What it costs to come back once more: for work that has to be done again, and is in no price."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import cents, from_float
from estimator.core.names import key
from estimator.job.model import Header, Site
from estimator.rates.model import RateBook
from estimator.takeoff import labour
from estimator.takeoff.finish import crew_of

BACK = "back"


@dataclass(frozen=True, slots=True)
class ComingBack:
    """One visit more: km there and back, person-hours on the road and to set up, and both at cost."""

    km: float
    hours: float
    cost: Decimal


def coming_back(book: RateBook, header: Header, site: Site) -> ComingBack:
    """One visit more to a site, before anything is done there."""
    km = 2 * site.travel
    rows = labour.travel_hours(book, km, crew_of(book, header), [BACK])
    rows += labour.task_hours(book.labour, {"visit": {"count": 1.0, "km": km}}, {}, only=("visit",))
    vehicle = book.items.get(key(book.text("travel item")))
    cost = cents(from_float(km) * vehicle.price) if vehicle else Decimal(0)
    for row in rows:
        trade = book.trades.get(key(row.trade))
        cost += cents(from_float(row.hours) * trade.cost_per_hour) if trade else Decimal(0)
    return ComingBack(km, sum(r.hours for r in rows), cost)
