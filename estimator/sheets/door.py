"""The door: what kind of file it really is, and whether it is safe to unpack. No cell is read here.

Workbooks of three kinds pass: .xlsx (and .xlsm), .ods and .xls, whatever their names say.
"""

from __future__ import annotations

import errno
import io
import re
import zipfile
from collections import Counter
from pathlib import Path

from estimator.core.problems import Place, Problem, problem
from estimator.sheets.package import Opened, is_strict, own_sheets, same_part, sheet_entries, workbook_part

MOST_BYTES = 300_000_000  # unpacked; our own sheets do not count
MOST_PARTS = 5_000
MOST_RATIO = 250  # unpacked to packed, of a part that is large enough to hurt
SMALL_PART = 2_000_000
MOST_INDEX = 20_000_000  # a part that is read before the sizes are judged

MOST_XLS = 100_000_000  # an .xls is not packed

_OLE = b"\xd0\xcf\x11\xe0"
_ZIP_END = b"PK\x05\x06"
_PARCEL = b"\x00\x05\x16\x07"  # what a Mac keeps beside a file on drives that are not its own
_DOCTYPES = tuple("<!DOCTYPE".encode(code) for code in ("utf-8", "utf-16-le", "utf-16-be"))
_SHEET_DOCUMENT = b"application/vnd.oasis.opendocument.spreadsheet"
_MANIFEST = "meta-inf/manifest.xml"  # of an .ods; only searched for a word, and older programs give it a document type
_ODS_READ = ("content.xml", "styles.xml", "settings.xml", _MANIFEST)
_POINTER = re.compile(rb'\[internetshortcut\]|\{\s*"?(?:url|doc_id)"?\s*:|"doc_id"|<plist|bplist00')

__all__ = ["Opened", "check_bytes", "open_door", "own_sheets", "whole"]


def open_door(path: Path) -> Opened | Problem:
    """The parts of a workbook file, or the one reason why it cannot be used."""
    place = Place(path.name)
    if path.name.startswith("~$") or (path.name.startswith(".~lock.") and path.name.endswith("#")):
        return problem("lock-file", place)
    try:
        if path.is_dir():
            return problem("folder-not-file", place)
        data = whole(path)
    except FileNotFoundError:
        return problem("file-not-found", Place(str(path)))
    except OSError as error:
        return problem("file-not-readable", place, reason=(error.strerror or "not allowed").lower())
    except ValueError:  # a name that no file can have
        return problem("file-not-found", place)
    return check_bytes(data, path.name)


def whole(path: Path, most: int = MOST_BYTES) -> bytes:
    """The bytes of a plain file; OSError for a pipe or a device too, which may never end, and for a file too large."""
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "no plain file")
    if path.stat().st_size > most:
        raise OSError(errno.EFBIG, f"larger than {_megabytes(most)}")
    return path.read_bytes()


def check_bytes(data: bytes, name: str) -> Opened | Problem:
    """The same for the bytes of a file; name is used in sentences and to tell .xlsm."""
    place = Place(name)
    if not data:
        return problem("file-empty", place)
    data = _without_padding(data)
    if data.startswith(_OLE):
        return _old_binary(data, place)
    if not data.startswith(b"PK"):
        return problem(_kind_of(data), place)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return _unpack(package, data, place)
    except (zipfile.BadZipFile, EOFError, OSError, ValueError, NotImplementedError, _broken()):
        return problem("file-cut-short", place)
    except RuntimeError:  # what zipfile raises for an encrypted part
        return problem("file-password", place)


def _without_padding(data: bytes) -> bytes:
    """A zip without the zeros that some drives fill the last block of a file with."""
    end = data.rfind(_ZIP_END) if data.startswith(b"PK") and data.endswith(b"\0" * 64) else -1
    if end < 0 or len(data) < end + 22:
        return data
    end += 22 + int.from_bytes(data[end + 20 : end + 22], "little")
    return data[:end] if not data[end:].strip(b"\0") else data


def _broken() -> type[Exception]:
    import zlib

    return zlib.error


def _old_binary(data: bytes, place: Place) -> Opened | Problem:
    """The container of an .xls, of a workbook under a password, and of documents of other programs."""
    if "EncryptedPackage".encode("utf-16-le") in data:
        return problem("file-password", place)
    if not any(name.encode("utf-16-le") in data for name in ("Workbook", "Book", "WORKBOOK", "BOOK")):
        return problem("file-other-office" if len(data) > 512 else "file-cut-short", place)
    if len(data) > MOST_XLS:
        return problem("file-too-big", place, size=_megabytes(len(data)), limit=_megabytes(MOST_XLS))
    return Opened(place.file, data, {}, False, False, kind="xls")


def _kind_of(data: bytes) -> str:
    """The code for a file that is neither a zip nor an old binary document."""
    if not data.strip(b"\0"):
        return "file-zeros"
    if data.startswith(_PARCEL):
        return "file-beside"
    if len(data) < 20_000 and _POINTER.search(data.replace(b"\0", b"").lower()):
        return "file-pointer"
    start = data[:2000].lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n").replace(b"\0", b"").lower()
    if start.startswith(b"{\\rtf") or start.startswith(b"%pdf"):
        return "file-other"
    if b"<html" in start or b"<table" in start or start.startswith(b"<!doctype html"):
        return "file-html"
    if start.startswith(b"<?xml") or start.startswith(b"<"):
        return "file-xml"
    printable = sum(32 <= byte < 127 or byte in b"\t\r\n" or byte >= 128 for byte in start)
    return "file-csv" if start and printable == len(start) and b"\n" in data else "file-other"


