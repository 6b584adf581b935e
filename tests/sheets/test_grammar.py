"""What can be typed in a number cell, and what becomes of it: a value, a question or an error, never silence."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.problems import Place
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column
from estimator.sheets.grammar import Context, read_value

PLACE = Place("job.xlsx", "Walls", "D7")
THIRD_OF_APRIL = datetime.fromisoformat("2026-04-03")
KINDS = {
    str: "text",
    bool: "bool",
    int: "number",
    float: "number",
    datetime: "date",
    time: "time",
    timedelta: "time",
}
WIDTH = Column("Length", "length", low=0.3, high=200)
ACROSS = Column("Across", "length", low=-500, high=500)
QUANTITY = Column("Quantity", "number", low=0, high=1_000_000)
WHOLE = Column("Existing sails", "whole", low=0, high=99)
MARGIN = Column("Margin", "percent", low=0, high=0.99)
MARKUP = Column("Markup", "percent", low=0, high=20)
COST = Column("Cost each", "money", low=-10_000_000, high=10_000_000)
WIND = Column("Wind speed", "speed", low=1, high=120)
DAY = Column("Priced on", "date")
TIED = Column("Tied", "yes")
DIGGING = Column("Digging", "choice", choices=("hand", "auger", "excavator"))
NEAR = Column("Near", "choices", choices=("pool", "power line", "glass"))
CORNERS = Column("Corners at", "names")
SITE = Column("Site", "name", required=True)
NOTES = Column("Notes")


def read(
    value: object, column: Column, unit: str = "", context: Context | None = None, number_format: str = "General"
) -> tuple[object, list[str]]:
    """Value and codes of a cell that holds this."""
    cell = value if isinstance(value, Cell) else Cell(value, KINDS[type(value)], None, number_format)
    found, problems = read_value(cell, column, unit, context or Context(), PLACE)
    assert all(p.place == PLACE and p.message.startswith("Walls!D7: ") for p in problems)
    return found, [p.code for p in problems]


# Typed text; what it is as a width in metres (low 0.3, high 200), and as a plain number: a value or a problem's code.
TYPED = [
    ("2,9", 2.9, 2.9),
    ("2.9", 2.9, 2.9),
    ("1 200", "out-of-bounds", 1200.0),
    ("1\u00a0200", "out-of-bounds", 1200.0),
    ("1\u2009200,5", "out-of-bounds", 1200.5),
    ("1\u202f200 mm", 1.2, "unit-not-wanted"),
    ("1,200.50", "out-of-bounds", 1200.5),
    ("1.200,50", "out-of-bounds", 1200.5),
    ("1,234,567", "out-of-bounds", "out-of-bounds"),
    ("2.9m", 2.9, "unit-not-wanted"),
    ("2900MM", 2.9, "unit-not-wanted"),
    ("2.9 M", 2.9, "unit-not-wanted"),
    ("290 cm", 2.9, "unit-not-wanted"),
    ("½", 0.5, 0.5),
    ("2 ½", 2.5, 2.5),
    ("2½", 2.5, 2.5),
    ("2 1/2", 2.5, 2.5),
    ("2 1⁄2", 2.5, 2.5),
    ("5' 6\"", 1.6764, "unit-not-wanted"),
    ("5ft 6in", 1.6764, "unit-not-wanted"),
    ("9 ft 6 1/2 in", 2.9083, "unit-not-wanted"),
    ("9'-6\"", 2.8956, "unit-not-wanted"),
    ("9’ 6”", 2.8956, "unit-not-wanted"),
    ("9′ 6½″", 2.9083, "unit-not-wanted"),
    ("9'", 2.7432, "unit-not-wanted"),
    ("12 ft 12 in", "inches", "inches"),
    ("２.９", 2.9, 2.9),
    ("\u22123", "out-of-bounds", "out-of-bounds"),
    ("  7  ", 7.0, 7.0),
    ("\u200b7\ufeff", 7.0, 7.0),
    ("3\n", 3.0, 3.0),
    ("3\n4", "not-a-number", "not-a-number"),
    ("٣", "not-a-number", "not-a-number"),
    ("3e2", "not-a-number", "not-a-number"),
    ("10%", "unit-wrong-kind", "unit-not-wanted"),
    ("TBC", "not-a-number", "not-a-number"),
    ("-", "not-a-number", "not-a-number"),
    ("n/a", "not-a-number", "not-a-number"),
    ("?", "not-a-number", "not-a-number"),
    ("~3", "not-a-number", "not-a-number"),
    ("3-4", "ask-range", "ask-range"),
    ("3/4", "ask-range", "ask-range"),
    ("3–4 m", "ask-range", "ask-range"),
    ("nan", "not-a-number", "not-a-number"),
    ("inf", "not-a-number", "not-a-number"),
    ("1_000", "not-a-number", "not-a-number"),
    ("0x10", "not-a-number", "not-a-number"),
    ("9**9**9**9", "not-a-number", "not-a-number"),
    ("2²", "unit-unknown", "not-a-number"),
    ("1 2", "not-a-number", "not-a-number"),
    ("1.2.3", "not-a-number", "not-a-number"),
    ("3 m2", "unit-wrong-kind", "unit-not-wanted"),
    ("5 kg", "unit-wrong-kind", "unit-not-wanted"),
    ("5 bananas", "unit-unknown", "not-a-number"),
    ("=1+1", "not-a-number", "not-a-number"),
]


@pytest.mark.parametrize(("typed", "width", "number"), TYPED)
def test_typed_text_is_a_value_or_a_problem(typed: str, width: object, number: object) -> None:
    for column, expected in ((WIDTH, width), (QUANTITY, number)):
        found, codes = read(typed, column)
        codes = [c for c in codes if c != "read-in-unit"]
        if isinstance(expected, float):
            assert (found, codes) == (pytest.approx(expected, abs=1e-9), [])
        else:
            assert (found, codes) == (None, [expected])


def test_one_separator_with_three_digits_is_asked_unless_bounds_or_the_job_say() -> None:
    assert read("1.200", QUANTITY) == (None, ["ask-number"])
    assert read("1,200", COST) == (None, ["ask-number"])
    assert read("1.200", ACROSS, "mm") == (None, ["ask-number"])
    assert read("1.200 m", WIDTH) == (1.2, ["read-as"])
    assert read("1,200 mm", WIDTH) == (1.2, ["read-as"])
    assert read("1,200", WHOLE) == (None, ["out-of-bounds"])
    assert read("0,200", QUANTITY) == (0.2, [])
    for mark, point, comma in (("point", 1.2, 1200.0), ("comma", 1200.0, 1.2)):
        context = Context(decimal_mark=mark)
        assert read("1.200", QUANTITY, context=context) == (point, [])
        assert read("1,200", QUANTITY, context=context) == (comma, [])


def test_units_come_from_the_text_the_heading_the_job_in_that_order() -> None:
    feet = Context("feet and inches")
    assert read(2900, WIDTH, "mm") == (2.9, [])
    assert read("2.9 m", WIDTH, "mm") == (2.9, [])
    assert read(2.9, WIDTH) == (2.9, ["read-in-unit"])
    assert read(10, WIDTH, "", feet) == (3.048, ["read-in-unit"])
    assert read(10, WIDTH, "m", feet) == (10.0, [])
    assert read("3/4", Column("Size", "length"), "in") == (0.01905, [])
    assert read(2.9, WIDTH, "kg") == (None, ["unit-wrong-kind"])
    assert read("18 miles", Column("Travel", "distance"))[0] == pytest.approx(28.968192)
    assert read(18, Column("Travel", "distance")) == (18.0, [])
    assert read("5°", Column("Lean", "angle", low=0, high=30)) == (5.0, [])
    assert read("2.35 kN", Column("working load", "force")) == (2350.0, [])
    assert read("320 kg", Column("working load", "force")) == (None, ["unit-wrong-kind"])
    assert read(166.67, Column("section modulus", "section"), "cm3")[0] == pytest.approx(166.67e-6)


def test_a_value_out_of_bounds_says_the_likely_slip() -> None:
    _, problems = read_value(Cell(2900, "number"), WIDTH, "m", Context(), PLACE)
    assert problems[0].message == (
        "Walls!D7: 2900 m? 'Length' lies between 0.3 m and 200 m; check the number and its unit. "
        "Did you mean 2.9 m (2900 mm)?"
    )
    _, problems = read_value(Cell(3.5, "number"), WIDTH, "mm", Context(), PLACE)
    assert "Did you mean 3.5 m?" in problems[0].message
    _, problems = read_value(Cell("410 m/s", "text"), WIND, "", Context(), PLACE)
    assert "(410 km/h)" in problems[0].message


def test_float_noise_is_gone() -> None:
    assert read(0.1 + 0.2, WIDTH, "m") == (0.3, [])
    assert read(2900.0000000000005, WIDTH, "mm") == (2.9, [])


def test_the_unit_that_a_cell_shows() -> None:
    shown = '0" mm"'
    assert read(2900, ACROSS, "m", number_format=shown) == (None, ["unit-conflict", "out-of-bounds"])
    assert read(450, ACROSS, "m", number_format=shown) == (450.0, ["unit-conflict"])
    assert read(2900, WIDTH, "", number_format=shown) == (2.9, ["unit-shown"])
    assert read(2.9, WIDTH, "", number_format='0.00" m"') == (2.9, [])
    _, problems = read_value(Cell(450, "number", None, shown), ACROSS, "m", Context(), PLACE)
    assert "450 m or 450 mm" in problems[0].message


@pytest.mark.parametrize("column", [WIDTH, QUANTITY, WHOLE, MARGIN, COST, WIND], ids=lambda c: c.kind)
def test_dates_times_and_ticks_are_no_numbers(column: Column) -> None:
    assert read(THIRD_OF_APRIL, column, number_format="d-mmm") == (None, ["date-as-number"])
    assert read(time(12, 0), column, number_format="h:mm") == (None, ["time-as-number"])
    assert read(timedelta(hours=30), column, number_format="[h]:mm") == (None, ["time-as-number"])
    assert read(True, column) == (None, ["bool-as-number"])


def test_a_date_in_a_number_cell_says_what_was_probably_typed() -> None:
    _, problems = read_value(Cell(THIRD_OF_APRIL, "date", None, "d-mmm"), WIDTH, "", Context(), PLACE)
    assert "3/4 or 3-4, or 4/3 or 4-3" in problems[0].message
    assert "d-mmm" in problems[0].message


def test_per_cent_only_where_the_field_allows_it() -> None:
    assert read(0.1, WIDTH, number_format="0%") == (None, ["percent-as-number"])
    assert read(0.1, MARGIN, number_format="0.0%") == (Decimal("0.1"), [])
    assert read(0.1, WIDTH, number_format='0.0" 5% "') == (None, ["out-of-bounds"])


@pytest.mark.parametrize(
    ("value", "unit", "column", "expected", "codes"),
    [
        ("30 %", "", MARGIN, "0.3", []),
        ("30%", "", MARKUP, "0.3", []),
        ("2,5 %", "", MARGIN, "0.025", []),
        (30, "%", MARGIN, "0.3", []),
        (0.3, "%", MARGIN, "0.003", ["small-percent"]),
        ("0.3", "%", MARGIN, "0.003", ["small-percent"]),
        ("0.3 %", "%", MARGIN, "0.003", []),
        (0, "%", MARGIN, "0", []),
        (-0.3, "%", MARGIN, None, ["out-of-bounds"]),
        (0.3, "", MARGIN, "0.3", ["read-as-percent"]),
        (0, "", MARGIN, "0", []),
        (1, "", MARGIN, None, ["ask-percent"]),
        (1, "", MARKUP, None, ["ask-percent"]),
        ("1", "", MARKUP, None, ["ask-percent"]),
        (15, "", MARKUP, None, ["ask-percent"]),
        (30, "", MARGIN, None, ["out-of-bounds"]),
        (120, "%", MARGIN, None, ["out-of-bounds"]),
        ("30 m", "", MARGIN, None, ["unit-wrong-kind"]),
    ],
)
def test_per_cents(value: object, unit: str, column: Column, expected: str | None, codes: list[str]) -> None:
    found, said = read(value, column, unit)
    assert said == codes
    assert found == (None if expected is None else Decimal(expected))
    assert expected is None or isinstance(found, Decimal)


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("35", "35"),
        ("$35", "35"),
        ("-$5", "-5"),
        ("A$ 12.50", "12.50"),
        ("€ 1.200,50", "1200.50"),
        ("35,00 €", "35.00"),
        ("USD 1,200.00", "1200.00"),
        (0.1 + 0.2, "0.3"),
        (1e15, "1000000000000000"),
        ("(35)", None),
        ("12 m", None),
        ("1,200", None),
    ],
)
def test_money(typed: object, expected: str | None) -> None:
    found, codes = read(typed, COST)
    assert found == (None if expected is None else Decimal(expected)) or codes == ["out-of-bounds"]
    assert (expected is None) == bool(codes) or typed == 1e15


def test_a_speed_never_has_a_usual_unit() -> None:
    assert read(41, WIND) == (None, ["unit-needed"])
    assert read("41", WIND) == (None, ["unit-needed"])
    assert read(41, WIND, "m/s") == (41.0, [])
    assert read("36 km/h", WIND) == (10.0, [])
    assert read("100 mph", WIND)[0] == pytest.approx(44.704)
    for spelling in ("36 kn", "36 kt", "36 knots", "36 KN"):
        assert read(spelling, WIND)[0] == pytest.approx(18.52)
    assert read("36 kN", WIND) == (None, ["unit-wrong-kind"])


def test_dates() -> None:
    assert read(THIRD_OF_APRIL, DAY) == (date(2026, 4, 3), [])
    assert read("2026-04-03", DAY) == (date(2026, 4, 3), [])
    for typed in ("3/4/26", "03.04.2026", "2026/04/03", "3-4-2026"):
        assert read(typed, DAY) == (None, ["ask-date"])
    for typed in ("2026-02-30", "soon", 46115, True, time(3)):
        assert read(typed, DAY) == (None, ["not-a-date"])


def test_yes_and_no() -> None:
    for typed in ("yes", "Y", "x", " TRUE ", 1, True, "✓"):
        assert read(typed, TIED) == (True, [])
    for typed in ("no", "N", "False", 0, False, "   "):
        assert read(typed, TIED) == (False, [])
    assert read_value(None, TIED, "", Context(), PLACE) == (False, [])
    for typed in ("maybe", 2, "-"):
        assert read(typed, TIED) == (None, ["not-yes-or-no"])


def test_choices_give_the_declared_spelling() -> None:
    assert read(" AUGER ", DIGGING) == ("auger", [])
    _, problems = read_value(Cell("augur", "text"), DIGGING, "", Context(), PLACE)
    assert problems[0].message == (
        "Walls!D7: 'augur' in 'Digging' is not one of hand, auger, excavator; choose one of them. Did you mean 'auger'?"
    )
    assert read("Power_Line; pool", NEAR) == (("power line", "pool"), [])
    assert read("pool glass", NEAR) == (("pool", "glass"), [])
    assert read("pool, pond", NEAR) == (None, ["not-a-choice"])


def test_names() -> None:
    for typed in ("A B C", "A, B, C", "A;B ; C", "A\nB C"):
        assert read(typed, CORNERS) == (("A", "B", "C"), [])
    assert read(1.0, CORNERS) == (("1",), [])
    assert read(1.0, SITE) == ("1", [])
    assert read("S1 ", SITE) == ("S1", [])
    assert read(THIRD_OF_APRIL, SITE, number_format="d-mmm") == (None, ["date-as-name"])
    assert read(0.1, NOTES) == ("0.1", [])
    assert read(THIRD_OF_APRIL, NOTES) == ("2026-04-03", [])


def test_errors_and_formulas_without_a_result_are_named() -> None:
    for column in (WIDTH, QUANTITY, SITE, DIGGING, TIED, DAY):
        _, problems = read_value(Cell("#REF!", "error", "=B1*2"), column, "", Context(), PLACE)
        assert [p.code for p in problems] == ["error-cell"]
        assert "#REF!" in problems[0].message
        assert "=B1*2" in problems[0].message
    for column in (WIDTH, NOTES):
        _, problems = read_value(Cell(None, "uncalculated", "=B1*2"), column, "", Context(), PLACE)
        assert [p.code for p in problems] == ["uncalculated"]
        assert "save it" in problems[0].message
    assert read(Cell("#N/A", "error"), NOTES) == (None, ["error-text"])


def test_blank_cells_are_none() -> None:
    for column in (WIDTH, MARGIN, COST, DAY, DIGGING, CORNERS, SITE, NOTES):
        assert read_value(None, column, "", Context(), PLACE) == (None, [])
        assert read(" \u00a0\n", column) == (None, [])


SPACES = st.sampled_from([" ", "\u00a0", "\u2009", "\u202f", "\u2007"])


def spelled(number: int, decimals: int, group: str, mark: str) -> str:
    """A number written with its groups and its decimal mark."""
    whole, _, rest = f"{Decimal(number).scaleb(-decimals):,f}".partition(".")
    return whole.replace(",", group) + (mark + rest if rest else "")


@given(st.integers(0, 10**9), st.sampled_from([0, 1, 2, 4]), st.one_of(st.just(""), SPACES), st.sampled_from(".,"))
def test_a_number_in_any_accepted_spelling_reads_back(number: int, decimals: int, group: str, mark: str) -> None:
    found, codes = read(spelled(number, decimals, group, mark), Column("Quantity", "number"))
    assert found == pytest.approx(number / 10**decimals, rel=1e-15)
    assert codes == []


@given(st.integers(0, 10**9), st.sampled_from([1, 2]), st.sampled_from([(",", "."), (".", ",")]))
def test_groups_and_a_different_decimal_mark_read_back(number: int, decimals: int, marks: tuple[str, str]) -> None:
    found, codes = read(spelled(number, decimals, *marks), Column("Quantity", "number"))
    assert (found, codes) == (pytest.approx(number / 10**decimals, rel=1e-15), [])


@given(st.integers(0, 400), st.integers(0, 11), st.integers(0, 15), st.sampled_from(["{}' {}{}\"", "{} ft {}{} in"]))
def test_feet_and_inches_read_back(feet: int, inches: int, part: int, shape: str) -> None:
    typed = shape.format(feet, inches, f" {part}/16" if part else "")
    found, codes = read(typed, Column("Length", "length"))
    assert (found, codes) == (pytest.approx((feet * 12 + inches + part / 16) * 0.0254, abs=6e-7), [])


@given(st.text(max_size=12))
def test_no_text_breaks_the_grammar(text: str) -> None:
    for column in (WIDTH, QUANTITY, MARGIN, COST, WIND, DAY):
        found, codes = read(text, column)
        assert found is None or not isinstance(found, float) or abs(found) < 1e13
        blank = not "".join(c for c in text if c not in "\u200b\u200c\u200d\u2060\ufeff\u00ad").strip()
        assert found is not None or codes or blank or not text.strip("\u200e\u200f\u202a\u202b\u202c\u202d\u202e ")


@pytest.mark.parametrize("typed", ["2" * 40, "9" * 29 + ".5", 1e300, 12345678901234567])
def test_a_number_too_long_to_be_divided_is_out_of_bounds(typed: object) -> None:
    cell = Cell(typed, "text" if isinstance(typed, str) else "number")  # type: ignore[arg-type]
    value, problems = read_value(cell, Column("Valid for", "whole", low=1, high=730), "", Context(), Place())
    assert value is None
    assert [p.code for p in problems] in (["out-of-bounds"], ["not-whole"])
