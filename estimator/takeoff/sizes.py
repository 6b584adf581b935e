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


def outline_of(size: Size) -> Outline:
    """The flat outline of a size with sides. A size that was read closes: two sides, three, or four with a diagonal."""
    sides = size.sides
    if size.diagonal is not None:
        a, b, c, d = sides
        found = outline.quadrilateral(a, b, c, d, size.diagonal)
    else:
        found = outline.triangle(*sides) if len(sides) == 3 else outline.rectangle(*sides)
    assert not isinstance(found, outline.Impossible), size.text
    return found


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
        if len(shape) != corners:
            continue
        if sail.cloth and key(stock.cloth) != key(sail.cloth):
            continue
        if sail.colour and stock.colours and key(sail.colour) not in map(key, stock.colours):
            continue
        found.append((stock, shape))
    return sorted(found, key=lambda s: -outline.flat_area(s[1]))