def _unpack(package: zipfile.ZipFile, data: bytes, place: Place) -> Opened | Problem:
    infos = [info for info in package.infolist() if not info.is_dir()]
    twins = [n for n, count in Counter(same_part(i.filename) for i in infos).items() if count > 1]
    if twins:
        return problem("file-twin-parts", place, part=twins[0])
    if len(infos) > MOST_PARTS:
        return problem("file-too-many-parts", place, found=f"{len(infos):,}", limit=f"{MOST_PARTS:,}")
    names = {same_part(info.filename): info for info in infos}
    ods = _is_ods(names, package)
    if ods:  # pictures and objects in it are never unpacked
        infos = [info for name, info in names.items() if name in _ODS_READ]
    for info in infos:
        if info.file_size > SMALL_PART and info.file_size > MOST_RATIO * max(info.compress_size, 1):
            return problem("file-packed-too-tight", place, part=info.filename, size=_megabytes(info.file_size))
    wrong = "" if ods else _other_office(names, package)
    if wrong:
        return problem(wrong, place)
    left_out: frozenset[str] = frozenset()
    if sum(i.file_size for i in infos) > MOST_BYTES:
        left_out = _own_parts(package, infos)
        size = sum(i.file_size for i in infos if i.filename not in left_out)
        if size > MOST_BYTES:
            return problem("file-too-big", place, size=_megabytes(size), limit=_megabytes(MOST_BYTES))
    parts = {i.filename: b"" if i.filename in left_out else _read(package, i) for i in infos}
    for name, part in parts.items():
        read = same_part(name).endswith((".xml", ".rels", ".vml")) and same_part(name) != _MANIFEST
        if read and any(mark in part for mark in _DOCTYPES):
            return problem("file-doctype", place, part=name)
    if ods:
        return _open_document(Opened(place.file, data, parts, False, False, kind="ods"), place)
    return _recognised(Opened(place.file, data, parts, False, False, left_out), place)


def _read(package: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """A part, no more of it than the zip says; BadZipFile where it goes on beyond that."""
    with package.open(info) as part:
        data = part.read(info.file_size)
        if len(data) != info.file_size or part.read(1):
            raise zipfile.BadZipFile(f"{info.filename} is not as long as it says")
    return data


def _is_ods(names: dict[str, zipfile.ZipInfo], package: zipfile.ZipFile) -> bool:
    info = names.get("mimetype")
    return info is not None and info.file_size < 200 and _read(package, info).startswith(_SHEET_DOCUMENT)


def _open_document(opened: Opened, place: Place) -> Opened | Problem:
    """An .ods: under a password its parts are there but no longer XML, and the manifest says so."""
    if b"encryption-data" in (opened.part(_MANIFEST) or b""):
        return problem("file-password", place)
    return problem("file-cut-short", place) if opened.part("content.xml") is None else opened


def _recognised(opened: Opened, place: Place) -> Opened | Problem:
    from lxml.etree import XMLSyntaxError

    try:
        if not workbook_part(opened):
            return problem("zip-no-workbook", place)
        sheet_entries(opened)
        strict = is_strict(opened)
    except (XMLSyntaxError, ValueError) as error:
        return problem("part-broken", place, part="the list of sheets", reason=str(error).split(",")[0])
    macro = opened.name.casefold().endswith(".xlsm") or any(
        same_part(n).endswith("vbaproject.bin") for n in opened.parts
    )
    return Opened(opened.name, opened.data, opened.parts, strict, macro, opened.left_out)


def _other_office(names: dict[str, zipfile.ZipInfo], package: zipfile.ZipFile) -> str:
    """The code for a zip that is some other kind of document, blank for what may be a workbook."""
    if "mimetype" in names and names["mimetype"].file_size < 200 and b"opendoc" in _read(package, names["mimetype"]):
        return "file-other-office"
    if "xl/workbook.bin" in names:
        return "file-xlsb"
    if any(name.endswith(".iwa") for name in names) or "index.zip" in names:
        return "file-numbers"
    if any(name.startswith(("word/", "ppt/", "visio/")) for name in names):
        return "file-other-office"
    if "[content_types].xml" in names:
        return ""
    packed = any(name.endswith((".xlsx", ".xlsm", ".xls", ".ods", "/[content_types].xml")) for name in names)
    return "zip-around-workbook" if packed else "zip-no-workbook"


def _own_parts(package: zipfile.ZipFile, infos: list[zipfile.ZipInfo]) -> frozenset[str]:
    """The parts of our own sheets, found with nothing unpacked but the lists of the package."""
    small = {
        i.filename: _read(package, i)
        for i in infos
        if i.file_size < MOST_INDEX and (i.filename.endswith(".rels") or "workbook" in i.filename.casefold())
    }
    opened = Opened("", b"", small, False, False)
    own = own_sheets(opened)
    parts = {same_part(entry.part) for entry in sheet_entries(opened) if entry.name in own}
    return frozenset(i.filename for i in infos if same_part(i.filename) in parts)


def _megabytes(size: int) -> str:
    return f"{size / 1e6:,.0f} MB"
