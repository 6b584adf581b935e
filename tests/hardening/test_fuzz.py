"""Mutants of workbooks: a few in the default run, fifteen hundred in the long one, and what the judge of them sees."""

from __future__ import annotations

import io
import os
import string
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from random import Random
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

import estimator.sheets.reader as reader
from tests.hardening import fuzz, guided
from tests.hardening.fuzz import run, table
from tests.hardening.fuzz_bases import BASES, base
from tests.hardening.fuzz_reading import by_calamine, by_openpyxl, numbers
from tests.hardening.fuzz_try import Verdict, chosen, default_rates_kept, judged, price, tried
from tests.hardening.mutate_cells import put_in
from tests.hardening.mutate_typed import NOT_NUMBERS, feet_and_inches
from tests.hardening.mutate_zip import Mutant, damage

CHUNKS, EACH = 10, 150
LATER = 500_000  # seeds of the long run, apart from those tried by hand

TYPED = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**6), 10**6),
    st.floats(allow_nan=False, allow_infinity=False),
    st.floats(0, 12).map(lambda x: round(x, 2)),
    st.dates(date(1900, 3, 1), date(2100, 1, 1)),
    st.datetimes(datetime(1900, 3, 1), datetime(2100, 1, 1)).map(lambda d: d.replace(microsecond=0)),  # noqa: DTZ001
    st.text(max_size=12),
    st.text(string.digits + " ,.'\"-+/½¼mMcfti\u00a0\u2212²٣", max_size=9),
    st.sampled_from(NOT_NUMBERS),
    st.sampled_from(
        ["A", "B", "b ", "Yard", "yard", "new post", "firm", "easy", "SQ-5000", "A B C", "yes", "x", "20 %"]
    ),
)
PLACES = [
    *(("Fixings", r, c) for r in range(1, 6) for c in range(1, 10)),
    *(("Sites", r, c) for r in (1, 2) for c in range(1, 6)),
    *(("Options", r, c) for r in (1, 2) for c in range(1, 6)),
    *(("Job", r, c) for r in range(1, 6) for c in (1, 2)),
]


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.sampled_from(PLACES), TYPED), min_size=1, max_size=3))
@example([(("Fixings", 2, 6), "2,600")])
@example([(("Fixings", 2, 6), "8' 6\"")])
@example([(("Fixings", 1, 6), "Height (mm)")])
@example([(("Job", 5, 1), None)])
@example([(("Fixings", 1, 6), True)])
def test_whatever_is_typed_is_told_or_shown(cells: list[tuple[tuple[str, int, int], Any]]) -> None:
    default_rates_kept()
    data = base("small").data
    for (sheet, row, column), value in cells:
        data = put_in(data, sheet, (row, column), value)
    end, faults = judged(
        0, "small", Mutant(data, "typed", tuple(f"{s}!" for (s, _, _), _ in cells), "cell"), write=False
    )
    assert end != "failed", faults
    assert faults == []


@pytest.mark.parametrize("name", BASES)
def test_a_base_is_priced_and_its_mutants_come_back_from_their_seeds(name: str) -> None:
    outcome = price(base(name).data, f"job.{base(name).kind}")
    assert outcome.priced is not None
    assert any(o.bill for o in outcome.priced.options)
    for seed in (1, 2, 3):
        assert chosen(seed, name) == chosen(seed, name)
    assert chosen(1, name)[1].data != chosen(2, name)[1].data


def test_some_mutants() -> None:
    found = [tried(seed, "small", write=seed == 3) for seed in range(40)]
    assert [v for v in found if v.end == "failed"] == []
    assert {v.end for v in found} >= {"same", "told", "refused"}


@pytest.mark.long
@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_many_mutants(chunk: int) -> None:
    start = LATER + chunk * EACH
    found = list(run(range(start, start + EACH)))
    assert len(found) == EACH
    assert [(v.seed, v.base, v.done, v.faults) for v in found if v.end == "failed"] == []


# -- the judge itself: what it lets pass is worth nothing if it lets everything pass


def _judged(change: Callable[[bytes], bytes]) -> list[str]:
    default_rates_kept()
    return judged(0, "small", Mutant(change(base("small").data), "changed", (), "cell"), write=False)[1]


def test_a_value_that_is_misread_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    def typed(data: bytes) -> bytes:
        return put_in(data, "Fixings", (3, 6), "2,8")

    assert _judged(typed) == []
    read = reader.read_value

    def misread(cell: Any, column: Any, *rest: Any) -> Any:
        value, problems = read(cell, column, *rest)
        return (value * 0.7 if value == 2.8 else value), problems

    monkeypatch.setattr(reader, "read_value", misread)
    assert any("'2,8' of Height is taken for" in fault for fault in _judged(typed))


