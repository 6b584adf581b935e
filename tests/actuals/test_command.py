"""`estimator actuals` as a person uses it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from estimator.cli import main
from estimator.jobfile import price_file
from tests.actuals.test_propose import hang, job
from tests.build import DAY, option, square, write_job
from tests.rate_books import with_changes


def command(*words: object) -> Result:
    result = CliRunner().invoke(main, ["actuals", *(str(w) for w in words)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    return result


def test_without_actuals_nothing_is_proposed(tmp_path: Path) -> None:
    result = command(job(tmp_path, "yard", []), "--out", tmp_path / "rows.csv")
    assert result.exit_code == 0
    assert "Nothing is proposed." in result.output
    assert [p.name for p in tmp_path.iterdir()] == ["yard.xlsx"]


def test_it_says_per_task_what_was_planned_used_and_proposed(tmp_path: Path) -> None:
    result = command(*hang(tmp_path, 1.5, 2.0))
    assert result.exit_code == 0
    for words in (
        "job0:",
        "hang sail: planned 1 h, used 1.5 h, EUR 24.00 more",
        "hang sail: 2 jobs, planned 2 h by the present row, used 3.5 h, ratio 1.75, weight 0.333",
        "h for each sail count: 1 now, 1.25 proposed",
        "Rows for 2026-05-05 and later",
        "Nothing is changed; with --out FILE.csv",
    ):
        assert words in result.output, words
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job0.xlsx", "job1.xlsx"]


def test_it_says_what_is_left_of_the_price(tmp_path: Path) -> None:
    rows = [{"What": "hang sail", "Quantity": 2, "Unit": "h"}, {"What": "CON-TRUCK", "Quantity": 9, "Unit": "m3"}]
    path = write_job(tmp_path / "a.xlsx", fixings=square(6), options=[option("A B C D", "SQ-5000")], actuals=rows)
    output = command(path).output
    assert "CON-TRUCK: planned " in output
    assert "used 9 m3" in output
    assert "hours EUR 48.00 more, quantities EUR " in output
    assert "over the cost; EUR " in output


def test_the_day_can_be_given(tmp_path: Path) -> None:
    result = command(*hang(tmp_path, 1.5), "--from", "2026-12-01", "--out", tmp_path / "rows.csv")
    assert result.exit_code == 0
    assert ",2026-12-01," in (tmp_path / "rows.csv").read_text(encoding="utf-8")


def test_a_day_that_is_none_is_wrong_usage(tmp_path: Path) -> None:
    assert command(*hang(tmp_path, 1.5), "--from", "1/12/26").exit_code == 2


def test_rows_without_a_day_hold_from_the_day_after_the_price(tmp_path: Path) -> None:
    rows = [{"What": "hang sail", "Quantity": 2, "Unit": "h"}]
    path = write_job(tmp_path / "a.xlsx", fixings=square(6), options=[option("A B C D", "SQ-5000")], actuals=rows)
    result = command(path, "--out", tmp_path / "rows.csv")
    assert "no 'Day' is filled in" in result.output
    assert ",2026-04-04," in (tmp_path / "rows.csv").read_text(encoding="utf-8")


def test_an_existing_file_is_never_written_over(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {})
    labour = rates / "labour.csv"
    before = labour.read_bytes()
    result = command(*hang(tmp_path, 1.5), "--rates", rates, "--out", labour)
    assert result.exit_code == 2
    assert "there already" in result.output
    assert labour.read_bytes() == before


def test_nothing_is_half_written(tmp_path: Path) -> None:
    """Of two files one is in the way: neither is written."""
    (tmp_path / "rows-ground.csv").write_text("mine", encoding="utf-8")
    path = job(tmp_path, "yard", [("hang sail", 1.5), ("dig", 5.0)])
    assert command(path, "--out", tmp_path / "rows.csv").exit_code == 2
    assert not (tmp_path / "rows.csv").exists()
    assert (tmp_path / "rows-ground.csv").read_text(encoding="utf-8") == "mine"


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    result = command(*hang(tmp_path, 1.5), "--out", tmp_path / "nowhere" / "rows.csv")
    assert result.exit_code == 2
    assert "There is no folder" in result.output


def test_a_row_that_cannot_be_read_is_status_1_and_names_its_job(tmp_path: Path) -> None:
    paths = [*hang(tmp_path, 1.5), job(tmp_path, "other", [("hagn sail", 1.0), ("hang sail", 2.0)])]
    result = command(*paths)
    assert result.exit_code == 1
    assert "other, Actuals!A2" in result.output
    assert "2 jobs" in result.output  # what can be read counts


def test_a_file_that_cannot_be_used_is_status_2(tmp_path: Path) -> None:
    result = command(*hang(tmp_path, 1.5), tmp_path / "none.xlsx")
    assert result.exit_code == 2
    assert "no such file" in result.output


def test_a_job_counts_once_though_its_priced_workbook_is_named_too(tmp_path: Path) -> None:
    (path,) = hang(tmp_path, 1.5)
    assert price_file(path, today=DAY, drawings=False).status == 0
    priced = tmp_path / "job0-priced.xlsx"
    result = command(path, priced)
    assert result.exit_code == 2
    assert "the same job as job0.xlsx" in result.output
    alone = command(priced)
    assert alone.exit_code == 0
    assert "job0:" in alone.output


def test_jobs_of_one_name_are_told_apart_by_their_folders(tmp_path: Path) -> None:
    for name in ("north", "south"):
        (tmp_path / name).mkdir()
    paths = [job(tmp_path / name, "yard", [("hang sail", 1.5)]) for name in ("north", "south")]
    assert command(*paths, "--out", tmp_path / "rows.csv").exit_code == 0
    assert "actuals of north/yard + south/yard; 2 jobs" in (tmp_path / "rows.csv").read_text(encoding="utf-8")


def test_two_rate_books_are_asked_about(tmp_path: Path) -> None:
    with_changes(tmp_path / "mine", {})
    one, two = hang(tmp_path, 1.5)[0], job(tmp_path, "b", [("hang sail", 2.0)], job={"Rates": "mine"})
    result = command(one, two)
    assert result.exit_code == 2
    assert "another rate book" in result.output
    assert command(one, two, "--rates", tmp_path / "mine").exit_code == 0


def test_the_jobs_own_rate_book_learns(tmp_path: Path) -> None:
    from tests.rate_books import put

    with_changes(tmp_path / "mine", {"labour": put("task", "hang sail", hours="2")})
    path = job(tmp_path, "b", [("hang sail", 3.0)], job={"Rates": "mine"})
    assert "2 now, 2.2 proposed" in command(path).output


def test_a_day_before_the_first_rates_is_status_2(tmp_path: Path) -> None:
    result = command(*hang(tmp_path, 1.5), "--from", "2019-01-01")
    assert result.exit_code == 2
    assert "2020-01-01" in result.output


@pytest.mark.parametrize("count", [8, pytest.param(60, marks=pytest.mark.long)])
def test_many_jobs(tmp_path: Path, count: int) -> None:
    result = command(*hang(tmp_path, *(1.0 + n / count for n in range(count))), "--out", tmp_path / "rows.csv")
    assert result.exit_code == 0
    assert f"{count} jobs" in result.output
    assert date(2026, 5, 5).isoformat() in (tmp_path / "rows.csv").read_text(encoding="utf-8")
