"""Damage for which no sheet can be put into a workbook, though its cells can be read.

A cell that names a text or a format that is not there would name one of ours once they are added: the user's cells
would change without anybody having touched them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from lxml import etree

from estimator.core.problems import Place, Problem, problem
from estimator.report.package.markup import CONTENT_TYPES, MAIN, WORKBOOK_ORDER, Element, each, local, parse, tag
from estimator.report.package.package import Package, open_package, related, sheet_part
from estimator.report.package.usage import usage

LONG = 2_000_000  # bytes of a sheet of which only the bytes are looked at
MANY = frozenset({"fileRecoveryPr"})  # of the list of sheets, which may have each of the others once
_STYLE = re.compile(rb"\ss\s*=\s*[\"'](\d{1,9})")
_TEXT = re.compile(rb"\st\s*=\s*[\"']s[\"'][^>]*>\s*<(?:\w+:)?v>\s*(\d{1,9})")


def damaged(data: bytes, file: str = "") -> Problem | None:
    """Why no sheet can be put into a workbook, or read from it by the parts; None for a sound one."""
    try:
        what = next(_damage(open_package(data)), "")
    except (ValueError, KeyError, etree.XMLSyntaxError) as error:
        what = " ".join(str(error).split())[:80]
    return problem("package-damaged", Place(file), what=what) if what else None


def _damage(package: Package) -> Iterator[str]:
    if package.types.tag != f"{{{CONTENT_TYPES}}}Types":
        yield f"its list of types is {local(package.types)}"
    for name, times in Counter(local(e) for e in each(package.workbook)).items():
        if times > 1 and name in WORKBOOK_ORDER and name not in MANY:
            yield f"its list of sheets has {times} of {name}"
    seen: dict[str, str] = {package.book: "the list of sheets"}
    for kind in ("/styles", "/sharedStrings"):
        part = related(package, package.book, kind)
        if part in seen:
            yield f"one part is {seen[part]} and {kind[1:]}"
        if part is not None and part in package.parts:
            seen[part] = f"the {'styles' if kind == '/styles' else 'texts'}"
    for sheet in package.sheets:
        name = f"the sheet '{sheet.get('name', '')}'"
        part = sheet_part(package, sheet)
        if part not in package.parts:
            yield f"{name} has no part"
        if part in seen:
            yield f"one part is {seen[part]} and {name}"
        seen[part] = name
    if not package.sheets:
        yield "it lists no sheets"
    styles, texts = _root(package, "/styles", "styleSheet"), _root(package, "/sharedStrings", "sst")
    if isinstance(styles, str) or isinstance(texts, str):
        yield str(styles if isinstance(styles, str) else texts)
        return
    looks = max(1, len(list(each(styles.find(tag("cellXfs")))))) if styles is not None else 1
    count = len(list(each(texts))) if texts is not None else 0
    for part, name in seen.items():
        if name.startswith("the sheet"):
            look, text = _uses(package, part)
            if look >= looks:
                yield f"{name} has cells of format {look}, which is not there"
            if text >= count:
                yield f"{name} has cells of text {text}, which is not there"


def _root(package: Package, kind: str, name: str) -> Element | str | None:
    """The root of the styles or texts, None where there is no such part; words for one that is something else."""
    part = related(package, package.book, kind)
    if part is None or part not in package.parts:
        return None
    root = parse(package.parts[part])
    return root if root.tag == f"{{{MAIN}}}{name}" else f"{part} is no {name} but {local(root)}"


def _uses(package: Package, part: str) -> tuple[int, int]:
    """The highest format and text that the cells of a sheet use; -1 for none."""
    data = package.parts[part]
    if len(data) < LONG:
        used = usage(package, [part])
        return used.cell, used.string
    return max(map(int, _STYLE.findall(data)), default=-1), max(map(int, _TEXT.findall(data)), default=-1)
