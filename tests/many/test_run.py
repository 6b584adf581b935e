"""Many jobs in this process and in several: the same files, whatever happens to one of them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from multiprocessing import active_children
from pathlib import Path

import pytest
from click.testing import CliRunner

from estimator.cli import main
from estimator.core.processes import deaf
from estimator.many import job as one
from estimator.many.model import Result
from estimator.many.plan import plan
from estimator.many.run import in_processes, in_turn
from estimator.many.stop import ctrl_c
from estimator.many.whole import Run, price_all
from tests.many.folder import FULL, PLAIN, job, outputs, results, run_folder, steps, table, twelve, without_seconds


def fresh(tmp_path: Path, name: str) -> Path:
    out = tmp_path / name
    out.mkdir()
    return out


def test_a_run_goes_on_after_a_bad_file_and_can_be_gone_on_with(tmp_path: Path) -> None:
    folder = fresh(tmp_path, "jobs")
    job(folder, "good")
    job(folder, "other", 5.8)
    (folder / "cut.xlsx").write_bytes((folder / "good.xlsx").read_bytes()[:3000])
    said, tell = steps()
    run = Run(plan([folder]), PLAIN, folder, processes=1)
    ended = price_all(run, tell, lambda: None)
    assert (ended.status, ended.done, ended.stood) == (2, 3, 0)
    assert [(s.done, s.of, s.row.file, s.row.status) for s in said] == [
        (1, 3, "cut.xlsx", "cannot be used"),
        (2, 3, "good.xlsx", "priced"),
        (3, 3, "other.xlsx", "priced"),
    ]
    before, rows = outputs(folder), table(folder)
    (folder / "other-crew.xlsx").unlink()
    again, tell = steps()
    ended = price_all(replace(run, plan=plan([folder]), resume=True), tell, lambda: None)
    assert (ended.status, ended.done, ended.stood) == (2, 3, 2)
    assert [(s.row.file, s.result is None) for s in again] == [
        ("cut.xlsx", True),
        ("good.xlsx", True),
        ("other.xlsx", False),
    ]
    assert outputs(folder) == before
    assert table(folder)[:2] == rows[:2]  # seconds too: they were not priced again


def test_a_fault_of_ours_is_of_one_job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("a", "b"):
        job(tmp_path, name)
    price_file = one.price_file

    def faulty(path: Path, *rest: object, **words: object) -> object:
        if path.stem == "a":
            raise KeyError("no such\nthing")
        return price_file(path, *rest, **words)  # type: ignore[arg-type]

    monkeypatch.setattr(one, "price_file", faulty)
    ended = run_folder(tmp_path, PLAIN, processes=1)
    assert [(r.file, r.status) for r in ended.rows] == [("a.xlsx", "broken off"), ("b.xlsx", "priced")]
    assert "KeyError: 'no such\\nthing', test_run.py line" in ended.rows[0].first
    assert ended.status == 2


def test_ctrl_c_ends_a_run_after_the_job_under_way(tmp_path: Path) -> None:
    for name in ("a", "b", "c"):
        job(tmp_path, name)
    said = []

    def tell(_: object) -> None:
        os.kill(os.getpid(), signal.SIGINT)

    run = Run(plan([tmp_path]), PLAIN, tmp_path, processes=1)
    ended = price_all(run, tell, lambda: said.append("stopping"))
    assert (ended.status, ended.done, said) == (130, 1, ["stopping"])
    assert [r["Status"] for r in table(tmp_path)] == ["priced", "not reached", "not reached"]
    assert sorted(outputs(tmp_path)) == ["a-crew.xlsx", "a-priced.xlsx", "a-quote.xlsx", "a.xlsx", "b.xlsx", "c.xlsx"]
    assert price_all(replace(run, resume=True), lambda _: None, lambda: None).stood == 1


def test_ctrl_c_twice_ends_it_at_once() -> None:
    before = signal.getsignal(signal.SIGINT)

    def press() -> None:
        os.kill(os.getpid(), signal.SIGINT)
        time.sleep(0.01)

    with ctrl_c() as asked:
        press()
        assert asked.is_set()
        with pytest.raises(KeyboardInterrupt):
            press()
    assert signal.getsignal(signal.SIGINT) is before


def test_a_process_that_is_begun_deaf_does_not_hear_ctrl_c() -> None:
    with deaf():
        sleeper = subprocess.Popen(["sleep", "30"])
    hearing = subprocess.Popen(["sleep", "30"])
    for each in (sleeper, hearing):
        each.send_signal(signal.SIGINT)
    assert hearing.wait(10) == -signal.SIGINT
    assert sleeper.poll() is None
    sleeper.kill()
    sleeper.wait(10)


def test_signals_are_left_alone_outside_the_main_thread() -> None:
    seen = []

    def work() -> None:
        with ctrl_c() as asked, deaf():
            seen.append(asked.is_set())

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [False]


def test_where_no_process_can_be_begun_this_one_does_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr("concurrent.futures.process.ProcessPoolExecutor.submit", refuse)
    jobs = [job(tmp_path, name) for name in ("a", "b")]
    found = results(in_processes(jobs, PLAIN, threading.Event(), 2))
    assert [found[n].status for n in (0, 1)] == ["priced", "priced"]


def command(*words: object) -> tuple[int, str]:
    found = CliRunner().invoke(main, [str(w) for w in words])
    assert found.exception is None or isinstance(found.exception, SystemExit), found.exc_info
    return found.exit_code, found.output


def test_the_command_over_a_folder(tmp_path: Path) -> None:
    folder = fresh(tmp_path, "jobs")
    job(folder, "good")
    (folder / "note.xls").write_text("buy cloth")
    (folder / "~$good.xlsx").write_bytes(b"x")
    words = ("--no-drawings", "--no-pdf", "--processes", 1)
    status, said = command(folder, *words)
    assert status == 2
    assert "left out: ~$good.xlsx, the mark of a workbook that is open" in said
    assert "1 of 2: good.xlsx priced, EUR " in said
    assert "2 of 2: note.xls cannot be used" in said
    assert "2 jobs: 1 priced, 1 cannot be used" in said
    assert f"written: {folder / 'run-table.csv'}" in said
    status, said = command("price", folder, *words, "--resume")
    assert status == 2
    assert "good.xlsx priced" in said
    assert "as the run table says" in said
    assert "2 jobs left as the run table says" in said


def test_the_command_over_a_few_files_tells_each_in_full_and_in_order(tmp_path: Path) -> None:
    words = ("--no-drawings", "--no-pdf", "--no-crew", "--processes", 1)
    paths = [job(tmp_path, name) for name in ("b", "a")]
    status, said = command("price", *paths, *words)
    assert status == 0
    assert (
        said.index("\nb.xlsx\n") < said.index("b-priced.xlsx") < said.index("\na.xlsx\n") < said.index("a-priced.xlsx")
    )
    assert "chosen options and whole-job lines: EUR" in said
    assert (tmp_path / "run-table.csv").exists()
    assert "jobs:" not in said


def test_one_job_has_no_table(tmp_path: Path) -> None:
    assert command("price", job(tmp_path), "--no-drawings", "--no-pdf")[0] == 0
    assert not list(tmp_path.glob("run-table*"))


@pytest.mark.long
def test_many_processes_write_the_same_files_as_one(reference: tuple[Path, Path], tmp_path: Path) -> None:
    folder, one_process = reference
    before = outputs(folder)
    out = fresh(tmp_path, "many")
    ended = run_folder(folder, replace(FULL, out=out), processes=3)
    assert outputs(out) == outputs(one_process)
    assert len(outputs(out)) > 50
    assert outputs(folder) == before
    rows = without_seconds(out)
    assert rows == without_seconds(one_process)
    assert [row["Status"] for row in rows].count("priced") == 9
    assert ended.status == 2
    assert active_children() == []


@pytest.mark.long
def test_a_job_whose_process_dies_is_tried_again_alone(tmp_path: Path) -> None:
    jobs = [job(tmp_path, str(n)) for n in range(5)]
    killed = []

    def meddle() -> Iterator[object]:
        for each in in_processes(jobs, PLAIN, threading.Event(), 2):
            if not killed:
                killed.append(active_children()[0].pid)
                os.kill(killed[0], signal.SIGKILL)
            yield each

    found = results(meddle())
    assert {r.status for r in found.values()} == {"priced"}
    assert sorted(found) == [0, 1, 2, 3, 4]
    assert not list(tmp_path.glob(".estimator-*"))
    alone = fresh(tmp_path, "alone")
    results(in_turn(jobs, replace(PLAIN, out=alone), threading.Event()))
    made = outputs(tmp_path)
    assert outputs(alone) == {name: data for name, data in made.items() if "-" in name}


@pytest.mark.long
def test_a_job_whose_process_dies_twice_is_told_and_the_others_go_on(tmp_path: Path) -> None:
    jobs = [job(tmp_path, str(n)) for n in range(3)]
    over = threading.Event()

    def kill() -> None:
        while not over.wait(0.1):
            for child in active_children():
                child.kill()

    threading.Thread(target=kill, daemon=True).start()
    found: dict[int, Result] = {}
    for each in in_processes(jobs, PLAIN, threading.Event(), 2):
        if isinstance(each, tuple):
            assert each[0] not in found
            found[each[0]] = each[1]
            if len(found) == 2:
                over.set()
    over.set()
    assert sorted(found) == [0, 1, 2]
    assert [found[n].status for n in (0, 1, 2)] == ["broken off", "broken off", "priced"]
    assert found[0].problems[0].code == "job-process-ended"
    assert not list(tmp_path.glob(".estimator-*"))


@pytest.mark.long
@pytest.mark.parametrize("times", [1, 2])
def test_ctrl_c_leaves_no_half_file_and_the_run_goes_on(tmp_path: Path, times: int) -> None:
    folder, out = twelve(fresh(tmp_path, "jobs")), fresh(tmp_path, "out")
    words = [sys.executable, "-m", "estimator.cli", "price", str(folder), "--out", str(out), "--no-drawings", "--json"]
    run = subprocess.Popen(
        [*words, "--processes", "2"], stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, start_new_session=True
    )
    assert run.stderr is not None
    for line in run.stderr:
        if line.startswith("3 of 12"):
            break
    for _ in range(times):
        os.killpg(run.pid, signal.SIGINT)  # as the keys do: every process of the terminal gets it
        time.sleep(0.1)
    stdout, stderr = run.communicate(timeout=60)
    assert run.returncode == 130, stderr
    assert "Traceback" not in stdout + stderr
    assert "of 12 jobs done; go on with the same words and --resume" in stdout
    assert not list(out.glob(".*"))
    done = [row for row in table(out) if row["Status"] != "not reached"]
    assert 3 <= len(done) < 12
    there = outputs(out)
    again = subprocess.run([*words, "--resume"], capture_output=True, text=True, timeout=120, check=False)
    assert again.returncode == 2
    assert f"{len(done)} jobs left as the run table says" in again.stdout
    # what lay there after Ctrl-C was whole: pricing the rest changed not a byte of it
    whole = outputs(out)
    assert {name: whole[name] for name in there} == there
    assert sum(name.endswith("-quote.pdf") for name in whole) == 9


@pytest.mark.long
def test_a_run_that_is_killed_leaves_a_table_to_go_on_from_and_no_process(tmp_path: Path) -> None:
    folder = fresh(tmp_path, "jobs")
    for number in range(6):
        job(folder, str(number))
    words = [sys.executable, "-m", "estimator.cli", "price", str(folder), "--no-drawings", "--no-pdf", "--no-crew"]
    run = subprocess.Popen([*words, "--processes", "2"], stderr=subprocess.PIPE, text=True, start_new_session=True)
    assert run.stderr is not None
    for line in run.stderr:
        if line.startswith("2 of 6"):
            break
    run.kill()
    run.wait(10)
    until = time.monotonic() + 20
    while group_lives(run.pid) and time.monotonic() < until:
        time.sleep(0.1)
    assert not group_lives(run.pid)
    rows = table(folder)
    assert len(rows) == 6
    assert {row["Status"] for row in rows} <= {"priced", "not reached"}
    there = outputs(folder)
    again = subprocess.run([*words, "--resume"], capture_output=True, text=True, timeout=120, check=False)
    assert again.returncode == 0, again.stderr
    assert {row["Status"] for row in table(folder)} == {"priced"}
    whole = outputs(folder)
    assert {name: whole[name] for name in there if not name.startswith(".")} == {
        name: data for name, data in there.items() if not name.startswith(".")
    }


def group_lives(pid: int) -> bool:
    """Whether any process of a group is still there."""
    try:
        os.killpg(pid, 0)
    except ProcessLookupError:
        return False
    return True
