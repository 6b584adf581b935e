"""From the cells of a job workbook to a `Job`: every problem collected, none stops at the first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from estimator.core.names import key
from estimator.core.problems import Problem, problem, scoped
from estimator.job.actuals import NO_SITE, read_actuals
from estimator.job.extras import read_extras
from estimator.job.fixings import read_fixings
from estimator.job.model import Header, Job, Site
from estimator.job.options import read_options
from estimator.job.rows import Names, Read, understood, with_source
from estimator.job.sites import read_sites
from estimator.job.tape_walls import read_tape, read_walls
from estimator.sheets.cells import Book
from estimator.sheets.columns import ACTUALS, EXTRAS, FIXINGS, OPTIONS, SITES, TABLES, TAPE, WALLS, Table
from estimator.sheets.grammar import Context
from estimator.sheets.reader import Row, read_table, unread_sheets


def read_job(book: Book, file: str, header: Header, context: Context, names: Names) -> tuple[Job, list[Problem]]:
    """The job, as far as it can be read, and everything that is wrong with it.

    names: the names that the rate book allows, by table, from key to spelling.
    """
    counts: dict[str, tuple[int, int]] = {}
    ignored: dict[str, Mapping[str, int]] = {}
    as_read = [header.understood] if header.understood else []
    problems = unread_sheets(book, TABLES)

    def rows_of(table: Table, only: Site | None) -> list[Read]:
        if only is not None:  # with one site its name may stay blank everywhere
            columns = tuple(replace(c, required=False) if c.name == "Site" else c for c in table.columns)
            table = replace(table, columns=columns)
        found = read_table(book, table, context)
        counts[table.sheet] = (found.read, found.ignored)
        ignored[table.sheet] = found.reasons
        problems.extend(scoped(found.problems, site=NO_SITE) if table is ACTUALS else found.problems)
        as_read.extend(understood(table, row) for row in found.rows)
        rows = (_filled(row, only) for row in found.rows) if only and table not in (EXTRAS, ACTUALS) else found.rows
        return [with_source(row, file) for row in rows]

    sites_read, found = read_sites(rows_of(SITES, None), names)
    problems += found
    sites: Mapping[str, Site] = {key(s.name): s for s in sites_read}
    only = sites_read[0] if len(sites_read) == 1 else None

    def rows_with_site(table: Table) -> list[Read]:
        reads = rows_of(table, only)
        for read in reads:
            if table is not OPTIONS and read.text("Site") and key(read.text("Site")) not in sites:
                known = ", ".join(s.name for s in sites_read) or "none"
                problems.append(
                    problem("site-unknown", read.place("Site"), site="?", found=read.text("Site"), known=known, hint="")
                )
        return reads

    tape_reads = rows_with_site(TAPE)
    taped = {key(r.text("Site")) for r in tape_reads if r.number("Length") is not None}
    fixing_reads = rows_with_site(FIXINGS)
    fixings, found = read_fixings(fixing_reads, sites, taped, names)
    problems += found
    named: dict[str, set[str]] = {}
    for r in fixing_reads:
        if r.text("Fixing"):
            named.setdefault(key(r.text("Site")), set()).add(key(r.text("Fixing")))
    unread = {
        site.name: frozenset(named.get(key(site.name), ())) - {key(f.name) for f in fixings.get(site.name, ())}
        for site in sites_read
    }
    tape, found = read_tape(tape_reads, sites, fixings)
    problems += found
    walls, found = read_walls(rows_with_site(WALLS), sites, names)
    problems += found
    options, found = read_options(rows_of(OPTIONS, only), sites, fixings, unread, walls, names, header, context)
    problems += found
    extras, found = read_extras(rows_of(EXTRAS, None), sites, options, names)
    problems += found
    actuals, found = read_actuals(rows_of(ACTUALS, None), sites, options, extras, names)
    problems += found
    rows = tuple(as_read)
    return Job(
        file, header, sites_read, fixings, options, extras, tape, walls, counts, actuals, ignored, rows
    ), problems


def _filled(row: Row, only: Site) -> Row:
    """The row with its blank site filled in."""
    return row if row.values.get("Site") else replace(row, values={**row.values, "Site": only.name})
