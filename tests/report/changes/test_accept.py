"""An accepted price stays; a revision says what changed; variations have papers of their own."""

from __future__ import annotations

import json
import re
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook

from estimator.cli import main
from estimator.jobfile import Done, price_file
from estimator.pricing.model import PricedJob
from estimator.pricing.told import contract, told_job, variations
from estimator.report.changes.printed import read_printed
from estimator.sheets.door import Opened, open_door
from tests.build import DAY, fixing, option, square, write_job
from tests.promises import broken
from tests.rate_books import put, with_changes

MOVED = [*square(6)[:3], fixing("D", 0.3, 6.4, 2.9)]
PAVING = {"Site": "Yard", "Description": "Relay paving", "Quantity": 2, "Unit": "m2", "Cost each": 40, "Shown": "yes"}
GATE = {
    "Site": "Yard", "Description": "Gate moved", "Quantity": 1, "Unit": "each", "Cost each": 217.31,
    "Kind": "subcontract", "Variation": "1", "Reason": "it opens the other way",
}  # fmt: skip
PERMIT = {
    "Description": "Second permit", "Quantity": 1, "Unit": "each", "Cost each": 103.27, "Kind": "fee",
    "Variation": "V2", "Reason": "asked for by the council",
}  # fmt: skip


@pytest.fixture
def dearer(tmp_path: Path) -> Path:
    """A rate book in which an hour of the installer costs more."""
    return with_changes(tmp_path / "dearer", {"trades": put("trade", "installer", **{"cost per hour": "60"})})


def run(folder: Path, status: str = "firm", revision: int = 1, rates: Path | None = None, **more: Any) -> Done:
    job = {"Status": status, "Revision": revision, "Tax": "ST", **more.pop("job", {})}
    sheets = {"fixings": square(6), "options": [option("A B C D", "SQ-5000")], **more}
    path = write_job(folder / "yard.xlsx", job=job, **sheets)
    return price_file(path, rates, today=DAY, drawings=False, with_json=True, pdf=False)


def of(done: Done) -> PricedJob:
    assert done.outcome is not None
    assert done.outcome.priced is not None
    return done.outcome.priced


def price(done: Done) -> Decimal:
    bill = of(done).options[0].bill
    assert bill is not None
    return bill.totals.price


def accepted(done: Done) -> Decimal:
    found = of(done).options[0].accepted
    assert found is not None
    return found.price


def codes(done: Done) -> dict[str, str]:
    return {p.code: p.message for p in done.problems}


def shown(path: Path) -> list[object]:
    book = load_workbook(path, data_only=True)
    return [c.value for s in book.worksheets for row in s.iter_rows() for c in row if c.value is not None]


def test_a_first_acceptance_is_what_is_worked_out(tmp_path: Path) -> None:
    done = run(tmp_path, "accepted")
    assert accepted(done) == price(done)
    assert "accepted-price-held" in codes(done)


def test_the_firm_price_that_lay_there_is_what_was_accepted(tmp_path: Path, dearer: Path) -> None:
    offered = price(run(tmp_path))
    done = run(tmp_path, "accepted", rates=dearer)
    assert price(done) > offered
    assert accepted(done) == offered
    said = codes(done)["accepted-price-differs"]
    assert f"{offered:,.2f}" in said
    assert f"{price(done) - offered:,.2f} more" in said


def test_a_budget_figure_is_no_offer_and_cannot_be_accepted(tmp_path: Path, dearer: Path) -> None:
    run(tmp_path, "budget")
    done = run(tmp_path, "accepted", rates=dearer)
    assert accepted(done) == price(done)


def test_an_accepted_price_stays_whatever_is_worked_out_later(tmp_path: Path, dearer: Path) -> None:
    first = price(run(tmp_path, "accepted"))
    for _ in range(2):
        done = run(tmp_path, "accepted", rates=dearer)
        assert accepted(done) == first
        assert price(done) != first
    assert [p.level for p in done.problems if p.code == "accepted-price-differs"] == ["warning"]


def test_the_customer_reads_the_accepted_price_and_the_office_both(tmp_path: Path, dearer: Path) -> None:
    first = price(run(tmp_path, "accepted"))
    done = run(tmp_path, "accepted", rates=dearer)
    quote = shown(tmp_path / "yard-quote.xlsx")
    assert float(first) in quote
    assert float(price(done)) not in quote
    office = shown(tmp_path / "yard-priced.xlsx")
    assert {float(first), float(price(done)), float(price(done) - first)} <= {v for v in office if isinstance(v, float)}
    assert told_job(of(done)).price == first == contract(of(done))
    data = json.loads((tmp_path / "yard-priced.json").read_text(encoding="utf-8"))
    assert broken(data) == [], "the bill stays as it is worked out"
    made = data["sites"][0]["options"][0]
    assert (Decimal(made["accepted"]["price"]), Decimal(made["totals"]["price"])) == (first, price(done))


