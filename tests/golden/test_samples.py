"""The sample jobs: rebuilt from their rows, and priced to what lies beside them. These figures are our own."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from click.testing import CliRunner

from estimator.cli import main
from estimator.report.json_out import job_data
from tests.build import run
from tests.golden.samples import FOLDER, SAMPLES, Sample, build, expected
from tests.promises import broken

STATUS = {"kindergarten": 0, "riverside": 0, "messy": 1, "verandah": 0, "orchard": 0, "slipway": 0}


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.name)
def test_a_sample_is_what_its_rows_say(sample: Sample) -> None:
    assert (FOLDER / f"{sample.name}.xlsx").read_bytes() == build(sample)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.name)
def test_a_sample_prices_to_the_lines_beside_it(sample: Sample) -> None:
    outcome = run(FOLDER / f"{sample.name}.xlsx")
    assert outcome.priced is not None
    data = job_data(outcome.priced)
    lines, problems = expected(data)
    assert lines == (FOLDER / f"{sample.name}-lines.csv").read_text(encoding="utf-8")
    assert problems == (FOLDER / f"{sample.name}-problems.csv").read_text(encoding="utf-8")
    assert broken(data) == []


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda s: s.name)
def test_the_command_prices_a_sample(sample: Sample, tmp_path: Path) -> None:
    job = FOLDER / f"{sample.name}.xlsx"
    before = job.read_bytes()
    result = CliRunner().invoke(main, ["price", str(job), "--out", str(tmp_path), "--json"])
    assert result.exit_code == STATUS[sample.name], result.output
    assert job.read_bytes() == before
    assert (tmp_path / f"{sample.name}-priced.xlsx").is_file()
    assert (tmp_path / f"{sample.name}-priced.json").is_file()
    # a chosen option of the messy job has no price, so the customer gets nothing
    assert (tmp_path / f"{sample.name}-quote.xlsx").exists() is (sample.name != "messy")
    assert "Traceback" not in result.output


def test_the_messy_sample_tells_each_mistake_at_its_cell() -> None:
    with (FOLDER / "messy-problems.csv").open(encoding="utf-8", newline="") as f:
        told = {(r["sheet"], r["cell"], r["code"]) for r in csv.DictReader(f)}
    mistakes = {
        ("Sites", "D5", "not-in-rate-book"),  # frim
        ("Sites", "R6", "unit-needed"),  # 41
        ("Fixings", "F5", "out-of-bounds"),  # 2900 m
        ("Fixings", "D6", "ask-range"),  # 4-5
        ("Fixings", "F7", "not-a-number"),  # TBC
        ("Fixings", "C8", "support-not-priced"),  # fascia only
        ("Fixings", "B13", "duplicate-key"),  # b and B
        ("Options", "F6", "sail-too-large"),
        ("Options", "D7", "fixing-unknown"),  # X
        ("Options", "D9", "corners-cross"),
        ("Options", "F10", "sides-do-not-close"),  # 3 3 7 m
        ("Options", "A12", "site-unknown"),  # Dekc
    }
    assert mistakes <= told
