"""Texts written in the cells of a workbook made shared: some phone previews show inline texts as blank cells.

The writing library keeps little in memory only if it writes each row at once, and then it writes texts inline.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from estimator.report.package.plain import chunks

PART = "xl/sharedStrings.xml"
_MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_INLINE = re.compile(rb' t="inlineStr"><is><t( xml:space="preserve")?>([^<]*)</t></is></c>')
_TYPE = (
    b'<Override PartName="/xl/sharedStrings.xml" '
    b'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
)
_RELATION = (
    b'<Relationship Id="rIdTexts" '
    b'Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" '
    b'Target="sharedStrings.xml"/>'
)


def share(parts: Iterator[tuple[str, bytes]]) -> Iterator[tuple[str, bytes]]:
    """The parts of a workbook with its inline texts shared; the new part comes last.

    >>> cell = b'<c r="A1" s="1" t="inlineStr"><is><t>a</t></is></c>'
    >>> dict(share(iter([("xl/worksheets/sheet1.xml", cell + cell)])))["xl/worksheets/sheet1.xml"]
    b'<c r="A1" s="1" t="s"><v>0</v></c><c r="A1" s="1" t="s"><v>0</v></c>'
    """
    texts: dict[tuple[bytes, bytes], int] = {}
    uses, there = 0, b""
    for name, data in parts:
        if name == PART:
            there = data  # of the library; empty where the texts are inline
            continue
        if name.startswith("xl/worksheets/sheet"):
            pieces = []
            for chunk in chunks(data):
                piece, used = _shared(chunk, texts)
                pieces.append(piece)
                uses += used
            data = b"".join(pieces)
        elif name == "[Content_Types].xml":
            data = data if _TYPE in data else data.replace(b"</Types>", _TYPE + b"</Types>")
        elif name == "xl/_rels/workbook.xml.rels":
            data = (
                data
                if b"/sharedStrings" in data
                else data.replace(b"</Relationships>", _RELATION + b"</Relationships>")
            )
        yield name, data
    if there and not texts:
        yield PART, there
        return
    items = b"".join(b"<si><t%b>%b</t></si>" % (space or b"", text) for space, text in texts)
    head = b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<sst xmlns="%b" count="%d" uniqueCount="%d">'
    yield PART, head % (_MAIN, uses, len(texts)) + items + b"</sst>"


def _shared(data: bytes, texts: dict[tuple[bytes, bytes], int]) -> tuple[bytes, int]:
    """Rows with each inline text as the number of a shared one, and how many there are; new texts are added."""
    pieces = _INLINE.split(data)
    used = zip(pieces[1::3], pieces[2::3], strict=True)
    found = [texts.setdefault(text, len(texts)) for text in used]
    kept = pieces[0::3]
    out = [kept[0]]
    for number, rest in zip(found, kept[1:], strict=True):
        out += (b' t="s"><v>%d</v></c>' % number, rest)
    return b"".join(out), len(found)
