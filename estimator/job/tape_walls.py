"""Sheets `Tape` and `Walls`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from estimator.core.names import key
from estimator.core.problems import Problem, problem, scoped
from estimator.job.model import Fixing, Site, TapeLine, Wall
from estimator.job.rows import Names, Read, duplicate_problem, named, repeated


def read_tape(
    reads: Sequence[Read], sites: Mapping[str, Site], fixings: Mapping[str, Sequence[Fixing]]
) -> tuple[dict[str, tuple[TapeLine, ...]], list[Problem]]:
    """Taped lines by site name; a line without a length was not taken and is left out."""
    problems: list[Problem] = []
    lines: dict[str, list[TapeLine]] = {s.name: [] for s in sites.values()}
    for read in reads:
        site = sites.get(key(read.text("Site")))
        problems += scoped(read.row.problems, site=site.name if site else read.text("Site") or "?")
        if site is None or read.number("Length") is None or not (read.text("From") and read.text("To")):
            continue
        known = {key(f.name): f.name for f in fixings.get(site.name, ())}
        ends = []
        for column in ("From", "To"):
            name = read.text(column)
            ends.append(known.get(key(name), name))
            if key(name) not in known:
                shown = ", ".join(known.values()) or "none"
                problems += scoped(
                    [problem("fixing-unknown", read.place(column), found=name, known=shown, hint="")], site=site.name
                )
        length = read.number("Length")
        assert length is not None
        lines[site.name].append(
            TapeLine(site.name, ends[0], ends[1], length, read.text("Taken") == "level", read.source)
        )
    return {site: tuple(rows) for site, rows in lines.items()}, problems


def read_walls(
    reads: Sequence[Read], sites: Mapping[str, Site], names: Names
) -> tuple[dict[str, tuple[Wall, ...]], list[Problem]]:
    """Walls by site name."""
    problems: list[Problem] = []
    walls: dict[str, list[Wall]] = {s.name: [] for s in sites.values()}
    good = []
    for read in reads:
        site = sites.get(key(read.text("Site")))
        if site is None or not read.text("Wall"):
            problems += scoped(read.row.problems, site=site.name if site else read.text("Site") or "?")
            continue
        good.append((key(site.name) + "\n" + key(read.text("Wall")), read))
    for rows in repeated(good, "Wall").values():
        site = sites[key(rows[0].text("Site"))]
        problems += scoped([duplicate_problem("Wall", rows[0].text("Wall"), rows)], site=site.name)
        good = [(n, r) for n, r in good if all(r is not later for later in rows[1:])]
    for _, read in good:
        site = sites[key(read.text("Site"))]
        held_by, found = named(read, "Held by", "supports", names)
        problems += scoped([*read.row.problems, *found], site=site.name)
        length, fixing, post = read.number("Length"), read.number("Fixing height"), read.number("Post height")
        if length is None or fixing is None or post is None:
            continue
        centre = read.number("Centre")
        walls[site.name].append(
            Wall(
                site=site.name,
                name=read.text("Wall"),
                start_across=read.number("Start across") or 0.0,
                out=read.number("Out") or 0.0,
                length=length,
                centre=length / 2 if centre is None else centre,
                fixing_height=fixing,
                first_rafter=read.number("First rafter"),
                rafter_spacing=read.number("Rafter spacing"),
                held_by=held_by or names["supports"].get("rafter", "rafter"),
                post_height=post,
                post_ground=read.number("Post ground level") or 0.0,
                source=read.source,
            )
        )
    return {site: tuple(rows) for site, rows in walls.items()}, problems
