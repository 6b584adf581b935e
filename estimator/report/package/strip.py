"""Take our sheets out of a workbook, and with them the styles, texts and parts that only they used."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from estimator.report.package.markup import RELATION, Element, parse, tag
from estimator.report.package.own import BASE, MARK, names, own_sheets, recall
from estimator.report.package.package import (
    Package,
    close_package,
    drop_part,
    open_package,
    reach,
    sheet_part,
    unrelate,
)
from estimator.report.package.strings import Strings, close_strings, open_strings, records, trim_strings
from estimator.report.package.styles import close_styles, counts, open_styles, trim_styles
from estimator.report.package.tabs import follow_tabs
from estimator.report.package.usage import needed_styles, usage
from estimator.report.package.wrote import is_record


@dataclass(frozen=True, slots=True)
class Slot:
    """The place of a sheet of ours that will be written again: its tab, its part, the name macros know it by."""

    sheet: Element
    part: str
    code_name: str | None


@dataclass(frozen=True, slots=True)
class Bare:
    """What is left without our sheets: the places to fill again, and the user's styles and strings.

    base: how many style records and strings are the user's.
    """

    slots: dict[str, Slot]
    styles_part: str
    styles: Element
    strings: Strings
    base: dict[str, int]


def strip_own(user: bytes) -> bytes:
    """The workbook without our sheets; the same bytes where it carries none."""
    package = open_package(user)
    if not own_sheets(package):
        return user
    bare = take_out(package, ())
    close_styles(package, bare.styles_part, bare.styles)
    close_strings(package, bare.strings)
    return close_package(package)


def take_out(package: Package, again: Collection[str]) -> Bare:
    """Take our sheets out of the package. Those whose purpose is in `again` keep their tab, for new content.

    A copy the user made of one of ours loses its mark and is the user's from now on.
    """
    styles_part, styles = open_styles(package)
    strings = open_strings(package)
    owns = own_sheets(package)
    slots = {own.purpose: _slot(package, own.sheet) for own in owns}
    ours = [slot.part for slot in slots.values()]
    users = reach(package, [""], without=ours)
    if owns:
        floor = recall(package, styles, records(strings))
        used = usage(package, sorted(users - {styles_part, strings.part, package.book} & package.parts.keys()))
        trim_styles(styles, needed_styles(styles, used, floor))
        trim_strings(strings, max(floor["strings"] if floor else 0, used.string + 1))
    for part in reach(package, ours, without=users) & package.parts.keys():
        drop_part(package, part)
    _drop_names(package, [own.sheet for own in owns])
    _drop_tabs(package, [slot.sheet for purpose, slot in slots.items() if purpose not in again])
    base = {**counts(styles), "strings": len(records(strings))}
    return Bare({p: s for p, s in slots.items() if p in again}, styles_part, styles, strings, base)


def _slot(package: Package, sheet: Element) -> Slot:
    part = sheet_part(package, sheet)
    properties = parse(package.parts[part]).find(tag("sheetPr"))
    return Slot(sheet, part, None if properties is None else properties.get("codeName"))


def _drop_names(package: Package, ours: list[Element]) -> None:
    """Our marks everywhere, and print areas and titles of our sheets. Names the user gave there stay."""
    places = {str(i) for i, sheet in enumerate(package.sheets) if sheet in ours}
    holder = package.workbook.find(tag("definedNames"))
    for name in names(package):
        built_in = name.get("name", "").startswith("_xlnm.") and name.get("localSheetId") in places
        if holder is not None and (built_in or name.get("name") in (MARK, BASE) or is_record(name)):
            holder.remove(name)
    if holder is not None and not len(holder):
        package.workbook.remove(holder)


def _drop_tabs(package: Package, gone: list[Element]) -> None:
    before = package.sheets
    holder = package.workbook.find(tag("sheets"))
    if holder is None or not gone:
        return
    unrelate(package, package.book, [sheet.get(f"{{{RELATION}}}id", "") for sheet in gone])
    for sheet in gone:
        holder.remove(sheet)
    follow_tabs(package, before)
