"""The customer's copy: what it must show, and that nothing of the office's is in any byte of it."""

from __future__ import annotations

import dataclasses
import re
import zipfile
from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.core.money import cents
from estimator.pricing.model import PricedJob
from estimator.report.quote import render_quote
from estimator.report.quote_text import conditions, texts
from estimator.takeoff.conditions import holds
from tests.report import sample


def opened(priced: PricedJob) -> Any:
    return load_workbook(BytesIO(render_quote(priced)))


def words(priced: PricedJob) -> list[str]:
    return [str(c.value) for s in opened(priced).worksheets for r in s.iter_rows() for c in r if c.value is not None]


def everything(data: bytes) -> str:
    with zipfile.ZipFile(BytesIO(data)) as parts:
        return "\n".join(parts.read(n).decode("utf-8", "replace") for n in parts.namelist())


def printed(priced: PricedJob) -> set[Decimal]:
    """Figures that the customer may read."""
    bills = [o.bill for o in priced.options if o.bill] + ([priced.job_bill] if priced.job_bill else [])
    found = {priced.totals.price, priced.totals.price_before_tax, priced.totals.tax}
    found |= {cents(priced.totals.price * Decimal("0.3"))}
    for bill in bills:
        found |= {bill.totals.price, bill.totals.price_before_tax, bill.totals.tax}
    return found | {p for o in priced.options for _, p in o.apart}


def secrets(priced: PricedJob) -> set[Decimal]:
    """Every cost, rate, charge, margin and hour of the job."""
    found: set[Decimal] = {priced.totals.cost}
    lines = [a.line for o in priced.options for a, _ in o.apart]
    for bill in [o.bill for o in priced.options if o.bill] + ([priced.job_bill] if priced.job_bill else []):
        lines += bill.lines
        found |= {bill.totals.cost}
        found |= {round(x, 4) for x in (bill.totals.margin, bill.totals.markup) if x is not None}
        found |= {abs(c.amount) for c in bill.charges} | {c.base for c in bill.charges}
        found |= {abs(c.rate) for c in bill.charges if c.rate is not None}
    found |= {x.cost for x in lines} | {x.rate for x in lines}
    found |= {Decimal(str(h.hours)) for o in priced.options for h in o.taken.hours}
    return {f for f in found if f not in printed(priced) and f != 0}


def forms(figure: Decimal) -> set[str]:
    """How a figure could be written: plain, to the cent, with a thousands mark, as a per cent."""
    plain = f"{figure:f}".rstrip("0").rstrip(".") if "." in f"{figure:f}" else f"{figure:f}"
    found = {f"{figure:.2f}", f"{figure:,.2f}", f"{figure:.2f}".replace(".", ","), plain}
    if figure < 1:
        found |= {f"{figure * 100:.1f}%", f"{figure * 100:.2f}%", f"{figure * 100:.1f} %"}
    return {f for f in found if "." in f or "," in f}  # a bare whole number is everywhere


@pytest.mark.parametrize("head", [{}, {"status": "budget"}, {"customer_is": "business", "prices_shown": "without"}])
def test_no_byte_gives_the_office_away(head: dict[str, str]) -> None:
    priced = sample.priced(**head)
    text = everything(render_quote(priced))
    figures = secrets(priced)
    assert len(figures) > 30
    for figure in figures:
        for form in forms(figure):
            assert not re.search(rf"(?<![\d.,]){re.escape(form)}(?![\d])", text), (figure, form)
    said = re.sub(r"<[^>]*>", " ", text)
    for secret in (
        "TRI5",
        "SHS100",
        "KN320",
        "TB8",
        "slow to pay",
        "internal",
        "price list",
        "gate code",
        "margin",
        "overhead",
    ):
        assert secret.casefold() not in said.casefold(), secret
    assert not re.search(r"\b(cost|rate|hours?|supplier)\b", said.replace("rates", ""), re.IGNORECASE)


def test_the_scan_finds_a_leak() -> None:
    """The test above can fail: a cost in the customer's words is found."""
    priced = sample.priced(name="Terrace at $1,246.79")
    assert Decimal("1246.79") in secrets(priced)
    assert "1,246.79" in everything(render_quote(priced))
    assert "1,246.79" in forms(Decimal("1246.79"))


def test_values_only_and_nothing_hidden() -> None:
    data = render_quote(sample.priced())
    with zipfile.ZipFile(BytesIO(data)) as parts:
        names = parts.namelist()
        text = everything(data)
    assert "<f>" not in text
    assert "definedName" not in text
    assert "<hyperlink " not in text
    assert not [n for n in names if "comment" in n or "external" in n or "vba" in n or "custom" in n]
    assert 'state="hidden"' not in text
    assert "<dc:creator></dc:creator>" in text
    assert text.count("2026-04-03T00:00:00Z") == 2
    assert data == render_quote(sample.priced())


def test_first_sheet_is_one_portrait_page() -> None:
    sheet = opened(sample.priced()).worksheets[0]
    assert sheet.title == "Quote"
    assert sheet.page_setup.orientation == "portrait"
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth or 1, sheet.page_setup.fitToHeight or 1) == (1, 1)
    high = sum(sheet.row_dimensions[r].height or 15 for r in range(1, sheet.max_row + 1))
    assert high < 750 * 1.25, "a fuller page would be printed too small to read"


