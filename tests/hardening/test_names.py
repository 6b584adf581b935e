"""Odd names of files, links, pipes and devices: priced, or refused in a sentence; nothing hangs, nothing is lost."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from estimator.cli import main
from estimator.report.package.locks import lock_of
from estimator.report.package.save import AN_HOUR, save_atomic
from estimator.sheets.door import open_door
from tests.hardening.books import priced, small_job

NAMES = (
    "with space.xlsx",
    'it\'s "quoted".xlsx',
    "-dash.xlsx",
    "--out.xlsx",
    "CON.xlsx",
    "日本 ü ☂.xlsx",
    "e\u0301.xlsx",
    "[x]*?.xlsx",
    "two\nlines.xlsx",
    "$(touch x);`y`.xlsx",
    "%s{0}{found}.xlsx",
    "\u202egnp.xlsx",
    "\x1b[31mred.xlsx",
    "=1+1.xlsx",
    "a&b<c>#d.xlsx",
    "~x.xlsx",
    ".hidden.xlsx",
    "job.xlsx.xlsx",
    os.fsdecode(b"bad\xff.xlsx"),
    "ü" * 80 + ".xlsx",
)


def command(*words: object) -> Result:
    result = CliRunner().invoke(main, [str(w) for w in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    return result


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return small_job(tmp_path_factory.mktemp("job") / "job.xlsx").read_bytes()


@pytest.mark.parametrize("name", NAMES, ids=[ascii(n)[:24] for n in NAMES])
def test_an_odd_name(tmp_path: Path, job: bytes, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / name).write_bytes(job)
    monkeypatch.chdir(tmp_path)
    result = command("price", "--no-drawings", "--no-pdf", "--no-crew", "--no-quote", "--json", "--", name)
    assert result.exit_code == 0
    stem = name[: -len(".xlsx")]
    assert {p.name for p in tmp_path.iterdir()} == {name, f"{stem}-priced.xlsx", f"{stem}-priced.json"}
    assert (tmp_path / name).read_bytes() == job
    assert all(line.isprintable() for line in result.output.splitlines()), "nothing acts on the terminal"


@pytest.mark.parametrize("letters", [200, 215, 240, 250])
def test_a_name_that_leaves_no_room_for_others(tmp_path: Path, job: bytes, letters: int) -> None:
    path = tmp_path / ("x" * (letters - 5) + ".xlsx")
    path.write_bytes(job)
    result = command("price", "--no-drawings", path)
    if letters == 200:  # with `-quote` and 48 letters to spare it is 254
        assert result.exit_code == 0
        return
    assert result.exit_code == 2
    assert "give the job a name that is 48 letters shorter" in result.output
    assert [p.name for p in tmp_path.iterdir()] == [path.name]
    assert lock_of(path) is None
    assert save_atomic(b"data", tmp_path / ("y" * 300)) is not None


@pytest.mark.parametrize("kind", ["pipe", "device", "endless device", "link to itself", "link to nothing", "too large"])
def test_what_is_no_plain_file(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "job.xlsx"
    if kind == "pipe":
        os.mkfifo(path)
    elif kind == "link to itself":
        path.symlink_to(path)
    elif kind == "too large":
        with open(path, "wb") as file:
            file.truncate(10**11)  # a hole: nothing is on the disk
    else:
        path.symlink_to({"device": "/dev/null", "endless device": "/dev/zero"}.get(kind, tmp_path / "nowhere"))
    start = time.monotonic()
    result = command("check", path)
    assert time.monotonic() - start < 5
    assert result.exit_code == 2
    assert result.output.startswith("error: ")


def test_a_rate_book_that_is_a_device(tmp_path: Path) -> None:
    """The cell Rates of somebody else's job may name anything."""
    for rates in ("/dev/zero", "/etc/passwd", "/dev/stdin", "../../../../etc/hostname", "x" * 3000, "//server/share/x"):
        result = command("check", small_job(tmp_path / "job.xlsx", Rates=rates))
        assert result.exit_code == 2, rates
        assert "root:" not in result.output
    folder = tmp_path / "rates"
    folder.mkdir()
    os.mkfifo(folder / "items.csv")
    (folder / "posts.csv").symlink_to("/dev/zero")
    result = command("check", small_job(tmp_path / "job.xlsx", Rates="rates"))
    assert result.exit_code == 2
    assert "no plain file" in result.output


def test_a_linked_job_is_priced_beside_the_link(tmp_path: Path, job: bytes) -> None:
    there = tmp_path / "there"
    there.mkdir()
    (there / "job.xlsx").write_bytes(job)
    link = tmp_path / "link.xlsx"
    link.symlink_to(there / "job.xlsx")
    assert priced(link).status == 0
    assert link.is_symlink()
    assert (tmp_path / "link-priced.xlsx").is_file()
    assert [p.name for p in there.iterdir()] == ["job.xlsx"]
    assert (there / "job.xlsx").read_bytes() == job


def test_an_output_that_is_a_link_back_to_the_job_changes_nothing(tmp_path: Path, job: bytes) -> None:
    """JOB-priced.xlsx linked to JOB.xlsx: the job is the input, and stays."""
    path = tmp_path / "job.xlsx"
    path.write_bytes(job)
    (tmp_path / "job-priced.xlsx").symlink_to(path)
    done = priced(path)
    assert done.status == 2
    assert [p.code for p in done.problems if p.level == "error"] == ["save-over-input"]
    assert path.read_bytes() == job


def test_links_to_nowhere_and_to_themselves_as_outputs(tmp_path: Path, job: bytes) -> None:
    path = tmp_path / "job.xlsx"
    path.write_bytes(job)
    target = tmp_path / "job-priced.xlsx"
    target.symlink_to(tmp_path / "elsewhere.xlsx")
    assert priced(path).status == 0
    assert target.is_symlink()
    assert (tmp_path / "elsewhere.xlsx").read_bytes()[:2] == b"PK"
    target.unlink()
    target.symlink_to(tmp_path / "gone" / "elsewhere.xlsx")
    assert [p.code for p in priced(path).problems if p.level == "error"] == ["save-no-folder"]
    target.unlink()
    target.symlink_to(target)
    done = priced(path)
    assert done.status in (0, 2)
    assert path.read_bytes() == job


def test_unfinished_files_of_a_run_that_was_killed_are_cleared_away(tmp_path: Path) -> None:
    old, young, other = (tmp_path / f".estimator-{n}.part" for n in ("0" * 12, "1" * 12, "mine"))
    for path in (old, young, other):
        path.write_bytes(b"half")
    for path in (old, other):
        os.utime(path, (time.time() - AN_HOUR - 5,) * 2)
    assert save_atomic(b"data", tmp_path / "job.json") is None
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([young.name, other.name, "job.json"])


def test_a_name_no_file_can_have() -> None:
    assert getattr(open_door(Path("a\0b.xlsx")), "code", "") == "file-not-found"
