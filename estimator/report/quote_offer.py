"""What is offered on each site and what it costs, option beside option; the total; what is priced beside."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption, TaxTaken, Totals
from estimator.pricing.told import VARIATION, told, told_job, told_whole, variation_name
from estimator.report import quote_scope
from estimator.report.quote_rows import Row, amounts, detail, gap, heading, offer, words
from estimator.report.quote_text import label, of_site, offered, subject_to
from estimator.report.side_facts import MADE, cloth_words, shown
from estimator.report.terms import budget_range, terms_of
from estimator.report.words import money_words, plural, sail_words
from estimator.takeoff.model import Apart

BESIDE = 3  # options beside each other
BUDGET = "budget"


def without_tax(priced: PricedJob) -> bool:
    """Whether the price before tax leads: only a business may be shown that."""
    header = priced.job.header
    return header.prices_shown == "without" and header.customer_is == "business"


def by_site(priced: PricedJob) -> list[tuple[PricedOption, ...]]:
    """The options with a price, site by site."""
    found: dict[str, list[PricedOption]] = {}
    for option in offered(priced):
        found.setdefault(option.site.name, []).append(option)
    return [tuple(options) for options in found.values()]


def differ(priced: PricedJob) -> bool:
    """Whether some prices are of another kind than others: firm, accepted, a budget figure."""
    return len({o.quote_status for o in offered(priced)}) > 1


def site_rows(priced: PricedJob, options: Sequence[PricedOption], differing: bool) -> list[Row]:
    """One site in full. differing: whether the kinds of prices `differ` over the job."""
    site = options[0].site
    address = (
        f", {site.address}" if site.address and key(site.address) != key(priced.job.header.customer_address) else ""
    )
    found = [gap(), heading(site.name + address)]
    if site.for_customer:
        found.append(words(site.for_customer))
    for first in range(0, len(options), BESIDE):
        found += _beside(priced, options[first : first + BESIDE], len(options) > 1, differing)
    return found


def _beside(priced: PricedJob, options: Sequence[PricedOption], several: bool, differing: bool) -> list[Row]:
    found = []
    if several or key(options[0].option.name) != "1":
        marks = [f"Option {o.option.name}" + (" (chosen)" if o.chosen and several else "") for o in options]
        found.append(detail("", marks, bold=True))
    units = priced.job.header.units
    said = {
        "Sail": [
            _lines(sail_words(s, units) + f", {MADE.get(s.origin, s.origin)}" for s in o.taken.sails) for o in options
        ],
        "Cloth": [_lines(cloth_words(priced, s.cloth) for s in o.taken.sails) for o in options],
        "Colour": [_lines(s.colour for s in o.taken.sails) for o in options],
        "Fixed to": [quote_scope.fixed_to(priced, o) for o in options],
        **quote_scope.posts(priced, options),
        "Also included": [_lines(shown(o)) for o in options],
        "For you": [_lines(s.for_customer for s in o.option.sails) for o in options],
        "Provisional": [subject_to(o) for o in options],
        "Price is": [_status(o) if differing else "" for o in options],
    }
    found += [
        detail(name, values if len(set(values)) > 1 else values[:1]) for name, values in said.items() if any(values)
    ]
    totals, taxes = [told(o) for o in options if o.bill], [o.bill.taxes for o in options if o.bill]
    found += prices(priced, totals, taxes)
    if any(o.quote_status == BUDGET for o in options):
        found.append(detail("Budget figure", [_range(priced, o) for o in options], bold=True))
    return found


def _range(priced: PricedJob, option: PricedOption) -> str:
    """What a budget figure may come out at; blank for a firm price."""
    if option.quote_status != BUDGET or option.bill is None:
        return ""
    totals = option.bill.totals
    return budget_words(priced, totals.price_before_tax if without_tax(priced) else totals.price)


def budget_words(priced: PricedJob, price: Decimal) -> str:
    """The range of a budget figure in words."""
    low, high = budget_range(priced.book, price)
    currency = terms_of(priced).currency
    return f"may come out between {money_words(low, currency)} and {money_words(high, currency)}"


def _lines(parts: object) -> str:
    return "\n".join(dict.fromkeys(p for p in parts if p))  # type: ignore[attr-defined]


def _hangs(option: PricedOption) -> str:
    points = option.taken.points
    kinds: dict[str, int] = {}
    for p in points:
        name = "new post" if p.post_name else p.held_by
        kinds[name] = kinds.get(name, 0) + 1
    return f"{plural(len(points), 'fixing')}: " + ", ".join(f"{n} on {k}" for k, n in kinds.items()) if points else ""


def _status(option: PricedOption) -> str:
    """Told only where the options differ; else the title of the page says it."""
    return {
        "budget": "a budget figure, not an offer",
        "firm": "firm",
        "accepted": "accepted",
        "expired": "expired",
    }.get(option.quote_status, "")


def prices(priced: PricedJob, totals: Sequence[Totals], taxes: Sequence[Sequence[TaxTaken]]) -> list[Row]:
    """Price with tax first; a business that asked for it sees the price before tax first."""
    whole = [t.price for t in totals]
    before = [t.price_before_tax for t in totals]
    tax = [t.tax for t in totals]
    names = list(dict.fromkeys(t.name for each in taxes for t in each))
    tax_row = amounts("Tax" + (f" ({', '.join(names)})" if names else ""), tax)
    if without_tax(priced):
        return [amounts("Price before tax", before, strong=True), tax_row, amounts("Price with tax", whole, size=11)]
    if not any(tax):
        return [amounts("Price", whole, strong=True)]
    return [amounts("Price with tax", whole, strong=True), amounts("Price before tax", before), tax_row]


def short_rows(priced: PricedJob) -> list[Row]:
    """Every option in one row, for a job that does not fit on the page in full; then the whole job's."""
    lead = without_tax(priced)
    found = [gap(), heading("Prices before tax" if lead else "Prices with tax")]
    each, differing = of_site(priced), differ(priced)
    for option in offered(priced):
        total = told(option)
        mark = " (chosen)" if option.chosen and each[option.site.name] > 1 else ""
        sails = [
            f"{sail_words(s, priced.job.header.units)}, {cloth_words(priced, s.cloth)}, {s.colour}"
            for s in option.taken.sails
        ]
        hangs = subject_to(option)
        status = _status(option) if differing else ""
        more = [*sails, _hangs(option), *shown(option), status, hangs and f"provisional: {hangs}"]
        more.append(_range(priced, option) and f"budget figure, {_range(priced, option)}")
        note = "; ".join(dict.fromkeys(x.strip(", ") for x in more if x))
        found.append(offer(label(option, each) + mark, total.price_before_tax if lead else total.price, note))
    whole = told_whole(priced)
    if whole is not None and priced.job_bill is not None:
        note = ", ".join(x.description for x in priced.job_bill.lines if x.shown)
        found.append(offer("For the whole job", whole.price_before_tax if lead else whole.price, note))
    return found


