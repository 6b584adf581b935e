"""The price that was accepted stays: it is taken from the priced workbook that lies there and kept beside the bill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from estimator.core.problems import Place, Problem, problem, scoped
from estimator.pricing.model import Accepted, Bill, PricedJob, PricedOption
from estimator.pricing.told import Variation, of_option, variations
from estimator.report.changes.compared import more_or_less
from estimator.report.changes.model import Printed, PrintedOption
from estimator.report.terms import terms_of
from estimator.report.words import money_words

ACCEPTED, FIRM = "accepted", "firm"


def asks(priced: PricedJob) -> bool:
    """Whether anything in a job is accepted, so that an earlier workbook has to be looked at."""
    return priced.job.header.status == ACCEPTED or any(_is_accepted(o) for o in priced.options)


def status_place(priced: PricedJob) -> Place:
    """The cell that says accepted: the job's, else that of the first option."""
    if priced.job.header.status == ACCEPTED:
        return priced.job.header.source.place("Status")
    return next(o.option.source.place("Status") for o in priced.options if _is_accepted(o))


def _is_accepted(option: PricedOption) -> bool:
    return option.chosen and option.quote_status == ACCEPTED


def with_accepted(priced: PricedJob, lies: Printed | None) -> tuple[PricedJob, list[Problem]]:
    """The job with the price that was accepted of each chosen option whose status is accepted, and of the lines of the
    whole job where the job's status is; and what is to be said where the bill has gone from it.

    The accepted price is the one that the workbook there calls accepted; else the firm price that stands in it, for
    that was offered; else what is worked out now.
    """
    options = []
    problems: list[Problem] = []
    varied = variations(priced)
    for option in priced.options:
        if not _is_accepted(option):
            options.append(option)
            continue
        old = lies.option(option.site.name, option.option.name) if lies else None
        accepted = _accepted(priced, option.bill, lies, old)
        options.append(replace(option, accepted=accepted))
        place = option.option.source.place("Status")
        found = _said(priced, place, accepted, option.bill, varied, option)
        problems += scoped(found, site=option.site.name, option=option.option.name)
    whole = None
    if priced.job.header.status == ACCEPTED and priced.job_bill is not None:
        whole = _accepted(priced, priced.job_bill, lies, lies.whole if lies else None)
        place = priced.job.header.source.place("Status")
        problems += scoped(_said(priced, place, whole, priced.job_bill, varied, None), site="?")
    return replace(priced, options=tuple(options), job_accepted=whole), problems


def _accepted(priced: PricedJob, bill: Bill | None, lies: Printed | None, old: PrintedOption | None) -> Accepted | None:
    if old is not None and old.accepted is not None:
        return old.accepted
    if lies is not None and old is not None and old.offer == FIRM and old.bill is not None:
        return Accepted(old.bill.before_tax, old.bill.tax, old.bill.price, lies.revision, lies.day)
    if bill is None:
        return None
    header, totals = priced.job.header, bill.totals
    return Accepted(totals.price_before_tax, totals.tax, totals.price, header.revision, header.priced_on)


def _said(
    priced: PricedJob,
    place: Place,
    accepted: Accepted | None,
    bill: Bill | None,
    varied: Sequence[Variation],
    option: PricedOption | None,
) -> list[Problem]:
    """That the bill is as accepted, or by how much it is not, and whether variations cover that."""
    if accepted is None or bill is None:
        return []
    currency = terms_of(priced).currency
    difference = bill.totals.price - accepted.price
    words = {"accepted": money_words(accepted.price, currency), "day": accepted.day.isoformat()}
    words["revision"] = str(accepted.revision)
    if not difference:
        return [problem("accepted-price-held", place, **words)]
    more = of_option(varied, option)
    words |= {"now": money_words(bill.totals.price, currency), "differs": more_or_less(difference, currency)}
    if difference * more > 0 and abs(more) >= abs(difference):
        return [problem("accepted-price-varied", place, varied=money_words(more, currency), **words)]
    beside = f", of which variations make {money_words(more, currency)}" if more else ""
    return [problem("accepted-price-differs", place, varied=beside, **words)]


def too_early(priced: PricedJob) -> list[Problem]:
    """Variations of what is not accepted."""
    names: list[str] = []
    for variation in variations(priced):
        for line in variation.lines:
            early = priced.job.header.status != ACCEPTED if line.option is None else line.option.accepted is None
            if line.counted and early and variation.name not in names:
                names.append(variation.name)
    if not names:
        return []
    place = priced.job.header.source.place("Status")
    return [problem("variation-not-accepted", place, names=", ".join(names), site="?")]
