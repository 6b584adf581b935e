"""The gust that is told: the lower of two, in whole steps, never above either and never the bare figure."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.rates.model import Origin, RateBook, Setting
from estimator.screening.limit import NONE_TOLD, gust_words, printed_gust, steps_down, told_words, why_told
from estimator.screening.model import Screened, TakeDown
from tests.report import sample_rates


def book(limit: float = 70, factor: float = 0.7, step: float = 5) -> RateBook:
    rows = {"take-down gust": limit, "take-down factor": factor, "take-down step": step}
    settings = {n: Setting(n, float(v), "", Origin("settings", 2)) for n, v in rows.items()}
    return replace(sample_rates.book(), settings=settings)


def screened(wind: float | None) -> Screened:
    down = None if wind is None else TakeDown(wind, "eye, sail 1 at A", "", None, True)
    return Screened(20.0, "as given", 300.0, 200.0, (), (), down, (), ())


def at(km_h: float) -> float:
    return printed_gust(book(), screened(km_h / 3.6))


@pytest.mark.parametrize(
    ("bare", "told"),
    [
        (66.132, 45),  # 46.29
        (100, 70),  # 0.7 x 100 / 3.6 x 3.6 is a hair off 70 in floats
        (200, 70),  # the firm's own limit is the lower
        (64.2857142857, 45),  # 45 by a hair
        (64.28, 40),  # 44.996
        (7.1428571429, 5),
        (7.14, 0),  # 4.998: less than a step
        (0, 0),
    ],
)
def test_the_lower_of_the_two_in_whole_steps(bare: float, told: float) -> None:
    assert at(bare) == told


@pytest.mark.parametrize(
    ("value", "whole"),
    [(70.0000001, 70), (69.99999, 70), (69.9999999999, 70), (69.999, 65), (65.0001, 65), (4.99, 0), (5, 5), (-1, 0)],
)
def test_noise_of_floats_is_not_a_step(value: float, whole: float) -> None:
    assert steps_down(value, 5) == whole


def test_without_a_screening_the_firm_s_own_limit() -> None:
    assert printed_gust(book(), None) == 70
    assert printed_gust(book(), screened(None)) == 70
    assert printed_gust(book(limit=72), None) == 70


def test_a_firm_that_keeps_miles_an_hour_keeps_whole_ones() -> None:
    """45 mph in steps of 5 mph, as the table keeps them in km/h; 1 mile is 1.609344 km by definition."""
    mph = 1.609344
    told = printed_gust(book(limit=45 * mph, step=5 * mph), None)
    assert told == pytest.approx(45 * mph, abs=1e-9)
    assert gust_words(told) == "72 km/h (20.1 m/s, 45 mph)"


@pytest.mark.parametrize(
    ("km_h", "words"),
    [
        (45, "45 km/h (12.5 m/s, 27 mph)"),  # 27.96 mph: down, never up to 28
        (70, "70 km/h (19.4 m/s, 43 mph)"),  # 19.44, 43.50
        (5, "5 km/h (1.3 m/s, 3 mph)"),  # 1.389, 3.11
        (90, "90 km/h (25.0 m/s, 55 mph)"),  # 55.92
    ],
)
def test_all_three_units_and_none_says_more(km_h: float, words: str) -> None:
    assert gust_words(km_h) == words


def test_less_than_a_step_is_said_in_words() -> None:
    assert told_words(book(), screened(1.9)) == NONE_TOLD
    assert "before an engineer has decided" in why_told(book(), screened(1.9))
    assert told_words(book(), screened(18.37)) == "45 km/h (12.5 m/s, 27 mph)"


def test_why_names_the_lower_of_the_two() -> None:
    assert why_told(book(), None) == (
        "the firm's own limit, 70 km/h, down to steps of 5 km/h; the option is not screened"
    )
    assert why_told(book(), screened(30)).startswith("the firm's own limit, 70 km/h")
    assert why_told(book(), screened(18.37)).startswith("0.7 x 66.1 km/h = 46.3 km/h")
    assert "no take-down wind could be found" in why_told(book(), screened(None))


@given(
    wind=st.floats(0, 60),
    limit=st.floats(10, 250),
    factor=st.floats(0.1, 1),
    step=st.sampled_from((1.0, 2.5, 5.0, 8.04672, 10.0)),
)
def test_never_above_either_and_always_a_step(wind: float, limit: float, factor: float, step: float) -> None:
    rates = book(limit, factor, step)
    told = printed_gust(rates, screened(wind))
    assert 0 <= told <= min(limit, wind * 3.6 * factor) + 1.001e-4
    assert min(limit, wind * 3.6 * factor) < told + step
    assert told / step == pytest.approx(round(told / step), abs=1e-9)
    weaker = replace(screened(wind), take_down=TakeDown(wind * 0.9, "", "", None, True))
    assert printed_gust(rates, weaker) <= told


@given(km_h=st.floats(1, 250))
def test_words_say_no_more_than_the_gust(km_h: float) -> None:
    figures = [float(w.strip("(")) for w in gust_words(km_h).replace(",", "").split() if w.strip("(")[0].isdigit()]
    whole, speed, mph = figures
    assert whole <= km_h + 1.001e-4
    assert speed * 3.6 <= km_h + 1e-3
    assert mph * 1.609344 <= km_h + 1e-3
