"""The range of a job's price: what moves it and by how much, from the rate book through charges and taxes."""

from __future__ import annotations

import time
from collections.abc import Mapping
from decimal import Decimal
from itertools import pairwise
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.core.money import cents, from_float
from estimator.pricing.chance import Spread, Uncertain, by_formula, simulate, simulate_all
from estimator.pricing.charges import Step
from estimator.pricing.model import PricedJob, PriceRange
from estimator.pricing.price import bill_of
from estimator.pricing.price_range import before_tax_factor, price_factor, price_range, why_not
from estimator.pricing.three_point import mean, value_at, value_at_score, variance
from estimator.rates.model import Origin, Tax
from estimator.report.json_out import job_data
from estimator.takeoff.lines import make_line
from estimator.takeoff.model import Line
from tests.build import option, run, square, write_job
from tests.rate_books import edit, setting
from tests.rates.with_ends import with_ends, without_ranges, without_settings

D = Decimal
KINDS = ("material", "labour", "hire", "subcontract", "fee")
TRAVEL, BRACE = "travel, km and hours", "set and brace post, hours"


def yard(
    tmp_path: Path,
    name: str = "job",
    job: Mapping[str, Any] | None = None,
    ground: str = "clay",
    sites: int = 1,
    travel: float = 10,
    rock_at: float | None = None,
    extras: Any = (),
) -> Path:
    """Four posts round one sail, on each of some sites."""
    names = [f"Yard {n}" if n else "Yard" for n in range(sites)]
    return write_job(
        tmp_path / f"{name}.xlsx",
        job={"Tax": "ST", **(job or {})},
        sites=[{"Site": n, "Ground": ground, "Access": "easy", "Travel": travel, "Rock at": rock_at} for n in names],
        fixings=[{**f, "Site": n} for n in names for f in square(5)],
        options=[{**option("A B C D", "SQ-4000"), "Site": n} for n in names],
        extras=extras,
    )


def priced(path: Path, rates: Path | None = None) -> PricedJob:
    outcome = run(path, rates)
    assert outcome.priced is not None, outcome.problems
    return outcome.priced


def ranged(path: Path, rates: Path | None = None) -> PriceRange:
    found = priced(path, rates).ranged
    assert found is not None
    return found


def weight(found: PriceRange, name: str) -> Decimal:
    return next(r.weight for r in found.rows if r.name == name)


# --- through charges and taxes ---------------------------------------------------------------------------------------

lines_of = st.lists(st.tuples(st.sampled_from(KINDS), st.integers(100, 500_000)), min_size=1, max_size=6)
rates_of = st.integers(0, 4000).map(lambda n: D(n) / 10_000)
steps_of = st.lists(
    st.tuples(
        st.sampled_from(("materials", "labour", "hire", "subcontract", "fee", "cost", "running", "price")), rates_of
    ),
    max_size=5,
)
taxes_of = st.lists(st.tuples(rates_of, st.just(())), max_size=2)
some_kinds = st.lists(
    st.tuples(rates_of, st.lists(st.sampled_from(KINDS), min_size=1, unique=True).map(tuple)), max_size=2
)


def line(kind: str, money: Decimal) -> Line:
    return make_line("X", "x", kind, D(1), "each", money, "")


def bill(lines: Any, steps: Any, taxes: Any, by_line: bool = False) -> Any:
    return bill_of(
        [line(kind, D(c) / 100) for kind, c in lines],
        [Step("discount" if i == 3 else f"s{i}", on, rate) for i, (on, rate) in enumerate(steps)],
        [Tax(str(i), str(i), rate, kinds, True, Origin("taxes", i)) for i, (rate, kinds) in enumerate(taxes)],
        by_line,
    )


