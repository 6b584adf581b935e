"""Sheet `Posts`: the posts, and below them their footings."""

from __future__ import annotations

from estimator.core.names import key
from estimator.core.units import show_length
from estimator.pricing.model import PricedJob
from estimator.report import look
from estimator.report.look import Sheet
from estimator.report.table import Col, section, table

POSTS = (
    Col("Site", "text", 15),
    Col("Option", "text", 8),
    Col("Post", "text", 9),
    Col("Fixings", "text", 12),
    Col("Section", "text", 14),
    Col("Finish", "text", 18),
    Col("Width", "length", 9),
    Col("Above ground", "length", 9),
    Col("In ground", "length", 9),
    Col("Length needed", "length", 9),
    Col("Length bought", "length", 9),
    Col("Lean", "angle", 9),
    Col("Foot across", "length", 9),
    Col("Foot out", "length", 9),
    Col("Stands", "text", 13),
    Col("Sail lies", "text", 13),
    Col("How it came about", "text", 46),
)
FOOTINGS = (
    Col("Site"),
    Col("Option"),
    Col("Post"),
    Col("Fixings"),
    Col("Ground"),
    Col("Rule of the depth"),
    Col("Hole across", "length"),
    Col("Hole out", "length"),
    Col("Diameter", "length"),
    Col("Depth", "length"),
    Col("Hole depth", "length"),
    Col("Hole", "volume"),
    Col("Stone", "volume"),
    Col("Pad", "volume"),
    Col("Concrete", "volume"),
    Col("Spoil", "volume"),
    Col("How it came about"),
)


def write(sheet: Sheet, priced: PricedJob) -> None:
    """Write the sheet."""
    look.page(sheet, look.OFFICE, priced.job.header.name, [c.width for c in POSTS], landscape=True, frozen=2)
    look.title(sheet, look.OFFICE, "Posts and footings", len(POSTS) - 1)
    row = section(sheet, 3, "Posts")
    row = table(sheet, row, POSTS, _posts(priced))
    row = section(sheet, row + 1, "Footings, in place, without waste")
    row = table(sheet, row, FOOTINGS, _footings(priced, sheet.look.units), 2, [c.width for c in POSTS])
    note = (
        "Sizes follow rules of size, never of load; any check of strength is indicative and for an engineer to confirm."
    )
    sheet.text(row + 1, 0, note, font_color=look.FAINT)


def _posts(priced: PricedJob) -> list[list[object]]:
    return [
        [
            o.site.name,
            o.option.name,
            p.post_name,
            ", ".join(p.fixings),
            p.post,
            _finish(priced, p.post),
            p.width,
            p.above_ground,
            p.in_ground,
            p.length,
            p.stock_length,
            p.lean,
            p.foot_across,
            p.foot_out,
            "on a plate" if p.on_plate else "in the ground",
            _toward(p.toward),
            p.working,
        ]
        for o in priced.options
        for p in o.taken.posts
    ]


def _finish(priced: PricedJob, code: str) -> str:
    """What keeps a post from rust or rot, by the rate book."""
    section_row = priced.book.posts.get(key(code))
    return section_row.finish if section_row else ""


def _footings(priced: PricedJob, units: str) -> list[list[object]]:
    found: list[list[object]] = []
    for o in priced.options:
        for f in o.taken.footings:
            shown = [f"by {name} {show_length(depth, units)}" for name, depth in f.others if name not in f.working]
            rock = "" if f.rock_from is None else f"rock from {show_length(f.rock_from, units)}"
            found.append(
                [
                    o.site.name,
                    o.option.name,
                    f.post_name,
                    ", ".join(f.fixings),
                    ", ".join(x for x in (f.ground, rock) if x),
                    f.rule,
                    f.hole_across,
                    f.hole_out,
                    f.diameter,
                    f.depth,
                    f.hole_depth,
                    f.hole,
                    f.stone,
                    f.pad,
                    f.concrete,
                    f.spoil,
                    "; ".join(x for x in (f.working, *shown) if x),
                ]
            )
    return found


def _toward(direction: tuple[float, float]) -> str:
    """Which way the sail lies from the post, in words; the post leans the other way."""
    across, out = direction
    sides = [w for w, part in (("right", across), ("left", -across), ("out", out), ("back", -out)) if part > 0.38]
    return ", ".join(sides) or "all round"
