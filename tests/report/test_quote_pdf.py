"""The quote as a PDF, read back by another reader: same words and figures as the workbook, legible, nothing hidden."""

from __future__ import annotations

import dataclasses
import hashlib
import os
import re
import subprocess
import sys
from decimal import Decimal
from io import BytesIO

import pytest
from openpyxl import load_workbook

from estimator.pricing.model import PricedJob
from estimator.report.pdf_lines import Laid, Line, cut, text_wide, wrapped
from estimator.report.quote import parts_of, render_parts
from estimator.report.quote_pdf import SIDE, _pages, pdf_of, render_pdf
from estimator.report.terms import terms_of
from tests.report import sample
from tests.report.paper import Piece, dense, pages, pieces, reader, said
from tests.report.test_quote import forms, secrets

HEADS: dict[str, dict[str, object]] = {
    "firm": {},
    "budget": {"status": "budget"},
    "before tax": {"customer_is": "business", "prices_shown": "without", "currency": "EUR"},
    "Letter": {"paper": "Letter", "currency": "€"},
    "feet": {"units": "feet and inches"},
}
MONEY = re.compile(r"-?(?:\$|€|EUR )[\d,]+\.\d\d")


def three_options() -> PricedJob:
    priced = sample.priced()
    first = priced.options[0]
    options = tuple(
        dataclasses.replace(
            first,
            option=dataclasses.replace(first.option, name=str(n)),
            chosen=n == 2,
            bill=sample.price(sample.lines(str(40 * n))),
        )
        for n in (1, 2, 3)
    )
    return dataclasses.replace(priced, options=options, job_bill=None)


def many_sites(count: int = 60) -> PricedJob:
    priced = sample.priced()
    first = priced.options[0]
    named = (dataclasses.replace(first.site, name=f"Yard {n}") for n in range(count))
    return dataclasses.replace(priced, options=tuple(dataclasses.replace(first, site=s, apart=()) for s in named))


JOBS = {name: sample.priced(**head) for name, head in HEADS.items()} | {
    "three": three_options(),
    "many": many_sites(),
}


def money(amount: Decimal, currency: str) -> str:
    """Money as a person writes it, worked out apart from the program."""
    return f"{currency}{' ' if len(currency) == 3 else ''}{amount:,.2f}"


@pytest.mark.parametrize("name", JOBS)
def test_every_cell_of_the_workbook_stands_in_the_pdf_and_no_other_figure(name: str) -> None:
    priced = JOBS[name]
    currency = terms_of(priced).currency
    parts = parts_of(priced, drawings=False)
    book = load_workbook(BytesIO(render_parts(priced, parts)))
    text = "\n".join(pages(pdf_of(priced, parts)[0]))
    printed, told = dense(text), set()
    values = [c.value for sheet in book.worksheets for row in sheet.iter_rows() for c in row if c.value is not None]
    values = [v for v in values if not str(v).startswith("On the sheet Details: ")]
    assert len(values) > 60
    for value in values:
        if isinstance(value, int | float):
            shown = money(Decimal(str(value)).quantize(Decimal("0.01")), currency)
            told.add(shown)
        else:
            shown = str(value)
            told |= set(MONEY.findall(shown))
        assert dense(shown) in printed, shown
    assert set(MONEY.findall(text)) == told


def column(text: str, name: str) -> list[Decimal]:
    """Every figure that stands behind a name, which may be broken over lines."""
    flat = " ".join(text.split())
    found = re.findall(rf"\b{name}(?: \([^)]*\))?((?: ?(?:\$|EUR )[\d,]+\.\d\d)+)", flat)
    return [Decimal(n.replace(",", "")) for run in found for n in re.findall(r"[\d,]+\.\d\d", run)]


@pytest.mark.parametrize("name", ["firm", "before tax", "three", "many", "budget"])
def test_what_is_printed_adds_up(name: str) -> None:
    text = "\n".join(pages(render_pdf(JOBS[name], drawings=False)))
    whole, before, tax = (column(text, n) for n in ("Price with tax", "Price before tax", "Tax"))
    assert len(whole) == len(before) == len(tax) >= 3
    for with_tax, without, taxed in zip(whole, before, tax, strict=True):
        assert without + taxed == with_tax


def test_the_printed_prices_of_what_is_chosen_sum_to_the_printed_total() -> None:
    page = pages(render_pdf(sample.priced(), drawings=False))[0]
    short = page.split("Prices with tax")[1].split("\nTotal")
    each = [Decimal(n.replace(",", "")) for n in re.findall(r"\$([\d,]+\.\d\d)", short[0])]
    assert len(each) == 3
    assert sum(each) == column(short[1], "Price with tax")[0] == Decimal("4002.68")


