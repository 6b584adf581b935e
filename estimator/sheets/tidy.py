"""The tidied copy: what openpyxl needs to read values and formulas, written afresh, and nothing else.

Other readers tolerate damage that openpyxl does not (bad properties, odd fills, drop-downs it does not know, strict
namespaces, wrong part names), and its read-only mode walks empty formatted cells by the million. So it never sees
the file itself.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from estimator.core.names import key
from estimator.sheets.areas import LAST_COLUMN, MOST_CELLS, Area, area, column_letters
from estimator.sheets.columns import TABLES
from estimator.sheets.ods_parts import date_of
from estimator.sheets.package import (
    MARK,
    Opened,
    SheetEntry,
    attribute,
    local,
    parse,
    relations,
    sheet_entries,
    without_type,
    workbook_part,
)
from estimator.sheets.tidy_parts import MAIN, decoded, joined, packed, strings_of, styles_of
from estimator.sheets.tidy_places import column_of, in_its_place, once_each, row_number
from estimator.sheets.xml_text import escape, quoteattr

if TYPE_CHECKING:
    from lxml.etree import _Element

_KINDS = frozenset("nsbed")
SHEET_KINDS = frozenset(("worksheet", "chartsheet", "dialogsheet", "xlMacrosheet", "xlIntlMacrosheet"))
_INPUT = frozenset(key(table.sheet) for table in TABLES)
MOST_ASIDE = 200_000  # cells of a sheet of the user's own, which only formulas may lead to

_EMPTY = f'<worksheet xmlns="{MAIN}"><sheetData></sheetData></worksheet>'
_COMMENT = re.compile(rb"<!--.*?-->", re.DOTALL)
_PREFIX = re.compile(rb"<((?:\w+:)?)sheetData\b", re.ASCII)


@dataclass(slots=True)
class Facts:
    """What a sheet says beside its cells; rows and columns count from 1."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    merged: list[Area] = field(default_factory=list)
    filter: Area | None = None
    totals_rows: set[int] = field(default_factory=set)
    tables: dict[str, Area] = field(default_factory=dict)
    empty_text: set[tuple[int, int]] = field(default_factory=set)  # formulas whose result is a blank text
    formulas: bool = False
    cells: int = 0


@dataclass(frozen=True, slots=True)
class Tidied:
    """data: the tidied package, sheets named S0, S1 ... in the order of `entries`; facts in the same order. unread:
    sheets of the user's own that are too long to be read; over: there are more cells than are read at all."""

    data: bytes
    entries: tuple[SheetEntry, ...]
    facts: tuple[Facts, ...]
    manual: bool
    since_1904: bool
    defined: dict[str, str]
    tables: dict[str, tuple[str, Area]]
    unread: tuple[str, ...] = ()
    over: bool = False


def tidy(opened: Opened, wanted: frozenset[str] | None, own: frozenset[str]) -> Tidied:
    """The tidied copy of the worksheets whose names are wanted (None: all) and not our own.

    XMLSyntaxError for a part that is no XML.
    """
    main = workbook_part(opened)
    book = parse(opened.part(main) or b"")
    by_kind = dict(relations(opened, main).values())
    formats, count = styles_of(opened.part(by_kind.get("styles", "")))
    strings, string_count = strings_of(opened.part(by_kind.get("sharedStrings", "xl/sharedStrings.xml")))
    listed = sheet_entries(opened)
    entries = tuple(
        e for e in listed if e.kind == "worksheet" and e.name not in own and (wanted is None or e.name in wanted)
    )
    for entry in listed:
        if key(entry.name) in _INPUT and entry.kind not in SHEET_KINDS:
            raise ValueError(f"the sheet '{entry.name}' leads to no part of its own")
    facts, sheets, unread, left = [], {}, [], MOST_CELLS
    job = any(key(e.name) in _INPUT for e in entries)
    for index, entry in enumerate(entries):
        fact = Facts()
        data = opened.part(entry.part) or b""
        aside = job and key(entry.name) not in _INPUT
        text = _sheet(data, entry.name, fact, count, string_count, min(left, MOST_ASIDE) if aside else left)
        if text is None and aside:
            unread.append(entry.name)
            fact, text = Facts(), _EMPTY
        if text is None:
            return Tidied(b"", (), (), False, False, {}, {}, over=True)
        left -= 0 if aside else fact.cells
        sheets[f"xl/worksheets/sheet{index + 1}.xml"] = text
        _totals(opened, entry.part, fact)
        facts.append(fact)
    tables = {
        name: (entry.name, reference)
        for entry in sheet_entries(opened)
        for name, reference, _ in _tables(opened, entry.part)
    }
    settings = {local(e): e for e in book}
    properties, calculation = settings.get("workbookPr"), settings.get("calcPr")
    since_1904 = properties is not None and attribute(properties, "date1904") in ("1", "true")
    manual = calculation is not None and attribute(calculation, "calcMode") == "manual"
    package = packed(sheets, formats, strings, since_1904)
    return Tidied(package, entries, tuple(facts), manual, since_1904, _defined(book), tables, tuple(unread))


