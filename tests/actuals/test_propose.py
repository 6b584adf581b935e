"""From actuals to rows: what is learned from, by how much, and that a row that is added is a row of the rate book."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from estimator.actuals.evidence import GROUND, LABOUR, Target, _dug, seen_in
from estimator.actuals.learn import Told
from estimator.actuals.propose import Proposal, Proposed, four_digits, propose
from estimator.core.names import key
from estimator.jobfile import told_by_actuals
from estimator.pricing.model import PricedJob
from estimator.rates.new_rows import written_table
from estimator.rates.read import load_rates
from estimator.rates.where import default_rates
from tests.build import DAY, option, run, square, write_job
from tests.random_jobs import random_job
from tests.rate_books import Change, setting, with_changes

SINCE = date(2026, 6, 1)
HANG = Target(LABOUR, "hang sail", "hours")


def job(folder: Path, name: str, rows: Sequence[tuple[str, float]], **more: Any) -> Path:
    """One sail on four posts, with person-hours of tasks."""
    actuals = [{"What": what, "Quantity": hours, "Unit": "h", "Day": date(2026, 5, 4)} for what, hours in rows]
    made = {"fixings": square(6), "options": [option("A B C D", "SQ-5000")], **more}
    return write_job(folder / f"{name}.xlsx", actuals=actuals, **made)


def look(path: Path, rates: Path | None = None) -> PricedJob:
    outcome = run(path, rates)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def proposals(paths: Sequence[Path], rates: Path | None = None, since: date = SINCE) -> dict[Target, Proposal]:
    return {p.target: p for p in proposed(paths, rates, since).proposals}


def proposed(paths: Sequence[Path], rates: Path | None = None, since: date = SINCE) -> Proposed:
    book, problems = load_rates(rates, since)
    assert book is not None, problems
    return propose([(p.stem, look(p, rates)) for p in paths], book, rates, since)[0]


def hang(folder: Path, *hours: float) -> list[Path]:
    """Jobs that planned 1 h of `hang sail` each and took so many."""
    return [job(folder, f"job{n}", [("hang sail", h)]) for n, h in enumerate(hours)]


@pytest.mark.parametrize(
    ("hours", "new"),
    [
        ((1.5,), 1.1),  # weight 1/5 of a half
        ((1.5, 1.5), 1.1667),  # 2/6
        ((1.0, 2.0, 1.5), 1.2143),  # 3/7 of a half
        ((0.5, 0.5, 0.5, 0.5), 0.75),  # 4/8 of minus a half
    ],
)
def test_hours_move_by_the_weight_of_the_jobs(tmp_path: Path, hours: tuple[float, ...], new: float) -> None:
    found = proposals(hang(tmp_path, *hours))[HANG]
    assert [r.old for r in found.rows] == [1.0]
    assert found.rows[0].new == pytest.approx(new, abs=6e-4)
    assert found.weight == pytest.approx(len(hours) / (len(hours) + 4))
    assert (found.planned, found.used) == (float(len(hours)), sum(hours))


def test_twenty_jobs_bring_it_near_what_was_seen(tmp_path: Path) -> None:
    high, low = (look(p) for p in hang(tmp_path, 1.6, 1.4))
    book, _ = load_rates(None, SINCE)
    assert book is not None
    made, _ = propose([(f"{n}", (high, low)[n % 2]) for n in range(20)], book, None, SINCE)
    (found,) = made.proposals
    assert found.n == 20
    assert found.rows[0].new == pytest.approx(1 + 20 / 24 * 0.5, abs=1e-3)


def test_the_weight_of_the_old_hours_is_a_setting(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {"settings": setting("actuals weight", "0")})
    assert proposals(hang(tmp_path, 1.5), rates)[HANG].rows[0].new == pytest.approx(1.5)


def test_a_wild_job_is_named_and_left_out(tmp_path: Path) -> None:
    found = proposals(hang(tmp_path, 1.2, 1.3, 9.0, 1.1))[HANG]
    assert [s.job for s in found.seen] == ["job0", "job1", "job3"]
    ((name, why),) = found.left_out
    assert name == "job2"
    assert "9 times the plan" in why
    assert found.rows[0].new == pytest.approx(1 + 3 / 7 * 0.2, abs=1e-3)


def test_how_wild_is_a_setting(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {"settings": setting("actuals outlier", "10")})
    assert proposals(hang(tmp_path, 1.2, 1.3, 9.0, 1.1), rates)[HANG].left_out == ()


def test_no_hours_and_hours_as_planned(tmp_path: Path) -> None:
    found = proposals(hang(tmp_path, 0.0))[HANG]
    assert (found.seen, found.rows) == ((), ())
    assert "0 h used" in found.left_out[0][1]
    as_planned = proposals(hang(tmp_path, 1.0))[HANG]
    assert (len(as_planned.seen), as_planned.rows) == (1, ())


def test_travel_and_materials_teach_no_row(tmp_path: Path) -> None:
    assert proposals([job(tmp_path, "a", [("travel", 9.0)])]) == {}
    rows = [{"What": "CON-TRUCK", "Quantity": 5, "Unit": "m3"}]
    path = write_job(tmp_path / "b.xlsx", fixings=square(6), options=[option("A B C D", "SQ-5000")], actuals=rows)
    assert proposals([path]) == {}


def test_a_book_without_the_settings_proposes_nothing_and_says_so(tmp_path: Path) -> None:
    def drop(rows: list[dict[str, str]]) -> None:
        rows[:] = [r for r in rows if not r["name"].startswith("actuals")]

    rates = with_changes(tmp_path / "rates", {"settings": drop})
    told = told_by_actuals(hang(tmp_path, 1.5), rates)
    assert [p.code for p in told.problems] == ["actuals-setting", "actuals-setting"]
    assert told.status == 0
    assert any("hang sail" in line for line in told.lines)


# digging and concrete


@pytest.mark.parametrize(("digging", "column"), [("hand", "hand hours per m3"), ("auger", "auger hours per hole")])
def test_digging_teaches_the_ground_it_was_in(tmp_path: Path, digging: str, column: str) -> None:
    sites = [{"Site": "Yard", "Ground": "clay", "Digging": digging, "Access": "steps", "Travel": 10}]
    plain = look(job(tmp_path, "plain", [], sites=sites))
    planned = sum(h.hours for o in plain.options for h in o.taken.hours if h.task == "dig")
    found = proposals([job(tmp_path, "a", [("dig", planned * 1.5)], sites=sites)])
    target = Target(GROUND, "clay", column)
    assert set(found) == {target}
    old = {"hand": plain.book.ground["clay"].hand_hours, "auger": plain.book.ground["clay"].auger_hours}[digging]
    # factors of ground and access are in plan and used alike, so that they fall out
    assert found[target].rows[0].new == pytest.approx(old * 1.1, rel=5e-4)


def test_a_hole_half_in_rock_says_half_as_much_of_each(tmp_path: Path) -> None:
    sites = [{"Site": "Yard", "Ground": "firm", "Rock at (m)": 0.5, "Digging": "hand", "Travel": 10}]
    path = job(tmp_path, "a", [("dig", 20.0)], sites=sites)
    seen = seen_in(look(path), "a")
    firm, rock = (seen[Target(GROUND, name, "hand hours per m3")] for name in ("firm", "rock"))
    assert firm.share + rock.share == pytest.approx(1.0)
    assert firm.used + rock.used == pytest.approx(20.0)
    assert firm.used / firm.planned == pytest.approx(rock.used / rock.planned)
    found = proposals([path])[Target(GROUND, "rock", "hand hours per m3")]
    assert found.n == pytest.approx(rock.share)
    assert found.weight == pytest.approx(rock.share / (rock.share + 4))


@pytest.mark.parametrize("seed", range(6))
def test_the_hours_by_ground_are_all_the_hours_of_digging(tmp_path: Path, seed: int) -> None:
    """What is shared out again from the footings is what was planned, whatever ground, rock, access and tool."""
    priced = look(random_job(tmp_path / "r.xlsx", seed))
    for o in priced.options:
        planned = sum(h.hours for h in o.taken.hours if h.task == "dig" and h.trade == "labourer")
        if o.bill and planned:
            assert sum(hours for _, hours in _dug(priced.book, o)) == pytest.approx(planned, rel=1e-9)


def test_placing_concrete_teaches_the_way_it_was_bought(tmp_path: Path) -> None:
    plain = look(job(tmp_path, "plain", []))
    planned = sum(h.hours for o in plain.options for h in o.taken.hours if h.task == "place concrete")
    (way,) = [line.code for o in plain.options for line in o.taken.lines if line.table == "concrete"]
    found = proposals([job(tmp_path, "a", [("place concrete", planned * 2)])])
    target = Target("concrete", way, "hours per m3")
    assert found[target].rows[0].new == pytest.approx(plain.book.concrete[key(way)].hours * 1.2, rel=5e-4)


# several days and books


def newer(day: str, **values: str) -> Change:
    """A row more for `hang sail`."""

    def change(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r["task"] == "hang sail")
        rows.append({**row, "valid_from": day, **values})

    return change


def test_an_older_job_counts_by_its_hours_and_not_by_its_ratio(tmp_path: Path) -> None:
    """Planned at 1 h and took 2 h; today's row says 2 h already, so nothing is learned from it but that."""
    rates = with_changes(tmp_path / "rates", {"labour": newer("2026-05-01", hours="2", source="somebody's watch")})
    found = proposals(hang(tmp_path, 2.0), rates)[HANG]
    assert (found.planned, found.used, found.rows) == (2.0, 2.0, ())


