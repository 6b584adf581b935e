"""Where the value of a formula comes from, as far as it can be out of date."""

from __future__ import annotations

import re
from collections.abc import Sequence

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import column_number, reference
from estimator.sheets.cells import Book

Fed = tuple[str, int, int, str]  # sheet, row, column, formula

_TEXTS = re.compile(r'"[^"]*"')
_OTHER_BOOK = re.compile(r"(?<![\w\]])\[\d+\]|\[[^\]]+\.xl\w*\]|'[^']*\[[^\]]+\][^']*'!", re.IGNORECASE)
_SHEET = re.compile(r"(?:'((?:[^']|'')+)'|([^\W\d][\w.]*))!")
_CELL = re.compile(r"(?:(?:'((?:[^']|'')+)'|([^\W\d][\w.]*))!)?\$?([A-Z]{1,3})\$?(\d{1,7})(?![\w(])")


def old_values(book: Book, fed: Sequence[Fed]) -> list[Problem]:
    """Warnings about cells that are read and whose formulas can hold an old value, one of each kind."""
    if not fed:
        return []
    own = {key(name) for name in book.own}
    by_code = {
        "fed-by-output": [f for f in fed if own and _reaches(book, f[0], f[3], own, set())],
        "fed-by-other-book": [f for f in fed if _OTHER_BOOK.search(_TEXTS.sub("", f[3]))],
        "manual-calculation": list(fed) if book.manual else [],
    }
    return [
        problem(code, Place(book.name, found[0][0], reference(*found[0][1:3])), cells=_listed(found))
        for code, found in by_code.items()
        if found
    ]


def _listed(found: Sequence[Fed], most: int = 12) -> str:
    cells = [reference(row, column) for _, row, column, _ in found[:most]]
    return ", ".join(cells) + (f" and {len(found) - most} more" if len(found) > most else "")


def _reaches(book: Book, sheet: str, formula: str, own: set[str], seen: set[tuple[str, int, int]]) -> bool:
    """Whether a formula points at one of our sheets, itself or through the cells it points at."""
    bare = _TEXTS.sub("", formula)
    if any(key((quoted or plain).replace("''", "'")) in own for quoted, plain in _SHEET.findall(bare)):
        return True
    sheets = {key(s.name): s for s in book.sheets}
    for quoted, plain, letters, row in _CELL.findall(bare):
        name = key((quoted or plain or sheet).replace("''", "'"))
        place = (name, int(row), column_number(letters))
        if name not in sheets or place in seen or len(seen) > 500:
            continue
        seen.add(place)
        cell = sheets[name].cells.get(place[1:])
        if cell is not None and cell.formula and _reaches(book, sheets[name].name, cell.formula, own, seen):
            return True
    return False
