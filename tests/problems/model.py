"""A case: a job that provokes problems by the road a person takes, and what must be told of it."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from estimator.core.problems import Problem
from estimator.jobfile import look_into, price_file
from tests.build import DAY

Road = Callable[[Path, Path | None], Sequence[Problem]]  # the job and a rate book of its own to what is told


def check(job: Path, rates: Path | None) -> Sequence[Problem]:
    """What `estimator check` finds."""
    return look_into(job, rates, None).problems


def price(job: Path, rates: Path | None) -> Sequence[Problem]:
    """What `estimator price` finds, with the least that is written."""
    return pricing()(job, rates)


def pricing(**options: Any) -> Road:
    """What `estimator price` finds with these options of price_file; nothing but the priced workbook is written unless
    they say so."""
    words = {"quote": False, "crew": False, "drawings": False, "pdf": False, "today": DAY, **options}
    return lambda job, rates: price_file(job, rates, **words).problems


@dataclass(frozen=True)
class Case:
    """build: writes the job, and whatever lies beside it, into a folder and gives its path; told: sheet, cell and code
    of what must be told: every error, and at least these warnings and notes; rates: writes a rate book into the folder.
    """

    name: str
    build: Callable[[Path], Path]
    told: frozenset[tuple[str, str, str]]
    road: Road = check
    rates: Callable[[Path], Path] | None = None


def provoke(case: Case, folder: Path) -> list[Problem]:
    """What is told of the case when it is built in a folder."""
    job = case.build(folder)
    return list(case.road(job, case.rates(folder) if case.rates else None))


def cases() -> list[Case]:
    """The CASES of every module cases_*.py beside this one."""
    here = [m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]) if m.name.startswith("cases_")]
    return [case for name in sorted(here) for case in importlib.import_module(f"tests.problems.{name}").CASES]
