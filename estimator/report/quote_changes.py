"""What changed since an earlier revision, on the customer's copy: words and no money."""

from __future__ import annotations

from estimator.pricing.model import PricedJob
from estimator.report.quote_rows import Section, gap, heading, listed

NOTHING = "Nothing in what you get."


def changed(priced: PricedJob) -> list[Section]:
    """The section, where an earlier revision lies beside; else none."""
    if priced.changes is None:
        return []
    name = f"Changed since revision {priced.changes.revision}"
    rows = listed(priced.changes.told or (NOTHING,))
    return [Section(name[:1].lower() + name[1:], (gap(), heading(name), *rows))]
