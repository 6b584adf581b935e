"""The customer's copy of random jobs holds none of the office's figures or words."""

from __future__ import annotations

import re
import zipfile
from decimal import Decimal
from email import message_from_bytes
from email.policy import default
from pathlib import Path

import pytest

from estimator.jobfile import price_file
from estimator.pricing.digging import digging_of
from estimator.pricing.model import Bill, PricedJob
from estimator.pricing.payment import payment_of
from tests.build import DAY
from tests.random_jobs import random_job
from tests.report.paper import said

NUMBER = re.compile(r"\d[\d,]*\.?\d*")
SMALL = Decimal(20)  # smaller figures stand in dates, sizes and counts


def _figures(text: str) -> set[Decimal]:
    return {Decimal(n.replace(",", "")) for n in NUMBER.findall(text) if n.strip(",.")}


def _office(bill: Bill) -> set[Decimal]:
    found = {bill.totals.cost}
    for line in bill.lines:
        found |= {line.cost, line.rate}
    for charge in bill.charges:
        found |= {abs(charge.amount), charge.base}
    return found


def _everything(path: Path) -> tuple[list[str], str]:
    """The parts of a file, and all that stands in them: markup of a workbook; text and head of a PDF; headers, body
    and PDF of a mail, whose workbook is the one beside it."""
    if path.suffix == ".pdf":
        return [], said(path.read_bytes())
    if path.suffix == ".eml":
        mail = message_from_bytes(path.read_bytes(), policy=default)
        parts = [p for p in mail.walk() if not p.is_multipart()]
        pdf = next(p for p in parts if p.get_content_type() == "application/pdf")
        text = "\n".join(str(p.get_content()) for p in parts if p.get_content_maintype() == "text")
        return [], "\n".join([*(f"{k}: {v}" for k, v in mail.items()), text, said(pdf.get_content())])
    with zipfile.ZipFile(path) as z:
        names = z.namelist()
        return names, "\n".join(z.read(n).decode("utf-8", "replace") for n in names if n.endswith((".xml", ".rels")))


def _secrets(priced: PricedJob, hours: bool) -> set[Decimal]:
    """Costs, rates, charges and hours that are not, by chance, also a price that is printed."""
    bills = [o.bill for o in priced.options if o.bill] + ([priced.job_bill] if priced.job_bill else [])
    found: set[Decimal] = set().union(*(_office(b) for b in bills))
    if hours:
        found |= {Decimal(f"{h.hours:.2f}") for o in priced.options for h in o.taken.hours}
    told = {v for b in bills for v in (b.totals.price, b.totals.price_before_tax, b.totals.tax)}
    told |= {priced.totals.price, priced.totals.price_before_tax, priced.totals.tax}
    told |= {price for o in priced.options for _, price in o.apart}
    told |= {part.amount for part in payment_of(priced).parts if part.amount is not None}
    told |= {
        price
        for o in priced.options
        if (digging := digging_of(priced.book, priced.job.header, o)) and digging.hour
        for price in (digging.hour.price, digging.hour.price_before_tax)
    }
    return {f for f in found if f >= SMALL and f % 1} - told


def _leaks(tmp_path: Path, seeds: range, drawings: bool) -> None:
    copies = 0
    for seed in seeds:
        done = price_file(random_job(tmp_path / f"{seed}.xlsx", seed), today=DAY, drawings=drawings, mail=True)
        assert done.outcome is not None
        priced = done.outcome.priced
        assert priced is not None
        for path in done.written:
            if "quote" not in path.name and "crew" not in path.name:
                continue
            copies += 1
            names, text = _everything(path)
            shown = re.sub(r"<[^>]+>", " ", re.sub(r"(<f>|<f .*?>).*?</f>", " FORMULA ", text))
            crew = "crew" in path.name
            secrets = _secrets(priced, hours=not crew)
            if crew:  # full of sizes: only a figure to the cent cannot be one by chance
                secrets = {f for f in secrets if f * 10 % 1 and f > 50}
            assert _figures(shown) & secrets == set(), (seed, path.name)
            assert "FORMULA" not in shown, (seed, path.name)
            for word in ("definedName", "externalLink", 'state="hidden"', "hidden=", "comments", str(tmp_path)):
                assert word not in text, (seed, path.name, word)
            lines = [line for o in priced.options if o.bill for line in o.bill.lines]
            codes = {line.code.casefold() for line in lines if "-" in line.code and line.code[-1].isdigit()}
            told = {c for c in codes if re.search(rf"(?<![\w-]){re.escape(c)}(?![\w-])", shown.casefold())}
            assert crew or told == set(), seed  # the crew loads by code, the customer sees none
            if crew:
                assert not re.search(r"\b(cost|price|margin|markup|rate)\b", shown, re.IGNORECASE), seed
            assert "docProps/custom.xml" not in names
    assert copies >= len(seeds)


def test_nothing_leaks_from_a_few(tmp_path: Path) -> None:
    _leaks(tmp_path, range(2000, 2004), drawings=True)


@pytest.mark.long
@pytest.mark.parametrize("first", range(0, 120, 40))
def test_nothing_leaks_from_120(tmp_path: Path, first: int) -> None:
    _leaks(tmp_path, range(first, first + 40), drawings=False)
