"""What people type into a cell, from what stood there: numbers in other forms, slips, other kinds of things, names."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from random import Random
from typing import Any


@dataclass(frozen=True)
class Formatted:
    """A number with a number format of its own."""

    number: float
    code: str


@dataclass(frozen=True)
class Calculated:
    """A formula with the result that is kept with it; None for one never calculated."""

    formula: str
    result: Any


@dataclass(frozen=True)
class Wrong:
    """An error value."""

    words: str


Typed = Any  # None, str, bool, int, float, date, datetime, time, Formatted, Calculated, Wrong

ARABIC = str.maketrans("0123456789", "٠١٢٣٤٥٦٧٨٩")
FULL = str.maketrans("0123456789.,-", "０１２３４５６７８９．，－")
RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
LIKE = str.maketrans("ABCEKMOPTXaceopxy", "АВСЕКМОРТХасеорху")  # Cyrillic letters that look the same
UNSEEN = ("\u200b", "\ufeff", "\u00ad", "\u200e", "\u2060", "\u202a")
SPACES = (" ", "\u00a0", "\u2009", "\u202f", "\t", "\n", "  ", "\u3000")
DAYS = (datetime(1900, 1, 5), datetime(2026, 3, 4, 12, 30))  # noqa: DTZ001
ERRORS = ("#REF!", "#N/A", "#DIV/0!", "#VALUE!", "#NAME?", "#NULL!", "#NUM!")
NOT_NUMBERS = (
    "TBC", "tbc", "n/a", "-", "?", "as drawn", "see sketch", "0x10", "1_000", "nan", "inf", "1e3", "2.5E0", "∞", "½½",
    "1..2", "2.6.0", "--2", "+-1", "(2.6)", "2.6-", "#2", "$", "%", "m", "mm 2600", "2 m 60", "2m60", "two", "½",
    "2½", "2 1/2", "3/4", "3 / 4", "1:2", "2'600", "9**9", "=2.6", "'2.6", "2.6,", ",6", ".6", "2,6,1", "1,234,567",
    "2.600", "2,600", "12,600", "1.200,50", "1,200.50", "8'", "8' 6", "8' 6\"", "8ft 6in", "8-6", "102\"", "8' 13\"",
    "²", "2²", "Ⅻ", "１／２", "2.6 m²", "2.6 kg", "2.6 V", "2.6 m/s", "12 %", "0.12", "12 percent", "1 200 000", "0",
    "-0", "00002.6", "2.60000000000000001", "1e308", "9" * 40, "0." + "0" * 30 + "1",
)  # fmt: skip


def number_as_typed(rng: Random, value: float, unit: str = "m") -> Typed:
    """A number in one of the forms in which people write it, or slip in writing it."""
    plain = f"{value:.6g}"
    forms = (
        lambda: plain.replace(".", ","),
        lambda: f"{value:.3f}",
        lambda: f"{value:.3f}".replace(".", ","),
        lambda: f"{value:.2f} {unit}",
        lambda: f"{value:g}{unit.upper()}",
        lambda: f"{value * 1000:g} mm",
        lambda: f"{value * 1000:,.0f}mm".replace(",", rng.choice(SPACES[:4])),
        lambda: f"{value * 100:g} cm",
        lambda: f"{value / 0.3048:.4g} ft",
        lambda: f"{value / 0.0254:.5g} {rng.choice(['in', 'inches', chr(34)])}",
        lambda: feet_and_inches(value),
        lambda: value * rng.choice((1000, 100, 10, 0.1, 0.001)),
        lambda: -value,
        lambda: plain.translate(FULL),
        lambda: plain.translate(ARABIC),
        lambda: plain.translate(RAISED),
        lambda: f"\u2212{plain}",
        lambda: rng.choice(("~", "ca. ", "+", "<", ">", "approx ", "about ", "≈", "±")) + plain,
        lambda: plain + rng.choice(("?", "*", " approx", " (tbc)", "!", ".", " m m", " or 3", "ish", "°", " %", "€")),
        lambda: f"{plain}{rng.choice(('-', '–', ' - ', '/', '..', ' to '))}{value + 0.2:g}",
        lambda: rng.choice(SPACES) + plain + rng.choice(SPACES),
        lambda: spread(rng, plain, rng.choice(UNSEEN + SPACES)),
        lambda: digit_slip(rng, value),
        lambda: f"{plain} {rng.choice(('kg', 'kN', 'm2', 'km/h', 'km', 'h', 'deg', 'each', 'M', 'Mm', 'mile', 'yd'))}",
        lambda: Formatted(value, rng.choice(("0%", '0" mm"', '0.00" m"', "d mmm", "h:mm", "@", '"yes";"yes";"no"',
                                             "0.00E+00", "# ?/?", '0" kg"', "#,##0", "[h]:mm", "yyyy-mm-dd", "0,"))),
        lambda: Calculated(rng.choice(("A1+B2", "Sites!E2*2", "2.5", "SUM(D2:D4)", "[1]Rates!A1", "NOW()")), value),
        lambda: Calculated("D2+1", rng.choice((value + 1, f"{value:g}", True, None))),
        lambda: rng.choice(NOT_NUMBERS),
        lambda: any_kind(rng),
    )  # fmt: skip
    return rng.choice(forms)()


def feet_and_inches(value: float) -> str:
    """A length [m] in feet and inches to the eighth.

    >>> print(feet_and_inches(2.6035))
    8' 6 4/8"
    """
    eighths = int(abs(value) / 0.0254 * 8 + 0.5)
    feet, rest = divmod(eighths, 96)
    part = f" {rest % 8}/8" if rest % 8 else ""
    return f"{'-' if value < 0 else ''}{feet}' {rest // 8}{part}\""


def digit_slip(rng: Random, value: float) -> float:
    """One digit left out, doubled, swapped with its neighbour, or another."""
    digits = list(f"{value:.3f}")
    at = rng.randrange(len(digits))
    slip = rng.randrange(4)
    if slip == 0:
        del digits[at]
    elif slip == 1:
        digits.insert(at, digits[at])
    elif slip == 2 and at:
        digits[at - 1], digits[at] = digits[at], digits[at - 1]
    else:
        digits[at] = rng.choice("0123456789")
    try:
        return float("".join(digits))
    except ValueError:
        return value + 1


def spread(rng: Random, text: str, mark: str) -> str:
    """The text with a mark put in somewhere."""
    at = rng.randint(0, len(text))
    return text[:at] + mark + text[at:]


def any_kind(rng: Random) -> Typed:
    """Something of another kind."""
    return rng.choice(
        (
            None, "", " ", "\u00a0", True, False, date(2026, 3, 4), *DAYS,
            time(12, 0), Wrong(rng.choice(ERRORS)), 0, -1, 1e300, 1e-300, -0.0, 1, 0.5, 12345678901234567, 1e15,
            "x" * 40_000, "\ud7ff\ue000", "\x0b_x000D_\r\n", "😀", "‮2.6", "=1+1", "TRUE", "yes", "none", "EXAMPLE",
            "Total", "A", "B", "1", "1.0", 1.0, "e\u0301", "é", Formatted(0.3, "0%"), Formatted(46000, "yyyy-mm-dd"),
        )
    )  # fmt: skip


def text_as_typed(rng: Random, text: str) -> Typed:
    """A name or a text in one of the forms in which people write it, or slip in writing it."""
    forms = (
        text.upper,
        text.lower,
        text.swapcase,
        lambda: text + rng.choice(SPACES),
        lambda: rng.choice(SPACES) + text,
        lambda: spread(rng, text, rng.choice(SPACES)),
        lambda: spread(rng, text, rng.choice(UNSEEN)),
        lambda: text.translate(LIKE),
        lambda: "".join(chr(ord(c) + 0xFEE0) if "!" <= c <= "~" else c for c in text),
        lambda: text + rng.choice((".", ",", "?", "*", "'", "-", "s", "2", "_", " (new)", "\u0301")),
        lambda: text.replace(" ", rng.choice(("_", "", "  ", "\u00a0", "-", ", ", ";", "/"))),
        lambda: text[:-1],
        lambda: letter_slip(rng, text),
        lambda: " ".join(reversed(text.split())),
        lambda: f"{text} {text}",
        lambda: f"{text.split()[0] if text.split() else ''} {text}",
        lambda: "'" + text,
        lambda: f'"{text}"',
        lambda: text + "\n" + text,
        lambda: Calculated("B2", text),
        lambda: any_kind(rng),
        lambda: rng.choice(NOT_NUMBERS),
    )
    return rng.choice(forms)()


def letter_slip(rng: Random, text: str) -> str:
    """Two letters swapped, one doubled, or one for another."""
    if len(text) < 2:
        return text * 2
    at = rng.randrange(1, len(text))
    return rng.choice(
        (
            text[: at - 1] + text[at] + text[at - 1] + text[at + 1 :],
            text[:at] + text[at - 1] + text[at:],
            text[:at] + rng.choice("abcxyz0 12") + text[at + 1 :],
        )
    )


def as_typed(rng: Random, value: Typed, unit: str = "m") -> Typed:
    """What a person may write in the place of a value."""
    if isinstance(value, bool) or value is None:
        return any_kind(rng)
    if isinstance(value, int | float):
        return number_as_typed(rng, float(value), unit)
    if isinstance(value, str):
        number = value.replace(",", ".").split(" ")[0]
        if number.replace(".", "", 1).isdecimal() and number.isascii() and rng.random() < 0.7:
            return number_as_typed(rng, float(number), unit)
        return text_as_typed(rng, value)
    return rng.choice((str(value), f"{value}"[:10].replace("-", "/"), any_kind(rng)))
