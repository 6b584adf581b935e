"""What the customer reads of paying, and of the digging that the price holds: figures beside the book's texts."""

from __future__ import annotations

from decimal import Decimal

from estimator.core.money import cents, plain
from estimator.pricing.digging import digging_of
from estimator.pricing.model import PricedJob, PricedOption
from estimator.pricing.payment import payment_of
from estimator.report.quote_offer import without_tax
from estimator.report.quote_text import by_option, texts
from estimator.report.terms import terms_of
from estimator.report.words import money_words, plural


def payment(priced: PricedJob) -> list[str]:
    """The deposit and the stages with their money where the total is known; why no tax; the texts; the bank."""
    currency = terms_of(priced).currency
    found = []
    for part in payment_of(priced).parts:
        amount = "" if part.amount is None else f": {money_words(part.amount, currency)}"
        found.append(f"{part.name[:1].upper()}{part.name[1:]} {plain(cents(part.share * 100))} %{amount}.")
    header = priced.job.header
    if header.tax_reason and header.taxes == ():
        found.append(f"No tax is added: {header.tax_reason.rstrip('.')}.")
    found += texts(priced, "payment")
    bank = priced.book.business.get("bank line", "")
    return [*found, bank] if bank else found


def digging(priced: PricedJob) -> list[str]:
    """The minutes a hole that the price holds, tied to the number of holes, and what an hour beyond that costs."""
    return by_option(priced, lambda option: _digging(priced, option))


def _digging(priced: PricedJob, option: PricedOption) -> str:
    found = digging_of(priced.book, priced.job.header, option)
    if found is None:
        return ""
    of = "of the machine" if found.by_machine else "of one person"
    minutes = f"{plain(found.minutes)} minutes {of}" + (" each" if found.holes > 1 else "")
    words = f"Digging in the price: {plural(found.holes, 'hole')}, {minutes}."
    if found.hour is None:
        return words
    price, tax = found.hour.price, found.hour.tax
    if without_tax(priced):
        price, said = found.hour.price_before_tax, " before tax"
    else:
        said = " with tax" if tax > Decimal(0) else ""
    return f"{words} Each hour beyond that: {money_words(price, terms_of(priced).currency)}{said}."
