"""Jobs that would write over each other: told before anything is written."""

from __future__ import annotations

import os
from collections.abc import Sequence
from itertools import permutations
from pathlib import Path

from estimator.core.problems import Place, Problem, problem
from estimator.jobfile import CREW, PRICED, QUOTE, carries_ours, targets
from estimator.many.plan import real
from estimator.sheets.door import Opened, open_door


def clashes(jobs: Sequence[Path], out: Path | None) -> dict[Path, Problem]:
    """The jobs that would write to a name of another job, or lie where another job writes, and why.

    Only jobs that are called alike are opened for it; the names of the others tell enough.
    """
    alike: dict[tuple[str, str], list[Path]] = {}
    for job in jobs:
        alike.setdefault((real(out or job.parent), job.stem.removesuffix(PRICED)), []).append(job)
    inputs = {real(job): job for job in jobs}
    found: dict[Path, Problem] = {}
    for (folder, stem), group in alike.items():
        at = {job: _outputs(job, out) for job in group} if len(group) > 1 else {}
        for job, other in permutations(at, 2):
            if both := at[job] & at[other]:
                target = min((Path(path) for path in both), key=lambda p: (PRICED not in p.stem, p.name))
                found.setdefault(job, problem("one-output", Place(file=job.name), other=other.name, target=target.name))
            elif real(job) in at[other]:
                found.setdefault(job, problem("job-in-the-way", Place(file=job.name), other=other.name))
        for end in (QUOTE, CREW):
            lies = inputs.get(os.path.join(folder, f"{stem}{end}.xlsx"))
            if lies is not None:
                found.setdefault(lies, problem("job-in-the-way", Place(file=lies.name), other=group[0].name))
    return found


def _outputs(job: Path, out: Path | None) -> set[str]:
    opened = open_door(job)
    if isinstance(opened, Opened):
        at = targets(job, out, own=carries_ours(opened), alone=opened.alone)
    else:
        at = targets(job, out, own=False)
    return {real(path) for path in (at.priced, at.quote, at.crew)}
