"""Two priced workbooks held against each other: what was asked for, the rates, what is given, and why in money."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimator.core.money import plain
from estimator.core.problems import Place, Problem, problem
from estimator.report.changes.asked import asked
from estimator.report.changes.gives import given
from estimator.report.changes.model import Printed, PrintedOption
from estimator.report.changes.parts import CAUSES, Part, by_cause, parts_of
from estimator.report.changes.printed import read_printed
from estimator.report.words import money_words
from estimator.sheets.door import Opened

MOST_PARTS = 6  # lines that are told for one cause; the workbook has them all


@dataclass(frozen=True, slots=True)
class Money:
    """One option, or the lines of the whole job, before and now; None where it is in one of the two only."""

    before: PrintedOption | None
    now: PrintedOption | None
    parts: tuple[Part, ...]

    @property
    def called(self) -> str:
        """In words."""
        option = self.now or self.before
        assert option is not None
        return option.called

    @property
    def prices(self) -> tuple[Decimal | None, Decimal | None]:
        """With tax; None where there is none."""
        return _price(self.before), _price(self.now)


@dataclass(frozen=True, slots=True)
class Compared:
    """asked: None where a workbook holds no sheets of the job; money: in the order of the new workbook."""

    before: Printed
    now: Printed
    asked: tuple[str, ...] | None
    rates: tuple[str, ...]
    given: tuple[str, ...]
    money: tuple[Money, ...]

    @property
    def nothing(self) -> bool:
        """Whether nothing at all has changed."""
        same = all(m.prices[0] == m.prices[1] and not m.parts and m.before and m.now for m in self.money)
        return same and not (self.asked or self.rates or self.given)


def compare(before: Opened, now: Opened) -> Compared | list[Problem]:
    """Two priced workbooks compared; or why one of them cannot be used."""
    found = [read_printed(o) for o in (before, now)]
    wrong = [f for f in found if isinstance(f, Problem)]
    old, new = found
    if wrong or isinstance(old, Problem) or isinstance(new, Problem):
        return wrong
    if old.currency != new.currency:
        words = {"before": old.currency or "none", "now": new.currency or "none", "other": old.file}
        return [problem("compare-currency", Place(file=new.file), **words)]
    return Compared(old, new, asked(before, now), rates(old, new), given(old, new), money(old, new))


def rates(before: Printed, now: Printed) -> tuple[str, ...]:
    """Rates used in both, steps and settings that differ, in words."""
    found = [
        f"{table} {code}: {plain(before.rates[table, code, per])} a {per}, now {plain(rate)}"
        for (table, code, per), rate in now.rates.items()
        if before.rates.get((table, code, per), rate) != rate
    ]
    for at, rate in now.steps.items():
        old = before.steps.get(at)
        if old != rate:
            was = "not there" if old is None else f"{plain(old * 100)} %"
            found.append(f"{at[0]} {at[1]}: {was}, now {plain(rate * 100)} %")
    found += [
        f"{a} {b}: {plain(v * 100)} %, now not there" for (a, b), v in before.steps.items() if (a, b) not in now.steps
    ]
    for name in dict.fromkeys([*now.settings, *before.settings]):
        was, is_now = before.settings.get(name, "not there"), now.settings.get(name, "not there")
        if was != is_now:
            found.append(f"setting {name}: {was}, now {is_now}")
    return tuple(found)


def money(before: Printed, now: Printed) -> tuple[Money, ...]:
    """Every option of both, then the lines of the whole job, with the parts of the difference where both have a
    price."""
    pairs: list[tuple[PrintedOption | None, PrintedOption | None]] = []
    pairs += [(before.option(o.site, o.name), o) for o in now.options]
    pairs += [(o, None) for o in before.options if now.option(o.site, o.name) is None]
    if before.whole or now.whole:
        pairs.append((before.whole, now.whole))
    return tuple(Money(old, new, _parts(old, new)) for old, new in pairs)


def _parts(old: PrintedOption | None, new: PrintedOption | None) -> tuple[Part, ...]:
    return parts_of(old.bill, new.bill) if old and new and old.bill and new.bill else ()


def _price(option: PrintedOption | None) -> Decimal | None:
    return option.bill.price if option and option.bill else None


def more_or_less(difference: Decimal, currency: str) -> str:
    """A difference in words.

    >>> more_or_less(Decimal("-12.5"), "EUR"), more_or_less(Decimal("3"), "$"), more_or_less(Decimal("0"), "$")
    ('EUR 12.50 less', '$3.00 more', 'the same')
    """
    if not difference:
        return "the same"
    return f"{money_words(abs(difference), currency)} {'more' if difference > 0 else 'less'}"


def in_words(found: Compared) -> Iterator[str]:
    """What there is to say, line by line."""
    old, new = found.before, found.now
    yield f"before: {old.file}, revision {old.revision}, priced on {old.day.isoformat()}"
    yield f"now:    {new.file}, revision {new.revision}, priced on {new.day.isoformat()}"
    if found.nothing:
        yield "Nothing has changed."
        return
    if found.asked is None:
        yield "What was asked for cannot be compared: one of the workbooks holds no sheets of its job."
    yield from _listed("What was asked for", found.asked or ())
    yield from _listed("Rates, charges, taxes and settings", found.rates)
    yield from _listed("What the customer gets", found.given)
    yield "Money, with tax"
    for each in found.money:
        yield from _money(each, new.currency)
    before, now = old.price, new.price
    yield (
        f"  all that is chosen: {money_words(before, new.currency)}, now {money_words(now, new.currency)}: "
        f"{more_or_less(now - before, new.currency)}"
    )


def _listed(heading: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield heading
        yield from (f"  {line}" for line in lines)


def _money(each: Money, currency: str) -> Iterator[str]:
    before, now = each.prices
    if before is None or now is None:
        was, is_now = (_told(p, o, currency) for p, o in ((before, each.before), (now, each.now)))
        yield f"  {each.called}: {was}, now {is_now}"
        return
    words = f"{money_words(before, currency)}, now {money_words(now, currency)}: {more_or_less(now - before, currency)}"
    yield f"  {each.called}: {words}"
    for words, amount in by_cause(each.parts):
        yield f"    {amount:+,.2f}  {words}"
        mine = [p for p in each.parts if CAUSES[p.cause] == words]
        for part in mine[:MOST_PARTS]:
            yield f"        {part.amount:+,.2f}  {part.what}{': ' + part.how if part.how else ''}"
        if len(mine) > MOST_PARTS:
            rest = sum((p.amount for p in mine[MOST_PARTS:]), Decimal(0))
            yield f"        {rest:+,.2f}  {len(mine) - MOST_PARTS} more"


def _told(price: Decimal | None, option: PrintedOption | None, currency: str) -> str:
    if price is not None:
        return money_words(price, currency)
    return "not priced" if option else "not there"
