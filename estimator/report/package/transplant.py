"""Put the sheets we rendered into the user's workbook.

Every part of the user's stays byte for byte but five: content types, the workbook part and its
relationships, styles and shared strings, to which is only added. The calculation chain goes; office
programs make it again. Putting the same sheets in twice gives the same bytes as once.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.report.package.carry import DAYS_1904, Load, carry_sheet
from estimator.report.package.markup import RELATION, WORKBOOK_ORDER, Element, each, ensure, make, parse, whole
from estimator.report.package.own import add_name, base_name, mark, names
from estimator.report.package.package import (
    Package,
    close_package,
    free_name,
    open_package,
    relate,
    related,
    sheet_part,
)
from estimator.report.package.strings import close_strings, index_strings, records
from estimator.report.package.strip import Bare, take_out
from estimator.report.package.styles import close_styles, merge_styles
from estimator.report.package.tabs import calculate_on_load, counts_from_1904, follow_tabs
from estimator.report.package.trouble import refusals
from estimator.report.package.wrote import found_record, write_record

_NEW_PART = "xl/worksheets/sheet1.xml"


@dataclass(frozen=True, slots=True)
class Tab:
    """One sheet on its way: what it is for, its element in our workbook and in the user's, its part there."""

    purpose: str
    ours: Element
    users: Element
    part: str


def transplant(user: bytes, ours: bytes, sheets: Mapping[str, str]) -> bytes:
    """The user's workbook with our sheets in it.

    ours: a workbook of XlsxWriter, rendered in memory with shared strings; all its sheets are carried.
    sheets: the name of a sheet in it -> what it is for ("Summary"); one not named is for what its name says.
    Sheets already there for that purpose are replaced where they stand, under the name they have in `ours`
    (render with `kept_names`); ours for other purposes are removed; new ones come after the one before them
    in `ours`, else last.

    Raises ValueError for a workbook `trouble` names an error for, and for things our sheets must not hold.
    """
    package, rendered = open_package(user), open_package(ours)
    purposes = {name: sheets.get(name, name) for name in (sheet.get("name", "") for sheet in rendered.sheets)}
    wanted = {purpose: name for name, purpose in purposes.items()}
    if len(wanted) != len(purposes):
        raise ValueError(f"two rendered sheets have one purpose: {purposes}")
    if package.strict:
        raise ValueError("no sheet can be put into a workbook of the strict variant")
    for problem in refusals(package, wanted):
        raise ValueError(problem.message)
    before = found_record(package)
    bare = take_out(package, wanted)
    # the print of the user's records is taken before ours join them
    base = base_name(bare.styles, records(bare.strings), bare.base)
    load = _load(package, rendered, bare)
    tabs = _tabs(package, rendered, purposes, bare)
    for tab in tabs:
        slot = bare.slots.get(tab.purpose)
        carry_sheet(load, sheet_part(rendered, tab.ours), tab.part, slot.code_name if slot else None)
    _carry_names(package, rendered, tabs)
    add_name(package, base)
    calculate_on_load(package)
    close_styles(package, bare.styles_part, bare.styles)
    close_strings(package, bare.strings)
    write_record(package, before)
    return close_package(package)


def _load(package: Package, rendered: Package, bare: Bare) -> Load:
    styles = related(rendered, rendered.book, "/styles")
    texts = related(rendered, rendered.book, "/sharedStrings")
    if styles is None:
        raise ValueError("the rendered workbook has no styles")
    index_strings(bare.strings)
    return Load(
        package,
        rendered,
        merge_styles(bare.styles, parse(rendered.parts[styles])),
        bare.strings,
        [] if texts is None else list(each(parse(rendered.parts[texts]))),
        DAYS_1904 * (counts_from_1904(package) - counts_from_1904(rendered)),
    )


def _tabs(package: Package, rendered: Package, purposes: Mapping[str, str], bare: Bare) -> list[Tab]:
    """Give every sheet of ours its tab, and have names and views follow."""
    before = package.sheets
    holder = ensure(package.workbook, "sheets", WORKBOOK_ORDER)
    taken = {slot.part for slot in bare.slots.values()}
    highest = max((whole(sheet, "sheetId") for sheet in before), default=0)
    tabs: list[Tab] = []
    for ours in rendered.sheets:
        name = ours.get("name", "")
        slot = bare.slots.get(purposes[name])
        if slot is not None:
            slot.sheet.set("name", name)
            tabs.append(Tab(purposes[name], ours, slot.sheet, slot.part))
            continue
        part = free_name(package, _NEW_PART, taken)
        taken.add(part)
        highest += 1
        new = make("sheet", name=name, sheetId=str(highest))
        new.set(f"{{{RELATION}}}id", relate(package, package.book, "worksheet", part))
        if tabs:
            tabs[-1].users.addnext(new)
        else:
            holder.append(new)
        tabs.append(Tab(purposes[name], ours, new, part))
    follow_tabs(package, before)
    return tabs


def _carry_names(package: Package, rendered: Package, tabs: list[Tab]) -> None:
    """Mark our sheets, and carry their print areas and titles."""
    theirs = rendered.sheets
    position = {id(tab.ours): package.sheets.index(tab.users) for tab in tabs}
    for tab in tabs:
        mark(package, tab.purpose, position[id(tab.ours)])
        for name in names(rendered):
            if name.get("localSheetId") is not None and theirs[whole(name, "localSheetId")] is tab.ours:
                new = copy.deepcopy(name)
                new.tail = None
                new.set("localSheetId", str(position[id(tab.ours)]))
                add_name(package, new)