def test_a_figure_that_changes_without_a_cell_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    read = reader.read_value

    def odd(cell: Any, column: Any, *rest: Any) -> Any:
        value, problems = read(cell, column, *rest)
        return (value + 5 if column.name == "Travel" and value else value), problems

    assert _judged(lambda data: data) == []
    monkeypatch.setattr(reader, "read_value", odd)
    assert any("taken for 15.0" in fault for fault in _judged(lambda data: data))


def test_a_row_that_is_passed_over_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = reader.rows_below

    def less(sheet: Any, first: int) -> Any:
        found = rows(sheet, first)
        return {n: cells for n, cells in found.items() if not (sheet.name == "Fixings" and n == 3)}

    monkeypatch.setattr(reader, "rows_below", less)
    assert any("fixings!B3" in fault and "shown nowhere" in fault for fault in _judged(lambda data: data))


def test_a_worker_that_hangs_or_dies_is_a_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    def odd(seed: int, only: str = "") -> Verdict:
        if seed == 1:
            time.sleep(60)
        if seed == 2:
            os._exit(3)
        return Verdict(seed, "small", "cell", "nothing", "same")

    monkeypatch.setattr(fuzz, "HANG", 0.1)
    monkeypatch.setattr(fuzz, "tried", odd)
    ends = {v.seed: (v.end, *v.faults) for v in run(range(5), workers=2)}
    assert ends[1] == ("failed", "no answer in 0.1 s")
    assert ends[2] == ("failed", "the worker died")
    assert {ends[n] for n in (0, 3, 4)} == {("same",)}


def test_a_mutant_that_eats_memory_is_a_failure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fuzz, "MOST_MEGABYTES", 1.0)
    monkeypatch.setattr(fuzz, "tried", lambda seed, only="": Verdict(seed, "small", "cell", "nothing", "same"))
    (found,) = run([7])
    assert found.end == "failed"
    assert "MB of memory" in found.faults[0]


def test_the_table_counts_every_mutant() -> None:
    one = Verdict(1, "small", "cell", "x", "same", (), 0.5, 90)
    lines = table([one, replace(one, end="told", seconds=2.0), replace(one, kind="zip", end="refused")])
    assert lines[2:] == [
        "| cell | 2 | 1 | 1 | 0 | 0 | 0 | 2.0 | 90 |",
        "| zip | 1 | 0 | 0 | 0 | 1 | 0 | 0.5 | 90 |",
        "| all | 3 | 1 | 1 | 0 | 1 | 0 | 2.0 | 90 |",
    ]


@pytest.mark.parametrize("target", guided.TARGETS)
def test_what_is_led_by_coverage_runs_without_it(target: str) -> None:
    rng = Random(target)
    started = guided.seeds(target)
    assert started
    for data in started[:12]:
        guided.TARGETS[target](data)
        guided.TARGETS[target](damage(data, rng).data)


@settings(max_examples=150, deadline=None)
@given(st.binary(min_size=3, max_size=3), st.text(max_size=40))
@example(b"\x0a22", "2" * 32)  # a whole number of more digits than a remainder can be taken of
def test_a_text_in_any_column_is_a_value_or_a_problem(head: bytes, text: str) -> None:
    guided.cells(head + text.encode("utf-8", "replace"))


def test_the_other_grammar() -> None:
    def mm(text: Any, shape: str = "", unit: str = "m", feet: bool = False, mark: str = "") -> set[int]:
        return {round(float(n) * 1000) for n in numbers(text, shape, "length", unit, feet, mark)}

    assert mm("2,6") == mm("2.6 m") == mm("2 600 mm") == mm(2.6) == mm("２.６") == {2600}
    assert mm("2,600") == {2600, 2600000}
    assert mm("2,600", mark="point") == {2600000}
    assert mm(feet_and_inches(2.6035)) == mm("8' 6 1/2\"") == {2604}
    assert mm("2½") == mm("2 1/2") == {2500}
    assert mm(2600, '0" mm"', unit="") == {2600}
    assert mm("TBC") == mm("2.6 kg") == mm("2-3") == mm(True) == mm(2.6, "0%") == set()


def test_the_other_readers_agree_on_the_bases(tmp_path: Path) -> None:
    book = openpyxl.load_workbook(io.BytesIO(base("small").data))
    one, other = by_openpyxl(base("small").data), by_calamine(base("small").data)
    assert one is not None
    assert other is not None
    assert {n: set(c) for n, c in one.sheets.items()} == {n: set(c) for n, c in other.sheets.items()}
    assert one.sheets["Fixings"][2, 6][0] == book["Fixings"]["F2"].value == 2.5
