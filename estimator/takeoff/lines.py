"""The joint: float ends here, Decimal begins here. Lines of the bill are made by these functions only."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_CEILING, Decimal
from functools import lru_cache
from sys import intern

from estimator.core.money import cents, from_float, plain
from estimator.rates.model import Item, Origin
from estimator.takeoff.model import Line, Varies


def source_of(origin: Origin) -> str:
    """A row's source with the day it holds from."""
    return _source(origin.source, origin.valid_from)


@lru_cache(maxsize=5_000)
def _source(source: str, valid_from: date | None) -> str:
    since = f"from {valid_from.isoformat()}" if valid_from else ""
    return ", ".join(part for part in (source, since) if part)


def make_line(
    code: str,
    description: str,
    kind: str,
    quantity: Decimal,
    unit: str,
    rate: Decimal,
    working: str,
    origin: Origin | None = None,
    shown: bool = False,
    needed: Decimal | None = None,
    colour: str = "",
    pieces: tuple[tuple[str, float], ...] = (),
    varies: tuple[Varies, ...] = (),
) -> Line:
    """A line with its cost rounded once, half up to the cent."""
    return Line(
        code=code,
        description=description,
        kind=kind,
        quantity=quantity,
        unit=unit,
        rate=rate,
        cost=cents(quantity * rate),
        working=intern(working),  # of many sites many are the same
        table=origin.table if origin else "",
        source=source_of(origin) if origin else "",
        shown=shown,
        needed=needed,
        colour=colour,
        pieces=pieces,
        varies=varies,
    )


def whole_packs(quantity: Decimal, pack: Decimal | None, minimum: Decimal | None = None) -> tuple[Decimal, str]:
    """A quantity up to whole packs and to the least that is sold, and how that came about.

    >>> whole_packs(Decimal("13"), Decimal("10"))
    (Decimal('20'), '; up to 2 packs of 10')
    """
    words = ""
    if pack:
        packs = (quantity / pack).quantize(Decimal(1), ROUND_CEILING)
        quantity = packs * pack
        words = (
            f"; up to {packs} {'pack' if packs == 1 else 'packs'} of {plain(pack)}" if pack != 1 else "; up to whole"
        )
    if minimum and quantity and quantity < minimum:
        quantity, words = minimum, f"{words}; at least {plain(minimum)}"
    return quantity, words


def item_line(
    item: Item, quantity: Decimal, working: str, shown: bool = False, varies: tuple[Varies, ...] = ()
) -> Line:
    """A line of an item of the rate book, in whole packs."""
    billed, words = whole_packs(quantity, item.pack, item.minimum)
    return make_line(
        item.code, item.description, item.kind, billed, item.unit, item.price, working + words, item.origin, shown,
        needed=quantity, varies=varies,
    )  # fmt: skip


def number(value: float, places: int = 3) -> str:
    """A number for a working, without trailing zeros.

    >>> number(2.5), number(3.0)
    ('2.5', '3')
    """
    return plain(from_float(round(value, places)))