@settings(max_examples=150, deadline=None)
@given(lines_of, steps_of, taxes_of, st.booleans(), st.integers(-20_000, 20_000), st.data())
def test_money_on_a_line_moves_the_price_by_its_factor(
    lines: Any, steps: Any, taxes: Any, by_line: bool, more: int, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(lines) - 1))
    before = bill(lines, steps, taxes, by_line)
    kind, money = lines[at]
    after = bill([*lines[:at], (kind, money + more), *lines[at + 1 :]], steps, taxes, by_line)
    change = D(more) / 100
    # each step and tax of either bill is rounded to the cent, and what is taken on a running sum carries it on
    slack = D("0.01") * (len(steps) + len(taxes) * (1 + len(lines)) + 1) * 4
    for field, factor in (("price_before_tax", before_tax_factor), ("price", price_factor)):
        moved = getattr(after.totals, field) - getattr(before.totals, field)
        assert abs(moved - factor(before, kind) * change) <= slack


@settings(max_examples=100, deadline=None)
@given(lines_of, steps_of, some_kinds, st.data())
def test_a_tax_on_some_kinds_moves_with_their_part_of_the_cost(
    lines: Any, steps: Any, taxes: Any, data: st.DataObject
) -> None:
    # the slope at the price as it is, against the exact price of a little more cost, without any rounding
    at = data.draw(st.integers(0, len(lines) - 1))
    before = bill(lines, steps, taxes)
    kind = lines[at][0]
    small = D("0.0001")

    def exact(more: Decimal) -> Decimal:
        cost = {k: sum((D(c) / 100 for kk, c in lines if kk == k), D(0)) for k in KINDS}
        cost[kind] += more
        running = whole = sum(cost.values(), D(0))
        for i, (on, rate) in enumerate(steps):
            rate = -rate if i == 3 else rate
            base = {"cost": whole, "running": running, "price": running}.get(on)
            if base is None:
                base = cost["material" if on == "materials" else on]
            running += base * rate / (1 - rate) if on == "price" else base * rate
        taxed = sum((rate * running * sum((cost[k] for k in kinds), D(0)) / whole for rate, kinds in taxes), D(0))
        return running + taxed

    slope = (exact(small) - exact(-small)) / (2 * small)
    # the factor uses the price as rounded to the cent
    assert price_factor(before, kind) == pytest.approx(slope, rel=D("0.001"), abs=D("0.001"))


def test_the_charges_of_the_default_book_by_hand() -> None:
    # overhead 8 % and contingency 5 % on the cost, margin 20 % on the price, tax 10 %: 1.13 / 0.8 x 1.1
    made = bill(
        [("labour", 10_000)], [("cost", D("0.08")), ("cost", D("0.05")), ("price", D("0.20"))], [(D("0.10"), ())]
    )
    assert before_tax_factor(made, "labour") == D("1.4125")
    assert price_factor(made, "labour") == D("1.55375")


def test_a_charge_on_one_kind_counts_for_that_kind_only() -> None:
    made = bill([("labour", 10_000), ("hire", 5_000)], [("labour", D("0.5")), ("running", D("0.1"))], [])
    assert (before_tax_factor(made, "labour"), before_tax_factor(made, "hire")) == (D("1.65"), D("1.1"))


def changed(book: Path, table: str, row: str, column: str, by: str) -> None:
    def change(rows: list[dict[str, str]]) -> None:
        name = next(iter(rows[0]))
        for r in rows:
            if r[name] == row:
                r[column] = str(D(r[column]) * D(by))

    edit(book / f"{table}.csv", change)


@pytest.mark.parametrize(
    ("ends", "table", "row", "column", "name"),
    [
        ({}, "labour", "set and brace post", "hours", BRACE),
        ({}, "labour", "tension corner", "hours", "tension corner, hours"),
        ({}, "ground", "clay", "hand hours per m3", "digging (ground clay), hours"),
        ({"trades": {"labourer": ("90", "120")}}, "trades", "labourer", "cost per hour", "labourer, cost of an hour"),
        ({"items": {"spoil-away": ("90", "150")}}, "items", "spoil-away", "price",
         "Spoil taken away and tipped, price"),
        ({"posts": {"LT-115": ("95", "130")}}, "posts", "LT-115", "price",
         "Laminated timber post 115 x 115, ground treated, price"),
    ],
)  # fmt: skip
def test_pricing_again_with_one_input_changed_gives_what_the_range_says(
    tmp_path: Path, ends: Any, table: str, row: str, column: str, name: str
) -> None:
    job = yard(tmp_path, job={"Contingency": "7 %", "Discount": "3 %"})
    book = with_ends(tmp_path / "book", ends)
    as_likely = priced(job, book)
    assert as_likely.ranged is not None
    more = with_ends(tmp_path / "more", ends)
    changed(more, table, row, column, "1.1")
    moved = priced(job, more).totals.price - as_likely.totals.price
    assert moved > D("0.5")
    assert abs(moved - weight(as_likely.ranged, name) * D("0.1")) <= D("0.06")  # lines and steps rounded to the cent