def test_a_job_that_the_row_comes_from_does_not_count_twice(tmp_path: Path) -> None:
    source = "actuals of job0; 1 job, weight 0.2"
    rates = with_changes(tmp_path / "rates", {"labour": newer("2026-05-01", hours="1.1", source=source)})
    found = proposals(hang(tmp_path, 1.5, 1.5), rates)[HANG]
    assert [s.job for s in found.seen] == ["job1"]
    assert found.left_out == (("job0", "the row in force comes from it already"),)
    assert found.rows[0].old == 1.1


def test_two_rows_of_one_task_move_together(tmp_path: Path) -> None:
    def add(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r["task"] == "hang sail")
        rows.append({**row, "for each": "corner", "hours": "0.5"})

    rates = with_changes(tmp_path / "rates", {"labour": add})
    found = proposals([job(tmp_path, "a", [("hang sail", 6.0)])], rates)[HANG]  # 1 + 4 x 0.5 planned
    assert found.planned == pytest.approx(3.0)
    assert [(r.old, r.new) for r in found.rows] == [(1.0, 1.2), (0.5, 0.6)]


def test_a_row_of_that_day_or_later_stands_in_the_way_and_is_named(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {"labour": newer("2026-07-01", hours="3")})
    told = told_by_actuals(hang(tmp_path, 1.5), rates, SINCE, tmp_path / "rows.csv")
    (problem,) = [p for p in told.problems if p.code == "actuals-day-taken"]
    assert "2026-07-01" in problem.message
    assert told.written == ()
    # from a later day on it is the later row that moves
    later = proposals(hang(tmp_path, 1.5), rates, date(2026, 8, 1))[HANG]
    assert [r.old for r in later.rows] == [3.0]


