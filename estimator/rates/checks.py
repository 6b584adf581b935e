"""Whether the rows of a book fit together: references, unique codes, measures, charges."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from estimator.core.money import plain
from estimator.core.names import key
from estimator.core.problems import Problem, did_you_mean, problem
from estimator.core.units import convert
from estimator.rates.columns import KINDS, MEASURES
from estimator.rates.rows import RateRow

CODED = ("items", "rigging", "sails", "cloths", "posts", "concrete")
_SET_PARTS = ("eye", "shackle", "chain", "wire rope", "thimble", "grip", "ring")
_PART_NEEDS: Mapping[str, tuple[str, ...]] = {
    "eye": ("length",),
    "shackle": ("length",),
    "ring": ("length",),
    "hook": ("length",),
    "chain": ("pitch",),
    "tensioner": ("closed", "open"),
    "wire rope": ("turn back", "grips per end"),
}
_SETTING_POINTS = (
    ("travel trade", "trades", ""),
    ("concrete trade", "trades", ""),
    ("digging trade", "trades", ""),
    ("usual cloth", "cloths", ""),
    ("stone item", "items", "m3"),
    ("spoil item", "items", "m3"),
    ("travel item", "items", "km"),
)


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of all tables. all: as read; now: in force, by table; sound: tables read without an error."""

    all: Mapping[str, Sequence[RateRow]]
    now: Mapping[str, Sequence[RateRow]]
    later: Mapping[tuple[str, str], date]
    sound: frozenset[str]
    day: date
    _by_key: dict[tuple[str, str], dict[str, RateRow]] = field(default_factory=dict)

    def keys(self, table: str, column: str = "") -> Mapping[str, RateRow]:
        """Rows in force by the key of a column, the table's own where none is named."""
        known = self._by_key.get((table, column))
        if known is None:  # made once: a book may hold thousands of rows that point at each other
            known = {key(r.text(column)) if column else r.key: r for r in self.now[table]}
            self._by_key[table, column] = known
        return known


def check(rows: Rows) -> list[Problem]:
    """Everything that does not fit, table by table."""
    return [
        *_codes(rows),
        *_references(rows),
        *_parts(rows),
        *_measures(rows),
        *_prices(rows),
        *_support_names(rows),
        *_setting_points(rows),
    ]


def _codes(rows: Rows) -> Iterator[Problem]:
    seen: dict[str, RateRow] = {}
    for table in CODED:
        for row in rows.all[table]:
            first = seen.setdefault(row.key, row)
            if first.table != table:
                yield problem("rate-code-twice", row.place("code"), found=row.text("code"), other=first.place("code"))


def _point(rows: Rows, row: RateRow, column: str, table: str, found: str, to: str = "") -> list[Problem]:
    """The problem of a name that is not in a table; none for a blank one, or where that table is broken."""
    if not found or table not in rows.sound:
        return []
    names = rows.keys(table, to)
    if key(found) in names:
        return []
    since = rows.later.get((table, key(found)))
    if since:
        words = {"since": since.isoformat(), "day": rows.day.isoformat()}
        return [problem("rate-reference-later", row.place(column), column=column, found=found, table=table, **words)]
    hint = did_you_mean(found, names) if len(names) < 2000 else ""
    return [problem("rate-reference", row.place(column), column=column, found=found, table=table, hint=hint)]


def _references(rows: Rows) -> Iterator[Problem]:
    points: Iterable[tuple[str, str, str, str]] = (
        ("sails", "cloth", "cloths", ""),
        ("kits", "item", "items", ""),
        ("labour", "trade", "trades", ""),
        ("supports", "kit", "kits", "kit"),
        ("access", "hire item", "items", ""),
        ("concrete", "mixer", "items", ""),
        *((table, "supplier", "suppliers", "") for table in CODED),
        ("wages", "trade", "trades", ""),
        ("digging_limits", "trade", "trades", ""),
        ("digging_limits", "item", "items", ""),
    )
    for table, column, target, to in points:
        for row in rows.now[table]:
            yield from _point(rows, row, column, target, row.text(column), to)
    for row in rows.now["corner_sets"]:
        if not row.text("chain") and not row.text("wire rope"):
            yield problem("rate-set-run", row.place("chain"), name=row.text("set"))
        named = [(c, c, row.text(c)) for c in _SET_PARTS] + [
            ("tensioners", "tensioner", w) for w in row.words("tensioners")
        ]
        for column, kind, code in named:
            yield from _point(rows, row, column, "rigging", code)
            part = rows.keys("rigging").get(key(code))
            if part and part.text("kind") != kind:
                words = {"found": code, "kind": part.text("kind"), "wanted": kind}
                yield problem("rate-part-kind", row.place(column), column=column, **words)


