"""The draft of a mail, read back by the parser of the standard library."""

from __future__ import annotations

import dataclasses
import re
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.problems import Problem
from estimator.job.model import Source
from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob
from estimator.rates.model import Wording
from estimator.report.mail import LONGEST, PDF, SHEETS, draft, is_address, mail_text, subject
from tests.build import DAY, option, square, write_job
from tests.report import sample
from tests.report.paper import said
from tests.report.test_quote import forms, secrets

TEXT = """Good day,
here are the papers. The prices:
Please read them.
Ring us."""
MAIL = (
    ("", TEXT),
    ("budget", "A budget figure is no offer."),
    ("provisional", "Subject to checks."),
)


def with_mail(priced: PricedJob, rows: tuple[tuple[str, str], ...] = MAIL) -> PricedJob:
    made: tuple[Wording, ...] = tuple(sample.wording("mail", when, text) for when, text in rows)
    return dataclasses.replace(priced, book=dataclasses.replace(priced.book, wording=(*priced.book.wording, *made)))


def job(**head: Any) -> PricedJob:
    return with_mail(sample.priced(**{"customer_email": "rowan@ash.example", **head}))


def opened(
    priced: PricedJob, attached: dict[str, tuple[str, bytes]] | None = None
) -> tuple[EmailMessage, list[Problem]]:
    files = attached or {"j-quote.pdf": (PDF, b"%PDF-1"), "j-quote.xlsx": (SHEETS, b"PK\x03\x04")}
    data, problems = draft(priced, files)
    found = message_from_bytes(data, policy=default)
    assert isinstance(found, EmailMessage)
    assert not found.defects
    return found, problems


def body(mail: EmailMessage) -> str:
    part = mail.get_body()
    assert part is not None
    assert part.get_content_type() == "text/plain"
    return str(part.get_content()).replace("\r\n", "\n")


def test_a_draft_with_both_copies_and_no_clock() -> None:
    mail, problems = opened(job())
    assert problems == []
    assert mail["To"] == "rowan@ash.example"
    assert str(mail["From"]) == "Terrace & Yard Canopies <office@terrace.example>"
    assert mail["Subject"] == "Quote: MT-114, revision 2, Millport terrace and yard"
    assert mail["X-Unsent"] == "1"
    assert not [
        name for name in ("Date", "Message-ID", "Sender", "Cc", "Bcc", "X-Mailer", "User-Agent") if name in mail
    ]
    got = {p.get_filename(): (p.get_content_type(), p.get_content()) for p in mail.iter_attachments()}
    assert got == {
        "j-quote.pdf": ("application/pdf", b"%PDF-1"),
        "j-quote.xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", b"PK\x03\x04"),
    }
    assert mail["MIME-Version"] == "1.0"
    data = draft(job(), {})[0]
    assert data == draft(job(), {})[0]
    assert b"\n" not in data.replace(b"\r\n", b"")


def test_the_body_says_what_the_quote_says() -> None:
    assert (
        mail_text(job())
        == """\
Good day,
here are the papers. The prices:

Terrace: $1,932.34 with tax ($1,665.00 before tax)
Back yard: $1,949.59 with tax ($1,680.00 before tax); provisional, subject to an engineer's design and approval of \
fixing P
For the whole job: $120.75 with tax ($105.00 before tax)
Total: $4,002.68 with tax ($3,450.00 before tax)

Reference: MT-114
Revision: 2
Date: 2026-04-03
Price holds until: 2026-05-03

Please read them.
Ring us.
Back yard: Subject to checks.

Terrace & Yard Canopies
12 Harbour Row, Millport
0100 555 010
office@terrace.example
"""
    )
    assert body(opened(job())[0]) == mail_text(job())


def prices(priced: PricedJob) -> str:
    return mail_text(priced).split("\n\n")[1]


def test_a_private_customer_reads_the_price_with_tax_first_whatever_is_asked() -> None:
    assert prices(job(prices_shown="without")) == prices(job())
    business = prices(job(prices_shown="without", customer_is="business"))
    assert "Terrace: $1,665.00 before tax, $1,932.34 with tax" in business
    assert "Total: $3,450.00 before tax, $4,002.68 with tax" in business


