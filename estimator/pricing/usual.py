"""What a job of this kind usually has, held against what an option has; and what its quote has to say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Extra, Job
from estimator.pricing.model import Bill, PricedOption
from estimator.rates.model import RateBook, UsualLine
from estimator.takeoff.conditions import conditions, holds

BUDGET = "budget"


@dataclass(frozen=True, slots=True)
class Has:
    """What an option has, in the words of `found_by`.

    priced: codes, visits and charges in its price, the whole job's among them; typed: descriptions of priced lines
    typed without an item; said: extras that the quote names outside the price; left: every other row of `Extras`.
    """

    priced: frozenset[str]
    typed: tuple[str, ...]
    said: tuple[Extra, ...] = ()
    left: tuple[Extra, ...] = ()

    def in_price(self, row: UsualLine) -> bool:
        """Whether the price holds it."""
        return not self.priced.isdisjoint(row.found_by) or any(key(row.what) in words for words in self.typed)

    def found(self, row: UsualLine) -> bool:
        """Whether somebody has thought of it: in the price, by others, apart; or left out by a row of its own, which
        is not enough for what the quote has to say."""
        rows = self.said if row.scope else (*self.said, *self.left)
        return self.in_price(row) or any(_names(extra, row) for extra in rows)


def has_of(job: Job, option: PricedOption, job_bill: Bill | None) -> Has:
    """What an option has, with the lines of the whole job."""
    extras = [e for e in job.extras if e.site in ("", option.site.name) and e.option in ("", option.option.name)]
    said = tuple(e for e in extras if _aside(e))
    mine = tuple(e for e in extras if not _aside(e))
    names = {f"visit {key(h.visit)}" for h in option.taken.hours if h.hours > 0}
    names |= {f"visit {key(e.visit)}" for e in mine if e.visit and e.quantity}
    for bill in (option.bill, job_bill):
        if bill is not None:
            names |= {key(line.code) for line in bill.lines}
            names |= {f"charge {key(c.step)}" for c in bill.charges if c.rate is not None and c.rate > 0}
    typed = tuple(key(e.description) for e in mine if e.quantity and not e.item)
    return Has(frozenset(names), typed, said, mine)


def _aside(extra: Extra) -> bool:
    """Whether a row of `Extras` stands outside the price, and is named on the quote all the same."""
    return bool(extra.by_others or extra.offered_apart or extra.variation)


def _names(extra: Extra, row: UsualLine) -> bool:
    """Whether a row of `Extras` means a usual line: by its item, by the line it replaces, or by its words."""
    codes = {key(extra.item), key(extra.instead_of)}
    return not codes.isdisjoint(row.found_by) or (not extra.item and key(row.what) in key(extra.description))


def scope_rows(book: RateBook, job: Job, option: PricedOption, job_bill: Bill | None) -> list[UsualLine]:
    """The scope rows that the price of an option holds: the customer reads what each is and its note."""
    has, true = has_of(job, option, job_bill), _conditions(book, option)
    return [r for r in book.usual_lines if r.scope and holds(r.when, true) and has.in_price(r)]


def missing(job: Job, book: RateBook, options: Sequence[PricedOption], job_bill: Bill | None) -> list[Problem]:
    """What the priced options lack of a usual job, and what their quote does not say."""
    found: list[Problem] = []
    for option in options:
        if option.bill is None:
            continue
        has, true = has_of(job, option, job_bill), _conditions(book, option)
        rows = [r for r in book.usual_lines if holds(r.when, true) and not has.found(r)]
        lacking = [_words(book, r) for r in rows if not r.scope]
        gaps = [*(_words(book, r) for r in rows if r.scope), *_blank(book, option)]
        if job.header.finish_by is None:
            if option.quote_status == BUDGET:
                lacking.append("a day to finish by ('Finish by' on sheet Job)")
            else:
                place = job.header.source.place("Finish by")
                found.append(problem("scope-gap", place, gaps="the day it is finished: fill in 'Finish by'"))
        place, touched = option.site.source.place("Site"), {"site": option.site.name, "option": option.option.name}
        if lacking:
            found.append(problem("usual-missing", place, items=", ".join(dict.fromkeys(lacking)), **touched))
        if gaps:
            found.append(problem("scope-gap", place, gaps="; ".join(dict.fromkeys(gaps)), **touched))
    return found


def _conditions(book: RateBook, option: PricedOption) -> set[str]:
    return conditions(book, option.site, option.taken, option.status, option.quote_status)


def _words(book: RateBook, row: UsualLine) -> str:
    """What is missing, why it matters, and the item that would say it."""
    item = next((book.items[code].code for code in row.found_by if code in book.items), "")
    more = "; ".join(x for x in (row.note, item) if x)
    return f"{row.what} ({more})" if more else row.what


def _blank(book: RateBook, option: PricedOption) -> list[str]:
    """What the quote takes from the rate book and is blank there: the finish of posts, how a support holds."""
    posts = dict.fromkeys(p.post for p in option.taken.posts)
    held = dict.fromkeys(p.held_by for p in option.taken.points)
    sections = [book.posts[key(p)] for p in posts if key(p) in book.posts]
    supports = [book.supports[key(h)] for h in held if key(h) in book.supports]
    return [
        *(f"the finish of post {s.code}: fill in its 'finish' in the table posts" for s in sections if not s.finish),
        *(
            f"how '{s.name}' holds: fill in its 'description' in the table supports"
            for s in supports
            if not s.description
        ),
    ]
