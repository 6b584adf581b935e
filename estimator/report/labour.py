"""Sheet `Labour`: hours by task, trade and visit; days; the cure between visits."""

from __future__ import annotations

from estimator.core.money import from_float
from estimator.pricing.model import PricedJob
from estimator.pricing.rework import coming_back
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.rows import cell
from estimator.report.table import Col, headings, put, section, table
from estimator.report.terms import terms_of
from estimator.report.words import money_words
from estimator.takeoff.lines import number

COLUMNS = (
    Col("Site", "text", 22),
    Col("Option", "text", 10),
    Col("Visit", "text", 16),
    Col("Task", "text", 24),
    Col("Trade", "text", 16),
    Col("Hours", "hours", 10),
    Col("How it came about", "text", 44),
)
VISITS = (
    Col("Site"),
    Col("Option"),
    Col("Visit"),
    Col("Days on site", "whole"),
    Col("", "text"),
    Col("Hours", "hours"),
)
CURES = ("cure before touch", "cure before hanging")


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet: the visits first, since they are asked for first."""
    header = priced.job.header
    look.page(sheet, look.OFFICE, header.name, [c.width for c in COLUMNS], landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Labour", len(COLUMNS) - 1)
    tasks = [
        [o.site.name, o.option.name, h.visit, h.task, h.trade, from_float(h.hours), h.working]
        for o in priced.options
        for h in o.taken.hours
    ]
    visits = [(o, v) for o in priced.options for v in o.taken.visits]
    top = section(sheet, 3, "Visits")
    back = _coming_back(priced)
    first_task = top + 1 + max(len(visits), 1) + 4 + len(back)
    headings(sheet, top, VISITS, [c.width for c in COLUMNS])
    for place, (o, visit) in enumerate(visits):
        row = top + 1 + place
        rule = {"top": 1, "top_color": look.RULE}
        for column, words in enumerate((o.site.name, o.option.name, visit)):
            put(sheet, row, column, "text", words, **rule)
        days = (o.taken.days or {}).get(visit)
        put(sheet, row, 3, "whole", days, **rule)
        put(sheet, row, 4, "text", "", **rule)
        hours = from_float(sum(h.hours for h in o.taken.hours if h.visit == visit))
        last = first_task + len(tasks) - 1
        columns = [f"{cell(first_task, c)}:{cell(last, c)}" for c in (5, 0, 1, 2)]
        asked = ",".join(f"{r},{cell(row, n)}" for n, r in enumerate(columns[1:]))
        sheet.formula(row, 5, f"SUMIFS({columns[0]},{asked})", hours, look.HOURS, **rule)
    if not visits:
        sheet.text(top + 1, 0, "none", font_color=look.FAINT)
    row = top + 1 + max(len(visits), 1)
    for below, words in enumerate([_cures(priced), *back]):
        sheet.text(row + below, 0, words, font_color=look.FAINT)
    section(sheet, first_task - 2, "Person-hours by task")
    table(sheet, first_task - 1, COLUMNS, tasks, groups=3)


def _coming_back(priced: PricedJob) -> list[str]:
    """What it costs to come back to each site once more; that is in no price."""
    found = []
    for site in {o.site.name: o.site for o in priced.options if o.bill is not None}.values():
        once = coming_back(priced.book, priced.job.header, site)
        cost = money_words(once.cost, terms_of(priced).currency)
        found.append(
            f"Coming back to {site.name} once more, for rework: {number(once.km)} km and {number(once.hours, 2)} "
            f"person-hours on the road and to set up, {cost} at cost; in no price."
        )
    return found


def _cures(priced: PricedJob) -> str:
    found = [priced.book.settings[name] for name in CURES if name in priced.book.settings]
    words = "; ".join(f"{s.name} {s.shown or f'{s.value:g} {s.unit}'}" for s in found if isinstance(s.value, float))
    return f"Between visits: {words}." if words else "Between visits: no cure in the settings."
