"""How many rows of each sheet of the job workbook were read, are in a price, or were ignored and why."""

from __future__ import annotations

from typing import Any

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report.reasons import used


def row_counts(priced: PricedJob) -> list[list[Any]]:
    """Sheet, why rows were ignored, rows read, rows in a price, rows ignored; a sheet that is no part of any price has
    no count of those."""
    within = _in_a_price(priced)
    found: list[list[Any]] = []
    for name, (read, ignored) in priced.job.counts.items():
        reasons = priced.job.ignored.get(name, {})
        words = "; ".join(f"{why}: {number}" for why, number in reasons.items())
        found.append([name, words, read, within.get(name), ignored])
    return found


def _in_a_price(priced: PricedJob) -> dict[str, int]:
    """Rows by sheet that some price rests on: those of options with a price, and what these options use."""
    job = priced.job
    options = [o for o in priced.options if o.bill is not None]
    sites = {key(o.site.name) for o in options}
    names = {(key(o.site.name), key(f)) for o in options for f in used(o)}
    walls = {(key(o.site.name), key(s.wall)) for o in options for s in o.option.sails if s.wall}
    return {
        "Sites": sum(key(s.name) in sites for s in job.sites),
        "Fixings": sum((key(site), key(f.name)) in names for site, rows in job.fixings.items() for f in rows),
        "Tape": sum(len(rows) for site, rows in job.tape.items() if key(site) in sites),
        "Walls": sum((key(site), key(w.name)) in walls for site, rows in job.walls.items() for w in rows),
        "Options": sum(len(o.option.sails) for o in options),
        "Extras": sum(_counts(priced, options, e.site, e.option) for e in job.extras),
    }


def _counts(priced: PricedJob, options: list[PricedOption], site: str, option: str) -> bool:
    """Whether a row of `Extras` belongs to an option with a price, or to the lines of the whole job."""
    if not site:
        return priced.job_bill is not None or bool(priced.job_apart)
    return any(key(o.site.name) == key(site) and (not option or key(o.option.name) == key(option)) for o in options)
