"""Parts of a workbook package, their relationships and content types."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import unquote

from lxml import etree

from estimator.report.package.markup import (
    CONTENT_TYPES,
    MAIN,
    PACKAGE_RELATION,
    RELATION,
    STRICT,
    Element,
    dump,
    each,
    parse,
    tag,
)
from estimator.report.package.zipping import read_parts, zip_parts

TYPES = "[Content_Types].xml"
_RELATIONSHIP = f"{{{PACKAGE_RELATION}}}Relationship"
_OVERRIDE = f"{{{CONTENT_TYPES}}}Override"
_DEFAULT = f"{{{CONTENT_TYPES}}}Default"


@dataclass
class Package:
    """A workbook being edited: its parts by name in zip order, and the two parts that are edited as trees.

    types: [Content_Types].xml; book: name of the workbook part; workbook: its root.
    """

    parts: dict[str, bytes]
    types: Element
    book: str
    workbook: Element

    @property
    def strict(self) -> bool:
        """Whether the workbook is in the strict variant of the format, whose namespaces differ."""
        return self.workbook.tag == f"{{{STRICT}}}workbook"

    @property
    def sheets(self) -> list[Element]:
        """The `sheet` elements in tab order; the position is what localSheetId counts."""
        return list(each(self.workbook.find(tag("sheets"))))


def open_package(data: bytes) -> Package:
    """The package of a workbook's bytes; ValueError where it holds no workbook."""
    return package_of(read_parts(data))


def package_of(parts: dict[str, bytes]) -> Package:
    """The package of a workbook's parts; ValueError where they hold no workbook."""
    if TYPES not in parts:
        raise ValueError(f"the package has no {TYPES}")
    blank = Package(parts, parse(parts[TYPES]), "", etree.Element("none"))
    main = related(blank, "", "/officeDocument")
    if main is None or main not in parts:
        raise ValueError("the package names no workbook part")
    package = Package(parts, blank.types, main, parse(parts[main]))
    if package.workbook.tag not in (f"{{{MAIN}}}workbook", f"{{{STRICT}}}workbook"):
        raise ValueError(f"the main part is no workbook: {package.workbook.tag!r}")
    return package


def close_package(package: Package) -> bytes:
    """The zip of the package, with the edited trees written back."""
    package.parts[TYPES] = dump(package.types)
    package.parts[package.book] = dump(package.workbook)
    return zip_parts(package.parts)


def actual(package: Package, name: str) -> str:
    """The name as the package spells it: part names compare without case."""
    if name in package.parts:
        return name
    low = name.lower()
    return next((part for part in package.parts if part.lower() == low), name)


def rels_name(part: str) -> str:
    """The part that holds the relationships of a part; of the package itself for a blank name.

    >>> rels_name("xl/workbook.xml"), rels_name("")
    ('xl/_rels/workbook.xml.rels', '_rels/.rels')
    """
    folder, base = posixpath.split(part)
    return posixpath.join(folder, "_rels", base + ".rels")


def read_rels(package: Package, part: str) -> Element:
    """The relationships of a part; an empty collection where it has none."""
    name = actual(package, rels_name(part))
    if name in package.parts:
        return parse(package.parts[name])
    return parse(f'<Relationships xmlns="{PACKAGE_RELATION}"/>'.encode())


def write_rels(package: Package, part: str, rels: Element) -> None:
    """Put the relationships of a part back."""
    package.parts[actual(package, rels_name(part))] = dump(rels)


def target(package: Package, part: str, rel: Element) -> str | None:
    """The part a relationship leads to, as the package spells it; None for an address outside or a cell (`#`)."""
    if rel.get("TargetMode") == "External" or rel.get("Target", "").startswith("#"):
        return None
    text = rel.get("Target", "").replace("\\", "/").partition("#")[0]
    name = text[1:] if text.startswith("/") else posixpath.normpath(posixpath.join(posixpath.dirname(part), text))
    found = actual(package, name)
    return found if found in package.parts else actual(package, unquote(name))


