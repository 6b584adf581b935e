"""Random jobs screened for wind: every sail that hangs is screened, or a problem with a name says why not."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob, PricedOption
from tests.build import DAY, run
from tests.random_jobs import random_job

SAID = {"form-not-settled", "screen-lacks"}


def _screened(tmp_path: Path, seeds: range) -> int:
    screened = 0
    for seed in seeds:
        priced = run(random_job(tmp_path / f"{seed}.xlsx", seed), screen=True).priced
        assert priced is not None
        for option in priced.options:
            hangs = len(option.taken.corners) == sum(len(s.fixings) for s in option.taken.sails) > 0
            if option.screened is None:
                assert not hangs or _said(priced, option), (seed, option.site.name, option.option.name)
            else:
                screened += 1
                _sound(option, (seed, option.site.name, option.option.name))
    return screened


def _said(priced: PricedJob, option: PricedOption) -> bool:
    return any(
        p.code in SAID and p.site == option.site.name and p.option in (None, option.option.name)
        for p in priced.problems
    )


def _sound(option: PricedOption, where: object) -> None:
    found = option.screened
    assert found is not None
    assert {(f.sail, f.fixing) for f in found.forces} == {(c.sail, c.fixing) for c in option.taken.corners}, where
    greatest = max(f.greatest for f in found.forces)
    assert all(math.isfinite(v) for f in found.forces for v in (*f.rest, *f.up, *f.down)), where
    # in still air every sail is in balance with its own fixings
    for sail in option.taken.sails:
        still = np.sum([f.rest for f in found.forces if f.sail == sail.sail], axis=0)
        assert float(np.abs(still).max()) < 5e-3 * greatest, where
    assert all(c.demand >= 0 and math.isfinite(c.demand) for c in found.checks), where
    assert all(c.capacity is None or c.capacity > 0 for c in found.checks), where
    engineers = set(option.taken.engineer)
    for check in found.checks:
        if check.kind != "corner" and set(check.fixings) & engineers:
            assert check.capacity is None or len(check.fixings) > 1, where
    if found.take_down is not None and found.take_down.reached:
        assert 0 <= found.take_down.wind < 60, where
        assert found.take_down.first, where
        if found.take_down.second_wind is not None:
            assert found.take_down.second_wind >= found.take_down.wind, where
        over = [c for c in found.checks if c.counted and (c.used or 0) >= 1]
        # what is used up in the gust that was looked at is used up at a take-down wind below it, and the other way
        if found.take_down.wind > found.gust + 0.1:
            assert not over, where
        if found.take_down.wind < found.gust - 5.1:
            assert over, where


def test_a_screened_random_job_is_written_whole(tmp_path: Path) -> None:
    for seed in (3, 11):  # trees, plates, tied posts: every kind of part has its row on the sheet
        done = price_file(random_job(tmp_path / f"{seed}.xlsx", seed), today=DAY, screen=True, drawings=False)
        assert done.outcome is not None
        assert any(o.screened for o in done.outcome.priced.options if done.outcome.priced)  # type: ignore[union-attr]
        assert len(done.written) >= 2


def test_a_few_random_jobs_are_screened_or_say_why_not(tmp_path: Path) -> None:
    assert _screened(tmp_path, range(3)) > 5


@pytest.mark.long
@pytest.mark.parametrize("first", [100, 115])
def test_random_jobs_are_screened_or_say_why_not(tmp_path: Path, first: int) -> None:
    assert _screened(tmp_path, range(first, first + 15)) > 60
