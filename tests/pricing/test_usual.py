"""What a usual job has and this one lacks; what the quote does not say; what coming back once more costs."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.core.problems import Problem
from estimator.pipeline import Outcome
from estimator.pricing.rework import coming_back
from tests.build import option, run, square, write_job
from tests.rate_books import Change, with_changes

ONE: dict[str, Any] = {"fixings": square(6), "options": [option("A B C D", "SQ-4000")]}
CAPS = "post caps (one on each new post; post-cap)"


def outcome(folder: Path, rates: dict[str, Change] | None = None, **rows: Any) -> Outcome:
    book = with_changes(folder / "rates", rates) if rates else None
    return run(write_job(folder / "job.xlsx", **{**ONE, **rows}), book)


def told(found: Outcome, code: str) -> list[Problem]:
    return [p for p in found.problems if p.code == code]


def missing(folder: Path, rates: dict[str, Change] | None = None, **rows: Any) -> str:
    """The items of the one note."""
    notes = told(outcome(folder, rates, **rows), "usual-missing")
    assert [n.level for n in notes] == ["note"]
    return notes[0].message


def usual(what: str, found_by: str, when: str = "", scope: str = "") -> Change:
    """A table of one row."""

    def change(rows: list[dict[str, str]]) -> None:
        first = {**rows[0], "what": what, "found by": found_by, "when": when, "scope": scope, "note": "it matters"}
        rows[:] = [first]

    return change


def without(column: str, value: str) -> Change:
    def change(rows: list[dict[str, str]]) -> None:
        rows[:] = [r for r in rows if r[column] != value]

    return change


def extra(**more: Any) -> list[dict[str, Any]]:
    return [{"Site": "Yard", "Description": "typed", "Quantity": 1, "Unit": "each", **more}]


def test_one_note_names_all_that_is_missing(tmp_path: Path) -> None:
    said = missing(tmp_path)
    slab = "core drill through a slab (where a slab or paving covers the hole; core-drill)"
    for item in ("weather (weather-day)", slab, "engineer (engineer-design)", "warranty visit", "seasonal take-down"):
        assert item in said
    for there in ("travel", "second visit", "spoil", "re-tension", "contingency", "post caps", "sealant", "tree"):
        assert there not in said, there


@pytest.mark.parametrize(
    ("row", "lacks"),
    [
        (usual("vehicle", "travel-km"), False),  # a code
        (usual("vehicle", "boat, travel-km"), False),  # any one of them
        (usual("bracing", "Set-and-brace-post"), False),  # a task of labour
        (usual("vehicle", "boat"), True),
        (usual("second visit", "visit hang"), False),
        (usual("winter visit", "visit winter"), True),
        (usual("contingency", "charge contingency"), False),
        (usual("discount", "charge discount"), True),  # a step with a rate of 0 is none
        (usual("swimmers", "boat", when="pool"), False),  # its condition does not hold
        (usual("posts", "boat", when="posts, timber"), True),
    ],
)
def test_how_a_row_is_found(row: Change, lacks: bool, tmp_path: Path) -> None:
    # with a table of one row nothing else can be missing than the day of a budget figure
    said = missing(tmp_path, {"usual_lines": row})
    assert ("it matters" in said) is lacks


@pytest.mark.parametrize(
    "row",
    [
        {"Item": "weather-day", "Unit": "day"},
        {"Cost each": 50, "Description": "A day lost to weather"},
        {"Item": "weather-day", "Unit": "day", "Offered apart": "yes"},
        {"By others": "yes", "Description": "Days of bad weather: the owner's"},
        {"Site": None, "Item": "weather-day", "Unit": "day"},  # for the whole job
        {"Quantity": 0, "Instead of": "weather-day", "Cost each": 0, "Reason": "indoors"},  # left out on purpose
    ],
)
def test_a_row_of_extras_is_enough(row: dict[str, Any], tmp_path: Path) -> None:
    found = outcome(tmp_path, extras=extra(**row))
    assert found.priced is not None
    assert found.priced.options[0].bill is not None
    assert "weather" not in told(found, "usual-missing")[0].message


def test_a_row_for_another_option_is_not(tmp_path: Path) -> None:
    two = [option("A B C D", "SQ-4000"), option("A B C D", "SQ-4000", "2", Chosen="yes")]
    found = outcome(tmp_path, options=two, extras=extra(Option="2", Item="weather-day", Unit="day"))
    notes = {p.option: p.message for p in told(found, "usual-missing")}
    assert "weather" in notes["1"]
    assert "weather" not in notes["2"]


def test_options_that_lack_the_same_are_told_once(tmp_path: Path) -> None:
    two = [option("A B C D", "SQ-4000"), option("A B C D", "SQ-3600", "2", Chosen="yes")]
    notes = told(outcome(tmp_path, options=two), "usual-missing")
    assert [(p.site, p.option) for p in notes] == [("Yard", None)]


def test_an_option_without_a_price_is_not_compared(tmp_path: Path) -> None:
    found = outcome(tmp_path, fixings=square(6, held_by="unknown wall"))
    assert told(found, "usual-missing") == told(found, "scope-gap") == []


def test_a_book_without_the_table_still_asks_for_the_day(tmp_path: Path) -> None:
    found = outcome(tmp_path, {"usual_lines": lambda rows: rows.clear()}, job={"Status": "firm"})
    assert told(found, "usual-missing") == []
    assert [p.place.sheet for p in told(found, "scope-gap")] == ["Job"]


def test_the_day_is_a_note_of_a_budget_figure_and_a_warning_of_an_offer(tmp_path: Path) -> None:
    for n, (status, warned) in enumerate((("budget", 0), ("firm", 1), ("accepted", 1))):
        folder = tmp_path / str(n)
        folder.mkdir()
        found = outcome(folder, job={"Status": status})
        gaps = told(found, "scope-gap")
        assert [p.level for p in gaps] == ["warning"] * warned
        assert ("finish by" in told(found, "usual-missing")[0].message) is not warned
    dated = outcome(tmp_path, job={"Status": "firm", "Finish by": date(2026, 6, 30)})
    assert told(dated, "scope-gap") == []
    assert "finish by" not in told(dated, "usual-missing")[0].message


def test_scope_that_the_quote_does_not_say(tmp_path: Path) -> None:
    def no_finish(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["finish"] = ""

    def no_words(rows: list[dict[str, str]]) -> None:
        next(r for r in rows if r["support"] == "new post")["description"] = ""

    found = outcome(
        tmp_path,
        {"kits": without("item", "post-cap"), "posts": no_finish, "supports": no_words},
        job={"Status": "firm", "Finish by": date(2026, 6, 30)},
    )
    (gap,) = told(found, "scope-gap")
    assert gap.level == "warning"
    assert (gap.site, gap.option, gap.place.sheet) == ("Yard", "1", "Sites")
    for words in (CAPS, "the finish of post LT-115", "how 'new post' holds"):
        assert words in gap.message, words
    assert "braced" not in gap.message  # the task of setting the posts says it
    assert "post caps" not in told(found, "usual-missing")[0].message


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"Item": "post-cap", "Quantity": 4}, True),
        ({"By others": "yes", "Description": "Post caps by the owner"}, True),  # stands under what is not included
        ({"Instead of": "post-cap", "Quantity": 0, "Cost each": 0}, False),  # the quote says nothing of it
    ],
)
def test_scope_is_what_the_customer_can_read(row: dict[str, Any], said: bool, tmp_path: Path) -> None:
    found = outcome(tmp_path, {"kits": without("item", "post-cap")}, extras=extra(**row))
    assert (told(found, "scope-gap") == []) is said


def test_coming_back_once_more(tmp_path: Path) -> None:
    # 2 x 10 km at 0.85 and, at 60 km/h, a third of an hour for each of two; then an hour to set up and pack up
    found = outcome(tmp_path)
    assert found.priced is not None
    book, one = found.priced.book, found.priced.options[0]
    once = coming_back(book, found.priced.job.header, one.site)
    hour = book.trades["installer"].cost_per_hour
    assert once.km == 20
    assert once.hours == pytest.approx(2 / 3 + 1)
    assert once.cost == pytest.approx(Decimal("17.00") + Decimal(5) / 3 * hour, abs=Decimal("0.01"))
