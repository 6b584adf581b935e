"""What kits need: items by measure. It sees only measures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from estimator.core.money import from_float, plain
from estimator.core.names import key
from estimator.rates.model import Item, KitRow, RateBook
from estimator.takeoff.lines import item_line
from estimator.takeoff.model import Line, Measures

ALWAYS = "always"


def kit_lines(
    book: RateBook,
    kits: Sequence[tuple[str, Measures]],
    dropped: Callable[[str], bool],
    only: Sequence[str] | None = None,
    without: Sequence[str] = (),
) -> list[Line]:
    """Lines of the kits, one for each item, in whole packs once.

    kits: each kit with the measures of what it serves; dropped: whether a code is left out; only, without:
    which `for each` to take.
    """
    needed: dict[str, tuple[Item, Decimal, list[str]]] = {}
    for kit, measures in kits:
        for row in _rows(book, kit):
            if (only is not None and row.for_each not in only) or row.for_each in without:
                continue
            value = measures.get(row.for_each, {}).get(row.measure, 0.0)
            item = book.items[key(row.item)]
            if value <= 0 or dropped(item.code):
                continue
            quantity = row.quantity * from_float(value)
            words = f"{plain(row.quantity)} x {plain(from_float(round(value, 6)))} {row.for_each} {row.measure}"
            words += "" if kit == ALWAYS else f" ({kit})"
            _, total, workings = needed.get(item.code, (item, Decimal(0), []))
            needed[item.code] = (item, total + quantity, [*workings, words])
    return [item_line(item, total, "; ".join(workings)) for item, total, workings in needed.values()]


def _rows(book: RateBook, kit: str) -> list[KitRow]:
    return [row for row in book.kits if key(row.kit) == key(kit)]