def test_a_longer_way_gives_what_the_range_says(tmp_path: Path) -> None:
    near, far = (priced(yard(tmp_path, str(km), travel=km)) for km in (10, 11))
    assert near.ranged is not None
    moved = far.totals.price - near.totals.price
    assert abs(moved - weight(near.ranged, TRAVEL) * D("0.1")) <= D("0.06")


def test_rock_below_and_soil_above_are_two_things(tmp_path: Path) -> None:
    found = ranged(yard(tmp_path, rock_at=0.4))
    names = {r.name: r for r in found.rows if r.name.startswith("digging")}
    assert set(names) == {"digging (ground clay), hours", "digging (ground rock), hours"}
    rock = names["digging (ground rock), hours"]
    assert (rock.low, rock.likely, rock.high, rock.group) == (0.5, 1.0, 3.0, "labourer")


def test_rows_of_all_that_is_chosen_are_drawn_once(tmp_path: Path) -> None:
    one, three = ranged(yard(tmp_path, "one")), ranged(yard(tmp_path, "three", sites=3))
    assert [r.name for r in three.rows] == [r.name for r in one.rows]
    for single, all_of_it in zip(one.rows, three.rows, strict=True):
        assert all_of_it.weight == pytest.approx(3 * single.weight)
    # one crew and one kind of ground: what takes longer here takes longer there
    assert float(three.price.sd) == pytest.approx(3 * float(one.price.sd), rel=1e-4)


def test_hours_typed_instead_are_known(tmp_path: Path) -> None:
    extra = {"Site": "Yard", "Description": "digging agreed", "Quantity": 9, "Unit": "h", "Cost each": 36,
             "Kind": "labour", "Visit": "footings", "Instead of": "dig"}  # fmt: skip
    names = [r.name for r in ranged(yard(tmp_path, extras=[extra])).rows]
    assert not any(n.startswith("digging") for n in names)
    assert BRACE in names


# --- the draws of a job ----------------------------------------------------------------------------------------------


def rows_alone(found: PriceRange) -> list[Uncertain]:
    return [Uncertain(r.name, r.low, r.likely, r.high, r.weight) for r in found.rows]


def test_mean_and_variance_of_a_job_of_independent_rows_within_three_standard_errors(tmp_path: Path) -> None:
    book = with_ends(tmp_path / "book", {"items": {"spoil-away": ("80", "200")}})
    edit(book / "settings.csv", setting("range correlation", "0"))
    job = yard(tmp_path)
    for seed in ("1", "7", "123456"):
        edit(book / "settings.csv", setting("range seed", seed))
        result = priced(job, book)
        found = result.ranged
        assert found is not None
        assert len(found.rows) >= 6
        middle, deviation = by_formula(rows_alone(found), result.totals.price)
        drawn = found.price.drawn
        assert len(drawn) == 20_000
        assert abs(float(found.price.mean - middle)) < 3 * float(deviation) / sqrt(20_000) + 0.005
        fourth = sum((x - float(middle)) ** 4 for x in drawn) / 20_000
        error = sqrt((fourth - float(deviation) ** 4) / 20_000)
        assert abs(float(found.price.sd) ** 2 - float(deviation) ** 2) < 3 * error


def test_the_same_seed_gives_the_same_figures_and_another_other_ones(tmp_path: Path) -> None:
    job = yard(tmp_path)
    one, two = ranged(job), ranged(job)
    assert one == two
    assert one.price.low10 < one.price.middle50 < one.price.high90
    other = with_ends(tmp_path / "book", {})
    edit(other / "settings.csv", setting("range seed", "2"))
    assert ranged(job, other).price.drawn != one.price.drawn
    assert ranged(job, other).price.movers == one.price.movers  # worked out, not drawn


