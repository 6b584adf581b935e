"""Sheet `Sites`."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.core.names import key
from estimator.core.problems import Problem, problem, scoped
from estimator.job.model import Site
from estimator.job.rows import Names, Read, duplicate_problem, named, repeated


def read_sites(reads: Sequence[Read], names: Names) -> tuple[tuple[Site, ...], list[Problem]]:
    """The sites that have a name, in row order; a repeated name keeps its first row and is an error."""
    problems: list[Problem] = []
    sites: dict[str, Site] = {}
    with_name = [(key(r.text("Site")), r) for r in reads if r.text("Site")]
    for read in reads:
        if not read.text("Site"):
            problems += scoped(read.row.problems, site="?")
    for name, rows in repeated(with_name, "Site").items():
        problems.append(duplicate_problem("Site", rows[0].text("Site"), rows))
        problems[-1:] = scoped(problems[-1:], site=rows[0].text("Site"))
        with_name = [(n, r) for n, r in with_name if n != name or r is rows[0]]
    for name, read in with_name:
        site, found = _site(read, names)
        sites[name] = site
        problems += scoped(found, site=site.name)
    return tuple(sites.values()), problems


def _site(read: Read, names: Names) -> tuple[Site, list[Problem]]:
    problems = list(read.row.problems)
    ground, found = named(read, "Ground", "ground", names)
    problems += found
    access, found = named(read, "Access", "access", names)
    problems += found
    if not read.text("Access") and read.usable("Access"):
        problems.append(problem("access-blank", read.place("Access"), site=read.text("Site"), name=read.text("Site")))
    travel = read.number("Travel")
    if travel is None and read.usable("Travel"):
        problems.append(problem("travel-blank", read.place("Travel"), site=read.text("Site"), name=read.text("Site")))
    wind = read.number("Wind speed")
    if wind is not None and not read.text("Wind is") and read.usable("Wind is"):
        problems.append(problem("wind-kind-blank", read.place("Wind is")))
    multiplier = read.number("Wind multiplier")
    if multiplier is not None and read.text("Wind is") == "design":
        problems.append(problem("wind-multiplier-unused", read.place("Wind multiplier"), site=read.text("Site")))
        multiplier = None
    existing = read.number("Existing sails")
    return (
        Site(
            name=read.text("Site"),
            address=read.text("Address"),
            place=read.text("Place"),
            ground=ground,
            rock_at=read.number("Rock at"),
            digging=read.text("Digging") or "hand",
            access=access,
            trip=read.text("Trip"),
            travel=travel or 0.0,
            services=read.text("Services"),
            drains_to=read.text("Drains to"),
            near=tuple(read.get("Near") or ()),
            existing_sails=None if existing is None else int(existing),
            latitude=read.number("Latitude"),
            longitude=read.number("Longitude"),
            facing=read.number("Facing"),
            wind_speed=wind,
            wind_is=read.text("Wind is"),
            for_customer=read.text("For the customer"),
            for_crew=read.text("For the crew"),
            notes=read.text("Notes"),
            source=read.source,
            wind_multiplier=multiplier,
            test_hole=read.text("Test hole"),
        ),
        problems,
    )
