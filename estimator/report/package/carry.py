"""Carry one of our rendered sheets, and what it shows, from our workbook into the user's."""

from __future__ import annotations

import posixpath
from dataclasses import dataclass, field
from decimal import Decimal

from estimator.report.package.markup import Element, dump, each, parse, tag, whole
from estimator.report.package.package import (
    Package,
    content_type,
    free_name,
    read_rels,
    rels_name,
    set_type,
    target,
)
from estimator.report.package.plain import renumbered
from estimator.report.package.strings import Strings, add_string
from estimator.report.package.styles import StyleMap

SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
DAYS_1904 = 1462  # a book that counts from 1904 numbers each day so much lower
_CARRIED = ("/drawing", "/image", "/chart", "/hyperlink")


@dataclass
class Load:
    """What a transplant needs at every sheet: both packages and where our records stand in the user's."""

    user: Package
    ours: Package
    styles: StyleMap
    strings: Strings
    texts: list[Element]
    days: int  # taken off our dates
    copied: dict[str, str] = field(default_factory=dict)
    placed: dict[int, int] = field(default_factory=dict)  # our texts, by their number, to where they stand now


def carry_sheet(load: Load, part: str, new: str, code_name: str | None) -> None:
    """Write our sheet `part` into the user's package under the name `new`, with all it is related to.

    code_name: the name macros know the sheet by, kept from the sheet it replaces.
    Raises ValueError for things our sheets must not hold (tables, notes, inline texts ...), whose
    numbers could clash with the user's own.
    """
    data = load.ours.parts.pop(part)  # which may be large, and is not asked for again
    quick = (
        None
        if load.days or code_name is not None
        else renumbered(data, load.styles.cells, load.styles.conditions, lambda number: text_place(load, number))
    )
    if quick is None:
        root = parse(data)
        renumber(load, root)
        if code_name is not None:
            properties = root.find(tag("sheetPr"))
            if properties is None:
                properties = root.makeelement(tag("sheetPr"))
                root.insert(0, properties)
            properties.set("codeName", code_name)
        quick = dump(root)
    load.user.parts[new] = quick
    set_type(load.user, new, SHEET_TYPE)
    _carry_related(load, part, new)


def text_place(load: Load, number: int) -> int:
    """Where one of our texts stands among the user's; added there the first time it is asked for."""
    if number not in load.placed:
        load.placed[number] = add_string(load.strings, load.texts[number])
    return load.placed[number]


def renumber(load: Load, root: Element) -> None:
    """Point a sheet's styles, texts and conditional formats to the user's records; unselect its tab."""
    cells = load.styles.cells
    for cell in root.iter(tag("c")):
        style = whole(cell, "s")
        kind = cell.get("t", "n")
        value = cell.find(tag("v"))
        if kind == "inlineStr" or cell.get("cm") or cell.get("vm"):
            raise ValueError(f"our cell {cell.get('r')} holds an inline text or a dynamic array")
        if value is not None and kind == "s":
            value.text = str(text_place(load, int(value.text or "0")))
        elif value is not None and value.text and kind == "n" and load.days and style in load.styles.dates:
            value.text = str(Decimal(value.text) - load.days)
        cell.set("s", str(cells[style]))
    for row in root.iter(tag("row")):
        if row.get("s") is not None:
            row.set("s", str(cells[whole(row, "s")]))
    for column in root.iter(tag("col")):
        column.set("style", str(cells[whole(column, "style")]))
    for rule in root.iter(tag("cfRule")):
        if rule.get("dxfId") is not None:
            rule.set("dxfId", str(load.styles.conditions[whole(rule, "dxfId")]))
    for view in root.iter(tag("sheetView")):
        # two selected tabs open as a group: what is typed into one goes into the other
        if "tabSelected" in view.attrib:
            del view.attrib["tabSelected"]


def _carry_related(load: Load, part: str, new: str) -> None:
    rels = read_rels(load.ours, part)
    if not len(rels):
        return
    for rel in each(rels):
        if not rel.get("Type", "").endswith(_CARRIED):
            raise ValueError(f"our sheets must not hold this: {rel.get('Type')}")
        other = target(load.ours, part, rel)
        if other is not None:
            rel.set("Target", posixpath.relpath(_carry_part(load, other), posixpath.dirname(new)))
    load.user.parts[rels_name(new)] = dump(rels)


def _carry_part(load: Load, part: str) -> str:
    if part in load.copied:
        return load.copied[part]
    new = load.copied[part] = free_name(load.user, part)
    load.user.parts[new] = load.ours.parts[part]
    set_type(load.user, new, content_type(load.ours, part) or "application/octet-stream")
    _carry_related(load, part, new)
    return new