def _parts(rows: Rows) -> Iterator[Problem]:
    for row in rows.now["rigging"]:
        kind, v = row.text("kind"), row.values
        needs = _PART_NEEDS.get(kind, ())
        for column in needs:
            if column not in v:
                yield problem("rate-part-blank", row.place(column), kind=kind, column=column)
        if kind == "tensioner" and v.get("closed", 0) >= v.get("open", 1e9):
            yield problem("rate-part-lengths", row.place("open"), closed=v["closed"], open=v["open"])
        if needs and "working load" not in v and "breaking load" not in v:
            yield problem("rate-part-load", row.place("working load"), found=row.text("code"))


def _measures(rows: Rows) -> Iterator[Problem]:
    for table in ("kits", "labour"):
        for row in rows.now[table]:
            each, measure = row.text("for each"), row.text("measure")
            if key(measure) not in MEASURES[each]:
                allowed = ", ".join(MEASURES[each])
                yield problem("rate-measure", row.place("measure"), each=each, measure=measure, allowed=allowed)


def _prices(rows: Rows) -> Iterator[Problem]:
    for row in rows.now["charges"]:
        rate: Any = row.values["rate"]
        if row.text("taken on") == "price" and rate >= 1:
            yield problem("rate-margin", row.place("rate"), found=plain(rate * 100))
    for row in rows.now["rigging"]:
        if row.text("kind") in ("chain", "wire rope") and convert(Decimal(1), "m", row.text("per")) is None:
            yield _per(row, row.text("kind"), "length, such as m")
    for row in rows.now["posts"]:
        per = row.text("per")
        if not any(convert(Decimal(1), unit, per) for unit in ("m", "kg", "each")):
            yield _per(row, "post", "m, kg or each")
    for row in rows.now["concrete"]:
        if row.text("form") == "truck" and convert(Decimal(1), "m3", row.text("per")) is None:
            yield _per(row, "truck of concrete", "volume, such as m3")
    for row in rows.now["taxes"]:
        for word in row.words("on kinds"):
            if key(word) not in KINDS:
                words = {"wanted": f"some of {', '.join(KINDS)}, or nothing for all", "hint": did_you_mean(word, KINDS)}
                yield problem("rate-cell", row.place("on kinds"), column="on kinds", found=word, **words)


def _per(row: RateRow, what: str, wanted: str) -> Problem:
    return problem("rate-per", row.place("per"), column="per", found=row.text("per"), what=what, wanted=wanted)


def _support_names(rows: Rows) -> Iterator[Problem]:
    seen: dict[str, RateRow] = {}
    for row in rows.now["supports"]:
        for name in (row.text("support"), *row.words("also")):
            first = seen.setdefault(key(name), row)
            if first is not row:
                yield problem(
                    "rate-name-twice", row.place("also"), name=name, other=first.text("support"), row=first.number
                )


def _setting_points(rows: Rows) -> Iterator[Problem]:
    settings = rows.keys("settings")
    for name, table, unit in _SETTING_POINTS:
        row = settings.get(name)
        if row is None:
            continue
        wrong = _point(rows, row, "value", table, row.text("value"))
        yield from wrong
        target = rows.keys(table).get(key(row.text("value")))
        if unit and target and convert(Decimal(1), unit, target.text("unit")) is None:
            words = {"found": target.text("unit"), "what": name, "wanted": unit}
            yield problem("rate-per", target.place("unit"), column="unit", **words)
