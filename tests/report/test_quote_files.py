"""The files of a quote: which are written, and what becomes of older ones."""

from __future__ import annotations

import os
from datetime import datetime
from pathlib import Path

import pytest

from estimator.jobfile import Done, price_file
from tests.build import DAY, option, square, write_job

ENDS = (".xlsx", ".pdf", ".eml")


def price(folder: Path, size: str = "SQ-5000", customer: str = "Rowan", **how: bool) -> Done:
    path = write_job(
        folder / "j.xlsx", job={"Customer": customer}, fixings=square(6), options=[option("A B C D", size)]
    )
    return price_file(path, today=DAY, drawings=False, crew=False, **how)


def quotes(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in sorted(folder.glob("j-quote*"))}


def codes(done: Done) -> list[str]:
    return [p.code for p in done.problems if p.code.startswith(("quote-", "mail-", "save-", "pdf-"))]


@pytest.mark.parametrize(
    ("how", "ends"),
    [
        ({}, {".xlsx", ".pdf"}),
        ({"pdf": False}, {".xlsx"}),
        ({"mail": True}, {".xlsx", ".pdf", ".eml"}),
        ({"mail": True, "pdf": False}, {".xlsx", ".eml"}),
        ({"quote": False}, set()),
    ],
)
def test_what_is_written(tmp_path: Path, how: dict[str, bool], ends: set[str]) -> None:
    done = price(tmp_path, **how)
    assert set(quotes(tmp_path)) == {f"j-quote{e}" for e in ends}
    assert codes(done) == []
    assert done.status == 0


def test_no_quote_means_no_mail_and_that_is_said(tmp_path: Path) -> None:
    done = price(tmp_path, quote=False, mail=True)
    assert codes(done) == ["mail-not-written"]
    assert quotes(tmp_path) == {}
    unpriced = price(tmp_path, "SQ-7000", mail=True)
    assert codes(unpriced) == ["quote-not-written", "mail-not-written"]
    assert quotes(tmp_path) == {}


def test_what_lies_there_is_named_when_no_quote_is_written(tmp_path: Path) -> None:
    price(tmp_path, mail=True)
    before = quotes(tmp_path)
    done = price(tmp_path, "SQ-7000")
    assert quotes(tmp_path) == before
    told = next(p.message for p in done.problems if p.code == "quote-not-written")
    assert "j-quote.xlsx and j-quote.pdf and j-quote.eml from an earlier run still lie there." in told


@pytest.mark.parametrize("how", [{}, {"pdf": False}, {"mail": True}])
def test_pdf_and_mail_are_kept_with_the_workbook_whatever_is_written_now(tmp_path: Path, how: dict[str, bool]) -> None:
    price(tmp_path, mail=True)
    before = quotes(tmp_path)
    done = price(tmp_path, "SQ-4000", **how)
    now = quotes(tmp_path)
    for end in ENDS:
        assert now[f"j-quote 2026-04-03{end}"] == before[f"j-quote{end}"]
        assert now.get(f"j-quote{end}") != before[f"j-quote{end}"]
    assert codes(done) == ["quote-kept"]
    told = next(p.message for p in done.problems if p.code == "quote-kept")
    assert all(f"j-quote 2026-04-03{end}" in told for end in ENDS)
    price(tmp_path, "SQ-5000", mail=True)
    assert {f"j-quote 2026-04-03 (2){end}" for end in (".xlsx", *(p.suffix for p in done.written[2:]))} <= set(
        quotes(tmp_path)
    )


def test_the_same_figures_replace_all_and_keep_nothing(tmp_path: Path) -> None:
    price(tmp_path, mail=True)
    before = quotes(tmp_path)
    assert codes(price(tmp_path, mail=True)) == []
    assert quotes(tmp_path) == before
    assert codes(price(tmp_path, customer="Ash", mail=True)) == []
    now = quotes(tmp_path)
    assert set(now) == set(before)
    assert all(now[name] != before[name] for name in before)


def test_what_is_left_standing_beside_other_words_is_told(tmp_path: Path) -> None:
    price(tmp_path, mail=True)
    before = quotes(tmp_path)
    assert codes(price(tmp_path, pdf=False)) == [], "the workbook is the same, so the PDF still is"
    done = price(tmp_path, customer="Ash", pdf=False)
    assert codes(done) == ["quote-beside-old", "quote-beside-old"]
    assert done.status == 0
    now = quotes(tmp_path)
    assert now["j-quote.pdf"] == before["j-quote.pdf"]
    assert now["j-quote.eml"] == before["j-quote.eml"]


def test_a_pdf_without_its_workbook_is_kept_under_its_own_day(tmp_path: Path) -> None:
    price(tmp_path)
    (tmp_path / "j-quote.xlsx").unlink()
    assert codes(price(tmp_path)) == [], "the same PDF is written again"
    (tmp_path / "j-quote.xlsx").unlink()
    old, day = (tmp_path / "j-quote.pdf").read_bytes(), datetime(2026, 2, 1, 12).astimezone()
    os.utime(tmp_path / "j-quote.pdf", (day.timestamp(), day.timestamp()))
    assert codes(price(tmp_path, "SQ-4000")) == ["quote-kept"]
    assert quotes(tmp_path)["j-quote 2026-02-01.pdf"] == old


def test_a_file_that_cannot_be_written_is_an_error_and_no_mail_goes_without_it(tmp_path: Path) -> None:
    (tmp_path / "j-quote.pdf").mkdir()
    done = price(tmp_path, mail=True)
    assert done.status == 2
    assert {"save-in-the-way", "mail-not-written"} <= set(codes(done))
    assert (tmp_path / "j-quote.xlsx").is_file()
    assert not (tmp_path / "j-quote.eml").exists()


def test_letters_that_the_pdf_cannot_show_are_named(tmp_path: Path) -> None:
    done = price(tmp_path, customer="日本")
    assert codes(done) == ["pdf-letters"]
    assert "日 本" in next(p.message for p in done.problems if p.code == "pdf-letters")
    assert done.status == 0
