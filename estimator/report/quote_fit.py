"""What of a quote stands on its first page and what follows behind it; the same for a sheet and for a PDF."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from estimator.report.quote_rows import Row, Section

FULL = 0.6  # part of the free page that the sites in full may take, so that the conditions keep their room
SHORT = 0.8  # part of it that a row an option may take; beyond, only the total stands on the first page

Rows = tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Parts:
    """Everything a customer reads, once. title: of the document; short: each option in one row, and the whole job's;
    sections: the texts, those a customer may miss least first; foot: what is signed."""

    title: str
    language: str
    top: Rows
    sites: tuple[Rows, ...]
    job: Rows
    short: Rows
    total: Rows
    apart: Rows
    sections: tuple[Section, ...]
    plans: tuple[Section, ...]
    foot: Rows


def fitted(parts: Parts, room: float, high: Callable[[Sequence[Row]], float]) -> tuple[list[Row], list[Section]]:
    """The rows between top and foot of the first page, and the sections that follow. room: for those rows; high: how
    much some rows take of it, in the same unit."""
    later: list[Section] = []
    prices = [*(r for rows in parts.sites for r in rows), *parts.job, *parts.total, *parts.apart]
    if high(prices) > room * FULL:
        later += [Section("each site in full", rows) for rows in parts.sites]
        prices = [*parts.short, *parts.total, *parts.apart]
        if high(prices) > room * SHORT:
            prices = list(parts.total)
            later.append(Section("the whole job, on request", (*parts.job, *parts.apart)))
    room -= high(prices)
    kept: list[Row] = []
    for section in parts.sections:
        more = high(section.rows)
        if more <= room:
            kept += section.rows
            room -= more
        else:
            later.append(section)
    return [*prices, *kept], [*later, *parts.plans]


def names_of(sections: Sequence[Section]) -> str:
    """What follows behind the first page, each named once."""
    return ", ".join(dict.fromkeys(s.name for s in sections))
