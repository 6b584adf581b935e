"""Jobs on the workers of a scheduler: the same files as in one process, none lost, none twice, whoever dies."""

from __future__ import annotations

import os
import shutil
import signal
import sys
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from estimator.many import cluster as many
from estimator.many.cluster import connected, on_cluster
from estimator.many.model import Result
from estimator.many.plan import plan
from estimator.many.run import in_turn
from estimator.many.whole import Run, price_all
from estimator.rates.where import default_rates
from tests.many.folder import FULL, PLAIN, job, outputs, results, run_folder, table, without_seconds


def test_a_missing_package_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    job(tmp_path)
    ended = run_folder(tmp_path, PLAIN, cluster="tcp://127.0.0.1:8786")
    assert ended.status == 2
    assert [p.code for p in ended.problems] == ["cluster-missing"]
    assert sorted(outputs(tmp_path)) == ["yard.xlsx"]


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense", "http://127.0.0.1:9"])
def test_an_address_where_nobody_answers_is_one_sentence(
    tmp_path: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(many, "PATIENCE", 0.3)
    job(tmp_path)
    ended = run_folder(tmp_path, PLAIN, cluster=address)
    assert ended.status == 2
    assert [p.code for p in ended.problems] == ["cluster-unreachable"]
    assert address in ended.problems[0].message
    assert sorted(outputs(tmp_path)) == ["yard.xlsx"]
    assert not (tmp_path / "run-table.csv").exists()


@pytest.fixture(scope="module")
def workers() -> Iterator[Any]:
    """Two worker processes."""
    from distributed import LocalCluster

    with LocalCluster(
        n_workers=2, threads_per_worker=2, processes=True, dashboard_address=":0", silence_logs=50
    ) as cluster:
        yield cluster


@pytest.mark.long
def test_one_of_two_workers_is_killed_in_the_middle(workers: Any, reference: tuple[Path, Path], tmp_path: Path) -> None:
    folder, one = reference
    killed: list[int] = []
    steps = []

    def tell(step: Any) -> None:
        steps.append(step.row.file)
        if len(steps) == 3:
            killed.append(next(iter(workers.workers.values())).process.pid)
            os.kill(killed[0], signal.SIGKILL)

    run = Run(plan([folder]), replace(FULL, out=tmp_path), tmp_path, cluster=workers.scheduler_address)
    ended = price_all(run, tell, lambda: None)
    assert killed
    assert (ended.status, ended.done) == (2, 12)
    assert sorted(steps) == sorted(set(steps))
    assert [p for p in ended.problems if p.level == "error"] == []
    assert outputs(tmp_path) == outputs(one)
    assert without_seconds(tmp_path) == without_seconds(one)
    assert len(table(tmp_path)) == 12


@pytest.mark.long
def test_a_job_with_its_own_rate_book_and_what_cannot_be_sent(workers: Any, tmp_path: Path) -> None:
    shutil.copytree(default_rates(), tmp_path / "own")
    there = [job(tmp_path, "a", Rates="own"), job(tmp_path, "b", Rates="none"), tmp_path / "no such.xlsx"]
    with connected(workers.scheduler_address) as client:
        found = results(on_cluster(client, there, PLAIN, threading.Event()))
    made = outputs(tmp_path)
    here = results(in_turn(there, PLAIN, threading.Event()))
    assert outputs(tmp_path) == made
    assert {n: replace(r, seconds=0.0) for n, r in found.items()} == {
        n: replace(r, seconds=0.0) for n, r in here.items()
    }
    assert [here[n].status for n in (0, 1, 2)] == ["priced", "cannot be used", "cannot be used"]
    assert here[0].rates == tmp_path / "own"


@pytest.mark.long
def test_ctrl_c_drops_what_is_under_way(workers: Any, tmp_path: Path) -> None:
    there = [job(tmp_path, str(n)) for n in range(4)]
    asked = threading.Event()
    with connected(workers.scheduler_address) as client:
        found: dict[int, Result] = {}
        for each in on_cluster(client, there, replace(PLAIN, mail=True), asked):
            if isinstance(each, tuple):
                found[each[0]] = each[1]
                asked.set()
    assert 1 <= len(found) < 4
    assert {p.stem.partition("-")[0] for p in tmp_path.glob("*-priced.xlsx")} == {str(n) for n in found}


@pytest.mark.long
def test_a_scheduler_that_goes_away_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from distributed import LocalCluster

    monkeypatch.setattr(many, "ALONE", 1.0)
    monkeypatch.setattr(many, "PATIENCE", 3)
    for number in range(3):
        job(tmp_path, str(number))
    lone = LocalCluster(n_workers=0, processes=False, dashboard_address=":0", silence_logs=50)
    with connected(lone.scheduler_address) as client:
        assert [p.code for p in [client]] == ["cluster-empty"]
    lone.scale(1)
    lone.wait_for_workers(1)
    seen = []

    def tell(step: Any) -> None:
        seen.append(step.row.file)
        lone.close()

    run = Run(plan([tmp_path]), PLAIN, tmp_path, cluster=lone.scheduler_address)
    ended = price_all(run, tell, lambda: None)
    assert ended.status == 2
    assert [p.code for p in ended.problems] == ["cluster-lost"]
    assert [row["Status"] for row in table(tmp_path)].count("not reached") == 3 - len(seen)
