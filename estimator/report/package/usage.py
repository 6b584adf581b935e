"""The highest style and string positions that the user's own parts use.

Records after them were added for our sheets and can go before the next ones are added: a file priced
twenty times holds no more than a file priced once.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass

from lxml import etree

from estimator.report.package.markup import Element, each, tag, whole
from estimator.report.package.package import Package

_CONDITION = re.compile(rb"[dD]xfId\s*=\s*[\"'](\d+)")
_FORMAT = re.compile(rb"numFmtId\s*=\s*[\"'](\d+)")


@dataclass(frozen=True, slots=True)
class Usage:
    """Highest positions in use, -1 for none; formats: the number formats named outside the style sheet."""

    cell: int
    condition: int
    string: int
    formats: frozenset[int]


def usage(package: Package, parts: Iterable[str]) -> Usage:
    """What these parts use. A number too high does no harm, one too low would change the user's cells."""
    cell = condition = string = -1
    formats: set[int] = set()
    for part in parts:
        data = package.parts[part]
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            data = data.decode("utf-16").encode()
        if b"<" not in data[:200]:
            continue  # a picture or another binary part
        condition = max([condition, *map(int, _CONDITION.findall(data))])
        formats.update(map(int, _FORMAT.findall(data)))
        if b"sheetData" in data:
            cell, string = _cells(data, cell, string)
    return Usage(cell, condition, string, frozenset(formats))


def _cells(data: bytes, cell: int, string: int) -> tuple[int, int]:
    kinds = (tag("c"), tag("row"), tag("col"))
    for _, element in etree.iterparse(io.BytesIO(data), tag=kinds, resolve_entities=False, no_network=True):
        cell = max(cell, whole(element, "s", -1), whole(element, "style", -1))
        if element.get("t") == "s":
            text = (element.findtext(tag("v")) or "").strip()
            string = max(string, int(text) if text.isdigit() else -1)
        if element.tag == tag("row"):
            element.clear()
    return cell, string


def needed_styles(root: Element, used: Usage, floor: dict[str, int] | None) -> dict[str, int]:
    """How many records of each collection to keep.

    floor: what the user had when ours were first added, None where that is not known any more (an office
    program has written the file since); then all goes by use.
    """
    low = floor or {"fonts": 1, "fills": 2, "borders": 1, "cellXfs": 1, "dxfs": 0}
    every = list(each(root.find(tag("cellXfs"))))
    cells = max(low["cellXfs"], used.cell + 1)
    kept = [*every[:cells], *each(root.find(tag("cellStyleXfs")))]
    keep = {"cellXfs": cells}
    for name, attribute in (("fonts", "fontId"), ("fills", "fillId"), ("borders", "borderId")):
        keep[name] = max([low[name], *(whole(xf, attribute) + 1 for xf in kept)])
    tables = root.find(tag("tableStyles"))
    named = [whole(e, "dxfId", -1) for e in (tables.iter() if tables is not None else ())]
    keep["dxfs"] = max([low["dxfs"], used.condition + 1, *(n + 1 for n in named)])
    # a number format the user made may wait unused: at most those go that the formats going with us name
    formats = [whole(f, "numFmtId") for f in each(root.find(tag("numFmts")))]
    dropped = [*every[cells:], *(f for dxf in list(each(root.find(tag("dxfs"))))[keep["dxfs"] :] for f in dxf)]
    going = {whole(e, "numFmtId", -1) for e in dropped} - {whole(xf, "numFmtId") for xf in kept} - used.formats
    while formats and formats[-1] in going and len(formats) > low.get("numFmts", 0):
        formats.pop()
    keep["numFmts"] = len(formats)
    return keep
