"""The formulas of an .xls, which the library that reads its values keeps to itself: one more pass over the records."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from struct import error as StructError
from struct import unpack_from
from typing import Any

from estimator.sheets.cells import Arrays
from estimator.sheets.references import UNTOLD

MOST_TEXTS = 100_000
LONGEST = 2_000  # bytes of a formula that is still put into words

_BOUNDSHEET, _EOF, _FORMULA, _ARRAY, _SHARED, _CALC_MODE = 0x85, 0x0A, (0x06, 0x206, 0x406), 0x221, 0x4BC, 0x0D
_POINTS_AT_SHARED, _TEXT_TOKEN = 0x01, 0x17


@dataclass(frozen=True, slots=True)
class Formulas:
    """texts: place, counted from 1, to formula with its equals sign; arrays: areas filled by one formula."""

    texts: dict[tuple[int, int], str] = field(default_factory=dict)
    arrays: Arrays = field(default_factory=list)


def _records(book: Any, start: int) -> Iterator[tuple[int, bytes]]:
    """Code and content of the records of one part of the stream, up to its end."""
    data, at = book.mem, start
    while 0 <= at <= len(data) - 4:
        code, size = unpack_from("<HH", data, at)
        yield code, bytes(data[at + 4 : at + 4 + size])
        if code == _EOF:
            return
        at += 4 + size


def sheet_places(book: Any) -> list[int]:
    """Where each worksheet begins in the stream, in the order of the sheets; chart sheets left out."""
    return [
        unpack_from("<I", content)[0] + book.base
        for code, content in _records(book, book.base)
        if code == _BOUNDSHEET and len(content) > 6 and content[5] == 0
    ]


def is_manual(book: Any, start: int) -> bool:
    """Whether the workbook calculates by hand only; each sheet says it for all."""
    return any(code == _CALC_MODE and content[:2] == b"\0\0" for code, content in _records(book, start))


def formulas_of(book: Any, start: int) -> Formulas:
    """The formulas of the sheet that begins there."""
    found = Formulas()
    shared: list[tuple[int, int, int, int, bytes]] = []
    waiting: list[tuple[int, int]] = []
    for code, content in _records(book, start):
        if code in _FORMULA and len(content) >= 22 and len(found.texts) < MOST_TEXTS:
            row, column = unpack_from("<HH", content)
            tokens = _tokens(content, 20)
            if tokens[:1] == bytes([_POINTS_AT_SHARED]):
                waiting.append((row, column))
                found.texts[row + 1, column + 1] = UNTOLD
            else:
                found.texts[row + 1, column + 1] = _text(book, tokens, row, column, "cell")
        elif code in (_SHARED, _ARRAY) and len(content) > 10:
            top, bottom, left, right = unpack_from("<HHBB", content)
            if code == _ARRAY:
                text = _text(book, _tokens(content, 12), top, left, "cell")
                found.arrays.append(((top + 1, left + 1, bottom + 1, right + 1), text))
                found.texts[top + 1, left + 1] = text
            else:
                shared.append((top, bottom, left, right, _tokens(content, 8)))
    arrays = {area[:2] for area, _ in found.arrays}
    for row, column in waiting:
        if (row + 1, column + 1) in arrays:
            continue
        inside = (one for t, b, left, r, one in shared if t <= row <= b and left <= column <= r)
        if (one := next(inside, None)) is not None:
            found.texts[row + 1, column + 1] = _text(book, one, row, column, "shared")
    for (top, left, bottom, right), text in found.arrays:
        for row, column in waiting:
            if top <= row + 1 <= bottom and left <= column + 1 <= right:
                found.texts[row + 1, column + 1] = text
    return found


def _tokens(content: bytes, at: int) -> bytes:
    (size,) = unpack_from("<H", content, at)
    return content[at + 2 : at + 2 + size]


def _text(book: Any, tokens: bytes, row: int, column: int, kind: str) -> str:
    from xlrd.formula import FMLA_TYPE_CELL, FMLA_TYPE_SHARED, decompile_formula

    if not tokens or len(tokens) > LONGEST:
        return UNTOLD
    try:
        way = FMLA_TYPE_SHARED if kind == "shared" else FMLA_TYPE_CELL
        text = decompile_formula(book, tokens, len(tokens), way, row, column)
    except Exception:  # the library puts most formulas into words, not all
        return UNTOLD
    if not text or "SHARED FMLA" in text:
        return UNTOLD
    return "=" + str(text).replace("<<external>>", "'[another workbook]'")


def name_text(book: Any, name: Any) -> str:
    """What a defined name stands for, with an equals sign; blank where it cannot be told."""
    tokens = bytes(name.raw_formula or b"")
    try:
        if tokens[:1] == bytes([_TEXT_TOKEN]) and len(tokens) > 3:
            wide = tokens[2] & 1
            words = tokens[3 : 3 + tokens[1] * (2 if wide else 1)].decode("utf-16-le" if wide else "latin-1")
            return f'="{words}"'
    except (StructError, UnicodeDecodeError):
        return ""
    text = _text(book, tokens, 0, 0, "cell")
    return "" if text == UNTOLD else text
