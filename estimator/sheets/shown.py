"""What a cell shows: the words of its number format, and what somebody typed that became a date or money."""

from __future__ import annotations

import re
import unicodedata
from datetime import datetime, time, timedelta

from estimator.sheets.cells import Cell
from estimator.sheets.numbers import tidy_text


def what_was_typed(cell: Cell) -> tuple[str, str]:
    """A date or time cell in words, and what a person probably typed before the program changed it."""
    value = cell.value
    if isinstance(value, datetime):
        day, month = value.day, value.month
        typed = f"{day}/{month} or {day}-{month}"
        if day != month and day <= 12:
            typed += f", or {month}/{day} or {month}-{day}"
        if day == 1:  # a number too large for a day is taken as a year
            typed += f", or {month}/{value.year % 100:02d}"
        return value.date().isoformat(), typed
    if isinstance(value, time):
        return value.isoformat("minutes"), f"{value.hour}:{value.minute:02d}"
    assert isinstance(value, timedelta)
    minutes = int(value.total_seconds() // 60)
    return f"{minutes // 60}:{minutes % 60:02d}", f"{minutes // 60}:{minutes % 60:02d}"


def is_percent(number_format: str) -> bool:
    """Whether a number format shows per cents; a sign in quotes is only a word."""
    return "%" in re.sub(r'"[^"]*"|\\.|_.|\*.', "", number_format)


def only_words(number_format: str) -> bool:
    """Whether a format shows words for every number, as some programs keep a yes or no.

    >>> only_words('"TRUE";"TRUE";"FALSE"'), only_words('0" mm"'), only_words('0;-0;"none"'), only_words("General")
    (True, False, False, False)
    """
    return re.fullmatch(r'(?:(?:\[[^\]]*\])?"[^"]*"(?:;|$)){2,4}', number_format) is not None


def shown_unit(number_format: str) -> str:
    """The words that a number format puts behind a number.

    >>> shown_unit('0.00" mm"'), shown_unit("#,##0"), shown_unit(r"0\\ \\m;-0")
    ('mm', '', 'm')
    """
    section = re.sub(r"\[[^\]]*\]", "", re.split(r";(?=(?:[^\"]*\"[^\"]*\")*[^\"]*$)", number_format)[0])
    return "".join(quoted or single for quoted, single in re.findall(r'"([^"]*)"|\\(.)', section)).strip()


def without_currency(text: str) -> str:
    """Money without its sign or three-letter code, before or behind."""
    tidied = tidy_text(text)
    marks = "".join(c for c in tidied if unicodedata.category(c) == "Sc")
    sign = rf"(?:[A-Z]{{0,3}}[{re.escape(marks)}]|[A-Z]{{3}})" if marks else r"[A-Z]{3}"
    match = re.fullmatch(rf"([+-]?) ?(?:{sign} ?([+-]?))?(.*?)(?: ?{sign})?", tidied, re.DOTALL)
    return f"{match[1]}{match[2] or ''}{match[3]}" if match else tidied
