"""Workbooks of the .ods kind, their markup written by hand, so that a test can put in what it wants."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape

MIME = "application/vnd.oasis.opendocument.spreadsheet"
_NAMES = "".join(
    f' xmlns:{short}="urn:oasis:names:tc:opendocument:xmlns:{long}:1.0"'
    for short, long in (
        ("office", "office"),
        ("table", "table"),
        ("text", "text"),
        ("style", "style"),
        ("number", "datastyle"),
        ("draw", "drawing"),
    )
)
_NAMES += ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
_NAMES += ' xmlns:of="urn:oasis:names:tc:opendocument:xmlns:of:1.2" office:version="1.3"'


def cell(value: object, more: str = "") -> str:
    """One cell as a spreadsheet program writes it; more: attributes."""
    if value is None:
        return f"<table:table-cell{more}/>"
    if isinstance(value, bool):
        kind, shown = f'boolean" office:boolean-value="{str(value).lower()}', str(value).upper()
    elif isinstance(value, int | float):
        kind, shown = f'float" office:value="{value!r}', str(value)
    else:
        kind, shown = "string", escape(str(value))
    return f'<table:table-cell{more} office:value-type="{kind}"><text:p>{shown}</text:p></table:table-cell>'


def row(cells: str, more: str = "") -> str:
    """One row of cells."""
    return f"<table:table-row{more}>{cells}</table:table-row>"


def sheet(name: str, rows: Sequence[Sequence[object]] | str, more: str = "", columns: str = "") -> str:
    """One sheet; rows as values, or as markup."""
    inner = rows if isinstance(rows, str) else "".join(row("".join(cell(v) for v in r)) for r in rows)
    far = '<table:table-row table:number-rows-repeated="1048000"><table:table-cell/></table:table-row>'
    return f'<table:table table:name="{escape(name)}"{more}>{columns}{inner}{far}</table:table>'


def ods(
    sheets: Mapping[str, Sequence[Sequence[object]] | str] | str,
    styles: str = "",
    after: str = "",
    more: Mapping[str, str | bytes] | None = None,
) -> bytes:
    """An .ods. sheets: by name, or their markup; styles: automatic styles; after: what follows the sheets; more: parts,
    in the place of the usual ones of their names."""
    inner = sheets if isinstance(sheets, str) else "".join(sheet(name, rows) for name, rows in sheets.items())
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{_NAMES}><office:automatic-styles>{styles}'
        f"</office:automatic-styles><office:body><office:spreadsheet>{inner}{after}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    listed = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    files = "".join(
        f'<manifest:file-entry manifest:full-path="{path}" manifest:media-type="{kind}"/>'
        for path, kind in (("/", MIME), ("content.xml", "text/xml"))
    )
    parts: dict[str, str | bytes] = {
        "mimetype": MIME,
        "content.xml": content,
        "META-INF/manifest.xml": f'<manifest:manifest xmlns:manifest="{listed}">{files}</manifest:manifest>',
        **(more or {}),
    }
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as package:
        for name, part in parts.items():
            package.writestr(name, part, zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED)
    return made.getvalue()
