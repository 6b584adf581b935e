"""What a run says while it goes on and at its end."""

from __future__ import annotations

from estimator.many.book import counts, sums
from estimator.many.table import amount
from estimator.many.whole import STOPPED, Outturn, Step
from estimator.report.words import money_words, plural


def step_words(step: Step) -> str:
    """One job in a line: `12 of 200: north-school.xlsx priced, EUR 4,310.20 (3.1 s)`."""
    row = step.row
    name = step.job.name if row.file.startswith("..") else row.file
    words = f"{step.done} of {step.of}: {name} {row.status}"
    price = amount(row.price)
    if price is not None:
        words += f", {money_words(price, row.currency)}"
    words += f" ({row.seconds} s)" if step.result else ", as the run table says"
    errors = [p for p in step.result.problems if p.level == "error"] if step.result else []
    return f"{words}: {errors[0].message}" if errors else words


def closing_words(ended: Outturn, full: bool) -> list[str]:
    """The last lines of a run. full: each job was told in full before, so they are not counted again."""
    lines = []
    if ended.rows and not full:
        lines.append(counts(ended.rows))
        for each in sums(ended.rows):
            before, price = money_words(each.before_tax, each.currency), money_words(each.price, each.currency)
            lines.append(f"sum of the chosen options: {before} before tax, {price} with tax; no bid, jobs added up")
    if ended.stood:
        lines.append(
            f"{plural(ended.stood, 'job')} left as the run table says; nothing that they are made from changed"
        )
    if ended.status == STOPPED:
        lines.append(
            f"stopped: {ended.done} of {plural(len(ended.rows), 'job')} done; go on with the same words and --resume"
        )
    return [*lines, *(f"written: {path}" for path in ended.written)]
