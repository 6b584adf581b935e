"""What was used on the job, what became of an accepted price, two workbooks compared, a price that is aimed at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from openpyxl import Workbook, load_workbook

from estimator.core.problems import Problem
from estimator.jobfile import aim, compare_files, price_file, told_by_actuals
from tests.build import DAY, option
from tests.problems.model import Case, Road, check, price
from tests.problems.yards import Build, Told, Yard, flat, job_told, made, rate_told, write_yards, yards_in, yards_told
from tests.rate_books import with_changes

Table = list[dict[str, str]]

FIVE = option("A B C D", "SQ-5000")
CONCRETE = {"Description": "Concrete", "Quantity": 30, "Cost each": 9, "Kind": "material", "Instead of": "CON-TRUCK"}


def _used(what: str, **more: Any) -> dict[str, Any]:
    return {"What": what, "Quantity": 2, "Unit": "h", **more}


USED = (
    Yard("used", (("actual-unit-blank", "Actuals", "Unit", 0), ("actual-unknown", "Actuals", "What", 1),
                  ("unit-mismatch", "Actuals", "Unit", 2), ("actual-not-planned", "Actuals", "What", 3),
                  ("actual-without-site", "Actuals", "Site", 4)),
         fixings=flat(6), options=[FIVE],
         actuals=[_used("dig", Unit=None), _used("hagn sail"), _used("place concrete", Unit="days"),
                  _used("tighten rope grips again"), _used("dig", Site=None, Option="1")]),
    Yard("two", (("actual-no-chosen", "Actuals", "Option"),), fixings=flat(6), options=[FIVE, {**FIVE, "Option": "2"}],
         actuals=[_used("dig")]),
    Yard("lost", (("actual-no-price", "Actuals", "Option"), ("sail-too-large", "Options", "Size")), fixings=flat(6),
         options=[option("A B C D", "SQ-7000")], actuals=[_used("dig")]),
    Yard("units", (("actual-two-units", "Actuals", "What"),), fixings=flat(6), options=[FIVE],
         extras=[{**CONCRETE, "Unit": "bag"}, {**CONCRETE, "Unit": "m3", "Quantity": 3}],
         actuals=[_used("CON-TRUCK", Unit="bag")]),
)  # fmt: skip
DAY_TAKEN = rate_told("actuals-day-taken", "labour", "valid_from")
HUNG = Yard("hung", (("actuals-day", "Actuals", "Day"),), fixings=flat(6), options=[FIVE], actuals=[_used("hang sail")])


def _learn(job: Path, rates: Path | None) -> list[Problem]:
    return list(told_by_actuals([job], rates).problems)


def _learn_over(job: Path, rates: Path | None) -> list[Problem]:
    """The rows into a file that is there."""
    return list(told_by_actuals([job], rates, None, job.with_name("there.csv")).problems)


def _learn_of_two(job: Path, rates: Path | None) -> list[Problem]:
    return [
        *told_by_actuals([job, job], rates).problems,
        *(p for p in told_by_actuals([job.with_name("other.xlsx"), job], rates).problems if p.level == "error"),
    ]


def _without_settings(folder: Path) -> Path:
    def drop(rows: Table) -> None:
        rows[:] = [r for r in rows if not r["name"].startswith("actuals")]

    return with_changes(folder / "rates", {"settings": drop})


def _later_rows(folder: Path) -> Path:
    def later(rows: Table) -> None:
        row = next(r for r in rows if r["task"] == "hang sail")
        rows.append({**row, "hours": "3", "valid_from": "2026-04-04"})

    return with_changes(folder / "rates", {"labour": later})


def _hung(folder: Path) -> Path:
    (folder / "there.csv").write_bytes(b"")
    return write_yards(folder / "job.xlsx", [HUNG])


def _two_books(folder: Path) -> Path:
    with_changes(folder / "own", {})
    write_yards(folder / "other.xlsx", [HUNG])
    return write_yards(folder / "job.xlsx", [HUNG], {"Rates": "own"})


# the price that was accepted


FIRM = {"Status": "firm", "Revision": 1}
PAVING = {"Description": "Relay paving", "Quantity": 1, "Unit": "m2", "Cost each": 60}
GATE = {**PAVING, "Description": "Gate moved", "Cost each": 200, "Variation": "1"}


def _yard(*extras: Mapping[str, Any]) -> Yard:
    return Yard("Yard", (), fixings=flat(6), options=[FIVE], extras=extras)


@cache
def _priced() -> bytes:
    """The yard, priced while its status was firm."""
    with TemporaryDirectory() as folder:
        job = write_yards(Path(folder) / "job.xlsx", [_yard()], FIRM)
        price_file(job, quote=False, crew=False, drawings=False, today=DAY)
        return job.with_name("job-priced.xlsx").read_bytes()


def _later(lies: Callable[[], bytes] | None, job: Mapping[str, Any], *extras: Mapping[str, Any]) -> Build:
    """The job as it is now, with what lies where its priced workbook goes."""

    def build(folder: Path) -> Path:
        if lies is not None:
            (folder / "job-priced.xlsx").write_bytes(lies())
        return write_yards(folder / "job.xlsx", [_yard(*extras)], {**FIRM, **job})

    return build


def _of_contract(code: str, lies: Callable[[], bytes] | None, *extras: Mapping[str, Any]) -> Case:
    """What is said of the one option's status."""
    yard = replace(_yard(), says=((code, "Options", "Status"),))
    return Case(code, _later(lies, {"Status": "accepted"}, *extras), yards_told([yard]))


