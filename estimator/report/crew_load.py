"""Sheet `Load`: what to load for each visit, who works how long, and the order of tightening. No money on it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.units import show_length
from estimator.pricing.model import PricedJob, PricedOption
from estimator.rates.model import RateBook
from estimator.report import crew_tables, look
from estimator.report.look import Sheet
from estimator.report.setout_page import TITLE_HIGH, keep_together, page_high, small_heading
from estimator.report.table import Col, section, table
from estimator.report.words import lines_high, plural
from estimator.takeoff.model import Line

COLUMNS = (Col("Load"), Col("Quantity", "quantity"), Col("Unit"), Col("Loaded"))
LOAD_WIDTHS = [46.0, 11.0, 10.0, 10.0]
FOOTINGS, HANG, EVERY = "footings", "hang", "every visit"
ON_POSTS = ("footing", "post")
EACH_TIME = ("job", "site", "option", "visit", "day")


def write(sheet: Sheet, priced: PricedJob, options: Sequence[PricedOption]) -> None:
    """Write the sheet: option by option, visit by visit."""
    look.page(sheet, look.CREW, priced.job.header.name, LOAD_WIDTHS, landscape=False)
    look.title(sheet, look.CREW, "Load, visit by visit", len(LOAD_WIDTHS) - 1)
    row, breaks = 3, []
    for option in options:
        if row > 3:
            breaks.append(row)
        starts, end = _option(sheet, priced, option, row)
        breaks += keep_together(sheet, starts, end, page_high(priced), TITLE_HIGH if row == 3 else 0.0)
        row = end
    whole = [x for x in (priced.job_bill.lines if priced.job_bill else ()) if x.kind in ("material", "hire")]
    if whole:
        row = section(sheet, row, "For the whole job")
        row = table(sheet, row, COLUMNS, _rows(whole), 0, LOAD_WIDTHS)
    if row == 3:
        sheet.text(row, 0, "Nothing is chosen yet.", font_color=look.FAINT)
    sheet.ws.set_h_pagebreaks(breaks[:1000])


def _option(sheet: Sheet, priced: PricedJob, option: PricedOption, row: int) -> tuple[list[int], int]:
    """One option. Gives the first row of each part that stays whole, and the row after."""
    starts = [row]
    taken, lines = option.taken, option.bill.lines if option.bill else ()
    row = section(sheet, row, f"{option.site.name}: option {option.option.name}")
    groups: dict[str, list[Line]] = {}
    for line in lines:
        visit = visit_of(priced, option, line)
        if visit:
            groups.setdefault(visit, []).append(line)
    if groups.get(EVERY):
        row = small_heading(sheet, row, "On every visit, as long as needed")
        row = table(sheet, row, COLUMNS, _rows(groups[EVERY]), 0, LOAD_WIDTHS) + 1
    for visit in dict.fromkeys([*taken.visits, *(v for v in groups if v != EVERY)]):
        starts.append(row)
        row = small_heading(sheet, row, _heading(option, visit))
        work = [(h.task, h.hours) for h in taken.hours if h.visit == visit]
        if work:
            row = _note(sheet, row, "Person-hours: " + "; ".join(f"{task} {hours:.2f}" for task, hours in work) + ".")
        if groups.get(visit):
            row = table(sheet, row, COLUMNS, _sails(option, visit) + _rows(groups[visit]), 0, LOAD_WIDTHS)
        for words in _also(priced, option, visit):
            row = _note(sheet, row, words)
        row += 1
    return starts, row


def visit_of(priced: PricedJob, option: PricedOption, line: Line) -> str:
    """The visit a line is loaded for; blank for what nobody loads: hours, fees, work by others, travel, spoil."""
    book = priced.book
    away = {key(book.text(n)) for n in ("travel item", "spoil item") if n in book.settings}
    if line.kind not in ("material", "hire") or key(line.code) in away:
        return ""
    stone = {key(book.text("stone item"))} if "stone item" in book.settings else set()
    if line.table in ("posts", "concrete") or key(line.code) in stone:
        return _footings(book)
    if line.table == "cloths":
        return ""  # the cloth comes as a sail
    if line.table in ("sails", "rigging"):
        return HANG
    typed = next((e for e in priced.job.extras if _names(line) & {key(e.description), key(e.item)}), None)
    if typed and typed.visit:
        return typed.visit.casefold()
    if line.kind == "hire":
        return EVERY
    plates = {key(s.kit) for s in book.supports.values() if s.makes == "plate post"}
    rows = [row for row in book.kits if key(row.item) == key(line.code)]
    if any(row.for_each in ON_POSTS or key(row.kit) in plates for row in rows):
        return _footings(book)
    return EVERY if rows and all(row.for_each in EACH_TIME for row in rows) else HANG


def _names(line: Line) -> set[str]:
    return {key(line.code), key(line.description)} - {""}


def _footings(book: RateBook) -> str:
    return book.text("digging visit") if "digging visit" in book.settings else FOOTINGS


def _heading(option: PricedOption, visit: str) -> str:
    hours = sum(h.hours for h in option.taken.hours if h.visit == visit)
    days = (option.taken.days or {}).get(visit)
    parts = [plural(days, "day") if days else "", f"{from_float(round(hours, 2)):.2f} person-hours" if hours else ""]
    said = ", ".join(p for p in parts if p)
    return f"Visit {visit}" + (f": {said}" if said else "")


def _sails(option: PricedOption, visit: str) -> list[list[object]]:
    """Sails that are made for the job; ready-made ones are lines of the bill."""
    if visit != HANG:
        return []
    made = [s for s in option.taken.sails if s.origin != "stock"]
    return [[f"Sail {s.sail}, {s.origin}, {s.colour}".strip(", "), Decimal(1), "each", "[   ]"] for s in made]


def _rows(lines: Sequence[Line]) -> list[list[object]]:
    """One row an item; lines of one description are added."""
    found: dict[tuple[str, str], Decimal] = {}
    for x in lines:
        slot = (x.description, x.unit)
        found[slot] = found.get(slot, Decimal(0)) + x.quantity
    return [[words, quantity, unit, "[   ]"] for (words, unit), quantity in found.items() if quantity]


def _also(priced: PricedJob, option: PricedOption, visit: str) -> list[str]:
    """Cut lengths, and what has to be waited for."""
    units, taken = priced.job.header.units, option.taken
    if visit == _footings(priced.book):
        found = []
        if taken.posts:
            cuts = [f"{p.post_name} {show_length(p.length, units)}" for p in taken.posts]
            found.append(f"Cut the posts to: {'; '.join(cuts)}.")
        if taken.footings:
            found.append(_wait(priced, "cure before touch", "the post is touched again"))
        return [w for w in found if w]
    if visit != HANG:
        return []
    found = [_wait(priced, "cure before hanging", "the sail is hung")] if taken.footings else []
    several = len(taken.sails) > 1
    for run in ("chain", "wire rope"):
        cuts = [
            (f"{c.sail} " if several else "") + f"{c.fixing} {show_length(c.cut_length, units)}"
            for c in taken.corners
            if c.run == run and c.cut_length > 0
        ]
        if cuts:
            found.append(f"Cut the {run} to: {'; '.join(cuts)}.")
    return [w for w in (*found, *crew_tables.tightening(option)) if w]


def _wait(priced: PricedJob, name: str, until: str) -> str:
    setting = priced.book.settings.get(name)
    if setting is None or not isinstance(setting.value, float):
        return ""
    return f"Concrete rests {plural(int(setting.value), 'day')} before {until}."


def _note(sheet: Sheet, row: int, words: str) -> int:
    sheet.across(row, 0, len(LOAD_WIDTHS) - 1, words, text_wrap=True)
    sheet.height(row, lines_high(words, sum(LOAD_WIDTHS) - 2))
    return row + 1
