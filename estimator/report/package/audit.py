"""Structural check of a workbook package: what would make an office program repair or refuse it.

Faults are sentences without totals, so that those a file had before can be told from new ones.
"""

from __future__ import annotations

import io
import posixpath
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator

from lxml import etree

from estimator.report.package.audit_book import book_faults
from estimator.report.package.audit_cells import cell_faults
from estimator.report.package.markup import CONTENT_TYPES, RELATION, each, parse
from estimator.report.package.package import (
    TYPES,
    Package,
    actual,
    content_type,
    open_package,
    reach,
    read_rels,
    rels_name,
    target,
)
from estimator.report.package.zipping import read_parts

LONG = 2_000_000  # bytes of a sheet that takes its time to go through


def audit(data: bytes, untouched: frozenset[str] = frozenset()) -> list[str]:
    """Every fault found, worst kind first; empty for a sound package.

    untouched: long sheets of which is looked at only what they use of styles and texts.
    """
    faults = list(_entry_faults(data))
    if faults:
        return faults
    faults = list(_markup_faults(data, untouched))
    if faults:
        return faults
    try:
        package = open_package(data)
    except ValueError as error:
        return [str(error)]
    faults = [*_type_faults(package), *_relation_faults(package, untouched)]
    return [*faults, *book_faults(package), *cell_faults(package, untouched)]


def new_faults(before: bytes, after: bytes) -> list[str]:
    """The faults that were not there before: a user's file may come with some of its own, which stay."""
    long = _long_and_untouched(before, after)
    old = set(audit(before, long))
    return [fault for fault in audit(after, long) if fault not in old]


def _long_and_untouched(before: bytes, after: bytes) -> frozenset[str]:
    was = {n: part for n, part in read_parts(before).items() if len(part) > LONG and "/worksheets/" in n}
    return frozenset(n for n, part in read_parts(after).items() if was.get(n) == part)


def _entry_faults(data: bytes) -> Iterator[str]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            names = Counter(entry.filename.replace("\\", "/").lower() for entry in archive.infolist())
            yield from (f"two entries are named {name!r}" for name, times in names.items() if times > 1)
            damaged = archive.testzip()
            if damaged is not None:
                yield f"the entry {damaged!r} is damaged"
    except (zipfile.BadZipFile, zlib.error, OSError) as error:
        yield f"the zip cannot be read: {error}"


def _markup_faults(data: bytes, untouched: frozenset[str]) -> Iterator[str]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for entry in archive.infolist():
            name = entry.filename.replace("\\", "/")
            if not name.lower().endswith((".xml", ".rels")) or name in untouched:
                continue
            try:
                content = archive.read(entry)
                parse(content)
            except etree.XMLSyntaxError as error:
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
    yield from (e for e in parse(package.parts[part]).iter() if isinstance(e.tag, str))
