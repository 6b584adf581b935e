"""Problems are values with a place and a code; they are collected, never raised."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Literal

from estimator.core.catalogue import CATALOGUE

Level = Literal["error", "warning", "note"]
LONGEST = 1_000  # letters of a word in a sentence
FEW = 6  # warnings of one kind that are told of a job
LEVELS: tuple[Level, ...] = ("error", "warning", "note")


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands: file, sheet and cell, each may be blank.

    >>> str(Place("job.xlsx", "Sites", "D7"))
    'Sites!D7'
    """

    file: str = ""
    sheet: str = ""
    cell: str = ""

    def __str__(self) -> str:
        return "!".join(part for part in (self.sheet, self.cell) if part) or self.file


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, missing or to be asked.

    site, option, fixing: what it touches. All None touches the whole job; a site alone touches all its
    options; a fixing touches the options that use it.
    """

    code: str
    level: Level
    place: Place
    message: str
    site: str | None = None
    option: str | None = None
    fixing: str | None = None


def problem(
    code: str,
    place: Place | None = None,
    /,
    *,
    site: str | None = None,
    option: str | None = None,
    fixing: str | None = None,
    **words: object,
) -> Problem:
    """A problem of the catalogue with its words filled in; KeyError for an unknown code or a missing word.

    >>> problem("blank", Place("job.xlsx", "Sites", "A5"), column="Ground").message
    "Sites!A5: 'Ground' is blank; it is needed here, so fill it in."
    """
    level, text = CATALOGUE[code]
    place = place or Place()
    where = str(place)
    message = text.format(**{name: _short(word) for name, word in words.items()})
    return Problem(code, level, place, f"{where}: {message}" if where else message, site, option, fixing)


def _short(word: object) -> object:
    """A word that is said in full, but for one that would fill pages: a cell can hold 32,767 letters."""
    if not isinstance(word, str) or len(word) <= LONGEST:
        return word
    return f"{word[:LONGEST]}… ({len(word) - LONGEST:,} more letters)"


def scoped(
    problems: Iterable[Problem], site: str | None = None, option: str | None = None, fixing: str | None = None
) -> list[Problem]:
    """The same problems, with what they touch filled in where it was not known."""
    return [replace(p, site=p.site or site, option=p.option or option, fixing=p.fixing or fixing) for p in problems]


def did_you_mean(found: str, allowed: Iterable[str]) -> str:
    """A hint for a misspelt name, blank where nothing is near.

    >>> did_you_mean("clayy", ["sand", "clay"])
    " Did you mean 'clay'?"
    """
    near = get_close_matches(found.casefold(), [a.casefold() for a in allowed], n=1, cutoff=0.6)
    return f" Did you mean '{next(a for a in allowed if a.casefold() == near[0])}'?" if near else ""


def worst_first(problems: Iterable[Problem]) -> list[Problem]:
    """Errors, then warnings, then notes; the order within a level is kept."""
    return sorted(problems, key=lambda p: LEVELS.index(p.level))


def once(problems: Iterable[Problem]) -> list[Problem]:
    """Each problem once. A note on a cell that has an error adds nothing to it; a warning that several options of a
    site share is of the site."""
    problems = list(problems)
    wrong = {(p.place.sheet, p.place.cell) for p in problems if p.level == "error" and p.place.cell}
    seen: dict[tuple[object, ...], Problem] = {}
    for p in problems:
        if p.level == "error":
            seen.setdefault((p,), p)
        elif p.level != "note" or (p.place.sheet, p.place.cell) not in wrong:
            at = (p.code, p.place, p.message, p.site)
            old = seen.setdefault(at, p)
            if old.option != p.option:
                seen[at] = replace(old, option=None)
    return list(seen.values())


def in_lines(problems: Sequence[Problem], few: bool = False) -> Iterator[str]:
    """Problems as they are told on screen. few: few warnings of one kind, and how many more there are."""
    times = Counter(p.code for p in problems if p.level == "warning")
    said: Counter[str] = Counter()
    for p in problems:
        said[p.code] += 1
        more = times[p.code] - FEW if few else 0
        if more <= 1 or said[p.code] <= FEW:  # one more is as short as the words for it
            yield f"{p.level}: {p.message}"
        if more > 1 and said[p.code] == FEW:
            yield f"warning: {more} more like this one stand on the sheet To check."
