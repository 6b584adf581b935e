"""What is asked of every job of a run, and what became of each."""

from __future__ import annotations

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from estimator.core.problems import Problem

# what became of a job, in words, and its exit status
STATUSES = {
    "priced": 0,
    "provisional": 0,
    "rate book": 0,
    "not all priced": 1,
    "cannot be used": 2,
    "not written": 2,
    "two for one name": 2,
    "broken off": 2,
}
SETTLED = ("priced", "provisional", "not all priced", "cannot be used")  # the same again if run again
NOT_REACHED = "not reached"


@dataclass(frozen=True, slots=True)
class Choices:
    """What is asked of every job of a run. today: the one day of the whole run; the rest as words of the command."""

    today: date
    rates: Path | None = None
    out: Path | None = None
    with_json: bool = False
    quote: bool = True
    crew: bool = True
    drawings: bool = True
    screen: bool = False
    pdf: bool = True
    mail: bool = False


def choices_of(today: date, words: Mapping[str, Any]) -> Choices:
    """The choices as the command has them: a word that begins with no_ leaves something out.

    >>> choices_of(date(2026, 4, 3), {"no_quote": True, "no_crew": False, "mail": True}).quote
    False
    """
    plain = {name: value for name, value in words.items() if not name.startswith("no_")}
    wanted: dict[str, Any] = {n.removeprefix("no_"): not v for n, v in words.items() if n not in plain}
    return Choices(today, **plain, **wanted)


@dataclass(frozen=True, slots=True)
class Result:
    """What became of one job; small, so that it can come from another process or machine.

    before_tax, price: of what is chosen, blank where nothing has a price; problems: without the notes, of which only
    the number is kept; lines: the prices in words; rates: the rate book that the job names; asked, wrote: fingerprints
    of what the job was priced from and of what was written, blank where something could not be read.
    """

    status: str
    problems: tuple[Problem, ...] = ()
    notes: int = 0
    lines: tuple[str, ...] = ()
    written: tuple[Path, ...] = ()
    currency: str = ""
    before_tax: str = ""
    price: str = ""
    seconds: float = 0.0
    rates: Path | None = None
    asked: str = ""
    wrote: str = ""

    @property
    def exit(self) -> int:
        """The exit status of the job."""
        return STATUSES[self.status]


# jobs as they come to their end, by number, and what became of each; None: nothing new; a problem: no more can come
Ended = Generator[tuple[int, Result] | Problem | None, None, None]