# rows as they are written


def written(told: Told) -> dict[str, list[dict[str, str]]]:
    return {p.name: list(csv.DictReader(io.StringIO(p.read_text(encoding="utf-8")))) for p in told.written}


def test_the_file_has_the_headings_of_the_table_and_the_old_row_with_new_hours(tmp_path: Path) -> None:
    told = told_by_actuals(hang(tmp_path, 1.5, 1.7), None, None, tmp_path / "rows.csv")
    text = (tmp_path / "rows.csv").read_text(encoding="utf-8")
    table = (default_rates() / "labour.csv").read_text(encoding="utf-8")
    assert text.splitlines()[0] == table.splitlines()[0]
    (row,) = written(told)["rows.csv"]
    old = next(r for r in csv.DictReader(io.StringIO(table)) if r["task"] == "hang sail")
    assert row == {**old, "hours": "1.2", "valid_from": "2026-05-05",
                   "source": "actuals of job0 + job1; 2 jobs, weight 0.333"}  # fmt: skip


def append(told: Told, book: Path) -> None:
    """Add the rows to the tables, as a person would."""
    for path in told.written:
        table = book / f"{path.stem.partition('-')[2] or 'labour'}.csv"
        rows = path.read_text(encoding="utf-8").split("\n", 1)[1]
        table.write_text(table.read_text(encoding="utf-8") + rows, encoding="utf-8")


