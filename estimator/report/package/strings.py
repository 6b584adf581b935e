"""The shared strings of a workbook: read, trimmed to what the user's sheets need, added to.

Our texts are shared, never inline: some phone previews show inline texts as blank cells.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass, field

from lxml import etree

from estimator.report.package.markup import Element, Key, dump, each, key, make, parse
from estimator.report.package.package import Package, relate, related, set_type

_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"
_PART = "xl/sharedStrings.xml"


@dataclass
class Strings:
    """The shared strings as they are edited: their part, its root, and where each text stands."""

    part: str
    root: Element
    places: dict[Key, int] = field(default_factory=dict)
    size: int = 0


def open_strings(package: Package) -> Strings:
    """The user's shared strings; an empty table, already part of the package, where there are none."""
    part = related(package, package.book, "/sharedStrings")
    if part is not None and part in package.parts:
        return Strings(part, parse(package.parts[part]))
    package.parts[_PART] = dump(make("sst"))
    set_type(package, _PART, _TYPE)
    if part is None:
        relate(package, package.book, "sharedStrings", _PART)
    return Strings(_PART, make("sst"))


def records(strings: Strings) -> list[Element]:
    """The strings in order; their position is what a cell names."""
    return list(each(strings.root))


def trim_strings(strings: Strings, keep: int) -> None:
    """Leave only the first strings."""
    for element in records(strings)[keep:]:
        strings.root.remove(element)


def index_strings(strings: Strings) -> None:
    """Note where each text stands, so that a text already there is used again."""
    strings.places.clear()
    for i, element in enumerate(records(strings)):
        strings.places.setdefault(key(element), i)
        strings.size = i + 1


def add_string(strings: Strings, item: Element) -> int:
    """The position of a text, added at the end where it is new; index_strings comes first."""
    new = copy.deepcopy(item)
    new.tail = None
    etree.cleanup_namespaces(new)
    known = key(new)
    if known not in strings.places:
        strings.places[known] = strings.size
        strings.size += 1
        strings.root.append(new)
    return strings.places[known]


def close_strings(package: Package, strings: Strings) -> None:
    """Write the table back. The count of uses is optional and would need a count of the user's cells: left out."""
    strings.root.set("uniqueCount", str(len(records(strings))))
    if "count" in strings.root.attrib:
        del strings.root.attrib["count"]
    package.parts[strings.part] = dump(strings.root)
