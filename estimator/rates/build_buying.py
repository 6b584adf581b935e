"""From rows to how they are bought: supplier, price breaks, stock lengths with their prices."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise

from estimator.core.money import from_float, plain
from estimator.core.problems import Problem, problem
from estimator.core.units import convert
from estimator.rates.checks import CODED
from estimator.rates.model import Break, Buying, StockLength, Supplier
from estimator.rates.rows import RateRow
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column
from estimator.sheets.grammar import read_value

BY_LENGTH = ("chain", "wire rope")
_STEP = "such as 10: 4.10; 50: 3.80"
_QUANTITY = Column("price breaks", "number", low=0.000001, high=1_000_000_000)
_PRICE = Column("price breaks", "money", low=0, high=10_000_000)
_STOCK_PRICE = Column("stock prices", "money", low=0, high=10_000_000)


def buying(r: RateRow) -> tuple[Buying, list[Problem]]:
    """How a row is bought, and what is wrong with its cells."""
    breaks, problems = _breaks(r)
    stock, wrong = _stock(r)
    problems += wrong
    if breaks and any(s.price is not None for s in stock):
        problems.append(problem("rate-breaks-twice", r.place("price breaks")))
    found = Buying(
        supplier=r.text("supplier"),
        code=r.text("supplier code"),
        lead_days=r.values.get("lead days"),
        breaks=breaks,
        stock=stock,
        cell=r.place("stock lengths").cell,
    )
    return found, [*problems, *_mass(r)]


def all_buying(now: Mapping[str, Sequence[RateRow]]) -> tuple[dict[tuple[str, str], Buying], list[Problem]]:
    """How every coded row in force is bought, by table and key of the row."""
    found: dict[tuple[str, str], Buying] = {}
    problems: list[Problem] = []
    for table in CODED:
        for row in now[table]:
            found[table, row.key], wrong = buying(row)
            problems += wrong
    return found, problems


def supplier(r: RateRow) -> Supplier:
    """A row of `suppliers`."""
    v = r.values
    return Supplier(
        name=r.text("supplier"),
        description=r.text("description"),
        minimum=v.get("minimum order", Decimal(0)),
        delivery=v.get("delivery", Decimal(0)),
        free_from=v.get("delivery free from"),
        lead_days=v.get("lead days"),
        origin=r.origin,
    )


def _breaks(r: RateRow) -> tuple[tuple[Break, ...], list[Problem]]:
    """Price breaks as `quantity: price; quantity: price`."""
    text = r.text("price breaks")
    found: list[Break] = []
    for step in filter(None, (s.strip() for s in text.split(";"))):
        quantity, colon, price = (part.strip() for part in step.partition(":"))
        if not (quantity and colon and price):
            return (), [_wrong(r, f"quantity and price of each step, {_STEP}")]
        read, problems = _numbers(r, [(quantity, _QUANTITY), (price, _PRICE)])
        if len(read) < 2:
            return (), problems
        found.append(Break(read[0], read[1]))
    first = Break(Decimal(0), r.values.get("price", r.values.get("price per m2", Decimal(0))))
    for before, after in pairwise([first, *found]):
        if after.quantity <= before.quantity or after.price > before.price:
            words = f"{plain(after.quantity)}: {plain(after.price)}"
            return (), [problem("rate-breaks", r.place("price breaks"), found=words, before=plain(before.price))]
    return tuple(found), []


def _numbers(r: RateRow, words: Sequence[tuple[str, Column]]) -> tuple[list[Decimal], list[Problem]]:
    found: list[Decimal] = []
    problems: list[Problem] = []
    for text, column in words:
        value, wrong = read_value(Cell(text, "text"), column, "", r.context, r.place(column.name))
        problems += wrong
        if isinstance(value, Decimal | float | int):
            found.append(value if isinstance(value, Decimal) else from_float(float(value)))
    return found, problems


def lengths_typed(r: RateRow) -> tuple[list[float], list[Problem]]:
    """The stock lengths of a row in the order typed [m], and what is wrong with them."""
    text, reel = r.text("stock lengths"), r.text("kind") in BY_LENGTH
    column = Column("stock lengths", "length", low=0.3, high=2000 if reel else 30)
    found: list[float] = []
    problems: list[Problem] = []
    for word in _words(r, text):
        value, wrong = read_value(
            Cell(word, "text"), column, r.units["stock lengths"], r.context, r.place("stock lengths")
        )
        problems += wrong
        found += [value] if isinstance(value, float) else []
    return found, problems


def _stock(r: RateRow) -> tuple[tuple[StockLength, ...], list[Problem]]:
    """Stock lengths with their prices, shortest first."""
    if not r.text("stock lengths"):
        if r.text("stock prices"):
            return (), [problem("rate-stock-prices", r.place("stock prices"), prices=r.text("stock prices"), lengths=0)]
        return (), []
    if r.table == "rigging" and r.text("kind") not in BY_LENGTH:
        return (), [problem("rate-stock-lengths", r.place("stock lengths"), kind=r.text("kind"))]
    lengths, problems = lengths_typed(r)
    if r.table == "posts":
        problems = []  # told where the section itself is built
    words = _words(r, r.text("stock prices"))
    prices, wrong = _numbers(r, [(w, _STOCK_PRICE) for w in words])
    problems += wrong
    if words and not wrong and len(prices) != len(lengths):
        place, shown = r.place("stock prices"), r.text("stock prices")
        problems.append(problem("rate-stock-prices", place, prices=shown, lengths=len(lengths)))
    if problems:
        return (), problems
    each: Sequence[Decimal | None] = prices or [None] * len(lengths)
    cheapest: dict[float, Decimal | None] = {}
    for length, price in zip(lengths, each, strict=True):
        old = cheapest.get(length)
        cheapest[length] = price if old is None or price is None else min(old, price)
    return tuple(StockLength(length, cheapest[length]) for length in sorted(cheapest)), []


def _words(r: RateRow, text: str) -> list[str]:
    """A list of numbers: with semicolons, and with commas where those are no decimal marks."""
    mark = ";" if ";" in text or r.context.decimal_mark == "comma" else ","
    return [w.strip() for w in re.split(rf"[{mark}\n]", text) if w.strip()]


def _mass(r: RateRow) -> Iterator[Problem]:
    """A section sold by its mass needs one: metres alone say no kilograms."""
    if r.table == "posts" and convert(Decimal(1), "kg", r.text("per")) is not None and not r.values.get("mass"):
        yield problem("rate-per-mass", r.place("per"), found=r.text("per"))


def _wrong(r: RateRow, wanted: str) -> Problem:
    words = {"column": "price breaks", "found": r.text("price breaks"), "wanted": wanted, "hint": ""}
    return problem("rate-cell", r.place("price breaks"), **words)
