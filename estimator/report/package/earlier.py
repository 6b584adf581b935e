"""The priced workbook that a run is about to replace: what was changed in it by hand, and whether it has to be kept."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from estimator.core.problems import Place, Problem, problem
from estimator.report.package.own import own_sheets
from estimator.report.package.package import open_package
from estimator.report.package.save import save_atomic
from estimator.report.package.soundness import damaged
from estimator.report.package.wrote import found_record, inputs_print
from estimator.sheets.door import Opened, check_bytes

KNOWN_ONLY = "own-sheets-unrecorded"  # says that nothing is known, so there is nothing to keep
STANDING = ("Summary", "Bill", "To check", "Basis")  # of a job that sheets cannot be put into; it bears no marks


@dataclass(frozen=True, slots=True)
class Earlier:
    """problems: what was changed by hand; keep: the bytes to keep beside before they are replaced, None for nothing
    that would be lost; what: why, and what to do with them."""

    problems: tuple[Problem, ...] = ()
    keep: bytes | None = None
    what: str = ""


def changed_by_hand(opened: Opened, job: Path, target: Path, own: bool, currency: str) -> list[Problem]:
    """What was changed by hand in the workbook that is priced, and in the one that is about to be replaced.

    What would be lost is kept beside first; an error among the answer says that this could not be done.
    """
    told = by_hand(opened, currency) if own else Earlier()
    there = told if own and _same_file(job, target) else lies_there(opened, target, currency)
    more = () if there is told else there.problems
    return [*told.problems, *more, *keep(there, target)]


def over_input(job: Path, outputs: Iterable[Path]) -> list[Problem]:
    """Outputs that lead to the job itself, by a link: it would be written over."""
    return [problem("save-over-input", Place(file=path.name)) for path in outputs if _same_file(job, path)]


def _same_file(job: Path, target: Path) -> bool:
    try:
        return target.samefile(job)
    except OSError:
        return False


def by_hand(opened: Opened, currency: str) -> Earlier:
    """Changes on our sheets of a workbook that is priced again to its own name; nothing for one without ours."""
    damage = damaged(opened.data, opened.name)
    if damage is not None:
        return Earlier((damage,))
    from estimator.report.package.slips import slips  # here and below: most runs replace nothing

    found = slips(open_package(opened.data), currency, name=opened.name)
    lost = any(p.code != KNOWN_ONLY for p in found)
    return Earlier(tuple(found), opened.data if lost else None, "Its figures are compared above." if lost else "")


def lies_there(opened: Opened, target: Path, currency: str) -> Earlier:
    """The same for a file that lies where the job's priced workbook is to go; opened: the job."""
    try:
        data = target.read_bytes()
    except (FileNotFoundError, IsADirectoryError):
        return Earlier()
    except OSError as error:  # what cannot be looked at is not written over
        reason = (error.strerror or type(error).__name__).lower()
        return Earlier((problem("file-not-readable", Place(file=target.name), reason=reason),))
    old = check_bytes(data, target.name)
    if isinstance(old, Problem):
        return Earlier((), data, "It was no workbook that can be read.")
    if old.alone:
        return Earlier((), data, "It was no priced workbook; give one of the two another name.")
    if damaged(data) is not None:
        return Earlier((), data, "It is damaged; open it, let it be repaired, and look at it.")
    package = open_package(data)
    if not own_sheets(package):
        alone = {sheet.get("name", "") for sheet in package.sheets} >= set(STANDING)
        return Earlier() if alone else Earlier((), data, "It was no priced workbook; give one of the two another name.")
    from estimator.report.package.slips import slips

    found = slips(package, currency, target.name)
    record = found_record(package)
    now = "" if opened.alone else inputs_print(open_package(opened.data))
    if record is not None and inputs_print(package) not in (record.origin, now):
        words = "Cells of the job were changed in it that this run did not read: carry them over, or price the copy."
        return Earlier(tuple(found), data, words)
    lost = any(p.code != KNOWN_ONLY for p in found)
    return Earlier(tuple(found), data if lost else None, "Its figures are compared above." if lost else "")


def keep(earlier: Earlier, target: Path) -> list[Problem]:
    """Keep the bytes beside the file that is to be replaced, and say where; an error where that cannot be done."""
    if earlier.keep is None:
        return []
    kept = _kept_name(target, earlier.keep)
    refused = None if kept.exists() else save_atomic(earlier.keep, kept)
    if refused is not None:
        return [refused]
    return [problem("priced-kept", Place(file=target.name), kept=kept.name, what=earlier.what)]


def _kept_name(target: Path, data: bytes) -> Path:
    """The first free name under the day of the file, or the one that holds the same already."""
    day = _day(target)
    number = 1
    while True:
        again = "" if number == 1 else f" ({number})"
        kept = target.with_name(f"{target.stem} {day.isoformat()}{again}{target.suffix}")
        if not kept.exists() or kept.read_bytes() == data:
            return kept
        number += 1


def _day(target: Path) -> date:
    return datetime.fromtimestamp(target.stat().st_mtime).astimezone().date()
