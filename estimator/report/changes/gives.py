"""What an option gives the customer, held against an earlier revision: in words without money."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from estimator.core.names import key
from estimator.report.changes.model import Printed, PrintedOption, PrintedPoint
from estimator.report.words import short_length

SMALL = 0.005  # m; feet and inches are printed to the eighth of an inch
OFFERS = {"budget": "a budget figure", "firm": "a firm price", "accepted": "accepted", "expired": "expired"}


def given(before: Printed, now: Printed) -> tuple[str, ...]:
    """Every change that a customer may read, option by option in the order of the new one; then the whole job."""
    found: list[str] = []
    for option in now.options:
        old = before.option(option.site, option.name)
        name = _label(now, option)
        if option.bill is None:
            found += [f"{name} is no longer offered."] if old and old.bill else []
        elif old is None or old.bill is None:
            found.append(f"{name} is new.")
        else:
            found += [_with(name, words) for words in _changes(old, option, now.units)]
    for old in before.options:
        if old.bill is not None and now.option(old.site, old.name) is None:
            found.append(f"{_label(before, old)} is no longer offered.")
    found += _chosen(before, now)
    if before.whole is not None or now.whole is not None:
        blank = PrintedOption("", "", True, "", "", None)
        words = facts_changed(before.whole or blank, now.whole or blank)
        found += [f"For the whole job: {w[:1].lower()}{w[1:]}" for w in words]
    return tuple(found)


def _with(name: str, words: str) -> str:
    return f"{name}: {words[:1].lower()}{words[1:]}" if name else words


def _label(job: Printed, option: PrintedOption) -> str:
    """How an option is called: no more than is needed to tell it from the others."""
    many = len({key(o.site) for o in job.options}) > 1
    several = sum(key(o.site) == key(option.site) for o in job.options) > 1
    if many and not several:
        return option.site
    return f"{option.site}, option {option.name}" if many else f"Option {option.name}"


def _changes(old: PrintedOption, now: PrintedOption, units: str) -> list[str]:
    found = facts_changed(old, now)
    if old.facts:  # a workbook that says nothing of these cannot be held against one that does
        found += _points(old.points, now.points, units)
    if key(old.offer) != key(now.offer) and old.offer and (now.chosen or now.offer != "accepted"):
        found.append(f"The price was {OFFERS.get(old.offer, old.offer)} and is now {OFFERS.get(now.offer, now.offer)}.")
    return found


def facts_changed(old: PrintedOption, now: PrintedOption) -> list[str]:
    """What an option gives otherwise, by the names of its facts; nothing where the old one says nothing of them."""
    if not old.facts and old.bill is not None and old.site:
        return []
    found = []
    for name in dict.fromkeys([*now.facts, *old.facts]):
        was, is_now = (_line(facts.get(name, "")) for facts in (old.facts, now.facts))
        if key(was) == key(is_now):
            continue
        if was and is_now:
            found.append(f"{name}: was {was}; is now {is_now}.")
        else:
            found.append(f"{name}, no longer: {was}." if was else f"{name}, new: {is_now}.")
    return found


def _line(words: str) -> str:
    return ", ".join(part.strip() for part in words.split("\n") if part.strip()).rstrip(".")


def _points(old: Sequence[PrintedPoint], now: Sequence[PrintedPoint], units: str) -> list[str]:
    """Fixings that are new, gone, moved or held otherwise."""
    before, after = ({key(p.fixing): p for p in points} for points in (old, now))
    found = []
    for name, point in after.items():
        if name in before:
            words = _moved(before[name], point, units)
            found += [f"Fixing {point.fixing} ({point.held_by}) {words}."] if words else []
        else:
            found.append(f"Fixing {point.fixing} ({point.held_by}) is new.")
    return found + [f"Fixing {p.fixing} ({p.held_by}) is gone." for name, p in before.items() if name not in after]


def _moved(old: PrintedPoint, now: PrintedPoint, units: str) -> str:
    words = []
    away = hypot(now.across - old.across, now.out - old.out)
    if away > SMALL:
        words.append(f"is moved by {short_length(_shown(away), units)}")
    rise = now.height - old.height
    if abs(rise) > SMALL:
        words.append(f"is {short_length(_shown(abs(rise)), units)} {'higher' if rise > 0 else 'lower'}")
    if key(old.held_by) != key(now.held_by):
        words.append(f"was held by {old.held_by}")
    return " and ".join(words)


def _shown(metres: float) -> float:
    """To the centimetre: a move is no cut length."""
    return round(metres, 2) or metres


def _chosen(before: Printed, now: Printed) -> list[str]:
    """Sites where another option is chosen now."""
    found = []
    for option in now.options:
        old = next((o for o in before.options if key(o.site) == key(option.site) and o.chosen), None)
        if option.chosen and old is not None and key(old.name) != key(option.name):
            many = len({key(o.site) for o in now.options}) > 1
            where = f"{option.site}: option" if many else "Option"
            found.append(f"{where} {option.name} is chosen now, before it was option {old.name}.")
    return found
