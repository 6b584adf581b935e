"""Zip packages that come out the same for the same parts."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Mapping

EARLIEST = (1980, 1, 1, 0, 0, 0)  # the first moment a zip entry can carry
_FIXED_TIME = b"2000-01-01T00:00:00Z"


def read_parts(data: bytes) -> dict[str, bytes]:
    """The parts of a package by name, in the order they stand; `\\` in a name is read as `/`.

    Raises ValueError where two entries have one name: two readers would then see two different workbooks.
    """
    parts: dict[str, bytes] = {}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for entry in archive.infolist():
            name = entry.filename.replace("\\", "/")
            if name.endswith("/"):
                continue
            if name in parts:
                raise ValueError(f"the package holds the part {name!r} twice")
            parts[name] = archive.read(entry)
    return parts


def zip_parts(parts: Mapping[str, bytes]) -> bytes:
    """A zip of the parts in the order given, with no trace of when or where it was made.

    >>> zip_parts({"a.xml": b"<a/>"}) == zip_parts({"a.xml": b"<a/>"})
    True
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in parts.items():
            entry = zipfile.ZipInfo(name, EARLIEST)
            entry.create_system = 0  # else the byte differs between Windows and the rest
            entry.external_attr = 0o600 << 16
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content, compresslevel=6)
    return out.getvalue()


def settle(data: bytes) -> bytes:
    """The same workbook with fixed times: entry dates, and made and changed in the document properties."""
    parts = read_parts(data)
    core = parts.get("docProps/core.xml")
    if core is not None:
        parts["docProps/core.xml"] = re.sub(
            rb"(<dcterms:(created|modified)\b[^>]*>)[^<]*(</dcterms:\2>)", rb"\g<1>" + _FIXED_TIME + rb"\g<3>", core
        )
    return zip_parts(parts)
