"""The tidied copy: what openpyxl needs to read values and formulas, written afresh, and nothing else.

Other readers tolerate damage that openpyxl does not (bad properties, odd fills, drop-downs it does not know, strict
namespaces, wrong part names), and its read-only mode walks empty formatted cells by the million. So it never sees
the file itself.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

from estimator.sheets.package import (
    Opened,
    SheetEntry,
    attribute,
    local,
    parse,
    relations,
    sheet_entries,
    workbook_part,
)

if TYPE_CHECKING:
    from lxml.etree import _Element

LAST_ROW, LAST_COLUMN = 1_048_576, 16_384
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'

# A row of nothing but empty formatted cells; dropped at the speed of a regular expression, a million in a second.
_EMPTY_ROW = re.compile(
    rb"<((?:\w+:)?)row\s[^<>]*?(?:/>|(?<!/)>(?:\s*<\1c(?:\s[^<>]*)?(?:/>|></\1c>))*\s*</\1row>)", re.ASCII
)
_ROW_WITHOUT_NUMBER = re.compile(rb"<(?:\w+:)?row(?:>|/>|\s(?![^<>]*?\br=))", re.ASCII)

Area = tuple[int, int, int, int]  # first row, first column, last row, last column


@dataclass(slots=True)
class Facts:
    """What a sheet says beside its cells; rows and columns count from 1."""

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    merged: list[Area] = field(default_factory=list)
    filter: Area | None = None
    totals_rows: set[int] = field(default_factory=set)
    empty_text: set[tuple[int, int]] = field(default_factory=set)  # formulas whose result is a blank text
    formulas: bool = False


@dataclass(frozen=True, slots=True)
class Tidied:
    """data: the tidied package, sheets named S0, S1 ... in the order of `entries`; facts in the same order."""

    data: bytes
    entries: tuple[SheetEntry, ...]
    facts: tuple[Facts, ...]
    manual: bool
    since_1904: bool


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


def tidy(opened: Opened, wanted: frozenset[str] | None, own: frozenset[str]) -> Tidied:
    """The tidied copy of the worksheets whose names are wanted (None: all) and not our own.

    XMLSyntaxError for a part that is no XML.
    """
    main = workbook_part(opened)
    book = parse(opened.part(main) or b"")
    by_kind = dict(relations(opened, main).values())
    formats, count = _styles(opened.part(by_kind.get("styles", "")))
    strings, string_count = _strings(opened.part(by_kind.get("sharedStrings", "xl/sharedStrings.xml")))
    entries = tuple(
        e
        for e in sheet_entries(opened)
        if e.kind == "worksheet" and e.name not in own and (wanted is None or e.name in wanted)
    )
    facts, sheets = [], {}
    for index, entry in enumerate(entries):
        fact = Facts()
        sheets[f"xl/worksheets/sheet{index + 1}.xml"] = _sheet(
            opened.part(entry.part) or b"", fact, count, string_count
        )
        _tables(opened, entry.part, fact)
        facts.append(fact)
    settings = {local(e): e for e in book}
    properties, calculation = settings.get("workbookPr"), settings.get("calcPr")
    since_1904 = properties is not None and attribute(properties, "date1904") in ("1", "true")
    manual = calculation is not None and attribute(calculation, "calcMode") == "manual"
    package = _package(sheets, formats, strings, since_1904)
    return Tidied(package, entries, tuple(facts), manual, since_1904)


def _package(sheets: dict[str, str], formats: str, strings: str, since_1904: bool) -> bytes:
    ids = range(1, len(sheets) + 1)
    listed = "".join(f'<sheet name="S{i - 1}" sheetId="{i}" r:id="r{i}"/>' for i in ids)
    pr = f'<workbookPr date1904="{int(since_1904)}"/>'
    links = "".join(f'<Relationship Id="r{i}" Type="{_RELS}/worksheet" Target="worksheets/sheet{i}.xml"/>' for i in ids)
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    types = "".join(f'<Override PartName="/{name}" ContentType="{kinds}.worksheet+xml"/>' for name in sheets)
    texts = {
        "[Content_Types].xml": f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{kinds}.styles+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kinds}.sharedStrings+xml"/>{types}</Types>',
        "_rels/.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">'
        f'<Relationship Id="r1" Type="{_RELS}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{_MAIN}" xmlns:r="{_RELS}">{pr}<sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">{links}'
        f'<Relationship Id="s1" Type="{_RELS}/styles" Target="styles.xml"/>'
        f'<Relationship Id="s2" Type="{_RELS}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "xl/styles.xml": formats,
        "xl/sharedStrings.xml": strings,
        **sheets,
    }
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as package:
        for name, text in texts.items():
            package.writestr(name, _HEAD + text)
    return made.getvalue()


def _styles(data: bytes | None) -> tuple[str, int]:
    """Number formats only, and how many cell formats there are."""
    root = parse(data) if data else None
    codes: dict[str, str] = {}
    used: list[str] = []
    for element in root.iter("{*}numFmt", "{*}cellXfs") if root is not None else ():
        if local(element) == "cellXfs":
            used = [attribute(x, "numFmtId") or "0" for x in element if local(x) == "xf"]
        elif attribute(element, "numFmtId").isdecimal():
            codes[attribute(element, "numFmtId")] = attribute(element, "formatCode")
    known = [number if number in codes or (number.isdecimal() and int(number) < 164) else "0" for number in used]
    used = known or ["0"]
    # Number 164 is the first free one; a built-in number that a file describes again keeps its own meaning.
    fresh = {number: 164 + i for i, number in enumerate(codes)}
    formats = "".join(f'<numFmt numFmtId="{fresh[n]}" formatCode={quoteattr(code)}/>' for n, code in codes.items())
    cells = "".join(f'<xf numFmtId="{fresh.get(n, n)}" fontId="0" fillId="0" borderId="0" xfId="0"/>' for n in used)
    return (
        f'<styleSheet xmlns="{_MAIN}">'
        + (f'<numFmts count="{len(codes)}">{formats}</numFmts>' if codes else "")
        + '<fonts count="1"><font/></fonts><fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills><borders count="1"><border/></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        f'<cellXfs count="{len(used)}">{cells}</cellXfs></styleSheet>',
        len(used),
    )


def joined(element: _Element) -> str:
    """The text of a string item: runs joined, reading aids of phonetic scripts left out."""
    texts = []
    for child in element:
        name = local(child)
        if name == "t":
            texts.append(child.text or "")
        elif name == "r":
            texts += [t.text or "" for t in child if local(t) == "t"]
    return "".join(texts)


def _strings(data: bytes | None) -> tuple[str, int]:
    items = []
    for element in parse(data) if data else ():
        if local(element) == "si":
            items.append(f'<si><t xml:space="preserve">{escape(joined(element))}</t></si>')
    return f'<sst xmlns="{_MAIN}">{"".join(items)}</sst>', len(items)


def area(reference: str) -> Area | None:
    """First row, first column, last row, last column of 'B2:D9' or 'B2'; None for anything else."""
    match = re.fullmatch(r"\$?([A-Za-z]{1,3})\$?(\d+)(?::\$?([A-Za-z]{1,3})\$?(\d+))?", reference.strip())
    if not match:
        return None
    left, top, right, bottom = match.groups()
    return int(top), column_number(left), int(bottom or top), column_number(right or left)


def _tables(opened: Opened, part: str, facts: Facts) -> None:
    """Totals rows and filters of the tables (list objects) on a sheet."""
    for kind, target in relations(opened, part).values():
        data = opened.part(target) if kind == "table" else None
        if data is None:
            continue
        root = parse(data)
        reference = area(attribute(root, "ref"))
        if reference and attribute(root, "totalsRowCount") not in ("", "0"):
            facts.totals_rows.add(reference[2])


def _sheet(data: bytes, facts: Facts, styles: int, strings: int) -> str:
    """The sheet with the cells that hold something; facts are filled in on the way."""
    from lxml import etree

    if b"<!--" not in data and b"<![CDATA[" not in data and not _ROW_WITHOUT_NUMBER.search(data):
        data = _EMPTY_ROW.sub(b"", data)
    rows: list[str] = []
    last = 0
    tags = ("{*}row", "{*}col", "{*}mergeCell", "{*}autoFilter")
    for _, element in etree.iterparse(io.BytesIO(data), tag=tags, resolve_entities=False, no_network=True):
        name = local(element)
        if name == "row":
            number = attribute(element, "r")
            last = int(number) if number.isdecimal() and 0 < int(number) <= LAST_ROW else last + 1
            if attribute(element, "hidden") in ("1", "true"):
                facts.hidden_rows.add(last)
            cells = "".join(_cells(element, last, facts, styles, strings))
            if cells:
                rows.append(f'<row r="{last}">{cells}</row>')
            element.clear()
            while (before := element.getprevious()) is not None and (parent := element.getparent()) is not None:
                parent.remove(before)  # or a long sheet is held in memory twice
        elif name == "col" and attribute(element, "hidden") in ("1", "true"):
            first, final = attribute(element, "min"), attribute(element, "max")
            if first.isdecimal() and final.isdecimal():
                facts.hidden_columns.update(range(int(first), min(int(final), LAST_COLUMN) + 1))
        elif name in ("mergeCell", "autoFilter") and (reference := area(attribute(element, "ref"))):
            if name == "mergeCell":
                facts.merged.append(reference)
            else:
                facts.filter = reference
    return f'<worksheet xmlns="{_MAIN}"><sheetData>{"".join(rows)}</sheetData></worksheet>'


def _cells(row: _Element, number: int, facts: Facts, styles: int, strings: int) -> Iterator[str]:
    """The cells of a row that hold something, each with its reference put right."""
    column = 0
    for cell in row:
        if local(cell) != "c":
            continue
        reference = area(cell.get("r") or "")
        column = reference[1] if reference else column + 1
        if not len(cell) or column > LAST_COLUMN:
            continue
        inner, kind = _content(cell, number, column, facts, strings)
        if inner:
            style = cell.get("s") or ""
            shown = f' s="{style}"' if style.isdecimal() and int(style) < styles else ""
            yield f'<c r="{column_letters(column)}{number}"{shown}{kind}>{inner}</c>'


def _content(cell: _Element, row: int, column: int, facts: Facts, strings: int) -> tuple[str, str]:
    """What stands in a cell and its type attribute; a blank text for an empty cell."""
    children = {local(child): child for child in cell}
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
        text = joined(children["is"]) if "is" in children else ""
        return (f'<is><t xml:space="preserve">{escape(text)}</t></is>', ' t="inlineStr"') if text else ("", "")
    if value is None or (not value.strip() and kind != "str"):
        return formula, ""
    if kind in ("n", "s") and not _fits(value, kind, strings):
        kind = "e"  # a number that is none: kept, so that it is named and never read as blank
    return f"{formula}<v>{escape(value)}</v>", f' t="{kind}"'


def _fits(value: str, kind: str, strings: int) -> bool:
    if kind == "s":
        return value.strip().isdecimal() and int(value) < strings
    return re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", value.strip(), re.ASCII) is not None
