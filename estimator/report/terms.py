"""The terms of a quote: from the job, else from the settings of the rate book."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from estimator.core.money import from_float
from estimator.pricing.model import PricedJob
from estimator.rates.model import RateBook


@dataclass(frozen=True, slots=True)
class Terms:
    """currency: a sign or code; until: the last day of the price, None when nobody says."""

    currency: str
    until: date | None


def terms_of(priced: PricedJob) -> Terms:
    """The terms of a job."""
    header, book = priced.job.header, priced.book
    days = header.valid_days if header.valid_days is not None else _number(book, "valid for")
    currency = header.currency
    if not currency and "currency" in book.settings:
        currency = book.text("currency")
    return Terms(
        currency,
        None if days is None else header.priced_on + timedelta(days=int(days)),
    )


def budget_range(book: RateBook, price: Decimal) -> tuple[Decimal, Decimal]:
    """What a budget figure may come out at, in whole tens, never narrower than the settings say."""
    ten = Decimal(10)
    low, high = _number(book, "budget low") or Decimal(0), _number(book, "budget high") or Decimal(0)
    least = (price * (1 - low) / ten).quantize(Decimal(1), ROUND_FLOOR) * ten
    most = (price * (1 + high) / ten).quantize(Decimal(1), ROUND_CEILING) * ten
    return least, most


def _number(book: RateBook, name: str) -> Decimal | None:
    value = book.settings[name].value if name in book.settings else None
    return from_float(value) if isinstance(value, float) else None
