"""Whether rates are what they were meant to be: a decimal point that has moved, a tax that cannot be, sums."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from math import log10
from typing import Any

from estimator.core.money import plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.rates.build_money import as_decimal, newest
from estimator.rates.checks import Rows
from estimator.rates.columns import KEYS, RATE_TABLES
from estimator.rates.rows import RateRow

NEAR_TEN = 1.5  # a price that also rose by half still shows that its decimal point has moved
# Rates in per cent beyond which a slip is likelier: no standard rate of a sales tax that we know of is over 27 %.
HIGH = {"taxes": Decimal("0.40"), "charges": Decimal("1.00")}
BY_TIME = ("h", "hour", "hours", "day", "days", "d")


def slipped(now: Decimal, before: Decimal) -> int:
    """By how many places the decimal point has moved between two values; 0 where it has not.

    >>> [slipped(Decimal(a), Decimal(b)) for a, b in (("295", "2.95"), ("2.95", "295"), ("12", "10"), ("30", "10"))]
    [2, -2, 0, 0]
    """
    if now <= 0 or before <= 0:
        return 0
    power = log10(now / before)
    whole = int(power + (0.5 if power > 0 else -0.5))
    return whole if abs(power - whole) <= log10(NEAR_TEN) else 0


def money_checks(rows: Rows) -> list[Problem]:
    """What is wrong or odd with the rates of a whole book."""
    return [*_tenfold(rows), *_high(rows), *_stages(rows), *_hours(rows), *_limits(rows)]


def _tenfold(rows: Rows) -> Iterator[Problem]:
    """Every number of a row in force against the same row of the day before it."""
    for table in RATE_TABLES:
        name = table.sheet
        columns = [
            c.name for c in table.columns if c.kind in ("money", "percent", "number") and c.name not in KEYS[name]
        ]
        if not columns:
            continue
        by_key: dict[str, list[RateRow]] = {}
        for r in rows.all[name]:
            by_key.setdefault(r.key, []).append(r)
        for r in rows.now[name]:
            older = [o for o in by_key[r.key] if o.since < r.since]
            if not older:
                continue
            old = max(older, key=lambda o: o.since)
            for column in columns:
                yield from _one(r, old, column, r.values.get(column), old.values.get(column))
    settings: dict[str, list[RateRow]] = {}
    for r in rows.all["settings"]:
        settings.setdefault(r.key, []).append(r)
    for r in rows.now["settings"]:
        older = [o for o in settings[r.key] if o.since < r.since]
        old = max(older, key=lambda o: o.since, default=r)
        if key(old.text("unit")) == key(r.text("unit")):
            yield from _one(r, old, "value", _plain_number(r), _plain_number(old))


def _plain_number(r: RateRow) -> Decimal | None:
    """The value of a setting where it is a bare number; text and numbers with a unit of their own are not compared."""
    try:
        value = Decimal(r.text("value"))
    except InvalidOperation:
        return None
    return value if value.is_finite() else None


def _one(r: RateRow, old: RateRow, column: str, new_value: Any, old_value: Any) -> Iterator[Problem]:
    if new_value is None or old_value is None:
        return
    now, before = as_decimal(new_value), as_decimal(old_value)
    power = slipped(now, before)
    if not power:
        return
    times = f"{Decimal(10) ** abs(power)} times" if power > 0 else f"1/{Decimal(10) ** abs(power)} of"
    since = f"from {old.since.isoformat()}" if old.values.get("valid from") else "before"
    meant = plain(now.scaleb(-power))
    words = {"name": r.text(KEYS[r.table][0]), "now": plain(now), "before": plain(before), "since": since}
    yield problem("rate-tenfold", r.place(column), column=column, times=times, meant=meant, **words)


def _high(rows: Rows) -> Iterator[Problem]:
    for table, limit in HIGH.items():
        for r in rows.now[table]:
            rate = r.values["rate"]
            if rate > limit:
                shown = {"found": plain(rate * 100), "limit": plain(limit * 100), "meant": plain(rate * 10)}
                yield problem("rate-high", r.place("rate"), name=r.text(KEYS[table][0]), table=table, **shown)


def _stages(rows: Rows) -> Iterator[Problem]:
    """The stages of one `when` share out the whole of what is left to pay."""
    if "payment_stages" not in rows.sound:
        return
    groups: dict[str, list[RateRow]] = {}
    for r in newest(rows.now["payment_stages"], lambda r: (key(r.text("when")),)):
        groups.setdefault(key(r.text("when")), []).append(r)
    for when, mine in groups.items():
        whole = sum((r.values["share"] for r in mine), Decimal(0))
        if whole != 1:
            words = f"for '{when}'" if when else "that hold always"
            yield problem("stages-sum", mine[-1].place("share"), found=plain(whole * 100), when=words)


def _hours(rows: Rows) -> Iterator[Problem]:
    for r in rows.now["wages"]:
        paid, billed = as_decimal(r.values["paid hours a year"]), as_decimal(r.values["billable hours a year"])
        if billed > paid:
            place = r.place("billable hours a year")
            yield problem("wage-hours", place, name=r.text("trade"), paid=plain(paid), billed=plain(billed))


def _limits(rows: Rows) -> Iterator[Problem]:
    """What an hour beyond the limit costs has to be known, and by time."""
    items = rows.keys("items")
    for r in rows.now["digging_limits"]:
        if not r.text("trade") and not r.text("item"):
            yield problem("digging-limit-bare", r.place("trade"), name=r.text("digging"))
        item = items.get(key(r.text("item")))
        if item and key(item.text("unit")) not in BY_TIME:
            words = {"found": item.text("unit"), "what": f"machine of '{r.text('digging')}'", "wanted": "h or day"}
            yield problem("rate-per", item.place("unit"), column="unit", **words)