def _defined(book: _Element) -> dict[str, str]:
    """Defined names, by key, to what they stand for; our own marks left out."""
    found = {}
    for element in book.iter("{*}definedName"):
        name, text = attribute(element, "name"), (element.text or "").strip()
        if text and name != MARK and not name.startswith("_xlnm."):
            found[key(name)] = f"={text.removeprefix('=')}"
    return found


def _tables(opened: Opened, part: str) -> Iterator[tuple[str, Area, bool]]:
    """The tables (list objects) on a sheet: key of the name, area, whether its last row holds totals."""
    for kind, target in relations(opened, part).values() if part else ():
        data = opened.part(target) if kind == "table" else None
        root = parse(data) if data else None
        reference = area(attribute(root, "ref")) if root is not None else None
        if root is not None and reference:
            name = attribute(root, "displayName") or attribute(root, "name")
            yield key(name), reference, attribute(root, "totalsRowCount") not in ("", "0")


def _totals(opened: Opened, part: str, facts: Facts) -> None:
    for name, reference, totals in _tables(opened, part):
        facts.tables[name] = reference
        if totals:
            facts.totals_rows.add(reference[2])


def _sheet(data: bytes, sheet: str, facts: Facts, styles: int, strings: int, most: int) -> str | None:
    """The sheet with the cells that hold something, in their order; facts are filled in on the way. None for one with
    more cells than `most`.

    Some programs write rows and cells as they come. ValueError for a cell that stands twice with two contents: each
    program would take another one.
    """
    from lxml import etree

    data = _without_empty_rows(data)
    rows: dict[int, dict[int, str]] = {}
    last = 0
    tags = ("{*}row", "{*}col", "{*}mergeCell", "{*}autoFilter")
    parsed = etree.iterparse(io.BytesIO(data), tag=tags, resolve_entities=False, no_network=True)
    for _, element in parsed:
        name = local(element)
        if name == "row":
            in_its_place(element, "sheetData")
            last = row_number(element, last)
            if attribute(element, "hidden") in ("1", "true"):
                facts.hidden_rows.add(last)
            cells = rows.get(last, {})
            for column, cell in _cells(element, last, facts, styles, strings):
                if cells.get(column, cell) != cell:
                    raise ValueError(f"{sheet}!{column_letters(column)}{last} stands twice")
                facts.cells += column not in cells
                cells[column] = cell
            if cells:
                rows[last] = cells
            if facts.cells > most:
                return None
            element.clear()
            while (before := element.getprevious()) is not None and (parent := element.getparent()) is not None:
                in_its_place(before, "sheetData", "row")
                parent.remove(before)  # or a long sheet is held in memory twice
        elif name == "col" and attribute(element, "hidden") in ("1", "true"):
            first, final = attribute(element, "min"), attribute(element, "max")
            if first.isdecimal() and final.isdecimal() and len(facts.hidden_columns) < LAST_COLUMN:
                facts.hidden_columns.update(range(int(first), min(int(final), LAST_COLUMN) + 1))
        elif name in ("mergeCell", "autoFilter") and (reference := area(attribute(element, "ref"))):
            if name == "mergeCell":
                facts.merged.append(reference)
            else:
                facts.filter = reference
    without_type(parsed.root)
    for holder in parsed.root.iter("{*}sheetData"):
        in_its_place(holder, "worksheet")
        for child in holder:
            in_its_place(child, "sheetData", "row")
    listed = "".join(
        f'<row r="{number}">{"".join(cell for _, cell in sorted(rows[number].items()))}</row>'
        for number in sorted(rows)
    )
    return _EMPTY.replace("</sheetData>", listed + "</sheetData>")


