"""Structural check of the workbook part and the style sheet."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from estimator.report.package.markup import (
    STYLES_ORDER,
    WORKBOOK_ORDER,
    Element,
    each,
    local,
    parse,
    tag,
    whole,
)
from estimator.report.package.package import Package, content_type, related, sheet_part
from estimator.report.package.styles import FIRST_CUSTOM_FORMAT

LONGEST_NAME = 31
HIGHEST_SHEET_ID = 65_534
MOST_CELL_FORMATS = 64_000


def book_faults(package: Package) -> list[str]:
    """Faults of tabs, defined names and views, and of the style sheet."""
    faults = [*order_faults(package.book, package.workbook, WORKBOOK_ORDER)]
    faults += [*_tab_faults(package), *_name_faults(package), *_view_faults(package)]
    part = related(package, package.book, "/styles")
    if part is not None and part in package.parts:
        root = parse(package.parts[part])
        faults += [*order_faults(part, root, STYLES_ORDER), *_style_faults(root)]
    return faults


def order_faults(part: str, root: Element, order: Sequence[str]) -> Iterator[str]:
    """An element that stands after one it should stand before."""
    last = 0
    for element in each(root):
        rank = order.index(local(element)) if local(element) in order else last
        if rank < last:
            yield f"{part}: {local(element)} stands too late"
        last = max(last, rank)


def twice(what: str, values: Iterable[str]) -> Iterator[str]:
    """A sentence for every value that occurs more than once."""
    yield from (f"{what} {value!r} is there twice" for value, times in Counter(values).items() if times > 1)


def _tab_faults(package: Package) -> Iterator[str]:
    sheets = package.sheets
    if not any(sheet.get("state", "visible") == "visible" for sheet in sheets):
        yield "no sheet can be seen"
    yield from twice("the sheet name", (sheet.get("name", "").casefold() for sheet in sheets))
    yield from twice("the sheet number", (sheet.get("sheetId", "") for sheet in sheets))
    parts = []
    for sheet in sheets:
        name = sheet.get("name", "")
        if not 0 < len(name) <= LONGEST_NAME:
            yield f"the sheet name {name!r} is blank or longer than {LONGEST_NAME}"
        if re.search(r"[\[\]:*?/\\]", name) or name[:1] == "'" or name[-1:] == "'":
            yield f"the sheet name {name!r} has a character that may not be in one"
        if not 0 < whole(sheet, "sheetId") <= HIGHEST_SHEET_ID:
            yield f"the sheet {name!r} has no fitting number"
        try:
            parts.append(sheet_part(package, sheet))
        except ValueError as error:
            yield str(error)
            continue
        if "sheet+xml" not in (content_type(package, parts[-1]) or ""):
            yield f"the part of the sheet {name!r} is no sheet by its content type"
    yield from twice("the sheet part", parts)


def _name_faults(package: Package) -> Iterator[str]:
    seen = []
    for name in each(package.workbook.find(tag("definedNames"))):
        scope = name.get("localSheetId")
        seen.append(f"{name.get('name', '')} {scope or ''}".casefold().strip())
        if scope is not None and not 0 <= whole(name, "localSheetId", -1) < len(package.sheets):
            yield f"the defined name {name.get('name')!r} belongs to no sheet"
    yield from twice("the defined name", seen)


def _view_faults(package: Package) -> Iterator[str]:
    for view in package.workbook.iter(tag("workbookView")):
        for attribute in ("activeTab", "firstSheet"):
            if not 0 <= whole(view, attribute) < len(package.sheets):
                yield f"{attribute} shows no sheet"


def _style_faults(root: Element) -> Iterator[str]:
    sizes = {}
    for collection in each(root):
        name = local(collection)
        sizes[name] = sum(1 for _ in each(collection))
        if collection.get("count") is not None and whole(collection, "count", -1) != sizes[name]:
            yield f"the styles count their {name} wrong"
    if sizes.get("numFmts") == 0:
        yield "the list of number formats is empty"
    if sizes.get("cellXfs", 0) > MOST_CELL_FORMATS:
        yield "there are more cell formats than a workbook may hold"
    numbers = [f.get("numFmtId", "") for f in each(root.find(tag("numFmts")))]
    yield from twice("the number format", numbers)
    for name in ("cellStyleXfs", "cellXfs"):
        for i, xf in enumerate(each(root.find(tag(name)))):
            for attribute, collection_name in (("fontId", "fonts"), ("fillId", "fills"), ("borderId", "borders")):
                if whole(xf, attribute) >= sizes.get(collection_name, 0):
                    yield f"{name} {i} uses one of the {collection_name} that is not there"
            if name == "cellXfs" and whole(xf, "xfId") >= max(1, sizes.get("cellStyleXfs", 0)):
                yield f"{name} {i} uses one of the cellStyleXfs that is not there"
            number = xf.get("numFmtId", "0")
            if whole(xf, "numFmtId") >= FIRST_CUSTOM_FORMAT and number not in numbers:
                yield f"{name} {i} uses the number format {number}, which is not there"
