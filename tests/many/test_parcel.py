"""A job that travels as bytes gives the same files as one that is priced where it lies, earlier outputs and all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from estimator.many.job import price_one
from estimator.many.model import Choices, Result
from estimator.many.parcel import Returned, pack, price_parcel, unpack
from estimator.many.prints import asked_print, rate_files, wrote_print
from estimator.rates.where import default_rates
from tests.build import option, square, write_job
from tests.many.folder import PLAIN, job, outputs

MONEY = replace(PLAIN, with_json=True, pdf=True)


def sent(path: Path, choices: Choices, rates: Path | None = None) -> tuple[Returned, Result]:
    parcel = pack(path, choices, rates)
    assert parcel is not None
    back = price_parcel(parcel)
    return back, unpack(path, choices, rates, parcel, back)


def both(tmp_path: Path, lay: Callable[[Path], Path], choices: Choices) -> tuple[Result, Result]:
    """Price the same where it lies and as a parcel; everything that lies there afterwards is the same."""
    here = lay(tmp_path / "here")
    there = shutil.copytree(here.parent, tmp_path / "there") / here.name
    direct = price_one(here, choices)
    _, by_parcel = sent(there, choices)
    assert outputs(here.parent) == outputs(there.parent)
    assert [p.name for p in direct.written] == [p.name for p in by_parcel.written]
    same = {"seconds": 0.0, "written": (), "rates": None}
    assert replace(direct, **same) == replace(by_parcel, **same)  # type: ignore[arg-type]
    return direct, by_parcel


def test_a_first_price(tmp_path: Path) -> None:
    direct, _ = both(tmp_path, job, MONEY)
    assert direct.status == "priced"
    assert sorted(outputs(tmp_path / "there")) == [
        "yard-crew.xlsx",
        "yard-priced.json",
        "yard-priced.xlsx",
        "yard-quote.pdf",
        "yard-quote.xlsx",
        "yard.xlsx",
    ]


@pytest.mark.long
def test_a_price_that_changed_keeps_the_old_quote_of_the_day(tmp_path: Path) -> None:
    def lay(folder: Path) -> Path:
        price_one(job(folder), MONEY)
        for path in folder.iterdir():
            os.utime(path, (1_775_000_000, 1_775_000_000))
        return write_job(folder / "yard.xlsx", fixings=square(6), options=[option("A B C D", "SQ-4000")])

    both(tmp_path, lay, MONEY)
    kept = [tmp_path / side / "yard-quote 2026-04-03.pdf" for side in ("here", "there")]
    assert {path.stat().st_mtime for path in kept} == {1_775_000_000}


@pytest.mark.long
def test_a_quote_that_is_not_written_again_moves_away(tmp_path: Path) -> None:
    def lay(folder: Path) -> Path:
        price_one(job(folder), replace(MONEY, mail=True))
        return write_job(folder / "yard.xlsx", fixings=square(6), options=[option("A B C D", "SQ-4000")])

    both(tmp_path, lay, MONEY)
    assert not (tmp_path / "there" / "yard-quote.eml").exists()
    assert (tmp_path / "there" / "yard-quote 2026-04-03.eml").exists()


@pytest.mark.long
def test_a_later_revision_and_an_accepted_price(tmp_path: Path) -> None:
    def lay(folder: Path) -> Path:
        price_one(job(folder), PLAIN)
        return job(folder, side=5.7, Revision=2, Status="accepted")

    both(tmp_path, lay, PLAIN)
    assert (tmp_path / "there" / "yard-priced-r1.xlsx").exists()


@pytest.mark.long
def test_a_priced_workbook_to_its_own_name(tmp_path: Path) -> None:
    def lay(folder: Path) -> Path:
        first = job(folder)
        price_one(first, PLAIN)
        first.unlink()
        return folder / "yard-priced.xlsx"

    both(tmp_path, lay, PLAIN)


def test_outputs_in_another_folder(tmp_path: Path) -> None:
    made = []
    job(tmp_path / "here")
    shutil.copytree(tmp_path / "here", tmp_path / "there")
    for side in ("here", "there"):
        out, path = tmp_path / side / "out", tmp_path / side / "yard.xlsx"
        out.mkdir()
        choices = replace(PLAIN, out=out)
        result = price_one(path, choices) if side == "here" else sent(path, choices)[1]
        assert {p.parent for p in result.written} == {out}
        made.append(outputs(out))
    assert made[0] == made[1]
    assert len(made[0]) == 3


def test_a_job_with_an_error_and_one_that_is_none(tmp_path: Path) -> None:
    def wrong(folder: Path) -> Path:
        folder.mkdir()
        return write_job(folder / "yard.xlsx", fixings=square(6), options=[option("A B C X", "SQ-5000")])

    def broken(folder: Path) -> Path:
        path = job(folder)
        path.write_bytes(path.read_bytes()[:3000])
        return path

    assert both(tmp_path / "1", wrong_in(wrong, tmp_path / "1"), PLAIN)[1].status == "not all priced"
    assert both(tmp_path / "2", wrong_in(broken, tmp_path / "2"), PLAIN)[1].status == "cannot be used"


def wrong_in(lay: Callable[[Path], Path], top: Path) -> Callable[[Path], Path]:
    top.mkdir()
    return lay


@pytest.mark.long
def test_the_rate_book_that_the_job_names_is_asked_for(tmp_path: Path) -> None:
    book = tmp_path / "dear"
    shutil.copytree(default_rates(), book)
    charges = (book / "charges.csv").read_text("utf-8")
    (book / "charges.csv").write_text(charges.replace("price,20,", "price,30,"), "utf-8")
    cheap = price_one(job(tmp_path, "cheap"), PLAIN)
    path = job(tmp_path, Rates="dear")
    parcel = pack(path, PLAIN, None)
    assert parcel is not None
    back = price_parcel(parcel)
    assert back.wants == "dear"
    assert (back.kept, back.written) == ((), ())
    _, result = sent(path, PLAIN, path.parent / back.wants)
    written = outputs(tmp_path)
    direct = price_one(path, PLAIN)
    assert float(result.price) > float(cheap.price)
    assert (direct.price, direct.asked, direct.wrote) == (result.price, result.asked, result.wrote)
    assert outputs(tmp_path) == written


def test_what_cannot_be_sent_is_for_this_machine(tmp_path: Path) -> None:
    path = job(tmp_path)
    assert pack(tmp_path / "none.xlsx", PLAIN, None) is None
    assert pack(tmp_path, PLAIN, None) is None
    assert pack(path, PLAIN, tmp_path / "no book") is None
    assert pack(path, replace(PLAIN, out=tmp_path / "no folder"), None) is None


def test_another_version_does_nothing(tmp_path: Path) -> None:
    parcel = pack(job(tmp_path), PLAIN, None)
    assert parcel is not None
    assert price_parcel(replace(parcel, asked="0" * 64)).other


def test_what_somebody_changed_meanwhile_is_not_written_over(tmp_path: Path) -> None:
    path = job(tmp_path)
    parcel = pack(path, PLAIN, None)
    assert parcel is not None
    back = price_parcel(parcel)
    (tmp_path / "yard-crew.xlsx").write_bytes(b"mine")
    result = unpack(path, PLAIN, None, parcel, back)
    assert (result.status, result.exit, result.written) == ("not written", 2, ())
    assert [p.code for p in result.problems if p.level == "error"] == ["changed-meanwhile"]
    assert outputs(tmp_path) == {"yard.xlsx": path.read_bytes(), "yard-crew.xlsx": b"mine"}


def test_a_link_to_the_job_is_not_written_through(tmp_path: Path) -> None:
    path = job(tmp_path)
    (tmp_path / "yard-crew.xlsx").symlink_to(path)
    before = path.read_bytes()
    _, result = sent(path, PLAIN)
    assert result.status == "not written"
    assert "save-over-input" in [p.code for p in result.problems]
    assert path.read_bytes() == before


def test_a_workbook_that_is_open_is_left_alone(tmp_path: Path) -> None:
    path = job(tmp_path)
    (tmp_path / ".~lock.yard-priced.xlsx#").write_text(",kim,desk,,;")
    _, result = sent(path, PLAIN)
    assert (result.status, result.problems[0].code) == ("not written", "save-open")
    assert not (tmp_path / "yard-priced.xlsx").exists()
    assert (tmp_path / "yard-crew.xlsx").exists()  # as when it is priced here


def test_a_fingerprint_changes_with_all_that_a_price_depends_on(tmp_path: Path) -> None:
    path = job(tmp_path)
    book = tmp_path / "rates"
    shutil.copytree(default_rates(), book)
    prints = {
        "first": asked_print(path, None, PLAIN),
        "day": asked_print(path, None, replace(PLAIN, today=date(2026, 4, 4))),
        "word": asked_print(path, None, replace(PLAIN, mail=True)),
    }
    assert asked_print(path, book, PLAIN) == prints["first"]  # of the same name, with the same files
    assert asked_print(path, None, replace(PLAIN, out=tmp_path)) == prints["first"]
    (book / "items.csv").write_bytes((book / "items.csv").read_bytes() + b"\n")
    prints["rates"] = asked_print(path, book, PLAIN)
    job(tmp_path, side=5.9)
    prints["job"] = asked_print(path, None, PLAIN)
    assert len(set(prints.values())) == 5
    assert asked_print(tmp_path / "none", None, PLAIN) == ""
    assert asked_print(path, tmp_path / "none", PLAIN) == ""


def test_a_fingerprint_of_outputs_is_of_names_and_bytes(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    one.write_bytes(b"1")
    two.write_bytes(b"1")
    assert wrote_print([one]) != wrote_print([two])
    assert wrote_print([]) not in ("", wrote_print([one]))
    before = wrote_print([one, two])
    two.write_bytes(b"2")
    assert wrote_print([one, two]) != before
    two.unlink()
    assert wrote_print([one, two]) == ""


@pytest.mark.parametrize("name", ["rates.xlsx", "no rates"])
def test_the_files_of_a_rate_book(tmp_path: Path, name: str) -> None:
    files = rate_files(None)
    assert files is not None
    assert [n for n, _ in files] == sorted(p.name for p in default_rates().glob("*.csv"))
    (tmp_path / "rates.xlsx").write_bytes(b"book")
    assert rate_files(tmp_path / name) == ((("rates.xlsx", b"book"),) if name == "rates.xlsx" else None)
