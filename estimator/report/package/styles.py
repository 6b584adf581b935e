"""The style records of a workbook: ours are added after the user's, records that are the same are shared."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

from estimator.report.package.markup import (
    STYLES_ORDER,
    Element,
    dump,
    each,
    ensure,
    local,
    make,
    parse,
    tag,
    whole,
)
from estimator.report.package.package import Package, relate, related, set_type

_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
_PART = "xl/styles.xml"
COLLECTIONS = ("numFmts", "fonts", "fills", "borders", "cellXfs", "dxfs")
FIRST_CUSTOM_FORMAT = 164  # lower numbers are the built-in number formats

# Ways of saying what is so anyway: one program writes <b/>, another <b val="1"/>.
_SAID_ANYWAY = {("val", "1"), ("val", "true"), ("val", "single"), ("patternType", "none")}

# What every style sheet must hold: cells without a style use record 0, fills 0 and 1 are reserved.
_SEEDS = {
    "fonts": '<font><sz val="11"/><name val="Calibri"/><family val="2"/></font>',
    "fills": '<fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>',
    "borders": "<border><left/><right/><top/><bottom/><diagonal/></border>",
    "cellStyleXfs": '<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>',
    "cellXfs": '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>',
    "cellStyles": '<cellStyle name="Normal" xfId="0" builtinId="0"/>',
}


@dataclass(frozen=True, slots=True)
class StyleMap:
    """Where our cell formats and our conditional formats stand in the user's style sheet, by our position."""

    cells: tuple[int, ...]
    conditions: tuple[int, ...]
    dates: frozenset[int]  # our own positions of the formats that show a date


def open_styles(package: Package) -> tuple[str, Element]:
    """The styles part and its root; made, or completed with the records every workbook needs, where missing."""
    part = related(package, package.book, "/styles")
    if part is None or part not in package.parts:
        if part is None:
            relate(package, package.book, "styles", _PART)
        part = _PART
        package.parts[part] = dump(make("styleSheet"))
        set_type(package, part, _TYPE)
    root = parse(package.parts[part])
    for name, seed in _SEEDS.items():
        collection = ensure(root, name, STYLES_ORDER)
        wanted = list(parse(f'<seed xmlns="{etree.QName(root).namespace}">{seed}</seed>'.encode()))
        collection.extend(wanted[len(collection) :])
    return part, root


def counts(root: Element) -> dict[str, int]:
    """How many records each collection holds."""
    return {name: sum(1 for _ in each(root.find(tag(name)))) for name in COLLECTIONS}


def trim_styles(root: Element, keep: Mapping[str, int]) -> None:
    """Leave only the first records of each collection."""
    for name in COLLECTIONS:
        collection = root.find(tag(name))
        for record in list(each(collection))[keep[name] :]:
            record.getparent().remove(record)  # type: ignore[union-attr]


def merge_styles(root: Element, ours: Element) -> StyleMap:
    """Add our records and say where they stand now."""
    formats = _merge_formats(root, ours)
    placed = {name: _absorb(root, name, list(each(ours.find(tag(name))))) for name in ("fonts", "fills", "borders")}
    conditions = [_renumbered(dxf, formats) for dxf in each(ours.find(tag("dxfs")))]
    cells: list[Element] = []
    for xf in each(ours.find(tag("cellXfs"))):
        new = _renumbered(xf, formats)
        for attribute, name in (("fontId", "fonts"), ("fillId", "fills"), ("borderId", "borders")):
            new.set(attribute, str(placed[name][whole(xf, attribute)]))
        new.set("xfId", "0")
        # said aloud: else a program may take font or fill from the user's own Normal style
        for apply in ("applyNumberFormat", "applyFont", "applyFill", "applyBorder"):
            new.set(apply, "1")
        cells.append(new)
    codes = {whole(f, "numFmtId"): f.get("formatCode", "") for f in each(ours.find(tag("numFmts")))}
    dates = frozenset(
        i for i, xf in enumerate(each(ours.find(tag("cellXfs")))) if shows_date(whole(xf, "numFmtId"), codes)
    )
    return StyleMap(tuple(_absorb(root, "cellXfs", cells)), tuple(_absorb(root, "dxfs", conditions)), dates)


