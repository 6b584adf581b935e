"""What a size cell can ask for."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.core.problems import Place
from estimator.sheets.grammar import Context
from estimator.sheets.size import read_size

PLACE = Place("job.xlsx", "Options", "F3")
FOOT = 0.3048

SIDES = [
    ("3.6 x 5.4 m", (3.6, 5.4), None),
    ("3.6x5.4m", (3.6, 5.4), None),
    ("3,6 X 5,4 m", (3.6, 5.4), None),
    ("3.6 m × 5.4 m", (3.6, 5.4), None),
    ("3600 * 5400 mm", (3.6, 5.4), None),
    ("360 cm by 540 cm", (3.6, 5.4), None),
    ("1.200 x 1.500 m", (1.2, 1.5), None),
    ("5 5 5 m", (5.0, 5.0, 5.0), None),
    ("5, 5; 5 m", (5.0, 5.0, 5.0), None),
    ("4 x 4 x 4", (4.0, 4.0, 4.0), None),
    ("5 m 4 m 3.5 m", (5.0, 4.0, 3.5), None),
    ("4 5 4 5 / 6.4 m", (4.0, 5.0, 4.0, 5.0), 6.4),
    ("4 5 4 5/6,4 m", (4.0, 5.0, 4.0, 5.0), 6.4),
    ("4 x 5 x 4 x 5 diagonal 6.4 m", (4.0, 5.0, 4.0, 5.0), 6.4),
    ("18' x 18'", (18 * FOOT, 18 * FOOT), None),
    ("16 ft 16 ft 16 ft", (16 * FOOT,) * 3, None),
    ("12' 6\" x 10'", (12.5 * FOOT, 10 * FOOT), None),
    ("12’ 6½” x 10’", (12.5 * FOOT + 0.0127, 10 * FOOT), None),
    ("12' 6 1/2\" x 10'", (12.5 * FOOT + 0.0127, 10 * FOOT), None),
    ("9'6 x 12'", (9.5 * FOOT, 12 * FOOT), None),
    ("18 16 18 15/16 ft", (18 * FOOT, 16 * FOOT, 18 * FOOT, 15 * FOOT), 16 * FOOT),
]

REFUSED = [
    ("4 4 4 4", "size-needs-diagonal"),
    ("5 5 5 5 5 m", "size-too-many-sides"),
    ("1 2 3.5 m", "sides-do-not-close"),
    ("1 1 5 5 / 3 m", "sides-do-not-close"),
    ("5 5 1 1 / 3 m", "sides-do-not-close"),
    ("2 2 4 m", "sides-do-not-close"),
    ("3600 x 5400", "size-bounds"),
    ("0.1 x 5 m", "size-bounds"),
    ("5", "size-unclear"),
    ("5 5", "size-unclear"),
    ("5 x 5 5", "size-unclear"),
    ("5,5,5 m", "size-unclear"),
    ("5,5,5,5,5,5 m", "size-unclear"),
    ("4 4 4 4 /", "size-unclear"),
    ("4 4 4 4 / 5 6 m", "size-unclear"),
    ("5 5 5 / 3 m", "size-unclear"),
]


@pytest.mark.parametrize(("typed", "sides", "diagonal"), SIDES)
def test_sides(typed: str, sides: tuple[float, ...], diagonal: float | None) -> None:
    size, problems = read_size(typed, Context(), PLACE)
    assert problems == []
    assert size is not None
    assert (size.kind, size.text) == ("sides", typed)
    assert size.sides == pytest.approx(sides, abs=1e-6)
    assert size.diagonal == pytest.approx(diagonal, abs=1e-6)


@pytest.mark.parametrize(("typed", "code"), REFUSED)
def test_sizes_that_are_refused(typed: str, code: str) -> None:
    size, problems = read_size(typed, Context(), PLACE)
    assert size is None
    assert [(p.code, p.level, p.place) for p in problems] == [(code, "error", PLACE)]
    assert typed in problems[0].message


def test_the_side_that_does_not_close_is_named() -> None:
    assert "the side 3.5 m" in read_size("1 2 3.5 m", Context(), PLACE)[1][0].message
    assert "the diagonal 3 m" in read_size("1 1 5 5 / 3 m", Context(), PLACE)[1][0].message


def test_words_and_codes() -> None:
    for typed, kind in (
        ("", "largest"),
        ("Made to Fit", "made to fit"),
        ("  ", "largest"),
        ("made_to_fit", "made to fit"),
    ):
        size, problems = read_size(typed.replace("_", "-"), Context(), PLACE)
        assert problems == []
        assert size is not None
        assert size.kind == kind
    for code in ("TRI-3000", "T500", "5x5x5 SAND", "A 4 x 4"):
        size, _ = read_size(code, Context(), PLACE)
        assert size is not None
        assert (size.kind, size.code) == ("stock", code)


def test_the_jobs_unit_and_decimal_mark() -> None:
    size, _ = read_size("16 x 18", Context("feet and inches"), PLACE)
    assert size is not None
    assert size.sides == pytest.approx((16 * FOOT, 18 * FOOT))
    size, problems = read_size("1.200 x 1.500", Context("metric", "comma"), PLACE)
    assert size is None
    assert problems[0].code == "size-bounds"


@given(st.lists(st.integers(500, 50_000), min_size=3, max_size=3), st.sampled_from([" ", " x ", ", ", " × "]))
def test_triangles_read_back_or_do_not_close(sides: list[int], between: str) -> None:
    size, problems = read_size(between.join(map(str, sides)) + " mm", Context(), PLACE)
    if 2 * max(sides) < sum(sides):
        assert size is not None
        assert size.sides == pytest.approx([s / 1000 for s in sides])
    else:
        assert [p.code for p in problems] == ["sides-do-not-close"]


@given(st.text(alphabet="0123456789 .,x/'\"mft½", max_size=14))
def test_no_text_breaks_the_size(text: str) -> None:
    size, problems = read_size(text, Context(), PLACE)
    assert (size is None) == bool(problems)