def job_rows(priced: PricedJob) -> list[Row]:
    """Work for the whole job, where there is some."""
    whole = told_whole(priced)
    if whole is None or priced.job_bill is None:
        return []
    included = _lines(x.description for x in priced.job_bill.lines if x.shown)
    found = [gap(), heading("For the whole job")]
    if included:
        found.append(detail("Included", [included]))
    return [*found, *prices(priced, [whole], [priced.job_bill.taxes])]


def total_rows(priced: PricedJob) -> list[Row]:
    """The total where every chosen option has its price and there is more than one price to add."""
    found: list[Row] = []
    chosen = [o for o in offered(priced) if o.chosen]
    parts = len(chosen) + (priced.job_bill is not None)
    if priced.totals.complete and parts > 1:
        total = told_job(priced)
        budget = any(o.quote_status == BUDGET for o in chosen)
        name = "Total of what is chosen" if len(offered(priced)) > len(chosen) else "Total"
        found += [gap(), heading(f"{name}, a budget figure" if budget else name)]
        whole = [Totals(total.cost, total.price_before_tax, total.tax, total.price, None, None)]
        found += prices(priced, whole, [])
        if budget:
            lead = total.price_before_tax if without_tax(priced) else total.price
            found.append(detail("Not a firm total", [budget_words(priced, lead)], bold=True))
    elif not priced.totals.complete and len(offered(priced)) > 1:
        each = of_site(priced)
        open_sites = [n for n in priced.totals.missing if each[n]]
        if open_sites:
            found += [gap(), words(f"No total yet: please choose an option for {', '.join(open_sites)}.", bold=True)]
    return found


def apart_rows(priced: PricedJob) -> list[Row]:
    """What is priced beside the total, each with its own price with tax."""
    each = of_site(priced)
    groups: list[tuple[str, tuple[tuple[Apart, Decimal], ...]]] = [(label(o, each), o.apart) for o in offered(priced)]
    groups.append(("", priced.job_apart))
    names: dict[tuple[bool, str, Decimal], list[str]] = {}
    for name, aparts in groups:
        for apart, price in aparts:
            varied = apart.why == VARIATION
            before = f"Variation {variation_name(apart.variation)}: " if varied else ""
            names.setdefault((varied, before + apart.line.description, price), []).append(name)
    every = len(offered(priced))
    beside: dict[bool, list[Row]] = {False: [], True: []}
    for (varied, text, price), mine in names.items():
        only = "" if len(mine) == every or not all(mine) else "; ".join(dict.fromkeys(mine))
        beside[varied].append(offer(text, price, only, bold=False))
    heads = {False: "On request, not in the price; each with tax", True: "Variations, beside the price; each with tax"}
    return [row for varied, rows in beside.items() if rows for row in (gap(), heading(heads[varied]), *rows)]
