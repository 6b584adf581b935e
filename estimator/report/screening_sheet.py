"""Sheet `Screening`: what wind asks of the parts of each option, which gives first, and what is told. Indicative."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import look
from estimator.report import screening_rows as rows_of
from estimator.report.look import INK, RULE, Sheet
from estimator.report.screening_rows import UNITS
from estimator.report.table import PLAIN, Col, headings, line, metric, put, section, table
from estimator.report.words import lines_high
from estimator.screening.limit import told_words
from estimator.screening.model import Screened

CHECKS = (
    Col("Part", "text", 25),
    Col("Where", "text", 24),
    Col("Used at this gust", "share", 10),
    Col("Asked of it", "quantity", 10),
    Col("Rated for", "quantity", 10),
    Col("Unit", "text", 10),
    Col("Most when", "text", 12),
    Col("Counts", "text", 10),
    Col("Fixings", "text", 11),
    Col("Kind", "text", 10),
    Col("Rests on", "text", 46),
    Col("How it came about", "text", 56),
)
USED, ASKED, RATED = 2, 3, 4
POUNDS = (Col("Asked of it", "pounds", 10), Col("Rated for", "pounds", 10))  # beside, in jobs in feet and inches
TAKE_DOWN = (Col(""), Col("Part"), Col("Gust", "speed"), Col("Gust", "km/h"), Col("Gust", "mph"))
FORCES = (
    Col("Sail"),
    Col("Fixing"),
    Col("In still air", "pull"),
    Col("Pushed up", "pull"),
    Col("Pushed down", "pull"),
    Col("Greatest", "pull"),
    Col("Sideways, by form", "pull"),
    Col("Upward share", "pull"),
)
RULE_OF_THUMB = (
    Col("Rule of thumb, low", "pull"),
    Col("Rule of thumb, high", "pull"),
    Col("The larger sideways pull is by"),
)
FORCES_POUNDS = (Col(""), Col("Greatest", "pounds"), Col("Sideways, by form", "pounds"))
SAILS = (
    Col("Sail"),
    Col(""),
    Col("Cloth", "area"),
    *(Col(f"{end} {axis}", "length") for end in ("Highest,", "Lowest,") for axis in ("across", "out", "up")),
    Col(""),
    Col("Rain"),
)
NO_WIND = "No take-down wind could be found: no part has a rating, or a sail found no rest on the way. Ask an engineer."
HEAD = (
    "Indicative, for a structural engineer to confirm. It shows which part is used up first as the wind rises, and "
    "approves nothing. Local codes and the wind that an engineer sets for the place come before every figure here."
)


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet: each screened option, then those that are not screened and why."""
    widths = [c.width for c in CHECKS] + ([] if metric(sheet.look.units) else [c.width for c in POUNDS])
    look.page(sheet, look.OFFICE, priced.job.header.name, widths, landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Screening for wind", len(widths) - 1)
    row = _words(sheet, 2, HEAD, widths)
    screened = [o for o in priced.options if o.screened is not None]
    told = told_words(priced.book, None)
    count = f"{len(screened)} of {len(priced.options)} options are screened. "
    count += f"Of one that is not, crew and customer are told the firm's own limit: {told}."
    row = _words(sheet, row, count, widths, font_color=look.FAINT)
    breaks = []
    for number, option in enumerate(screened):
        assert option.screened is not None
        if number:
            breaks.append(row)
        row = _option(sheet, priced, option, option.screened, row + 1, widths)
    _not_screened(sheet, priced, row + 1)
    sheet.ws.set_h_pagebreaks(breaks[:1000])


def _words(sheet: Sheet, row: int, words: str, widths: Sequence[float], first: int = 0, **style: Any) -> int:
    """A sentence from a column to the edge: over the free cells beside it, or wrapped where it is longer."""
    high = lines_high(words, sum(widths[first:]) - 2)
    if high > PLAIN:
        sheet.across(row, first, len(widths) - 1, words, text_wrap=True, **style)
    else:
        sheet.text(row, first, words, **style)
    sheet.height(row, max(PLAIN, high))
    return row + 1


def _option(
    sheet: Sheet, priced: PricedJob, option: PricedOption, screened: Screened, row: int, widths: Sequence[float]
) -> int:
    mark = ", chosen" if option.chosen else ""
    row = section(sheet, row, f"{option.site.name}: option {option.option.name}{mark}")
    for name, words in rows_of.facts(priced, screened):
        sheet.text(row, 0, name, font_color=look.FAINT)
        row = _words(sheet, row, words, widths, 1, bold=name.startswith("Told"))
    down = rows_of.take_down(screened.take_down)
    row = table(sheet, row, TAKE_DOWN, down, 0, widths) if down else _words(sheet, row, NO_WIND, widths)
    row = _checks(sheet, screened, row + 1, widths)
    if screened.unknown:
        row = _heading(sheet, row + 1, "To be answered: these could not be screened")
        for words in screened.unknown:
            row = _words(sheet, row, f"? {words}", widths)
    row = _forces(sheet, priced, screened, row + 1, widths)
    row = _heading(sheet, row + 1, "The sails under their pretension, in still air")
    shapes = [rows_of.sail_row(s, sheet.look.units) for s in screened.shapes]
    return table(sheet, row, SAILS, [[s[0], None, *s[1:-1], None, s[-1]] for s in shapes], 0, widths)


def _heading(sheet: Sheet, row: int, words: str) -> int:
    sheet.text(row, 0, words, bold=True)
    sheet.height(row, PLAIN)
    return row + 1


def _checks(sheet: Sheet, screened: Screened, row: int, widths: Sequence[float]) -> int:
    """Each row in the unit of its part; forces in jobs in feet and inches also in pounds."""
    feet = not metric(sheet.look.units)
    columns = (*CHECKS, *POUNDS) if feet else CHECKS
    row = _heading(sheet, row, "Parts at this gust, the most used first")
    headings(sheet, row, columns, widths)
    for number, (check, values) in enumerate(rows_of.checks(screened, sheet.look.units)):
        row += 1
        pounds = [check.demand, check.capacity] if check.unit == "N" else [None, None]
        style: dict[str, Any] = {"top": 1, "top_color": RULE} if number else {}
        style = line(sheet, row, columns, [*values, *pounds] if feet else values, widths, **style)
        kind = UNITS[check.unit][0]
        put(sheet, row, ASKED, kind, check.demand, **style)
        if check.used is not None and check.used >= 1:
            put(sheet, row, 0, "text", check.part, bold=True, **style)
            put(sheet, row, USED, "share", check.used, bold=True, **style)
        rated = "not known" if check.capacity is None else check.capacity
        put(sheet, row, RATED, kind, rated, **style)
    note = "Counts: whether the part takes part in the take-down wind. Bold: used up at this gust."
    sheet.text(row + 1, 0, note, font_color=look.FAINT)
    return row + 2


def _forces(sheet: Sheet, priced: PricedJob, screened: Screened, row: int, widths: Sequence[float]) -> int:
    rule = rows_of.rule_of_thumb(priced.book)
    row = _heading(sheet, row, "Pull of each corner on its fixing")
    values = [rows_of.corner_row(f, rule) for f in screened.forces]
    columns: tuple[Col, ...] = (*FORCES, *RULE_OF_THUMB)
    if not metric(sheet.look.units):
        columns = (*columns, *FORCES_POUNDS)
        values = [[*v, None, v[5], v[6]] for v in values]
    row = table(sheet, row, columns, values, 1, widths)
    words = (
        "Sideways and upward are the largest of the three winds. Rule of thumb: a post is pulled sideways by "
        f"{rows_of.rule_words(rule)}; the larger of the two is what a design has to carry."
    )
    return _words(sheet, row, words, widths, font_color=look.FAINT)


def _not_screened(sheet: Sheet, priced: PricedJob, row: int) -> None:
    left = rows_of.not_screened(priced)
    if not left:
        return
    row = section(sheet, row, "Not screened")
    columns = (Col("Site", "text", 25), Col("Option", "text", 24), Col("Why"))
    headings(sheet, row, columns)
    for number, (option, why) in enumerate(left):
        row += 1
        rule = {"top": 1, "top_color": INK if not number else RULE}
        sheet.text(row, 0, option.site.name, **rule)
        sheet.text(row, 1, option.option.name, **rule)
        sheet.text(row, 2, why)
        sheet.height(row, PLAIN)