@pytest.mark.parametrize("correlation", ["0", "0.5", "1"])
def test_a_wider_row_never_narrows_the_range(tmp_path: Path, correlation: str) -> None:
    job, found = yard(tmp_path), []
    for n, ends in enumerate([("95", "110"), ("80", "150"), ("60", "220"), ("40", "400")]):
        book = with_ends(tmp_path / f"book{n}", {"labour": {"set and brace post": ends}})
        edit(book / "settings.csv", setting("range correlation", correlation))
        found.append(ranged(job, book))
    for narrow, wide in pairwise(found):
        assert wide.price.sd > narrow.price.sd
        assert wide.price.high90 - wide.price.low10 >= narrow.price.high90 - narrow.price.low10
        assert wide.price.high90 >= narrow.price.high90
        assert wide.justified is not None
        assert narrow.justified is not None
        assert wide.justified >= narrow.justified


def test_cost_and_price_are_of_the_same_draws(tmp_path: Path) -> None:
    result = priced(yard(tmp_path))
    found, totals = result.ranged, result.totals
    assert found is not None
    # default charges: every kind of cost comes to the price by the same factor
    for share in (0.05, 0.5, 0.95):
        cost = float(found.cost.at(share) - totals.cost)
        assert float(found.before_tax.at(share) - totals.price_before_tax) == pytest.approx(cost * 1.13 / 0.8, abs=0.03)
        assert float(found.price.at(share) - totals.price) == pytest.approx(cost * 1.13 / 0.8 * 1.1, abs=0.03)


def test_the_contingency_that_is_justified_is_enough_as_often_as_asked(tmp_path: Path) -> None:
    job = yard(tmp_path)
    for chance in ("50", "80", "95"):
        book = with_ends(tmp_path / chance, {})
        edit(book / "settings.csv", setting("range chance", chance))
        result = priced(job, book)
        found = result.ranged
        assert found is not None
        assert found.justified is not None
        enough = found.cost.chance(result.totals.cost + found.justified)
        assert enough == pytest.approx(int(chance) / 100, abs=2e-3)
        assert found.contingency == cents(result.totals.cost * D("0.05"))
        assert found.enough == found.cost.chance(result.totals.cost + found.contingency)
        assert found.covered >= found.enough


def test_more_contingency_is_enough_more_often(tmp_path: Path) -> None:
    found = [ranged(yard(tmp_path, str(n), job={"Contingency": f"{n} %"})) for n in (0, 1, 2, 5)]
    assert found[0].contingency == 0
    assert [f.justified for f in found] == [found[0].justified] * 4
    assert [f.enough for f in found] == sorted(f.enough for f in found)
    assert found[0].enough < found[-1].enough


def test_a_price_below_cost_is_rarely_enough(tmp_path: Path) -> None:
    kept = ranged(yard(tmp_path, "kept"))
    given_away = ranged(yard(tmp_path, "given", job={"Margin": "0 %", "Contingency": "0 %", "Discount": "2 %"}))
    assert given_away.covered < 0.2 < kept.covered


# --- where there is none ---------------------------------------------------------------------------------------------


def test_an_older_book_has_no_range_and_the_same_price(tmp_path: Path) -> None:
    job = yard(tmp_path)
    older = priced(job, without_ranges(tmp_path / "book"))
    assert older.ranged is None
    assert why_not(older).startswith("No row of the rate book has a low or high value")
    assert older.totals == priced(job).totals
    assert "range" not in job_data(older)


def test_settings_that_lack_are_named(tmp_path: Path) -> None:
    book = with_ends(tmp_path / "book", {})
    without_settings(book, ["range seed", "range chance"])
    found = priced(yard(tmp_path), book)
    assert found.ranged is None
    assert why_not(found) == "The rate book lacks the settings range seed, range chance, so the price has no range."


