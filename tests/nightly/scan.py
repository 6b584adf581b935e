"""Everything that stands in a file that leaves the office: every byte, unpacked, and every figure that can be read."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from email import message_from_bytes
from email.policy import default
from typing import Any

from lxml import etree
from pypdf import PdfReader
from pypdf.generic import StreamObject

_NUMBER = re.compile(r"\d(?:[\d.,'’\u00a0\u202f]*\d)?")  # no plain space: it stands between two numbers too
_SPACED = re.compile(r"\d{1,3}(?: \d{3})+(?:[.,]\d+)?")
_MARKED = re.compile(r"(?:EUR|\$|€|£)\s*(\d[\d.,]*\d|\d)|(\d[\d.,]*\d|\d)\s*(?:EUR|\$|€|£)(?!\s*\d)")
_NO_FIGURE = re.compile(r"\b\d{1,2}\.\d{2,3}(?=\s*(?:×|m\b|m²))|\b\d{4}-\d\d-\d\d\b")
_MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"


@dataclass
class Found:
    """What stands in a file. raw: every part, unpacked, by name; shown: all text, a piece a line; cells: numbers in
    cells; formulas: how many; markup: attributes and text of parts that are no text for a reader."""

    raw: list[tuple[str, bytes]] = field(default_factory=list)
    shown: list[str] = field(default_factory=list)
    cells: list[Decimal] = field(default_factory=list)
    formulas: int = 0
    markup: list[str] = field(default_factory=list)

    def words(self, wanted: set[str]) -> set[str]:
        """Which of some words stand anywhere: in any part in any usual encoding, or in the text however it is cut."""
        dense = re.sub(r"\s+", "", "".join(self.shown)).casefold()
        every = [data.lower() for _, data in self.raw]
        return {w for w in wanted if w.casefold() in dense or any(_within(w, data) for data in every)}

    def text(self) -> str:
        """All that a reader sees."""
        return "\n".join(self.shown)

    def figures(self) -> set[Decimal]:
        """Every figure that a reader sees, in each way it may be meant; sizes of sails, and days, are none."""
        return {*self.cells, *(f for line in self.shown for f in figures_in(_NO_FIGURE.sub(" ", line)))}

    def money(self) -> dict[str, set[Decimal]]:
        """Figures beside the sign or code of a currency, each as it stands with the ways it may be meant."""
        return {words: set(_read(words)) for pair in _MARKED.findall(self.text()) if (words := "".join(pair))}

    def percents(self) -> set[Decimal]:
        """Figures before a per cent sign."""
        return {f for words in re.findall(r"(\d[\d.,]*)\s*%", self.text()) for f in _read(words)}

    def hours(self) -> set[Decimal]:
        """Figures before hours."""
        return {f for words in re.findall(r"(\d[\d.,]*)\s*(?:h\b|hours?|person)", self.text()) for f in _read(words)}


def figures_in(words: str) -> set[Decimal]:
    """Every figure in some words, with points or commas for the decimals and anything usual between thousands.

    >>> {Decimal("1234.5")} <= figures_in("EUR 1,234.50") & figures_in("1.234,50 EUR") & figures_in("1 234,50")
    True
    """
    texts = [*_NUMBER.findall(words), *_SPACED.findall(words)]
    return {f for text in texts for f in _read(text)}


def _read(text: str) -> Iterator[Decimal]:
    """A figure in each way it may be meant: of two marks the last is that of the decimals, of one nobody knows."""
    plain = re.sub(r"['’\s]", "", text).strip(".,")
    for thousands, mark in ((",", "."), (".", ",")):
        whole, _, decimals = plain.partition(mark)
        if mark not in decimals and thousands not in decimals and re.fullmatch(r"\d+|\d{1,3}([.,]\d{3})+", whole):
            yield Decimal(f"{whole.replace(thousands, '')}.{decimals or '0'}")


def _within(word: str, data: bytes) -> bool:
    low = word.lower()
    return any(low.encode(code) in data for code in ("utf-8", "utf-16-le", "utf-16-be"))


def scan(name: str, data: bytes) -> Found:
    """Everything in a workbook, a PDF or a draft of a mail."""
    found = Found()
    _any(found, name, data)
    return found


def _any(found: Found, name: str, data: bytes) -> None:
    found.raw.append((name, data))
    if data.startswith(b"PK"):
        _workbook(found, name, data)
    elif data.startswith(b"%PDF"):
        _pdf(found, name, data)
    elif data.startswith(b"\x89PNG"):
        found.raw += [(f"{name} {kind}", content) for kind, content in _picture_texts(data)]
    elif name.endswith(".eml"):
        _mail(found, name, data)


def _workbook(found: Found, name: str, data: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        found.raw.append((f"{name} comment", package.comment))
        for part in package.infolist():
            found.raw.append((f"{name} name", part.filename.encode() + part.extra + part.comment))
            content = package.read(part)
            _any(found, f"{name}!{part.filename}", content)
            if content.lstrip()[:1] == b"<":
                _markup(found, part.filename, etree.fromstring(content))


def _markup(found: Found, part: str, root: Any) -> None:
    plain = part.startswith(("docProps/", "xl/sharedStrings", "xl/comments", "xl/worksheets/"))
    for e in root.iter():
        if not isinstance(e.tag, str):
            found.shown.append(str(e.text))
            continue
        found.markup += e.attrib.values()
        tag = e.tag.removeprefix(_MAIN)
        if tag == "f":
            found.formulas += 1
        if not (e.text or "").strip():
            continue
        if tag == "v":
            kind = e.getparent().get("t", "n")
            if kind == "n":
                found.cells.append(Decimal(f"{float(e.text):.15g}"))
            elif kind != "s":
                found.shown.append(e.text)
        elif plain:
            found.shown.append(e.text)
        else:
            found.markup.append(e.text)


def _picture_texts(data: bytes) -> Iterator[tuple[str, bytes]]:
    """The texts beside the picture of a PNG file, unpacked."""
    at = 8
    while at + 8 <= len(data):
        size, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8].decode("latin-1")
        content = data[at + 8 : at + 8 + size]
        if kind in ("zTXt", "iTXt", "iCCP"):
            for start in (n for n in range(len(content)) if content[n : n + 1] == b"\x78"):
                try:
                    yield kind, zlib.decompress(content[start:])
                except zlib.error:
                    continue
        at += 12 + size


def _pdf(found: Found, name: str, data: bytes) -> None:
    reader = PdfReader(io.BytesIO(data))
    for number in range(1, int(reader.trailer["/Size"])):
        thing = reader.get_object(number)
        found.raw.append((f"{name} object {number}", repr(thing).encode("utf-8", "replace")))
        if isinstance(thing, StreamObject):
            try:
                found.raw.append((f"{name} stream {number}", thing.get_data()))
            except (NotImplementedError, ValueError, OSError):  # a picture: what is packed stands above
                continue
    found.shown += [page.extract_text() for page in reader.pages]
    found.shown += [str(v) for v in (reader.metadata or {}).values()]
    for name_, contents in reader.attachments.items():
        for content in contents:
            _any(found, f"{name}!{name_}", content)


def _mail(found: Found, name: str, data: bytes) -> None:
    mail = message_from_bytes(data, policy=default)
    for part in mail.walk():
        found.shown += [str(value) for value in part.values()]
        if part.is_multipart():
            continue
        content = part.get_payload(decode=True)
        assert isinstance(content, bytes)
        if part.get_content_maintype() == "text":
            found.shown.append(str(part.get_content()))
        _any(found, f"{name}!{part.get_filename() or part.get_content_type()}", content)
