"""The answer to `estimator aim`: the margin that gives a price, and the changes of the job that would."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from estimator.aim.tries import Scope, best, with_changes
from estimator.aim.words import called, percent, told
from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.pricing.aim import Found, Priced, rate_for
from estimator.pricing.charges import PROFIT
from estimator.pricing.model import Bill, PricedJob
from estimator.pricing.taxes import taxes_for
from estimator.report.terms import terms_of
from estimator.report.words import money_words


@dataclass(frozen=True, slots=True)
class Answer:
    """lines: what there is to say; status: 0 answered, 1 something has no price, 2 wrong usage."""

    lines: tuple[str, ...]
    problems: tuple[Problem, ...]
    status: int


def aim_at(priced: PricedJob, aim: Decimal, option: str = "", site: str = "", *, before_tax: bool = False) -> Answer:
    """The margin and the changes that bring a price about. option, site: which, blank for all that is chosen with the
    lines of the whole job; aim: with tax, unless before_tax."""
    scope = _scope(priced, option, site, before_tax)
    if isinstance(scope, Problem):
        return Answer((), (scope,), 1 if scope.code in ("aim-not-priced", "aim-nothing-chosen") else 2)
    return Answer(tuple(_lines(scope, aim)), (), 0)


def _scope(priced: PricedJob, name: str, site: str, before_tax: bool) -> Scope | Problem:
    place = Place(file=priced.job.file)
    if not name:
        chosen = [o for o in priced.options if o.chosen and (not site or key(o.site.name) == key(site))]
        lost = next((o for o in chosen if o.bill is None), None)
        if lost is not None:
            return problem("aim-not-priced", lost.option.source.place("Option"), name=called(lost))
        if not chosen:
            mine = [o for o in priced.options if not site or key(o.site.name) == key(site)]
            return problem("aim-nothing-chosen", mine[0].option.source.place("Chosen") if mine else place)
        return Scope(priced, tuple(chosen), not site, before_tax)
    named = [o for o in priced.options if key(o.option.name) == key(name)]
    found = [o for o in named if not site or key(o.site.name) == key(site)]
    if not found:
        known = "; ".join(called(o) for o in priced.options)
        return problem(
            "aim-option-unknown", place, found=" / ".join(x for x in (site, name) if x), known=known or "none"
        )
    if len(found) > 1:
        return problem("aim-option-several", place, found=name, sites=", ".join(o.site.name for o in found))
    if found[0].bill is None:
        return problem("aim-not-priced", found[0].option.source.place("Option"), name=called(found[0]))
    return Scope(priced, (found[0],), False, before_tax)


def _lines(scope: Scope, aim: Decimal) -> Iterator[str]:
    currency = terms_of(scope.priced).currency
    tax = "before tax" if scope.before_tax else "with tax"
    what = called(scope.options[0])
    if scope.whole or len(scope.options) > 1:
        what = "all that is chosen"
    now = money_words(scope.now, currency)
    yield f"{what}: {now} {tax} now{_margin_now(scope)}; wanted {money_words(aim, currency)}."
    yield from _margins(scope, aim, currency)
    if aim >= scope.now:
        yield "No change of the job is needed to come down to it."
        return
    found = best(scope, aim)
    if not found:
        yield "No change that was tried brings the price down."
        return
    reach = sum(t.price <= aim for t in found)
    yield (
        "Changes that bring it to the price at the margin there is, the one that takes least off it first:"
        if reach
        else "No change that was tried, nor any pair, brings it to the price at the margin there is. The nearest:"
    )
    touched = {t.option.site.name: t.option for t in found}
    screened = {site: with_changes(scope, option, (), wind=True) for site, option in touched.items()}
    for number, each in enumerate(found, 1):
        yield from told(scope, aim, number, each, screened[each.option.site.name])


def _margin_now(scope: Scope) -> str:
    """The margin that the options are charged with, where it is one."""
    rates = set()
    for o in scope.options:
        steps = [c for c in (o.bill.charges if o.bill else ()) if key(c.step) in PROFIT]
        rates |= {(c.step, c.taken_on, c.rate) for c in steps}
    if len(rates) != 1:
        return ""
    ((step, _, rate),) = rates
    return f" at a {step} of {percent(rate)}" if rate is not None else ""


def _blocks(scope: Scope) -> list[Priced]:
    bills: list[Bill] = [o.bill for o in scope.options if o.bill]
    blocks = [Priced(b.lines, True) for b in bills]
    if scope.whole and scope.priced.job_bill:
        blocks.append(Priced(scope.priced.job_bill.lines, False))
    return blocks


def _margins(scope: Scope, aim: Decimal, currency: str) -> Iterator[str]:
    """The margin, and the markup that is the same; or why there is none."""
    job, book = scope.priced.job, scope.priced.book
    taxes, _ = taxes_for(book, job.header)
    margin, markup = (
        rate_for(book, job.header, _blocks(scope), taxes, aim, before_tax=scope.before_tax, markup=m)
        for m in (False, True)
    )
    if margin.rate is None:
        yield _impossible(margin, aim, currency)
        return
    words = f"A margin of {percent(margin.rate)} on the price"
    if markup.rate is not None and markup.price == margin.price:
        words += f", or a markup of {percent(markup.rate)} on cost,"
    if margin.exact:
        yield f"{words} gives it; priced again with it: {money_words(margin.price, currency)}."
    else:
        step = ", rounded to the job's step" if job.header.round_to else ", rounded to the cent"
        yield f"{words} gives {money_words(margin.price, currency)}, the nearest there is{step}."
    if not scope.whole and len(scope.options) == 1:
        cell = scope.options[0].option.source.place("Profit margin")
        yield f"  Type it under Profit margin of this option (row of {cell})."
    else:
        own = ", ".join(called(o) for o in scope.options if o.option.margin is not None)
        yield "  Type it under Margin of the sheet Job" + (f", and clear Profit margin of {own}." if own else ".")


def _impossible(found: Found, aim: Decimal, currency: str) -> str:
    if found.least == found.most:
        return f"No margin gives it: the price is {money_words(found.least, currency)} at any."
    if aim < found.least:
        less = money_words(found.least - aim, currency)
        return (
            f"No margin gives it: without any it is {money_words(found.least, currency)}, so that {less} would be lost."
        )
    return f"No margin gives it: at 99 %, the highest that can be typed, it is {money_words(found.most, currency)}."
