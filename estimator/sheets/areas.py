"""Names of cells, columns and areas."""

from __future__ import annotations

import re

Area = tuple[int, int, int, int]  # first row, first column, last row, last column
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
MOST_CELLS = 500_000  # cells that are read of one workbook


def column_number(letters: str) -> int:
    """Column number of its letters.

    >>> column_number("A"), column_number("XFD")
    (1, 16384)
    """
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def column_letters(number: int) -> str:
    """Letters of a column number.

    >>> column_letters(1), column_letters(16384)
    ('A', 'XFD')
    """
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def reference(row: int, column: int) -> str:
    """A cell's name.

    >>> reference(7, 4)
    'D7'
    """
    return f"{column_letters(column)}{row}"


def area(reference: str) -> Area | None:
    """First row, first column, last row, last column of 'B2:D9' or 'B2'; None for anything else."""
    match = re.fullmatch(r"\$?([A-Za-z]{1,3})\$?(\d+)(?::\$?([A-Za-z]{1,3})\$?(\d+))?", reference.strip())
    if not match:
        return None
    left, top, right, bottom = match.groups()
    return int(top), column_number(left), int(bottom or top), column_number(right or left)
