"""Sheet `Consent`: each limit of a place that was compared, what approval costs, and how near each hole lies."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from estimator.core.money import cents
from estimator.core.names import key
from estimator.core.units import show_length
from estimator.pricing.model import Bill, PricedJob, PricedOption
from estimator.rates.model import RateBook
from estimator.report import look
from estimator.report.blocks import COST, Block, Plan
from estimator.report.look import INK, RULE, Sheet
from estimator.report.table import Col, headings, line, section, table
from estimator.report.words import lines_high
from estimator.takeoff.consent import QUESTION, Compared
from estimator.takeoff.consent_facts import limit_words, margin_words, value_words
from estimator.takeoff.labour import slug

ROWS = (
    Col("Site", "text", 16),
    Col("Option", "text", 13),
    Col("Place", "text", 12),
    Col("Measure", "text", 21),
    Col("Condition", "text", 16),
    Col("Value", "quantity", 13),
    Col("Has to be", "text", 18),
    Col("Margin", "quantity", 12),
    Col("Taken from", "text", 18),
    Col("Result", "text", 46),
    Col("Source of the row", "text", 32),
    Col("Holds from", "text", 11),
)
COSTS = (
    Col("Site"),
    Col("Option"),
    Col(""),
    Col("Line of the bill"),
    Col(""),
    Col("Cost", "money"),
    Col(""),
    Col("Of the sail", "money"),
    Col(""),
    Col("What it is"),
)
HOLES = (
    Col("Site"),
    Col("Option"),
    Col("Post"),
    Col("Fixings"),
    Col("Services"),
    Col("Hole", "length"),
    Col("Edge to boundary", "length"),
    Col("Edge to service", "length"),
    Col("Service has to be"),
    Col("What to do"),
)
HEAD = (
    "This sheet states no law. It shows the rows of the rate book for the place and compares them with what was taken "
    "off; rows can be old or too few. The council decides.",
    "Plan area: all sails of the option, straight between their corners. Height: the highest fixing or top of a new "
    "post over its ground. Existing sails: those there when the last sail of the option is hung.",
    "Sail to boundary: the nearest fixing. Edge of a hole: as if the hole had moved toward the boundary or the "
    "service. Neither is ever too far, except where a corner of other land reaches in between two fixings.",
)
INSIDE, NOT_KNOWN = "inside the limit", "not known"
PRICED, TO_PRICE = "consent is priced", "consent is needed by this row"
NO_ROWS = "the rate book has no row for this place, so nothing was compared: ask the council, and add its rows"
NO_PLACE = "no place is given, so nothing was compared: give the place, or ask the council"


def write(sheet: Sheet, plan: Plan, priced: PricedJob) -> None:
    """Write the sheet."""
    widths = [c.width for c in ROWS]
    look.page(sheet, look.OFFICE, priced.job.header.name, widths, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Consent: what the place allows", len(ROWS) - 1)
    row = 2
    for words in HEAD:
        sheet.across(row, 0, len(ROWS) - 1, words, text_wrap=True, font_color=look.FAINT)
        sheet.height(row, lines_high(words, sum(widths)))
        row += 1
    row = section(sheet, row + 1, "Limits compared")
    row = table(sheet, row, ROWS, [cells for o in priced.options for cells in _limits(priced, o)])
    row = _costs(sheet, section(sheet, row + 1, "Approval"), plan, priced.book)
    row = section(sheet, row + 1, "Edge of each hole to the boundary and to buried services")
    table(sheet, row, HOLES, _holes(priced), 2, widths)


def _limits(priced: PricedJob, o: PricedOption) -> Iterator[list[object]]:
    """The rows of an option, or why there are none."""
    units = priced.job.header.units
    place = o.site.place or priced.job.header.place
    if not o.taken.consent:
        listed = any(key(r.place) == key(place) for r in priced.book.consent)
        why = NO_PLACE if not place else "no row of this place holds here" if listed else NO_ROWS
        yield [o.site.name, o.option.name, place or "not given", *[""] * 6, f"{NOT_KNOWN}: {why}", "", ""]
    for c in o.taken.consent:
        row = c.row
        yield [
            o.site.name,
            o.option.name,
            row.place,
            row.measure,
            row.when or "always",
            value_words(c, units),
            limit_words(c, units),
            margin_words(c, units),
            c.known.of,
            result_words(c, o.bill is not None),
            row.origin.source,
            row.origin.valid_from.isoformat() if row.origin.valid_from else "",
        ]


def result_words(c: Compared, priced: bool) -> str:
    """What came of a row.

    priced: the option has a price, so that a limit that is not kept has brought its lines with it.
    """
    if c.inside:
        return INSIDE
    if c.inside is None:
        return f"{NOT_KNOWN}. Ask: {c.question}" if key(c.row.measure) == QUESTION else f"{NOT_KNOWN}. {c.question}"
    return f"{'short of' if c.from_below else 'over'} the limit: {PRICED if priced else TO_PRICE}"


def approval_codes(book: RateBook) -> frozenset[str]:
    """Keys of the codes of lines that a needed consent brings: items of kits and tasks of labour."""
    items = [k.item for k in book.kits if k.for_each == "consent needed"]
    return frozenset(map(key, [*items, *(slug(t.task) for t in book.labour if t.for_each == "consent needed")]))


def _costs(sheet: Sheet, row: int, plan: Plan, book: RateBook) -> int:
    """Each line of the approval and their sum beside the sail's cost, by formulas that point into the bill."""
    widths = [c.width for c in ROWS]
    headings(sheet, row, COSTS, widths)
    row += 1
    codes, none = approval_codes(book), True
    for block in plan.blocks:
        if block.bill is None or block.option is None:
            continue
        lines = [n for n, x in enumerate(block.bill.lines) if key(x.code) in codes]
        if not lines:
            continue
        none = False
        row = _cost_rows(sheet, row, plan, block, block.bill, lines)
    if none:
        sheet.text(row, 0, "none: by the rows that could be compared no approval is priced", font_color=look.FAINT)
        row += 1
    return row


