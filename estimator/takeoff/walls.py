"""A sail on a wall: marks, and posts opposite them, as fixings that the engine makes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from estimator.core.names import key
from estimator.core.problems import Problem, problem, scoped
from estimator.core.units import show_length
from estimator.geometry.wall import WallRefused, WallSetOut, set_out_wall
from estimator.job.model import Fixing, Option, Sail, Wall
from estimator.rates.model import RateBook
from estimator.takeoff import rigging
from estimator.takeoff.model import WallMarks
from estimator.takeoff.sizes import stock_size

RAFTER, POST = "rafter", "new post"
HAIR = 1e-6


def set_out(
    book: RateBook, option: Option, walls: Mapping[str, Wall], units: str
) -> tuple[Option, tuple[Fixing, ...], tuple[WallMarks, ...], list[Problem]]:
    """The option with its wall sails on fixings of their own; those fixings, the marks, and what is wrong.

    Names are W1, W2 for the marks and P1, P2 for the posts opposite them, counted on for a second sail.
    """
    sails: list[Sail] = []
    fixings: list[Fixing] = []
    marks: list[WallMarks] = []
    problems: list[Problem] = []
    for sail in option.sails:
        wall = walls.get(key(sail.wall)) if sail.wall else None
        if wall is None:
            sails.append(sail)
            continue
        if sail.corners_at:
            problems.append(problem("wall-and-corners", sail.source.place("Wall")))
            sails.append(sail)
            continue
        if sail.size.kind == "stock" and key(sail.size.code) not in book.sails:  # told where it was read
            sails.append(sail)
            continue
        found = _one(book, sail, wall)
        if isinstance(found, Problem):
            problems.append(found)
            sails.append(sail)
            continue
        number = 1 + len(fixings) // 2
        made = _fixings(wall, found, number)
        fixings += made
        sails.append(replace(sail, corners_at=tuple(f.name for f in made)))
        taken = WallMarks(
            sail.name,
            wall.name,
            wall.length,
            tuple((f"W{number + i}", m.to_start, m.to_end, m.moved) for i, m in enumerate(found.marks)),
            found.each_end,
            found.extra_each_corner,
            wall.start_across,
            wall.out,
            wall.first_rafter,
            wall.rafter_spacing,
        )
        marks.append(taken)
        problems.append(_said(taken, found, wall, sail, units))
    scope = scoped(problems, site=option.site, option=option.name)
    return replace(option, sails=tuple(sails)), tuple(fixings), tuple(marks), scope


def _said(taken: WallMarks, found: WallSetOut, wall: Wall, sail: Sail, units: str) -> Problem:
    words = "; ".join(
        f"{name} {show_length(start, units)} from the start of {wall.name} and {show_length(end, units)} from its end"
        + (f", moved out {show_length(moved, units)}" if moved > HAIR else "")
        for name, start, end, moved in taken.marks
    )
    out = show_length(found.posts[0].out - wall.out, units)
    chain = show_length(found.extra_each_corner, units)
    return problem("wall-moved", sail.source.place("Wall"), name=f"sail {sail.name}", marks=words, out=out, chain=chain)


def _one(book: RateBook, sail: Sail, wall: Wall) -> WallSetOut | Problem:
    size = sail.size
    if size.kind == "stock":
        size = stock_size(book.sails[key(size.code)])
    if size.kind != "sides" or len(size.sides) != 2:
        return problem("wall-size", sail.source.place("Size"), found=sail.size.text or "blank")
    along, out = size.sides
    sets = rigging.sets_in_turn(book, max(along, out), sail.hardware)
    needed = rigging.tight_length(book, sets[0], True) if sets else 0.0
    at_rafters = key(wall.held_by) == RAFTER  # anything else is fastened where the mark falls
    found = set_out_wall(
        length=wall.length,
        start_across=wall.start_across,
        out=wall.out,
        centre=wall.centre,
        fixing_height=wall.fixing_height,
        first_rafter=wall.first_rafter if at_rafters else None,
        rafter_spacing=wall.rafter_spacing if at_rafters else None,
        side_along=along,
        side_out=out,
        spare_each_end=book.number("spare length") * along / 2,
        needed_each_end=needed,
        post_height=wall.post_height,
        post_ground=wall.post_ground,
    )
    return _refused(found, wall) if isinstance(found, WallRefused) else found


def _refused(found: WallRefused, wall: Wall) -> Problem:
    marks = ", ".join(f"{m} by {show_length(b, 'metric')}" for m, b in zip(found.marks, found.by, strict=False))
    longest = show_length(found.longest or 0.0, "metric")
    column = "First rafter" if "rafter" in found.kind else "Length"
    return problem(f"wall-{found.kind}", wall.source.place(column), marks=marks, longest=longest)


def _fixings(wall: Wall, found: WallSetOut, number: int) -> list[Fixing]:
    """Marks and posts in order round the sail: W1, W2, P2, P1."""
    blank = Fixing(
        site=wall.site, name="", held_by="", across=0.0, out=0.0, height=0.0, ground=0.0, post_name="", post="",
        depth=None, hole=None, lean=None, tied=False, ground_class="", rock_at=None, to_edge=None,
        known_by="measured", to_boundary=None, to_service=None, for_crew="", notes="", source=wall.source,
    )  # fmt: skip
    made = []
    for i, m in enumerate(found.marks):
        name = f"W{number + i}"
        made.append(
            replace(blank, name=name, held_by=wall.held_by, across=m.across, out=m.out, height=m.height,
                    ground=wall.post_ground, post_name=name, to_edge=min(m.to_start, m.to_end))
        )  # fmt: skip
    for i, p in reversed(list(enumerate(found.posts))):
        name = f"P{number + i}"
        made.append(
            replace(blank, name=name, held_by=POST, across=p.across, out=p.out, height=p.height, ground=p.ground,
                    post_name=name)
        )  # fmt: skip
    return made


def by_name(walls: Sequence[Wall]) -> Mapping[str, Wall]:
    """Walls by the key of their name."""
    return {key(w.name): w for w in walls}
