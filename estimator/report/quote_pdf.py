"""The customer's copy as a PDF: the same rows as on its sheets, set for paper and for a telephone.

First page: one portrait page where it fits, with what is signed at its end; behind it what had no room, and the plans.
Real text in an embedded typeface, ink and greys, a title and a language; no author, no clock, no link.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import Any

from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.drawing_paper import POINT, size_of
from estimator.report.pdf_lines import NARROW, PLAIN, Laid, Rule, cut, face, lacking, laid, text_wide
from estimator.report.quote import parts_of
from estimator.report.quote_fit import Parts, fitted, names_of
from estimator.report.quote_rows import Row, Section, gap, words
from estimator.report.terms import terms_of

PAPER = {"letter": (612.0, 792.0)}  # points; A4 otherwise
A4 = (595.28, 841.89)
SIDE, TOP, BOTTOM = 42.0, 34.0, 46.0
FOOT = 9.0  # size of the line at the foot of a page


def render_pdf(priced: PricedJob, drawings: bool = True) -> bytes:
    """The customer's copy as a PDF; the same job gives the same bytes."""
    return pdf_of(priced, parts_of(priced, drawings))[0]


def pdf_of(priced: PricedJob, parts: Parts) -> tuple[bytes, str]:
    """The PDF of parts that are known already, and the letters in it that its typeface has not."""
    currency, header = terms_of(priced).currency, priced.job.header
    size = PAPER.get(header.paper.casefold(), A4)
    width, room = size[0] - 2 * SIDE, size[1] - TOP - BOTTOM

    def set_(rows: Sequence[Row]) -> list[Laid]:
        return [piece for r in rows for piece in cut(laid(r, width, currency), room)]

    def high(rows: Sequence[Row]) -> float:
        return sum(r.high for r in set_(rows))

    rest = high((*parts.top, *parts.foot, *_pointer([*parts.sections, *parts.plans])))
    rows, later = fitted(parts, room - rest, high)
    blocks = [set_((*parts.top, *rows, *_pointer(later))), set_(parts.foot)]
    first = _pages(blocks, room)
    details: list[list[Laid]] = []
    if later:
        heading = Section("", (words(f"Details: {header.name}", 13, bold=True),))
        details = _pages([set_(s.rows) for s in (heading, *later)], room)
    pages = [*first, *details]
    data = _drawn(priced, parts, pages, size)
    return data, lacking([r for rows in pages for r in rows])


def _pointer(later: Sequence[Section]) -> list[Row]:
    return [gap(3), words(f"On the pages that follow: {names_of(later)}.", bold=True)] if later else []


def _pages(blocks: Sequence[Sequence[Laid]], room: float) -> list[list[Laid]]:
    """Blocks of rows on pages: each block on one page where it fits on one, no heading left alone at the foot."""
    pages: list[list[Laid]] = [[]]
    used = 0.0
    for block in blocks:
        whole = sum(r.high for r in block)
        if used and used + whole > room and whole <= room:
            pages, used = [*pages, []], 0.0
        for n, row in enumerate(block):
            if used and used + _with_next(block, n) > room:
                pages, used = [*pages, []], 0.0
            if used or row.lines or row.png:  # no free space at the head of a page
                pages[-1].append(row)
                used += row.high
    return pages


def _with_next(block: Sequence[Laid], n: int) -> float:
    """The height of a row, and of what it may not be parted from."""
    found = block[n].high
    while block[n].keeps and n + 1 < len(block):
        n += 1
        found += block[n].high
    return found


def _drawn(priced: PricedJob, parts: Parts, pages: Sequence[Sequence[Laid]], size: tuple[float, float]) -> bytes:
    from reportlab.pdfgen.canvas import Canvas

    for bold in (False, True):
        face(bold)
    out = BytesIO()
    font: Any = PLAIN  # else a typeface that is not used is named in the file
    paper = Canvas(out, pagesize=size, invariant=1, pageCompression=1, lang=parts.language, initialFontName=font)
    day = priced.job.header.priced_on.strftime("D:%Y%m%d000000Z")
    paper.setDateFormatter(lambda *_: day)
    paper.setTitle(look.clean(parts.title).replace("\n", " "))
    for clear in (paper.setAuthor, paper.setSubject, paper.setCreator, paper.setKeywords):
        clear("")
    paper.setViewerPreference("DisplayDocTitle", "true")
    name = priced.book.business.get("trading name", "")
    for n, rows in enumerate(pages, 1):
        down = TOP
        for row in rows:
            _row(paper, row, size[1] - down)
            down += row.high
        _foot(paper, size, name, f"Page {n} of {len(pages)}")
        paper.showPage()
    paper.save()
    return out.getvalue()


def _row(paper: Any, row: Laid, top: float) -> None:
    """top: of the row, up from the foot of the page."""
    if row.png:
        from reportlab.lib.utils import ImageReader

        wide, tall = (side / POINT for side in size_of(row.png))
        paper.drawImage(ImageReader(BytesIO(row.png)), SIDE, top - 2 - tall, wide, tall)
        return
    for m in row.lines:
        _text(paper, m.text, SIDE + m.x, top - m.down, m.size, m.bold, m.ink)
    for r in row.rules:
        _rule(paper, Rule(SIDE + r.x, r.wide, top - r.down, r.ink))


def _foot(paper: Any, size: tuple[float, float], name: str, page: str) -> None:
    _text(paper, look.clean(name).replace("\n", " ")[:80], SIDE, BOTTOM - 20, FOOT, False, look.FAINT)
    at = size[0] - SIDE - text_wide(page, FOOT, False)
    _text(paper, page, at, BOTTOM - 20, FOOT, False, look.FAINT)


def _text(paper: Any, text: str, x: float, y: float, size: float, bold: bool, ink: str) -> None:
    from reportlab.lib.colors import HexColor

    made = paper.beginText(x, y)
    made.setFont(face(bold).fontName, size)
    made.setHorizScale(NARROW * 100)
    made.setFillColor(HexColor(ink))
    made.textOut(text)
    paper.drawText(made)


def _rule(paper: Any, rule: Rule) -> None:
    from reportlab.lib.colors import HexColor

    paper.setStrokeColor(HexColor(rule.ink))
    paper.setLineWidth(0.6)
    paper.line(rule.x, rule.down, rule.x + rule.wide, rule.down)
