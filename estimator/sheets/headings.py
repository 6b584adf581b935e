"""Finding a table on a sheet: its heading row, and which column is which."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from estimator.core.units import unit_kind
from estimator.sheets.cells import Sheet
from estimator.sheets.columns import Column
from estimator.sheets.grammar import cell_text, is_blank

TOP = 20  # rows in which headings are looked for
LONG = 200  # letters of a text that is no heading anybody meets twice

_BRACKET = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")
_LEADING_UNITS = frozenset(["m", "mm", "cm", "km", "ft", "feet", "degrees", "deg", "kg", "%"])


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading as it stands: column number, text, the words that are compared, and the unit in its brackets."""

    column: int
    text: str
    words: str
    unit: str


@dataclass(frozen=True, slots=True)
class Found:
    """Where a table stands. columns: declared name to heading; twins: name to all its headings, where more than
    one; unknown: headings that no column is declared for; first: the first row below the headings."""

    columns: Mapping[str, Heading]
    twins: Mapping[str, Sequence[Heading]]
    unknown: Sequence[Heading]
    row: int
    first: int


def heading_words(text: str) -> str:
    """A heading in the form in which two are the same: no case, brackets, punctuation; `_` is a space.

    >>> heading_words(" Rock_at\\n(m below ground)*")
    'rock at'
    """
    return _words(text) if len(text) <= LONG else _words.__wrapped__(text)


@lru_cache(maxsize=5_000)
def _words(text: str) -> str:
    plain = unicodedata.normalize("NFKC", _BRACKET.sub(" ", unicodedata.normalize("NFKC", text))).casefold()
    plain = plain.replace("'", "").replace("’", "").replace("_", " ")
    return " ".join(re.sub(r"[^\w\s]|[\u200b\ufeff\u00ad]", " ", plain).split())


def heading_unit(text: str) -> str:
    """The unit in a heading's brackets, blank where they only explain.

    >>> heading_unit("Height (mm)"), heading_unit("Travel (km, one way)"), heading_unit("Near (pool, glass)")
    ('mm', 'km', '')
    """
    for inside in _BRACKET.findall(unicodedata.normalize("NFKC", text)):
        whole = " ".join(inside.split()).strip(". ")
        first = re.split(r"[,;:]", whole)[0].strip()
        for part in (whole, first):
            if unit_kind(part) or ("/" in part and unit_kind(part.split("/")[0].strip())):
                return part
        word = first.split(" ")[0]
        if word in _LEADING_UNITS:
            return word
    return ""


def find_table(sheet: Sheet, columns: Sequence[Column]) -> Found | None:
    """The table of a sheet: the first of the top rows that holds all required headings, else the one with most
    known headings; None where no heading is known."""
    names = column_names(columns)
    required = {c.name for c in columns if c.required}
    rows = _top_rows(sheet)
    best: Found | None = None
    for row in sorted(number for number in rows if number <= TOP):
        found = _better(_match(rows[row], names, row, row + 1), _two_rows(sheet, rows, names, row))
        if found.columns and required <= set(found.columns):
            return found
        if found.columns and (best is None or len(found.columns) > len(best.columns)):
            best = found
    return best


def column_names(columns: Iterable[Column]) -> dict[str, str]:
    """Heading words to declared name; a column's own name wins over another's alias."""
    listed = list(columns)
    aliases = {heading_words(alias): c.name for c in listed for alias in c.also}
    return aliases | {heading_words(c.name): c.name for c in listed}


def _top_rows(sheet: Sheet) -> dict[int, dict[int, str]]:
    rows: dict[int, dict[int, str]] = {}
    for (row, column), cell in sheet.cells.items():
        if row <= TOP + 1 and cell.kind in ("text", "number") and not is_blank(cell):
            rows.setdefault(row, {})[column] = cell_text(cell)
    return rows


def _match(texts: Mapping[int, str], names: Mapping[str, str], row: int, first: int) -> Found:
    by_name: dict[str, list[Heading]] = {}
    unknown = []
    for column, text in sorted(texts.items()):
        heading = Heading(column, " ".join(text.split()), heading_words(text), heading_unit(text))
        name = names.get(heading.words)
        if name:
            by_name.setdefault(name, []).append(heading)
        elif heading.words:
            unknown.append(heading)
    columns = {name: headings[0] for name, headings in by_name.items()}
    return Found(columns, {n: h for n, h in by_name.items() if len(h) > 1}, unknown, row, first)


def _two_rows(sheet: Sheet, rows: Mapping[int, Mapping[int, str]], names: Mapping[str, str], row: int) -> Found | None:
    """Headings over two rows, tied by a merged cell: each column by its joined words, else the lower ones."""
    areas = [a for a in sheet.merged if a[0] <= row <= a[2]]
    if not areas or row + 1 not in rows:
        return None
    upper = dict(rows[row])
    for top, left, _, right in areas:
        text = rows.get(top, {}).get(left)
        upper.update({c: text for c in range(left, min(right, left + 200) + 1) if text})
    texts: dict[int, str] = {}
    for column in sorted({*upper, *rows[row + 1]}):
        over, under = upper.get(column, ""), rows[row + 1].get(column, "")
        joined = f"{over} {under}"
        texts[column] = joined if not under or heading_words(joined) in names else under
    return _match(texts, names, row, row + 2)


def _better(one: Found, two: Found | None) -> Found:
    return two if two is not None and len(two.columns) > len(one.columns) else one