@pytest.mark.parametrize("head", HEADS.values(), ids=HEADS)
def test_nothing_of_the_office_is_in_it(head: dict[str, object]) -> None:
    priced = sample.priced(**head)
    data = render_pdf(priced)
    text = said(data)
    figures = secrets(priced)
    assert len(figures) > 30
    for figure in figures:
        for form in forms(figure):
            assert not re.search(rf"(?<![\d.,]){re.escape(form)}(?![\d])", text), (figure, form)
    for secret in ("TRI5", "SHS100", "KN320", "TB8", "slow to pay", "internal", "price list", "gate code", "overhead"):
        assert secret.casefold() not in text.casefold(), secret
    assert not re.search(r"\b(cost|rate|hours?|supplier|margin)\b", text, re.IGNORECASE)


def test_the_scan_of_a_pdf_finds_a_leak() -> None:
    """The test above can fail: a cost in the customer's words, and in the title, is found."""
    data = render_pdf(sample.priced(name="Terrace at $1,246.79"), drawings=False)
    assert Decimal("1246.79") in secrets(sample.priced())
    assert "1,246.79" in "".join(pages(data))
    assert "1,246.79" in str(reader(data).metadata)


def test_title_language_and_the_day_of_the_job_but_no_author_and_no_clock() -> None:
    found = reader(render_pdf(sample.priced(name="Größe & Söhne")))
    head = found.metadata
    assert head is not None
    assert head.title == "Quote: Größe & Söhne"
    assert not head.author
    assert not head.creator
    assert not head.subject
    assert str(head["/CreationDate"]) == str(head["/ModDate"]) == "D:20260403000000Z"
    assert found.root_object["/Lang"] == "en"
    assert not set(found.root_object) & {"/OpenAction", "/Names", "/AcroForm", "/AA", "/Metadata"}
    assert not any("/Annots" in page for page in found.pages)


def test_the_same_job_gives_the_same_bytes_whatever_was_written_before() -> None:
    first = render_pdf(sample.priced())
    render_pdf(three_options())
    assert render_pdf(sample.priced()) == first
    said_elsewhere = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys, hashlib; from tests.report import sample; from estimator.report.quote_pdf import render_pdf; "
            "print(hashlib.sha256(render_pdf(sample.priced())).hexdigest())",
        ],
        env={**os.environ, "PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert said_elsewhere.stdout.strip() == hashlib.sha256(first).hexdigest()


@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612.0, 792.0))])
def test_portrait_pages_of_the_paper_asked_for(paper: str, size: tuple[float, float]) -> None:
    for page in reader(render_pdf(sample.priced(paper=paper))).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size)
        assert not page.get("/Rotate")


def test_one_page_where_it_fits_and_the_plans_behind_it() -> None:
    small = three_options()
    small = dataclasses.replace(small, options=small.options[:1], book=dataclasses.replace(small.book, wording=()))
    assert len(pages(render_pdf(small, drawings=False))) == 1
    drawn = reader(render_pdf(small))
    assert len(drawn.pages) == 2
    assert not list(drawn.pages[0].images)
    assert len(list(drawn.pages[1].images)) == 1
    assert "On the pages that follow: plans." in drawn.pages[0].extract_text()
    assert "Acceptance" in drawn.pages[0].extract_text()
    assert "Page 2 of 2" in drawn.pages[1].extract_text()


@pytest.mark.parametrize("name", JOBS)
def test_all_is_large_enough_inside_the_margins_and_lies_apart(name: str) -> None:
    data = render_pdf(JOBS[name], drawings=False)
    found = pieces(data)
    wide = float(reader(data).pages[0].mediabox.width)
    assert min(p.size for p in found) >= 9
    boxes: dict[int, list[tuple[Piece, float]]] = {}
    for p in found:
        right = p.x + text_wide(p.text.rstrip(), p.size, p.bold)
        assert p.x >= SIDE - 0.1, p
        assert right <= wide - SIDE + 0.5, p
        assert p.y > 20, p
        boxes.setdefault(p.page, []).append((p, right))
    for mine in boxes.values():
        for n, (p, right) in enumerate(mine):
            for q, other in mine[n + 1 :]:
                beside = right <= q.x + 0.5 or other <= p.x + 0.5
                # the small letters of the upper line end above the tall ones of the lower
                apart = abs(p.y - q.y) >= 0.95 * (q.size if p.y > q.y else p.size)
                assert beside or apart, (p, q)