def test_budget_figures_are_ranges_and_never_one_figure() -> None:
    for head in ({}, {"prices_shown": "without", "customer_is": "business"}):
        text = prices(job(status="budget", **head))
        shown = re.findall(r"\$[\d,]+\.\d\d", text)
        assert len(shown) == 2 * len(text.splitlines()) == 8
        assert all(x.endswith("0.00") for x in shown), "whole tens: no worked-out figure is among them"
        assert text.count("may come out between") == 4
        assert ("before tax" in text) is bool(head)
        assert "Total, a budget figure: may come out between" in text
    assert opened(job(status="budget"))[0]["Subject"].startswith("Budget figure, not an offer: MT-114")


def test_no_total_while_a_site_is_still_to_be_chosen() -> None:
    priced = job()
    open_ = dataclasses.replace(priced.options[2], chosen=False)
    totals = dataclasses.replace(priced.totals, complete=False, missing=("Back yard",))
    changed = dataclasses.replace(priced, options=(*priced.options[:2], open_), totals=totals)
    assert "No total yet: please choose an option for Back yard." in prices(changed)
    assert "4,002.68" not in prices(changed)


def test_alternatives_are_told_with_the_chosen_one_marked_and_one_without_a_price_is_not() -> None:
    priced = job()
    first = priced.options[0]
    other = dataclasses.replace(first, option=dataclasses.replace(first.option, name="big"), chosen=False)
    text = prices(dataclasses.replace(priced, options=(first, other, priced.options[1]), job_bill=None))
    assert [line.split(":")[0] for line in text.splitlines()] == ["Option 1 (chosen)", "Option big"]


def test_a_book_without_texts_for_mails_still_gives_the_prices() -> None:
    text = mail_text(with_mail(sample.priced(), ()))
    assert text.startswith("Terrace: $1,932.34 with tax")
    assert text.endswith("office@terrace.example\n")


@pytest.mark.parametrize(
    "found",
    ["Rowan <rowan@ash.example>", "rowan@ash", "rowan at ash.example", "a@b.example, c@d.example",
     "a@b.example\nBcc: x@y.example", "rówan@ash.example", "@ash.example", "rowan@.example",
     ".a@ash.example", "a..b@ash.example", "a b@ash.example"],
)  # fmt: skip
def test_an_address_that_is_not_plain_is_told_with_its_cell_and_left_out(found: str) -> None:
    priced = job(customer_email=found, source=Source("t.xlsx", "Job", 2, {"Job name": "B2", "Customer email": "B9"}))
    mail, problems = opened(priced)
    assert not is_address(found)
    assert "To" not in mail
    assert "Bcc" not in mail
    assert [(p.code, p.level, str(p.place)) for p in problems] == [("mail-address", "warning", "Job!B9")]


def test_without_an_address_there_is_no_to_and_nothing_to_say() -> None:
    mail, problems = opened(job(customer_email=""))
    assert "To" not in mail
    assert problems == []


def test_the_office_address_is_checked_too() -> None:
    priced = job()
    book = dataclasses.replace(priced.book, business={**priced.book.business, "email": "office"})
    mail, problems = opened(dataclasses.replace(priced, book=book))
    assert "From" not in mail
    assert [(p.code, p.place.sheet) for p in problems] == [("mail-address", "business")]


@pytest.mark.parametrize(
    "text", ["rowan@ash.example", "r.o_w-a+n@sub.ash-tree.example", "0@1.co", "o'neil@ash.example"]
)
def test_plain_addresses(text: str) -> None:
    assert is_address(text)