def _without_empty_rows(data: bytes) -> bytes:
    """The sheet without rows of nothing but empty formatted cells, a million of them in half a second.

    Left alone where rows do not say their number, since the others would move up.
    """
    prefix = _PREFIX.search(data)
    if prefix is None or b"<![CDATA[" in data:
        return data
    name = prefix[1]
    data = _COMMENT.sub(b"", data) if b"<!--" in data else data
    if re.search(rb"<%brow(?=[\s>/])(?! r=)(?![^<>]*?\sr=)" % name, data):
        return data
    empty_cell = rb"\s*+<%bc(?:\s[^<>]*+)?(?:(?<=/)>|(?<!/)></%bc>)" % (name, name)
    end = rb"(?:(?<=/)>|(?<!/)>(?:%b)*+\s*+</%brow>)" % (empty_cell, name)
    return re.sub(rb"(?:<%brow\s[^<>]*+%b\s*+)++" % (name, end), b"", data)


def _cells(row: _Element, number: int, facts: Facts, styles: int, strings: int) -> Iterator[tuple[int, str]]:
    """Column and cell of a row where something stands, each with its reference put right."""
    column = 0
    for cell in row:
        in_its_place(cell, "row", "c")
        if local(cell) != "c":
            continue
        column = column_of(cell, number, column)
        if not len(cell):
            continue
        inner, kind = _content(cell, number, column, facts, strings)
        if inner:
            style = cell.get("s") or ""
            shown = f' s="{style}"' if style.isdecimal() and int(style) < styles else ""
            yield column, f'<c r="{column_letters(column)}{number}"{shown}{kind}>{inner}</c>'


def _content(cell: _Element, row: int, column: int, facts: Facts, strings: int) -> tuple[str, str]:
    """What stands in a cell and its type attribute; a blank text for an empty cell."""
    children = {local(child): child for child in cell}
    if len(children) < len(cell):
        once_each(cell)
    kind = cell.get("t") or "n"
    value = children["v"].text if "v" in children else None
    formula = ""
    if "f" in children:
        facts.formulas = True
        source = children["f"]
        kept = ("t", "ref", "si", "r1", "r2", "dt2D", "dtr")
        attributes = "".join(f" {k}={quoteattr(v)}" for k in kept if (v := source.get(k)) is not None)
        formula = f"<f{attributes}>{escape(source.text or '')}</f>"
        if kind == "str" and not value:
            facts.empty_text.add((row, column))
    if kind == "inlineStr":
        text = decoded(joined(children["is"])) if "is" in children else ""
        if formula:
            return (f"{formula}<v>{escape(text)}</v>", ' t="str"') if text else (formula, "")
        return (f'<is><t xml:space="preserve">{escape(text)}</t></is>', ' t="inlineStr"') if text else ("", "")
    if value is None or (not value.strip() and kind != "str"):
        return formula, ""
    if kind == "str":
        value = decoded(value)
    elif kind == "b" and value.strip() in ("true", "false"):
        value = str(int(value.strip() == "true"))
    elif kind not in _KINDS:
        kind = "str"
    elif kind != "e" and not _fits(value.strip(), kind, strings):
        kind = "e"  # a value that is none of its kind: kept, so that it is named and never read as blank
    return f"{formula}<v>{escape(value)}</v>", f' t="{kind}"'


def _fits(value: str, kind: str, strings: int) -> bool:
    """Whether a value is one of its kind: a number, a place in the list of texts, yes or no, a day."""
    if kind == "s":
        return value.isdecimal() and int(value) < strings
    if kind == "b":
        return value in ("0", "1")
    if kind == "d":
        return date_of(value.removesuffix("Z")) is not None
    number = re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", value, re.ASCII)
    return number is not None and math.isfinite(float(value))
