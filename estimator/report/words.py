"""Plain words for what was taken off, and how much room words need."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache

from estimator.core.units import show_length
from estimator.takeoff.model import SailTaken

SHAPES = {3: "triangle", 4: "four-sided", 5: "five-sided", 6: "six-sided"}
# advance widths of a plain sans-serif letter, in parts of its size; all others count 0.56
_WIDTHS = {
    letter: width
    for letters, width in (
        ("ijl'", 0.23),
        ("ft I.,:;/|![]", 0.28),
        ('r-()"', 0.34),
        ("ckvxyzsJ", 0.5),
        ("FTZL", 0.62),
        ("ABEKPSVXY&+=×<>", 0.67),
        ("CDHNRUw", 0.73),
        ("GOQ", 0.78),
        ("mM", 0.84),
        ("%", 0.89),
        ("W@", 1.0),
    )
    for letter in letters
}


def short_length(metres: float, units: str) -> str:
    """A length for a reader who does not saw by it.

    >>> short_length(5.0, "metric"), short_length(4.985, "metric"), short_length(3.6576, "feet and inches")
    ('5.00 m', '4.985 m', '12\\' 0"')
    """
    text = show_length(metres, units)
    return text[:-3] + " m" if text.endswith("0 m") else text


def sail_words(sail: SailTaken, units: str) -> str:
    """Shape and sides of a sail, without any code of the rate book: `triangle, 5.00 x 5.00 x 5.00 m`."""
    shape, sides = SHAPES.get(len(sail.sides), f"{len(sail.sides)} sides"), list(sail.sides)
    if len(sides) == 4 and _near(sides[0], sides[2]) and _near(sides[1], sides[3]):
        sides = sides[:2]
    shown = [short_length(s, units) for s in sides]
    if all(s.endswith(" m") for s in shown[:-1]):
        shown = [s.removesuffix(" m") for s in shown[:-1]] + shown[-1:]
    return f"{shape}, {' × '.join(shown)}" if shown else sail.size


def _near(a: float, b: float) -> bool:
    return abs(a - b) < 5e-4


def plural(count: int, one: str, many: str = "") -> str:
    """A number and its noun.

    >>> plural(1, "post"), plural(2, "post")
    ('1 post', '2 posts')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def first_small(text: str) -> str:
    """A description inside a sentence; a code or a sign at its start stays as it is.

    >>> first_small("Bracket on a rafter"), first_small("PVC sheet")
    ('bracket on a rafter', 'PVC sheet')
    """
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def money_words(amount: Decimal, currency: str) -> str:
    """Money inside a sentence.

    >>> money_words(Decimal("1234.5"), "$"), money_words(Decimal("-2"), "EUR")
    ('$1,234.50', '-EUR 2.00')
    """
    sign = currency.strip()
    gap = " " if len(sign) == 3 and sign.isalpha() else ""
    return f"{'-' if amount < 0 else ''}{sign}{gap}{abs(amount):,.2f}"


def text_points(text: str, size: float, bold: bool = False) -> float:
    """About how wide a line of the house font is [points], rather too wide than too narrow."""
    return _wide(text) * size * (1.1 if bold else 1.02)


@lru_cache(maxsize=20_000)  # the same words stand in row after row
def _wide(text: str) -> float:
    return sum(_WIDTHS.get(letter, 0.56 if ord(letter) < 0x2E80 else 1.0) for letter in text)


@lru_cache(maxsize=10_000)  # the same short words stand in row after row
def wrapped(text: str, width: float, size: float = 10, bold: bool = False) -> int:
    """How many lines text takes in a cell `width` characters wide, broken between words."""
    room = max(width * 5.25, 10.0)  # a character of the house font is 7 px of 96 to the inch
    lines = 0
    for paragraph in text.split("\n"):
        used = 0.0
        lines += 1
        for word in paragraph.split(" "):
            long = text_points(word + " ", size, bold)
            if used and used + long > room:
                lines, used = lines + 1, 0.0
            lines += int(long // room)
            used += long % room if long > room else long
    return lines


def lines_high(text: str, width: float, size: float = 10, bold: bool = False) -> float:
    """The height of a row [points] that shows text in full, in the program that sets lines furthest apart."""
    pixels = round(size * 4 / 3) + (4 if size <= 12 else 6)
    return max(wrapped(text, width, size, bold), 1) * pixels * 0.75 + 1.5
