"""What the crew reads beside the drawing: two tapes to a hole, which link, lead holes, the order of tightening.

Values only, in metres, for the set-out pages to print; nothing here knows any money.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import dist

from estimator.core.names import key
from estimator.geometry.wall import two_tape
from estimator.pricing.model import PricedJob, PricedOption
from estimator.takeoff.model import Corner, Post, SailTaken

LEAD = 2  # mm that the lead hole of a coach screw stays under its shank: common practice, no source
# clearance holes for bolts [mm], medium series of ISO 273
CLEARANCE = {6: 6.6, 8: 9.0, 10: 11.0, 12: 13.5, 14: 15.5, 16: 17.5, 20: 22.0, 24: 26.0, 30: 33.0}


@dataclass(frozen=True, slots=True)
class Tapes:
    """Level distances to the centre of a hole from two marks, and the side of the line from the first to the
    second mark where it lies; without distances: measured from the datum."""

    post_name: str
    marks: str
    first: float | None
    second: float | None
    across: float
    out: float
    side: str


def tapes(priced: PricedJob, option: PricedOption) -> list[Tapes]:
    """How every hole is found with two tapes.

    Known marks: fixings on a house or marks of a wall; with fewer than two, everything that stands already; with
    fewer than two again, the first holes themselves, which are measured from the datum.
    """
    marks = known_marks(priced, option)
    found = []
    for f in option.taken.footings:
        at = (f.hole_across, f.hole_out)
        tape = two_tape(marks, at)
        if tape is None:
            found.append(Tapes(f.post_name, "from the datum", None, None, *at, ""))
            marks = [*marks, (f"hole {f.post_name}", *at)]
            continue
        names = f"{tape.first}, {tape.second}"
        found.append(Tapes(f.post_name, names, tape.first_distance, tape.second_distance, *at, tape.side))
    return found


def known_marks(priced: PricedJob, option: PricedOption) -> list[tuple[str, float, float]]:
    """Marks that stand before any hole is dug: name, across, out."""
    supports = priced.book.supports
    held = [(p, supports.get(key(p.held_by))) for p in option.taken.points]
    on_wall = {key(m[0]) for w in option.taken.marks for m in w.marks}
    house = [p for p, s in held if (s and s.house) or key(p.fixing) in on_wall]
    standing = [p for p, s in held if not (s and s.makes)]
    chosen = house if len({(p.across, p.out) for p in house}) > 1 else standing
    return list({(p.across, p.out): (p.fixing, p.across, p.out) for p in chosen}.values())


def hole_pairs(option: PricedOption) -> list[tuple[str, str, float]]:
    """Level distances from hole to hole, to check them by; past six holes only from each to the next."""
    holes = option.taken.footings
    pairs = combinations(holes, 2) if len(holes) <= 6 else zip(holes, [*holes[1:], holes[0]], strict=True)
    return [
        (a.post_name, b.post_name, dist((a.hole_across, a.hole_out), (b.hole_across, b.hole_out))) for a, b in pairs
    ]


def fixing_pairs(option: PricedOption) -> list[tuple[str, str, float, float]]:
    """Straight and level distances: all of few fixings; of many the sides of each sail and the diagonals from one."""
    points = {key(p.fixing): p for p in option.taken.points}
    names = list(points)
    pairs = list(combinations(names, 2))
    if len(names) > 6:
        rings = [[key(f) for f in s.fixings if key(f) in points] for s in option.taken.sails] or [names]
        sides = [(r[n], r[(n + 1) % len(r)]) for r in rings for n in range(len(r))]
        across = [p for r in rings for p in combinations(r, 2) if len(r) <= 5 or p[0] == r[0]]
        pairs = list({frozenset(p): p for p in reversed([*sides, *across])}.values())[::-1]
    found = []
    for one, two in pairs:
        a, b = points[one], points[two]
        level = (a.across, a.out), (b.across, b.out)
        found.append((a.fixing, b.fixing, dist((*level[0], a.height), (*level[1], b.height)), dist(*level)))
    return found


def hook(corner: Corner) -> str:
    """Which link to hook on, counted from the fixing."""
    if corner.links is None:
        return "rope, no links"
    if corner.links == 0:
        return "no links"
    whole = round(corner.cut_length / corner.pitch) if corner.pitch else 0
    return f"link {corner.links}" + (f" of {whole}" if whole > corner.links else "")


def leans_to(post: Post) -> str:
    """Which way a post leans, in the words of the axes; it leans away from the sail."""
    if not post.lean or not any(post.toward):
        return "stands plumb"
    across, out = -post.toward[0], -post.toward[1]
    parts = (("right", across), ("left", -across), ("out", out), ("back to the house", -out))
    return ", ".join(words for words, part in parts if part > 0.38)


def drills(priced: PricedJob, option: PricedOption) -> list[str]:
    """Holes to drill, for screws and bolts whose size the rate book says plainly."""
    at: dict[str, list[str]] = {}
    eyes = {(key(c.fixing), code) for c in option.taken.corners for code, _ in c.parts}
    for p in option.taken.points:
        support = priced.book.supports.get(key(p.held_by))
        kit = support.kit if support else ""
        codes = [row.item for row in priced.book.kits if kit and key(row.kit) == key(kit)]
        said = [priced.book.items[key(c)].description for c in codes if key(c) in priced.book.items]
        words = [drill(d) for d in said]
        if support and support.makes:
            parts = [priced.book.rigging.get(key(code)) for fixing, code in sorted(eyes) if fixing == key(p.fixing)]
            words += [drill(part.description) for part in parts if part and part.kind == "eye"]
        for w in words:
            if w:
                at.setdefault(w, []).append(p.fixing)
    return [f"At {', '.join(dict.fromkeys(names))}: {words}." for words, names in at.items()]


def drill(description: str) -> str:
    """The hole for a screw, bolt or stud; blank where its size is not plain.

    >>> drill("Coach screw M12 x 120"), drill("Through bolt M12 with nut and washers"), drill("Sealant")
    ('coach screw M12, lead hole 10 mm', 'through bolt M12, hole 13.5 mm', '')
    """
    size = re.search(r"\bM(\d{1,2})\b", description)
    words = description.casefold()
    if size is None:
        return ""
    m = int(size[1])
    if "coach screw" in words and m > 4:
        return f"coach screw M{m}, lead hole {m - LEAD} mm"
    if ("through bolt" in words or "eye bolt" in words) and m in CLEARANCE:
        return f"{'eye' if 'eye' in words else 'through'} bolt M{m}, hole {CLEARANCE[m]:g} mm"
    if "stud" in words and "resin" in words:
        return f"stud M{m} in resin, hole as the maker of the resin says, blown clean"
    return ""


def tightening(option: PricedOption) -> list[str]:
    """The order of tightening, sail by sail: opposite pairs first. How to tighten is a caution of the wording."""
    several = len(option.taken.sails) > 1
    found = []
    for sail in option.taken.sails:
        mine = {key(c.fixing): c for c in option.taken.corners if key(c.sail) == key(sail.sail)}
        fixed = [f for f in sail.fixings if key(f) in mine and mine[key(f)].tensioner is None]
        before = f"Sail {sail.sail}: " if several else ""
        if fixed:
            found.append(f"{before}Hook on {', '.join(fixed)} first: no tensioner there.")
        found.append(f"{before}Open every tensioner in full and hook on; then tighten {rounds(sail.fixings, fixed)}.")
    return found


def rounds(fixings: Sequence[str], without: Sequence[str] = ()) -> str:
    """Corners in the order they are tightened: each with the one opposite it.

    >>> rounds(["A", "B", "C", "D"]), rounds(["A", "B", "C"]), rounds(["A", "B", "C", "D"], ["B"])
    ('A and C, then B and D', 'A, then B, then C', 'A and C, then D')
    """
    count = len(fixings)
    if count == 3:
        groups = [[f] for f in fixings]
    else:
        groups = [[fixings[n], fixings[n + count // 2]] for n in range(count // 2)]
        groups += [[fixings[-1]]] if count % 2 else []
    kept = [[f for f in g if f not in without] for g in groups]
    return ", then ".join(" and ".join(g) for g in kept if g)


def hardware(priced: PricedJob, corner: Corner) -> str:
    """The parts of a corner in words, from the fixing to the sail, without any code of the rate book."""
    found = []
    for code, number in corner.parts:
        part = priced.book.rigging.get(key(code))
        if part is None or part.kind in ("chain", "wire rope"):
            continue
        found.append(f"{number:g} × {part.description or part.kind}")
    return "; ".join(found)


def high_and_low(sail: SailTaken) -> tuple[str, str]:
    """The fixings of the highest and of the lowest corners of a sail, to the centimetre."""
    heights = [c[2] for c in sail.corners]
    if not heights or max(heights) - min(heights) < 0.01:
        return "", ""
    pairs = list(zip(sail.fixings, heights, strict=False))
    top = [f for f, h in pairs if max(heights) - h < 0.01]
    low = [f for f, h in pairs if h - min(heights) < 0.01]
    return ", ".join(top), ", ".join(low)
