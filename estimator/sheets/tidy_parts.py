"""The small parts of the tidied copy: lists, number formats, texts; written afresh, so nothing odd is passed on."""

from __future__ import annotations

import io
import re
import zipfile
from typing import TYPE_CHECKING

from estimator.sheets.package import attribute, local, parse
from estimator.sheets.xml_text import escape, quoteattr

if TYPE_CHECKING:
    from lxml.etree import _Element

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_RELS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
LONGEST_FORMAT = 255  # letters an office program takes
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def packed(sheets: dict[str, str], formats: str, strings: str, since_1904: bool) -> bytes:
    """A small workbook of the sheets (part name to XML text) with one list of formats and one of texts."""
    ids = range(1, len(sheets) + 1)
    listed = "".join(f'<sheet name="S{i - 1}" sheetId="{i}" r:id="r{i}"/>' for i in ids)
    pr = f'<workbookPr date1904="{int(since_1904)}"/>'
    links = "".join(f'<Relationship Id="r{i}" Type="{_RELS}/worksheet" Target="worksheets/sheet{i}.xml"/>' for i in ids)
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    types = "".join(f'<Override PartName="/{name}" ContentType="{kinds}.worksheet+xml"/>' for name in sheets)
    texts = {
        "[Content_Types].xml": f'<Types xmlns="{_PACKAGE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}.sheet.main+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{kinds}.styles+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kinds}.sharedStrings+xml"/>{types}</Types>',
        "_rels/.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">'
        f'<Relationship Id="r1" Type="{_RELS}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{_RELS}">{pr}<sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{_PACKAGE}/relationships">{links}'
        f'<Relationship Id="s1" Type="{_RELS}/styles" Target="styles.xml"/>'
        f'<Relationship Id="s2" Type="{_RELS}/sharedStrings" Target="sharedStrings.xml"/></Relationships>',
        "xl/styles.xml": formats,
        "xl/sharedStrings.xml": strings,
        **sheets,
    }
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as package:
        for name, text in texts.items():
            package.writestr(name, _HEAD + text)
    return made.getvalue()


def styles_of(data: bytes | None) -> tuple[str, int]:
    """Number formats only, and how many cell formats there are."""
    root = parse(data) if data else None
    codes: dict[str, str] = {}
    used: list[str] = []
    for element in root.iter("{*}numFmt", "{*}cellXfs") if root is not None else ():
        if local(element) == "cellXfs":
            used = [attribute(x, "numFmtId") or "0" for x in element if local(x) == "xf"]
        elif attribute(element, "numFmtId").isdecimal():
            code = attribute(element, "formatCode")
            codes[attribute(element, "numFmtId")] = code if len(code) <= LONGEST_FORMAT else "General"
    known = [number if number in codes or (number.isdecimal() and int(number) < 164) else "0" for number in used]
    used = known or ["0"]
    # Number 164 is the first free one; a built-in number that a file describes again keeps its own meaning.
    fresh = {number: 164 + i for i, number in enumerate(codes)}
    formats = "".join(f'<numFmt numFmtId="{fresh[n]}" formatCode={quoteattr(code)}/>' for n, code in codes.items())
    cells = "".join(f'<xf numFmtId="{fresh.get(n, n)}" fontId="0" fillId="0" borderId="0" xfId="0"/>' for n in used)
    return (
        f'<styleSheet xmlns="{MAIN}">'
        + (f'<numFmts count="{len(codes)}">{formats}</numFmts>' if codes else "")
        + '<fonts count="1"><font/></fonts><fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills><borders count="1"><border/></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
        f'<cellXfs count="{len(used)}">{cells}</cellXfs></styleSheet>',
        len(used),
    )


def line_ends(text: str) -> str:
    """The text with one kind of line end."""
    return re.sub(r"\r+\n|\r", "\n", text)


def cleaned(text: str) -> str:
    """Text with one kind of line end and without control characters."""
    return _NO_XML.sub("", line_ends(text))


def decoded(text: str) -> str:
    """Text of an .xlsx as a person sees it: its escapes put right, one kind of line end, no control characters.

    >>> decoded("one_x000D_\\r\\ntwo_x005F_x0041_")
    'one\\ntwo_x0041_'
    """
    return cleaned(_ESCAPED.sub(lambda m: chr(int(m[1], 16)), text))


def joined(element: _Element) -> str:
    """The text of a string item: runs joined, reading aids of phonetic scripts left out.

    ValueError for an item with two texts that are no runs: each program would take another.
    """
    if sum(local(child) == "t" for child in element) > 1:
        raise ValueError("a text is there twice")
    texts = []
    for child in element:
        name = local(child)
        if name == "t":
            texts.append(child.text or "")
        elif name == "r":
            texts += [t.text or "" for t in child if local(t) == "t"]
    return "".join(texts)


def strings_of(data: bytes | None) -> tuple[str, int]:
    """The list of texts without its looks, as XML text, and how many it holds."""
    items = []
    root = parse(data) if data else None
    if root is not None and len(root.findall(".//{*}si")) != len(root.findall("{*}si")):
        raise ValueError("a text inside another")  # programs count them in different ways
    for element in root if root is not None else ():
        if local(element) == "si":
            items.append(f'<si><t xml:space="preserve">{escape(decoded(joined(element)))}</t></si>')
    return f'<sst xmlns="{MAIN}">{"".join(items)}</sst>', len(items)
