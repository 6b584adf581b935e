"""What stands near a site and makes a sail more dangerous there: asked for where nobody has said, and named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Fixing, Site
from estimator.rates.model import RateBook
from estimator.takeoff.hang import Hung
from estimator.takeoff.shape import lowest_over_ground

PLATE = "plate post"


def site_risks(
    book: RateBook, site: Site, used: Sequence[Fixing], hung: Sequence[Hung], fixings: Mapping[str, Fixing]
) -> list[Problem]:
    """The question about `Near`, and what a climber or a pool means for this option.

    used: the option's fixings; fixings: all of the site, by key.
    """
    place, near = site.source.place("Near"), {key(n) for n in site.near}
    if not near:
        return [problem("near-unknown", place, name=site.name)]
    found: list[Problem] = []
    lows = [low for low in (lowest_over_ground(h, fixings) for h in hung) if low]
    if "climbable" in near and lows:
        name, height = min(lows, key=lambda low: low[1])
        least = book.number("head height")
        under = f", under the head height of {least:.2f} m," if height < least - 1e-9 else ""
        found.append(
            problem("climb-risk", place, name=site.name, fixing_name=name, height=f"{height:.2f}", under=under)
        )
    posts = [f for f in used if book.supports[key(f.held_by)].makes or "post" in key(f.held_by)]
    if "pool" in near and posts:
        plates = _names([f for f in posts if book.supports[key(f.held_by)].makes == PLATE])
        more = f" The welds of {plates} tire in gusts: they are to be looked at every year." if plates else ""
        found.append(problem("pool-near", place, name=site.name, posts=_names(posts), more=more))
    return found


def _names(fixings: Sequence[Fixing]) -> str:
    return ", ".join(dict.fromkeys(f.post_name or f.name for f in fixings))
