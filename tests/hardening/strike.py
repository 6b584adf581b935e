"""Every fault at every step of saving a file and of a whole run: `python -m tests.hardening.strike`.

Prints the table of DEVELOPERS.md. What has to hold is asserted by the tests that are run here.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from tests.hardening.faults import FAULTS, struck
from tests.hardening.test_writing import (
    OLD,
    contents,
    job_in,
    pricing,
    saving,
    strike_a_run,
    test_a_file_is_whole_at_every_step,
)


def a_file(folder: Path, fault: int) -> int:
    """How many faults befell the saving of one file, over an old one and where there was none."""
    target = folder / "in here" / "job-priced.xlsx"
    faults = 0
    for there in (True, False):
        target.parent.mkdir(exist_ok=True)
        target.write_bytes(OLD)
        test_a_file_is_whole_at_every_step(target, fault, there)
        target.write_bytes(OLD)
        faults += struck(saving(target), target.parent).steps
    return faults


def a_run(folder: Path, fault: int) -> int:
    """How many faults befell a run with its five outputs, at every step of it."""
    job = job_in(folder / "job's folder")
    before = contents(job.parent)
    ended = struck(pricing(job), job.parent)
    assert not ended.killed
    return sum(1 for _ in strike_a_run(job.parent, (ended.steps, before, contents(job.parent)), fault, 1))


def main() -> None:
    """Print a row a fault."""
    start = time.monotonic()
    print("| fault | while one file is saved | while a job is priced |\n|---|---|---|")
    whole = 0
    for name, fault in FAULTS.items():
        with tempfile.TemporaryDirectory() as folder:
            one, run = a_file(Path(folder), fault), a_run(Path(folder), fault)
        whole += one + run
        print(f"| {name} | {one} | {run} |", flush=True)
    print(f"\n{whole} faults in {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
