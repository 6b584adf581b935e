"""How each corner is hung: set, tensioner, links, cut length, take-up, weakest part.

Lengths m, forces N. Part lengths are from bearing point to bearing point.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, inf, isfinite

from estimator.core.names import key
from estimator.geometry.fasteners import GRAVITY
from estimator.rates.model import CornerSet, Part, RateBook
from estimator.takeoff.model import Corner

HAIR = 1e-9  # m; float noise in a comparison of lengths


@dataclass(frozen=True, slots=True)
class Hanging:
    """What is known of a corner before it is hung. gap: fixing to corner, straight, at rest; radius: corner
    to the sail's centroid; stretch: of the cloth, fraction; run: '', 'chain' or 'wire rope' as asked for this
    corner; firm: whether the run was asked for this very corner."""

    sail: str
    fixing: str
    gap: float
    off_bisector: float
    off_centroid: float
    radius: float
    stretch: float
    tensioned: bool
    run: str
    firm: bool


@dataclass(frozen=True, slots=True)
class TooShort:
    """No set can be hung in this gap. needed: the next longer gap that would do, None where no tensioner reaches from
    the gap as it is hooked on to the one when tight, however long the gap; stretch: what it has to make up [m]."""

    fixing: str
    gap: float
    needed: float | None
    stretch: float


def links_to_hook_on(parts: float, opened: float, pitch: float, gap: float, hook_on: float, radius: float) -> int:
    """The least whole number of links with which the corner can be hooked on by hand.

    Source: common practice, no source: parts + opened + n pitch >= gap - hook_on x radius.

    >>> links_to_hook_on(parts=0.10, opened=0.31, pitch=0.024, gap=0.60, hook_on=0.01, radius=2.5)
    7
    """
    return max(0, ceil((gap - hook_on * radius - parts - opened - HAIR) / pitch))


def cut_length(run: float, tail: float, pitch: float) -> float:
    """Length of chain to cut [m]: the run and its tail, up to a whole link.

    Source: chain is measured in whole links of its pitch (DIN 766); the tail is common practice, no source.

    >>> round(cut_length(run=0.168, tail=0.25, pitch=0.024), 3)
    0.432
    """
    return ceil((run + tail - HAIR) / pitch) * pitch


def parts_length(book: RateBook, corner_set: CornerSet) -> float:
    """P: eye + shackles + ring of a set [m]."""
    length = sum(part.length or 0.0 for part in (_part(book, corner_set.eye), _part(book, corner_set.ring)) if part)
    shackle = _part(book, corner_set.shackle)
    return length + (corner_set.shackles * (shackle.length or 0.0) if shackle else 0.0)


def sets_in_turn(book: RateBook, longest_side: float, asked: str) -> list[CornerSet]:
    """The sets to try, the first by the option or by the longest side, then each next that covers the side."""
    sets = [s for s in book.corner_sets.values() if _complete(book, s)]
    if asked:
        first = next((i for i, s in enumerate(sets) if key(s.name) == key(asked)), None)
    else:
        first = next((i for i, s in enumerate(sets) if s.up_to + HAIR >= longest_side), None)
    if first is None:
        return []
    return [sets[first], *(s for s in sets[first + 1 :] if s.up_to + HAIR >= longest_side)]


def _complete(book: RateBook, s: CornerSet) -> bool:
    """Whether every part that a set names has a row in force; half a set is never hung."""
    names = (s.eye, s.shackle, *s.tensioners, s.chain, s.wire_rope, s.thimble, s.grip, s.ring)
    return all(_part(book, name) for name in names if name)


def least_needed(book: RateBook, sets: Sequence[CornerSet], tensioned: bool) -> float:
    """The least length any of the sets needs when tight, without stretch [m]: P + c + reserve, or P."""
    reserve = book.number("take up reserve")
    lengths = []
    for s in sets:
        bodies = [t.closed or 0.0 for name in s.tensioners if (t := _part(book, name))]
        lengths.append(parts_length(book, s) + (min(bodies) + reserve if tensioned and bodies else 0.0))
    return min(lengths, default=0.0)


def tight_length(book: RateBook, corner_set: CornerSet, tensioned: bool) -> float:
    """What a made-to-fit sail leaves at a corner when tight [m]: P + c + reserve + one link."""
    chain = _part(book, corner_set.chain)
    return least_needed(book, [corner_set], tensioned) + (chain.pitch or 0.0 if chain else 0.0)


def hang_corner(book: RateBook, sets: Sequence[CornerSet], at: Hanging) -> Corner | TooShort:
    """The first set and tensioner, in turn, that leaves the reserve; TooShort when none does."""
    needed = []
    for corner_set in sets:
        names = corner_set.tensioners if at.tensioned else ("",)
        for name in names:
            found = _hang(book, corner_set, _part(book, name), at)
            if isinstance(found, Corner):
                return found
            needed.append(found)
    least = min(needed, default=inf)
    stretch = (at.stretch - book.number("hook on stretch")) * at.radius
    return TooShort(at.fixing, at.gap, least if isfinite(least) else None, stretch)


def _hang(book: RateBook, corner_set: CornerSet, tensioner: Part | None, at: Hanging) -> Corner | float:
    """The corner with this set and tensioner, or the gap that it would need."""
    chain, rope = _part(book, corner_set.chain), _part(book, corner_set.wire_rope)
    if at.run == "wire rope" and rope:
        return _by_rope(book, corner_set, tensioner, rope, at)
    if not chain:
        return _by_rope(book, corner_set, tensioner, rope, at) if rope else inf
    found = _by_chain(book, corner_set, tensioner, chain, at)
    if isinstance(found, Corner) and rope and not (at.run == "chain" and at.firm):
        long = found.run_length > book.number("longest chain run") + HAIR
        sag = (chain.mass or 0.0) * GRAVITY * found.run_length**2 / (8 * book.number("pretension"))
        if long or sag > book.number("chain sag limit"):
            return _by_rope(book, corner_set, tensioner, rope, at)
    return found


def _by_chain(
    book: RateBook, corner_set: CornerSet, tensioner: Part | None, chain: Part, at: Hanging
) -> Corner | float:
    reserve, tail = book.number("take up reserve"), book.number("chain tail")
    parts, stretch = parts_length(book, corner_set), at.stretch * at.radius
    pitch = chain.pitch or 0.0
    if tensioner is None:
        left = at.gap - stretch - parts
        if left < -HAIR:
            return parts + stretch
        links = max(0, floor((left + HAIR) / pitch))
        run = links * pitch
        slack = max(0.0, left - run)
        words = (
            f"gap {_mm(at.gap)} - stretch {_mm(stretch)} - parts {_mm(parts)} = {_mm(left)}: "
            f"{links} links of {_mm(pitch, 1)}, {_mm(slack)} slack; no tensioner here"
        )
        return _corner(book, corner_set, None, chain, at, "chain", links, pitch, run, cut_length(run, tail, pitch),
                       None, None, slack, parts + stretch, words)  # fmt: skip
    closed, opened = tensioner.closed or 0.0, tensioner.open or 0.0
    hook_on = book.number("hook on stretch")
    links = links_to_hook_on(parts, opened, pitch, at.gap, hook_on, at.radius)
    run = links * pitch
    left = at.gap - stretch - parts - run - closed
    needed = parts + closed + reserve + stretch
    if left < reserve - HAIR:
        # a whole link too many: a gap that is longer by the rest of it would do, if the tensioner's way is long enough
        reaches = opened - closed + hook_on * at.radius >= reserve + stretch - HAIR
        return needed + run if reaches else inf
    used = (opened - closed) - left
    words = (
        f"parts {_mm(parts)} + tensioner open {_mm(opened)} + {links} links of {_mm(pitch, 1)} "
        f">= gap {_mm(at.gap)} - {_mm(hook_on * at.radius)} pulled by hand; "
        f"left = {_mm(at.gap)} - stretch {_mm(stretch)} - {_mm(parts)} - {_mm(run)} - closed {_mm(closed)}"
        f" = {_mm(left)} (reserve {_mm(reserve)})"
    )
    return _corner(book, corner_set, tensioner, chain, at, "chain", links, pitch, run, cut_length(run, tail, pitch),
                   used, left, None, needed, words)  # fmt: skip


def _by_rope(
    book: RateBook, corner_set: CornerSet, tensioner: Part | None, rope: Part | None, at: Hanging
) -> Corner | float:
    if rope is None:
        return inf
    reserve = book.number("take up reserve")
    parts, stretch = parts_length(book, corner_set), at.stretch * at.radius
    turn_back = rope.turn_back or 0.0
    closed = (tensioner.closed or 0.0) if tensioner else 0.0
    kept = reserve if tensioner else 0.0
    run = at.gap - stretch - parts - closed - kept
    needed = parts + closed + kept + stretch
    used = left = None
    if tensioner:
        travel = (tensioner.open or 0.0) - closed
        left, used = reserve, travel - reserve
        # the tensioner must reach far enough to hook the corner on by hand before it is tight
        if travel + HAIR < reserve + stretch - book.number("hook on stretch") * at.radius:
            return inf
    if run < -HAIR:
        return needed
    run = max(0.0, run)
    words = (
        f"wire rope: gap {_mm(at.gap)} - stretch {_mm(stretch)} - parts {_mm(parts)} - tensioner closed "
        f"{_mm(closed)} - reserve {_mm(kept)} = {_mm(run)}; cut + 2 x {_mm(turn_back)} turned back"
    )
    return _corner(book, corner_set, tensioner, rope, at, "wire rope", None, None, run, run + 2 * turn_back,
                   used, left, None, needed, words)  # fmt: skip


def _corner(
    book: RateBook, corner_set: CornerSet, tensioner: Part | None, runner: Part, at: Hanging, run: str,
    links: int | None, pitch: float | None, run_length: float, cut: float, used: float | None,
    left: float | None, slack: float | None, needed: float, words: str,
) -> Corner:  # fmt: skip
    pieces: list[tuple[str, float]] = []
    for name, number in ((corner_set.eye, 1), (corner_set.shackle, corner_set.shackles), (corner_set.ring, 1)):
        if name and number:
            pieces.append((name, float(number)))
    if tensioner:
        pieces.append((tensioner.code, 1.0))
    pieces.append((runner.code, cut))
    if run == "wire rope":
        ends = ((corner_set.thimble, 2.0), (corner_set.grip, 2.0 * (runner.grips_per_end or 0)))
        pieces += [(name, number) for name, number in ends if name and number]
    # a run of no links carries nothing; its tail is only a spare
    loaded = [name for name, _ in pieces if not (name == runner.code and links == 0)]
    weakest, load = weakest_part(book, loaded)
    return Corner(
        sail=at.sail, fixing=at.fixing, gap=at.gap, off_bisector=at.off_bisector, off_centroid=at.off_centroid,
        set=corner_set.name, run=run, links=links, pitch=pitch, run_length=run_length, cut_length=cut,
        tensioner=tensioner.code if tensioner else None, take_up_used=used, take_up_left=left, slack=slack,
        stretch=at.stretch * at.radius, parts_length=parts_length(book, corner_set), needed=needed,
        take_up_after_creep=None if left is None else left - book.number("creep") * at.radius,
        weakest=weakest, working_load=load, parts=tuple(pieces), working=f"{corner_set.name} set: {words}",
    )  # fmt: skip


def weakest_part(book: RateBook, codes: Sequence[str]) -> tuple[str, float | None]:
    """The part with the least working load, and that load [N]; ('', None) where none has one."""
    loads = [(load, code) for code in codes if (part := _part(book, code)) and (load := working_load(book, part))]
    if not loads:
        return "", None
    load, code = min(loads)
    return code, load


def working_load(book: RateBook, part: Part) -> float | None:
    """The row's working load, else its breaking load over the factor of its kind [N]."""
    if part.working_load:
        return part.working_load
    factor = book.settings.get(f"load factor {part.kind}")
    if part.breaking_load and factor and isinstance(factor.value, float) and factor.value > 0:
        return part.breaking_load / factor.value
    return None


def _part(book: RateBook, code: str) -> Part | None:
    return book.rigging.get(key(code)) if code else None


def _mm(metres: float, places: int = 0) -> str:
    return f"{metres * 1000:.{places}f} mm"