def test_shows_prices_terms_and_who_signs() -> None:
    priced = sample.priced()
    said = words(priced)
    assert priced.job_bill is not None
    figures = [priced.totals.price, priced.totals.price_before_tax, priced.totals.tax, priced.job_bill.totals.price]
    figures += [x for o in priced.options if o.bill for x in (o.bill.totals.price, *(p for _, p in o.apart))]
    for figure in figures:
        assert f"{float(figure):.15g}" in said, figure
    joined = "\n".join(said)
    for part in (
        "Terrace & Yard Canopies", "Rowan & Ash Households", "MT-114", "2026-05-03", "Deposit 30 %: $1,200.80.",
        "triangle, 5.00 × 5.00 × 5.00 m", "knitted shade cloth", "Lift out two paving slabs", "Permit for the lane",
        "Light string along the edge", "Not included", "By others: Moving the washing line.", "Acceptance", "Signature",
        "Concrete rests 7 days before the sail is hung.", "Sizes as told to us, not measured, at B.",
        "subject to an engineer's design and approval of fixing P", "Registered trader 000 111",
        "Back yard: Keep climbable edges away from the pool fence.",
    ):  # fmt: skip
        assert part in joined, part


def test_an_option_without_a_price_does_not_appear() -> None:
    priced = sample.priced()
    assert not any("option 2" in w.casefold() for w in words(priced))
    nothing = dataclasses.replace(priced, options=(priced.options[1],), job_bill=None)
    assert not any("Terrace:" in w for w in words(nothing))


def test_no_total_while_a_chosen_site_is_missing() -> None:
    priced = sample.priced()
    open_ = dataclasses.replace(priced.options[2], chosen=False)
    totals = dataclasses.replace(priced.totals, complete=False, missing=("Back yard",))
    changed = dataclasses.replace(priced, options=(*priced.options[:2], open_), totals=totals)
    said = words(changed)
    assert "No total yet: please choose an option for Back yard." in said
    assert str(float(totals.price)) not in said
    assert not any("Deposit 30 %:" in w for w in said)


def first_row(priced: PricedJob, name: str) -> int:
    sheet = opened(priced).worksheets[0]
    rows = [c.row for r in sheet.iter_rows() for c in r if c.value == name]
    return min(rows) if rows else 0


def test_tax_in_the_leading_price() -> None:
    private = sample.priced(prices_shown="without")
    assert 0 < first_row(private, "Price with tax") < first_row(private, "Price before tax")
    business = sample.priced(prices_shown="without", customer_is="business")
    assert 0 < first_row(business, "Price before tax") < first_row(business, "Price with tax")
    sheet = opened(private).worksheets[0]
    size = {str(c.value): (c.font.size, c.font.bold) for r in sheet.iter_rows() for c in r if c.value is not None}
    assert size["Price with tax"] > size["Price before tax"]


def test_a_budget_figure_says_so_in_its_title() -> None:
    assert any(w.startswith("Budget figure, not an offer") for w in words(sample.priced(status="budget")))
    assert any(w.startswith("Quote:") for w in words(sample.priced()))


def test_alternatives_stand_beside_each_other() -> None:
    priced = sample.priced()
    first = priced.options[0]
    other = dataclasses.replace(
        first, option=dataclasses.replace(first.option, name="2"), chosen=False, bill=sample.price(sample.lines("40"))
    )
    changed = dataclasses.replace(priced, options=(first, other), job_bill=None)
    sheet = opened(changed).worksheets[0]
    heads = {c.value: c for r in sheet.iter_rows() for c in r if str(c.value).startswith("Option")}
    assert heads["Option 1 (chosen)"].row == heads["Option 2"].row
    assert heads["Option 1 (chosen)"].column + 1 == heads["Option 2"].column


def test_conditions_of_the_wording() -> None:
    priced = sample.priced()
    terrace, _, yard = (conditions(priced, o) for o in priced.options)
    assert {"posts", "firm", "permeable", "steel", "house anchor"} <= terrace
    assert {"provisional", "engineer", "pool"} <= yard
    assert not terrace & {
        "no posts",
        "pool",
        "provisional",
        "engineer",
        "rock",
        "timber",
        "waterproof",
        "made to fit",
        "budget",
    }
    assert holds("posts; steel", terrace)
    assert not holds("posts, timber", terrace)


def test_one_language_only() -> None:
    priced = sample.priced()
    foreign = dataclasses.replace(sample.wording("care", "", "Mit Wasser waschen."), language="de")
    book = dataclasses.replace(priced.book, wording=(*priced.book.wording, foreign))
    assert "Mit Wasser waschen." not in texts(dataclasses.replace(priced, book=book), "care")
    german = dataclasses.replace(priced.book, wording=(foreign, *priced.book.wording))
    assert texts(dataclasses.replace(priced, book=german), "care") == ["Mit Wasser waschen."]


def test_many_sites_keep_the_first_page_readable() -> None:
    priced = sample.priced()
    first = priced.options[0]
    many = tuple(
        dataclasses.replace(first, site=dataclasses.replace(first.site, name=f"Yard {n}"), apart=()) for n in range(60)
    )
    book = opened(dataclasses.replace(priced, options=many))
    sheet = book.worksheets[0]
    high = sum(sheet.row_dimensions[r].height or 15 for r in range(1, sheet.max_row + 1))
    assert high < 750 * 1.25
    assert book.sheetnames == ["Quote", "Details"]
    details = " ".join(str(c.value) for r in book["Details"].iter_rows() for c in r if c.value is not None)
    assert "Yard 59" in details