def test_what_is_used_has_to_vary(tmp_path: Path) -> None:
    kept = ("range seed", "range draws", "range correlation", "range chance")
    book = without_ranges(tmp_path / "book", kept)
    ends = with_ends(tmp_path / "other", {"posts": {"RT-200": ("90", "150")}})
    (book / "posts.csv").write_bytes((ends / "posts.csv").read_bytes())
    found = priced(yard(tmp_path), book)
    assert found.ranged is None
    assert why_not(found).startswith("Nothing that this job uses has a low or high value")


def test_nothing_is_drawn_where_nothing_chosen_has_a_price(tmp_path: Path) -> None:
    path = write_job(
        tmp_path / "open.xlsx",
        fixings=square(5),
        options=[option("A B C D", "SQ-4000", name="one"), option("A B C D", "SQ-4000", name="two")],
    )
    found = priced(path)
    assert found.ranged is None
    assert why_not(found) == "Nothing that is chosen has a price."
    assert price_range(found) is None


# --- as data ---------------------------------------------------------------------------------------------------------


def test_the_json_tells_it(tmp_path: Path) -> None:
    result = priced(yard(tmp_path))
    data = job_data(result)["range"]
    assert {"low10", "middle50", "high90", "mean", "sd", "seed", "draws", "contingency", "movers"} <= set(data)
    low, middle, high = (D(data[k]) for k in ("low10", "middle50", "high90"))
    assert low <= middle <= high
    assert low < result.totals.price < high
    assert (data["seed"], data["draws"]) == (1, 20_000)
    assert 0 < D(data["contingency"]) < 1
    assert abs(D(data["contingency_in_price"]) - D("0.05")) < D("0.00001")  # rounded to the cent
    assert 1 <= len(data["movers"]) <= 5
    swings = [D(m["at_high"]) - D(m["at_low"]) for m in data["movers"]]
    assert swings == sorted(swings, reverse=True)
    assert all(D(m["at_low"]) < 0 < D(m["at_high"]) for m in data["movers"])
    assert D(data["cost"]["high90"]) < D(data["before_tax"]["high90"]) < high


# --- quick draws -----------------------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-50, 50), min_size=3, max_size=3, unique=True).map(sorted))
def test_draws_by_score_are_those_of_the_distribution(ends: list[float]) -> None:
    import numpy as np
    from scipy.special import ndtr

    scores = np.linspace(-8.2, 8.2, 333)
    low, likely, high = ends
    quick, exact = value_at_score(low, likely, high, scores), value_at(low, likely, high, ndtr(scores))
    assert abs(quick - exact).max() <= 1e-4 * (high - low)
    assert (np.diff(quick) >= 0).all()


def test_sixty_rows_are_drawn_at_once() -> None:
    rows = [Uncertain(f"r{i}", 0.5 + 0.004 * i, 1, 1.5 + 0.02 * i, D(100 + i), f"g{i % 3}") for i in range(60)]
    sums = [(D(10_000), [r.weight for r in rows])] * 3
    took = []
    for _ in range(4):
        start = time.perf_counter()
        found = simulate_all(rows, sums)
        took.append(time.perf_counter() - start)
    assert all(isinstance(s, Spread) for s in found)
    assert min(took) < 0.15


def test_several_sums_of_the_same_draws() -> None:
    rows = [Uncertain("a", 1, 3, 9, D(10), "soil"), Uncertain("b", 2, 4, 5, D(7), "soil")]
    doubled = [2 * r.weight for r in rows]
    both = simulate_all(rows, [(D(100), [r.weight for r in rows]), (D(200), doubled)], 5000)
    one, two = both
    assert isinstance(one, Spread)
    assert isinstance(two, Spread)
    assert one == simulate(rows, D(100), 5000)
    assert two.drawn == pytest.approx([2 * x for x in one.drawn])
    exact = from_float(2 * 10 * (mean(1, 3, 9) - 3) + 2 * 7 * (mean(2, 4, 5) - 4)) + 200
    assert float(two.mean - exact) == pytest.approx(0, abs=3 * 2 * (10 * sqrt(variance(1, 3, 9)) + 7) / sqrt(5000))
