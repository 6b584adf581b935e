"""Sails on fixings: fit and rigging together, and what to look at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.geometry import outline
from estimator.job.model import Fixing, Sail
from estimator.rates.model import CornerSet, RateBook
from estimator.takeoff import cloth, rigging
from estimator.takeoff.model import Corner, SailTaken


@dataclass(frozen=True, slots=True)
class Hung:
    """A sail as fitted, with its corners; corners may be missing where none could be hung."""

    sail: Sail
    taken: SailTaken
    corners: tuple[Corner, ...]
    stretch: float


def hang_sail(book: RateBook, sail: Sail, fixings: Sequence[Fixing]) -> tuple[Hung | None, list[Problem]]:
    """Fit a sail on its fixings and hang its corners."""
    crossing = outline.crosses_itself([(f.across, f.out) for f in fixings])
    place = sail.source.place("Corners at")
    if crossing is not None:
        a, b = crossing
        n = len(fixings)
        sides = [f"{fixings[i].name}-{fixings[(i + 1) % n].name}" for i in (a, b)]
        return None, [problem("corners-cross", place, first=sides[0], second=sides[1])]
    tensioned = [sail.tensioned is None or key(f.name) in map(key, sail.tensioned) for f in fixings]

    def sets_for(longest: float) -> list[CornerSet]:
        return rigging.sets_in_turn(book, longest, sail.hardware)

    def least(longest: float) -> list[float]:
        return [rigging.least_needed(book, sets_for(longest), t) for t in tensioned]

    def tight(longest: float) -> list[float]:
        sets = sets_for(longest)
        return [rigging.tight_length(book, sets[0], t) if sets else 0.0 for t in tensioned]

    fitted = cloth.fit(book, sail, fixings, cloth.Needs(least, tight))
    if isinstance(fitted, list):
        return None, fitted
    longest = max(fitted.taken.sides)
    sets = sets_for(longest)
    if not sets:
        widest = max((s.up_to for s in book.corner_sets.values()), default=0.0)
        return None, [problem("no-corner-set", place, sail=sail.name, side=f"{longest:.2f}", widest=f"{widest:g}")]
    corners: list[Corner] = []
    problems: list[Problem] = []
    for spot, has in zip(fitted.spots, tensioned, strict=True):
        at = key(spot.fixing)
        own = (sail.run.at or {}).get(at)
        hung = rigging.hang_corner(
            book,
            sets,
            rigging.Hanging(
                sail.name, spot.fixing, spot.gap, spot.off_bisector, spot.off_centroid, spot.radius,
                fitted.cloth.stretch, has, own or sail.run.usual, own is not None,
            ),
        )  # fmt: skip
        if isinstance(hung, rigging.TooShort):
            problems.append(_too_short(sail, hung, place))
        else:
            corners.append(hung)
    result = Hung(sail, fitted.taken, tuple(corners), fitted.cloth.stretch)
    return result, [*problems, *_look_at(book, result, fitted, sets[0].name, place)]


def _too_short(sail: Sail, found: rigging.TooShort, place: Place) -> Problem:
    """A corner that no set can be hung in."""
    words = {"sail": sail.name, "fixing_name": found.fixing}
    if found.needed is None:
        return problem("tensioners-short", place, stretch=f"{found.stretch * 1000:.0f}", **words)
    gap, needed = (f"{length * 1000:.0f}" for length in (found.gap, found.needed))
    return problem("gap-too-short", place, gap=gap, needed=needed, **words)


def _look_at(book: RateBook, hung: Hung, fitted: cloth.Fitted, first_set: str, place: Place) -> list[Problem]:
    """Warnings and notes of a sail that hangs."""
    sail, taken, found = hung.sail, hung.taken, list[Problem]()
    for c in hung.corners:
        if c.gap < book.number("least gap") - 1e-9:
            found.append(
                problem("gap-small", place, sail=sail.name, fixing_name=c.fixing, gap=f"{c.gap * 1000:.0f}",
                        least=f"{book.number('least gap') * 1000:.0f}")
            )  # fmt: skip
        if c.off_bisector > book.number("off bisector limit"):
            found.append(
                problem("off-bisector", place, sail=sail.name, fixing_name=c.fixing, off=f"{c.off_bisector:.0f}",
                        limit=f"{book.number('off bisector limit'):.0f}")
            )  # fmt: skip
        if c.run == "wire rope" and (sail.run.at or {}).get(key(c.fixing), sail.run.usual) != "wire rope":
            found.append(
                problem("run-turned-to-rope", place, sail=sail.name, fixing_name=c.fixing,
                        run=f"{c.run_length * 1000:.0f}", limit=f"{book.number('longest chain run') * 1000:.0f}")
            )  # fmt: skip
        elif c.run == "chain" and c.run_length > book.number("longest chain run") + 1e-9:
            found.append(
                problem("chain-long", place, sail=sail.name, fixing_name=c.fixing, run=f"{c.run_length * 1000:.0f}",
                        limit=f"{book.number('longest chain run') * 1000:.0f}")
            )  # fmt: skip
    others = sorted({f"{c.set} at {c.fixing}" for c in hung.corners if key(c.set) != key(first_set)})
    if others:
        code = "hardware-changed" if sail.hardware else "set-changed"
        found.append(problem(code, place, sail=sail.name, first=first_set, used=", ".join(others)))
    tight = [c for c in hung.corners if c.tensioner]
    if len(tight) < 2:
        found.append(problem("few-tensioners", place, sail=sail.name, count=len(tight)))
    ratio = max(taken.sides) / min(taken.sides)
    if ratio > book.number("longest over shortest") + 1e-9:
        found.append(problem("sides-uneven", place, sail=sail.name, ratio=f"{ratio:.1f}",
                             limit=f"{book.number('longest over shortest'):g}"))  # fmt: skip
    if fitted.how == "margin":
        found.append(problem("placed-by-margin", place, sail=sail.name))
    if sail.size.kind == "largest":
        found.append(
            problem("size-chosen", sail.source.place("Size"), sail=sail.name, code=taken.code, cloth=fitted.cloth.code,
                    others="; ".join(taken.runners_up) or "no other stock sail has as many corners")
        )  # fmt: skip
    if taken.origin != "stock" and not sail.cloth:
        found.append(problem("cloth-usual", sail.source.place("Cloth"), sail=sail.name, code=taken.cloth))
    return found
