"""The parts of a workbook package and how they point at each other; knows no cells."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lxml.etree import _Element

MARK = "_estimator_sheet"  # the hidden sheet-local name on each of our own output sheets
STRICT = "{http://purl.oclc.org/ooxml/"  # how a tag of the strict variant begins


@dataclass(frozen=True, slots=True)
class Opened:
    """A workbook that passed the door. parts: name in the zip to bytes, in the order of the zip; a part named
    in `left_out` (one of our own sheets in a file beyond the size limit) is empty; none for an .xls, which has no
    parts. strict: saved with the strict namespaces; macro: a workbook with macros (.xlsm); kind: xlsx, ods or xls."""

    name: str
    data: bytes
    parts: Mapping[str, bytes]
    strict: bool
    macro: bool
    left_out: frozenset[str] = frozenset()
    kind: str = "xlsx"

    @property
    def alone(self) -> bool:
        """Whether no sheet of ours can be put into it, so that the priced workbook is one of its own."""
        return self.strict or self.kind != "xlsx"

    def part(self, name: str) -> bytes | None:
        """A part by its name, whatever its slashes and case; None where there is none."""
        wanted = same_part(name)
        return next((data for known, data in self.parts.items() if same_part(known) == wanted), None)


@dataclass(frozen=True, slots=True)
class SheetEntry:
    """A sheet as the workbook lists it. part: name of its part; kind: worksheet, chartsheet ..., blank for a
    missing one; state: visible, hidden, veryHidden."""

    name: str
    part: str
    kind: str
    state: str


def same_part(name: str) -> str:
    """The form in which two part names are one: forward slashes, no leading slash, no case.

    >>> same_part("\\\\xl\\\\SharedStrings.xml")
    'xl/sharedstrings.xml'
    """
    return name.replace("\\", "/").lstrip("/").casefold()


def parse(data: bytes) -> _Element:
    """The root of a part; nothing is fetched, no entity is replaced. XMLSyntaxError for a broken one, ValueError for
    one with a document type, which the door sees only in the usual encodings."""
    from lxml import etree

    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False))
    return without_type(root)


def without_type(root: _Element) -> _Element:
    """The root of a part that names no document type; ValueError for one that does."""
    if getattr(root.getroottree().docinfo, "doctype", ""):
        raise ValueError("it holds a document type")
    return root


def local(element: _Element) -> str:
    """The tag without its namespace, blank for a comment."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def attribute(element: _Element, name: str) -> str:
    """An attribute by its local name, blank for none: strict and common files differ in the namespace only."""
    return next((str(v) for k, v in element.attrib.items() if str(k).rpartition("}")[2] == name), "")


def relations(opened: Opened, part: str) -> dict[str, tuple[str, str]]:
    """Id to (kind, name of the part) of what a part points at; kind is the last word of the type's address."""
    folder, name = posixpath.split(part)
    data = opened.part(posixpath.join(folder, "_rels", f"{name}.rels"))
    found: dict[str, tuple[str, str]] = {}
    for element in parse(data) if data is not None else ():
        if local(element) == "Relationship" and attribute(element, "TargetMode") != "External":
            target = attribute(element, "Target").replace("\\", "/")
            path = target if target.startswith("/") else posixpath.join("/", folder, target)
            kind = attribute(element, "Type").rpartition("/")[2]
            found[attribute(element, "Id")] = (kind, posixpath.normpath(path).lstrip("/"))
    return found


def workbook_part(opened: Opened) -> str:
    """The name of the workbook's main part, by the package's relations, else by its usual name; blank: none."""
    for kind, part in relations(opened, "").values():
        if kind == "officeDocument" and opened.part(part) is not None:
            return part
    return "xl/workbook.xml" if opened.part("xl/workbook.xml") is not None else ""


def is_strict(opened: Opened) -> bool:
    """Whether the workbook is in the strict variant of its format, by the namespace of its root."""
    root = parse(opened.part(workbook_part(opened)) or b"<none/>")
    return str(root.tag).startswith(STRICT)


def sheet_entries(opened: Opened) -> list[SheetEntry]:
    """The sheets in the order of their tabs."""
    part = workbook_part(opened)
    targets = relations(opened, part)
    entries = []
    for element in parse(opened.part(part) or b"<none/>").iter("{*}sheet"):
        ids = [str(v) for k, v in element.attrib.items() if str(k).startswith("{") and str(k).endswith("}id")]
        kind, target = targets.get(ids[0] if ids else "", ("", ""))
        entries.append(SheetEntry(attribute(element, "name"), target, kind, attribute(element, "state") or "visible"))
    return entries


def own_sheets(opened: Opened) -> dict[str, str]:
    """Our own output sheets, name of the tab to logical name; never read as input."""
    names = [entry.name for entry in sheet_entries(opened)]
    found: dict[str, str] = {}
    for element in parse(opened.part(workbook_part(opened)) or b"<none/>").iter("{*}definedName"):
        index = attribute(element, "localSheetId")
        if attribute(element, "name") == MARK and index.isdecimal() and int(index) < len(names):
            purpose = re.fullmatch('=?"(.+)"', (element.text or "").strip())
            if purpose:  # a mark that names nothing is none of ours
                found[names[int(index)]] = purpose[1]
    return found
