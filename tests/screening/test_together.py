"""Options screened by several processes, against one."""

from __future__ import annotations

import os
import signal
from math import cos, pi, sin
from pathlib import Path
from typing import Any

import pytest

from estimator.pipeline import price_workbook
from estimator.report.json_out import job_json
from estimator.screening import together
from estimator.sheets.door import Opened, open_door
from tests.build import DAY, fixing, option, write_job
from tests.screening.yards import SITE


def many_yards(path: Path, sites: int, kinds: int) -> Path:
    """Sites of two options each; so many different yards among them, over and over."""
    rows: dict[str, list[dict[str, Any]]] = {"sites": [], "fixings": [], "options": []}
    for n in range(sites):
        site = {"Site": f"Yard {n}"}
        rows["sites"].append({**SITE, **site, "Wind speed": f"{38 + n % 3} m/s"})
        wide = 3.4 + 0.1 * (n % kinds)
        for i in range(3):
            at = (wide * cos(2 * pi * i / 3), wide * sin(2 * pi * i / 3), 2.5 + (i % 2) * 0.7)
            rows["fixings"].append({**fixing("ABC"[i], *at), **site})
        for name, cloth in (("light", "KNIT-LIGHT"), ("heavy", "KNIT-HEAVY")):
            chosen = "yes" if name == "light" else None
            rows["options"].append({**option("A B C", "made to fit", name, Cloth=cloth, Chosen=chosen), **site})
    return write_job(path, **rows)  # type: ignore[arg-type]


def text(path: Path, cores: int) -> tuple[str, list[tuple[int, int]]]:
    """The JSON of a job, and the steps that were told on the way."""
    steps: list[tuple[int, int]] = []
    opened = open_door(path)
    assert isinstance(opened, Opened)
    priced = price_workbook(opened, path, DAY, progress=lambda *at: steps.append(at), cores=cores).priced
    assert priced is not None
    assert all(o.screened for o in priced.options)
    return job_json(priced), steps


def test_two_processes_say_the_same_to_the_last_digit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = many_yards(tmp_path / "job.xlsx", 5, 3)
    alone, told = text(job, 1)
    monkeypatch.setattr(together, "WORTH_IT", 2)
    called = []
    shared = together._shared
    monkeypatch.setattr(together, "_shared", lambda *a: called.append(len(a[1])) or shared(*a))
    assert text(job, 2) == (alone, told)
    assert called == [6]  # three yards with two cloths each, over five sites
    assert told == [(n, 10) for n in range(1, 11)]


def test_a_few_shapes_start_no_process(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(together, "_shared", lambda *_: pytest.fail("a process for six shapes"))
    text(many_yards(tmp_path / "job.xlsx", 3, 3), 2)


def _end(*_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def test_what_a_process_that_ends_leaves_is_done_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = many_yards(tmp_path / "job.xlsx", 2, 2)
    alone, told = text(job, 1)
    monkeypatch.setattr(together, "WORTH_IT", 2)
    monkeypatch.setattr(together, "_screen", _end)
    assert text(job, 2) == (alone, told)


def test_options_that_share_a_shape_by_way_of_another_stay_together(tmp_path: Path) -> None:
    """Two sails make two shapes one group; the third option has a shape of its own."""
    square = [(0.0, 0.0), (6.0, 0.0), (6.0, 6.0), (0.0, 6.0), (12.0, 0.0), (12.0, 6.3)]
    fixings = [fixing(n, x, y, 2.6) for n, (x, y) in zip("ABCDEF", square, strict=True)]
    more: dict[str, Any] = {"Cloth": "KNIT-HEAVY"}
    options = [
        option("A B C D", "made to fit", "west", **more, Chosen="yes"),
        option("B E F C", "made to fit", "east", **more),
        option("A B C D", "made to fit", "both", Sail="w", **more),
        option("B E F C", "made to fit", "both", Sail="e", **more),
        option("A B C D", "made to fit", "light", Cloth="KNIT-LIGHT"),
    ]
    job = write_job(tmp_path / "job.xlsx", sites=[SITE], fixings=fixings, options=options)
    seen: list[list[list[int]]] = []
    real = together._groups
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(together, "_groups", lambda *a: seen.append([[n for n, _ in g] for g in real(*a)]) or real(*a))
        text(job, 2)
    assert seen == [[[0, 1, 2], [3]]]
