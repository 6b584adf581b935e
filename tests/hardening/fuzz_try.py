"""One mutant tried: made from its seed, priced, judged; now and then written, read back and priced again."""

from __future__ import annotations

import csv
import io
import tempfile
import time
import traceback
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from random import Random
from typing import Any

import estimator.pipeline as pipeline
from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.pipeline import Outcome, price_workbook
from estimator.pricing.model import PricedJob
from estimator.rates.files import read_csv
from estimator.rates.read import load_rates
from estimator.report.basis_read import GAP, understood
from estimator.report.package.grid import grids
from estimator.report.package.own import own_sheets
from estimator.report.package.package import open_package
from estimator.sheets.areas import reference
from estimator.sheets.cells import Sheet
from estimator.sheets.door import check_bytes
from tests.build import DAY
from tests.hardening.fuzz_bases import BASES, Base, base, rates
from tests.hardening.fuzz_oracle import BaseSeen, Figures, differing, figures, shown, silent, told
from tests.hardening.fuzz_reading import folded, input_cells, readers
from tests.hardening.mutate import mutate_part
from tests.hardening.mutate_cells import mutate_cells
from tests.hardening.mutate_rates import mutate_table
from tests.hardening.mutate_zip import Mutant

EVERY, CHANGED = 50, 4  # one in so many is written too: of the mutants that price the same, of those that do not


@dataclass(frozen=True)
class Verdict:
    """What became of a mutant. end: same, told, shown, refused, failed; faults: why it failed."""

    seed: int
    base: str
    kind: str
    done: str
    end: str
    faults: tuple[str, ...] = ()
    seconds: float = 0.0
    megabytes: float = 0.0


@cache
def default_rates_kept() -> None:
    """The default rate book is read once a day of pricing: it is no part of what is mutated."""
    kept = lru_cache(maxsize=30)(lambda day: load_rates(None, day))

    def load(path: Path | None, day: Any) -> Any:
        if path is not None:
            return load_rates(path, day)
        book, problems = kept(day)
        return book, list(problems)

    pipeline.load_rates = load  # type: ignore[assignment]


def chosen(seed: int, only: str = "") -> tuple[str, Mutant]:
    """The base and the mutant of a seed. only: a base, blank for any by its share."""
    rng = Random(seed)
    names = [n for n in BASES if n == only or not only]
    name = rng.choices(names, [BASES[n][1] for n in names])[0]
    of = base(name)
    if name == "rates":
        return name, mutate_table(rates(), seed)
    mutate = mutate_cells if rng.random() < 0.55 else mutate_part
    return name, mutate(of.data, seed, of.kind)


def price(data: bytes, name: str, rate_folder: Path | None = None) -> Outcome:
    """A workbook priced, nothing written; a refusal is an outcome too."""
    opened = check_bytes(data, name)
    if isinstance(opened, Problem):
        return Outcome(None, (opened,), usable=False)
    return price_workbook(opened, Path(name), DAY, rate_folder)


@cache
def seen(name: str) -> BaseSeen:
    """What there is to know of a base."""
    of = base(name)
    outcome = price(of.data, file_name(of))
    assert outcome.priced is not None, outcome.problems
    found = [r for read in readers(of.data) if (r := read()) is not None]
    merged = next((dict(r.merged) for r in found if r.by == "openpyxl"), {})
    return BaseSeen(
        figures(outcome.priced),
        frozenset((p.code, p.message) for p in outcome.problems),
        {r.by: input_cells(r) for r in found},
        merged,
        shown(outcome.priced),
    )


def file_name(of: Base) -> str:
    """The name under which a base and its mutants are opened."""
    return f"job.{of.kind}"


def tried(seed: int, only: str = "", write: bool | None = None) -> Verdict:
    """Make a mutant and judge it. write: whether it is written too, None for what its seed and its figures say."""
    default_rates_kept()
    name, mutant = "", Mutant(b"", "not made", (), "none")
    start = time.monotonic()
    try:
        name, mutant = chosen(seed, only)
        end, faults = judged(seed, name, mutant, write)
    except Exception:
        end, faults = "failed", ["traceback: " + traceback.format_exc()[-1500:]]
    return Verdict(seed, name, mutant.kind, mutant.done, end, tuple(faults), time.monotonic() - start)


def judged(seed: int, name: str, mutant: Mutant, write: bool | None) -> tuple[str, list[str]]:
    """How a mutant ended, and what is wrong with that."""
    if name == "rates":
        with tempfile.TemporaryDirectory() as folder:
            return _rates(mutant, Path(folder))
    of, before = base(name), seen(name)
    outcome = price(mutant.data, file_name(of))
    if outcome.priced is None:
        return "refused", refusal_faults(outcome)
    now = figures(outcome.priced)
    changed = differing(before.figures, now)
    faults: list[str] = []
    end = "same"
    if changed:
        faults = silent(outcome, before, readers(mutant.data), file_name(of))
        end = told_or_shown(outcome, before, mutant, file_name(of))
    if write if write is not None else (seed % (CHANGED if changed else EVERY) == 0):
        faults += written_faults(mutant.data, file_name(of), outcome.priced, now)
    return ("failed" if faults else end), faults


