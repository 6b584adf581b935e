"""Money, names and problems: the small rules that everything else stands on."""

from __future__ import annotations

import ast
from collections import Counter
from decimal import Decimal
from pathlib import Path
from string import Formatter

import pytest
from hypothesis import given
from hypothesis import strategies as st

import estimator
from estimator.core import catalogue
from estimator.core.money import cents, from_float, plain, share_out, to_step
from estimator.core.names import as_text, key
from estimator.core.problems import Place, did_you_mean, problem, scoped, worst_first

MONEY = st.decimals(-(10**7), 10**7, places=4)


def test_half_a_cent_goes_up_and_away_from_zero() -> None:
    # A New Tax System (Goods and Services Tax) Act 1999 (AU), section 9-90: to the nearest cent, 0.5 cents upwards.
    assert cents(Decimal("0.165")) == Decimal("0.17")
    assert cents(Decimal("-0.165")) == Decimal("-0.17")
    assert cents(from_float(3 * 0.055)) == Decimal("0.17")
    assert str(cents(Decimal("-0.001"))) == "0.00"


@given(MONEY)
def test_cents_are_within_half_a_cent(amount: Decimal) -> None:
    assert abs(cents(amount) - amount) <= Decimal("0.005")
    assert cents(-amount) == -cents(amount)


@given(MONEY, st.sampled_from(["0.05", "1", "5", "10", "100"]))
def test_steps(amount: Decimal, step: str) -> None:
    rounded = to_step(amount, Decimal(step))
    assert rounded % Decimal(step) == 0
    assert abs(rounded - amount) <= Decimal(step) / 2


@given(MONEY.map(cents), st.lists(st.decimals(0, 1000, places=2), max_size=8))
def test_shares_add_up(total: Decimal, weights: list[Decimal]) -> None:
    shares = share_out(total, weights)
    assert len(shares) == len(weights)
    assert not weights or sum(shares) == total


@given(st.floats(-1e9, 1e9))
def test_the_gate_from_float_keeps_fifteen_digits(value: float) -> None:
    assert float(from_float(value)) == pytest.approx(value, rel=1e-14)
    assert Decimal(plain(from_float(value))) == from_float(value)
    assert "E" not in plain(from_float(value))


def test_names_are_one_without_case_width_or_space() -> None:
    assert {key(n) for n in ("S1", "s1 ", " S1\u00a0", "Ｓ1", "S\u200b1")} == {"s1"}
    assert {key(n) for n in (1, 1.0, "1", "1.0", " 1.00")} == {"1"}
    assert key("1.5") == "1.5"
    assert key(None) == ""
    assert (as_text(2.0), as_text(2.5), as_text(None), as_text(" a ")) == ("2", "2.5", "", "a")


@given(st.text(max_size=20))
def test_a_key_is_its_own_key(name: str) -> None:
    assert key(key(name)) == key(name)


def test_problems_keep_what_they_touch() -> None:
    first = problem("blank", Place("job.xlsx", "Sites", "A5"), column="Ground", site="North")
    note = problem("sheet-hidden", Place("job.xlsx", "Sites"))
    assert [p.site for p in scoped([first, note], site="South", option="1")] == ["North", "South"]
    assert worst_first([note, first]) == [first, note]
    assert str(Place("job.xlsx")) == "job.xlsx"
    with pytest.raises(KeyError):
        problem("no-such-code")
    assert did_you_mean("xyz", ["sand", "clay"]) == ""


SECTIONS = ("CELLS", "FILES", "RATES", "JOB", "GEOMETRY", "TAKEOFF", "PRICING", "REPORT")


def test_every_code_stands_once_and_says_a_sentence() -> None:
    codes = Counter(code for section in SECTIONS for code in getattr(catalogue, section))
    assert [code for code, count in codes.items() if count > 1] == []
    for code, (level, text) in catalogue.CATALOGUE.items():
        assert code == code.lower().replace("_", "-")
        assert level in ("error", "warning", "note")
        assert all(name is None or name.isidentifier() for _, name, _, _ in Formatter().parse(text)), code
        assert text.rstrip().endswith((".", "}", "?", ")")), code


def test_every_code_that_is_used_is_in_the_catalogue() -> None:
    used = set()
    for path in Path(estimator.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "problem":
                first = node.args[0]
                if isinstance(first, ast.Constant):
                    used.add(first.value)
    assert len(used) > 30
    assert used - set(catalogue.CATALOGUE) == set()
