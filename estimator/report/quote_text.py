"""What the customer reads: the texts of the rate book that hold for a job, and what was taken as given.

Only labels are written here; every sentence of conditions comes from the table `wording`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence

from estimator.core.names import key
from estimator.pricing.model import PricedJob, PricedOption
from estimator.report.reasons import used
from estimator.screening.limit import printed_gust, told_words
from estimator.takeoff.conditions import conditions as what_holds
from estimator.takeoff.conditions import holds

SERVICES = {
    "": "Buried services: not known.",
    "none": "Buried services: none, as we were told.",
    "plans": "Buried services: as on the plans, not located yet.",
    "located": "Buried services: located.",
    "exposed": "Buried services: exposed.",
}
TRIED = {"yes": ", as a test hole showed", "no": "; no test hole was dug"}
TAKE_DOWN = "Take-down gust"


def offered(priced: PricedJob) -> tuple[PricedOption, ...]:
    """The options that a customer may see: those with a price, in the order typed."""
    return tuple(o for o in priced.options if o.bill is not None)


def conditions(priced: PricedJob, option: PricedOption) -> set[str]:
    """Every condition of the table `wording` that holds for an option: of its take-off and of the gust told."""
    told = "take-down" if printed_gust(priced.book, option.screened) else "no take-down"
    return what_holds(priced.book, option.site, option.taken, option.status, option.quote_status) | {told}


def of_site(priced: PricedJob) -> Counter[str]:
    """How many options a customer may see of each site, by its name."""
    return Counter(o.site.name for o in offered(priced))


def label(option: PricedOption, each: Mapping[str, int]) -> str:
    """How an option is called where several stand together; each: `of_site`, asked for once for all of them."""
    return _called(option, len(each) > 1, each[option.site.name] > 1)


def _called(option: PricedOption, many: bool, alternatives: bool) -> str:
    """many: sites; alternatives: on the option's own."""
    if many and not alternatives:
        return option.site.name
    return f"{option.site.name}, option {option.option.name}" if many else f"Option {option.option.name}"


def texts(priced: PricedJob, place: str) -> list[str]:
    """The lines of one place that hold; one that holds for some of the options only says for which."""
    options = offered(priced)
    language = key(priced.book.wording[0].language) if priced.book.wording else ""
    true = [conditions(priced, o) for o in options]
    found: list[str] = []
    for row in priced.book.wording:
        if key(row.place) != key(place) or key(row.language) != language:
            continue
        mine = [o for o, t in zip(options, true, strict=True) if holds(row.when, t)]
        if not mine:
            continue
        only = "" if len(mine) == len(options) else named(_labels(priced, mine)) + ": "
        found += [only + line.strip() for line in row.text.replace("\r", "").split("\n") if line.strip()]
    return list(dict.fromkeys(found))


def take_down(priced: PricedJob) -> list[str]:
    """The gust at which a sail is taken down; where the options differ, which of them each holds for."""
    return by_option(priced, lambda option: f"{TAKE_DOWN}: {told_words(priced.book, option.screened)}.")


def by_option(priced: PricedJob, line: Callable[[PricedOption], str]) -> list[str]:
    """A line of each option, blank for none; where they differ, which of them each holds for."""
    told: dict[str, list[PricedOption]] = {}
    for option in offered(priced):
        told.setdefault(line(option), []).append(option)
    return [
        (f"{named(_labels(priced, mine))}: " if len(told) > 1 else "") + words for words, mine in told.items() if words
    ]


def _labels(priced: PricedJob, mine: Sequence[PricedOption]) -> list[str]:
    """What some of the options are called: a site alone where all of its options are meant."""
    at: dict[str, list[PricedOption]] = {}
    for option in offered(priced):
        at.setdefault(option.site.name, []).append(option)
    meant, many = {id(o) for o in mine}, len(at) > 1
    whole = {name for name, those in at.items() if many and all(id(o) in meant for o in those)}
    called = (o.site.name if o.site.name in whole else _called(o, many, len(at[o.site.name]) > 1) for o in mine)
    return list(dict.fromkeys(called))


def named(names: Sequence[str], most: int = 3) -> str:
    """A few names, and how many more."""
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return "; ".join(names[:most]) + more


def excluded(priced: PricedJob) -> list[str]:
    """Texts of what is not included, and the work that others do."""
    others = [f"By others: {words}." for o in offered(priced) for words in o.taken.excluded]
    others += [f"By others: {e.description}." for e in priced.job.extras if e.by_others and not e.site]
    return list(dict.fromkeys([*texts(priced, "excluded"), *others]))


def assumptions(priced: PricedJob) -> list[str]:
    """What was not measured but told or assumed, by site."""
    found: list[str] = []
    at_site: dict[str, list[PricedOption]] = {}
    for o in offered(priced):
        at_site.setdefault(o.site.name, []).append(o)
    for name, mine in at_site.items():
        before = f"{name}: " if len(at_site) > 1 else ""
        seen = {key(f) for o in mine for f in used(o)}
        fixings = [f for f in priced.job.fixings.get(name, ()) if key(f.name) in seen]
        for known, words in (
            ("told", "Sizes as told to us, not measured, at"),
            ("assumed", "Sizes assumed, not measured, at"),
        ):
            at = [f.name for f in fixings if (f.known_by or "assumed") == known]
            if at:
                found.append(f"{before}{words} {', '.join(at)}.")
        if any(o.taken.footings for o in mine):
            grounds = dict.fromkeys(f.ground or mine[0].site.ground for o in mine for f in o.taken.footings)
            found.append(f"{before}Ground taken as {', '.join(grounds)}{TRIED.get(mine[0].site.test_hole, '')}.")
            found.append(before + SERVICES.get(mine[0].site.services, SERVICES[""]))
    return found


def subject_to(option: PricedOption) -> str:
    """What a provisional price hangs on; blank for a price that hangs on nothing."""
    if option.status != "provisional":
        return ""
    at = ", ".join(option.taken.engineer)
    if not at:
        return "subject to the checks named"
    fixings = "fixing" if len(option.taken.engineer) == 1 else "fixings"
    return f"subject to an engineer's design and approval of {fixings} {at}"
