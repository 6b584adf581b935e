"""What stands in the cells of our own sheets: formulas with the values stored beside them, numbers and texts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from estimator.report.package.formulas import shifted
from estimator.report.package.markup import Element, each, parse, tag
from estimator.report.package.package import Package, related, sheet_part
from estimator.report.package.plain import cells, in_parts
from estimator.sheets.areas import column_number

Place = tuple[int, int]  # row and column, both from 1
_ROW, _VALUE, _FORMULA, _INLINE = tag("row"), tag("v"), tag("f"), tag("is")


@dataclass(frozen=True, slots=True)
class Stands:
    """What stands in a cell. formula: without its equals sign, blank for none; value: of the formula as last worked
    out, None where nobody has; an error is its text."""

    formula: str
    value: float | str | None


Grid = Mapping[Place, Stands]


def grids(package: Package, purposes: Mapping[str, str]) -> dict[str, Grid]:
    """The cells of some sheets. purposes: name of the sheet to what it is for, which the answer goes by."""
    strings = related(package, package.book, "/sharedStrings")
    texts = _texts(package.parts.get(strings or "", b"")) if strings else []
    found: dict[str, Grid] = {}
    for sheet in package.sheets:
        purpose = purposes.get(sheet.get("name", ""))
        if purpose is not None:
            data = package.parts[sheet_part(package, sheet)]
            quick = _plain_grid(data, texts)
            found[purpose] = _grid(parse(data), texts) if quick is None else quick
    return found


def _plain_grid(data: bytes, texts: list[str]) -> Grid | None:
    """The cells of a sheet in the plain form; None for any other."""
    parts = in_parts(data, styled=False)
    if parts is None or b"&#" in parts[1]:
        return None
    found: dict[Place, Stands] = {}
    try:
        for letters, row, kind, formula, text in cells(parts[1]):
            value = _value(kind, text, texts)
            if formula or value not in (None, ""):
                found[row, _column(letters)] = Stands(formula.strip(), value)
    except ValueError:
        return None
    return found


def _texts(data: bytes) -> list[str]:
    return ["".join(t.text or "" for t in item.iter(tag("t"))) for item in each(parse(data))] if data else []


def _grid(root: Element, texts: list[str]) -> Grid:
    found: dict[Place, Stands] = {}
    masters: dict[str, tuple[Place, str]] = {}  # of formulas that are stored once for a run of cells
    row = 0
    for line in root.iter(_ROW):
        number = line.get("r", "")
        row, column = int(number) if number.isdecimal() else row + 1, 0
        for cell in each(line):
            column = _column(cell.get("r", "").rstrip("0123456789")) or column + 1
            if len(cell):
                stands = _stands(cell, (row, column), texts, masters)
                if stands is not None:
                    found[row, column] = stands
    return found


@lru_cache(maxsize=20_000)
def _column(letters: str) -> int:
    """Its number; 0 for a cell that does not say where it stands."""
    return column_number(letters) if letters.isascii() and letters.isalpha() and len(letters) <= 3 else 0


def _stands(cell: Element, at: Place, texts: list[str], masters: dict[str, tuple[Place, str]]) -> Stands | None:
    formula, text, kind = "", "", cell.get("t", "n")
    for part in cell:
        if part.tag == _VALUE:
            text = part.text or ""
        elif part.tag == _FORMULA:
            formula = (part.text or "").strip()
            if part.get("t") == "shared" and formula:
                masters[part.get("si", "")] = (at, formula)
            elif part.get("t") == "shared" and part.get("si", "") in masters:
                (row, column), master = masters[part.get("si", "")]
                formula = shifted(master, at[0] - row, at[1] - column)
        elif part.tag == _INLINE:
            text = "".join(t.text or "" for t in part.iter(tag("t")))
    value = _value(kind, text, texts)
    return Stands(formula, value) if formula or value not in (None, "") else None


def _value(kind: str, text: str, texts: list[str]) -> float | str | None:
    if kind == "s":
        return texts[int(text)] if text.isdecimal() and int(text) < len(texts) else text
    if kind in ("str", "inlineStr", "e", "d"):
        return text
    try:
        return float(text) if text else None
    except ValueError:
        return text
