"""Which sail hangs on which fixings: stock, given and made-to-fit sails; areas; cloth bought."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from math import dist

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.core.units import show_length
from estimator.geometry import draw_in, edges, outline, placement, surface
from estimator.geometry.refused import Refused
from estimator.job.model import Fixing, Sail
from estimator.rates.model import Cloth, RateBook
from estimator.takeoff.lines import make_line, number
from estimator.takeoff.model import Line, SailTaken
from estimator.takeoff.sizes import Outline, candidates, outline_of, stock_size


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one corner came to lie: what rigging needs to hang it."""

    fixing: str
    gap: float
    off_bisector: float
    off_centroid: float
    radius: float


@dataclass(frozen=True, slots=True)
class Fitted:
    """A sail in its place, with its cloth."""

    taken: SailTaken
    spots: tuple[Spot, ...]
    cloth: Cloth
    offsets_squared: float
    how: str


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why a sail cannot hang there. needed, gap: of the worst corner [m]; scale: the part of its size that
    would fit, 0 where none does."""

    why: str
    fixing: str = ""
    gap: float = 0.0
    needed: float = 0.0
    scale: float = 0.0


@dataclass(frozen=True, slots=True)
class Needs:
    """What the corners need of room, by the longest side of the sail.

    least: the least length of the parts when tight, for each fixing; tight: what a made-to-fit sail leaves.
    """

    least: Callable[[float], Sequence[float]]
    tight: Callable[[float], Sequence[float]]


def fit(book: RateBook, sail: Sail, fixings: Sequence[Fixing], needs: Needs) -> Fitted | list[Problem]:
    """The sail in its place on these fixings, in their order; problems when it does not fit."""
    if sail.size.kind == "unreadable" or (sail.size.kind == "stock" and not sail.size.code):
        return []  # the cell has its problem already
    if sail.size.kind == "made to fit":
        return _made_to_fit(book, sail, fixings, needs)
    if sail.size.kind == "largest":
        return _largest(book, sail, fixings, needs)
    if sail.size.kind == "stock":
        stock = book.sails[key(sail.size.code)]
        cloth = book.cloths[key(stock.cloth)]
        if sail.cloth and key(sail.cloth) != key(stock.cloth):
            place = sail.source.place("Cloth")
            return [problem("stock-cloth", place, code=stock.code, cloth=stock.cloth, found=sail.cloth)]
        size, code = stock_size(stock), stock.code
    else:
        size, code, cloth = sail.size, "", _cloth(book, sail)
    shape = outline_of(size)
    place = sail.source.place("Size")
    if len(shape) != len(fixings):
        return [problem("corner-mismatch", place, size=code or size.text, corners=len(shape), fixings=len(fixings))]
    limit = book.number("off bisector limit")
    found = _place(shape, size.text, code, cloth, sail, fixings, needs, limit, find_scale=True)
    if isinstance(found, Fitted):
        return found
    return [_refusal(book, sail, fixings, needs, found, shape, code or size.text)]


def _cloth(book: RateBook, sail: Sail) -> Cloth:
    return book.cloths[key(sail.cloth)] if sail.cloth else book.cloths[key(book.text("usual cloth"))]


def _points(fixings: Sequence[Fixing]) -> list[tuple[float, float, float]]:
    return [(f.across, f.out, f.height) for f in fixings]


@lru_cache(maxsize=2_000)  # options of a site differ in cloth or colour, and yards of a street are often alike
def _on(
    shape: tuple[tuple[float, ...], ...],
    points: tuple[tuple[float, float, float], ...],
    room: tuple[float, ...],
    stretch: float,
    limit: float,
    find_scale: bool,
) -> placement.Placement | Refused:
    return placement.place_sail(shape, points, room, stretch, largest_off=limit, find_scale=find_scale)


@lru_cache(maxsize=2_000)
def _drawn(
    points: tuple[tuple[float, float, float], ...], tight: tuple[float, ...], stretch: float
) -> draw_in.MadeToFit | Refused:
    return draw_in.draw_in(points, tight, stretch)


def _place(
    shape: Outline,
    size: str,
    code: str,
    cloth: Cloth,
    sail: Sail,
    fixings: Sequence[Fixing],
    needs: Needs,
    limit: float,
    find_scale: bool = False,
) -> Fitted | Unfit:
    longest = max(outline.sides_of(shape))
    room = list(needs.least(longest))
    found = _on(tuple(map(tuple, shape)), tuple(_points(fixings)), tuple(room), cloth.stretch, limit, find_scale)
    if isinstance(found, Refused):
        # to a micrometre: which of two alike corners is named must not hang on the last digit of a processor
        worst = min(found.corners, key=lambda c: round(c.gap - c.needed, 6), default=None)
        if worst is None:
            return Unfit(found.words.rstrip("."))
        return Unfit(found.words, fixings[worst.index].name, worst.gap, worst.needed, found.largest_scale or 0.0)
    flat = outline.flat_area(shape)
    net, crossing = edges.net_area(shape, cloth.edge_hollow)
    taken = SailTaken(
        sail=sail.name,
        size=code or size,
        code=code,
        origin="stock" if code else "made to size",
        cloth=cloth.code,
        colour=sail.colour,
        fixings=tuple(f.name for f in fixings),
        sides=found.sides,
        sewn=(),
        flat_area=flat,
        net_area=net,
        plan_area=surface.plan_area(found.corners),
        corners=tuple(found.corners),
        working=f"{code or size} on {' '.join(f.name for f in fixings)}: sideways offsets squared "
        f"{found.offsets_squared:.6f} m2, scaled by {found.scale:.6f} for its slope"
        + ("; edges that dip so far cross at a corner" if crossing else ""),
    )
    return Fitted(taken, _spots(fixings, found), cloth, found.offsets_squared, found.how)


def _spots(fixings: Sequence[Fixing], found: placement.Placement | draw_in.MadeToFit) -> tuple[Spot, ...]:
    return tuple(
        Spot(f.name, gap, off, centre, radius)
        for f, gap, off, centre, radius in zip(
            fixings, found.gap, found.off_bisector, found.off_centroid, found.radius, strict=True
        )
    )


def _made_to_fit(book: RateBook, sail: Sail, fixings: Sequence[Fixing], needs: Needs) -> Fitted | list[Problem]:
    cloth = _cloth(book, sail)
    points = _points(fixings)
    longest = max(dist(a, b) for a, b in zip(points, [*points[1:], points[0]], strict=True))
    found: draw_in.MadeToFit | Refused | None = None
    for _ in range(3):  # the corner set follows the finished side, and the finished side the corner set
        found = _drawn(tuple(points), tuple(needs.tight(longest)), cloth.stretch)
        if isinstance(found, Refused):
            place = sail.source.place("Size")
            return [problem("too-small-for-parts", place, sail=sail.name, why=found.words.rstrip("."))]
        if abs(max(found.sides) - longest) < 1e-9:
            break
        longest = max(found.sides)
    assert isinstance(found, draw_in.MadeToFit)
    flat = surface.area(found.corners)
    net, _ = edges.net_surface_area(found.corners, cloth.edge_hollow)
    taken = SailTaken(
        sail=sail.name,
        size="made to fit",
        code="",
        origin="made to fit",
        cloth=cloth.code,
        colour=sail.colour,
        fixings=tuple(f.name for f in fixings),
        sides=tuple(found.sides),
        sewn=tuple(found.sewn),
        flat_area=flat,
        net_area=net,
        plan_area=surface.plan_area(found.corners),
        corners=tuple(found.corners),
        working="each corner drawn in along the bisector of its sides by its parts when tight, one link, the reserve"
        f" and the stretch of {number(cloth.stretch * 100)} %; sewn = finished / (1 + stretch)",
    )
    return Fitted(taken, _spots(fixings, found), cloth, 0.0, "made to fit")


def _largest(book: RateBook, sail: Sail, fixings: Sequence[Fixing], needs: Needs) -> Fitted | list[Problem]:
    place = sail.source.place("Size")
    room = surface.area(_points(fixings))
    limit = book.number("off bisector limit")
    refused: list[str] = []
    best: Fitted | None = None
    askew: Fitted | None = None  # hangs, but wrinkles: only when nothing hangs straight
    smaller: list[str] = []
    for stock, shape in candidates(book, sail, len(fixings)):
        if best is not None:
            smaller.append(f"{stock.code}: smaller")
            continue
        if outline.flat_area(shape) >= room:
            refused.append(f"{stock.code}: larger than the space between the fixings")
            continue
        cloth = book.cloths[key(stock.cloth)]
        found = _place(shape, stock.sides, stock.code, cloth, sail, fixings, needs, limit)
        off = 0.0 if isinstance(found, Unfit) else max(s.off_bisector for s in found.spots)
        if isinstance(found, Unfit):
            refused.append(f"{stock.code}: {_short(found)}")
        elif off > limit:
            refused.append(f"{stock.code}: pulled {off:.0f} degrees off a bisector")
            # a little askew wrinkles; far askew an edge goes slack, and that is no fit
            askew = askew or (found if off <= 2 * limit else None)
        else:
            best = found
    best = best or askew
    if best is None:
        return [
            problem("no-stock-fits", place, sail=sail.name, corners=len(fixings), why="; ".join(refused[-3:]) or "none")
        ]
    others = [words for words in refused if not words.startswith(f"{best.taken.code}:")]
    return replace(best, taken=replace(best.taken, runners_up=(*others[-2:], *smaller[:2])))


def _short(unfit: Unfit) -> str:
    if unfit.fixing:
        return f"at {unfit.fixing} the gap is {unfit.gap * 1000:.0f} mm, {unfit.needed * 1000:.0f} mm are needed"
    return unfit.why


def _refusal(
    book: RateBook, sail: Sail, fixings: Sequence[Fixing], needs: Needs, found: Unfit, shape: Outline, size: str
) -> Problem:
    """The refusal of a sail, with the size that would fit."""
    would = "none of the stock sails fits"
    limit = book.number("off bisector limit")
    for stock, other in candidates(book, replace(sail, colour=""), len(fixings)):
        if outline.flat_area(other) < outline.flat_area(shape):
            cloth = book.cloths[key(stock.cloth)]
            placed = _place(other, stock.sides, stock.code, cloth, sail, fixings, needs, limit)
            if isinstance(placed, Fitted) and max(s.off_bisector for s in placed.spots) <= limit:
                would = f"the largest stock sail that fits is {stock.code}"
                break
    if found.scale > 0:
        sides = " x ".join(show_length(int(s * found.scale * 100) / 100, "metric") for s in outline.sides_of(shape))
        would = f"of the same shape {sides} would fit; {would}"
    return problem(
        "sail-too-large", sail.source.place("Size"), size=size, why=_short(found), would=would, sail=sail.name
    )


def stock_line(book: RateBook, code: str, colour: str, count: int) -> Line:
    """The line of a stock sail."""
    stock = book.sails[key(code)]
    words = stock.description + (f", {colour}" if colour else "")
    return make_line(
        stock.code, words, "material", Decimal(count), "each", stock.price, f"{count} as fitted", stock.origin,
        colour=colour,
    )  # fmt: skip


def cloth_line(book: RateBook, taken: SailTaken) -> Line:
    """The line of the cloth of a sail made for the job: its flat area and the waste."""
    cloth = book.cloths[key(taken.cloth)]
    waste = book.number("cloth waste")
    area = taken.flat_area * (1 + waste)
    words = (
        f"sail {taken.sail}: flat {number(taken.flat_area)} m2 + {number(waste * 100)} % hem and roll waste, sides "
        + " ".join(number(s) for s in taken.sides)
    )
    colour = f", {taken.colour}" if taken.colour else ""
    description = f"{cloth.description}{colour}, {taken.origin}"
    return make_line(
        cloth.code, description, "material", from_float(area), "m2", cloth.price, words, cloth.origin,
        colour=taken.colour,
    )  # fmt: skip