def refusal_faults(outcome: Outcome) -> list[str]:
    """What is wrong with a refusal: it has to be a sentence about a file, and an error."""
    errors = [p for p in outcome.problems if p.level == "error"]
    if not errors:
        return ["refused without an error"]
    return [
        f"no sentence: {p.message}"
        for p in errors
        if len(p.message) > 3000 or not p.message.strip().endswith((".", "?"))
    ]


def told_or_shown(outcome: Outcome, before: BaseSeen, mutant: Mutant, file: str) -> str:
    """Whether something new is said of a cell or sheet that was touched, or Basis alone shows it."""
    new = told([p for p in outcome.problems if (p.code, p.message) not in before.problems], file)
    touched = {folded(t.split("!")[0]) + ("!" + t.split("!")[1] if "!" in t else "") for t in mutant.touched}
    sheets = {t.split("!")[0] for t in touched} | {n.split("!")[0] for n in new.named if "/" in "".join(touched)}
    named = touched & new.named or {n.split("!")[0] for n in new.named} & sheets - {
        t.split("!")[0] for t in touched if "!" in t
    }
    return "told" if named or new.sheets & {*sheets, ""} else "shown"


def written_faults(data: bytes, name: str, priced: PricedJob, now: Figures) -> list[str]:
    """What is wrong with the files that are written of a mutant: their structure, Basis, and their price."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / name
        job.write_bytes(data)
        done = price_file(job, None, None, quote=False, crew=False, drawings=False, today=DAY)
        wrong = [p.message for p in done.problems if p.code == "written-wrong"]
        if wrong or not done.written:
            return wrong
        written = done.written[0].read_bytes()
        if _alone(data, name):
            return basis_faults(written, priced)
        again = price(written, job.name)
        faults = []
        if again.priced is None:
            faults.append(f"what was written is refused: {again.problems[0].message}")
        elif differing(now, figures(again.priced)):
            faults.append(f"what was written prices otherwise: {differing(now, figures(again.priced))}")
        return faults + basis_faults(written, priced)


def _alone(data: bytes, name: str) -> bool:
    opened = check_bytes(data, name)
    return isinstance(opened, Problem) or opened.alone


def basis_faults(written: bytes, priced: PricedJob) -> list[str]:
    """Cells that were read and are not on the sheet Basis as written, whose texts are shared or stand in it."""
    package = open_package(written)
    named = next((own.name for own in own_sheets(package) if own.purpose == "Basis"), "Basis")
    found = grids(package, {named: "Basis"}).get("Basis")
    if found is None:
        return ["there is no sheet Basis"]
    shown = GAP.join(c.value for c in found.values() if isinstance(c.value, str))
    missing = [p for row in priced.job.understood for p in understood(row, priced.job.header.units) if p not in shown]
    return [f"not on Basis: {p}" for p in missing[:3]]


def _rates(mutant: Mutant, folder: Path) -> tuple[str, list[str]]:
    """A job priced with a mutated table of the rate book."""
    of, before = base("rates"), seen("rates")
    file = mutant.touched[0]
    for name, data in rates().items():
        (folder / name).write_bytes(mutant.data if name == file else data)
    outcome = price(of.data, file_name(of), folder)
    if outcome.priced is None:
        return "refused", refusal_faults(outcome)
    if not differing(before.figures, figures(outcome.priced)):
        return "same", []
    new = told(
        [p for p in outcome.problems if (p.code, p.message) not in before.problems and p.place.file == file], file
    )
    try:
        old, now = (
            list(csv.reader(io.StringIO(d.decode("utf-8-sig"), newline=""))) for d in (rates()[file], mutant.data)
        )
    except (UnicodeDecodeError, csv.Error):
        return (
            ("told", [])
            if new.named or new.sheets
            else ("failed", ["figures differ; the table is no CSV and nothing is said"])
        )
    cells = [
        {(r, c): v for r, row in enumerate(rows, 1) for c, v in enumerate(row, 1) if v.strip()} for rows in (old, now)
    ]
    places = {p for p in {*cells[0], *cells[1]} if cells[0].get(p) != cells[1].get(p)}
    found, _ = read_csv(mutant.data, file)
    if not places:
        return "failed", ["figures differ, and no cell of the table does"]
    sheet = folded(Path(file).stem)
    silent_cells = [
        p
        for p in places
        if f"{sheet}!{reference(*p)}" not in new.named
        and (found is None or not _stands(found.sheet, p, cells[1].get(p, "")))
    ]
    if silent_cells:
        return "failed", [f"{reference(*p)} is read otherwise than it stands" for p in sorted(silent_cells)[:3]]
    return ("told" if new.named else "shown"), []


def _stands(sheet: Sheet, place: tuple[int, int], text: str) -> bool:
    """Whether a cell of a table is read as it stands; a formula's first letter may be kept inert by an apostrophe."""
    cell = sheet.cells.get(place)
    read = "" if cell is None else str(cell.value)
    return folded(read) in (folded(text), folded(text.removeprefix("'")))
