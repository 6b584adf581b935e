"""What a size cell asks for: a stock code, sides, or a sail made to fit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.core.units import knows, to_si
from estimator.sheets.context import Context
from estimator.sheets.numbers import Amount, read_amount, tidy_text

LOW, HIGH = 0.5, 50.0  # m, of a side

_UNIT = r"(?:mm|cm|m|ft|feet|foot|in|inches|inch|'|\")"
_INCH = r"(?:\"|inches|inch|in)(?![a-z])"
_PART = "[0-9]+\u2044[0-9]+"  # the stroke of a fraction, kept apart from the one before a diagonal
_ONE = (
    rf"[0-9]+ ?(?:'|ft|feet|foot) ?-? ?(?:[0-9]+ {_PART}|{_PART}|[0-9]+(?:[.,][0-9]+)?) ?{_INCH}"
    r"|[0-9]+'-?[0-9]+(?![0-9.,']| ?(?:ft|feet|foot))"  # 9'6
    rf"|(?:[0-9]+ )?{_PART} ?{_INCH}|[0-9]+(?:[.,][0-9]+)?(?: ?{_UNIT}(?![a-z]))?"
)
_NUMBERS = re.compile(_ONE, re.IGNORECASE)
_FRACTION = re.compile(rf"(?<=[ '-])([0-9]{{1,2}})/((?:2|4|8|16|32|64) ?{_INCH})", re.IGNORECASE)
_BETWEEN = re.compile(r"(?<=[0-9a-z'\"]) ?(?:[x×*;]|,(?= )|\bby\b) ?(?=[0-9])", re.IGNORECASE)
_DIAGONAL = re.compile(r"/|\bdiagonal\b:?|\bdiag\b\.?:?", re.IGNORECASE)
_COMMAS = re.compile(r"[0-9],[0-9]+,[0-9]")


@dataclass(frozen=True, slots=True)
class SizeText:
    """kind: stock, sides, made to fit, largest. sides: m, in order round the sail, or the two of a
    rectangle; diagonal: m, from the first corner to the third."""

    kind: str
    text: str
    code: str = ""
    sides: tuple[float, ...] = ()
    diagonal: float | None = None


def read_size(text: str, context: Context, place: Place) -> tuple[SizeText | None, list[Problem]]:
    """A size as typed; None with the reason where it cannot be used. Four sides alone fix no shape.

    >>> read_size("3.6 x 5.4 m", Context(), Place())[0].sides
    (3.6, 5.4)
    >>> read_size("KNIT-36", Context(), Place())[0].kind, read_size("", Context(), Place())[0].kind
    ('stock', 'largest')
    """
    typed = " ".join(text.split())
    if not typed or key(typed) in ("largest", "largest that fits"):
        return SizeText("largest", typed), []
    if re.fullmatch(r"(made|make|cut) to (fit|size|measure)|made-to-fit", key(typed)):
        return SizeText("made to fit", typed), []
    plain = _DIAGONAL.sub("/", _FRACTION.sub("\\1\u2044\\2", tidy_text(typed)))
    if not _looks_numeric(plain):
        return SizeText("stock", typed, code=typed), []
    front, slash, behind = plain.partition("/")
    crossings = len(_BETWEEN.findall(front)) if _crossed(front) else 0
    if (
        _COMMAS.search(plain)
        or (slash and not behind.strip())
        or (crossings and crossings != len(_NUMBERS.findall(front)) - 1)
    ):
        return None, [problem("size-unclear", place, found=typed, wanted=_wanted(context))]
    sides, problem_found = _lengths(front, behind, typed, context, place)
    if problem_found:
        return None, [problem_found]
    diagonal = sides.pop() if slash else None
    return _shape(typed, sides, diagonal, _crossed(front), context, place)


def _looks_numeric(text: str) -> bool:
    """Whether only numbers, units and the words between them stand there; anything else is a code."""
    rest = _NUMBERS.sub(" ", _BETWEEN.sub(" ", text))
    rest = re.sub(rf"[\s/,;x×*]+|(?<![a-z]){_UNIT}(?![a-z])|(?<![a-z])by(?![a-z])", "", rest, flags=re.IGNORECASE)
    return bool(re.match(r"[0-9]", text)) and not rest


def _crossed(text: str) -> bool:
    return bool(re.search(r"[x×*]|\bby\b", text, re.IGNORECASE))


def _lengths(front: str, behind: str, typed: str, context: Context, place: Place) -> tuple[list[float], Problem | None]:
    """All numbers in metres, the diagonal last; a unit covers the numbers before it that have none."""
    wanted = _wanted(context)
    tokens: list[str] = []
    for part in (front, behind):
        tokens += _NUMBERS.findall(_BETWEEN.sub(" ; ", part))
    if behind and len(_NUMBERS.findall(behind)) != 1:
        return [], problem("size-unclear", place, found=typed, wanted=wanted)
    amounts = [read_amount(token, context.decimal_mark) for token in tokens]
    unit = ""
    lengths: list[float] = []
    for amount in reversed(amounts):
        if isinstance(amount, str) or (amount.unit and not knows(amount.unit, "length")):
            return [], problem("size-unclear", place, found=typed, wanted=wanted)
        unit = amount.unit or unit or context.default_unit("length")
        fitting = [v for v in _metres(amount, unit) if LOW <= v <= HIGH]  # two readings are a thousand times apart
        if not fitting:
            return [], _out_of_bounds(amount, unit, typed, context, place)
        lengths.insert(0, fitting[0])
    return lengths, None


def _metres(amount: Amount, unit: str) -> list[float]:
    return [round(to_si(float(n), unit, "length"), 6) for n in amount.readings]


def _out_of_bounds(amount: Amount, unit: str, typed: str, context: Context, place: Place) -> Problem:
    number = float(amount.readings[-1])
    slips = [u for u in ("mm", "cm", "m", "ft") if u != unit and LOW <= to_si(number, u, "length") <= HIGH]
    hint = f" Did you mean {number:g} {slips[0]}?" if slips else ""
    low, high = context.show(LOW, "length"), context.show(HIGH, "length")
    return problem("size-bounds", place, found=typed, shown=f"{number:g} {unit}", low=low, high=high, hint=hint)


def _wanted(context: Context) -> str:
    return "12' x 18' or 16 ft 16 ft 16 ft" if context.feet else "3.6 x 5.4 m or 5 5 5 m"


def _shape(
    typed: str, sides: list[float], diagonal: float | None, crossed: bool, context: Context, place: Place
) -> tuple[SizeText | None, list[Problem]]:
    def no(code: str, **words: Any) -> tuple[None, list[Problem]]:
        return None, [problem(code, place, found=typed, **words)]

    if len(sides) > 4:
        return no("size-too-many-sides", count=len(sides))
    if len(sides) == 4 and diagonal is None:
        return no("size-needs-diagonal", wanted="18' 16' 18' 16' / 24'" if context.feet else "5 4 5 4 / 6.4 m")
    if len(sides) == 2 and crossed and diagonal is None:
        return SizeText("sides", typed, "", tuple(sides)), []
    if len(sides) not in (3, 4) or (len(sides) == 3 and diagonal is not None):
        return no("size-unclear", wanted=_wanted(context))
    triangles = [sides] if diagonal is None else [[sides[0], sides[1], diagonal], [sides[2], sides[3], diagonal]]
    for triangle in triangles:
        longest = max(triangle)
        if longest >= sum(triangle) - longest - 1e-9:
            others = list(triangle)
            others.remove(longest)
            words = " and ".join(context.show(x, "length") for x in others)
            side = "the diagonal" if diagonal is not None and longest == diagonal else "the side"
            return no("sides-do-not-close", side=f"{side} {context.show(longest, 'length')}", others=words)
    return SizeText("sides", typed, "", tuple(sides), diagonal), []
