"""What kits and labour see of an option: numbers by `for each` and measure, nothing else."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimator.core.names import key
from estimator.takeoff.model import Corner, Footing, Measures, Point, Post, SailTaken


@dataclass(frozen=True, slots=True)
class Counted:
    """What the measures are made from."""

    points: Sequence[Point]
    sails: Sequence[SailTaken]
    corners: Sequence[Corner]
    posts: Sequence[Post]
    footings: Sequence[Footing]
    consent_needed: bool
    engineer_needed: bool


def static_measures(of: Counted) -> dict[str, dict[str, float]]:
    """Measures that do not depend on visits."""
    perimeter = sum(sum(s.sides) for s in of.sails)
    return {
        "option": {"count": 1.0},
        "sail": {
            "count": float(len(of.sails)),
            "flat area": sum(s.flat_area for s in of.sails),
            "net area": sum(s.net_area for s in of.sails),
            "perimeter": perimeter,
        },
        "corner": {
            "count": float(len(of.corners)),
            "tensioned": float(sum(c.tensioner is not None for c in of.corners)),
            "wire rope": float(sum(c.run == "wire rope" for c in of.corners)),
        },
        "fixing": {"count": float(len(of.points))},
        "post": {"count": float(len(of.posts)), "length": sum(p.length for p in of.posts)},
        "footing": _footings(of.footings, {}),
        "consent needed": {"count": float(of.consent_needed)},
        "engineer needed": {"count": float(of.engineer_needed)},
    }


def factored(of: Counted, factors: Mapping[str, float]) -> dict[str, dict[str, float]]:
    """Measures of posts and footings, each weighed by the labour factor of its ground and access.

    factors: by post name key.
    """
    weight = {p.post_name: factors.get(key(p.post_name), 1.0) for p in of.posts}
    return {
        "post": {"count": sum(weight.values()), "length": sum(p.length * weight[p.post_name] for p in of.posts)},
        "footing": _footings(of.footings, weight),
    }


def _footings(footings: Sequence[Footing], weight: Mapping[str, float]) -> dict[str, float]:
    def total(values: Sequence[float]) -> float:
        return sum(v * weight.get(f.post_name, 1.0) for v, f in zip(values, footings, strict=True))

    return {
        "count": total([1.0] * len(footings)),
        "hole": total([f.hole for f in footings]),
        "concrete": total([f.concrete for f in footings]),
        "stone": total([f.stone for f in footings]),
        "spoil": total([f.spoil for f in footings]),
    }


def with_visits(
    static: Measures, *, sites: float, visits: float, km: float, days: float
) -> dict[str, dict[str, float]]:
    """All measures, in the order of the contract of the rate book."""
    return {
        "site": {"count": sites, "km": km},
        "visit": {"count": visits, "km": km},
        "day": {"count": days},
        **{name: dict(values) for name, values in static.items()},
    }


def of_fixings(whole: Counted, fixings: Sequence[str]) -> Counted:
    """The same option seen from some of its fixings: their corners, posts and footings."""
    wanted = set(fixings)
    return Counted(
        points=[p for p in whole.points if p.fixing in wanted],
        sails=[s for s in whole.sails if wanted & set(s.fixings)],
        corners=[c for c in whole.corners if c.fixing in wanted],
        posts=[p for p in whole.posts if wanted & set(p.fixings)],
        footings=[f for f in whole.footings if wanted & set(f.fixings)],
        consent_needed=whole.consent_needed and bool(wanted),
        engineer_needed=whole.engineer_needed and bool(wanted),
    )
