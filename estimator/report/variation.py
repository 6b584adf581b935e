"""A variation for the customer to sign: what is changed, why, each line with its price with tax, the new contract sum.

Values only, and made of the same rows as the quote: no cost, rate, margin, hour or code.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from estimator.core.money import plain
from estimator.core.names import key
from estimator.pricing.model import PricedJob
from estimator.pricing.told import Variation, Varied, contract, variations
from estimator.report import look
from estimator.report.quote import A4_HIGH, PAGE_HIGH, SQUEEZE, letterhead
from estimator.report.quote_fit import Parts
from estimator.report.quote_rows import (
    Row,
    amounts,
    detail,
    facts,
    gap,
    heading,
    offer,
    page,
    put,
    rows_high,
    sign,
    words,
)
from estimator.report.terms import terms_of


def signed(priced: PricedJob) -> tuple[Variation, ...]:
    """The variations that change a contract; none where something chosen has no price."""
    if any(o.chosen and o.bill is None for o in priced.options):
        return ()
    return tuple(v for v in variations(priced) if any(line.counted for line in v.lines))


def file_names(stem: str, found: Sequence[Variation]) -> list[str]:
    """A file name for each variation, `JOB-variation-V1.xlsx`, that any system can hold; no two alike.

    >>> file_names("yard", [Variation("V1", ()), Variation("Gate/post", ()), Variation("gate post", ())])
    ['yard-variation-V1.xlsx', 'yard-variation-Gate-post.xlsx', 'yard-variation-gate-post-2.xlsx']
    """
    names: list[str] = []
    seen: dict[str, int] = {}
    for variation in found:
        safe = re.sub(r"[^\w.]+", "-", variation.name)[:60].strip("-.") or "variation"
        seen[key(safe)] = seen.get(key(safe), 0) + 1
        again = f"-{seen[key(safe)]}" if seen[key(safe)] > 1 else ""
        names.append(f"{stem}-variation-{safe}{again}.xlsx")
    return names


def variation_parts(priced: PricedJob, variation: Variation) -> Parts:
    """Everything that the document says."""
    wording = priced.book.wording
    name = f"Variation {variation.name}"
    return Parts(
        title=f"{name}: {priced.job.header.name}",
        language=(wording[0].language if wording else "") or "en",
        top=(*letterhead(priced), *_facts(priced, name)),
        sites=(tuple(_lines(priced, variation, name)),),
        job=(),
        short=(),
        total=tuple(_contract(priced, variation)),
        apart=(),
        sections=(),
        plans=(),
        foot=(gap(), heading("Acceptance"), sign("Name", "Date"), sign("Signature"), gap(4)),
    )


def render_variation(priced: PricedJob, parts: Parts) -> bytes:
    """The document as .xlsx bytes, one sheet; the same job gives the same bytes."""
    header = priced.job.header
    book = look.start(terms_of(priced).currency, header.units, header.paper, header.priced_on)
    rows = [*parts.top, *parts.sites[0], *parts.total, *parts.foot]
    sheet = look.add_sheet(book, "Variation", {})
    high = PAGE_HIGH.get(header.paper.casefold(), A4_HIGH)
    page(sheet, rows_high(rows) <= high * SQUEEZE, priced.book.business.get("trading name", ""))
    put(sheet, rows)
    return look.finish(book)


def _facts(priced: PricedJob, name: str) -> list[Row]:
    header = priced.job.header
    left = [pair for pair in (("For", header.customer), ("", header.customer_address)) if pair[1]]
    right = [("Date", header.priced_on.isoformat())]
    right += [(label, text) for label, text in (("Reference", header.reference), ("By", header.prepared_by)) if text]
    blank = ("", "")
    pairs = max(len(left), len(right))
    rows = [facts(*(left[n : n + 1] or [blank])[0], *(right[n : n + 1] or [blank])[0]) for n in range(pairs)]
    return [words(f"{name}: {header.name}", 13, bold=True), *rows]


def _lines(priced: PricedJob, variation: Variation, name: str) -> list[Row]:
    found: list[Row] = [gap(), heading("What is changed; each with tax")]
    for line in (x for x in variation.lines if x.counted):
        found.append(offer(line.apart.line.description, line.price, _note(priced, line), bold=False))
    found.append(amounts(name, [variation.price], strong=True))
    if variation.reasons:
        found += [gap(3), detail("Why", ["\n".join(variation.reasons)])]
    return found


def _note(priced: PricedJob, line: Varied) -> str:
    """Where it is, where a job has more than one site, and how much of it."""
    several = len(priced.job.sites) > 1
    where = (line.option.site.name if line.option else "for the whole job") if several else ""
    bill = line.apart.line
    return ": ".join(x for x in (where, f"{plain(bill.quantity)} {bill.unit}") if x)


def _contract(priced: PricedJob, variation: Variation) -> list[Row]:
    """The accepted price, the variations before this one and this one, and what they come to."""
    accepted = contract(priced)
    if accepted is None:
        return [gap(), words("The quote is not accepted yet, so there is no contract sum.")]
    rows: list[Row] = [gap(), heading("Contract sum, with tax"), amounts("Accepted price", [accepted])]
    total = accepted
    for each in signed(priced):
        rows.append(amounts(f"Variation {each.name}", [each.price]))
        total += each.price
        if each is variation or each.name == variation.name:
            break
    return [*rows, amounts("New contract sum", [total], strong=True)]
