"""The command: parse, call, print. The only module that prints or exits."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from estimator import __version__
from estimator.core.names import visible

if TYPE_CHECKING:
    from estimator.core.problems import Problem
    from estimator.many.model import Result
    from estimator.many.whole import Run, Step
    from estimator.pipeline import Outcome

FILE, MOST_MONEY = click.Path(path_type=Path), 1_000_000_000
LONG_WORK = 8  # options from which a progress bar is worth showing; jobs beyond which each is told in a line

SCREEN = "Look at the wind on sites without a wind speed too (indicative)."


class _JobIsPrice(click.Group):
    """`estimator JOB.xlsx` alone means `estimator price JOB.xlsx`."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if args and args[0] not in self.commands and args[0] not in ("-h", "--help", "--version"):
            args = ["price", *args]
        return super().parse_args(ctx, args)


@click.group(cls=_JobIsPrice, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="estimator %(version)s")
def main() -> None:
    """Price shade sails from a job workbook.

    \b
    estimator new JOB.xlsx      a blank job workbook
    estimator check JOB.xlsx    what is wrong, missing or to be asked
    estimator price JOB.xlsx    the priced workbook, the customer's copy and the crew's workbook
    estimator price FOLDER      the same for every job in it, and a table of them
    estimator compare OLD NEW   what changed between two priced workbooks, and why in money
    estimator aim JOB.xlsx --price N   the margin that gives a price, and the three cheapest changes that would
    estimator actuals JOB.xlsx  what was used against the plan, and the hours that would follow from it
    """


@main.command()
@click.argument("job", type=FILE)
@click.option("--from", "old", type=FILE, help="An old job whose customer, sites and fixings are taken over.")
def new(job: Path, old: Path | None) -> None:
    """Write a blank job workbook: drop-downs, units, notes and an EXAMPLE row on each sheet."""
    from estimator.jobfile import new_job

    problems = new_job(job, old)
    _say(problems)
    if any(p.level == "error" for p in problems):
        sys.exit(2)
    _print(f"{job} is ready: fill it in, then run: estimator price {job}")


@main.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True)
@click.option("--rates", type=FILE, help="A rate book: a folder of CSV files or a workbook.")
@click.option("--screen", is_flag=True, help=SCREEN)
def check(jobs: tuple[Path, ...], rates: Path | None, screen: bool) -> None:
    """Say what is wrong, missing or to be asked; write nothing."""
    from estimator.jobfile import look_into
    from estimator.pipeline import exit_status

    status = 0
    for job in jobs:
        outcome = look_into(job, rates, None, screen=screen)
        _head(job, jobs)
        _say(outcome.problems)
        status = max(status, exit_status(outcome))
        _sum_up(outcome)
    sys.exit(status)


@main.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True)
@click.option("--rates", type=FILE, help="A rate book: a folder of CSV files or a workbook.")
@click.option("--out", type=FILE, help="The folder for what is written; otherwise beside each job.")
@click.option("--json", "with_json", is_flag=True, help="Also write JOB-priced.json.")
@click.option("--no-quote", is_flag=True, help="Do not write the customer's copy, nor its PDF.")
@click.option("--no-pdf", is_flag=True, help="Do not write the PDF of the customer's copy.")
@click.option("--mail", is_flag=True, help="Also write JOB-quote.eml, a draft of a mail; nothing is sent.")
@click.option("--no-crew", is_flag=True, help="Do not write the crew's workbook.")
@click.option("--no-drawings", is_flag=True, help="Leave out the drawings: quicker for many sites.")
@click.option("--screen", is_flag=True, help=SCREEN)
@click.option("--deep", is_flag=True, help="Of a folder, also the jobs in the folders in it.")
@click.option(
    "--processes", type=click.IntRange(1), metavar="N", help="So many at a time; otherwise one for each core."
)
@click.option(
    "--resume", is_flag=True, help="Go on with the run table: only what it lacks, or what changed, is priced."
)
@click.option("--cluster", default="", metavar="ADDRESS", help="Price on the machines of this Dask scheduler.")
def price(jobs: tuple[Path, ...], deep: bool, processes: int | None, resume: bool, cluster: str, **words: Any) -> None:
    """Price jobs: JOB-priced.xlsx, JOB-quote.xlsx, JOB-quote.pdf and JOB-crew.xlsx beside each.

    A folder stands for the job workbooks in it. More than one job: run-table.csv and run-table.xlsx too.
    """
    from estimator.core.processes import cores
    from estimator.many.job import price_one
    from estimator.many.model import choices_of
    from estimator.many.plan import plan, table_folder

    choices = choices_of(date.today(), words)
    planned = plan(jobs, deep, (choices.rates, choices.out))
    if len(jobs) == 1 and not jobs[0].is_dir() and not (resume or cluster):
        with _Progress(jobs[0]) as progress:
            result = price_one(jobs[0], choices, progress.step, processes or cores())
        _result(result)
        sys.exit(result.exit)
    from estimator.many.whole import Run  # which one job has no need of

    named = not any(job.is_dir() for job in jobs)
    run = Run(planned, choices, table_folder(jobs, choices.out), resume, processes or 0, cluster, strict=named)
    _many(run, full=named and len(planned.jobs) <= LONG_WORK)


