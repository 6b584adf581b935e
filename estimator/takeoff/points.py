"""The fixings of a site with their coordinates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isnan

from estimator.core.problems import Problem, problem
from estimator.job.model import Fixing, Job, Option, Site
from estimator.rates.model import RateBook


@dataclass(frozen=True, slots=True)
class SitePoints:
    """What is known of a site's fixings."""

    fixings: tuple[Fixing, ...]

    def for_option(self, option: Option) -> tuple[Option, Sequence[Fixing]]:
        """The option with its corners, and the fixings it may use."""
        return option, self.fixings


def site_points(book: RateBook, job: Job, site: Site) -> tuple[SitePoints, list[Problem]]:
    """The fixings that have coordinates; those without are a problem of their own."""
    found, problems = [], []
    for f in job.fixings.get(site.name, ()):
        if isnan(f.across) or isnan(f.out):
            problems.append(problem("coordinate-blank", f.source.place("Across"), fixing=f.name, column="Across"))
        else:
            found.append(f)
    return SitePoints(tuple(found)), problems