def close_styles(package: Package, part: str, root: Element) -> None:
    """Write the style sheet back with its counts; a list of number formats may not be empty."""
    for name in STYLES_ORDER[: STYLES_ORDER.index("dxfs") + 1]:
        collection = root.find(tag(name))
        if collection is not None:
            collection.set("count", str(sum(1 for _ in each(collection))))
    formats = root.find(tag("numFmts"))
    if formats is not None and not len(formats):
        root.remove(formats)
    package.parts[part] = dump(root)


def shows_date(number: int, codes: Mapping[int, str]) -> bool:
    """Whether a number format shows a date: a built-in one, or a code with a year or a day in it.

    >>> shows_date(14, {}), shows_date(164, {164: 'd mmm yyyy'}), shows_date(164, {164: '0.00 "days"'})
    (True, True, False)
    """
    if number < FIRST_CUSTOM_FORMAT:
        return 14 <= number <= 17 or number == 22
    bare, quoted = "", False
    for letter in codes.get(number, ""):
        quoted ^= letter in '"[]'
        bare += "" if quoted else letter
    return any(letter in "yd" for letter in bare.casefold())


def _merge_formats(root: Element, ours: Element) -> dict[int, int]:
    """Our number formats by code; a new one takes a number the user has not used. Returns old to new numbers."""
    placed: dict[int, int] = {}
    theirs = list(each(root.find(tag("numFmts"))))
    known = {f.get("formatCode"): whole(f, "numFmtId") for f in reversed(theirs)}
    # the formats for conditions carry number formats of their own, under numbers of the same row
    highest = max([FIRST_CUSTOM_FORMAT - 1, *(whole(f, "numFmtId") for f in root.iter(tag("numFmt")))])
    for record in ours.iter(tag("numFmt")):
        code = record.get("formatCode", "")
        if code not in known:
            highest += 1
            known[code] = highest
            ensure(root, "numFmts", STYLES_ORDER).append(make("numFmt", numFmtId=str(highest), formatCode=code))
        placed[whole(record, "numFmtId")] = known[code]
    return placed


def _renumbered(record: Element, formats: Mapping[int, int]) -> Element:
    """A copy of the record whose number formats carry their new numbers."""
    new = copy.deepcopy(record)
    for element in new.iter(tag("xf"), tag("numFmt")):
        number = whole(element, "numFmtId")
        element.set("numFmtId", str(formats.get(number, number)))
    return new


def _absorb(root: Element, name: str, records: list[Element]) -> list[int]:
    """Add records to a collection, or find the one that is the same. Returns where each stands."""
    if not records:
        return []
    collection = ensure(root, name, STYLES_ORDER)
    places: dict[object, int] = {}
    size = 0
    for size, record in enumerate(each(collection), 1):
        places.setdefault(_meaning(record), size - 1)
    out = []
    for record in records:
        new = copy.deepcopy(record)
        new.tail = None
        etree.cleanup_namespaces(new)
        known = _meaning(new)
        if known not in places:
            places[known] = size
            size += 1
            collection.append(new)
        out.append(places[known])
    return out


def _meaning(record: Element) -> tuple[object, ...]:
    """What makes two style records the same however a program writes them: without this a file that another
    program saves between two runs would gain a font each time."""
    parts = [_meaning(child) for child in each(record)]
    attributes = {(str(n), str(v)) for n, v in record.attrib.items()} - _SAID_ANYWAY
    return record.tag, tuple(sorted(attributes)), tuple(sorted(parts, key=repr) if local(record) == "font" else parts)
