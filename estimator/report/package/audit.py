"""Structural check of a workbook package: what would make an office program repair or refuse it.

Faults are sentences without totals, so that those a file had before can be told from new ones.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping
from xml.parsers import expat

from lxml import etree

from estimator.report.package.audit_book import book_faults
from estimator.report.package.audit_cells import cell_faults
from estimator.report.package.markup import CONTENT_TYPES, RELATION, each, parse
from estimator.report.package.package import (
    TYPES,
    Package,
    actual,
    content_type,
    package_of,
    reach,
    read_rels,
    rels_name,
    target,
)
from estimator.report.package.plain import without_rows

LONG = 2_000_000  # bytes of a sheet that takes its time to go through
SHORT = 100_000  # bytes of a sheet that is taken apart in no time


def audit(data: bytes, untouched: frozenset[str] = frozenset()) -> list[str]:
    """Every fault found, worst kind first; empty for a sound package.

    untouched: long sheets of which is looked at only what they use of styles and texts.
    """
    parts, faults = _entries(data)
    return faults or _faults(parts, untouched)


def new_faults(before: bytes, after: bytes) -> list[str]:
    """The faults that were not there before: a user's file may come with some of its own, which stay."""
    (was, old), (now, new) = _entries(before), _entries(after)
    long = frozenset(n for n, part in now.items() if len(part) > LONG and "/worksheets/" in n and was.get(n) == part)
    new = new or _faults(now, long)
    if not new:
        return []
    known = set(old or _faults(was, long))
    return [fault for fault in new if fault not in known]


def _faults(parts: dict[str, bytes], untouched: frozenset[str]) -> list[str]:
    faults = list(_markup_faults(parts, untouched))
    if faults:
        return faults
    try:
        package = package_of(parts)
    except ValueError as error:
        return [str(error)]
    faults = [*_type_faults(package), *_relation_faults(package, untouched)]
    return [*faults, *book_faults(package), *cell_faults(package, untouched)]


def _entries(data: bytes) -> tuple[dict[str, bytes], list[str]]:
    """The parts by name, and what is wrong with the zip."""
    parts: dict[str, bytes] = {}
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entries = archive.infolist()
            names = Counter(entry.filename.replace("\\", "/").lower() for entry in entries)
            faults = [f"two entries are named {name!r}" for name, times in names.items() if times > 1]
            for entry in entries:
                try:
                    content = archive.read(entry)
                except (zipfile.BadZipFile, zlib.error, EOFError):
                    return {}, [*faults, f"the entry {entry.filename!r} is damaged"]
                if not entry.filename.endswith(("/", "\\")):
                    parts[entry.filename.replace("\\", "/")] = content
    except (zipfile.BadZipFile, zlib.error, OSError) as error:
        return {}, [f"the zip cannot be read: {error}"]
    return parts, faults


def _markup_faults(parts: Mapping[str, bytes], untouched: frozenset[str]) -> Iterator[str]:
    for name, content in parts.items():
        if not name.lower().endswith((".xml", ".rels")) or name in untouched:
            continue
        try:
            if "/worksheets/" in name and len(content) > SHORT:
                expat.ParserCreate(namespace_separator=" ").Parse(content, True)  # as strict, and builds nothing
            else:
                parse(content)
        except (etree.XMLSyntaxError, expat.ExpatError) as error:
            yield f"{name} is no XML: {error}"
        else:
            if b"<!DOCTYPE" in content:
                yield f"{name} has a DOCTYPE"


def _type_faults(package: Package) -> Iterator[str]:
    declared: Counter[str] = Counter()
    for entry in each(package.types):
        if entry.tag == f"{{{CONTENT_TYPES}}}Override":
            name = entry.get("PartName", "")
            declared[name.lower()] += 1
            if actual(package, name.lstrip("/")) not in package.parts:
                yield f"a content type is given for {name}, which is not there"
        else:
            declared["." + entry.get("Extension", "").lower()] += 1
    yield from (f"two content types are given for {name}" for name, times in declared.items() if times > 1)
    for part in package.parts:
        if part != TYPES and content_type(package, part) is None:
            yield f"{part} has no content type"


def _relation_faults(package: Package, untouched: frozenset[str]) -> Iterator[str]:
    for part in package.parts:
        if part.lower().endswith(".rels"):
            folder, base = posixpath.split(part)
            source = posixpath.join(posixpath.dirname(folder), base[: -len(".rels")])
            if source and actual(package, source) not in package.parts:
                yield f"{part} belongs to no part"
    for part in ["", *package.parts]:
        rels = list(each(read_rels(package, part)))
        ids = Counter(rel.get("Id", "") for rel in rels)
        yield from (f"{rels_name(part)} has {i} twice" for i, times in ids.items() if times > 1)
        for rel in rels:
            other = target(package, part, rel)
            if other is not None and other not in package.parts:
                yield f"{rels_name(part)}: {rel.get('Id')} leads to {other}, which is not there"
        if part.lower().endswith(".xml") and part != TYPES and part not in untouched:
            yield from _id_faults(package, part, set(ids))
    known = reach(package, [""])
    for part in package.parts:
        if part != TYPES and not part.lower().endswith(".rels") and part not in known:
            yield f"nothing leads to {part}"


def _id_faults(package: Package, part: str, ids: set[str]) -> Iterator[str]:
    """Relationship ids that a part's markup names (`r:id`, `r:embed` ...) and its relationships do not hold."""
    if RELATION.encode() not in package.parts[part]:
        return
    for element in each_below(package, part):
        for name, value in element.attrib.items():
            if str(name).startswith(f"{{{RELATION}}}") and value and str(value) not in ids:
                yield f"{part} names {value!s}, which is not among its relationships"


def each_below(package: Package, part: str) -> Iterator[etree._Element]:
    """Every element of a part, comments left out."""
    data = without_rows(package.parts[part]) if "/worksheets/" in part else package.parts[part]
    yield from (e for e in parse(data).iter() if isinstance(e.tag, str))
