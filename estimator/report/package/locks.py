"""Who has a workbook open, told by the small files office programs lay beside it."""

from __future__ import annotations

import errno
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Lock:
    """A lock file beside a workbook and the name of who holds it, blank where it cannot be read."""

    path: Path
    holder: str


def lock_of(target: Path) -> Lock | None:
    """The lock file of a workbook, None where nobody seems to have it open. The file need not exist."""
    for name, read in ((f"~${target.name}", _owner_file), (f".~lock.{target.name}#", _lock_line)):
        path = target.with_name(name)
        try:
            if path.is_file():
                return Lock(path, _readable(read(path.read_bytes())))
        except OSError as error:
            if error.errno != errno.ENAMETOOLONG:  # a name too long for a lock beside it: nobody has made one
                return Lock(path, "")  # held so firmly that it cannot even be read
    return None


def _owner_file(data: bytes) -> str:
    """`~$name`: the length of a name and the name in bytes; from byte 55 the same in UTF-16. Layout from memory."""
    wide = data[57 : 57 + 2 * data[55]] if len(data) > 57 else b""
    name = wide.decode("utf-16-le", "replace")
    if name.isprintable() and name.strip():
        return name
    return data[1 : 1 + data[0]].decode("cp1252", "replace") if data else ""


def _lock_line(data: bytes) -> str:
    """`.~lock.name#`: `name,login,computer,time,profile;`"""
    fields = data.decode("utf-8", "replace").split(",")
    name = next((f for f in fields[:2] if f.strip()), "")
    computer = fields[2].strip() if len(fields) > 2 else ""
    return f"{name.strip()} on {computer}" if name and computer else name


def _readable(name: str) -> str:
    name = " ".join(name.split())
    return name if name.isprintable() and "\ufffd" not in name else ""
