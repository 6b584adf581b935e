"""A file is saved whole or not at all, and the reason is told in one sentence."""

from __future__ import annotations

import errno
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from estimator.core.problems import Problem
from estimator.report.package.locks import lock_of
from estimator.report.package.save import save_atomic
from estimator.report.package.zipping import zip_parts

OLD, NEW = b"the old file", zip_parts({"a.xml": b"<a/>"})


@pytest.fixture
def target(tmp_path: Path) -> Path:
    path = tmp_path / "job-priced.xlsx"
    path.write_bytes(OLD)
    return path


def refused(found: Problem | None, code: str, target: Path, content: bytes | None = OLD) -> str:
    """Check that the save was refused with this code and left everything as it was; returns the sentence."""
    assert found is not None
    assert (found.code, found.level, found.place.file) == (code, "error", str(target))
    assert [p.name for p in target.parent.iterdir() if p.name.endswith(".part")] == []
    if content is not None:
        assert target.read_bytes() == content
    return found.message


def test_a_new_file_gets_the_usual_mode(tmp_path: Path) -> None:
    path = tmp_path / "new.xlsx"
    usual = tmp_path / "usual"
    usual.touch()
    assert save_atomic(NEW, path) is None
    assert path.read_bytes() == NEW
    assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE(usual.stat().st_mode)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["new.xlsx", "usual"]


def test_an_old_file_is_replaced_and_keeps_its_mode(target: Path) -> None:
    target.chmod(0o640)
    assert save_atomic(NEW, target) is None
    assert (target.read_bytes(), stat.S_IMODE(target.stat().st_mode)) == (NEW, 0o640)


def test_other_files_than_workbooks_can_be_saved(tmp_path: Path) -> None:
    assert save_atomic(b'{"schema": 1}', tmp_path / "job.json") is None
    assert (tmp_path / "job.json").read_bytes() == b'{"schema": 1}'


def test_a_link_is_written_through(target: Path) -> None:
    folder = target.parent / "desk"
    folder.mkdir()
    link = folder / "job.xlsx"
    link.symlink_to(target)
    assert save_atomic(NEW, link) is None
    assert link.is_symlink()
    assert target.read_bytes() == NEW
    assert [p.name for p in folder.iterdir()] == ["job.xlsx"]


def test_a_lock_beside_the_file_a_link_leads_to_counts(target: Path) -> None:
    link = target.parent / "link.xlsx"
    link.symlink_to(target)
    (target.parent / f"~${target.name}").write_bytes(b"")
    refused(save_atomic(NEW, link), "save-open", link)


def owner_file(name: str) -> bytes:
    """What an office program lays beside an open workbook: the name in bytes, then in UTF-16."""
    plain = name.encode("cp1252", "replace")
    wide = name.encode("utf-16-le")
    return bytes([len(plain)]) + plain.ljust(54) + bytes([len(name), 0]) + wide.ljust(108, b" ")


def test_who_has_it_open_is_named(target: Path) -> None:
    lock = target.with_name(f"~${target.name}")
    lock.write_bytes(owner_file("Office Computer"))
    assert len(lock.read_bytes()) == 165
    said = refused(save_atomic(NEW, target), "save-open", target)
    assert "open by Office Computer: close it there or pass --out" in said
    assert lock.name in said


@pytest.mark.parametrize(
    ("name", "content", "holder"),
    [
        ("~$job.xlsx", owner_file("Zoë Łuk"), "Zoë Łuk"),
        ("~$job.xlsx", bytes([4]) + b"Site".ljust(54), "Site"),
        ("~$job.xlsx", b"", ""),
        ("~$job.xlsx", bytes(165), ""),
        ("~$job.xlsx", os.urandom(0) + b"\x05\x00\x01\x02\x03\x04", ""),
        (".~lock.job.xlsx#", b"The office,login,desk-2,03.04.2026 10:11,file:///profile;", "The office on desk-2"),
        (".~lock.job.xlsx#", b",login,desk-2,03.04.2026 10:11,file:///profile;", "login on desk-2"),
        (".~lock.job.xlsx#", b",,desk-2,,;", ""),
        (".~lock.job.xlsx#", b"", ""),
    ],
)
def test_lock_files_are_read(tmp_path: Path, name: str, content: bytes, holder: str) -> None:
    (tmp_path / name).write_bytes(content)
    found = lock_of(tmp_path / "job.xlsx")
    assert found is not None
    assert (found.path.name, found.holder) == (name, holder)


def test_no_lock_no_holder(tmp_path: Path) -> None:
    (tmp_path / "~$other.xlsx").write_bytes(b"")
    assert lock_of(tmp_path / "job.xlsx") is None