def test_rows_that_are_added_are_in_force_from_their_day_and_change_the_price(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {})
    sites = [{"Site": "Yard", "Ground": "clay", "Digging": "hand", "Travel": 10}]
    path = job(tmp_path, "yard", [("hang sail", 1.5), ("dig", 6.0), ("place concrete", 1.0)], sites=sites)
    told = told_by_actuals([path], rates, None, tmp_path / "rows.csv")
    assert [p.name for p in told.written] == ["rows.csv", "rows-ground.csv", "rows-concrete.csv"]
    before, old_book = look(path, rates), load_rates(rates, DAY)[0]
    append(told, rates)
    now, found = load_rates(rates, date(2026, 5, 5))
    assert found == []
    assert now is not None
    assert old_book is not None
    task = next(t for t in now.labour if t.task == "hang sail")
    assert (task.hours, task.origin.valid_from) == (1.1, date(2026, 5, 5))
    assert now.ground["clay"].stone == old_book.ground["clay"].stone
    assert now.ground["clay"].hand_hours != old_book.ground["clay"].hand_hours
    # on the day of the old price nothing has changed
    assert look(path, rates).totals == before.totals
    # a job of a later day costs the new hours: each task's line at its trade's rate
    later = look(job(tmp_path, "later", [], sites=sites, job={"Priced on": date(2026, 5, 5)}), rates)
    expected = before.totals.cost
    for code, row in (("hang-sail", task.hours), ("dig", None), ("place-concrete", None)):
        (old,) = [x for x in before.options[0].taken.lines if x.code == code]
        (new,) = [x for x in later.options[0].taken.lines if x.code == code]
        assert new.rate == old.rate
        assert new.quantity > old.quantity
        assert row is None or new.quantity == Decimal("1.1")
        expected += new.cost - old.cost
    assert later.totals.cost == expected


def test_a_book_with_semicolons_and_decimal_commas_gets_such_rows(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {})
    table = rates / "labour.csv"
    rows = list(csv.reader(io.StringIO(table.read_text(encoding="utf-8"))))
    at = rows[0].index("hours")
    out = io.StringIO()
    csv.writer(out, delimiter=";", lineterminator="\n").writerows(
        [*r[:at], r[at].replace(".", ","), *r[at + 1 :]] for r in rows
    )
    table.write_text(out.getvalue(), encoding="utf-8")
    told = told_by_actuals(hang(tmp_path, 1.5), rates, None, tmp_path / "rows.csv")
    assert ";1,1;" in (tmp_path / "rows.csv").read_text(encoding="utf-8")
    append(told, rates)
    book, found = load_rates(rates, date(2026, 5, 5))
    assert found == []
    assert book is not None
    assert next(t.hours for t in book.labour if t.task == "hang sail") == 1.1


def test_columns_of_the_user_are_kept_and_missing_ones_added(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {})
    table = rates / "labour.csv"
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    fields = ["who says so", "hours", *(f for f in rows[0] if f not in ("hours", "valid_from", "source"))]
    out = io.StringIO()
    writer = csv.DictWriter(out, fields, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows({**r, "who says so": "Wren"} for r in rows)
    table.write_text(out.getvalue(), encoding="utf-8")
    told = told_by_actuals(hang(tmp_path, 1.5), rates, None, tmp_path / "rows.csv")
    (row,) = written(told)["rows.csv"]
    assert list(row) == [*fields, "valid_from", "source"]
    assert (row["who says so"], row["hours"], row["valid_from"]) == ("Wren", "1.1", "2026-05-05")


def as_number(text: str) -> str | float | None:
    try:
        return float(text)
    except ValueError:
        return text or None


def test_a_workbook_of_rates_will_do(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    for file in sorted(default_rates().glob("*.csv")):
        sheet = book.create_sheet(file.stem)
        for row in csv.reader(io.StringIO(file.read_text(encoding="utf-8"))):
            sheet.append([as_number(text) for text in row])
    book.remove(book["Sheet"])
    book.save(tmp_path / "rates.xlsx")
    told = told_by_actuals(hang(tmp_path, 1.5), tmp_path / "rates.xlsx", None, tmp_path / "rows.csv")
    (row,) = written(told)["rows.csv"]
    assert (row["hours"], row["valid_from"], row["trade"]) == ("1.1", "2026-05-05", "installer")


def test_a_table_that_is_not_there_is_none(tmp_path: Path) -> None:
    assert written_table(tmp_path, "labour") is None
    table = written_table(None, "labour")
    assert table is not None
    assert len(table.rows) == len(table.texts)


def test_hours_are_given_to_four_digits() -> None:
    assert four_digits(2 / 3) == Decimal("0.6667")
    assert four_digits(0.00012344) == Decimal("0.0001234")
    assert four_digits(20.0) == Decimal(20)


def test_a_default_book_is_only_proposed_to(tmp_path: Path) -> None:
    before = {p.name: p.read_bytes() for p in default_rates().iterdir()}
    path = job(tmp_path, "yard", [("hang sail", 1.5)])
    bytes_before = path.read_bytes()
    assert told_by_actuals([path], None, None, tmp_path / "rows.csv").status == 0
    assert {p.name: p.read_bytes() for p in default_rates().iterdir()} == before
    assert path.read_bytes() == bytes_before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["rows.csv", "yard.xlsx"]
