"""Sheet `Corners`: how each corner is hung."""

from __future__ import annotations

from collections.abc import Mapping

from estimator.core.money import from_float
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.table import Col, section, table
from estimator.takeoff.model import Corner

COLUMNS = (
    Col("Site", "text", 14),
    Col("Option", "text", 11),
    Col("Sail", "text", 6),
    Col("Fixing", "text", 7),
    Col("Gap", "length", 8),
    Col("Off bisector", "angle", 9),
    Col("Off centroid", "angle", 9),
    Col("Set", "text", 9),
    Col("Run", "text", 9),
    Col("Links", "whole", 6),
    Col("Run length", "length", 8),
    Col("Cut length", "length", 8),
    Col("Tensioner", "text", 10),
    Col("Take-up used", "length", 8),
    Col("Take-up left", "length", 8),
    Col("Left after creep", "length", 8),
    Col("Slack", "length", 8),
    Col("Weakest part", "text", 12),
    Col("Working load", "force", 9),
    Col("How it came about", "text", 46),
)
PULL = (Col("Greatest pull", "force", 9), Col("Pull over working load", "share", 9))  # where anything is screened
FALLS = (
    Col("Site", "text", 14),
    Col("Option", "text", 11),
    Col("Sail", "text", 6),
    Col("From", "text", 7),
    Col("To", "text", 8),
    Col("Along", "text", 9),
    Col("Degrees", "angle", 9),
    Col("Per cent", "percent", 9),
    Col("mm per m", "whole", 9),
)
DRAINS = (
    Col("Site", "text", 14),
    Col("Option", "text", 11),
    Col("Sail", "text", 6),
    Col("Lowest at", "text", 7),
    Col("Drains to", "text", 8),
    Col("Steepest fall to it", "angle", 9),
    Col("Litres a second", "quantity", 9),
    Col("Plan area", "area", 9),
)


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet: corners, falls, and where each sail drains."""
    screened = any(o.screened for o in priced.options)
    columns = (*COLUMNS[:-1], *PULL, COLUMNS[-1]) if screened else COLUMNS
    widths = [c.width for c in columns]
    look.page(sheet, look.OFFICE, priced.job.header.name, widths, landscape=True, frozen=3)
    look.title(sheet, look.OFFICE, "Corners", len(columns) - 1)
    values = [
        [
            o.site.name,
            o.option.name,
            c.sail,
            c.fixing,
            c.gap,
            c.off_bisector,
            c.off_centroid,
            c.set,
            c.run,
            c.links,
            c.run_length,
            c.cut_length,
            c.tensioner or "none",
            c.take_up_used,
            c.take_up_left,
            c.take_up_after_creep,
            c.slack,
            c.weakest,
            c.working_load,
            *(_pull(c, forces) if screened else ()),
            c.working,
        ]
        for o, forces in ((o, _greatest(o)) for o in priced.options)
        for c in o.taken.corners
    ]
    row = table(sheet, 2, columns, values)
    row = section(sheet, row + 1, "Fall along every side and diagonal, from the higher to the lower corner")
    row = table(sheet, row, FALLS, _falls(priced), 3, widths)
    row = section(sheet, row + 1, "Where the water goes")
    row = table(sheet, row, DRAINS, _drains(priced), 2, widths)
    rain = priced.book.settings.get("rain")
    shower = f"{rain.value:g} mm an hour" if rain and isinstance(rain.value, float) else "a heavy shower"
    words = f"Litres a second of a waterproof cloth under {shower}, from its plan area; other cloths let water through."
    sheet.text(row, 0, words, font_color=look.FAINT)
    note = "Loads are the makers' working loads, not a check of the corner: any comparison with them is indicative."
    sheet.text(row + 1, 0, note, font_color=look.FAINT)
    if screened:
        more = "Pulls are those of the sheet Screening, which also looks at an eye that is pulled at an angle."
        sheet.text(row + 2, 0, more, font_color=look.FAINT)


def _greatest(option: PricedOption) -> dict[tuple[str, str], float]:
    """The greatest pull at each corner by sail and fixing [N]; none where the option is not screened."""
    return {(f.sail, f.fixing): f.greatest for f in option.screened.forces} if option.screened else {}


def _pull(corner: Corner, forces: Mapping[tuple[str, str], float]) -> list[object]:
    """The greatest pull at a corner, and its share of the working load."""
    pull = forces.get((corner.sail, corner.fixing))
    if pull is None or not corner.working_load:
        return [pull, None]
    return [pull, pull / corner.working_load]


def _falls(priced: PricedJob) -> list[list[object]]:
    return [
        [o.site.name, o.option.name, f.sail, f.start, f.end, "side" if f.side else "diagonal", f.degrees,
         f.percent / 100, round(f.mm_per_m)]
        for o in priced.options
        for f in o.taken.falls
    ]  # fmt: skip


def _drains(priced: PricedJob) -> list[list[object]]:
    areas = {id(o): {s.sail: s.plan_area for s in o.taken.sails} for o in priced.options}
    return [
        [o.site.name, o.option.name, d.sail, d.fixing, o.site.drains_to or "not said", d.fall,
         from_float(round(d.litres, 2)) if d.waterproof else None, areas[id(o)][d.sail]]
        for o in priced.options
        for d in o.taken.drains
    ]  # fmt: skip