def _of_job(code: str, item: str, build: Build) -> Case:
    return Case(code, build, job_told(FIRM, **{code.replace("-", "_"): item}))


CONTRACT = (
    _of_contract("accepted-price-held", None),
    _of_contract("accepted-price-varied", _priced, PAVING, GATE),
    _of_contract("accepted-price-differs", _priced, PAVING),
    _of_job("accepted-not-read", "Status", _later(lambda: b"not a workbook", {"Status": "accepted"})),
    _of_job("variation-not-accepted", "Status", _later(None, {}, GATE)),
    _of_job("revision-not-found", "Revision", _later(None, {"Revision": 2})),
    Case("revision-kept", _later(_priced, {"Revision": 2}), frozenset({("", "", "revision-kept")}), price),
)


# two priced workbooks


def _ever_worse(folder: Path) -> Path:
    """The priced workbook with values for its formulas, and after each of four changes; each hides the ones before."""
    (folder / "before.xlsx").write_bytes(_priced())
    book = load_workbook(folder / "before.xlsx", data_only=True)
    for number, change in enumerate((_foreign, _unread, _uncalculated, _without_basis)):
        change(book)
        book.save(folder / f"now{number}.xlsx")
    return write_yards(folder / "job.xlsx", [_yard()])


def _foreign(book: Workbook) -> None:
    row = next(r for r in book["Summary"].iter_rows() if r[0].value == "Currency")
    row[1].value = "NZD"


def _unread(book: Workbook) -> None:
    (cell,) = next(c for c in book["Bill"].iter_rows(min_col=2, max_col=2) if c[0].value == "Price")
    cell.value = "Total"


def _uncalculated(book: Workbook) -> None:
    book["Bill"]["G7"] = "=1+1"


def _without_basis(book: Workbook) -> None:
    book.remove(book["Basis"])


def _compare(job: Path, rates: Path | None) -> list[Problem]:
    later = [*sorted(job.parent.glob("now*.xlsx")), job]
    return [p for path in later for p in compare_files(job.with_name("before.xlsx"), path).problems]


# a price that is aimed at


AIMED = (
    Yard("left", (("aim-nothing-chosen", "Options", "Chosen"),), fixings=flat(6),
         options=[made(), made(name="2")]),
    Yard("lost", (("aim-not-priced", "Options", "Option"),), fixings=flat(6),
         options=[option("A B C D", "SQ-7000", name="9"), made(name="2", Chosen="yes")]),
)  # fmt: skip


def _aim(job: Path, rates: Path | None) -> list[Problem]:
    asked = (("9", ""), ("7", ""), ("2", ""), ("", "left"))  # option and site
    return [p for name, site in asked for p in aim(job, Decimal(900), rates, name, site).problems]


def _case(name: str, build: Build, yards: tuple[Yard, ...], *more: str | Told, road: Road = check) -> Case:
    """more: codes of what is said of a file, or sheet, cell and code."""
    return Case(name, build, yards_told(yards) | {("", "", m) if isinstance(m, str) else m for m in more}, road)


CASES: tuple[Case, ...] = (
    _case("actuals", yards_in(USED), USED),
    _case("actuals without a day", _hung, (HUNG,), "new-over-old", road=_learn_over),
    _case("actuals of one job twice", _two_books, (), "actuals-same-job", "actuals-two-books", road=_learn_of_two),
    Case(
        "actuals without settings", _hung, frozenset({("settings", "", "actuals-setting")}), _learn, _without_settings
    ),
    Case("actuals of a later row", _hung, frozenset({DAY_TAKEN}), _learn, _later_rows),
    *CONTRACT,
    _case(
        "compared",
        _ever_worse,
        (),
        ("", "", "compare-currency"),
        ("Bill", "A4", "priced-unreadable"),
        ("Bill", "G7", "priced-not-calculated"),
        ("", "", "priced-sheet-missing"),
        ("", "", "not-priced-workbook"),
        road=_compare,
    ),
    _case("aims", yards_in(AIMED), AIMED, "aim-option-unknown", "aim-option-several", road=_aim),
)