def _many(run: Run, full: bool) -> None:
    """Price many jobs. full: each is told in full and in the order named, otherwise in a line as it comes."""
    from estimator.many.whole import price_all
    from estimator.many.words import closing_words, step_words

    ready: dict[int, Step] = {}
    shown: list[int] = []

    def tell(step: Step) -> None:
        if not full:
            _print(step_words(step), err=True)
            return
        ready[step.number] = step
        while len(shown) in ready:
            show(ready[len(shown)])

    def show(step: Step) -> None:
        shown.append(step.number)
        _head(step.job, run.plan.jobs)
        if step.result:
            _result(step.result)
        else:
            _print(step_words(step))

    for sentence in run.plan.left:
        _print(f"left out: {sentence}", err=True)
    ended = price_all(
        run, tell, lambda: _print("stopping after the jobs under way; Ctrl-C again stops at once", err=True)
    )
    for number in sorted(set(ready) - set(shown)):  # of a run that was stopped
        show(ready[number])
    _say(ended.problems)
    for line in closing_words(ended, full):
        _print(line)
    sys.exit(ended.status)


def _result(result: Result) -> None:
    """What became of a job, in full; many warnings of one kind are left to the workbook."""
    _say(result.problems, few=bool(result.written))
    if result.notes:
        _print(f"{result.notes} notes stand on the sheet To check.")
    for line in result.lines:
        _print(line)
    for path in result.written:
        _print(f"written: {path}")


@main.command()
@click.argument("jobs", type=FILE, nargs=-1, required=True)
@click.option("--rates", type=FILE, help="A rate book: a folder of CSV files or a workbook.")
@click.option("--out", type=FILE, help="A new CSV file for the rows that could be added to the table labour.")
@click.option(
    "--from",
    "since",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The day from which the rows are to hold; otherwise the day after the last actual.",
)
def actuals(jobs: tuple[Path, ...], rates: Path | None, out: Path | None, since: datetime | None) -> None:
    """Hold what the sheets Actuals say was used against the plan, and propose hours; nothing is changed."""
    from estimator.jobfile import told_by_actuals

    told = told_by_actuals(jobs, rates, since.date() if since else None, out)
    _say(told.problems)
    for line in told.lines:
        _print(line)
    for path in told.written:
        _print(f"written: {path}")
    sys.exit(told.status)


@main.command()
@click.argument("before", type=FILE)
@click.argument("now", type=FILE)
@click.option("--out", type=FILE, help="Also write a new workbook with every part of every difference.")
def compare(before: Path, now: Path, out: Path | None) -> None:
    """Say what changed between two priced workbooks, and why in money; neither is touched."""
    from estimator.jobfile import compare_files

    said = compare_files(before, now, out)
    _tell(said.problems, said.lines, said.written, said.status)


@main.command()
@click.argument("job", type=FILE)
@click.option("--price", required=True, metavar="N", help="The price that is wanted, with tax: 4500, or 4500.50.")
@click.option("--option", default="", metavar="NAME", help="An option; otherwise all that is chosen.")
@click.option("--site", default="", metavar="NAME", help="The site of the option; otherwise any.")
@click.option("--before-tax", is_flag=True, help="The price that is wanted is before tax.")
@click.option("--rates", type=FILE, help="A rate book: a folder of CSV files or a workbook.")
def aim(job: Path, price: str, option: str, site: str, before_tax: bool, rates: Path | None) -> None:
    """Show the margin that gives a price, and the three cheapest changes that would; nothing is written."""
    from estimator.jobfile import aim as aim_at

    said = aim_at(job, _amount(price), rates, option, site, before_tax=before_tax)
    _tell(said.problems, said.lines, said.written, said.status)


def _amount(text: str) -> Decimal:
    """A price as typed."""
    plain = text.strip().replace(" ", "")
    try:
        amount = Decimal(plain)
    except InvalidOperation:
        amount = Decimal(0)
    if not amount.is_finite() or amount <= 0 or amount >= MOST_MONEY or amount != amount.quantize(Decimal("0.01")):
        raise click.BadParameter(f"{text!r} is no price: write it like 4500 or 4500.50.", param_hint="--price")
    return amount


class _Progress:
    """A bar on a terminal for long work; silent elsewhere."""

    def __init__(self, job: Path) -> None:
        self.name = job.name
        self.bar: Any = None

    def __enter__(self) -> _Progress:
        return self

    def step(self, done: int, of: int) -> None:
        if of < LONG_WORK or not sys.stderr.isatty():
            return
        if self.bar is None:
            self.bar = click.progressbar(length=of, label=self.name, file=sys.stderr)
            self.bar.__enter__()
        self.bar.update(done - self.bar.pos)

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.__exit__(None, None, None)


def _print(text: str, err: bool = False) -> None:
    """A line; nothing that stands in a file or its name acts on the terminal."""
    click.echo("\n".join(visible(line) for line in text.split("\n")), err=err)


def _head(job: Path, jobs: Sequence[Path]) -> None:
    if len(jobs) > 1:
        _print(f"\n{job.name}")


def _tell(problems: Sequence[Problem], lines: Sequence[str], written: Sequence[Path], status: int) -> None:
    """What a command that answers a question has to say; ends the run."""
    _say(problems)
    for line in lines:
        _print(line)
    for path in written:
        _print(f"written: {path}")
    sys.exit(status)


def _say(problems: Sequence[Problem], few: bool = False) -> None:
    from estimator.core.problems import in_lines

    for line in in_lines(problems, few):
        _print(line, err=line.startswith("error"))


def _sum_up(outcome: Outcome) -> None:
    """The same figures as in the workbook, for a person in a hurry."""
    from estimator.jobfile import in_words

    for line in in_words(outcome):
        _print(line)


if __name__ == "__main__":
    main()
