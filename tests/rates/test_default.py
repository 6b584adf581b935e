"""The default rate book: complete, free of problems, its prices named as invented."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from estimator.core.money import cents
from estimator.core.names import key
from estimator.rates.columns import CONSENT_MEASURES, KEYS, MEASURES, PLACES, RATE_TABLES, VISITS
from estimator.rates.read import load_rates
from estimator.rates.settings import SETTINGS
from estimator.rates.where import default_rates
from estimator.takeoff.labour import TRAVEL, slug
from tests.rates.books import DAY, default_book, rows_of, with_cell

BOOK = default_book()
TABLES = """settings business wording sails cloths rigging corner_sets posts supports ground access footing_depths
concrete items kits labour trades charges taxes consent suppliers usual_lines wages deposit_caps payment_stages
digging_limits""".split()  # noqa: SIM905


def test_it_loads_without_a_word() -> None:
    book, problems = load_rates(None, DAY)
    assert problems == []
    assert book is not None
    assert book.later == {}


def test_it_has_every_table_and_no_other_file() -> None:
    assert [t.sheet for t in RATE_TABLES] == TABLES
    assert sorted(f.stem for f in default_rates().iterdir()) == sorted(TABLES)
    assert set(KEYS) == set(TABLES)


@pytest.mark.parametrize("table", TABLES)
def test_every_row_is_dated_and_has_a_source(table: str) -> None:
    heads, *rows = rows_of(table)
    dates = {row[heads.index("valid_from")] for row in rows}
    assert dates == {"2020-01-01"}
    assert all(row[heads.index("source")] for row in rows)


@pytest.mark.parametrize(
    "table",
    ["sails", "cloths", "rigging", "posts", "concrete", "items", "trades", "charges", "taxes", "kits", "consent"],
)
def test_every_price_says_that_it_is_invented(table: str) -> None:
    heads, *rows = rows_of(table)
    assert all("invented for the default rate book" in row[heads.index("source")] for row in rows)


# Name, value in the unit that the engine keeps.
PROMISED = {
    "spare length": 0.10,
    "top margin": 1.0,
    "lean": 5.0,
    "cut-off": 0.05,
    "chain tail": 0.25,
    "longest chain run": 1.0,
    "hook on stretch": 0.01,
    "take up reserve": 0.025,
    "least gap": 0.3,
    "off bisector limit": 15.0,
    "footing rule": "deeper of side and third of the height",
    "hole per post width": 3.0,
    "hole step": 0.05,
    "least hole": 0.3,
    "concrete waste": 0.10,
    "stone loose factor": 1.3,
    "cloth waste": 0.10,
    "cure before touch": 1.0,
    "cure before hanging": 7.0,
    "crew": 2.0,
    "hours a day": 8.0,
    "travel speed": 60.0,
    "tape error": 0.003,
    "tax by": "total",
    "stone item": "stone-20mm",
    "spoil item": "spoil-away",
    "travel item": "travel-km",
    "pretension": 500.0,
    "chain sag limit": 0.01,
    "least cover": 0.075,
    "take-down gust": 70.0,
    "longest over shortest": 2.0,
    "even pull": 0.1,
    "rain": 100.0,
    "valid for": 30.0,
    "deposit": 0.2,
    "currency": "EUR",
    # Source: AACE 18R-97, class 3 (10 to 40 % defined): -20 % to +30 %
    "budget low": 0.20,
    "budget high": 0.30,
}


@pytest.mark.parametrize(("name", "value"), PROMISED.items())
def test_settings_have_their_value(name: str, value: float | str) -> None:
    assert BOOK.settings[name].value == value


def test_no_setting_is_missing_or_too_many() -> None:
    assert set(BOOK.settings) == set(SETTINGS)
    assert set(PROMISED) <= set(SETTINGS)


def test_there_is_enough_to_choose_from() -> None:
    assert len(BOOK.sails) >= 16
    assert len(BOOK.cloths) >= 5
    assert len(BOOK.posts) >= 8
    assert len(BOOK.corner_sets) >= 4
    assert {s.sides.count("x") for s in BOOK.sails.values()} == {0, 1}  # three corners, four corners
    assert {p.kind for p in BOOK.rigging.values()} == {
        "eye",
        "shackle",
        "hook",
        "tensioner",
        "chain",
        "wire rope",
        "thimble",
        "grip",
        "ring",
    }
    assert {p.material for p in BOOK.posts.values()} == {"timber", "steel"}
    assert {p.shape for p in BOOK.posts.values()} == {"square", "round"}


def test_sets_cover_longer_sides_in_order_and_end_with_the_short_one() -> None:
    names = [(s.name, s.up_to) for s in BOOK.corner_sets.values()]
    assert names == [("light", 4.5), ("standard", 6.5), ("heavy", 12.0), ("short", 8.0)]
    assert BOOK.corner_sets["short"].shackles == 0
    for each in BOOK.corner_sets.values():
        closed = [BOOK.rigging[code.casefold()].closed or 0 for code in each.tensioners]
        assert closed == sorted(closed)


def test_supports_are_priced_as_the_trade_does() -> None:
    priced = {s.name: s.priced for s in BOOK.supports.values()}
    assert [n for n, p in priced.items() if p == "yes"] == [
        "rafter",
        "rafter end",
        "fascia bracket",
        "beam",
        "steel beam",
        "solid wall",
        "concrete wall",
        "new post",
    ]
    assert sorted(n for n, p in priced.items() if p == "no") == [
        "fascia only",
        "gutter",
        "mark",
        "unknown wall",
        "veneer wall",
    ]
    assert sorted(n for n, p in priced.items() if p == "engineer") == [
        "base plate",
        "block wall",
        "cavity wall",
        "existing post",
        "parapet",
        "post by others",
        "tree",
    ]
    assert {s.name: s.makes for s in BOOK.supports.values() if s.makes} == {
        "new post": "post",
        "base plate": "plate post",
    }


def test_a_support_that_is_priced_has_a_kit_and_one_that_is_not_says_what_instead() -> None:
    kits = {k.kit for k in BOOK.kits}
    for support in BOOK.supports.values():
        assert (support.kit in kits) == (support.priced != "no")
        assert support.note
    assert "always" in kits


def test_tasks_of_posts_count_by_posts_so_that_no_post_means_no_visit() -> None:
    by_visit = {v: {t.for_each for t in BOOK.labour if t.visit == v} for v in (*VISITS, "every")}
    assert by_visit["footings"] <= {"post", "footing"}
    assert by_visit["re-measure"] == {"post"}
    assert by_visit["every"] == {"visit"}
    assert all(by_visit.values())


def test_measures_that_are_counted_are_measures_of_the_engine() -> None:
    for row in (*BOOK.kits, *BOOK.labour):
        assert row.measure in MEASURES[row.for_each]


def test_texts_cover_every_place_of_the_quote() -> None:
    assert {w.place for w in BOOK.wording} == set(PLACES)
    assert {w.language for w in BOOK.wording} == {"en"}


def test_a_text_may_hold_under_several_conditions_together(tmp_path: Path) -> None:
    row = next(i for i, r in enumerate(rows_of("wording"), start=1) if r[:2] == ["care", "steel"])
    book, problems = load_rates(with_cell(tmp_path, "wording", row, "when", "Steel; pool"), DAY)
    assert problems == []
    assert book is not None
    assert [w.when for w in book.wording if w.place == "care"] == [
        "",
        "timber",
        "steel, pool",
        "base plate",
        "waterproof",
    ]


def test_consent_has_a_row_for_every_measure() -> None:
    assert {c.measure for c in BOOK.consent} == set(CONSENT_MEASURES)
    assert {c.when for c in BOOK.consent} == {"", "house anchor", "free-standing", "waterproof"}


def test_charges_make_the_price_in_their_order() -> None:
    # 1000.00 + 8 % + 5 % = 1130.00; a margin of 20 % on price is a quarter of that: 282.50
    assert [(c.step, c.taken_on, c.rate) for c in BOOK.charges] == [
        ("overhead", "cost", Decimal("0.08")),
        ("contingency", "cost", Decimal("0.05")),
        ("margin", "price", Decimal("0.2")),
        ("discount", "running", Decimal("0")),
    ]
    running = Decimal(1000) * (1 + BOOK.charges[0].rate + BOOK.charges[1].rate)
    assert cents(running * BOOK.charges[2].rate / (1 - BOOK.charges[2].rate)) == Decimal("282.50")


def test_one_tax_is_usual() -> None:
    assert [(t.code, t.rate) for t in BOOK.taxes.values() if t.usual] == [("ST", Decimal("0.1"))]


def test_a_post_is_found_for_every_height_up_to_six_metres() -> None:
    def first(height: float) -> str:
        return next(p.code for p in BOOK.posts.values() if p.up_to >= height)

    assert [first(h) for h in (2.4, 3.0, 3.6, 4.2, 5.0, 6.0)] == [
        "LT-100",
        "LT-125",
        "LT-150",
        "CHS-114",
        "CHS-140",
        "CHS-168",
    ]
    # 6 m out, a third of that in the ground, a margin of a post width and the cut-off
    assert max(BOOK.posts["chs-168"].stock_lengths) >= 6 + 2 + 0.2 + 0.05


def test_what_a_job_usually_has_can_be_found_in_one() -> None:
    """Each row names a code, a task, a visit or a step of charges that can come up in a bill."""
    codes = {*BOOK.items, *(key(slug(t.task)) for t in BOOK.labour), slug(TRAVEL)}
    for row in BOOK.usual_lines:
        assert row.found_by
        for name in row.found_by:
            assert name in codes or name.split(" ")[0] in ("visit", "charge"), (row.what, name)


def test_the_items_most_often_forgotten_are_asked_for() -> None:
    # what somebody who does this job lists as most often forgotten
    wanted = """travel; second visit; spoil; disposal fee; small-load fee; core drill; surface made good; access gear;
    engineer; consent; located; powder coat; caps; freight of long posts; sealant; freight of the sail; waste; weather;
    warranty visit; re-tension; seasonal take-down; insurance; contingency; braced"""
    asked = " | ".join(row.what for row in BOOK.usual_lines)
    assert [w for w in (" ".join(x.split()) for x in wanted.split(";")) if w not in asked] == []
    assert {row.what for row in BOOK.usual_lines if row.scope} == {"post caps", "posts braced"}
