"""What holds for an option: the conditions that texts, usual lines and questions are chosen by."""

from __future__ import annotations

import re

from estimator.core.names import key
from estimator.job.model import Site
from estimator.rates.model import RateBook
from estimator.takeoff.model import Takeoff

HELD = ("tree", "post by others", "existing post", "base plate")  # conditions that are parts of a support's name


def conditions(book: RateBook, site: Site, taken: Takeoff, status: str, quote_status: str) -> set[str]:
    """Every condition of the rate book that holds for what was taken off.

    status: priced, provisional, not priced; quote_status: budget, firm, accepted, expired.
    """
    held = {key(p.held_by) for p in taken.points}
    supports = [book.supports[h] for h in held if h in book.supports]
    found = {"posts" if taken.posts else "no posts", quote_status, *map(key, site.near)}
    found |= {name for name in HELD if any(name in h for h in held)}
    grounds = {key(f.ground) for f in taken.footings} | ({key(site.ground)} if taken.footings else set())
    cloths = [book.cloths[key(s.cloth)] for s in taken.sails if key(s.cloth) in book.cloths]
    materials = {key(book.posts[key(p.post)].material) for p in taken.posts if key(p.post) in book.posts}
    consent = (taken.measures or {}).get("consent needed", {})
    tests = {
        "provisional": status == "provisional",
        "engineer": bool(taken.engineer),
        "rock": any(f.rock_from is not None for f in taken.footings),
        "soft": any("soft" in g or (g in book.ground and book.ground[g].pad > 0) for g in grounds),
        "waterproof": any(c.waterproof for c in cloths),
        "permeable": any(not c.waterproof for c in cloths),
        "made to fit": any(s.origin == "made to fit" for s in taken.sails),
        "consent": any(count > 0 for count in consent.values()),
        "timber": any("timber" in m for m in materials),
        "steel": any("steel" in m for m in materials),
        "base plate": any(p.on_plate for p in taken.posts),
        "house anchor": any(s.house for s in supports),
        "wire rope": any(c.run == "wire rope" for c in taken.corners),
    }
    return found | {name for name, true in tests.items() if true}


def parts(when: str) -> frozenset[str]:
    """The single conditions of a row's `when`.

    >>> sorted(parts("Posts, steel"))
    ['posts', 'steel']
    """
    return frozenset(key(part) for part in re.split(r"[;,]", when) if part.strip())


def holds(when: str, found: set[str]) -> bool:
    """Whether a row's `when` holds: blank always; several conditions, with commas between, all together.

    >>> holds("", set()), holds("posts, steel", {"posts", "steel"}), holds("posts, steel", {"posts"})
    (True, True, False)
    """
    return parts(when) <= found