def test_back_to_firm_and_accepted_again_takes_the_new_price(tmp_path: Path, dearer: Path) -> None:
    run(tmp_path, "accepted")
    new = price(run(tmp_path, "firm", rates=dearer))
    done = run(tmp_path, "accepted", rates=dearer)
    assert accepted(done) == new
    assert "accepted-price-differs" not in codes(done)


def test_variations_that_cover_the_difference_explain_it(tmp_path: Path) -> None:
    run(tmp_path, "accepted")
    dear = {**PAVING, "Quantity": 1, "Cost each": 60}
    done = run(tmp_path, "accepted", extras=[dear, GATE])
    assert "accepted-price-varied" in codes(done)
    assert "accepted-price-differs" not in codes(done)
    small = run(tmp_path, "accepted", extras=[dear, {**GATE, "Cost each": 1}])
    assert "of which variations make" in codes(small)["accepted-price-differs"]


def test_an_accepted_price_outlives_a_slip_that_takes_the_price_away(tmp_path: Path) -> None:
    first = price(run(tmp_path, "accepted"))
    lost = run(tmp_path, "accepted", options=[option("A B C D", "SQ-7000")])
    assert of(lost).options[0].bill is None
    assert accepted(lost) == first
    assert accepted(run(tmp_path, "accepted", fixings=square(6, height=2.9))) == first


def test_a_workbook_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    run(tmp_path, "accepted")
    (tmp_path / "yard-priced.xlsx").write_bytes(b"not a workbook")
    said = codes(run(tmp_path, "accepted"))["accepted-not-read"]
    assert "yard-priced.xlsx" in said


def test_check_says_the_same_as_price(tmp_path: Path, dearer: Path) -> None:
    run(tmp_path, "accepted")
    result = CliRunner().invoke(main, ["check", str(tmp_path / "yard.xlsx"), "--rates", str(dearer)])
    assert "accepted at EUR" in result.output
    assert "worked out now it is" in result.output


def test_a_later_revision_says_what_changed_since(tmp_path: Path) -> None:
    before = price(run(tmp_path))
    done = run(tmp_path, revision=2, fixings=MOVED, extras=[PAVING])
    changes = of(done).changes
    assert changes is not None
    assert (changes.revision, changes.file) == (1, "yard-priced-r1.xlsx")
    assert "Option 1: fixing D (new post) is moved by 0.50 m and is 0.30 m higher." in changes.told
    assert "Option 1: also included, new: Relay paving." in changes.told
    (change,) = changes.prices
    assert (change.before, change.now) == (before, price(done))
    assert sum((amount for _, amount in change.parts), Decimal(0)) == price(done) - before
    quote = [str(v) for v in shown(tmp_path / "yard-quote-r2.xlsx")]
    assert "Changed since revision 1" in quote
    assert any("is moved by 0.50 m" in v for v in quote)
    office = shown(tmp_path / "yard-priced.xlsx")
    assert {"Changed since revision 1", float(before), float(price(done) - before)} <= set(office)
    assert read_revision(tmp_path / "yard-priced-r1.xlsx") == 1


def read_revision(path: Path) -> int:
    opened = open_door(path)
    assert isinstance(opened, Opened)
    found = read_printed(opened)
    return found.revision  # type: ignore[union-attr]


def test_pricing_a_revision_again_gives_the_same_bytes(tmp_path: Path) -> None:
    run(tmp_path)
    run(tmp_path, revision=2, fixings=MOVED, extras=[GATE, PERMIT])
    before = {p: p.read_bytes() for p in tmp_path.iterdir()}
    price_file(tmp_path / "yard.xlsx", today=DAY, drawings=False, with_json=True, pdf=False)
    assert {p: p.read_bytes() for p in tmp_path.iterdir()} == before
    own = price_file(tmp_path / "yard-priced.xlsx", today=DAY, drawings=False, pdf=False)
    assert of(own).changes is not None
    assert (tmp_path / "yard-priced.xlsx").read_bytes() == before[tmp_path / "yard-priced.xlsx"]


def test_what_went_out_under_a_revision_is_kept_and_the_latest_counts(tmp_path: Path) -> None:
    run(tmp_path)
    kept = run(tmp_path, revision=2, fixings=MOVED)
    assert "revision-kept" in codes(kept)
    first = (tmp_path / "yard-priced-r1.xlsx").read_bytes()
    run(tmp_path, revision=1, extras=[PAVING])
    done = run(tmp_path, revision=3, fixings=MOVED)
    assert (tmp_path / "yard-priced-r1.xlsx").read_bytes() == first, "what is kept is not written over"
    changes = of(done).changes
    assert changes is not None
    assert changes.revision == 1


