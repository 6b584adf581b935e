"""Concrete that somebody typed instead of what was computed: how far it would fill the holes. Lengths m, volumes m3."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.core.units import convert
from estimator.geometry.post import filled_depth, filled_diameter
from estimator.job.model import Extra
from estimator.rates.model import RateBook
from estimator.takeoff.draft import Draft
from estimator.takeoff.lines import number
from estimator.takeoff.model import Footing

HAIR = 1e-9


def with_every_way(book: RateBook, dropped: frozenset[str]) -> frozenset[str]:
    """Replaced codes; one way to buy concrete stands for all, since which of them is cheapest is not known when
    typing."""
    ways = frozenset(book.concrete)
    return dropped if dropped.isdisjoint(ways) else dropped | ways


def volume_of(book: RateBook, extra: Extra) -> float | None:
    """Concrete of a row of `Extras` [m3] from a volume, a mass or bags; None where its unit says none of these."""
    volume = convert(extra.quantity, extra.unit, "m3")
    if volume is not None:
        return float(volume)
    mass, weight = convert(extra.quantity, extra.unit, "kg"), book.known("concrete weight")
    if mass is not None and weight:
        return float(mass) / weight
    bag = book.concrete.get(key(extra.item or extra.instead_of))
    bags = convert(extra.quantity, extra.unit, "bag")
    return float(bags) * bag.yield_ if bag and bag.form == "bag" and bags is not None else None


def fills(footing: Footing, volume: float) -> tuple[float, float]:
    """How high a volume stands in the hole of a post, from under its pad, and the diameter of the column that it makes
    round the post over the whole depth [m]."""
    area = pi * footing.diameter**2 / 4
    post = (area * footing.depth + footing.pad - footing.concrete) / footing.depth
    above = max(0.0, volume - footing.pad)
    high = filled_depth(min(volume, footing.pad), footing.diameter) + filled_depth(above, footing.diameter, post)
    return high, filled_diameter(above, footing.depth, post)


def typed_problems(book: RateBook, draft: Draft) -> list[Problem]:
    """Typed concrete that fills less than the holes take in place, or whose volume is not known."""
    typed = [e for e in draft.extras if key(e.instead_of) in book.concrete and e.quantity and not _beside(e)]
    net = sum(f.concrete for f in draft.footings)
    if not typed or net <= 0:
        return []
    place = typed[0].source.place("Quantity")
    volumes = [volume_of(book, e) for e in typed]
    known = [v for v in volumes if v is not None]
    if len(known) < len(volumes):
        unit = next(e.unit for e, v in zip(typed, volumes, strict=True) if v is None)
        return [problem("concrete-unknown", place, unit=unit, net=number(net))]
    total = sum(known)
    if total >= net - HAIR:
        return []
    holes = "; ".join(_words(draft.footings, total / net))
    return [problem("concrete-short", place, typed=number(total), net=number(net), holes=holes)]


def _beside(extra: Extra) -> bool:
    return bool(extra.by_others or extra.offered_apart or extra.variation)


def _words(footings: Sequence[Footing], share: float) -> list[str]:
    """What the same share of each hole's concrete comes to; holes that are alike together."""
    alike: dict[str, list[str]] = {}
    for f in footings:
        high, wide = fills(f, f.concrete * share)
        whole = f.depth + f.pad / (pi * f.diameter**2 / 4)
        words = (
            f"{high:.2f} m high in a hole of {f.diameter * 1000:.0f} mm that wants {whole:.2f} m, or over that depth a "
            f"column of only {wide * 1000:.0f} mm"
        )
        alike.setdefault(words, []).append(f.post_name)
    return [f"{', '.join(names)}: {words}" for words, names in alike.items()]
