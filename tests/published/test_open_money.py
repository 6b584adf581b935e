"""Prices, deposits and rock that people have asked about in public; the right answers are our own arithmetic from
their numbers."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.pricing.digging import digging_of
from estimator.pricing.model import PricedJob
from estimator.pricing.payment import caps_at, payment_of
from estimator.pricing.price_checks import at_risk, percent, stands_out
from estimator.pricing.rests import Rests, rests_on
from estimator.rates.read import load_rates
from estimator.report.json_out import job_data
from tests.build import DAY, fixing, option, run, square, write_job
from tests.rate_books import Change, put, with_changes

D = Decimal
STATE = "One state"


def priced(tmp_path: Path, rates: Mapping[str, Change] | None = None, **rows: Any) -> PricedJob:
    rows = {"fixings": square(6), "options": [option("A B C D", "SQ-5000")], **rows}
    tmp_path.mkdir(exist_ok=True)
    folder = with_changes(tmp_path / "rates", rates) if rates else None
    outcome = run(write_job(tmp_path / "job.xlsx", **rows), folder)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def found(job: PricedJob, code: str) -> list[Problem]:
    return [p for p in job.problems if p.code == code]


def extra(words: str, quantity: float, unit: str, **more: Any) -> dict[str, Any]:
    return {"Site": "Yard", "Description": words, "Quantity": quantity, "Unit": unit, **more}


# Granite under every hole: five days of hire, all profit gone. The clause: 30 person-minutes a hole by hand or 10
# machine-minutes by auger are in the price, more is charged at stated rates.


@pytest.mark.parametrize(("digging", "minutes", "machine"), [("hand", 30, False), ("auger", 10, True)])
def test_the_price_says_how_much_digging_it_holds(digging: str, minutes: int, machine: bool, tmp_path: Path) -> None:
    def quick(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["hand hours per m3"] = row["auger hours per hole"] = "0.1"

    job = priced(
        tmp_path, {"ground": quick},
        sites=[{"Site": "Yard", "Ground": "firm", "Travel": 10, "Digging": digging}],
    )  # fmt: skip
    dug = digging_of(job.book, job.job.header, job.options[0])
    assert dug is not None
    assert (dug.holes, dug.minutes, dug.by_machine) == (4, minutes, machine)
    # labourer 36; auger 110 a day of 8 h. + 8 % overhead + 5 % contingency, a margin of 20 % on price, 10 % tax
    cost = D("36.00") + (D("13.75") if machine else 0)
    assert dug.hour is not None
    assert dug.hour.cost == cost
    assert abs(dug.hour.price - cost * D("1.13") / D("0.8") * D("1.1")) < D("0.03")


def test_no_minute_is_paid_for_twice(tmp_path: Path) -> None:
    # 5.2 h a m3 by hand: what these holes take is in the price, so the clause never says less
    job = priced(tmp_path)
    taken = job.options[0].taken
    hours = sum(h.hours for h in taken.hours if h.task == "dig")
    dug = digging_of(job.book, job.job.header, job.options[0])
    assert dug is not None
    assert 30 < hours * 60 / 4 <= dug.minutes < hours * 60 / 4 + 5
    assert dug.minutes % 5 == 0


def test_the_clause_is_tied_to_the_number_of_holes(tmp_path: Path) -> None:
    rows = [*square(6)[:3], fixing("D", 0, 6, 2.6, "rafter")]
    path = write_job(tmp_path / "q.xlsx", fixings=rows, options=[option("A B C D", "SQ-5000")])
    assert price_file(path, today=DAY).status == 0
    said = quote_words(tmp_path / "q-quote.xlsx")
    clause = next(t for t in said if "Digging in the price" in t)
    assert "3 holes" in clause
    assert "Each hour beyond that: EUR 55.94 with tax." in clause  # 36.00 + 8 % + 5 %, / 0.8, + 10 %


def test_holes_that_others_dig_are_in_no_clause(tmp_path: Path) -> None:
    left_out = extra("Holes by the owner", 0, "h", **{"Instead of": "dig"})
    job = priced(tmp_path, extras=[left_out])
    assert digging_of(job.book, job.job.header, job.options[0]) is None


@pytest.mark.parametrize(("hole", "asked"), [("", True), ("yes", False), ("no", False)])
def test_a_test_hole_is_asked_about(hole: str, asked: bool, tmp_path: Path) -> None:
    site = {"Site": "Yard", "Ground": "firm", "Travel": 10, "Test hole": hole or None}
    job = priced(tmp_path, sites=[site])
    assert bool(found(job, "test-hole-unknown")) == asked
    walls = priced(tmp_path / "walls", fixings=square(6, held_by="rafter"), sites=[site])
    assert not found(walls, "test-hole-unknown")  # no hole, no question


def test_told_4_inches_found_10() -> None:
    # 350 more on a job of 350 / 15 % cost took half the profit
    cost = D(350) / D("0.15")
    rests = Rests(cost, D(0), D(0), D(0), D(0), told=cost, assumed=D(0), profit=D(700))
    book, _ = load_rates(None, DAY)
    assert book is not None
    more = at_risk(book, "told rise", rests.told + rests.assumed)
    assert more == D("350.00")
    assert percent(more, D(700)) == "50"


def test_what_rests_on_sizes_told_is_shared_by_the_holes(tmp_path: Path) -> None:
    rows = square(6)
    rows[1]["Known by"], rows[2]["Known by"] = "told", None
    job = priced(tmp_path, fixings=rows)
    bill = job.options[0].bill
    assert bill is not None
    rests = rests_on(job.job, job.book, bill, job.options[0])
    assert (rests.told_at, rests.assumed_at) == (("B",), ("C",))
    assert abs(rests.told - rests.assumed) <= D("0.20")  # four posts alike: a quarter each, each line to the cent
    ground = ("LT-", "CON-", "stone", "spoil", "dig", "place-concrete", "set-and", "cut-and", "set-out", "load-spoil")
    lines = [x.cost for x in bill.lines if x.code.startswith(ground) or x.code in MORE]
    assert abs(rests.told * 4 - sum(lines)) <= D("0.20")
    note = found(job, "facts-told")
    assert len(note) == 1
    assert "told at B; assumed at C" in note[0].message
    assert not found(priced(tmp_path / "known"), "facts-told")


# lines that are counted by the post or the footing
MORE = ("post-cap", "freight-posts", "brace-timber", "reinstate-surface", "stone-and-pad", "re-measure")


# 800, 900 and 400 by phone came to 950, 1,235 and 428.


def test_prices_by_phone_are_counted_and_what_they_became() -> None:
    book, _ = load_rates(None, DAY)
    assert book is not None
    said, paid = D(800 + 900 + 400), D(950 + 1235 + 428)
    assert (said, paid) == (2100, 2613)
    rise = at_risk(book, "verbal rise", said)
    assert rise is not None
    assert abs(said + rise - paid) < 10  # + 24 %


def test_the_share_of_the_cost_by_word_of_mouth_is_warned_about(tmp_path: Path) -> None:
    phone = [
        extra(name, 1, "each", Kind="subcontract", **{"Cost each": cost, "Price is": "verbal"})
        for name, cost in (("First", 800), ("Second", 900), ("Third", 400))
    ]
    written = extra("Fourth", 1, "each", Kind="subcontract", **{"Cost each": 100, "Price is": "firm"})
    job = priced(tmp_path, extras=[*phone, written])
    bill = job.options[0].bill
    assert bill is not None
    rests = rests_on(job.job, job.book, bill, job.options[0])
    assert (rests.verbal, rests.firm) == (D(2100), D(100))
    assert rests.firm + rests.verbal + rests.unsaid + rests.own == rests.cost == bill.totals.cost
    warning = found(job, "price-verbal")
    assert [p.level for p in warning] == ["warning"]
    assert "2100.00" in warning[0].message
    assert "First, Second, Third" in warning[0].message
    assert "504.00" in warning[0].message  # 24 %
    data = job_data(job)["sites"][0]["options"][0]["rests_on"]
    assert data["verbal"] == "2100.00"


def test_a_row_of_the_rate_book_given_by_word_of_mouth_counts(tmp_path: Path) -> None:
    job = priced(tmp_path, {"sails": put("code", "SQ-5000", **{"price is": "verbal"})})
    assert "SQ-5000" in found(job, "price-verbal")[0].message
    assert found(priced(tmp_path / "firm"), "price-verbal") == []


# 200 pieces entered at 2.95 instead of 295; square for cubic yards.


def test_200_pieces_at_2_95_that_were_295(tmp_path: Path) -> None:
    def slip(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r["code"] == "weak-link")
        row["price"] = "295"
        rows.append({**row, "price": "2.95", "valid_from": "2026-03-01"})

    pieces = [extra("Pieces", 200, "each", Item="weak-link")]
    job = priced(tmp_path, {"items": slip}, extras=pieces)
    warned = found(job, "rate-tenfold")
    assert [p.place.sheet for p in warned] == ["items"]
    assert "2.95" in warned[0].message
    assert "295" in warned[0].message
    line = next(x for o in job.options if o.bill for x in o.bill.lines if x.code == "weak-link")
    assert 200 * D(295) - line.cost == D("58410.00")


def test_a_price_is_held_against_its_own_past(tmp_path: Path) -> None:
    def jump(rows: list[dict[str, str]]) -> None:
        row = next(r for r in rows if r["code"] == "SQ-5000")
        rows.append({**row, "price": str(int(row["price"]) * 4), "valid_from": "2026-03-01"})

    job = priced(tmp_path, {"sails": jump})
    warned = found(job, "price-jumped")
    assert len(warned) == 1
    assert warned[0].place.cell.startswith("F")  # the price of the newer row
    assert (
        found(priced(tmp_path / "other", {"sails": jump}, options=[option("A B C D", "SQ-3600")]), "price-jumped") == []
    )


def test_a_price_is_held_against_its_like(tmp_path: Path) -> None:
    # shackles cost 4 to 15 each; one at 295 stands out where the job uses it, and nothing of the default book does
    assert found(priced(tmp_path), "price-outlier") == []
    job = priced(tmp_path / "slip", {"rigging": put("code", "SHK-09", price="295")})
    warned = found(job, "price-outlier")
    assert [p.place.sheet for p in warned] == ["rigging"]
    assert "rigging shackle per each" in warned[0].message


@pytest.mark.parametrize(("value", "out"), [(2.95, True), (295.0, False), (100.0, False), (1200.0, True)])
def test_what_stands_out_of_a_group(value: float, out: bool) -> None:
    assert stands_out(value, [250, 260, 280, 295, 310, 330, value], 3) == out


@pytest.mark.parametrize("unit", ["m2", "sq yd", "m", "kg"])
def test_an_area_where_a_volume_is_wanted_is_an_error(unit: str, tmp_path: Path) -> None:
    # the sister of that slip: square for cubic yards
    job = priced(tmp_path, extras=[extra("Stone", 26, unit, Item="stone-20mm")])
    assert [(p.level, p.place.cell) for p in found(job, "unit-mismatch")] == [("error", "D2")]
    assert job.options[0].bill is None
    right = priced(tmp_path / "right", extras=[extra("Stone", 26, "cu yd", Item="stone-20mm")])
    line = [x for x in right.options[0].bill.lines if x.code == "stone-20mm"][-1]  # type: ignore[union-attr]
    assert abs(line.quantity - 26 * D("0.764554857984")) < D("0.001")


# Held to a three-month-old price after a supplier's surcharge of 25 %.


@pytest.mark.parametrize(("since", "old"), [("2026-01-02", True), ("2026-01-03", False), ("2026-04-03", False)])
def test_a_price_older_than_the_limit_is_listed(since: str, old: bool, tmp_path: Path) -> None:
    # the limit of the rate book is 90 days: 2026-01-03 is the 90th day before 2026-04-03
    assert DAY - timedelta(days=90) == date(2026, 1, 3)
    rest = "2026-04-01"

    def dated(rows: list[dict[str, str]]) -> None:
        for row in rows:
            row["valid_from"] = since if row.get("code") == "SQ-5000" else rest

    tables = ("sails", "cloths", "rigging", "posts", "concrete", "items", "trades")
    job = priced(tmp_path, dict.fromkeys(tables, dated))
    listed = found(job, "price-old")
    assert len(listed) == int(old)
    if old:
        assert "1 of the prices" in listed[0].message
        assert "SQ-5000 from 2026-01-02" in listed[0].message
        assert listed[0].place.sheet == "sails"


@pytest.mark.parametrize(
    ("until", "code"),
    [("2026-05-02", "price-outlives"), ("2026-05-03", ""), ("2026-04-02", "price-held-no-more"), ("", "")],
)
def test_a_quote_that_outlives_a_price_says_which(until: str, code: str, tmp_path: Path) -> None:
    # the quote of 2026-04-03 holds 30 days, to 2026-05-03
    job = priced(tmp_path, {"sails": put("code", "SQ-5000", **{"valid until": until})}, job={"Valid for": 30})
    codes = [p.code for p in job.problems if p.code in ("price-outlives", "price-held-no-more")]
    assert codes == ([code] if code else [])
    shorter = priced(
        tmp_path / "shorter",
        {"sails": put("code", "SQ-5000", **{"valid until": until})},
        job={"Valid for": 20},
    )
    assert not found(shorter, "price-outlives")


# Deposits: one state 20 % to 3,300, 10 % to 19,999, 5 % from 20,000; 20 % if over half is made off site; another 10 %.


def state_rows(rows: list[dict[str, str]]) -> None:
    first = {**rows[0], "customer is": "", "description": "", "valid_from": "2020-01-01"}
    for up_to, off, cap in (("3300", "", "20"), ("19999", "", "10"), ("", "", "5"), ("", "yes", "20")):
        rows.append({**first, "place": STATE, "up to": up_to, "made off site": off, "cap (%)": cap})
    rows.append({**first, "place": "Another", "up to": "", "made off site": "", "cap (%)": "10"})


@pytest.mark.parametrize(
    ("price", "off_site", "cap"),
    [
        ("3300", False, "0.20"),
        ("3301", False, "0.10"),
        ("3300.01", False, "0.10"),
        ("19999", False, "0.10"),
        ("20000", False, "0.05"),
        ("3300", True, "0.20"),
        ("20000", True, "0.20"),
    ],
)
def test_the_cap_on_a_deposit_at_its_limits(price: str, off_site: bool, cap: str, tmp_path: Path) -> None:
    book, problems = load_rates(with_changes(tmp_path / "rates", {"deposit_caps": state_rows}), DAY)
    assert problems == []
    assert book is not None
    assert [c.cap for c in caps_at(book, STATE, "private", off_site, D(price))] == [D(cap)]
    assert [c.cap for c in caps_at(book, "another", "", off_site, D(price))] == [D("0.10")]
    assert caps_at(book, "Elsewhere", "private", off_site, D(price)) == []


@pytest.mark.parametrize(
    ("job", "deposit", "capped"),
    [
        ({"Place": STATE, "Deposit": "30 %"}, "0.1", True),
        ({"Place": STATE, "Deposit": "10 %"}, "0.1", False),
        ({"Place": STATE, "Deposit": "30 %", "Made off site": "yes"}, "0.2", True),
        ({"Place": "Elsewhere", "Deposit": "30 %"}, "0.3", False),
        ({"Place": STATE, "Deposit": "0 %"}, "0", False),
    ],
)
def test_a_deposit_over_its_cap_is_never_printed(
    job: dict[str, str], deposit: str, capped: bool, tmp_path: Path
) -> None:
    made = priced(tmp_path, {"deposit_caps": state_rows}, job=job)
    assert 3301 < made.totals.price < 19999
    payment = payment_of(made)
    share = next((p.share for p in payment.parts if p.name == "deposit"), D(0))
    assert share == D(deposit)
    assert bool(found(made, "deposit-capped")) == capped
    paid = [p.amount for p in payment.parts if p.amount is not None]
    assert sum(paid, D(0)) == made.totals.price
    if share:
        assert abs(paid[0] - made.totals.price * share) < D("0.01")
        if capped:
            assert paid[0] <= made.totals.price * share  # never half a cent over


def test_the_quote_prints_the_deposit_that_is_allowed(tmp_path: Path) -> None:
    rates = with_changes(tmp_path / "rates", {"deposit_caps": state_rows})
    path = write_job(
        tmp_path / "q.xlsx",
        job={"Place": STATE, "Deposit": "30 %", "Customer is": "private"},
        fixings=square(6),
        options=[option("A B C D", "SQ-5000")],
    )
    assert price_file(path, today=DAY, rates=rates).status == 0
    said = "\n".join(quote_words(tmp_path / "q-quote.xlsx"))
    assert "Deposit 10 %: EUR" in said
    assert "Deposit 30 %" not in said
    assert "Within seven days after hand-over 90 %: EUR" in said


def test_no_tax_says_why(tmp_path: Path) -> None:
    rows: dict[str, Any] = {"fixings": square(6), "options": [option("A B C D", "SQ-5000")]}
    silent = priced(tmp_path / "silent", job={"Tax": "none"}, **rows)
    assert found(silent, "tax-none")
    path = write_job(tmp_path / "q.xlsx", job={"Tax": "none", "Tax reason": "sold to another country"}, **rows)
    done = price_file(path, today=DAY)
    assert not any(p.code == "tax-none" for p in done.problems)
    assert "No tax is added: sold to another country." in "\n".join(quote_words(tmp_path / "q-quote.xlsx"))
    both = priced(tmp_path / "both", job={"Tax": "ST", "Tax reason": "sold abroad"}, **rows)
    assert found(both, "tax-reason-unused")


def quote_words(path: Path) -> list[str]:
    book = load_workbook(path)
    return [str(v) for s in book.worksheets for row in s.iter_rows(values_only=True) for v in row if v is not None]