def test_a_lock_that_cannot_be_read_is_a_lock(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "~$job.xlsx").write_bytes(b"")

    def closed(self: Path) -> bytes:
        raise PermissionError(errno.EACCES, "held")

    monkeypatch.setattr(Path, "read_bytes", closed)
    found = lock_of(tmp_path / "job.xlsx")
    assert found is not None
    assert found.holder == ""


def test_a_missing_folder(tmp_path: Path) -> None:
    path = tmp_path / "gone" / "job.xlsx"
    found = save_atomic(NEW, path)
    assert found is not None
    assert found.code == "save-no-folder"
    assert str(tmp_path / "gone") in found.message
    assert list(tmp_path.iterdir()) == []


def test_a_folder_of_that_name(tmp_path: Path) -> None:
    found = save_atomic(NEW, tmp_path)
    assert found is not None
    assert found.code == "save-in-the-way"


def test_a_file_marked_read_only(target: Path) -> None:
    target.chmod(0o444)
    refused(save_atomic(NEW, target), "save-read-only", target)


def failing(number: int) -> object:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    return fail


@pytest.mark.parametrize(
    ("place", "number", "code"),
    [
        ("estimator.report.package.save._write", errno.EACCES, "save-folder-closed"),
        ("estimator.report.package.save._write", errno.ENOSPC, "save-disk-full"),
        ("os.fsync", errno.ENOSPC, "save-disk-full"),
        ("os.fsync", errno.EDQUOT, "save-disk-full"),
        ("os.fsync", errno.EIO, "save-failed"),
        ("os.replace", errno.EACCES, "save-refused"),
        ("os.replace", errno.EPERM, "save-refused"),
        ("os.replace", errno.EIO, "save-failed"),
        ("shutil.copymode", errno.EIO, "save-failed"),
    ],
)
def test_a_disk_that_refuses(target: Path, monkeypatch: pytest.MonkeyPatch, place: str, number: int, code: str) -> None:
    monkeypatch.setattr(place, failing(number))
    said = refused(save_atomic(NEW, target), code, target)
    assert "--out" in said


def test_a_folder_closed_to_us(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The person running the tests may be allowed everything: opening a file there is made to fail."""
    path = tmp_path / "job.xlsx"
    real = open

    def guarded(file: object, mode: str = "r", *rest: object, **more: object) -> object:
        if "x" in mode:
            raise PermissionError(errno.EACCES, "closed")
        return real(file, mode, *rest, **more)  # type: ignore[call-overload]

    monkeypatch.setattr("builtins.open", guarded)
    refused(save_atomic(NEW, path), "save-folder-closed", path, None)
    assert not path.exists()


def test_what_reads_back_otherwise_is_not_kept(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("estimator.report.package.save._write", lambda temp, data: temp.write_bytes(data[:-1]) and None)
    refused(save_atomic(NEW, target), "save-damaged", target)


def test_a_zip_that_is_none_is_not_kept(target: Path) -> None:
    refused(save_atomic(NEW[: len(NEW) // 2], target), "save-damaged", target)
    middle = bytearray(zip_parts({"a": bytes(1000)}))
    middle[35] ^= 0xFF
    refused(save_atomic(bytes(middle), target), "save-damaged", target)


def test_an_interrupt_leaves_nothing_behind(target: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        save_atomic(NEW, target)
    assert target.read_bytes() == OLD
    assert [p.name for p in target.parent.iterdir()] == [target.name]


KILLED = """
import os, sys, time
from pathlib import Path
from estimator.report.package import save
real = save._same
def slow(temp, data):
    print("written", flush=True)
    time.sleep(60)
    return real(temp, data)
save._same = slow
save.save_atomic(b"the new file" * 1000, Path(sys.argv[1]))
"""


def test_a_program_killed_in_the_middle_leaves_the_old_file(target: Path) -> None:
    process = subprocess.Popen([sys.executable, "-c", KILLED, str(target)], stdout=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stdout.readline() == b"written\n"
    process.kill()
    assert process.wait(10) == (-signal.SIGKILL if os.name == "posix" else 1)
    process.stdout.close()
    assert target.read_bytes() == OLD
    assert save_atomic(NEW, target) is None  # what the killed one left does not stand in the way
    assert target.read_bytes() == NEW


def test_saving_loads_no_heavy_library() -> None:
    heavy = "{'lxml', 'openpyxl', 'pandas', 'xlsxwriter'}"
    code = f"import sys, estimator.report.package.save; print({heavy} & set(sys.modules))"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "set()"
