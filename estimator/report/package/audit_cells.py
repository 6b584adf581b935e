"""Structural check of the sheets: rows, cells, and what they use of styles, strings and the calculation chain."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from estimator.report.package.audit_book import order_faults, twice
from estimator.report.package.markup import SHEET_ORDER, Element, each, local, parse, tag, whole
from estimator.report.package.package import Package, read_rels, related, sheet_part, target
from estimator.report.package.plain import bare, in_order, in_parts

_CHUNK = 4_000_000
_STYLE = re.compile(rb' s="(\d{1,9})"')
_TEXT = re.compile(rb' t="s"[^>]{0,99}>\s*<(?:\w+:)?v>(\d{1,9})<')
_REFERENCE = re.compile(r"([A-Z]{1,3})([1-9]\d*)\Z")


@dataclass
class Sizes:
    """How many records there are to use; formulas: the cells with one, by sheet number."""

    cells: int = 1
    conditions: int = 0
    strings: int = 0
    formulas: dict[int, set[str]] = field(default_factory=dict)


def cell_faults(package: Package, untouched: frozenset[str] = frozenset()) -> list[str]:
    """Faults of every worksheet, of the shared strings' count, of tables and of the calculation chain.

    untouched: sheets of which is looked at only what they use of styles and texts.
    """
    sizes = Sizes()
    faults: list[str] = []
    styles = _root(package, "/styles")
    if styles is not None:
        sizes.cells = max(1, len(list(each(styles.find(tag("cellXfs"))))))
        sizes.conditions = len(list(each(styles.find(tag("dxfs")))))
    strings = _root(package, "/sharedStrings")
    if strings is not None:
        sizes.strings = len(list(each(strings)))
        if strings.get("uniqueCount") is not None and whole(strings, "uniqueCount", -1) != sizes.strings:
            faults.append("the shared strings are counted wrong")
    selected = 0
    chained = related(package, package.book, "/calcChain") is not None  # which names cells with a formula
    for sheet in package.sheets:
        try:
            part = sheet_part(package, sheet)
            if part in untouched:
                faults += _uses(sheet.get("name", ""), package.parts[part], sizes)
                continue
            data = package.parts[part]
            plain = None if chained else in_parts(data, styled=False)
            sound = plain is not None and in_order(plain[1], sizes.cells, sizes.strings)
            # what is wrong is told by going through it
            root = parse(bare(plain[0], plain[2]) if plain is not None and sound else data)
        except (ValueError, KeyError):
            continue  # told with the tabs
        if root.tag != tag("worksheet"):
            continue
        name = sheet.get("name", "")
        faults += order_faults(part, root, SHEET_ORDER)
        faults += _sheet_faults(name, root, sizes, whole(sheet, "sheetId"))
        selected += any(view.get("tabSelected") in ("1", "true") for view in root.iter(tag("sheetView")))
    if selected > 1:
        faults.append("more than one sheet is selected: they open as a group")
    return [*faults, *_table_faults(package), *_chain_faults(package, sizes)]


def _uses(name: str, data: bytes, sizes: Sizes) -> Iterator[str]:
    """What a long sheet uses that is not there, seen in its bytes: taken apart it would need twenty times the room."""
    styles: set[bytes] = set()
    texts: set[bytes] = set()
    for start in range(0, len(data), _CHUNK):
        piece = data[start : start + _CHUNK + 200]  # no cell's head is longer than what two pieces share
        styles.update(_STYLE.findall(piece))
        texts.update(_TEXT.findall(piece))
    if any(int(s) >= sizes.cells for s in styles):
        yield f"{name}: cells use a cell format that is not there"
    if any(int(t) >= sizes.strings for t in texts):
        yield f"{name}: cells use a shared string that is not there"


def _root(package: Package, kind: str) -> Element | None:
    part = related(package, package.book, kind)
    return parse(package.parts[part]) if part is not None and part in package.parts else None


def _sheet_faults(name: str, root: Element, sizes: Sizes, number: int) -> Iterator[str]:
    formulas = sizes.formulas.setdefault(number, set())
    last_row = 0
    for row in root.iter(tag("row")):
        at = whole(row, "r", last_row + 1)
        if at <= last_row:
            yield f"{name}: row {at} stands after row {last_row}"
        last_row = at
        if whole(row, "s") >= sizes.cells:
            yield f"{name}: row {at} uses a cell format that is not there"
        last_column = ""
        for cell in row.iter(tag("c")):
            where = cell.get("r", "")
            found = _REFERENCE.match(where)
            if where and (not found or int(found[2]) != at):
                yield f"{name}: a cell in row {at} calls itself {where!r}"
            elif found and (len(found[1]), found[1]) <= (len(last_column), last_column):
                yield f"{name}: cell {where} is out of order"
            last_column = found[1] if found else last_column
            if cell.find(tag("f")) is not None:
                formulas.add(where)
            if whole(cell, "s") >= sizes.cells:
                yield f"{name}: cell {where} uses a cell format that is not there"
            if cell.get("t") == "s":
                text = (cell.findtext(tag("v")) or "").strip()
                if not text.isdigit() or int(text) >= sizes.strings:
                    yield f"{name}: cell {where} uses a shared string that is not there"
    for column in root.iter(tag("col")):
        if whole(column, "style") >= sizes.cells:
            yield f"{name}: column {column.get('min')} uses a cell format that is not there"
    for rule in root.iter():
        if isinstance(rule.tag, str) and whole(rule, "dxfId", -1) >= sizes.conditions:
            yield f"{name}: a {local(rule)} uses a format for conditions that is not there"


def _table_faults(package: Package) -> Iterator[str]:
    tables = []
    for sheet in package.sheets:
        try:
            part = sheet_part(package, sheet)
        except ValueError:
            continue
        for rel in each(read_rels(package, part)):
            other = target(package, part, rel)
            if rel.get("Type", "").endswith("/table") and other in package.parts:
                tables.append(parse(package.parts[other]))
    yield from twice("the table number", (table.get("id", "") for table in tables))
    yield from twice("the table name", (table.get("displayName", "").casefold() for table in tables))


def _chain_faults(package: Package, sizes: Sizes) -> Iterator[str]:
    chain = _root(package, "/calcChain")
    number = 0
    for cell in each(chain):
        number = whole(cell, "i", number)  # left out where it is the one before
        if cell.get("r", "") not in sizes.formulas.get(number, set()):
            yield f"the calculation chain names {cell.get('r')}, which holds no formula"
