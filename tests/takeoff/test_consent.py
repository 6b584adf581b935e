"""Consent rows held against facts: limits, conditions, and what is not known."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.rates.columns import COMPARE, CONSENT_WHEN
from estimator.rates.model import ConsentRow, Origin
from estimator.report.json_out import job_data
from estimator.takeoff.consent import OR_LESS, OR_MORE, Compared, Condition, Facts, Known, compared, needed
from tests.build import fixing, option, run, square, write_job
from tests.rate_books import with_changes

NOWHERE = Origin("consent", 1)


def row(limit: float, compare: str = "at most", when: str = "", measure: str = "plan area") -> ConsentRow:
    return ConsentRow("Hill End", measure, limit, when, NOWHERE, compare)


def facts(value: float | None, bound: str = "", **holds: bool | None) -> Facts:
    conditions = {name: Condition(holds.get(name.replace(" ", "_").replace("-", "_"), False)) for name in CONSENT_WHEN}
    return Facts({"plan area": Known(value, bound)}, conditions)


def inside(one: ConsentRow, known: Facts) -> bool | None:
    (found,) = compared([one], "hill end", known)
    return found.inside


@pytest.mark.parametrize(
    ("compare", "below", "at", "above"),
    [
        ("at most", True, True, False),
        ("under", True, False, False),
        ("at least", False, True, True),
        ("over", False, False, True),
    ],
)
def test_which_side_of_the_limit_the_limit_itself_is_on(compare: str, below: bool, at: bool, above: bool) -> None:
    got = [inside(row(20.0, compare), facts(v)) for v in (19.99, 20.0, 20.01)]
    assert got == [below, at, above]


@pytest.mark.parametrize("compare", COMPARE)
@pytest.mark.parametrize("noise", [-1e-9, 1e-9])
def test_noise_of_a_computed_value_does_not_tip_it(compare: str, noise: float) -> None:
    assert inside(row(20.0, compare), facts(20.0 + noise)) is inside(row(20.0, compare), facts(20.0))


@pytest.mark.parametrize(
    ("bound", "compare", "value", "answer"),
    [
        (OR_MORE, "at most", 21, False),  # 21 or more is beyond 20 whatever the rest is
        (OR_MORE, "at most", 19, None),
        (OR_LESS, "at least", 19, False),
        (OR_LESS, "at least", 21, None),
        (OR_MORE, "at least", 21, True),
        (OR_MORE, "at least", 19, None),
        (OR_LESS, "at most", 19, True),
        (OR_LESS, "at most", 21, None),
    ],
)
def test_a_value_of_which_a_part_is_missing(bound: str, compare: str, value: float, answer: bool | None) -> None:
    assert inside(row(20.0, compare), facts(value, bound)) is answer


def test_all_conditions_of_a_row_have_to_hold() -> None:
    two = row(20.0, when="house anchor, waterproof")
    assert compared([two], "Hill End", facts(30, house_anchor=True)) == ()
    assert compared([two], "Hill End", facts(30, waterproof=True)) == ()
    assert inside(two, facts(30, house_anchor=True, waterproof=True)) is False


def test_a_condition_that_is_not_known_is_a_question_unless_the_limit_is_kept_anyway() -> None:
    by_pool = row(20.0, when="pool, waterproof")
    (found,) = compared([by_pool], "Hill End", facts(30, pool=None, waterproof=True))
    assert found.inside is None
    assert found.question
    assert found.margin == -10
    assert inside(by_pool, facts(10, pool=None, waterproof=True)) is True
    assert compared([by_pool], "Hill End", facts(30, pool=None)) == ()  # not waterproof: the row does not hold


def test_a_row_without_a_limit_is_a_question() -> None:
    (found,) = compared([replace(row(0), limit=None)], "Hill End", facts(30))
    assert (found.inside, found.margin) == (None, None)
    assert "council" in found.question


VALUES = st.floats(0, 60) | st.none()
LIMITS = st.floats(0, 60)
ROWS = st.builds(
    row, LIMITS, st.sampled_from(COMPARE), st.lists(st.sampled_from(CONSENT_WHEN), max_size=2).map(", ".join)
)
FACTS = st.builds(
    lambda value, bound, holds: Facts(
        {"plan area": Known(value, bound)}, dict(zip(CONSENT_WHEN, map(Condition, holds), strict=True))
    ),
    VALUES,
    st.sampled_from(["", OR_MORE, OR_LESS]),
    st.lists(st.sampled_from([True, False, None]), min_size=len(CONSENT_WHEN), max_size=len(CONSENT_WHEN)),
)


@given(st.lists(ROWS, min_size=1, max_size=4), FACTS, st.integers(0, 3), st.floats(0, 30))
def test_a_tighter_limit_never_turns_a_needed_consent_into_not_needed(
    rows: list[ConsentRow], known: Facts, which: int, by: float
) -> None:
    old = rows[which % len(rows)]
    assert old.limit is not None
    tighter = replace(old, limit=old.limit + (by if old.compare in ("at least", "over") else -by))
    changed = [tighter if r is old else r for r in rows]
    before, after = (compared(r, "Hill End", known) for r in (rows, changed))
    assert needed(after) or not needed(before)


@given(ROWS, FACTS)
def test_what_is_not_known_is_asked_and_what_is_asked_is_not_known(one: ConsentRow, known: Facts) -> None:
    for c in compared([one], "Hill End", known):
        assert (c.inside is None) is bool(c.question)
        if c.inside is not None and c.margin is not None and abs(c.margin) > 1e-6:
            assert c.inside is (c.margin > 0)


@given(st.lists(ROWS, max_size=4), FACTS)
def test_one_more_row_never_takes_a_needed_consent_away(rows: list[ConsentRow], known: Facts) -> None:
    all_rows: tuple[Compared, ...] = compared(rows, "Hill End", known)
    assert needed(all_rows) or not needed(all_rows[:-1])


# from a job workbook


def _add(**values: str) -> Any:
    def change(table: list[dict[str, str]]) -> None:
        blank = dict.fromkeys(table[0], "")
        table.append({**blank, "place": "Hill End", "valid_from": "2020-01-01", "source": "invented", **values})

    return change


MADE = option("A B C D", "made to fit", Cloth="KNIT-LIGHT")


def _one(tmp_path: Path, row: dict[str, str], site: dict[str, Any], **rows: Any) -> dict[str, Any]:
    folder = with_changes(tmp_path / "rates", {"consent": _add(**row)})
    rows["sites"] = [{"Site": "Yard", "Ground": "firm", "Access": "easy", "Place": "Hill End", **site}]
    outcome = run(write_job(tmp_path / "job.xlsx", **rows), folder)
    assert outcome.priced is not None, outcome.problems
    data = job_data(outcome.priced)
    return {**data["sites"][0]["options"][0], "problems": data["problems"]}


@pytest.mark.parametrize(
    ("near", "answer"),
    [("pool", [False]), ("nothing", []), ("glass", []), ("glass, pool", [False]), (None, [None])],
)
def test_a_blank_near_is_not_an_answer(tmp_path: Path, near: str | None, answer: list[bool | None]) -> None:
    data = _one(
        tmp_path,
        {"measure": "plan area", "limit": "5 m2", "when": "pool, permeable"},
        {"Near": near},
        fixings=square(6),
        options=[MADE],
    )
    assert [r["inside"] for r in data["consent"]] == answer
    asked = [p for p in data["problems"] if p["code"] == "consent-unknown"]
    assert [p["cell"][0] for p in asked] == (["E"] if near is None else [])  # the blank cell of Near


@pytest.mark.parametrize(
    ("when", "held_by", "there"),
    [
        ("posts", "new post", True),
        ("posts", "base plate", False),  # a post on a plate is not in the ground
        ("free-standing", "new post", True),
        ("free-standing", "rafter", False),
        ("house anchor", "rafter", True),
        ("house anchor", "tree", False),
        ("permeable", "new post", True),
        ("waterproof", "new post", False),
    ],
)
def test_what_each_condition_means(tmp_path: Path, when: str, held_by: str, there: bool) -> None:
    data = _one(
        tmp_path,
        {"measure": "plan area", "limit": "90 m2", "when": when},
        {},
        fixings=square(6, held_by=held_by),
        options=[MADE],
    )
    assert [r["when"] for r in data["consent"]] == ([when] if there else [])


def test_the_second_sail_of_an_option_is_a_second_sail(tmp_path: Path) -> None:
    far = [fixing(n, x, y, 2.6) for n, x, y in (("E", 8, 0), ("F", 14, 0), ("G", 14, 6), ("H", 8, 6))]
    two = [{**MADE, "Sail": "near"}, {**option("E F G H", "made to fit", Cloth="KNIT-LIGHT"), "Sail": "far"}]
    limit = {"measure": "existing sails", "limit": "0"}
    for there, value, bound in ((0, 1, None), (1, 2, None), (None, 1, "or more")):
        folder = tmp_path / str(there)
        folder.mkdir()
        data = _one(folder, limit, {"Existing sails": there}, fixings=[*square(6), *far], options=two)
        (row,) = data["consent"]
        assert (row["value"], row["bound"], row["inside"]) == (value, bound, False)


def test_a_sail_that_does_not_fit_leaves_its_area_unknown(tmp_path: Path) -> None:
    far = [fixing(n, x, y, 2.6) for n, x, y in (("E", 8, 0), ("F", 9, 0), ("G", 9, 1), ("H", 8, 1))]
    two = [{**MADE, "Sail": "near"}, {**option("E F G H", "SQ-5000"), "Sail": "far"}]
    data = _one(tmp_path, {"measure": "plan area", "limit": "40 m2"}, {}, fixings=[*square(6), *far], options=two)
    (row,) = data["consent"]
    assert data["status"] == "not priced"
    assert (row["inside"], row["bound"], row["margin"]) == (None, "or more", None)
    assert 20 < row["value"] < 36
    assert not [p for p in data["problems"] if p["code"] == "consent-unknown"]  # the error comes first


def test_an_option_without_a_hole_has_no_footing_to_compare(tmp_path: Path) -> None:
    limit = {"measure": "footing to boundary", "limit": "1 m"}
    house = square(6, held_by="rafter", **{"To boundary (m)": 0.2})
    assert _one(tmp_path, limit, {}, fixings=house, options=[MADE])["consent"] == []
    folder = tmp_path / "plates"
    folder.mkdir()
    plates = square(6, held_by="base plate", **{"To boundary (m)": 3})
    (row,) = _one(folder, limit, {}, fixings=plates, options=[MADE])["consent"]
    assert row["inside"] is None  # nobody said how far the footing under the plate reaches
    assert "plate" in row["question"]


@pytest.mark.parametrize(
    ("place", "code", "level"),
    [(None, "consent-no-place", "note"), ("Hill Ent", "consent-no-rows", "warning"), ("hill  end", None, None)],
)
def test_a_place_that_is_blank_or_not_in_the_table_is_said(
    tmp_path: Path, place: str | None, code: str | None, level: str | None
) -> None:
    data = _one(
        tmp_path,
        {"measure": "plan area", "limit": "90 m2"},
        {"Place": place},
        fixings=square(6),
        options=[MADE, {**MADE, "Option": "2"}],
    )
    said = [p for p in data["problems"] if p["code"] in ("consent-no-place", "consent-no-rows")]
    assert [(p["code"], p["level"]) for p in said] == ([(code, level)] if code else [])  # once a site
    assert bool(data["consent"]) is (code is None)
    if code == "consent-no-rows":
        assert "Did you mean 'Hill End'?" in said[0]["message"]
    assert data["measures"]["consent needed"] == {"count": 0}


def test_the_edge_of_a_hole_is_never_taken_too_far(tmp_path: Path) -> None:
    """Against plain geometry: boundaries on any side, posts that lean away from the sail."""
    from math import hypot

    lines = {"A": (-0.8, 0), "B": (6.8, 0)}  # a boundary across x = -0.8 and one across x = 6.8
    posts = square(6)
    for f in posts:
        at = f["Across (m)"]
        f["To boundary (m)"] = min(at - lines["A"][0], lines["B"][0] - at)
    data = _one(tmp_path, {"measure": "plan area", "limit": "90 m2"}, {}, fixings=posts, options=[MADE])
    for f in data["footings"]:
        true = min(f["hole_across"] + 0.8, 6.8 - f["hole_across"]) - f["diameter"] / 2
        assert f["edge_to_boundary"] <= true + 1e-9
        point = next(p for p in data["points"] if p["fixing"] == f["post_name"])
        moved = hypot(f["hole_across"] - point["across"], f["hole_out"] - point["out"])
        assert true - f["edge_to_boundary"] <= 2 * moved + 1e-9
