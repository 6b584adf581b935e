"""One job file in, its outputs out: names, what may be replaced, what is left standing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from estimator.beside import Said, keep_earlier, take_in
from estimator.beside import compare_files as compare
from estimator.core.problems import Place, Problem, problem, worst_first
from estimator.pipeline import Outcome, Progress, exit_status, price_workbook
from estimator.sheets.door import Opened, open_door
from estimator.sheets.package import own_sheets

if TYPE_CHECKING:
    from estimator.actuals.learn import Told

PRICED, QUOTE, CREW = "-priced", "-quote", "-crew"


@dataclass(frozen=True, slots=True)
class Done:
    """What became of one job file."""

    outcome: Outcome | None
    problems: tuple[Problem, ...]
    written: tuple[Path, ...]
    status: int


@dataclass(frozen=True, slots=True)
class Targets:
    """Where the outputs of one job go. quote: its PDF and the draft of a mail have the same name, .pdf and .eml."""

    priced: Path
    quote: Path
    crew: Path
    json: Path


def targets(job: Path, out: Path | None, *, own: bool, alone: bool = False, revision: int = 1) -> Targets:
    """The names of the outputs. own: the job carries our sheets, so it is priced to its own name; alone: none of its
    sheets is carried over."""
    folder = out or job.parent
    stem = first_name(job, own).stem
    suffix = job.suffix if job.suffix.casefold() in (".xlsx", ".xlsm") and not alone else ".xlsx"
    name = job.name if own else f"{stem}{PRICED}{suffix}"
    later = "" if revision < 2 else f"-r{revision}"
    return Targets(
        folder / name,
        folder / f"{stem}{QUOTE}{later}.xlsx",
        folder / f"{stem}{CREW}.xlsx",
        folder / f"{stem}{PRICED}.json",
    )


def first_name(job: Path, own: bool) -> Path:
    """The name a job had before it was priced: JOB-priced.xlsx that carries our sheets is JOB.xlsx."""
    if not own or not job.stem.endswith(PRICED):
        return job
    return job.with_name(job.stem.removesuffix(PRICED) + job.suffix)


def carries_ours(opened: Opened) -> bool:
    """Whether a workbook carries our sheets, so that it is priced to its own name."""
    return bool(own_sheets(opened)) and not opened.alone


def look_into(job: Path, rates: Path | None, progress: Progress | None, *, screen: bool = False) -> Outcome:
    """Price a job without writing anything; what lies beside it is looked at as when it is priced."""
    opened = open_door(job)
    if isinstance(opened, Problem):
        return Outcome(None, (opened,), usable=False)
    own = carries_ours(opened)
    outcome = price_workbook(opened, first_name(job, own), _today(), rates, progress, screen)
    outcome = with_slips(opened, outcome) if own else outcome
    if outcome.priced is None:
        return outcome
    priced, _ = take_in(outcome.priced, targets(job, None, own=own, alone=opened.alone).priced)
    return replace(outcome, priced=priced, problems=priced.problems)


def with_slips(opened: Opened, outcome: Outcome) -> Outcome:
    """The outcome with what was changed by hand on our own sheets of the workbook."""
    from estimator.report.package.earlier import by_hand
    from estimator.report.terms import terms_of

    if outcome.priced is None:
        return outcome
    found = by_hand(opened, terms_of(outcome.priced).currency).problems
    problems = tuple(worst_first([*found, *outcome.problems]))
    return replace(outcome, problems=problems, priced=replace(outcome.priced, problems=problems))


def price_file(
    job: Path,
    rates: Path | None = None,
    out: Path | None = None,
    *,
    with_json: bool = False,
    quote: bool = True,
    crew: bool = True,
    drawings: bool = True,
    progress: Progress | None = None,
    today: date | None = None,
    screen: bool = False,
    pdf: bool = True,
    mail: bool = False,
    cores: int = 1,
) -> Done:
    """Price one job file and write what belongs beside it. screen: look at the wind on sites without a wind speed too.
    pdf: the quote also as a PDF; mail: also a draft of a mail with it; cores: how many processes may share the work.

    The input is never changed, unless it carries our sheets; then it is replaced in one step.
    """
    from estimator.report.book import render_sheets
    from estimator.report.crew import render_crew
    from estimator.report.json_out import job_json
    from estimator.report.names import SHEETS
    from estimator.report.package.audit import audit, new_faults
    from estimator.report.package.earlier import changed_by_hand, over_input
    from estimator.report.package.own import kept_names
    from estimator.report.package.package import open_package
    from estimator.report.package.save import save_atomic, too_long
    from estimator.report.package.transplant import transplant
    from estimator.report.package.trouble import trouble
    from estimator.report.package.zipping import settle
    from estimator.report.quote_files import mail_left_out, write_quote, write_variations
    from estimator.report.terms import terms_of

    opened = open_door(job)
    if isinstance(opened, Problem):
        return Done(None, (opened,), (), 2)
    alone, own = opened.alone, carries_ours(opened)
    outcome = price_workbook(opened, first_name(job, own), today or _today(), rates, progress, screen, cores)
    if outcome.priced is None:
        return Done(outcome, outcome.problems, (), 2)
    found = [] if alone else trouble(opened.data, SHEETS, job.name)
    if alone:
        kind = "of the strict kind" if opened.kind == "xlsx" else f"an .{opened.kind}"
        found = [problem("written-alone", Place(file=job.name), kind=kind)]
    at = targets(job, out, own=own, alone=alone, revision=outcome.priced.job.header.revision)
    long = too_long(at.quote)
    found += [long] if long else []
    found += over_input(job, (at.quote, at.quote.with_suffix(".pdf"), at.crew, at.json, *([] if own else [at.priced])))
    if not any(p.level == "error" for p in found):
        found += changed_by_hand(opened, job, at.priced, own, terms_of(outcome.priced).currency)
    if any(p.level == "error" for p in found):
        return Done(outcome, tuple(worst_first([*found, *outcome.problems])), (), 2)
    priced = replace(
        outcome.priced,
        job=replace(outcome.priced.job, alone=alone),
        problems=tuple(worst_first([*found, *outcome.problems])),
    )
    priced, keep_as = take_in(priced, at.priced)
    outcome = replace(outcome, priced=priced)
    names = {} if alone else kept_names(opened.data)
    rendered = render_sheets(priced, names, drawings=drawings)
    purposes = {name: purpose for purpose, name in names.items()}
    shown = [sheet.get("name", "") for sheet in open_package(rendered).sheets]
    ours = {name: purposes.get(name, name) for name in shown}
    further = [p for p in ours.values() if p not in SHEETS]  # of a bill that needs several sheets
    clash = trouble(opened.data, further, job.name) if further and not alone else []
    if any(p.level == "error" for p in clash):
        return Done(outcome, tuple(worst_first([*clash, *outcome.problems])), (), 2)
    data = settle(rendered) if alone else transplant(opened.data, rendered, ours)
    # what was wrong with the user's file before is not ours to refuse
    faults = audit(data) if alone else new_faults(opened.data, data)
    if faults:
        wrong = problem("written-wrong", Place(file=at.priced.name), what=faults[0])
        return Done(outcome, (wrong, *priced.problems), (), 2)
    written: list[Path] = []
    problems = [*keep_earlier(at.priced, keep_as), *priced.problems]
    if any(p.level == "error" for p in problems[: len(problems) - len(priced.problems)]):
        return Done(outcome, tuple(worst_first(problems)), (), 2)  # what cannot be kept is not written over
    status = exit_status(outcome)
    outputs = [(at.priced, data)]
    if with_json:
        outputs.append((at.json, job_json(priced).encode("utf-8")))
    if crew and any(o.chosen and o.bill for o in priced.options):
        outputs.append((at.crew, settle(render_crew(priced, drawings))))
    for path, content in outputs:
        refused = save_atomic(content, path)
        if refused:
            problems.insert(0, refused)
            status = 2
        else:
            written.append(path)
    if quote:
        copies, more = write_quote(priced, at.quote, drawings=drawings, pdf=pdf, mail=mail)
        problems = [*more, *problems]
        status = 2 if any(p.level == "error" for p in more) else status
        written += copies
        copies, more = write_variations(priced, at.quote.parent, first_name(job, own).stem, pdf=pdf)
        problems = [*more, *problems]
        status = 2 if any(p.level == "error" for p in more) else status
        written += copies
    elif mail:
        problems.insert(0, mail_left_out(at.quote, "the customer's copy, which goes with it, is left out"))
    return Done(outcome, tuple(worst_first(problems)), tuple(written), status)


def in_words(outcome: Outcome) -> list[str]:
    """The prices of a job in a few lines, the same figures as in the workbook."""
    from estimator.report.summary_changes import in_words as contract_words
    from estimator.report.terms import terms_of
    from estimator.report.words import money_words

    priced = outcome.priced
    if priced is None:
        return []
    currency = terms_of(priced).currency
    lines = []
    for o in priced.options:
        figure = f"{money_words(o.bill.totals.price, currency)} with tax" if o.bill else "NOT PRICED"
        if o.accepted:
            figure += f", accepted at {money_words(o.accepted.price, currency)}"
        words = " (provisional)" if o.status == "provisional" else ""
        lines.append(f"{o.site.name}, option {o.option.name}{', chosen' if o.chosen else ''}: {figure}{words}")
    total = priced.totals
    if total.nothing:
        return [*lines, "no chosen option has a price yet"]
    gap = "" if total.complete else f", INCOMPLETE: without {', '.join(total.missing) or 'any site'}"
    lines.append(f"chosen options and whole-job lines: {money_words(total.price, currency)} with tax{gap}")
    return [*lines, *contract_words(priced, currency)]


def new_job(job: Path, old: Path | None) -> list[Problem]:
    """A blank job workbook; never over an existing file."""
    from estimator.report.blank import blank_job
    from estimator.report.package.save import save_atomic

    if job.exists():
        return [problem("new-over-old", Place(file=job.name))]
    opened: Opened | None = None
    if old is not None:
        found = open_door(old)
        if isinstance(found, Problem):
            return [found]
        opened = found
    refused = save_atomic(blank_job(opened), job)
    return [refused] if refused else []


def told_by_actuals(
    jobs: Sequence[Path], rates: Path | None = None, since: date | None = None, out: Path | None = None
) -> Told:
    """Hold what was used against the plan of each job, and propose rows for the rate book; no job is written to.

    since: the day from which the rows are to hold, None for the day after the last actual; out: a new file for them.
    """
    from estimator.actuals.learn import Told, learn

    looked = [(job, look_into(job, rates, None)) for job in jobs]
    bad = [p for _, outcome in looked if outcome.priced is None for p in outcome.problems]
    if bad:
        return Told((), tuple(worst_first(bad)), (), 2)
    return learn([(job, outcome.priced) for job, outcome in looked if outcome.priced], rates, since, out)


def compare_files(before: Path, now: Path, out: Path | None = None) -> Said:
    """Hold two priced workbooks against each other; out: also a new workbook with every part of every difference."""
    return compare(before, now, out)


def aim(
    job: Path, price: Decimal, rates: Path | None, option: str = "", site: str = "", *, before_tax: bool = False
) -> Said:
    """The margin that gives a price, and the cheapest changes that would; nothing is written."""
    from estimator.aim.ask import aim_at

    outcome = look_into(job, rates, None)
    if outcome.priced is None:
        return Said((), tuple(p for p in outcome.problems if p.level == "error"), (), 2)
    answer = aim_at(outcome.priced, price, option, site, before_tax=before_tax)
    return Said(answer.lines, answer.problems, (), answer.status)


def _today() -> date:
    return date.today()
