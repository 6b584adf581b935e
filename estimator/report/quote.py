"""The customer's copy: a new workbook of values only. First sheet: one portrait page; what has no room: `Details`.

Nothing of the office's goes in: no cost, rate, margin, hour, supplier, code or note, no formula, no defined name.
"""

from __future__ import annotations

from decimal import Decimal

from estimator.pricing.model import PricedJob
from estimator.report import look, quote_offer
from estimator.report.quote_changes import changed
from estimator.report.quote_fit import Parts, fitted, names_of
from estimator.report.quote_payment import digging, payment
from estimator.report.quote_rows import (
    Row,
    Section,
    facts,
    gap,
    halves,
    heading,
    listed,
    page,
    picture,
    put,
    put_sections,
    rows_high,
    sign,
    words,
)
from estimator.report.quote_text import assumptions, excluded, label, named, of_site, offered, take_down, texts
from estimator.report.terms import Terms, terms_of
from estimator.report.words import plural

PAGE_HIGH = {"letter": 700.0}  # points between the margins at full size; A4 otherwise
A4_HIGH = 750.0
SQUEEZE = 1.28  # how much more a page may hold, printed smaller
MOST_PLANS = 60


def parts_of(priced: PricedJob, drawings: bool = True) -> Parts:
    """Everything that the customer's copy says, before it is fitted to any page."""
    terms = terms_of(priced)
    wording, differing = priced.book.wording, quote_offer.differ(priced)
    return Parts(
        f"{title(priced)}: {priced.job.header.name}",
        (wording[0].language if wording else "") or "en",
        (*letterhead(priced), *_facts(priced, terms)),
        tuple(tuple(quote_offer.site_rows(priced, options, differing)) for options in quote_offer.by_site(priced)),
        tuple(quote_offer.job_rows(priced)),
        tuple(quote_offer.short_rows(priced)),
        tuple(quote_offer.total_rows(priced)),
        tuple(quote_offer.apart_rows(priced)),
        tuple(_sections(priced, terms)),
        tuple(_plans(priced)) if drawings else (),
        tuple(_acceptance(priced)),
    )


def render_quote(priced: PricedJob, drawings: bool = True) -> bytes:
    """The customer's copy as .xlsx bytes; the same job gives the same bytes."""
    return render_parts(priced, parts_of(priced, drawings))


def render_parts(priced: PricedJob, parts: Parts) -> bytes:
    """The customer's copy of parts that are known already."""
    header = priced.job.header
    book = look.start(terms_of(priced).currency, header.units, header.paper, header.priced_on)
    high = PAGE_HIGH.get(header.paper.casefold(), A4_HIGH)
    room = high * SQUEEZE - rows_high((*parts.top, *parts.foot)) - 30
    rows, later = fitted(parts, room, rows_high)
    pointer = [gap(3), words(f"On the sheet Details: {names_of(later)}.", bold=True)] if later else []
    name = priced.book.business.get("trading name", "")
    first = look.add_sheet(book, "Quote", {})
    page(first, True, name)
    put(first, [*parts.top, *rows, *pointer, *parts.foot])
    if later:
        second = look.add_sheet(book, "Details", {})
        page(second, False, name)
        put_sections(second, [Section("", (words(f"Details: {header.name}", 13, bold=True),)), *later], high)
    return look.finish(book)


def _plans(priced: PricedJob) -> list[Section]:
    """A plan to scale of each chosen option; where none is chosen, of each that is offered."""
    from estimator.report.drawing import plain_plan
    from estimator.report.drawing_paper import POINT, size_of

    shown = [o for o in offered(priced) if o.taken.sails]
    each = of_site(priced)
    shown = [o for o in shown if o.chosen] or shown
    found = []
    for option in shown[:MOST_PLANS]:
        png, said = plain_plan(priced, option), f"Plan: {label(option, each)}"
        found.append(Section("plans", (gap(), heading(said), picture(png, size_of(png)[1] / POINT, said))))
    return found


def letterhead(priced: PricedJob) -> list[Row]:
    """Who writes: name, address, registration."""
    business = priced.book.business
    name = business.get("trading name", "")
    reach = [business.get(k, "") for k in ("address", "phone", "email")]
    standing = [business.get(k, "") for k in ("registration", "licence", "insurance")]
    return [
        words(name, 15, bold=True),
        words("   ".join(x for x in reach if x), 8.5, font_color=look.FAINT),
        words("   ".join(x for x in standing if x), 8.5, font_color=look.FAINT, bottom=1, bottom_color=look.INK),
        gap(),
    ]