def test_the_price_that_leads_is_the_largest_figure() -> None:
    for priced, lead in ((JOBS["firm"], "4,002.68"), (JOBS["before tax"], "3,450.00"), (JOBS["three"], "2,035.83")):
        sizes = {p.text.strip(): p.size for p in pieces(render_pdf(priced, drawings=False))}
        at = next(size for text, size in sizes.items() if text.endswith(lead))
        assert at == max(sizes.values()) >= 14
        assert sum(size == at for size in sizes.values()) <= 3


def test_type_is_embedded_in_part_and_can_be_searched() -> None:
    fonts = {}
    for page in reader(render_pdf(sample.priced())).pages:
        for font in page["/Resources"]["/Font"].values():  # type: ignore[index]
            one = font.get_object()
            fonts[str(one["/BaseFont"])] = one
    assert {re.sub(r"^/[A-Z]{6}\+", "", n) for n in fonts} == {"DejaVuSans", "DejaVuSans-Bold"}
    for one in fonts.values():
        assert "/ToUnicode" in one
        assert "/FontFile2" in one["/FontDescriptor"].get_object()


def test_signs_of_money_and_accents_are_in_the_typeface_and_other_letters_are_named() -> None:
    for currency in ("€", "£", "¥", "zł", "Kč", "₹", "₺", "R$", "kr"):
        priced = sample.priced(currency=currency, customer="Łódź, Åse Çağlar, São Paulo, Ωmega, Жук")
        data, lacking = pdf_of(priced, parts_of(priced, drawings=False))
        assert lacking == ""
        text = "".join(pages(data))
        assert f"{currency}4,002.68" in text
        assert "Łódź, Åse Çağlar, São Paulo, Ωmega, Жук" in " ".join(text.split())
    priced = sample.priced(customer="日本 Ltd")
    assert pdf_of(priced, parts_of(priced, drawings=False))[1] == "日本"


def test_text_longer_than_a_page_goes_on_and_loses_no_word() -> None:
    priced = three_options()
    words = " ".join(f"w{n}" for n in range(3000))
    site = dataclasses.replace(priced.options[0].site, for_customer=words + " " + "x" * 400)
    priced = dataclasses.replace(priced, options=tuple(dataclasses.replace(o, site=site) for o in priced.options))
    data = render_pdf(priced, drawings=False)
    assert [int(n) for n in re.findall(r"\bw(\d+)\b", " ".join(pages(data)))] == list(range(3000))
    assert "x" * 400 in dense("".join(pages(data)))
    assert all(p.y > 20 for p in pieces(data))


def test_markup_and_odd_letters_are_plain_text() -> None:
    name = "<b>5 & 6</b> (a\\b) %s \x07{x}\t&amp;"
    text = " ".join("".join(pages(render_pdf(sample.priced(name=name), drawings=False))).split())
    assert "<b>5 & 6</b> (a\\b) %s {x} &amp;" in text


def test_no_heading_is_left_alone_at_the_foot() -> None:
    row, head = Laid(30.0, (Line(0, 9, "text", 9, False, "#000000"),)), Laid(20.0, keeps=True)
    found = _pages([[row, row, row, head, row]], 115.0)
    assert [len(p) for p in found] == [3, 1]
    assert head not in found[1], "free space at the head of a page is dropped"
    titled = dataclasses.replace(head, lines=row.lines)
    assert [len(p) for p in _pages([[row, row, row, titled, row]], 115.0)] == [3, 2]
    assert [len(p) for p in _pages([[row, row], [row, row]], 115.0)] == [2, 2], "a block stays together"


def test_lines_are_broken_between_words_and_lists_stand_in() -> None:
    lines = wrapped("– one two three\nfour", text_wide("– one two", 9, False) + 1, 9, False)
    assert [text for text, _ in lines] == ["– one two", "three", "four"]
    assert [aside > 0 for _, aside in lines] == [False, True, False]


def test_a_row_higher_than_a_page_is_cut_between_lines() -> None:
    lines = tuple(Line(0, 10.0 * (n + 1), f"{n}", 9, False, "#000000") for n in range(25))
    found = cut(Laid(255.0, lines), 100.0)
    assert [m.text for piece in found for m in piece.lines] == [str(n) for n in range(25)]
    assert max(piece.high for piece in found) <= 100.0