def related(package: Package, part: str, kind: str) -> str | None:
    """The first part related to this one by a type that ends so (`/styles`); None where there is none."""
    for rel in each(read_rels(package, part)):
        if rel.get("Type", "").endswith(kind):
            return target(package, part, rel)
    return None


def relate(package: Package, part: str, kind: str, other: str) -> str:
    """Relate a part to another by an office relationship kind (`styles`); returns the new id."""
    rels = read_rels(package, part)
    used = {rel.get("Id") for rel in each(rels)}
    new = next(f"rId{n}" for n in range(1, len(used) + 2) if f"rId{n}" not in used)
    way = posixpath.relpath(other, posixpath.dirname(part) or ".")
    etree.SubElement(rels, _RELATIONSHIP, Id=new, Type=f"{RELATION}/{kind}", Target=way)
    write_rels(package, part, rels)
    return new


def unrelate(package: Package, part: str, ids: Iterable[str]) -> None:
    """Drop relationships of a part by id."""
    gone = set(ids)
    rels = read_rels(package, part)
    for rel in list(each(rels)):
        if rel.get("Id") in gone:
            rels.remove(rel)
    write_rels(package, part, rels)


def sheet_part(package: Package, sheet: Element) -> str:
    """The part of a `sheet` element; ValueError where its relationship is missing."""
    wanted = sheet.get(f"{{{RELATION}}}id")
    for rel in each(read_rels(package, package.book)):
        if rel.get("Id") == wanted:
            found = target(package, package.book, rel)
            if found is not None:
                return found
    raise ValueError(f"the sheet {sheet.get('name')!r} has no part")


def content_type(package: Package, part: str) -> str | None:
    """The content type of a part: its own, else the default of its extension."""
    extension = part.rpartition(".")[2].lower()
    default = None
    for entry in each(package.types):
        if entry.tag == _OVERRIDE and entry.get("PartName", "").lower() == "/" + part.lower():
            return entry.get("ContentType")
        if entry.tag == _DEFAULT and entry.get("Extension", "").lower() == extension:
            default = entry.get("ContentType")
    return default


def set_type(package: Package, part: str, kind: str) -> None:
    """Declare a part's type: pictures by their extension, as is usual, the rest by name."""
    if content_type(package, part) == kind:
        return
    extension = part.rpartition(".")[2]
    known = [e for e in each(package.types) if e.tag == _DEFAULT]
    if kind.startswith("image/") and extension.lower() not in {e.get("Extension", "").lower() for e in known}:
        # among the other defaults, so that a second run finds it where the first would put it
        new = etree.Element(_DEFAULT, Extension=extension, ContentType=kind)
        package.types.insert(package.types.index(known[-1]) + 1 if known else 0, new)
    else:
        etree.SubElement(package.types, _OVERRIDE, PartName="/" + part, ContentType=kind)


def drop_part(package: Package, part: str) -> None:
    """Take a part out, with its relationships and its content type."""
    package.parts.pop(part, None)
    package.parts.pop(actual(package, rels_name(part)), None)
    for entry in list(each(package.types)):
        if entry.tag == _OVERRIDE and entry.get("PartName", "").lower() == "/" + part.lower():
            package.types.remove(entry)


def free_name(package: Package, like: str, taken: Iterable[str] = ()) -> str:
    """The first numbered name like this one that no part has."""
    stem, extension = posixpath.splitext(like)
    stem = re.sub(r"\d+$", "", stem)
    low = {name.lower() for name in (*package.parts, *taken)}
    return next(name for n in range(1, len(low) + 2) if (name := f"{stem}{n}{extension}").lower() not in low)


def reach(package: Package, start: Iterable[str], without: Iterable[str] = ()) -> set[str]:
    """Every part that can be reached from these by relationships, themselves included."""
    seen: set[str] = set(without)
    held = set(seen)
    todo = list(start)
    while todo:
        part = todo.pop()
        if part in seen:
            continue
        seen.add(part)
        todo += [t for rel in each(read_rels(package, part)) if (t := target(package, part, rel)) is not None]
    return seen - held - {""}
