"""Lines typed in `Extras`: added, instead of a computed line, by others, offered apart, variations."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from estimator.core.money import plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.core.units import convert
from estimator.job.model import Extra
from estimator.rates.model import Item, RateBook
from estimator.takeoff.lines import make_line, whole_packs
from estimator.takeoff.model import Apart, Hours, Line

TYPED = "extra"


@dataclass(frozen=True, slots=True)
class ExtraLines:
    """What the extras of one option give."""

    lines: tuple[Line, ...]
    apart: tuple[Apart, ...]
    hours: tuple[Hours, ...]
    excluded: tuple[str, ...]
    shown: tuple[str, ...]


def priced_codes(book: RateBook) -> Mapping[str, Item]:
    """Everything an extra may name as its item, by key, seen as an item."""
    found = dict(book.items)
    for s in book.sails.values():
        found[key(s.code)] = Item(s.code, s.description, "material", "each", s.price, None, None, s.origin)
    for c in book.cloths.values():
        found[key(c.code)] = Item(c.code, c.description, "material", "m2", c.price, None, None, c.origin)
    for p in book.rigging.values():
        found[key(p.code)] = Item(p.code, p.description, "material", p.per, p.price, None, None, p.origin)
    for post in book.posts.values():
        found[key(post.code)] = Item(
            post.code, post.description, "material", post.per, post.price, None, None, post.origin
        )
    for w in book.concrete.values():
        unit = "bag" if w.form == "bag" else "m3"
        found[key(w.code)] = Item(w.code, w.description, "material", unit, w.price, w.pack, None, w.origin)
    return found


def extra_lines(book: RateBook, extras: Sequence[Extra], usual_visit: str) -> tuple[ExtraLines, list[Problem]]:
    """The extras of one option or of the whole job.

    usual_visit: where labour without a visit is done; it is said aloud.
    """
    codes = priced_codes(book)
    lines: list[Line] = []
    apart: list[Apart] = []
    hours: list[Hours] = []
    excluded: list[str] = []
    shown: list[str] = []
    problems: list[Problem] = []
    for extra in extras:
        if extra.by_others:
            excluded.append(extra.description)
            continue
        if extra.quantity == 0:
            continue
        line = _line(extra, codes)
        if isinstance(line, Problem):
            problems.append(line)
            continue
        line = replace(line, given=extra.given)
        if extra.offered_apart or extra.variation:
            why = "variation" if extra.variation else "offered apart"
            apart.append(Apart(line, why, extra.variation, extra.reason))
            continue
        lines.append(line)
        if extra.shown:
            shown.append(extra.description)
        if line.kind == "labour" and (worked := convert(line.quantity, line.unit, "h")) is not None:
            if not extra.visit and usual_visit:
                place = extra.source.place("Visit")
                problems.append(problem("extra-visit", place, description=extra.description, visit=usual_visit))
            visit = extra.visit.casefold() or usual_visit
            hours.append(Hours(extra.description, TYPED, visit, float(worked), "typed in Extras"))
    return ExtraLines(tuple(lines), tuple(apart), tuple(hours), tuple(excluded), tuple(shown)), problems


def replaced_codes(extras: Sequence[Extra]) -> frozenset[str]:
    """Keys of the computed lines that extras take the place of."""
    return frozenset(key(e.instead_of) for e in extras if e.instead_of and not (e.offered_apart or e.variation))


def _line(extra: Extra, codes: Mapping[str, Item]) -> Line | Problem:
    words = [f"typed in {extra.source.place('Description')}"]
    if extra.instead_of:
        words.append(f"instead of {extra.instead_of}")
    if extra.reason:
        words.append(f"because: {extra.reason}")
    if not extra.item:
        cost = extra.cost_each if extra.cost_each is not None else Decimal(0)
        kind = extra.kind or "material"
        code = extra.instead_of or TYPED
        return make_line(
            code, extra.description, kind, extra.quantity, extra.unit, cost, "; ".join(words), shown=extra.shown
        )
    item = codes[key(extra.item)]
    quantity = convert(extra.quantity, extra.unit, item.unit)
    if quantity is None:
        return problem("unit-mismatch", extra.source.place("Unit"), found=extra.unit, item=item.code, unit=item.unit)
    if key(extra.unit) != key(item.unit):
        words.append(f"{plain(extra.quantity)} {extra.unit} = {plain(quantity)} {item.unit}")
    billed, packs = whole_packs(quantity, item.pack, item.minimum)
    return make_line(
        item.code,
        extra.description,
        extra.kind or item.kind,
        billed,
        item.unit,
        item.price,
        "; ".join(words) + packs,
        item.origin,
        extra.shown,
        needed=quantity,
    )