def _cost_rows(sheet: Sheet, row: int, plan: Plan, block: Block, bill: Bill, lines: list[int]) -> int:
    assert block.option is not None
    widths, money = [c.width for c in ROWS], sheet.look.money()
    who = [block.option.site.name, block.option.option.name, ""]
    sails = [n for n, x in enumerate(bill.lines) if x.table in ("sails", "cloths")]
    rule: dict[str, Any]
    for n in lines:
        x, rule = bill.lines[n], {"top": 1, "top_color": INK if n == lines[0] else RULE}
        made = line(sheet, row, COSTS, [*who, x.code, "", None, "", None, "", x.description], widths, **rule)
        sheet.formula(row, 5, plan.ref(block.lines + n, COST), x.cost, money, **made)
        row += 1
    approval, sail = (cents(sum((bill.lines[n].cost for n in ns), Decimal(0))) for ns in (lines, sails))
    words = "More than the sail costs; it is priced all the same." if approval > sail else ""
    rule = {"top": 1, "top_color": RULE, "bold": True}
    made = line(sheet, row, COSTS, [*who, "approval together", "", None, "", None, "", words], widths, **rule)
    for column, ns, value in ((5, lines, approval), (7, sails, sail)):
        added = "+".join(plan.ref(block.lines + n, COST) for n in ns) or "0"
        sheet.formula(row, column, f"ROUND({added},2)", value, money, **made)
    return row + 1


def _holes(priced: PricedJob) -> list[list[object]]:
    units, least = priced.job.header.units, priced.book.known("service clearance")
    found: list[list[object]] = []
    for o in priced.options:
        for f in o.taken.footings:
            boundary, service = f.edge_to_boundary, f.edge_to_service
            over = boundary is not None and boundary < -1e-9
            near = service is not None and least is not None and service < least - 1e-9
            blank = [w for w, v in (("boundary", boundary), ("service", service)) if v is None]
            said = [
                "crosses the boundary: move it, or ask the neighbour" if over else "",
                "near the service: move it, dig by hand, or by vacuum" if near else "",
                f"way to the {' and the '.join(blank)} not given" if blank else "",
            ]
            found.append(
                [
                    o.site.name,
                    o.option.name,
                    f.post_name,
                    ", ".join(f.fixings),
                    o.site.services or "not said",
                    f.diameter,
                    "not known" if boundary is None else boundary,
                    "not known" if service is None else service,
                    "" if least is None else f"at least {show_length(least, units)}",
                    "; ".join(x for x in said if x),
                ]
            )
    return found
