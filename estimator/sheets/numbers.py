"""The number grammar: what a typed text can mean as a number with a unit. The whole text must match.

Accepted: 2.9 | 2,9 | 1 200 | 1 200,5 | 1,200.50 | 1.200,50 | 1/2 (also as one character) | 2 1/2 | 5' 6" | 5 ft 6 in,
each with a unit behind it. Two meanings are two readings, never a guess.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import lru_cache

from estimator.core.units import straight_quotes

_UNSEEN = frozenset("\u200b\u200c\u200d\u2060\ufeff\u00ad\u200e\u200f\u202a\u202b\u202c\u202d\u202e")
_DASHES = frozenset("\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d")

_WHOLE = r"[0-9]+"
_GROUPED = r"[0-9]{1,3}(?: [0-9]{3})+"
_NUMBER = (
    rf"{_GROUPED}(?:[.,][0-9]+)?|[0-9]{{1,3}}(?:,[0-9]{{3}})+\.[0-9]+|[0-9]{{1,3}}(?:\.[0-9]{{3}})+,[0-9]+"
    r"|[0-9]{1,3}(?:,[0-9]{3}){2,}|[0-9]{1,3}(?:\.[0-9]{3}){2,}|[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
)
_PART = r"[0-9]{1,2}/[0-9]{1,2}"
_AMOUNT = re.compile(
    rf"(?P<sign>[+-]?) ?(?:(?P<whole>{_WHOLE}) (?P<part>{_PART})|(?P<bare>{_PART})|(?P<number>{_NUMBER}))"
    r"(?: ?(?P<unit>[^0-9\s.,+/-].*))?"
)
_FEET = re.compile(
    rf"(?P<sign>-?) ?(?P<feet>{_WHOLE}) ?(?:'|ft\.?|feet|foot) ?-? ?"
    rf"(?:(?P<whole>{_WHOLE}) (?P<part>{_PART})|(?P<bare>{_PART})|(?P<inches>[0-9]+(?:[.,][0-9]+)?))"
    r' ?(?:"|in\.?|ins|inch|inches)?',
    re.IGNORECASE,
)
_RANGE = re.compile(rf"(?:{_NUMBER}) ?(?:-|/) ?(?:{_NUMBER})(?: ?[^0-9\s].*)?")
_PARTS_OF = (2, 3, 4, 5, 6, 8, 10, 12, 16, 32, 64)


@dataclass(frozen=True, slots=True)
class Amount:
    """What a text can mean: readings (one, or two where a separator can be either mark) in its own unit, blank
    for none. fraction: n/d typed with a stroke, which can also be a date or a range."""

    readings: tuple[Decimal, ...]
    unit: str = ""
    fraction: bool = False


@lru_cache(maxsize=5000)
def tidy_text(text: str) -> str:
    """A typed text with one kind of space, dash, quote and fraction; nothing that changes a digit.

    Fractions of one character are set apart first: the usual normal form makes 2\u00bd into 21/2.

    >>> tidy_text("\u00a02\u00bd "), tidy_text("\uff12\uff0e\uff19"), tidy_text("\u22123")
    ('2 1/2', '2.9', '-3')
    """
    out: list[str] = []
    for char in straight_quotes(text):
        if char in _UNSEEN:
            continue
        if char in _DASHES:
            out.append("-")
        elif unicodedata.category(char) == "Zs":
            out.append(" ")
        elif char == "\u2044":
            out.append("/")
        elif "\uff01" <= char <= "\uff5e":
            out.append(unicodedata.normalize("NFKC", char))
        elif unicodedata.decomposition(char).startswith("<fraction>"):
            space = " " if out and out[-1].isdigit() else ""
            out.append(space + unicodedata.normalize("NFKC", char).replace("\u2044", "/"))
        else:
            out.append(char)
    return "".join(out).strip()


def read_amount(text: str, mark: str = "") -> Amount | str:
    """What a text means, or the code of the problem with it: not-a-number, ask-range or inches.

    mark: 'point' or 'comma' settles a separator with three digits behind it.

    >>> read_amount("2,9 m").readings, read_amount("1.200").readings, read_amount("1.200", "comma").readings
    ((Decimal('2.9'),), (Decimal('1.200'), Decimal('1200')), (Decimal('1200'),))
    >>> read_amount("3-4"), read_amount("TBC"), read_amount("5' 6\\"")
    ('ask-range', 'not-a-number', Amount(readings=(Decimal('66'),), unit='in', fraction=False))
    """
    tidied = tidy_text(text)
    mixed = _FEET.fullmatch(tidied)
    if mixed:
        return _feet_and_inches(mixed)
    match = _AMOUNT.fullmatch(tidied)
    if not match:
        return "ask-range" if _RANGE.fullmatch(tidied) else "not-a-number"
    sign = -1 if match["sign"] == "-" else 1
    unit = (match["unit"] or "").strip()
    if match["part"] or match["bare"]:
        part = _fraction(match["part"] or match["bare"])
        if part is None:
            return "ask-range"
        return Amount((sign * (Decimal(match["whole"] or 0) + part),), unit, bool(match["bare"]) and "/" in text)
    return Amount(tuple(sign * n for n in _readings(match["number"], mark)), unit)


def _readings(number: str, mark: str) -> tuple[Decimal, ...]:
    """The values of an unsigned number; two where one separator has three digits behind it."""
    number = number.replace(" ", "_")
    marks = [c for c in number if c in ".,"]
    if len(marks) == 1 and "_" not in number and re.fullmatch(r"[1-9][0-9]{0,2}[.,][0-9]{3}", number):
        decimal, grouped = Decimal(number.replace(",", ".")), Decimal(re.sub(r"[.,]", "", number))
        if not mark:
            return decimal, grouped
        return (decimal,) if (mark == "comma") == (marks[0] == ",") else (grouped,)
    number = number.replace("_", "")
    if len(marks) > 1 and len(set(marks)) == 1:
        return (Decimal(re.sub(r"[.,]", "", number)),)
    if len(set(marks)) == 2:
        number = number.replace(marks[0], "")
    return (Decimal(number.replace(",", ".")),)


def _fraction(text: str) -> Decimal | None:
    top, bottom = (int(n) for n in text.split("/"))
    if not (0 < top < bottom and bottom in _PARTS_OF):
        return None
    with localcontext() as precise:
        precise.prec = 20
        return Decimal(top) / Decimal(bottom)


def _feet_and_inches(match: re.Match[str]) -> Amount | str:
    part = match["part"] or match["bare"]
    value = _fraction(part) if part else Decimal(0)
    if value is None:
        return "not-a-number"
    inches = Decimal((match["whole"] or match["inches"] or "0").replace(",", ".")) + value
    if inches >= 12:
        return "inches"
    return Amount(((-1 if match["sign"] else 1) * (Decimal(match["feet"]) * 12 + inches),), "in")
