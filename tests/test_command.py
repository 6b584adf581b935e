"""The command as a person uses it: files, exit statuses, plain sentences, never a traceback."""

from __future__ import annotations

import io
import json
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from openpyxl import Workbook, load_workbook

from estimator.cli import main
from estimator.core.problems import FEW
from estimator.sheets.columns import TABLES
from tests.benchmarks.jobs import many_sites
from tests.build import fixing, option, square, write_job
from tests.golden.samples import FOLDER

GOOD = FOLDER / "kindergarten.xlsx"


def command(*words: object) -> Result:
    result = CliRunner().invoke(main, [str(w) for w in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    assert "Traceback" not in result.output
    return result


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return write_job(tmp_path / "job.xlsx", fixings=square(6), options=[option("A B C D", "SQ-5000")])


def test_a_file_alone_means_price(job: Path) -> None:
    assert command(job).exit_code == 0
    assert (job.parent / "job-priced.xlsx").is_file()
    assert (job.parent / "job-quote.xlsx").is_file()
    assert (job.parent / "job-quote.pdf").is_file()
    assert not (job.parent / "job-priced.json").exists()
    assert not (job.parent / "job-quote.eml").exists()


def test_price_writes_what_is_asked_for_where_it_is_asked_for(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    before = job.read_bytes()
    assert command("price", job, "--out", out, "--json", "--no-quote", "--no-crew").exit_code == 0
    assert sorted(p.name for p in out.iterdir()) == ["job-priced.json", "job-priced.xlsx"]
    assert sorted(p.name for p in job.parent.iterdir()) == ["job.xlsx", "out"]
    assert job.read_bytes() == before


def test_check_writes_nothing_and_has_the_same_status(job: Path, tmp_path: Path) -> None:
    assert command("check", job).exit_code == 0
    bad = write_job(tmp_path / "bad.xlsx", fixings=square(6), options=[option("A B C X", "SQ-5000")])
    result = command("check", bad)
    assert result.exit_code == 1
    assert "Options!C2" in result.output
    assert sorted(p.name for p in tmp_path.iterdir()) == ["bad.xlsx", "job.xlsx"]


def test_the_worst_of_several_jobs_counts_and_the_good_ones_are_priced(job: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.xlsx"
    broken.write_bytes(job.read_bytes()[:500])
    result = command("price", broken, job)
    assert result.exit_code == 2
    assert (tmp_path / "job-priced.xlsx").is_file()


def test_two_jobs_for_one_output_are_refused_before_anything_is_written(job: Path, tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    twin = tmp_path / "other" / "job.xlsx"
    shutil.copy(job, twin)
    out = tmp_path / "out"
    out.mkdir()
    assert command("price", job, twin, "--out", out).exit_code == 2
    assert list(out.iterdir()) == []


def test_wrong_usage_is_status_2() -> None:
    assert command("price").exit_code == 2
    assert command("price", "--no-such-thing", "x.xlsx").exit_code == 2
    assert command("--no-such-thing").exit_code == 2


def test_a_priced_workbook_is_priced_to_its_own_name(job: Path) -> None:
    command("price", job)
    priced = job.parent / "job-priced.xlsx"
    first, quote = priced.read_bytes(), (job.parent / "job-quote.xlsx").read_bytes()
    assert command("price", priced).exit_code == 0
    assert priced.read_bytes() == first
    assert (job.parent / "job-quote.xlsx").read_bytes() == quote
    assert sorted(p.name for p in job.parent.iterdir()) == [
        "job-crew.xlsx",
        "job-priced.xlsx",
        "job-quote.pdf",
        "job-quote.xlsx",
        "job.xlsx",
    ]


def test_a_changed_price_keeps_the_old_quote_under_its_date(job: Path) -> None:
    ends = (".xlsx", ".pdf", ".eml")
    command("price", job, "--mail")
    old = [(job.parent / f"job-quote{end}").read_bytes() for end in ends]
    write_job(job, fixings=square(6), options=[option("A B C D", "SQ-4000")])
    assert command("price", job).exit_code == 0
    assert [(job.parent / f"job-quote 2026-04-03{end}").read_bytes() for end in ends] == old
    assert (job.parent / "job-quote.xlsx").read_bytes() != old[0]
    assert (job.parent / "job-quote.pdf").read_bytes() != old[1]
    assert not (job.parent / "job-quote.eml").exists()


def test_no_quote_when_a_chosen_option_has_no_price_and_the_old_one_is_named(job: Path) -> None:
    command("price", job)
    old = (job.parent / "job-quote.xlsx").read_bytes()
    write_job(job, fixings=square(6), options=[option("A B C D", "SQ-7000")])
    result = command("price", job)
    assert result.exit_code == 1
    assert "job-quote.xlsx and job-quote.pdf from an earlier run" in result.output
    assert (job.parent / "job-quote.xlsx").read_bytes() == old


def test_a_later_revision_has_a_quote_of_its_own(tmp_path: Path) -> None:
    job = write_job(tmp_path / "j.xlsx", job={"Revision": 2}, fixings=square(6), options=[option("A B C D", "SQ-5000")])
    command("price", job)
    assert (tmp_path / "j-quote-r2.xlsx").is_file()
    assert (tmp_path / "j-quote-r2.pdf").is_file()


def test_the_user_own_summary_is_not_touched(job: Path) -> None:
    book = load_workbook(job)
    book.create_sheet("Summary")["A1"] = "mine"
    book.save(job)
    before = job.read_bytes()
    result = command("price", job)
    assert result.exit_code == 2
    assert "Summary" in result.output
    assert job.read_bytes() == before
    assert [p.name for p in job.parent.iterdir()] == ["job.xlsx"]


def test_new_gives_every_sheet_and_never_overwrites(tmp_path: Path) -> None:
    job = tmp_path / "new.xlsx"
    assert command("new", job).exit_code == 0
    book = load_workbook(job)
    assert [t.sheet for t in TABLES] == book.sheetnames[: len(TABLES)]
    assert all(ws.sheet_state == "visible" for ws in book.worksheets)
    before = job.read_bytes()
    assert command("new", job).exit_code == 2
    assert job.read_bytes() == before
    # nothing is priced yet, and the EXAMPLE rows are not taken for a job
    result = command("check", job)
    assert result.exit_code == 1
    assert "EXAMPLE" in result.output


def test_new_from_an_old_job_keeps_customer_sites_and_fixings(tmp_path: Path) -> None:
    job = tmp_path / "again.xlsx"
    assert command("new", job, "--from", FOLDER / "riverside.xlsx").exit_code == 0
    book = load_workbook(job)
    items = {row[0].value: row[1].value for row in book["Job"].iter_rows(min_row=5)}
    assert items["Customer"] == "Fernhollow Riverside Traders"
    assert items["Job name"] is None
    sites = [row[0].value for row in book["Sites"].iter_rows(min_row=6) if row[0].value]
    assert sites == ["Cafe terrace", "Boat club", "Slipway seats"]
    assert sum(row[1].value is not None for row in book["Fixings"].iter_rows(min_row=6)) == 16
    assert not any(row[1].value for row in book["Options"].iter_rows(min_row=6))


def test_a_rate_book_that_cannot_be_used_is_status_2(job: Path, tmp_path: Path) -> None:
    rates = tmp_path / "rates"
    rates.mkdir()
    assert command("price", job, "--rates", rates).exit_code == 2
    assert command("price", job, "--rates", tmp_path / "nowhere").exit_code == 2
    assert not (tmp_path / "job-priced.xlsx").exists()


def _html(path: Path) -> None:
    path.write_text("<html><table><tr><td>Site</td></tr></table></html>", encoding="utf-8")


def _csv(path: Path) -> None:
    path.write_text("Site;Option\nYard;1\n", encoding="utf-8")


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _half(path: Path) -> None:
    data = GOOD.read_bytes()
    path.write_bytes(data[: len(data) // 2])


def _bomb(path: Path) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as z:
        with zipfile.ZipFile(GOOD) as good:
            for name in good.namelist():
                if name != "xl/worksheets/sheet1.xml":
                    z.writestr(name, good.read(name))
        z.writestr("xl/worksheets/sheet1.xml", b"<worksheet>" + b" " * 400_000_000 + b"</worksheet>")


def _entities(path: Path) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as z, zipfile.ZipFile(GOOD) as good:
        for name in good.namelist():
            data = good.read(name)
            if name == "xl/sharedStrings.xml" or name == "xl/worksheets/sheet2.xml":
                at = data.index(b"?>") + 2 if data.startswith(b"<?xml") else 0
                data = data[:at] + b'<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + data[at:]
            z.writestr(name, data)


def _not_ours(path: Path) -> None:
    book = Workbook()
    assert book.active is not None
    book.active["A1"] = "a shopping list"
    book.save(path)


UNUSABLE: list[tuple[str, Callable[[Path], None], str]] = [
    ("page.xlsx", _html, ""),
    ("list.xlsx", _csv, ""),
    ("cloud.xlsx", _empty, ""),
    ("half.xlsx", _half, ""),
    ("bomb.xlsx", _bomb, ""),
    ("entity.xlsx", _entities, ""),
    ("shopping.xlsx", _not_ours, "estimator new"),
    ("~$job.xlsx", _empty, ""),
]


@pytest.mark.parametrize(("name", "make", "words"), UNUSABLE, ids=[u[0] for u in UNUSABLE])
def test_a_file_that_cannot_be_used_is_told_in_one_sentence(
    tmp_path: Path, name: str, make: Callable[[Path], None], words: str
) -> None:
    path = tmp_path / name
    make(path)
    before = path.read_bytes()
    result = command("price", path)
    assert result.exit_code == 2
    assert words in result.output
    assert len(result.output.strip().splitlines()) == 1, result.output
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == [name]


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    assert command("price", tmp_path / "nothing.xlsx").exit_code == 2
    assert command("price", tmp_path).exit_code == 2


def test_a_macro_workbook_stays_one(tmp_path: Path) -> None:
    data = GOOD.read_bytes()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as good, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as z:
        for name in good.namelist():
            part = good.read(name)
            if name == "[Content_Types].xml":
                part = part.replace(b"spreadsheetml.sheet.main+xml", b"x").replace(
                    b"application/vnd.openxmlformats-officedocument.x",
                    b"application/vnd.ms-excel.sheet.macroEnabled.main+xml",
                )
            z.writestr(name, part)
    job = tmp_path / "j.xlsm"
    job.write_bytes(out.getvalue())
    assert command("price", job).exit_code == 0
    assert (tmp_path / "j-priced.xlsm").is_file()
    assert (tmp_path / "j-quote.xlsx").is_file()


def test_an_option_with_an_error_is_not_priced_and_the_others_are(tmp_path: Path) -> None:
    job = write_job(
        tmp_path / "j.xlsx",
        fixings=[*square(6), fixing("E", 3, 3, 2.5, "fascia only")],
        options=[
            option("A B C D", "SQ-5000", name="good", Chosen="yes"),
            option("A B E", "made to fit", name="bad", Cloth="KNIT-LIGHT"),
        ],
    )
    result = command("price", job)
    assert result.exit_code == 1
    assert "option bad: NOT PRICED" in result.output
    values = [c for row in load_workbook(tmp_path / "j-priced.xlsx", data_only=True)["Summary"].values for c in row]
    assert any("NOT PRICED" in str(v).upper() for v in values)
    assert (tmp_path / "j-quote.xlsx").is_file()


def test_options_may_stand_before_a_file_alone(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    assert command("--out", out, job).exit_code == 0
    assert (out / "job-priced.xlsx").is_file()
    assert "estimator" in command("--version").output
    assert "check" in command("--help").output


def test_many_warnings_of_one_kind_are_told_a_few_times_and_counted(tmp_path: Path) -> None:
    job = many_sites(tmp_path / "many.xlsx", 3, 3)
    result = CliRunner().invoke(main, ["price", str(job), "--no-pdf", "--no-crew", "--no-drawings", "--json"])
    assert result.exit_code == 0, result.output
    told = [line for line in result.output.splitlines() if "footing_depths" in line]
    problems = json.loads((tmp_path / "many-priced.json").read_text(encoding="utf-8"))["problems"]
    every = [p for p in problems if p["code"] == "depth-table-stretched"]
    assert len(every) > len(told) == FEW
    assert f"warning: {len(every) - FEW} more like this one stand on the sheet To check." in result.output
