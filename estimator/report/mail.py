"""A mail with the quote, as a draft that any mail program opens (.eml). Nothing is sent.

Labels are written here, sentences come from the place `mail` of the table `wording`; the prices stand after the first
line there that ends in a colon. The same job gives the same bytes: no date, no number of the message.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from email.charset import QP, Charset
from email.header import Header
from email.mime.application import MIMEApplication
from email.mime.multipart import MIMEMultipart
from email.mime.text import MIMEText
from email.policy import compat32
from email.utils import formataddr
from hashlib import sha256
from typing import Any

from estimator.core.problems import Place, Problem, problem
from estimator.pricing.model import JobTotals, PricedJob, Totals
from estimator.pricing.told import told, told_job, told_whole
from estimator.report.look import clean
from estimator.report.quote import title
from estimator.report.quote_offer import BUDGET, budget_words, total_rows, without_tax
from estimator.report.quote_text import label, of_site, offered, subject_to, texts
from estimator.report.terms import terms_of
from estimator.report.words import money_words

PDF = "pdf"
SHEETS = "vnd.openxmlformats-officedocument.spreadsheetml.sheet"
LINE = 75  # letters: the longest encoded word a header may hold
LONGEST = 200  # letters of a subject
# a local part and a host name of plain letters, as every mail program takes them
_ADDRESS = re.compile(
    r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*@([A-Za-z0-9-]+\.)+[A-Za-z]{2,}"
)


def draft(priced: PricedJob, attached: Mapping[str, tuple[str, bytes]]) -> tuple[bytes, list[Problem]]:
    """The draft as bytes. attached: file name to kind of application (PDF, SHEETS) and content."""
    header, business = priced.job.header, priced.book.business
    body = mail_text(priced)
    print_ = sha256(body.encode() + b"".join(content for _, content in attached.values())).hexdigest()
    mail = MIMEMultipart("mixed", boundary=f"estimator-{print_[:32]}")
    found: list[Problem] = []
    office, name = business.get("email", "").strip(), _one_line(business.get("trading name", ""))
    if is_address(office):
        mail["From"] = _named(name, office)
    elif office:
        at = priced.book.business_at.get("email", Place(sheet="business"))
        found.append(problem("mail-address", at, found=office, field="From"))
    customer = header.customer_email.strip()
    if is_address(customer):
        mail["To"] = customer
    elif customer:
        found.append(problem("mail-address", header.source.place("Customer email"), found=customer, field="To"))
    mail["Subject"] = _encoded("Subject", subject(priced))
    mail["X-Unsent"] = "1"  # opened as a draft, not as a mail that came in
    mail.attach(_text(body))
    for file, (kind, content) in attached.items():
        part = MIMEApplication(content, kind)
        part.add_header("Content-Disposition", "attachment", filename=file if file.isascii() else ("utf-8", "", file))
        del part["MIME-Version"]  # said once, at the head
        mail.attach(part)
    return mail.as_bytes(policy=compat32.clone(linesep="\r\n", max_line_length=LINE)), found


def is_address(text: str) -> bool:
    """Whether a text is one plain address.

    >>> is_address("rowan@ash.example"), is_address("Rowan <rowan@ash.example>"), is_address("rowan@ash")
    (True, False, False)
    """
    return len(text) <= 254 and _ADDRESS.fullmatch(text) is not None


def subject(priced: PricedJob) -> str:
    """What the draft is about, in one line."""
    header = priced.job.header
    revision = f"revision {header.revision}" if header.revision > 1 else ""
    found = _one_line(f"{title(priced)}: {', '.join(x for x in (header.reference, revision, header.name) if x)}")
    return found if len(found) <= LONGEST else found[: LONGEST - 1].rstrip() + "…"


def mail_text(priced: PricedJob) -> str:
    """The body: texts, prices, until when they hold, texts, who writes."""
    header, terms, business = priced.job.header, terms_of(priced), priced.book.business
    said = texts(priced, "mail")
    before = next((n for n, line in enumerate(said, 1) if line.endswith(":")), len(said))
    facts = [("Reference", header.reference), ("Revision", str(header.revision) if header.revision > 1 else "")]
    facts += [("Date", header.priced_on.isoformat()), ("Price holds until", str(terms.until or ""))]
    blocks = [
        said[:before],
        _prices(priced),
        [f"{name}: {value}" for name, value in facts if value],
        said[before:],
        [business.get(k, "") for k in ("trading name", "address", "phone", "email")],
    ]
    shown = ([_one_line(line) for line in block if line.strip()] for block in blocks)
    return "\n\n".join("\n".join(lines) for lines in shown if lines) + "\n"


def _prices(priced: PricedJob) -> list[str]:
    """A line for each option, for the whole job and for the total, as on the quote."""
    found = []
    each = of_site(priced)
    for option in offered(priced):
        mark = " (chosen)" if option.chosen and each[option.site.name] > 1 else ""
        hangs = subject_to(option)
        figure = _figure(priced, told(option), option.quote_status == BUDGET)
        found.append(f"{label(option, each)}{mark}: {figure}{f'; provisional, {hangs}' if hangs else ''}")
    whole = told_whole(priced)
    if whole is not None:
        found.append(f"For the whole job: {_figure(priced, whole, priced.job.header.status == BUDGET)}")
    summed = [c.value for row in total_rows(priced) for c in row.cells if isinstance(c.value, str)]
    if summed and priced.totals.complete:
        budget = any(o.chosen and o.quote_status == BUDGET for o in offered(priced))
        found.append(f"{summed[0]}: {_figure(priced, told_job(priced), budget)}")
    else:
        found += summed  # which sites are still to be chosen
    return found


def _figure(priced: PricedJob, total: Totals | JobTotals, budget: bool) -> str:
    """A price in words, with tax first; a business that asked for it reads the price before tax first."""
    currency = terms_of(priced).currency
    whole, before = money_words(total.price, currency), money_words(total.price_before_tax, currency)
    lead = without_tax(priced)
    if budget:
        words = budget_words(priced, total.price_before_tax if lead else total.price)
        return f"{words} {'before' if lead else 'with'} tax" if total.tax else words
    if not total.tax:
        return whole
    if lead:
        return f"{before} before tax, {whole} with tax"
    return f"{whole} with tax ({before} before tax)"


def _text(body: str) -> MIMEText:
    """The body as plain text, legible in the file too."""
    letters: Any = Charset("utf-8")
    letters.body_encoding = QP
    found = MIMEText(body, "plain", letters)
    del found["MIME-Version"]
    return found


def _one_line(text: str) -> str:
    """Text without a line end or a control character, so that it cannot begin another line of a header."""
    return " ".join(clean(text).split())


def _encoded(name: str, text: str) -> str:
    """A header line: as it is where it is short and plain, else in encoded words that no folding can spoil."""
    plain = text.isascii() and text.isprintable() and "=?" not in text and len(name) + 2 + len(text) <= LINE
    return text if plain else Header(text, "utf-8", header_name=name).encode(maxlinelen=LINE)


def _named(name: str, address: str) -> str:
    """An address with the name of whose it is, where that takes one encoded word or none: readers differ on more."""
    shown = formataddr((name, address))
    long = len(shown) - len(address) > LINE
    return address if not name or long or "=?" in name else shown
