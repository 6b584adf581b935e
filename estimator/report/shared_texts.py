"""Texts written in the cells of a workbook made shared: some phone previews show inline texts as blank cells.

The writing library keeps little in memory only if it writes each row at once, and then it writes texts inline.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable, Iterator
from typing import IO

from estimator.report.package.zipping import EARLIEST

PART = "xl/sharedStrings.xml"
CHUNK = 4_000_000  # bytes of a sheet that are taken at once
_HEAD = b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n<sst xmlns="%b" count="%d" uniqueCount="%d">'
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


def share(old: zipfile.ZipFile, new: zipfile.ZipFile, change: Callable[[str, bytes], bytes]) -> None:
    """Write the parts of a workbook into another zip with its inline texts shared; the part of these comes last.

    Sheets go through a piece at a time. change: what is done to any other part, by its name.
    """
    texts: dict[tuple[bytes, bytes], int] = {}
    uses, there = 0, b""
    for part in old.infolist():
        name = part.filename
        if name.startswith("xl/worksheets/sheet"):
            with old.open(part) as source, new.open(_entry(name), "w") as out:
                for chunk in _pieces(source):
                    piece, used = shared(chunk, texts)
                    out.write(piece)
                    uses += used
            continue
        data = old.read(part)
        if name == PART:
            there = data  # of the library; empty where the texts are inline
            continue
        if name == "[Content_Types].xml" and _TYPE not in data:
            data = data.replace(b"</Types>", _TYPE + b"</Types>")
        elif name == "xl/_rels/workbook.xml.rels" and b"/sharedStrings" not in data:
            data = data.replace(b"</Relationships>", _RELATION + b"</Relationships>")
        new.writestr(_entry(name), change(name, data))
    if texts or not there:
        items = b"".join(b"<si><t%b>%b</t></si>" % (space or b"", text) for space, text in texts)
        there = _HEAD % (_MAIN, uses, len(texts)) + items + b"</sst>"
    new.writestr(_entry(PART), there)


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, EARLIEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    return entry


def _pieces(source: IO[bytes]) -> Iterator[bytes]:
    """What is read, in pieces that end where a row ends."""
    rest = b""
    while more := source.read(CHUNK):
        rest += more
        cut = rest.rfind(b"<row ")
        if cut > 0:
            yield rest[:cut]
            rest = rest[cut:]
    yield rest


def shared(data: bytes, texts: dict[tuple[bytes, bytes], int]) -> tuple[bytes, int]:
    """Rows with each inline text as the number of a shared one, and how many there are; new texts are added.

    >>> shared(b'<c r="A1" s="1" t="inlineStr"><is><t>a</t></is></c>', {})
    (b'<c r="A1" s="1" t="s"><v>0</v></c>', 1)
    """
    pieces = _INLINE.split(data)
    used = zip(pieces[1::3], pieces[2::3], strict=True)
    found = [texts.setdefault(text, len(texts)) for text in used]
    kept = pieces[0::3]
    out = [kept[0]]
    for number, rest in zip(found, kept[1:], strict=True):
        out += (b' t="s"><v>%d</v></c>' % number, rest)
    return b"".join(out), len(found)
