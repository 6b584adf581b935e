"""What changed since an earlier revision, put beside a priced job."""

from __future__ import annotations

from dataclasses import replace

from estimator.pricing.model import Changes, PricedJob, Reworked
from estimator.report.changes.compared import money, rates
from estimator.report.changes.gives import given
from estimator.report.changes.model import Printed, PrintedOption
from estimator.report.changes.of_priced import of_priced
from estimator.report.changes.parts import by_cause


def with_changes(priced: PricedJob, before: Printed, file: str) -> PricedJob:
    """The job with what changed since the workbook `before`, which lies under the name `file`."""
    now = of_priced(priced, "")
    prices = tuple(
        Reworked(option.site, option.name, *each.prices, by_cause(each.parts))
        for each in money(before, now)
        if (option := _option(each.now, each.before))
    )
    changes = Changes(before.revision, file, before.day, given(before, now), rates(before, now), prices)
    return replace(priced, changes=changes)


def _option(now: PrintedOption | None, before: PrintedOption | None) -> PrintedOption | None:
    return now or before
