"""A PDF read back by a reader that had no part in writing it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from io import BytesIO
from typing import Any

from pypdf import PdfReader


@dataclass(frozen=True)
class Piece:
    """A piece of text on a page: points from the left and from the foot of the page."""

    page: int
    x: float
    y: float
    size: float
    text: str
    bold: bool


def reader(data: bytes) -> PdfReader:
    return PdfReader(BytesIO(data))


def pages(data: bytes) -> list[str]:
    """The text of each page, in the order it was written."""
    return [p.extract_text() for p in reader(data).pages]


def dense(text: str) -> str:
    """Text without any white space: where lines are broken makes no difference."""
    return re.sub(r"\s+", "", text)


def said(data: bytes) -> str:
    """All a PDF tells: the text of its pages, and what its head holds."""
    found = reader(data)
    head = [str(v) for v in (found.metadata or {}).values()] + [str(found.root_object)]
    return "\n".join([*pages(data), *head])


def pieces(data: bytes) -> list[Piece]:
    """Every piece of text with its place and its size."""
    found: list[Piece] = []
    for number, page in enumerate(reader(data).pages):

        def note(text: str, cm: Any, tm: Any, font: Any, size: Any, number: int = number) -> None:
            if text.strip():
                bold = "Bold" in str((font or {}).get("/BaseFont", ""))
                found.append(Piece(number, float(tm[4]), float(tm[5]), float(size), text.strip("\n"), bold))

        page.extract_text(visitor_text=note)
    return found
