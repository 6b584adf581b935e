"""Pricing arithmetic against published rules and identities."""

from __future__ import annotations

from decimal import Decimal

import pytest

from estimator.core.money import cents
from estimator.pricing.charges import Step, margin_of, markup_of, take_charges
from estimator.pricing.price import bill_of
from estimator.pricing.taxes import other_way
from estimator.rates.model import Origin, Tax
from estimator.takeoff.lines import make_line
from estimator.takeoff.model import Line

D = Decimal


def line(cost: str, kind: str = "material") -> Line:
    return make_line("x", "x", kind, D(1), "each", D(cost), "as typed")


def tax(rate: str, *kinds: str) -> Tax:
    return Tax("T", "tax", D(rate), kinds, True, Origin("taxes", 2))


@pytest.mark.parametrize(
    ("margin", "markup"),
    # Source: identity k = m / (1 - m), m = k / (1 + k); derived.
    [("0.10", "0.11111"), ("0.20", "0.25"), ("0.25", "0.33333"), ("0.30", "0.42857"), ("0.50", "1.0")],
)
def test_margin_and_markup_are_two_names_of_one_profit(margin: str, markup: str) -> None:
    assert abs(markup_of(D(margin)) - D(markup)) < D("0.00001")
    assert abs(margin_of(markup_of(D(margin))) - D(margin)) < D("1e-20")


def test_a_markup_of_15_per_cent_is_a_margin_of_13_0435() -> None:
    # Source: m = k / (1 + k); derived.
    assert abs(margin_of(D("0.15")) - D("0.130435")) < D("0.000001")


def test_twenty_per_cent_of_80000_by_margin_and_by_markup() -> None:
    # Source: a contractor's question in public: 80,000 at 20 % was quoted 96,000 and needed 100,000.
    lines = [line("80000")]
    by_margin = bill_of(lines, [Step("margin", "price", D("0.20"))], [], by_line=False).totals
    by_markup = bill_of(lines, [Step("markup", "running", D("0.20"))], [], by_line=False).totals
    assert (by_margin.price, by_margin.markup) == (D("100000.00"), D("0.25"))
    assert by_markup.price == D("96000.00")
    assert by_markup.margin is not None
    assert abs(by_markup.margin - D("0.1667")) < D("0.0001")


@pytest.mark.parametrize(("by_line", "expected"), [(False, "0.17"), (True, "0.18")])
def test_both_legal_roundings_of_goods_and_services_tax(by_line: bool, expected: str) -> None:
    # Source: A New Tax System (Goods and Services Tax) Act 1999 (Australia), s 9-90: the sum unrounded and then
    # rounded, or each line rounded and then summed, 0.5 of a cent up. Three lines of 0.55 at 10 %: derived.
    bill = bill_of([line("0.55")] * 3, [], [tax("0.10")], by_line)
    assert bill.totals.tax == D(expected)


@pytest.mark.parametrize(("amount", "rounded"), [("0.165", "0.17"), ("1.005", "1.01"), ("0.0049", "0.00")])
def test_half_a_cent_goes_up(amount: str, rounded: str) -> None:
    # Source: the same act and HMRC VATREC12030: under half a penny down, half and over up.
    assert cents(D(amount)) == D(rounded)


def test_line_products_of_a_bill_of_1908() -> None:
    # Source: Gillette and Hill, Concrete Construction Methods and Costs, 1908: line products that do check.
    rows = [
        ("441", "0.70", "308.70"),
        ("182.5", "0.55", "100.38"),  # printed 100.37(5)
        ("2398", "0.15", "359.70"),
        ("4002", "0.15", "600.30"),
        ("800", "0.125", "100.00"),
        ("997", "0.225", "224.33"),
        ("542", "0.225", "121.95"),
        ("458", "0.15", "68.70"),
    ]
    for quantity, rate, cost in rows:
        assert make_line("x", "x", "labour", D(quantity), "h", D(rate), "w").cost == D(cost)


def test_printed_slips_of_that_bill_do_not_come_out() -> None:
    # Source: the same book prints 453.60, 77.40 and 171.00 for these three products.
    for quantity, rate, cost in (("536", "0.85", "455.60"), ("224", "0.35", "78.40"), ("460", "0.35", "161.00")):
        assert make_line("x", "x", "labour", D(quantity), "h", D(rate), "w").cost == D(cost)


# Source: the same book, a retaining wall: materials, laying, lumber, forms, handling, barrows, superintendence.
WALL = ("862.67", "437.10", "205.33", "224.33", "71.00", "15.75", "35.00")


