"""A change that was tried, in words: its price, what the customer gives up, and the take-down gust."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from estimator.aim.tries import Scope, Tried, same, with_changes
from estimator.core.money import plain
from estimator.pricing.aim import Priced, rate_for
from estimator.pricing.model import PricedJob, PricedOption
from estimator.pricing.taxes import taxes_for
from estimator.report.changes.compared import more_or_less
from estimator.report.changes.gives import facts_changed
from estimator.report.changes.of_priced import printed_option
from estimator.report.side_facts import TOLD
from estimator.report.terms import terms_of
from estimator.report.words import money_words, plural
from estimator.screening.limit import gust_words, printed_gust
from estimator.takeoff.model import Takeoff

MOST_WARNINGS = 3
NOTHING = "nothing that the customer can see"
INDICATIVE = "(indicative, for an engineer to confirm)"
STILL = 0.05  # km/h between two screened gusts that are the same


def called(option: PricedOption) -> str:
    """An option in words."""
    return f"{option.site.name}, option {option.option.name}"


def percent(rate: Decimal) -> str:
    """A rate as a per cent.

    >>> percent(Decimal("0.2345"))
    '23.45 %'
    """
    return f"{plain(rate * 100)} %"


def told(scope: Scope, aim: Decimal, number: int, each: Tried, unchanged: PricedJob) -> Iterator[str]:
    """What there is to say of one change. unchanged: the small job of its option as it is, screened."""
    currency = terms_of(scope.priced).currency
    words = " and ".join(c.words for c in each.changes)
    if each.other is not None:
        words = f"option {each.other.option.name} instead"
    where = f"{called(each.option)}: " if len(scope.options) > 1 else ""
    gap = aim - each.price
    under = f"{money_words(gap, currency)} under the price wanted" if gap > 0 else "just the price wanted"
    if gap < 0:
        under = f"still {money_words(-gap, currency)} over the price wanted"
    less = more_or_less(each.price - scope.now, currency)
    yield f"{number}. {where}{words}: {money_words(each.price, currency)}, {less}; {under}."
    option = each.other or each.option
    made = with_changes(scope, option, each.changes, wind=True)
    before, after = _one(unchanged, each.option), _one(made, option)
    yield f"   gives up: {_given_up(scope.priced, made, before, after, each)}."
    yield f"   take-down gust: {_gust(scope.priced, before, after)}."
    if gap < 0 and len(scope.options) == 1 and not (scope.whole and scope.priced.job_bill):
        yield from _then(scope, made, after, aim)
    if each.other is None:
        yield from (f"   then: {warning}" for warning in _new_warnings(unchanged, made))


def _one(made: PricedJob, option: PricedOption) -> PricedOption:
    return next(o for o in made.options if same(o, option))


def _given_up(priced: PricedJob, made: PricedJob, before: PricedOption, after: PricedOption, each: Tried) -> str:
    """What the customer gets less of, or otherwise; the gust has a line of its own."""
    found = [w.rstrip(".") for w in facts_changed(printed_option(priced, before), printed_option(made, after))]
    found = [w for w in found if not w.startswith(TOLD)]
    had, has = _area(before.taken), _area(after.taken)
    if has < had - 0.005:
        found.append(f"{had - has:.2f} m2 of {had:.2f} m2 of shade (net area)")
    gone = [v for v in before.taken.visits if v not in after.taken.visits]
    if gone and not any(c.kind.startswith("visit") for c in each.changes):
        found.append(f"{plural(len(gone), 'visit')}: {', '.join(gone)}")
    found += [c.loses for c in each.changes if c.loses]
    return "; ".join(dict.fromkeys(found)) or NOTHING


def _area(taken: Takeoff) -> float:
    return sum(s.net_area for s in taken.sails)


def _gust(priced: PricedJob, before: PricedOption, after: PricedOption) -> str:
    """What would be told, and the screened gust, against what they are now."""
    was, now = (printed_gust(priced.book, o.screened) for o in (before, after))
    words = f"{gust_words(now)} told" if now else "none told, not to be hung before an engineer has decided"
    if was == now:
        words += ", as before"
    else:
        words += f", {'LOWER' if now < was else 'higher'} than {was:.0f} km/h before"
    downs = [o.screened.take_down if o.screened else None for o in (before, after)]
    if downs[1] is None:
        return f"{words}; the changed option is not screened"
    first, second = (None if d is None else d.wind * 3.6 for d in downs)
    assert second is not None
    shown = "used up in still air" if second < STILL else f"{second:.1f} km/h"
    if first is None:
        return f"{words}; screened {shown} {INDICATIVE}"
    if abs(first - second) < STILL:
        return f"{words}; screened {shown}, as before {INDICATIVE}"
    sense = "LOWER" if second < first else "higher"
    return f"{words}; screened {shown}, {sense} than {first:.1f} km/h before {INDICATIVE}"


def _then(scope: Scope, made: PricedJob, after: PricedOption, aim: Decimal) -> Iterator[str]:
    """The margin that reaches the aim together with a change that alone does not."""
    taxes, _ = taxes_for(made.book, made.job.header)
    blocks = [Priced(after.bill.lines, True)] if after.bill else []
    found = rate_for(made.book, made.job.header, blocks, taxes, aim, before_tax=scope.before_tax)
    if found.rate is not None:
        yield f"   with it a margin of {percent(found.rate)} would do."


def _new_warnings(unchanged: PricedJob, made: PricedJob) -> Sequence[str]:
    """Warnings that the change brings with it."""
    old = {(p.code, p.fixing) for p in unchanged.problems}
    new = [p.message for p in made.problems if p.level == "warning" and (p.code, p.fixing) not in old and p.option]
    more = [f"and {plural(len(new) - MOST_WARNINGS, 'more warning')}."] if len(new) > MOST_WARNINGS else []
    return [*new[:MOST_WARNINGS], *more]
