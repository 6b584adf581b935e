"""The fixings of a site with their coordinates: typed, taped, or set out from a wall."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isnan

from estimator.core.problems import Problem
from estimator.job.model import Fixing, Job, Option, Site, Wall
from estimator.rates.model import RateBook
from estimator.takeoff import taped, walls
from estimator.takeoff.model import Survey, WallMarks


@dataclass(frozen=True, slots=True)
class SitePoints:
    """What is known of a site's fixings."""

    fixings: tuple[Fixing, ...]
    survey: Survey | None
    walls: Mapping[str, Wall]


@dataclass(frozen=True, slots=True)
class OptionPoints:
    """An option with its corners, and the fixings it may use."""

    option: Option
    fixings: tuple[Fixing, ...]
    marks: tuple[WallMarks, ...]


def site_points(book: RateBook, job: Job, site: Site) -> tuple[SitePoints, list[Problem]]:
    """The fixings that have coordinates; what is wrong with a fixing without them has been said."""
    fixings = job.fixings.get(site.name, ())
    lines = job.tape.get(site.name, ())
    by_name = walls.by_name(job.walls.get(site.name, ()))
    if not lines:
        return SitePoints(tuple(f for f in fixings if not (isnan(f.across) or isnan(f.out))), None, by_name), []
    whole = [f for f in fixings if isnan(f.across) == isnan(f.out)]
    done, survey, problems = taped.survey(whole, lines, book.number("tape error"), job.header.units)
    return SitePoints(done, survey, by_name), problems


def option_points(book: RateBook, at: SitePoints, option: Option, units: str) -> tuple[OptionPoints, list[Problem]]:
    """The option on its fixings; a sail on a wall gets fixings of its own."""
    option, made, marks, problems = walls.set_out(book, option, at.walls, units)
    names = {f.name for f in made}
    return OptionPoints(option, (*made, *(f for f in at.fixings if f.name not in names)), marks), problems
