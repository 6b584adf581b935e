"""Sheet `Options`: one row a sail; rows with one Site and Option are one alternative."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from estimator.core.names import key
from estimator.core.problems import Problem, did_you_mean, problem, scoped
from estimator.job.model import Fixing, Header, Option, Run, Sail, Site, Size, Wall
from estimator.job.rows import Names, Read, named
from estimator.sheets.grammar import Context
from estimator.sheets.size import read_size

LEAST_CORNERS, MOST_CORNERS = 3, 8


def read_options(
    reads: Sequence[Read],
    sites: Mapping[str, Site],
    fixings: Mapping[str, Sequence[Fixing]],
    unread: Mapping[str, frozenset[str]],
    walls: Mapping[str, Sequence[Wall]],
    names: Names,
    header: Header,
    context: Context,
) -> tuple[tuple[Option, ...], list[Problem]]:
    """The options in the order of their first row.

    unread: by site name, keys of fixings whose row could not be used; they are not "unknown".
    """
    problems: list[Problem] = []
    groups: dict[tuple[str, str], list[Read]] = {}
    for read in reads:
        site = sites.get(key(read.text("Site")))
        if site is None and read.text("Site"):
            problems += scoped([_unknown_site(read, sites)], site="?")
        if site is None or not read.text("Option"):
            problems += scoped(read.row.problems, site=site.name if site else "?", option="?")
            continue
        groups.setdefault((key(site.name), key(read.text("Option"))), []).append(read)
    options = []
    for (site_key, _), rows in groups.items():
        site = sites[site_key]
        known = {key(f.name): f.name for f in fixings.get(site.name, ())}
        option, found = _option(site, rows, known, unread.get(site.name, frozenset()), walls, names, header, context)
        options.append(option)
        problems += scoped(found, site=site.name, option=option.name)
    options, found = _choose(options, sites)
    return tuple(options), [*problems, *found]


def _unknown_site(read: Read, sites: Mapping[str, Site]) -> Problem:
    known = [s.name for s in sites.values()]
    return problem(
        "site-unknown",
        read.place("Site"),
        found=read.text("Site"),
        known=", ".join(known) or "none",
        hint=did_you_mean(read.text("Site"), known),
    )


def _option(
    site: Site,
    rows: Sequence[Read],
    known: Mapping[str, str],
    unread: frozenset[str],
    walls: Mapping[str, Sequence[Wall]],
    names: Names,
    header: Header,
    context: Context,
) -> tuple[Option, list[Problem]]:
    problems: list[Problem] = []
    sails: list[Sail] = []
    for number, read in enumerate(rows, start=1):
        sail, found = _sail(read, number, known, unread, [w.name for w in walls.get(site.name, ())], names, context)
        problems += [*read.row.problems, *found]
        sails.append(sail)
    seen: dict[str, Sail] = {}
    for sail in sails:
        if key(sail.name) in seen:
            cells = f"{seen[key(sail.name)].source.place('Sail')}, {sail.source.place('Sail')}"
            problems.append(
                problem("duplicate-key", sail.source.place("Sail"), column="Sail", name=sail.name, cells=cells)
            )
        seen[key(sail.name)] = sail
    for column in ("Profit margin", "Status"):
        given = [r for r in rows if r.get(column) is not None]
        if len({r.get(column) for r in given}) > 1:
            cells = " and ".join(str(r.place(column)) for r in given[:2])
            problems.append(problem("rows-disagree", given[-1].place(column), column=column, cells=cells))
    margins = [m for r in rows if (m := r.decimal("Profit margin")) is not None]
    statuses = [t for r in rows if (t := r.text("Status"))]
    return (
        Option(
            site=site.name,
            name=rows[0].text("Option"),
            sails=tuple(sails),
            margin=margins[0] if margins else None,
            status=statuses[0] if statuses else header.status,
            chosen=any(r.get("Chosen") for r in rows),
            source=rows[0].source,
        ),
        problems,
    )


def _sail(
    read: Read,
    number: int,
    known: Mapping[str, str],
    unread: frozenset[str],
    walls: Sequence[str],
    names: Names,
    context: Context,
) -> tuple[Sail, list[Problem]]:
    problems: list[Problem] = []
    size_text, found = read_size(read.text("Size"), context, read.place("Size"))
    problems += found
    size = Size("unreadable", read.text("Size"))  # never taken for a blank one
    if size_text is not None:
        size = Size(size_text.kind, size_text.text, size_text.code, tuple(size_text.sides), size_text.diagonal)
    if size.kind == "stock":
        code, found = named(read, "Size", "sails", names, "stock sail")
        problems += found
        size = replace(size, code=code)
    cloth, found = named(read, "Cloth", "cloths", names)
    problems += found
    hardware, found = named(read, "Hardware", "corner_sets", names, "corner set")
    problems += found
    post, found = named(read, "Post", "posts", names)
    problems += found
    corners, found = _corners_at(read, known, unread)
    problems += found
    wall = next((w for w in walls if key(w) == key(read.text("Wall"))), "")
    if read.text("Wall") and not wall:
        problems.append(
            problem(
                "wall-unknown",
                read.place("Wall"),
                found=read.text("Wall"),
                known=", ".join(walls) or "none",
                hint=did_you_mean(read.text("Wall"), walls),
            )
        )
    if not corners and not read.text("Wall") and read.usable("Corners at") and not read.text("Corners at"):
        problems.append(problem("corners-blank", read.place("Corners at")))
    of_sail = {key(c): c for c in corners}
    run, found = _run(read, of_sail)
    problems += found
    tensioned, found = _some_corners(read, "Tensioned", of_sail)
    problems += found
    return (
        Sail(
            name=read.text("Sail") or str(number),
            corners_at=corners,
            wall=wall,
            size=size,
            cloth=cloth,
            colour=read.text("Colour"),
            hardware=hardware,
            run=run,
            tensioned=tensioned,
            post=post,
            depth=read.number("Depth"),
            hole=read.number("Hole"),
            for_customer=read.text("For the customer"),
            notes=read.text("Notes"),
            source=read.source,
        ),
        problems,
    )


MOST_NAMED = 3 * MOST_CORNERS  # a cell with more names is no list of corners


def _corners_at(read: Read, known: Mapping[str, str], unread: frozenset[str]) -> tuple[tuple[str, ...], list[Problem]]:
    """The fixings of a sail in order, as the Fixings sheet spells them."""
    asked = [str(n) for n in read.get("Corners at") or ()]
    if not asked:
        return (), []
    place = read.place("Corners at")
    problems = []
    for name in asked[:MOST_NAMED]:
        if key(name) not in known and key(name) not in unread:
            shown = ", ".join(known.values()) or "none"
            hint = did_you_mean(name, known.values())
            problems.append(problem("fixing-unknown", place, found=name, known=shown, hint=hint))
    times = Counter(key(n) for n in asked)
    twice = sorted({n for n in asked if times[key(n)] > 1})
    if twice:
        problems.append(problem("corner-twice", place, names=", ".join(twice)))
    if not LEAST_CORNERS <= len(asked) <= MOST_CORNERS:
        problems.append(problem("corner-count", place, count=len(asked)))
    # kept even when wrong, so that a problem of a fixing finds the options that ask for it
    return tuple(known.get(key(n), n) for n in asked), problems


def _some_corners(read: Read, column: str, of_sail: Mapping[str, str]) -> tuple[tuple[str, ...] | None, list[Problem]]:
    asked = read.get(column)
    if not asked:
        return None, []
    wrong = [str(n) for n in asked if of_sail and key(n) not in of_sail]
    problems = [
        problem("not-a-corner", read.place(column), found=n, column=column, known=", ".join(of_sail.values()))
        for n in wrong
    ]
    return tuple(of_sail.get(key(n), str(n)) for n in asked), problems


RUN_WORDS = {"chain": "chain", "wire rope": "wire rope", "wire": "wire rope", "rope": "wire rope"}
RUN_PART = r"(?:(?!wire rope$)(.+?)\s+)?(chain|wire rope|wire|rope)"  # the words alone name no fixing `wire`


def _run(read: Read, of_sail: Mapping[str, str]) -> tuple[Run, list[Problem]]:
    """`chain`, `wire rope`, or with exceptions: `chain, D wire rope`."""
    text = read.text("Run")
    usual, at = "", dict[str, str]()
    for part in (p.strip() for p in re.split(r"[,;]", text) if p.strip()):
        match = re.fullmatch(RUN_PART, " ".join(part.split()), re.IGNORECASE)
        if match is None:
            return Run(), [problem("run-unknown", read.place("Run"), found=text)]
        name, kind = match.group(1), RUN_WORDS[match.group(2).casefold()]
        if name is None:
            usual = kind
        elif of_sail and key(name) not in of_sail:
            known = ", ".join(of_sail.values())
            return Run(), [problem("not-a-corner", read.place("Run"), found=name, column="Run", known=known)]
        else:
            at[key(name)] = kind
    return Run(usual, at), []


def _choose(options: list[Option], sites: Mapping[str, Site]) -> tuple[list[Option], list[Problem]]:
    """A single option is chosen; two marked are an error; several and none marked leave the site out."""
    problems: list[Problem] = []
    at_site: dict[str, list[Option]] = {}
    for o in options:
        at_site.setdefault(o.site, []).append(o)
    changed: dict[int, bool] = {}  # an option's identity to whether it is chosen
    for site in sites.values():
        mine = at_site.get(site.name, [])
        marked = [o for o in mine if o.chosen]
        if len(marked) > 1:
            cells = ", ".join(str(o.source.place("Chosen")) for o in marked)
            for o in marked:
                place = o.source.place("Chosen")
                problems.append(
                    problem("two-chosen", place, site=site.name, option=o.name, name=site.name, cells=cells)
                )
                changed[id(o)] = False
        elif len(mine) == 1 and not marked:
            changed[id(mine[0])] = True
        elif len(mine) > 1 and not marked:
            place = mine[0].source.place("Chosen")
            problems.append(problem("none-chosen", place, site=site.name, name=site.name, count=len(mine)))
        elif not mine:
            problems.append(problem("site-without-option", site.source.place("Site"), site=site.name, name=site.name))
    result = [replace(o, chosen=changed[id(o)]) if id(o) in changed else o for o in options]
    return result, problems