def test_a_bill_of_1908_adds_up_to_what_it_prints() -> None:
    bill = bill_of([line(cost) for cost in WALL], [], [], by_line=False)
    assert bill.totals.cost == D("1851.18")  # printed
    more = bill_of([*bill.lines, line("190.65"), line("895.30")], [], [], by_line=False)  # bridge work, excavation
    assert more.totals.price == D("2937.13")  # printed


def test_its_per_cents_come_from_its_own_costs() -> None:
    # Source: the same book prints 46.7, 23.4, 11.3, 12.3, 3.8, 1.0 and 1.5, which do not follow from its costs.
    whole = sum(map(D, WALL), D(0))
    shares = [cents(D(cost) * 100 / whole) for cost in WALL]
    assert shares == list(map(D, ("46.60", "23.61", "11.09", "12.12", "3.84", "0.85", "1.89")))  # derived
    assert sum(shares, D(0)) == 100


@pytest.mark.parametrize(("rate", "uses", "each"), [("220", "10", "22.00")])
def test_timber_that_is_used_again_costs_its_part(rate: str, uses: str, each: str) -> None:
    # Source: a course on costing: shoring timber at 220 a square metre, used 10 times: 22.00 a square metre.
    assert make_line("x", "x", "hire", 1 / D(uses), "m2", D(rate), "w").cost == D(each)


def test_steps_run_one_after_another_each_rounded_once() -> None:
    # Source: the promise of the charges table: rate x what it is taken on, half up to the cent.
    lines = [line("100.05"), line("50.10", "labour")]
    steps = [
        Step("overhead", "cost", D("0.08")),
        Step("on labour", "labour", D("0.10")),
        Step("margin", "price", D("0.20")),
        Step("discount", "running", D("0.05")),
        Step("rounding", "step", D("5")),
    ]
    amounts = [c.amount for c in take_charges(lines, steps)]
    # 150.15 x 8 % = 12.012; 50.10 x 10 % = 5.01; 167.17 x 0.2 / 0.8 = 41.7925; 208.96 x -5 % = -10.448; to 200
    assert amounts == [D("12.01"), D("5.01"), D("41.79"), D("-10.45"), D("1.49")]


@pytest.mark.parametrize("kind", ["material", "labour", "hire", "subcontract", "fee"])
def test_each_kind_can_carry_a_charge_of_its_own(kind: str) -> None:
    # 10 % on one kind only; `material` and `materials` are one
    costs = {"material": "100", "labour": "200", "hire": "300", "subcontract": "400", "fee": "500"}
    lines = [line(cost, k) for k, cost in costs.items()]
    for word in {kind, "materials" if kind == "material" else kind}:
        taken = take_charges(lines, [Step("on it", word, D("0.10"))])
        assert (taken[0].base, taken[0].amount) == (cents(D(costs[kind])), cents(D(costs[kind]) / 10))


def test_several_taxes_each_on_its_kinds() -> None:
    bill = bill_of([line("60"), line("40", "fee")], [], [tax("0.10"), tax("0.05", "fee")], by_line=False)
    assert [t.amount for t in bill.taxes] == [D("10.00"), D("2.00")]
    assert bill.totals.tax == D("12.00")


@pytest.mark.parametrize("by_line", [False, True])
def test_the_other_way_to_take_a_tax_is_known(by_line: bool) -> None:
    # Source: the same act: three lines of 0.55 at 10 % are 0.17 on the total and 0.18 by line.
    bill = bill_of([line("0.55")] * 3, [], [tax("0.10")], by_line)
    assert {bill.totals.tax, other_way(bill)} == {D("0.17"), D("0.18")}
    assert other_way(bill_of([line("0.50")] * 3, [], [tax("0.10")], by_line)) == D("0.15")


@pytest.mark.parametrize(
    ("pence", "rounded"),
    # Source: HMRC VATREC12030: under 0.5 of a penny down, 0.5 and over up.
    [("1.0049", "1.00"), ("1.005", "1.01"), ("1.0051", "1.01"), ("0.9949", "0.99")],
)
def test_value_added_tax_is_rounded_to_the_penny(pence: str, rounded: str) -> None:
    assert cents(D(pence)) == D(rounded)


def test_a_tax_falls_on_its_kinds_only() -> None:
    bill = bill_of(
        [line("60"), line("40", "labour")], [Step("margin", "price", D("0.5"))], [tax("0.10", "labour")], by_line=False
    )
    assert (bill.taxes[0].base, bill.taxes[0].amount) == (D("80.00"), D("8.00"))