def title(priced: PricedJob) -> str:
    """What the document is: a quote, a budget figure, expired or accepted."""
    found = {o.quote_status for o in offered(priced)} or {priced.job.header.status}
    if found == {"budget"}:
        return "Budget figure, not an offer"
    if found == {"expired"}:
        return "Expired, ask for a new price"
    return "Quote, accepted" if found == {"accepted"} else "Quote"


def _facts(priced: PricedJob, terms: Terms) -> list[Row]:
    header = priced.job.header
    left = [("For", header.customer), ("", header.customer_address), ("Contact", header.site_contact)]
    right = [("Date", header.priced_on.isoformat())]
    if terms.until:
        right.append(("Price holds until", terms.until.isoformat()))
    if header.reference:
        right.append(("Reference", header.reference))
    if header.revision > 1:
        right.append(("Revision", str(header.revision)))
    if header.prepared_by:
        right.append(("Prepared by", header.prepared_by))
    left = [pair for pair in left if pair[1]]
    found = [words(f"{title(priced)}: {header.name}", 13, bold=True)]
    for n in range(max(len(left), len(right))):
        a = left[n] if n < len(left) else ("", "")
        b = right[n] if n < len(right) else ("", "")
        found.append(facts(*a, *b))
    return found


def _sections(priced: PricedJob, terms: Terms) -> list[Section]:
    """The text sections, the ones a customer may miss least first."""
    ground = [*digging(priced), *texts(priced, "rock"), *texts(priced, "consent")]
    pairs = (
        ("Included", texts(priced, "included"), "Not included", excluded(priced)),
        ("Payment", payment(priced), "Programme", _programme(priced)),
        ("Care", texts(priced, "care"), "Warranty", texts(priced, "warranty")),
        ("What we took as given", assumptions(priced), "Ground and consent", ground),
    )
    found = [_pair(*p) for p in pairs if p[1] or p[3]]
    cautions = [*take_down(priced), *texts(priced, "caution")]
    if cautions:
        half = (len(cautions) + 1) // 2
        rows = listed(cautions) if len(cautions) < 4 else halves(cautions[:half], cautions[half:])
        found.insert(2, Section("please note", (gap(), heading("Please note"), *rows)))
    return [*changed(priced), *found]


def _pair(left: str, a: list[str], right: str, b: list[str]) -> Section:
    if a and b:
        return Section(f"{left.lower()}, {right.lower()}", (gap(), heading(left, right), *halves(a, b)))
    name, lines = (left, a) if a else (right, b)
    return Section(name.lower(), (gap(), heading(name), *listed(lines)))


def _programme(priced: PricedJob) -> list[str]:
    """Visits, days and the rest of the concrete; then the texts."""
    options = [o for o in offered(priced) if o.chosen] or list(offered(priced))
    at: dict[str, list[str]] = {}
    each = of_site(priced)
    for option in options:
        visits = option.taken.visits
        if visits:
            at.setdefault(f"{plural(len(visits), 'visit')}: {', '.join(visits)}.", []).append(label(option, each))
    found = [text if len(at) == 1 else f"{named(names)}: {text}" for text, names in at.items()]
    if priced.job.header.finish_by:
        found.insert(0, f"Finished by {priced.job.header.finish_by.isoformat()}.")
    cure = priced.book.settings.get("cure before hanging")
    if cure and isinstance(cure.value, float) and any(o.taken.footings for o in options):
        found.append(f"Concrete rests {plural(int(Decimal(str(cure.value))), 'day')} before the sail is hung.")
    return [*dict.fromkeys(found), *texts(priced, "programme")]


def _acceptance(priced: PricedJob) -> list[Row]:
    lines = texts(priced, "acceptance")
    if not lines:
        return [gap(), heading("Acceptance"), sign("Name", "Date"), sign("Signature"), gap(4)]
    said = [x for x in lines if not x.endswith(":")]
    asked = [x.rstrip(":") for x in lines if x.endswith(":")] or ["Name", "Date", "Signature"]
    if len(offered(priced)) == 1:
        asked = [x for x in asked if x.casefold() != "option"]
    rows: list[Row] = [gap(), heading("Acceptance"), *listed(said)]
    rows += [sign(asked[n], asked[n + 1] if n + 1 < len(asked) else "") for n in range(0, len(asked), 2)]
    return [*rows, gap(4)]