def test_a_line_end_in_a_name_begins_no_header() -> None:
    for end in ("\r\n", "\n", "\r", "\x0b", "\x0c", "\x1e", "\x85", "\u2028", "\u2029", "\r\n\r\n"):
        evil = f"{end}Bcc: x@y.example"
        priced = job(name=f"Yard{evil}", reference=f"R{evil}", customer=f"C{evil}")
        book = dataclasses.replace(priced.book, business={**priced.book.business, "trading name": f"T{evil}"})
        mail, _ = opened(dataclasses.replace(priced, book=book))
        assert set(mail.keys()) == {"Content-Type", "MIME-Version", "From", "To", "Subject", "X-Unsent"}
        assert mail["To"] == "rowan@ash.example"
        assert len(list(mail.iter_attachments())) == 2
        assert "\n" not in mail["Subject"]


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=260), st.text(max_size=60), st.text(st.characters(exclude_categories=("C", "Z")), max_size=80))
def test_any_name_comes_back_as_it_was_written(name: str, trading: str, file: str) -> None:
    priced = job(name=name)
    book = dataclasses.replace(priced.book, business={**priced.book.business, "trading name": trading})
    priced = dataclasses.replace(priced, book=book)
    files = {f"{file}.pdf": (PDF, b"%PDF-1")}
    mail, problems = opened(priced, files)
    assert problems == []
    assert mail["Subject"] == subject(priced)
    assert len(subject(priced)) <= LONGEST
    assert mail["From"].addresses[0].addr_spec == "office@terrace.example"
    assert set(mail.keys()) <= {"Content-Type", "MIME-Version", "From", "To", "Subject", "X-Unsent"}
    assert body(mail) == mail_text(priced)
    assert [p.get_filename() for p in mail.iter_attachments()] == [f"{file}.pdf"]
    head = draft(priced, files)[0].split(b"\r\n\r\n")[0]
    assert max(map(len, head.split(b"\r\n"))) <= 78


def test_other_content_has_another_boundary_which_stands_in_no_part() -> None:
    one, other = (draft(job(), {"a.pdf": (PDF, content)})[0] for content in (b"1", b"2"))
    edges = [re.findall(rb'boundary="([^"]+)"', data) for data in (one, other)]
    assert edges[0] != edges[1]
    assert one.count(edges[0][0]) == 4


def test_nothing_of_the_office_is_in_any_part(tmp_path: Path) -> None:
    from estimator.report.quote import parts_of, render_parts
    from estimator.report.quote_pdf import pdf_of

    for head in ({}, {"status": "budget"}, {"customer_is": "business", "prices_shown": "without"}):
        priced = job(**head)
        parts = parts_of(priced, drawings=False)
        files = {"q.pdf": (PDF, pdf_of(priced, parts)[0]), "q.xlsx": (SHEETS, render_parts(priced, parts))}
        mail, _ = opened(priced, files)
        text = "\n".join([*(f"{k}: {v}" for k, v in mail.items()), body(mail)])
        text += said(next(iter(mail.iter_attachments())).get_content())
        for figure in secrets(priced):
            for form in forms(figure):
                assert not re.search(rf"(?<![\d.,]){re.escape(form)}(?![\d])", text), (figure, form)
        assert not re.search(r"\b(cost|rate|hours?|supplier|margin)\b", text, re.IGNORECASE)
        for secret in ("TRI5", "SHS100", "KN320", "slow to pay", "internal", "price list", "gate code", str(tmp_path)):
            assert secret.casefold() not in text.casefold(), secret


def test_what_is_attached_is_what_lies_beside_it(tmp_path: Path) -> None:
    path = write_job(
        tmp_path / "Hof Größe.xlsx",
        job={"Customer email": "rowan@ash.example", "Status": "firm"},
        fixings=square(6),
        options=[option("A B C D", "SQ-5000")],
    )
    done = price_file(path, today=DAY, mail=True, drawings=False)
    assert [p.suffix for p in done.written] == [".xlsx", ".xlsx", ".xlsx", ".pdf", ".eml"]
    data = (tmp_path / "Hof Größe-quote.eml").read_bytes()
    mail = message_from_bytes(data, policy=default)
    assert isinstance(mail, EmailMessage)
    got = {p.get_filename(): p.get_content() for p in mail.iter_attachments()}
    assert set(got) == {"Hof Größe-quote.pdf", "Hof Größe-quote.xlsx"}
    assert all((tmp_path / name).read_bytes() == content for name, content in got.items())
    assert "price is firm" not in body(mail)
    assert "A firm price holds until the date shown." in body(mail)
    again = price_file(path, today=DAY, mail=True, drawings=False)
    assert again.written == done.written
    assert (tmp_path / "Hof Größe-quote.eml").read_bytes() == data
