"""A workbook put together: what the writing library makes of its sheets, with our rows in them, and the shared texts.

Texts are shared, since some phone previews show inline texts as blank cells.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator, Mapping

from estimator.report.package.zipping import EARLIEST
from estimator.report.rows import Rows, Texts, attribute, cell

TEXTS = "xl/sharedStrings.xml"
_HEAD = b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<sst xmlns="%b" count="%d" uniqueCount="%d">'
_MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_SHEET = re.compile(
    rb'(?P<head>.*?)<dimension ref="[^"]*"/>(?P<views>.*?)<sheetData(?:/>|>.*?</sheetData>)'
    rb"(?P<rules>.*?)(?P<page><pageMargins.*)",
    re.DOTALL,
)
_TYPE = (
    b'<Override PartName="/xl/sharedStrings.xml" '
    b'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
)
_RELATION = (
    b'<Relationship Id="rIdTexts" '
    b'Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" '
    b'Target="sharedStrings.xml"/>'
)


def assemble(
    old: zipfile.ZipFile,
    new: zipfile.ZipFile,
    sheets: Mapping[str, Rows],
    texts: Texts,
) -> None:
    """Write the parts of a workbook into another zip, with the rows of its sheets; the part of the texts comes last.

    sheets: rows by the name of the part. Pictures are pinned by one cell and their own size: the library pins them by
    two, which stretches them wherever columns come out wider than it thinks.
    """
    for part in old.infolist():
        name = part.filename
        if name == TEXTS:
            continue
        data = old.read(part)
        if name in sheets:
            with new.open(_entry(name), "w", force_zip64=True) as out:
                for piece in _with_rows(data, sheets[name]):
                    out.write(piece)
            continue
        if name == "[Content_Types].xml" and _TYPE not in data:
            data = data.replace(b"</Types>", _TYPE + b"</Types>")
        elif name == "xl/_rels/workbook.xml.rels" and b"/sharedStrings" not in data:
            data = data.replace(b"</Relationships>", _RELATION + b"</Relationships>")
        new.writestr(_entry(name), _to_size(name, data))
    head = _HEAD % (_MAIN, texts.uses, len(texts.numbers))
    new.writestr(_entry(TEXTS), head + b"".join(texts.items()) + b"</sst>")


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, EARLIEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    return entry


def _with_rows(sheet: bytes, rows: Rows) -> Iterator[bytes]:
    """A sheet in which the library wrote no cells, with our rows, merged cells and links where the format has them."""
    found = _SHEET.fullmatch(sheet)
    assert found is not None, "a sheet in another form than the library gave it so far"
    rows.put_away()  # after which it is known what they cover
    yield b'%b<dimension ref="%b"/>%b<sheetData>' % (found["head"], rows.dimension().encode(), found["views"])
    yield from rows.pieces()
    yield b"</sheetData>"
    rules = found["rules"]
    assert not re.match(rb"<(sheetProtection|autoFilter|mergeCells)", rules), rules[:60]
    if rows.merged:
        yield f'<mergeCells count="{len(rows.merged)}">'.encode()
        yield "".join(f'<mergeCell ref="{area}"/>' for area in rows.merged).encode() + b"</mergeCells>"
    rules, options, rest = rules.partition(b"<printOptions")
    yield rules
    if rows.links:
        links = (
            f'<hyperlink ref="{cell(row, column)}" location="{attribute(where)}" display="{attribute(words)}"/>'
            for row, column, where, words in sorted(rows.links)
        )
        yield f"<hyperlinks>{''.join(links)}</hyperlinks>".encode()
    yield options + rest + found["page"]


def _to_size(name: str, part: bytes) -> bytes:
    if not name.startswith("xl/drawings/drawing"):
        return part
    return _ANCHOR.sub(_one_cell, part.decode("utf-8")).encode("utf-8")


_ANCHOR = re.compile(r"<xdr:twoCellAnchor[^>]*>(<xdr:from>.*?</xdr:from>)<xdr:to>.*?</xdr:to>(.*?)</xdr:twoCellAnchor>")


def _one_cell(anchor: re.Match[str]) -> str:
    if "<xdr:graphicFrame" in anchor[2]:
        return anchor[0]  # a chart keeps to its cells
    size = re.search(r'<a:ext (cx="\d+" cy="\d+")/>', anchor[2])
    assert size is not None
    return f"<xdr:oneCellAnchor>{anchor[1]}<xdr:ext {size[1]}/>{anchor[2]}</xdr:oneCellAnchor>"
