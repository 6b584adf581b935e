"""Fall, drainage, head height, creep and clearance of the sails of an option."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.geometry import falls as geometry
from estimator.geometry.overlap import clearance
from estimator.job.model import Fixing, Site
from estimator.rates.model import Cloth, RateBook
from estimator.takeoff.hang import Hung
from estimator.takeoff.model import Drain, Fall

CAREFUL = ("gutter", "roof", "neighbour", "paving")


def falls_of(hung: Sequence[Hung]) -> tuple[Fall, ...]:
    """Every side and diagonal of every sail, from its higher to its lower corner."""
    found = []
    for h in hung:
        names = h.taken.fixings
        for f in geometry.falls(h.taken.corners):
            found.append(
                Fall(h.taken.sail, names[f.start], names[f.end], f.side, f.degrees, f.percent or 0.0, f.mm_per_m or 0.0)
            )
    return tuple(found)


def drains_of(book: RateBook, hung: Sequence[Hung]) -> tuple[Drain, ...]:
    """Where each sail drains: its lowest corner, the steepest line to it, and the water of a heavy shower."""
    found = []
    for h in hung:
        low = geometry.lowest(h.taken.corners)[0]
        steepest = max(geometry.falls(h.taken.corners), key=lambda f: f.degrees if f.end == low else -1.0)
        litres = geometry.litres_a_second(h.taken.plan_area, book.number("rain"))
        dry = _cloth(book, h).waterproof
        found.append(Drain(h.taken.sail, h.taken.fixings[low], steepest.degrees, litres if dry else 0.0, dry))
    return tuple(found)


def shape_problems(
    book: RateBook, site: Site, hung: Sequence[Hung], drains: Sequence[Drain], fixings: Mapping[str, Fixing]
) -> list[Problem]:
    """What a person should look at before this shape is ordered."""
    found: list[Problem] = []
    for h, drain in zip(hung, drains, strict=True):
        cloth, place = _cloth(book, h), h.sail.source.place("Corners at")
        found += _fall_problems(book, site, h, drain, cloth, place)
        low = lowest_over_ground(h, fixings)
        least = book.number("head height")
        if low is not None and low[1] < least - 1e-9:
            found.append(
                problem(
                    "low-corner",
                    place,
                    sail=h.sail.name,
                    fixing_name=low[0],
                    height=f"{low[1]:.2f}",
                    least=f"{least:.2f}",
                )
            )
        for c in h.corners:
            if c.take_up_after_creep is not None and c.take_up_after_creep < 0:
                found.append(
                    problem("creep-beyond", place, sail=h.sail.name, fixing_name=c.fixing,
                            short=f"{-c.take_up_after_creep * 1000:.0f}", creep=f"{book.number('creep') * 100:g}")
                )  # fmt: skip
    for a, b in combinations(hung, 2):
        apart = clearance(a.taken.corners, b.taken.corners)
        least = book.number("sail clearance")
        if apart is not None and apart < least - 1e-9:
            found.append(
                problem("sails-near", b.sail.source.place("Corners at"), first=a.sail.name, second=b.sail.name,
                        apart=f"{apart * 1000:.0f}", least=f"{least * 1000:.0f}")
            )  # fmt: skip
    return found


def _fall_problems(book: RateBook, site: Site, h: Hung, drain: Drain, cloth: Cloth, place: Place) -> list[Problem]:
    """A waterproof sail ponds and pours; a permeable one lets most water through."""
    found = []
    words = {"sail": h.sail.name, "fall": f"{drain.fall:.1f}", "least": f"{cloth.minimum_fall:g}"}
    if drain.fall < cloth.minimum_fall - 1e-9:
        found.append(problem("fall-small-dry" if cloth.waterproof else "fall-small", place, **words))
    if not cloth.waterproof:
        return found
    litres, rain = f"{drain.litres:.2f}", f"{book.number('rain'):g}"
    at = site.source.place("Drains to")
    water = {"sail": h.sail.name, "fixing_name": drain.fixing, "litres": litres, "rain": rain}
    if not site.drains_to:
        found.append(problem("drain-unknown", at, **water))
    elif site.drains_to in CAREFUL:
        found.append(problem("drain-careful", at, where=site.drains_to, **water))
    else:
        found.append(problem("drain-told", at, where=site.drains_to, **water))
    return found


def lowest_over_ground(h: Hung, fixings: Mapping[str, Fixing]) -> tuple[str, float] | None:
    """The corner that is lowest over its ground, by its fixing, and how high [m]."""
    heights = [
        (z - fixings[key(n)].ground, n)
        for n, (_, _, z) in zip(h.taken.fixings, h.taken.corners, strict=True)
        if key(n) in fixings
    ]
    return (min(heights)[1], min(heights)[0]) if heights else None


def _cloth(book: RateBook, h: Hung) -> Cloth:
    return book.cloths[key(h.taken.cloth)]
