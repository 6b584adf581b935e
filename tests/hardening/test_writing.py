"""Whatever happens while files are written: the input stays whole, every output is the old one or the new one, nothing
that a person made is lost, and the next run puts all right."""

from __future__ import annotations

import os
import resource
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from estimator.jobfile import price_file
from estimator.report.package.audit import audit
from estimator.report.package.save import save_atomic
from estimator.report.package.zipping import zip_parts
from tests.build import DAY
from tests.hardening.books import changed, small_job
from tests.hardening.faults import FAULTS, INTERRUPT, KILL, Ended, leftovers, struck

OLD, NEW = b"the old file", zip_parts({f"{n}.xml": os.urandom(9_000) for n in range(6)})
ROOT = os.geteuid() == 0


def saving(target: Path) -> Callable[[], str]:
    def action() -> str:
        found = save_atomic(NEW, target)
        return found.code if found else "saved"

    return action


@pytest.fixture
def target(tmp_path: Path) -> Path:
    path = tmp_path / "in here" / "job-priced.xlsx"
    path.parent.mkdir()
    path.write_bytes(OLD)
    return path


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
@pytest.mark.parametrize("there", [True, False], ids=["over an old file", "a new file"])
def test_a_file_is_whole_at_every_step(target: Path, fault: int, there: bool) -> None:
    """7 faults at each of some 12 steps of one saving, with and without an old file there."""
    if not there:
        target.unlink()
    steps = struck(saving(target), target.parent).steps
    assert steps > 8
    for at in range(1, steps + 1):
        shutil.rmtree(target.parent)
        target.parent.mkdir()
        if there:
            target.write_bytes(OLD)
        ended = struck(saving(target), target.parent, at, fault)
        assert not ended.escaped, (at, ended.said)
        assert ended.killed is (fault == KILL), (at, ended)
        now = target.read_bytes() if target.exists() else None
        assert now in (NEW, OLD if there else None), at
        if fault not in (KILL, INTERRUPT):
            assert (ended.said == "saved") is (now == NEW), (at, ended.said)
        if fault != KILL:
            assert leftovers(target.parent) == [], at
        assert {p.name for p in target.parent.iterdir()} - set(leftovers(target.parent)) <= {target.name}
        assert save_atomic(NEW, target) is None
        assert target.read_bytes() == NEW


def job_in(folder: Path) -> Path:
    """A job in a folder where an earlier run with other prices, and a person, have left their files."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    job = small_job(folder / "job.xlsx", Margin="11 %")
    price_file(job, today=DAY, with_json=True, drawings=False, pdf=False)
    changed(folder / "job-priced.xlsx", lambda b: b["Options"].__setitem__("E2", "mine"))
    small_job(job)
    return job


def contents(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if not p.name.startswith(".estimator-")}


def pricing(job: Path) -> Callable[[], str]:
    def action() -> str:
        done = price_file(job, today=DAY, with_json=True, drawings=False, pdf=False)
        return f"{done.status} " + " ".join(p.code for p in done.problems if p.level == "error")

    return action


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "job's folder"


@pytest.fixture
def outcomes(folder: Path) -> tuple[int, dict[str, bytes], dict[str, bytes]]:
    """How many steps a run takes, and what lies there before and after one that nothing befalls."""
    job = job_in(folder)
    before = contents(folder)
    ended = struck(pricing(job), folder)
    assert (ended.killed, ended.said) == (False, "0 ")
    return ended.steps, before, contents(folder)


def strike_a_run(
    folder: Path, outcomes: tuple[int, dict[str, bytes], dict[str, bytes]], fault: int, every: int
) -> Iterator[Ended]:
    steps, before, after = outcomes
    for at in range(1 + fault % every, steps + 1, every):
        shutil.rmtree(folder)
        folder.mkdir()
        for name, data in before.items():
            (folder / name).write_bytes(data)
        job = folder / "job.xlsx"
        ended = struck(pricing(job), folder, at, fault)
        assert not ended.escaped, (at, ended.said)
        now = contents(folder)
        assert now["job.xlsx"] == before["job.xlsx"], at
        for name, data in now.items():
            # a kept file has the name of its day; each file is an old or a new one, and whole
            assert data in (*before.values(), *after.values()), (at, name)
        # what a person changed, and the quote that went out, are still there under one name or another
        for kept in ("job-priced.xlsx", "job-quote.xlsx"):
            assert before[kept] in now.values(), (at, kept)
        if fault != KILL:
            assert leftovers(folder) == [], at
        if fault not in (KILL, INTERRUPT):
            written = all(now.get(n) == d for n, d in after.items() if n in before)
            assert written or ended.said.startswith("2 "), (at, ended.said)
        pricing(job)()
        done = contents(folder)
        # what was found in the old workbook is told by the run that replaced it, so the two workbooks may differ there
        assert all(done[n] == after[n] for n in ("job.xlsx", "job-quote.xlsx", "job-crew.xlsx")), at
        assert audit(done["job-priced.xlsx"]) == [], at
        yield ended


def test_a_run_that_is_killed(folder: Path, outcomes: tuple[int, dict[str, bytes], dict[str, bytes]]) -> None:
    ends = list(strike_a_run(folder, outcomes, KILL, 13))
    assert len(ends) > 3
    assert all(e.killed for e in ends)


@pytest.mark.long
@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS)
def test_a_run_struck_at_every_step(
    folder: Path, outcomes: tuple[int, dict[str, bytes], dict[str, bytes]], fault: int
) -> None:
    assert len(list(strike_a_run(folder, outcomes, fault, 1 if fault == KILL else 3))) > 15


def test_a_disk_that_holds_no_more_than_a_part(target: Path) -> None:
    """The system itself stops the writing in the middle: no file may grow beyond 20,000 bytes."""

    def action() -> str:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
        return saving(target)()

    ended = struck(action, target.parent / "nowhere")
    assert ended.said == "save-failed"
    assert (target.read_bytes(), leftovers(target.parent)) == (OLD, [])


def test_a_folder_that_may_not_be_written_in(folder: Path) -> None:
    """As a person without rights there, whoever runs the tests."""
    job = job_in(folder)
    before = contents(folder)
    for path in (folder, *folder.iterdir()):
        path.chmod(0o555 if path.is_dir() else 0o444)
    for parent in [*folder.parents][:-2]:
        parent.chmod(parent.stat().st_mode | 0o755)

    def action() -> str:
        if ROOT:
            os.setgid(65534)
            os.setuid(65534)
        return pricing(job)()

    ended = struck(action, folder / "nowhere")
    folder.chmod(0o755)
    assert ended.said.startswith("2 "), ended.said
    assert "save-" in ended.said
    assert contents(folder) == before


def test_two_runs_at_once(folder: Path) -> None:
    """Four at a time, twice over: each output is whole, and no unfinished file stays."""
    for _ in range(2):
        job = job_in(folder)
        quote = (folder / "job-quote.xlsx").read_bytes()
        children = []
        for _ in range(4):
            child = os.fork()
            if child == 0:
                try:
                    pricing(job)()
                finally:
                    os._exit(0)
            children.append(child)
        for child in children:
            assert os.waitpid(child, 0)[1] == 0
        found = contents(folder)
        assert leftovers(folder) == []
        assert {n for n in found if " 20" not in n} == {
            "job.xlsx", "job-priced.xlsx", "job-priced.json", "job-crew.xlsx", "job-quote.xlsx"
        }  # fmt: skip
        assert all(audit(data) == [] for name, data in found.items() if name.endswith(".xlsx"))
        assert quote in found.values()
