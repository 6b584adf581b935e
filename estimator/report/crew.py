"""The crew's workbook: where to go, what to load, how to set out, what to write down, which sails to have made.

Values only. Nothing of the office's goes in: no money in any form, no formula, nothing hidden, no author, no clock.
Only options that are chosen and priced or provisional.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.job.model import Fixing
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import crew_load, crew_tables, look, sail_order, setout
from estimator.report.look import INK, RULE, Sheet
from estimator.report.quote_text import TAKE_DOWN, conditions, subject_to
from estimator.report.setout_blocks import SERVICES
from estimator.report.setout_page import LAST, WIDTHS, high, keep_together, note, page_high, small_heading
from estimator.report.table import Col, headings, put, section
from estimator.report.words import lines_high, sail_words
from estimator.screening.limit import told_words
from estimator.takeoff.conditions import holds, parts

# conditions of the customer's cautions that concern whoever works on the site; what waits for an engineer is a fact
CONCERNS = frozenset({
    "posts", "house anchor", "tree", "existing post", "post by others", "base plate", "soft", "rock",
    "pool", "power line", "climbable", "traffic", "glass", "no take-down",
})  # fmt: skip
OFFICE_WORDS = re.compile(r"\b(price[ds]?|prices|costs?|rates?|margins?|quotes?|pay|payment)\b", re.IGNORECASE)
PLANNED_HOLES = ("Hole of", "Deep, as planned", "Deep, as dug", "Ground met", "Rock, water from", "Concrete in on")
HEIGHTS = ("Fixing", "Height, as planned", "Height, as built", "Across, as built", "Out, as built", "Remarks")
PAIRS = ("Between", "Straight, as planned", "Straight, as built", "Between", "Straight, as planned", "As built")
BUILT_WIDTHS = [13.0, 14.0, 14.0, 16.0, 14.0, 14.0]


def render_crew(priced: PricedJob, drawings: bool = True) -> bytes:
    """The crew's workbook as .xlsx bytes: Job, Set-out, Load, As built, and a Sail order for each sail that is made
    to fit. The same job gives the same bytes."""
    header = priced.job.header
    options = [o for o in priced.options if o.chosen and o.status != "not priced" and o.bill is not None]
    book = look.start("", header.units, header.paper, header.priced_on)
    _first(look.add_sheet(book, "Job", {}), priced, options)
    setout.write(look.add_sheet(book, "Set-out", {}), priced, options, repeat=False, drawings=drawings)
    crew_load.write(look.add_sheet(book, "Load", {}), priced, options)
    _as_built(look.add_sheet(book, "As built", {}), priced, options)
    for number, (option, sail) in enumerate(sail_order.wanted(options), 1):
        name = "Sail order" if number == 1 else f"Sail order {number}"
        sail_order.write(look.add_sheet(book, name, {}), priced, option, sail, drawings)
    return look.finish(book)


def _first(sheet: Sheet, priced: PricedJob, options: Sequence[PricedOption]) -> None:
    header = priced.job.header
    look.page(sheet, look.CREW, header.name, WIDTHS, landscape=False)
    look.title(sheet, look.CREW, header.name, LAST)
    row = 3
    for name, value in (
        ("Reference", header.reference),
        ("Customer", header.customer),
        ("Address", header.customer_address),
        ("On site", header.site_contact),
    ):
        row = _fact(sheet, row, name, value)
    starts = []
    for option in options:
        starts.append(row + 1)
        row = section(sheet, row + 1, f"{option.site.name}: option {option.option.name}")
        for name, value in _facts(priced, option):
            row = _fact(sheet, row, name, value)
        lines = cautions(priced, option)
        if lines:
            row = small_heading(sheet, row, "Take care")
            for words in lines:
                row = note(sheet, row, f"– {words}")
    if starts:
        breaks = keep_together(sheet, starts, row, page_high(priced), high(sheet, 0, starts[0]))
        sheet.ws.set_h_pagebreaks(breaks[:1000])
    missing = [n for n in priced.totals.missing if n not in {o.site.name for o in options}]
    if missing:
        row = note(sheet, row + 1, f"Not in this workbook, since no option is chosen yet: {', '.join(missing)}.")
    if not options:
        note(sheet, row + 1, "Nothing is chosen yet: there is nothing to set out or to load.")


def _facts(priced: PricedJob, option: PricedOption) -> list[tuple[str, str]]:
    site, units = option.site, priced.job.header.units
    fixings = {f.name: f for f in priced.job.fixings.get(site.name, ())}
    points = option.taken.points
    told = [p.fixing for p in points if p.fixing in fixings and fixings[p.fixing].known_by != "measured"]
    near = [
        f"{p.fixing}: {words}" for p in points if p.fixing in fixings for words in _limits(fixings[p.fixing], units)
    ]
    subject = subject_to(option)
    return [
        ("Address", site.address),
        ("Sails", "; ".join(f"{s.sail}: {sail_words(s, units)}, {s.colour}".strip(", ") for s in option.taken.sails)),
        ("Access", site.access),
        ("Ground", ", ".join(x for x in (site.ground, f"dug by {site.digging}" if option.taken.footings else "") if x)),
        ("Services", SERVICES.get(site.services, SERVICES[""]).capitalize() + "."),
        ("Near", ", ".join(site.near)),
        ("Limits", "; ".join(near)),
        ("Old sails", str(site.existing_sails) if site.existing_sails else ""),
        ("Water", f"drains to {site.drains_to}" if site.drains_to else ""),
        ("Measure", f"not measured yet, measure first: {', '.join(told)}" if told else ""),
        ("Wait for", subject.removeprefix("subject to ")),
        ("Wind", f"{TAKE_DOWN}: {told_words(priced.book, option.screened)}"),
        ("Others do", "; ".join(option.taken.excluded)),
        ("Also", "; ".join(option.taken.shown)),
        ("Remarks", site.for_crew),
    ]


def _limits(fixing: Fixing, units: str) -> list[str]:
    """What a hole or an anchor has to keep away from."""
    known = (
        (fixing.to_boundary, "to the boundary"),
        (fixing.to_service, "to a buried service"),
        (fixing.to_edge, "to the edge of the wall"),
    )
    return [f"{show_length(length, units)} {words}" for length, words in known if length is not None]


def cautions(priced: PricedJob, option: PricedOption) -> list[str]:
    """What the crew has to take care of: the rows of place `crew` that hold, and of the customer's cautions those that
    concern the site and that no row of the crew with the same condition says in its place."""
    found, wording = conditions(priced, option), priced.book.wording
    rows = [r for r in wording if key(r.language) == key(wording[0].language) and holds(r.when, found)]
    own = [r for r in rows if key(r.place) == "crew"]
    said = {parts(r.when) for r in own}
    theirs = [r for r in rows if key(r.place) == "caution" and parts(r.when) & CONCERNS and parts(r.when) not in said]
    lines = [line.strip() for r in (*own, *theirs) for line in r.text.replace("\r", "").split("\n")]
    return [x for x in dict.fromkeys(lines) if x and not OFFICE_WORDS.search(x)]


def _fact(sheet: Sheet, row: int, name: str, value: str) -> int:
    if not value:
        return row
    sheet.text(row, 0, name, font_color=look.FAINT)
    sheet.across(row, 1, LAST, value, text_wrap=True, align="left")
    sheet.height(row, lines_high(value, sum(WIDTHS[1:]) - 2))
    return row + 1


def _as_built(sheet: Sheet, priced: PricedJob, options: Sequence[PricedOption]) -> None:
    """What is planned, and ruled cells to write in what was built."""
    look.page(sheet, look.CREW, priced.job.header.name, BUILT_WIDTHS, landscape=False)
    look.title(sheet, look.CREW, "As built: write in what you find", len(BUILT_WIDTHS) - 1)
    row, breaks = 3, []
    free: list[object] = [None] * 4
    for option in options:
        if row > 3:
            breaks.append(row)
        row = section(sheet, row, f"{option.site.name}: option {option.option.name}")
        taken = option.taken
        if taken.footings:
            row = _ruled(sheet, row, PLANNED_HOLES, [[f.post_name, f.hole_depth, *free] for f in taken.footings])
        row = _ruled(sheet, row + 1, HEIGHTS, [[p.fixing, p.height, *free] for p in taken.points])
        pairs: list[list[object]] = [
            [f"{a}, {b}", straight, None] for a, b, straight, _ in crew_tables.fixing_pairs(option)
        ]
        half = (len(pairs) + 1) // 2
        beside: list[list[object]] = [*pairs[half:], ["", None, None]]
        row = _ruled(sheet, row + 1, PAIRS, [[*p, *beside[n]] for n, p in enumerate(pairs[:half])])
        row = _sign(sheet, row + 1)
    if not options:
        sheet.text(row, 0, "Nothing is chosen yet.", font_color=look.FAINT)
    sheet.ws.set_h_pagebreaks(breaks[:1000])


def _ruled(sheet: Sheet, row: int, names: Sequence[str], rows: Sequence[Sequence[object]]) -> int:
    """A table whose cells are ruled all round; those that are empty are to be written in."""
    kinds = ["length" if n and "planned" in name else "text" for n, name in enumerate(names)]
    columns = [Col(name, kind) for name, kind in zip(names, kinds, strict=True)]
    headings(sheet, row, columns, BUILT_WIDTHS)
    for values in rows:
        row += 1
        for n, (column, value) in enumerate(zip(columns, values, strict=True)):
            _cell(sheet, row, n, column, value)
        tall = [lines_high(v, w) for v, w in zip(values, BUILT_WIDTHS, strict=True) if isinstance(v, str)]
        sheet.height(row, max([21.0, *tall]))
    return row + 1


def _cell(sheet: Sheet, row: int, n: int, column: Col, value: object) -> None:
    rule = {"border": 1, "border_color": RULE, "valign": "vcenter"}
    put(sheet, row, n, column.kind, value, **rule)


def _sign(sheet: Sheet, row: int) -> int:
    for n, name in ((0, "Measured by"), (3, "On")):
        sheet.text(row, n, name, font_color=look.FAINT, valign="bottom")
        for free in (n + 1, n + 2):
            sheet.blank(row, free, bottom=1, bottom_color=INK)
    sheet.height(row, 26)
    return row + 2
