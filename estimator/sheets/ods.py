"""Cells of an .ods: rows and cells that stand for many are spread, up to a limit; formulas kept with their values."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.sheets.areas import LAST_COLUMN, LAST_ROW, MOST_CELLS, Area
from estimator.sheets.cells import Arrays, Book, Cell, Sheet, with_arrays
from estimator.sheets.ods_parts import (
    cell_formats,
    date_of,
    formula_text,
    number_of,
    reference_text,
    text_of,
    time_of,
)
from estimator.sheets.package import MARK, Opened, attribute, local, parse

if TYPE_CHECKING:
    from lxml.etree import _Element

_TRUTH = re.compile(r"=(?:TRUE|FALSE)(?:\(\))?", re.IGNORECASE)  # what some programs make of a typed TRUE
_ERROR = re.compile(r"#(?:N/A|(?:DIV/0|REF|NULL|NUM|VALUE)!|NAME\?)|Err:\d{3}")


@dataclass(slots=True)
class _Reading:
    """A sheet while its rows are read; row: the last one."""

    name: str
    state: str
    column_formats: dict[int, str] = field(default_factory=dict)
    column: int = 0
    row: int = 0
    cells: dict[tuple[int, int], Cell] = field(default_factory=dict)
    hidden: set[int] = field(default_factory=set)
    filtered: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    merged: list[Area] = field(default_factory=list)
    arrays: Arrays = field(default_factory=list)


def read_ods(opened: Opened, wanted: frozenset[str] | None) -> Book | Problem:
    """The sheets of an .ods. wanted: keys of the names to read, None for all.

    XMLSyntaxError for a part that is no XML.
    """
    styles = opened.part("styles.xml")
    roots = [parse(styles)] if styles else []
    names: list[str] = []
    own: dict[str, str] = {}
    defined: dict[str, str] = {}
    sheets: list[Sheet] = []
    left = MOST_CELLS
    since_1904 = False
    for kind, element, reading in _walk(opened.part("content.xml") or b"", roots, wanted):
        if kind == "sheet":
            names.append(reading.name)
        elif kind == "row":
            left = _row(element, reading, left)
            if left < 0:
                return problem("file-too-many-cells", Place(opened.name), limit=f"{MOST_CELLS:,}")
        elif kind == "name":
            _name(element, reading.name, own, defined)
        elif kind == "null-date":
            since_1904 = attribute(element, "date-value").startswith("1904")
        elif kind == "end" and reading.name not in own:
            sheets.append(_finished(reading))
    settings = opened.part("settings.xml") or b""
    manual = re.search(rb'"AutoCalculate"[^>]*>\s*false', settings) is not None
    return Book(opened.name, tuple(sheets), tuple(names), own, manual, since_1904, defined, kind="ods")


def _walk(
    data: bytes, roots: list[_Element], wanted: frozenset[str] | None
) -> Iterator[tuple[str, _Element, _Reading]]:
    """What the file holds, in its order; each row is dropped when the next one is asked for."""
    from lxml import etree

    table = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
    tags = [table + t for t in ("table", "table-row", "table-column", "named-range", "named-expression", "null-date")]
    styles = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}automatic-styles"
    formats: dict[str, str] = {}
    hidden: set[str] = set()
    reading = _Reading("", "visible")
    depth = 0  # a table inside a cell is no sheet
    read = False
    events = etree.iterparse(
        io.BytesIO(data), events=("start", "end"), tag=[*tags, styles], resolve_entities=False, no_network=True
    )
    for event, element in events:
        name = local(element)
        if name == "automatic-styles":
            if event == "end":
                formats = cell_formats([*roots, element])
                hidden = {attribute(e, "name") for e in element.iter("{*}style") if _not_shown(e)}
        elif name == "table":
            depth += 1 if event == "start" else -1
            if event == "start" and depth == 1:
                style, title = attribute(element, "style-name"), attribute(element, "name")
                reading = _Reading(title, "hidden" if style in hidden else "visible")
                cached = style == "ta_extref" or title.startswith("'file:")  # what another workbook held
                read = not cached and (wanted is None or key(title) in wanted)
                if not cached:
                    yield "sheet", element, reading
            elif depth == 0 and event == "end":
                if read:
                    yield "end", element, reading
                reading, read = _Reading("", "visible"), False
                element.clear()
        elif event == "end" and name in ("named-range", "named-expression"):
            yield "name", element, reading
        elif event == "end" and name == "null-date":
            yield "null-date", element, reading
        elif event == "end" and depth == 1:
            if read and name == "table-column":
                _column(element, reading, formats)
            elif read:
                for cell in element.iterchildren("{*}table-cell", "{*}covered-table-cell"):
                    cell.set("format", formats.get(attribute(cell, "style-name"), ""))
                element.set("format", formats.get(attribute(element, "default-cell-style-name"), ""))
                yield "row", element, reading
            element.clear()
            while (before := element.getprevious()) is not None and (parent := element.getparent()) is not None:
                if local(before) != local(element):
                    break
                parent.remove(before)  # or a long sheet is held in memory


def _not_shown(style: _Element) -> bool:
    return any(attribute(child, "display") == "false" for child in style if local(child) == "table-properties")


def _many(element: _Element, name: str, most: int) -> int:
    """How many a row, column or cell stands for; ValueError for a number that is none: programs guess differently."""
    text = attribute(element, name).strip()
    if text and not (text.isdecimal() and text.isascii() and int(text[:9])):
        raise ValueError(f"<{local(element)}> stands for '{text[:20]}' of them")
    return min(int(text[:9]), most) if text else 1


def _column(element: _Element, reading: _Reading, formats: dict[str, str]) -> None:
    count = _many(element, "number-columns-repeated", LAST_COLUMN)
    columns = range(reading.column + 1, min(reading.column + count, LAST_COLUMN) + 1)
    reading.column += count
    code = formats.get(attribute(element, "default-cell-style-name"), "General")
    if code != "General":
        reading.column_formats.update(dict.fromkeys(columns, code))
    if attribute(element, "visibility") in ("collapse", "filter"):
        reading.hidden_columns.update(columns)


def _row(row: _Element, reading: _Reading, left: int) -> int:
    """Put the cells of a row in their places; how many more cells may come, below 0 where these were too many."""
    count = _many(row, "number-rows-repeated", LAST_ROW)
    rows = range(reading.row + 1, min(reading.row + count, LAST_ROW) + 1)
    reading.row += count
    column, filled = 0, False
    for element in row.iterchildren("{*}table-cell", "{*}covered-table-cell"):
        many = _many(element, "number-columns-repeated", LAST_COLUMN)
        columns = range(column + 1, min(column + many, LAST_COLUMN) + 1)
        column += many
        if not rows or not columns:
            continue
        _spans(element, rows[0], columns[0], reading)
        found = _cell(element)
        if found is None:
            continue
        filled = True
        left -= len(rows) * len(columns)
        if left < 0:
            return left
        for c in columns:
            code = str(element.get("format") or row.get("format") or reading.column_formats.get(c, "General"))
            shown = Cell(found.value, found.kind, found.formula, _shown(element, code))
            reading.cells.update(dict.fromkeys(((r, c) for r in rows), shown))
    visibility = attribute(row, "visibility")
    if filled and visibility in ("collapse", "filter"):
        (reading.filtered if visibility == "filter" else reading.hidden).update(rows)
    return left


def _shown(element: _Element, code: str) -> str:
    """A value says itself that it is a per cent, even where its style is lost."""
    return "0%" if attribute(element, "value-type") == "percentage" and "%" not in code else code


def _spans(element: _Element, row: int, column: int, reading: _Reading) -> None:
    for kind in ("", "matrix-"):
        down = _many(element, f"number-{kind}rows-spanned", LAST_ROW)
        right = _many(element, f"number-{kind}columns-spanned", LAST_COLUMN)
        area = (row, column, min(row + down - 1, LAST_ROW), min(column + right - 1, LAST_COLUMN))
        if kind and attribute(element, "formula"):
            reading.arrays.append((area, formula_text(attribute(element, "formula"))))
        elif not kind and (down > 1 or right > 1):
            reading.merged.append(area)


def _cell(element: _Element) -> Cell | None:
    """What stands in a cell; None for nothing."""
    source = attribute(element, "formula")
    formula = formula_text(source) if source else None
    kinds = [str(v) for k, v in element.attrib.items() if str(k).endswith("}value-type")]
    kind = attribute(element, "value-type")
    text = text_of(element) if len(element) else ""
    if source and _TRUTH.fullmatch(formula or ""):
        return Cell("TRUE" in (formula or "").upper(), "bool", formula)
    if "error" in kinds or ((formula or kind == "string") and _ERROR.fullmatch(text)):
        return Cell(text or "an error", "error", formula)
    if kind in ("float", "percentage", "currency"):
        return _typed(number_of(attribute(element, "value")), "number", attribute(element, "value") or text, formula)
    if kind == "date":
        return _typed(date_of(attribute(element, "date-value")), "date", attribute(element, "date-value"), formula)
    if kind == "time":
        return _typed(time_of(attribute(element, "time-value")), "time", attribute(element, "time-value"), formula)
    if kind == "boolean":
        said = attribute(element, "boolean-value")
        return _typed({"true": True, "false": False}.get(said), "bool", said or text, formula)
    text = text or attribute(element, "string-value")
    if text:
        return Cell(text, "text", formula)
    return Cell(None, "uncalculated", formula) if formula and not kind else None


def _typed(value: object, kind: str, text: str, formula: str | None) -> Cell:
    """A value of its kind, or an error where the file holds none: named, never read as blank."""
    if value is None:
        return Cell(text or "no value", "error", formula)
    return Cell(value, kind, formula)  # type: ignore[arg-type]  # the readers of each kind give its values


def _name(element: _Element, sheet: str, own: dict[str, str], defined: dict[str, str]) -> None:
    """A defined name: our own mark on a sheet, or what a name of the user's stands for."""
    name, expression = attribute(element, "name"), attribute(element, "expression")
    if name == MARK and sheet:
        own[sheet] = expression.removeprefix("of:").removeprefix("=").strip('"')
    else:
        address = attribute(element, "cell-range-address")
        defined[key(name)] = f"={reference_text(address)}" if address else formula_text(f"={expression}")


def _finished(reading: _Reading) -> Sheet:
    cells = dict(sorted(with_arrays(reading.cells, reading.arrays).items()))
    return Sheet(
        reading.name,
        cells,
        frozenset(reading.hidden),
        frozenset(reading.hidden_columns),
        frozenset(reading.filtered),
        tuple(reading.merged),
        state=reading.state,
    )
