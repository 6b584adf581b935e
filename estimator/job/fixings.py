"""Sheet `Fixings`: the points that can hold a corner."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem, scoped
from estimator.job.model import Fixing, Site
from estimator.job.rows import Names, Read, duplicate_problem, named, repeated

SAME = 1e-6  # m; two levels closer than this are one
LEAST = 4  # fixings of a site: fewer say nothing of what is usual there
ALIKE = 1.6  # heights over ground of one site no further apart than this are alike; common practice, no source


def read_fixings(
    reads: Sequence[Read], sites: Mapping[str, Site], taped: Collection[str], names: Names
) -> tuple[dict[str, tuple[Fixing, ...]], list[Problem]]:
    """Fixings by site name, and what is wrong with them.

    taped: keys of the sites that have tape lines; there a fixing may do without Across and Out. Such a fixing
    has nan for them until the tape is worked out.
    """
    problems: list[Problem] = []
    by_site: dict[str, list[Fixing]] = {s.name: [] for s in sites.values()}
    levels_blank: list[Read] = []
    good: list[tuple[str, Read]] = []
    heights_at: dict[tuple[str, str], Place] = {}
    for read in reads:
        site = sites.get(key(read.text("Site")))
        if site is None or not read.text("Fixing"):
            problems += scoped(read.row.problems, site=site.name if site else read.text("Site") or "?")
            continue
        good.append((key(site.name) + "\n" + key(read.text("Fixing")), read))
    for rows in repeated(good, "Fixing").values():
        name = rows[0].text("Fixing")
        site_name = sites[key(rows[0].text("Site"))].name
        problems += scoped([duplicate_problem("Fixing", name, rows)], site=site_name, fixing=name)
        good = [(n, r) for n, r in good if all(r is not later for later in rows[1:])]
    for _, read in good:
        site = sites[key(read.text("Site"))]
        fixing, found = _fixing(read, site, key(site.name) in taped, names)
        problems += scoped(found, site=site.name, fixing=read.text("Fixing"))
        if read.get("Ground level") is None and read.usable("Ground level"):
            levels_blank.append(read)
        if fixing:
            given = "Height" if read.number("Height") is not None else "Above ground"
            heights_at[fixing.site, fixing.name] = read.place(given)
            by_site[site.name].append(fixing)
    for fixings in by_site.values():
        problems += _slipped(fixings, heights_at)
    if levels_blank:
        count = len(levels_blank)
        problems.append(problem("ground-level-zero", levels_blank[0].place("Ground level"), count=count, site="?"))
    return {site: tuple(rows) for site, rows in by_site.items()}, problems


def _fixing(read: Read, site: Site, taped: bool, names: Names) -> tuple[Fixing | None, list[Problem]]:
    problems = list(read.row.problems)
    held_by, found = named(read, "Held by", "supports", names)
    problems += found
    post, found = named(read, "Post", "posts", names)
    problems += found
    ground_class, found = named(read, "Ground", "ground", names)
    problems += found
    ground = read.number("Ground level") or 0.0
    height, found = _height(read, ground)
    problems += found
    across, out = read.number("Across"), read.number("Out")
    for column, value in (("Across", across), ("Out", out)):
        if value is None and read.usable(column) and not (taped and across is None and out is None):
            problems.append(problem("coordinate-blank", read.place(column), column=column))
    if height is None or not held_by:
        return None, problems
    return (
        Fixing(
            site=site.name,
            name=read.text("Fixing"),
            held_by=held_by,
            across=float("nan") if across is None else across,
            out=float("nan") if out is None else out,
            height=height,
            ground=ground,
            post_name=read.text("On post") or read.text("Fixing"),
            post=post,
            depth=read.number("Depth"),
            hole=read.number("Hole"),
            lean=read.number("Lean"),
            tied=bool(read.get("Tied")),
            ground_class=ground_class,
            rock_at=read.number("Rock at"),
            to_edge=read.number("To edge"),
            known_by=read.text("Known by") or "assumed",
            to_boundary=read.number("To boundary"),
            to_service=read.number("To service"),
            for_crew=read.text("For the crew"),
            notes=read.text("Notes"),
            source=read.source,
        ),
        problems,
    )


def _slipped(fixings: Sequence[Fixing], heights_at: Mapping[tuple[str, str], Place]) -> list[Problem]:
    """The highest or lowest over its ground, where all others are alike and a tenth or ten times of it is like them."""
    order = sorted(fixings, key=_over_ground)
    if len(order) < LEAST or _over_ground(order[0]) <= 0:
        return []
    problems: list[Problem] = []
    for odd, others, factor in ((order[-1], order[:-1], 0.1), (order[0], order[1:], 10)):
        low, high = _over_ground(others[0]), _over_ground(others[-1])
        height = _over_ground(odd)
        meant = height * factor
        if high <= ALIKE * low and low / ALIKE <= meant <= high * ALIKE:
            told = {
                "name": odd.name,
                "height": f"{height:.2f}",
                "times": "ten times" if factor < 1 else "a tenth of",
                "others": f"{low:.2f} m" if high - low < 0.005 else f"{low:.2f} to {high:.2f} m",
                "meant": f"{meant:.2f}",
            }
            at = heights_at[odd.site, odd.name]
            problems.append(problem("height-slipped", at, **told, site=odd.site, fixing=odd.name))
    return problems


def _over_ground(fixing: Fixing) -> float:
    return fixing.height - fixing.ground


def _height(read: Read, ground: float) -> tuple[float | None, list[Problem]]:
    """Height above the datum from either column; both must agree."""
    height, above = read.number("Height"), read.number("Above ground")
    if not read.usable("Height", "Above ground", "Ground level"):
        return None, []
    if height is None and above is None:
        return None, [problem("height-blank", read.place("Height"))]
    if height is not None and above is not None and abs(height - ground - above) > SAME:
        return None, [
            problem(
                "heights-disagree",
                read.place("Above ground"),
                height=f"{height:.3f}",
                ground=f"{ground:.3f}",
                above=f"{above:.3f}",
            )
        ]
    if height is None:
        assert above is not None
        height = ground + above
    if height < ground - SAME:
        return None, [
            problem("fixing-under-ground", read.place("Height"), height=f"{height:.3f}", ground=f"{ground:.3f}")
        ]
    return height, []