def test_a_revision_with_nothing_beside_it_says_so(tmp_path: Path) -> None:
    done = run(tmp_path, revision=2)
    assert of(done).changes is None
    assert "yard-priced-r1.xlsx" in codes(done)["revision-not-found"]
    assert "Changed since" not in " ".join(str(v) for v in shown(tmp_path / "yard-quote-r2.xlsx"))


def text_of(path: Path) -> str:
    with zipfile.ZipFile(path) as parts:
        return "\n".join(parts.read(n).decode("utf-8", "replace") for n in parts.namelist())


def test_a_variation_is_outside_every_total_and_has_a_block_and_a_paper(tmp_path: Path) -> None:
    plain = price(run(tmp_path, "accepted"))
    done = run(tmp_path, "accepted", extras=[GATE, PERMIT])
    assert price(done) == plain
    job = of(done)
    first, second = variations(job)
    assert [v.name for v in (first, second)] == ["V1", "V2"]
    assert {p.name for p in done.written} >= {"yard-variation-V1.xlsx", "yard-variation-V2.xlsx"}
    bill = [c.value for c in load_workbook(tmp_path / "yard-priced.xlsx", data_only=True)["Bill"]["A"]]
    assert {"Variation V1: in none of the prices above", "Variation V2: in none of the prices above"} <= set(bill)
    paper = shown(tmp_path / "yard-variation-V2.xlsx")
    sums = [float(plain), float(first.price), float(second.price), float(plain + first.price + second.price)]
    assert [v for v in paper if v in sums and isinstance(v, float)][-4:] == sums
    assert {"Second permit", "asked for by the council", "New contract sum", "Signature"} <= set(paper)
    assert "Gate moved" not in paper
    only = shown(tmp_path / "yard-variation-V1.xlsx")
    assert float(plain + first.price) in only
    assert float(second.price) not in only, "a variation says nothing of the later ones"


def test_a_variation_holds_nothing_of_the_office(tmp_path: Path) -> None:
    done = run(tmp_path, "accepted", extras=[GATE, PERMIT], job={"Notes": "inward words"})
    job = of(done)
    bill = job.options[0].bill
    assert bill is not None
    secrets = {bill.totals.cost, Decimal("217.31"), Decimal("103.27")} | {line.cost for line in bill.lines}
    secrets |= {abs(c.amount) for c in bill.charges}
    for number in ("V1", "V2"):
        path = tmp_path / f"yard-variation-{number}.xlsx"
        text = text_of(path)
        figures = {v for v in shown(path) if isinstance(v, float)}
        assert not figures & {float(s) for s in secrets if s > 5}
        for word in (
            "definedName",
            "<f>",
            "hidden=",
            'state="hidden"',
            "comments",
            "inward",
        ):
            assert word not in text, word
        said = re.sub(r"<[^>]+>", " ", text)
        assert not re.search(r"\b(costs?|rates?|margins?|markup|overhead|extras?)\b", said, re.IGNORECASE)


def test_a_variation_of_what_nobody_has_accepted_is_named(tmp_path: Path) -> None:
    done = run(tmp_path, "firm", extras=[GATE])
    assert "V1" in codes(done)["variation-not-accepted"]
    assert "New contract sum" not in shown(tmp_path / "yard-variation-V1.xlsx")


def test_an_older_paper_with_other_figures_is_kept(tmp_path: Path) -> None:
    run(tmp_path, "accepted", extras=[GATE])
    old = (tmp_path / "yard-variation-V1.xlsx").read_bytes()
    run(tmp_path, "accepted", extras=[{**GATE, "Cost each": 300}])
    assert (tmp_path / f"yard-variation-V1 {DAY.isoformat()}.xlsx").read_bytes() == old


def test_no_paper_when_a_chosen_option_has_no_price(tmp_path: Path) -> None:
    done = run(tmp_path, "accepted", options=[option("A B C D", "SQ-7000")], extras=[GATE, PERMIT])
    assert not any("variation" in p.name for p in done.written)


def test_credits_take_off_the_contract(tmp_path: Path) -> None:
    plain = price(run(tmp_path, "accepted"))
    done = run(tmp_path, "accepted", extras=[{**GATE, "Cost each": -50}])
    (variation,) = variations(of(done))
    assert variation.price < 0
    assert float(plain + variation.price) in shown(tmp_path / "yard-variation-V1.xlsx")
