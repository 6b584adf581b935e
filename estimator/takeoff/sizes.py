"""Sizes of sails as flat outlines, and the stock sails to choose from."""

from __future__ import annotations

from estimator.core.names import key
from estimator.core.problems import Place
from estimator.geometry import outline
from estimator.job.model import Sail, Size
from estimator.rates.model import RateBook, StockSail
from estimator.sheets.grammar import Context
from estimator.sheets.size import read_size

Outline = tuple[tuple[float, float], ...]


def outline_of(size: Size) -> Outline | str:
    """The flat outline of a size with sides, or why there is none."""
    sides = size.sides
    if len(sides) == 2:
        found = outline.rectangle(*sides)
    elif len(sides) == 3:
        found = outline.triangle(*sides)
    elif len(sides) == 4 and size.diagonal is not None:
        found = outline.quadrilateral(*sides, size.diagonal)
    else:
        return "four sides alone fix no shape: add a diagonal"
    return f"{found.side}: {found.why}" if isinstance(found, outline.Impossible) else found


def stock_size(stock: StockSail) -> Size:
    """The sides of a stock sail, read from its row; the rate book has been checked."""
    text, _ = read_size(stock.sides, Context(), Place())
    assert text is not None
    return Size("sides", stock.sides, "", tuple(text.sides), text.diagonal)


def candidates(book: RateBook, sail: Sail, corners: int) -> list[tuple[StockSail, Outline]]:
    """Stock sails of as many corners, of the cloth and colour asked for, the largest first."""
    found = []
    for stock in book.sails.values():
        shape = outline_of(stock_size(stock))
        if isinstance(shape, str) or len(shape) != corners:
            continue
        if sail.cloth and key(stock.cloth) != key(sail.cloth):
            continue
        if sail.colour and stock.colours and key(sail.colour) not in map(key, stock.colours):
            continue
        found.append((stock, shape))
    return sorted(found, key=lambda s: -outline.flat_area(s[1]))
