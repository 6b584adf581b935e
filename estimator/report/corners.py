"""Sheet `Corners`: how each corner is hung."""

from __future__ import annotations

from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.table import Col, table

COLUMNS = (
    Col("Site", "text", 14),
    Col("Option", "text", 7),
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
    Col("Slack", "length", 8),
    Col("Weakest part", "text", 12),
    Col("Working load", "force", 9),
    Col("How it came about", "text", 46),
)


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet."""
    look.page(sheet, look.OFFICE, priced.job.header.name, [c.width for c in COLUMNS], landscape=True, frozen=3)
    look.title(sheet, look.OFFICE, "Corners", len(COLUMNS) - 1)
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
            c.slack,
            c.weakest,
            c.working_load,
            c.working,
        ]
        for o in priced.options
        for c in o.taken.corners
    ]
    row = table(sheet, 2, COLUMNS, values)
    note = "Loads are the makers' working loads, not a check of the corner: any comparison with them is indicative."
    sheet.text(row + 1, 0, note, font_color=look.FAINT)
