"""Rows about money: what an hour costs, deposits, payment, what a hole holds, and what is known of each price."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from estimator.core.money import cents, from_float, plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.rates.checks import Rows
from estimator.rates.model import DepositCap, DiggingLimit, Past, PaymentStage, Price, Trade, Wage
from estimator.rates.rows import RateRow

# Column of the price, of what it is for, and of what prices are alike by, table by table.
PRICED: Mapping[str, tuple[str, str, str]] = {
    "sails": ("price", "", ""),
    "cloths": ("price per m2", "", ""),
    "rigging": ("price", "per", "kind"),
    "posts": ("price", "per", "material"),
    "concrete": ("price", "per", "form"),
    "items": ("price", "unit", "kind"),
    "trades": ("cost per hour", "", ""),
}
APART = Decimal("0.01")  # by which a cost of an hour may differ from what the wages build up


def as_decimal(value: Any) -> Decimal:
    """A number of a rate row."""
    return value if isinstance(value, Decimal) else from_float(float(value))


def hour_cost(wage: Decimal, on_costs: Decimal, paid: Decimal, billable: Decimal) -> Decimal:
    """What a billable hour costs: wage x (1 + on-costs) x paid hours / billable hours, half up to the cent.

    on_costs: fraction of the wage; billable > 0. Hours that nobody pays for (leave, office, weather) are borne by
    those that are billed.

    >>> hour_cost(Decimal("27.00"), Decimal("0.28"), Decimal(1800), Decimal(1296))
    Decimal('48.00')
    """
    return cents(wage * (1 + on_costs) * paid / billable)


def wage(r: RateRow) -> Wage:
    """A row of `wages`."""
    v = r.values
    paid, billable = as_decimal(v["paid hours a year"]), as_decimal(v["billable hours a year"])
    pay, more = v["wage per hour"], v["on costs"]
    built = hour_cost(pay, more, paid, billable)
    words = f"{plain(pay)} x (1 + {plain(more * 100)} %) x {plain(paid)} h paid / {plain(billable)} h billed = {built}"
    return Wage(r.text("trade"), pay, more, paid, billable, built, words, r.origin)


def trades(rows: Rows) -> tuple[dict[str, Trade], dict[str, Wage], list[Problem]]:
    """The trades, their cost from the table or else built up; what the table says wins over what wages build up."""
    wages = {r.key: wage(r) for r in rows.now["wages"]}
    found: dict[str, Trade] = {}
    problems: list[Problem] = []
    for r in rows.now["trades"]:
        cost, built = r.values.get("cost per hour"), wages.get(r.key)
        place, name = r.place("cost per hour"), r.text("trade")
        if cost is not None:
            found[r.key] = Trade(name, cost, r.origin)
            if built and abs(cost - built.built_up) > APART * built.built_up:
                problems.append(problem("trade-cost-apart", place, name=name, cost=cost, built=built.built_up))
        elif built:
            origin = replace(r.origin, valid_from=built.origin.valid_from, source=built.origin.source)
            found[r.key] = Trade(name, built.built_up, origin, built.working)
        elif "wages" in rows.sound or not rows.all["wages"]:
            problems.append(problem("trade-cost-blank", place, name=name))
    return found, wages, problems


def newest(rows: Sequence[RateRow], same: Callable[[RateRow], tuple[str, ...]]) -> list[RateRow]:
    """Of rows that count together as a set, those of the set's newest day, so that a new set ends the old one."""
    since: dict[tuple[str, ...], date] = {}
    for r in rows:
        since[same(r)] = max(since.get(same(r), date.min), r.since)
    return [r for r in rows if r.since == since[same(r)]]


def caps(rows: Sequence[RateRow]) -> tuple[DepositCap, ...]:
    """The rows of `deposit_caps`, by price, those above the last at the end."""
    made = [
        DepositCap(
            r.text("place"),
            r.text("customer is"),
            r.values.get("up to"),
            bool(r.values.get("made off site")),
            r.values["cap"],
            r.origin,
        )
        for r in newest(rows, lambda r: tuple(key(r.text(c)) for c in ("place", "customer is", "made off site")))
    ]
    return tuple(sorted(made, key=lambda c: (c.up_to is None, c.up_to or 0)))


def stages(rows: Sequence[RateRow]) -> tuple[PaymentStage, ...]:
    """The rows of `payment_stages`, in table order."""
    return tuple(
        PaymentStage(r.text("stage"), r.text("when"), r.values["share"], r.origin)
        for r in newest(rows, lambda r: (key(r.text("when")),))
    )


def digging_limit(r: RateRow) -> DiggingLimit:
    """A row of `digging_limits`."""
    minutes = as_decimal(r.values["minutes per hole"])
    by_machine = r.text("counted for") == "machine"
    return DiggingLimit(r.text("digging"), minutes, by_machine, r.text("trade"), r.text("item"), r.origin)


def prices(rows: Rows, costs: Mapping[str, Trade]) -> dict[tuple[str, str], Price]:
    """What is known of the price of every row in force, by table and key.

    costs: the trades, for those whose cost is built up and so stands in no cell of its own.
    """
    found: dict[tuple[str, str], Price] = {}
    for table, (column, per, alike) in PRICED.items():
        every: dict[str, list[RateRow]] = {}
        for r in rows.all[table]:
            every.setdefault(r.key, []).append(r)
        for r in rows.now[table]:
            trade = costs.get(r.key) if table == "trades" else None
            price = r.values.get(column, trade.cost_per_hour if trade else None)
            if price is None:
                continue
            older = sorted((o for o in every[r.key] if o.since < r.since), key=lambda o: o.since, reverse=True)
            past = tuple(Past(o.values.get("valid from"), o.values[column]) for o in older if column in o.values)
            words = [table, r.text(alike) if alike else "", f"per {r.text(per)}" if per else ""]
            found[table, r.key] = Price(
                table=table,
                code=r.text("trade") if table == "trades" else r.text("code"),
                price=price,
                group=" ".join(w for w in words if w),
                origin=trade.origin if trade else r.origin,
                place=r.place(column),
                dated=r.place("valid from"),
                held=r.place("valid until"),
                given=r.text("price is"),
                valid_until=r.values.get("valid until"),
                past=past,
            )
    return found
