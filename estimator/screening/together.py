"""The screening of many options, shared among processes. Options that share a shape stay together: each shape is then
solved once and in the same order as by one process, and the figures are the same to the last digit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from estimator.core.problems import Problem
from estimator.core.processes import begin, deaf
from estimator.rates.model import RateBook
from estimator.screening.model import Screened
from estimator.takeoff.draft import Draft

if TYPE_CHECKING:
    from estimator.screening.forms import Key, Shapes

WORTH_IT = 24  # different shapes from which starting processes takes less time than it saves
AT_ONCE = 4  # groups of options that are handed over together, at the most

Answer = tuple[Screened | None, list[Problem]]
Indexed = list[tuple[int, Draft]]


def screen_all(
    book: RateBook,
    drafts: Sequence[Draft],
    asked: bool = False,
    cores: int = 1,
    done: Callable[[], None] = lambda: None,
) -> list[Answer]:
    """The screening of each option, in their order, as `screen_option` says.

    cores: how many processes may share the work; done: called after each option.
    """
    if not any(wanted(draft, asked) for draft in drafts):
        for _ in drafts:
            done()
        return [(None, []) for _ in drafts]
    from estimator.screening.screen import screen_option

    groups = _groups(book, drafts, asked) if cores > 1 else []
    found: dict[int, Answer] = {}
    if len(groups) >= WORTH_IT:
        for number, answer in _shared(book, groups, cores):
            found[number] = answer
            done()
    shapes: Shapes = {}
    for number, draft in enumerate(drafts):
        if number not in found:  # all of them, or what a process that ended has left
            found[number] = screen_option(book, draft, shapes) if wanted(draft, asked) else (None, [])
            done()
    return [found[number] for number in range(len(drafts))]


def wanted(draft: Draft, asked: bool) -> bool:
    """Whether an option is to be screened, since its site has a wind speed or it was asked for, and can be; a corner
    that could not be hung is an error of its own."""
    hangs = bool(draft.hung) and all(len(h.corners) == len(h.taken.fixings) for h in draft.hung)
    return hangs and (asked or draft.site.wind_speed is not None)


def _groups(book: RateBook, drafts: Sequence[Draft], asked: bool) -> list[Indexed]:
    """Options to be screened, those that share a shape, directly or by another, together; in the order they begin."""
    from estimator.screening.screen import shapes_of

    of_shape: dict[Key, int] = {}
    leads: list[int] = []  # option to an earlier one of its group, or itself

    def lead(number: int) -> int:
        while leads[number] != number:
            number = leads[number]
        return number

    members: Indexed = []
    for draft in drafts:
        number = len(leads)
        leads.append(number)
        if not wanted(draft, asked):
            continue
        members.append((number, draft))
        for shape in shapes_of(book, draft):
            one, other = sorted((lead(number), lead(of_shape.setdefault(shape, number))))
            leads[other] = one
    groups: dict[int, Indexed] = {}
    for number, draft in members:
        groups.setdefault(lead(number), []).append((number, draft))
    return list(groups.values())


def _shared(book: RateBook, groups: list[Indexed], cores: int) -> Iterator[tuple[int, Answer]]:
    from concurrent.futures import ProcessPoolExecutor, as_completed
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    size = max(min(len(groups) // (4 * cores), AT_ONCE), 1)
    parcels = [groups[n : n + size] for n in range(0, len(groups), size)]
    pool = ProcessPoolExecutor(cores, mp_context=get_context("spawn"), initializer=begin)
    try:
        with deaf():
            futures = [pool.submit(_screen, book, parcel) for parcel in parcels]
        for future in as_completed(futures):
            yield from future.result()
    except BrokenProcessPool:
        return  # the rest is done by this process
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _screen(book: RateBook, groups: list[Indexed]) -> list[tuple[int, Answer]]:
    from estimator.screening.screen import screen_option

    shapes: Shapes = {}
    return [(number, screen_option(book, draft, shapes)) for group in groups for number, draft in group]
