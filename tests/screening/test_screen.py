"""The screening of whole options: what is looked at, what is left out, and how it is said."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from estimator.screening.model import Check, Screened
from tests.build import fixing
from tests.rate_books import put, setting
from tests.screening.yards import posts, priced, screened

WIND = {"Wind speed": "25 m/s", "Wind is": "gust"}


def of(folder: Path, **more: object) -> Screened:
    found = screened(folder, **more).screened
    assert found is not None
    return found


def row(found: Screened, kind: str, word: str = "", at: str = "") -> Check:
    rows = [c for c in found.checks if c.kind == kind and word in c.part and c.where.endswith(at)]
    assert rows, [c.name for c in found.checks]
    return rows[0]


def test_every_corner_post_and_footing_has_a_row_with_its_source(tmp_path: Path) -> None:
    found = of(tmp_path)
    for name in "ABCD":
        assert row(found, "corner", at=name).capacity
        assert row(found, "post", "bending", name).unit == "Pa"
        assert row(found, "post", "movement", name).counted is False
        assert "IBC 1807.3.2.1" in row(found, "footing", "sideways hold", name).source
        assert "Broms" in row(found, "footing", "second view", name).source
        assert row(found, "footing", "weight", name).counted is False
    assert all(c.source and c.working for c in found.checks)
    used = [float(f"{c.used or 0:.5g}") for c in found.checks]
    assert used == sorted(used, reverse=True)


def test_corner_forces_add_up_to_the_pressure(tmp_path: Path) -> None:
    """Equilibrium: in still air nothing is left over; in the wind the sum is the pressure on the cloth, mostly up."""
    found = of(tmp_path)
    still = np.sum([f.rest for f in found.forces], axis=0)
    assert np.abs(still).max() < 2e-3 * max(f.greatest for f in found.forces)
    up = np.sum([f.up for f in found.forces], axis=0)
    down = np.sum([f.down for f in found.forces], axis=0)
    area = found.shapes[0].area
    assert 0.75 * found.up * area < up[2] <= found.up * area * 1.3
    assert 0.75 * found.down * area < -down[2] <= found.down * area * 1.3


def test_pressures_are_half_the_density_times_the_speed_squared(tmp_path: Path) -> None:
    """Source: p = 0.5 rho V2, rho 1.2, AS/NZS 1170.2:2021 clause 2.4; coefficients as in the default book."""
    found = of(tmp_path)
    assert found.gust == 25.0
    assert found.up == pytest.approx(0.5 * 1.2 * 625 * 1.3, rel=1e-12)
    assert found.down == pytest.approx(0.5 * 1.2 * 625 * 0.8, rel=1e-12)


def test_a_mean_wind_is_turned_into_a_gust_by_the_stated_factor(tmp_path: Path) -> None:
    found = of(tmp_path, site={"Wind speed": "60 km/h", "Wind is": "mean", "Wind multiplier": 0.9})
    assert found.gust == pytest.approx(60 / 3.6 * 1.65 * 0.9)
    assert "gust over mean" in found.gust_words
    assert "multiplier" in found.gust_words


def test_a_design_wind_has_its_multipliers_in_it(tmp_path: Path) -> None:
    job = priced(tmp_path, site={"Wind speed": "40 m/s", "Wind is": "design", "Wind multiplier": 0.9})
    found = job.options[0].screened
    assert found is not None
    assert found.gust == 40.0
    assert "wind-multiplier-unused" in {p.code for p in job.problems}


def test_without_a_wind_speed_nothing_is_screened_unless_asked_for(tmp_path: Path) -> None:
    none = {"Wind speed": None, "Wind is": None}
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    assert screened(tmp_path / "a", site=none).screened is None
    found = screened(tmp_path / "b", site=none, screen=True).screened
    assert found is not None
    assert found.gust == pytest.approx(70 / 3.6)
    assert "firm's own limit" in found.gust_words


@pytest.mark.parametrize(
    ("held", "word"), [("tree", "engineer"), ("existing post", "engineer"), ("base plate", "engineer")]
)
def test_what_an_engineer_has_to_say_is_never_screened_as_holding(tmp_path: Path, held: str, word: str) -> None:
    points = [*posts()[:3], fixing("D", 0, 6, 3.4, held)]
    option = screened(tmp_path, points)
    assert option.status == "provisional"
    found = option.screened
    assert found is not None
    mine = [c for c in found.checks if c.fixings == ("D",) and c.kind in ("support", "post", "footing")]
    assert mine
    assert all(c.capacity is None and c.used is None and not c.counted for c in mine)
    assert any("D" in words and word in words for words in found.unknown)


def test_what_nobody_rated_is_a_question_not_a_pass(tmp_path: Path) -> None:
    job = priced(tmp_path, [*posts()[:2], fixing("C", 6, 6, 2.4, "beam"), fixing("D", 0, 6, 3.4, "beam")])
    found = job.options[0].screened
    assert found is not None
    assert [c.capacity for c in found.checks if c.kind == "support"] == [None, None]
    notes = [p for p in job.problems if p.code == "screen-unknown"]
    assert len(notes) == 1
    assert "C, beam" in notes[0].message
    assert "D, beam" in notes[0].message


def test_ground_of_which_nothing_is_known_is_a_question(tmp_path: Path) -> None:
    found = of(tmp_path, site={"Ground": "soft"})
    assert not [c for c in found.checks if c.part == "sideways hold"]
    assert any("soft" in words and "tested" in words for words in found.unknown)


def test_a_tied_post_is_held_at_the_ground(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    free = row(of(tmp_path / "a"), "footing", "sideways hold", "A")
    tied = row(of(tmp_path / "b", fixings=posts(Tied="yes")), "footing", "sideways hold", "A")
    assert (free.unit, tied.unit) == ("N", "Nm")
    assert "1807.3.2.2" in tied.source
    assert (tied.used or 0) < (free.used or 0)


def test_the_lean_of_a_post_counts(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    plumb = row(of(tmp_path / "a", fixings=posts(**{"Lean (degrees)": 0})), "post", "bending", "A")
    lean = row(of(tmp_path / "b", fixings=posts(**{"Lean (degrees)": 10})), "post", "bending", "A")
    assert plumb.demand != pytest.approx(lean.demand, rel=1e-3)


def test_a_row_that_the_book_lacks_is_named(tmp_path: Path) -> None:
    def without_stiffness(rows: list[dict[str, str]]) -> None:
        for r in rows:
            r["stiffness (kN/m)"] = ""

    job = priced(tmp_path, changes={"cloths": without_stiffness})
    assert job.options[0].screened is None
    assert job.options[0].bill is not None
    notes = [p.message for p in job.problems if p.code == "screen-lacks"]
    assert len(notes) == 1
    assert "stiffness" in notes[0]


def test_pretension_alone_over_a_rating_is_said_and_the_take_down_wind_is_nothing(tmp_path: Path) -> None:
    job = priced(tmp_path, posts("LT-100", 0.4, 0.5))
    found = job.options[0].screened
    assert found is not None
    assert found.take_down is not None
    assert found.take_down.wind == 0
    said = [p for p in job.problems if p.code == "used-up-at-rest"]
    assert len(said) == 1
    assert found.take_down.first in said[0].message


def test_what_is_over_its_rating_in_the_wind_is_a_warning_with_its_numbers(tmp_path: Path) -> None:
    job = priced(tmp_path)
    found = job.options[0].screened
    assert found is not None
    over = [c for c in found.checks if c.counted and (c.used or 0) >= 1]
    said = [p for p in job.problems if p.code == "used-up-in-wind"]
    assert bool(over) == bool(said)
    assert over
    assert over[0].name in said[0].message
    assert said[0].level == "warning"
    assert job.options[0].bill is not None


def test_the_same_shape_is_solved_once_in_a_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from estimator.geometry import form
    from tests.build import option, run, write_job
    from tests.screening.yards import SITE

    calls = []
    real = form.film

    def counted(*args: object, **more: object) -> object:
        calls.append(args)
        return real(*args, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(form, "film", counted)
    turned = []  # the same yard, seen by somebody who stands elsewhere and looks another way
    for f in posts():
        turned.append(
            {**f, "Site": "Other", "Across (m)": 20 - float(f["Out (m)"]), "Out (m)": 3 + float(f["Across (m)"])}
        )
    options = [option("A B C D", "made to fit", name, Hardware="heavy") for name in ("1", "2")]
    options.append({**option("A B C D", "made to fit", "1", Hardware="heavy"), "Site": "Other"})
    job = write_job(
        tmp_path / "two.xlsx", sites=[SITE, {**SITE, "Site": "Other"}], fixings=[*posts(), *turned], options=options
    )
    done = run(job).priced
    assert done is not None
    found = [o.screened for o in done.options]
    assert all(found)
    assert len(calls) == 1
    one, other = found[0], found[2]
    assert one is not None
    assert other is not None
    assert one.take_down == other.take_down
    for a, b in zip(one.forces, other.forces, strict=True):
        assert a.greatest == pytest.approx(b.greatest, rel=1e-12)
        assert b.up == pytest.approx((-a.up[1], a.up[0], a.up[2]), rel=1e-9)


def test_a_waterproof_flat_sail_holds_a_pool_and_a_steep_one_none(tmp_path: Path) -> None:
    flat = [{**f, "Height (m)": 2.6} for f in posts()]
    steep = [{**f, "Height (m)": 2.4 + 1.8 * (f["Fixing"] in "BC")} for f in posts()]
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    job = priced(tmp_path / "a", flat, Cloth="COAT-DRY")
    found = job.options[0].screened
    assert found is not None
    pond = found.shapes[0].pond
    assert pond is not None
    assert pond[:2] == pytest.approx((3.0, 3.0), abs=0.7)
    assert "sail-pools" in {p.code for p in job.problems}
    dry = screened(tmp_path / "b", steep, Cloth="COAT-DRY").screened
    assert dry is not None
    assert dry.shapes[0].pond is None


def test_highest_and_lowest_point_lie_on_the_site(tmp_path: Path) -> None:
    shape = of(tmp_path).shapes[0]
    assert shape.highest[2] < 3.4
    assert shape.lowest[2] > 2.4
    assert all(-0.5 < v < 6.5 for v in (*shape.highest[:2], *shape.lowest[:2]))


def test_a_support_holds_by_its_row(tmp_path: Path) -> None:
    def rated(rows: list[dict[str, str]]) -> None:
        for r in rows:
            if r["support"] == "steel beam":
                r["working load (kN)"] = "12"

    points = [*posts()[:3], fixing("D", 0, 6, 3.4, "steel beam")]
    check = row(of(tmp_path, fixings=points, changes={"supports": rated}), "support", "steel beam")
    assert check.capacity == 12_000
    assert check.counted


def test_settings_of_the_wind_change_the_pressure(tmp_path: Path) -> None:
    found = of(tmp_path, changes={"settings": setting("uplift coefficient", "0.65")})
    assert found.up == pytest.approx(0.5 * 1.2 * 625 * 0.65)


def test_half_the_share_of_the_wind_is_half_the_pressure(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    whole = of(tmp_path / "a", Cloth="KNIT-HEAVY")
    half = of(
        tmp_path / "b", Cloth="KNIT-HEAVY", changes={"cloths": put("code", "KNIT-HEAVY", **{"wind share": "0.5"})}
    )
    assert max(f.greatest for f in half.forces) < 0.75 * max(f.greatest for f in whole.forces)
    assert whole.take_down is not None
    assert half.take_down is not None
    assert half.take_down.wind > whole.take_down.wind


def test_a_sail_that_finds_no_rest_under_the_wind_is_named_at_its_own_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from estimator.geometry.form_density import NotSettled
    from estimator.screening import screen
    from tests.build import fixing, option, run, write_job
    from tests.screening.yards import SITE

    real = screen.pulls_on

    def restless(placed: screen.Placed, pressure: float) -> object:
        return NotSettled("load", 1.0, 1) if placed.sail == "low" and pressure else real(placed, pressure)

    monkeypatch.setattr(screen, "pulls_on", restless)
    more = [fixing(n, x, y, 3.0) for n, x, y in (("E", 12, 0), ("F", 18, 0), ("G", 15, 5))]
    sails = [option(at, "made to fit", Sail=name) for at, name in (("A B C D", "high"), ("E F G", "low"))]
    done = run(write_job(tmp_path / "two.xlsx", sites=[SITE], fixings=[*posts(), *more], options=sails)).priced
    assert done is not None
    assert done.options[0].screened is None
    assert [(p.place.cell, p.message.split(" is ")[0]) for p in done.problems if p.code == "form-not-settled"] == [
        ("C3", "Options!C3: sail low")
    ]
