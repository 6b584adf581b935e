"""New posts: which section, how long, how it leans, where its foot stands. Lengths m, angles degrees."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, radians, tan

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.geometry.post import foot, lean_direction, post_lengths
from estimator.job.model import Fixing, Sail
from estimator.rates.model import PostSection, RateBook
from estimator.takeoff.model import Post

HAIR = 1e-9
APART = 0.5  # m in plan beyond which two fixings cannot be on one post
ASKEW = 0.15  # m in plan off the axis that a person should look at

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Asked:
    """What Fixings and Options ask of one post. place: of the post's highest fixing's row."""

    post_name: str
    fixings: tuple[Fixing, ...]
    section: str
    depth: float | None
    hole: float | None
    lean: float | None
    tied: bool
    place: Place

    @property
    def top(self) -> Fixing:
        """The highest fixing: the axis of the post passes through it."""
        return max(self.fixings, key=lambda f: f.height)


def gather(fixings: Sequence[Fixing], sails: Sequence[tuple[Sail, Sequence[str]]]) -> tuple[list[Asked], list[Problem]]:
    """The new posts under these fixings, and where two rows ask for different things.

    sails: each sail with the fixings it hangs on. What Fixings says wins over Options; two sails that
    disagree, or two fixings of one post that disagree, are a problem that names both cells.
    """
    problems: list[Problem] = []
    asked: list[Asked] = []
    groups: dict[str, list[Fixing]] = {}
    for f in fixings:
        groups.setdefault(key(f.post_name), []).append(f)
    for group in groups.values():
        hung = [sail for sail, at in sails if any(f.name in at for f in group)]
        values: dict[str, str | float | None] = {}
        for column in ("Post", "Depth", "Hole", "Lean"):
            given = _asked_for(column, group, hung)
            if len({v for v, _ in given}) > 1:
                cells = " and ".join(dict.fromkeys(str(p) for _, p in given))
                name = group[0].post_name
                problems.append(problem("post-disagrees", given[-1][1], column=column, name=name, cells=cells))
            values[column] = given[0][0] if given else None
        top = max(group, key=lambda f: f.height)
        problems += _apart(group, top)
        asked.append(
            Asked(
                post_name=top.post_name,
                fixings=tuple(group),
                section=str(values["Post"] or ""),
                depth=_number(values["Depth"]),
                hole=_number(values["Hole"]),
                lean=_number(values["Lean"]),
                tied=any(f.tied for f in group),
                place=top.source.place("Fixing"),
            )
        )
    return asked, problems


def _asked_for(column: str, group: Sequence[Fixing], hung: Sequence[Sail]) -> list[tuple[str | float, Place]]:
    """What the fixings of a post say in a column, else what its sails say, each with its cell."""
    field = column.casefold()
    for rows in (group, () if column == "Lean" else hung):
        found = [(value, r.source.place(column)) for r in rows if (value := getattr(r, field)) not in (None, "")]
        if found:
            return found
    return []


def _number(value: str | float | None) -> float | None:
    return value if isinstance(value, float) else None


def _apart(group: Sequence[Fixing], top: Fixing) -> list[Problem]:
    """Fixings of one post must be near one axis and over one ground level."""
    problems = []
    for f in group:
        off = hypot(f.across - top.across, f.out - top.out)
        names = f"{f.name} and {top.name}"
        if off > APART:
            problems.append(
                problem("post-apart", f.source.place("On post"), names=names, apart=f"{off:.3f}", name=f.post_name)
            )
        elif off > ASKEW + abs(top.height - f.height) * tan(radians(15)):
            problems.append(
                problem("post-askew", f.source.place("Across"), names=names, apart=f"{off:.3f}", name=f.post_name)
            )
        if abs(f.ground - top.ground) > 0.001:
            problems.append(problem("post-two-grounds", f.source.place("Ground level"), names=names, name=f.post_name))
    return problems


def choose_section(book: RateBook, asked: Asked) -> PostSection | Problem:
    """The section asked for, else the first whose `up to` covers the height of the fixing."""
    if asked.section:
        return book.posts[key(asked.section)]
    height = asked.top.height - asked.top.ground
    for section in book.posts.values():
        if section.up_to + HAIR >= height:
            return section
    tallest = max((s.up_to for s in book.posts.values()), default=0.0)
    return problem("post-too-tall", asked.place, name=asked.post_name, height=f"{height:.2f}", tallest=f"{tallest:.2f}")


def lean_of(book: RateBook, asked: Asked, toward: tuple[float, float], on_plate: bool) -> float:
    """Lean in degrees: as asked; none when tied, on a plate or pulled evenly; else the setting."""
    if asked.lean is not None:
        return asked.lean if toward != (0.0, 0.0) else 0.0
    if asked.tied or on_plate or toward == (0.0, 0.0):
        return 0.0
    return book.number("lean")


def take_post(
    book: RateBook, asked: Asked, section: PostSection, depth: float, pulls: Sequence[Vector], on_plate: bool
) -> Post | Problem:
    """One post, in its shortest sufficient stock length; depth 0 on a plate."""
    toward = lean_direction(pulls, book.number("even pull"))
    lean = lean_of(book, asked, toward, on_plate)
    top = asked.top
    margin = book.number("top margin") * section.width
    above, below = post_lengths(top.height, top.ground, lean, margin, 0.0 if on_plate else depth)
    cut_off = book.number("cut-off")
    length = above + below + cut_off
    stock = min((s for s in section.stock_lengths if s + HAIR >= length), default=None)
    if stock is None:
        longest = max(section.stock_lengths, default=0.0)
        return problem(
            "post-too-long", asked.place, name=asked.post_name, length=f"{length:.3f}", code=section.code,
            longest=f"{longest:.2f}",
        )  # fmt: skip
    at = foot((top.across, top.out, top.height), top.ground, lean, toward)
    working = (
        f"({top.height:.3f} - ground {top.ground:.3f}) / cos({lean:g} deg) + top margin {margin:.3f} = {above:.3f} out"
        + ("" if on_plate else f"; depth {depth:.3f} / cos({lean:g} deg) = {below:.3f} in")
        + f"; + cut-off {cut_off:.3f} = {length:.3f}; shortest stock {stock:g} m"
    )
    return Post(
        post_name=asked.post_name,
        fixings=tuple(f.name for f in asked.fixings),
        post=section.code,
        width=section.width,
        above_ground=above,
        in_ground=below,
        length=length,
        stock_length=stock,
        lean=lean,
        foot_across=at[0],
        foot_out=at[1],
        toward=toward,
        on_plate=on_plate,
        working=working,
    )


def pulls_on(asked: Asked, corners: Mapping[str, Sequence[Vector]]) -> list[Vector]:
    """From each fixing of a post to each corner that hangs on it; corners: by fixing name."""
    return [(x - f.across, y - f.out, z - f.height) for f in asked.fixings for x, y, z in corners.get(f.name, ())]
