"""What an option gives the customer, in words and without money: to hold options beside each other, and one revision
beside the next. Nothing of the office's stands in it."""

from __future__ import annotations

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import quote_scope
from estimator.report.words import first_small, sail_words
from estimator.screening.limit import told_words

SAIL, CLOTH, COLOUR, FIXED, INCLUDED, OTHERS = "Sail", "Cloth", "Colour", "Fixed to", "Also included", "By others"
TOLD = "Take-down gust"
MADE = {"stock": "ready-made", "made to size": "made to this size", "made to fit": "made to fit the place"}


def option_facts(priced: PricedJob, option: PricedOption) -> dict[str, str]:
    """By name, in the order of the quote; several sails, or parts, a line each. Only what is known."""
    taken, units = option.taken, priced.job.header.units
    found = {
        SAIL: _lines(f"{sail_words(s, units)}, {MADE.get(s.origin, s.origin)}" for s in taken.sails),
        CLOTH: _lines(cloth_words(priced, s.cloth) for s in taken.sails),
        COLOUR: _lines(s.colour for s in taken.sails),
        FIXED: quote_scope.fixed_to(priced, option),
        **{name: values[0] for name, values in quote_scope.posts(priced, [option]).items()},
        INCLUDED: _lines(shown(option)),
        OTHERS: _lines(taken.excluded),
        TOLD: told_words(priced.book, option.screened) if taken.sails else "",
    }
    return {name: words for name, words in found.items() if words}


def whole_facts(priced: PricedJob) -> dict[str, str]:
    """The same of the whole job."""
    lines = priced.job_bill.lines if priced.job_bill else ()
    others = (e.description for e in priced.job.extras if e.by_others and not e.site)
    found = {INCLUDED: _lines(x.description for x in lines if x.shown), OTHERS: _lines(others)}
    return {name: words for name, words in found.items() if words}


def cloth_words(priced: PricedJob, code: str) -> str:
    """A cloth in words; a code of the rate book is never shown."""
    cloth = priced.book.cloths.get(key(code))
    return first_small(cloth.description) if cloth and cloth.description else ("" if cloth else code)


def shown(option: PricedOption) -> list[str]:
    """The extras that the quote names."""
    lines = option.bill.lines if option.bill else ()
    return [*option.taken.shown, *(x.description for x in lines if x.shown)]


def _lines(parts: object) -> str:
    return "\n".join(dict.fromkeys(p for p in parts if p))  # type: ignore[attr-defined]
