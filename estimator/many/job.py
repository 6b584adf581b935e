"""The one function that prices a job of a run: in this process, in another, on another machine."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import perf_counter

from estimator.core.problems import Place, Problem, problem
from estimator.jobfile import Done, in_words, price_file
from estimator.many.model import Choices, Result
from estimator.many.prints import asked_print, wrote_print


def price_one(
    job: Path, choices: Choices, progress: Callable[[int, int], None] | None = None, cores: int = 1
) -> Result:
    """Price a job, write its outputs, and say what became of it. progress, cores: as of the pipeline."""
    began = perf_counter()
    done = price_file(
        job,
        choices.rates,
        choices.out,
        with_json=choices.with_json,
        quote=choices.quote,
        crew=choices.crew,
        drawings=choices.drawings,
        progress=progress,
        today=choices.today,
        screen=choices.screen,
        pdf=choices.pdf,
        mail=choices.mail,
        cores=cores,
    )
    # after writing: a priced workbook that was priced again is another file now
    rates = done.outcome.rates if done.outcome else choices.rates
    result = _with_prices(
        Result(
            status=_words(done),
            problems=tuple(p for p in done.problems if p.level != "note"),
            notes=sum(p.level == "note" for p in done.problems),
            written=done.written,
            rates=rates,
            asked=asked_print(job, rates, choices),
            wrote=wrote_print(done.written),
        ),
        done,
    )
    return replace(result, seconds=perf_counter() - began)


def price_safely(job: Path, choices: Choices) -> Result:
    """The same among many: a fault of ours is what became of this job, and the others go on."""
    began = perf_counter()
    try:
        return price_one(job, choices)
    except Exception as error:
        return broken(job, fault(job, error), perf_counter() - began)


def fault(job: Path, error: BaseException) -> Problem:
    """What to say of an error that nobody foresaw."""
    where = traceback.extract_tb(error.__traceback__)
    at = f", {Path(where[-1].filename).name} line {where[-1].lineno}" if where else ""
    said = " ".join(str(error).split())[:200]
    return problem("job-fault", Place(file=job.name), what=f"{type(error).__name__}{': ' if said else ''}{said}{at}")


def ended(job: Path) -> Result:
    """What became of a job whose process ended under it."""
    return broken(job, problem("job-process-ended", Place(file=job.name)))


def broken(job: Path, why: Problem, seconds: float = 0.0) -> Result:
    """What became of a job that could not be brought to its end."""
    return Result("broken off", (why,), seconds=seconds)


def _words(done: Done) -> str:
    if done.outcome is None or done.outcome.priced is None:
        return "cannot be used"
    if done.status:
        return "not all priced" if done.status == 1 else "not written"
    provisional = any(o.chosen and o.status == "provisional" for o in done.outcome.priced.options)
    return "provisional" if provisional else "priced"


def _with_prices(result: Result, done: Done) -> Result:
    from estimator.report.terms import terms_of

    priced = done.outcome.priced if done.outcome else None
    if done.outcome is None or priced is None:
        return result
    result = replace(result, lines=tuple(in_words(done.outcome)), currency=terms_of(priced).currency)
    if priced.totals.nothing:
        return result
    totals = priced.totals
    return replace(result, before_tax=f"{totals.price_before_tax:.2f}", price=f"{totals.price:.2f}")
