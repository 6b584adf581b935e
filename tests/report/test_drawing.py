"""Drawings: what they hold, that labels stay apart, that they are to scale and the same every time."""

from __future__ import annotations

import io
import struct
import zlib
from dataclasses import replace
from itertools import combinations
from math import cos, hypot, pi, sin
from pathlib import Path

import pytest
from PIL import Image

from estimator.pricing.model import PricedJob, PricedOption
from estimator.report import drawing, drawing_labels
from estimator.report.drawing_paper import Paper, size_of
from estimator.report.drawing_scene import hollow_edge, scene_of
from tests.build import fixing, option, run, square, write_job
from tests.golden import samples

Pair = tuple[PricedJob, PricedOption]


@pytest.fixture(scope="module")
def square_job(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    path = write_job(
        tmp_path_factory.mktemp("job") / "square.xlsx",
        fixings=square(6, held_by="beam")[:2] + square(6)[2:],
        options=[option("A B C D", "made to fit")],
    )
    return first(path)


@pytest.fixture(scope="module")
def wall_job(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    path = write_job(
        tmp_path_factory.mktemp("job") / "wall.xlsx",
        job={"Units": "feet and inches", "Paper": "Letter"},
        sites=[{"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Facing": 210}],
        walls=[
            {"Site": "Yard", "Wall": "North", "Start across (m)": 0.5, "Out (m)": 0, "Length (m)": 14,
             "Centre (m)": 5.5, "Fixing height (m)": 2.7, "First rafter (m)": 0.3, "Rafter spacing (m)": 0.6,
             "Held by": "rafter", "Post height (m)": 2.3, "Post ground level (m)": -0.2}
        ],
        options=[{"Site": "Yard", "Option": "1", "Wall": "North", "Size": "3.6 x 5.4 m"}],
    )  # fmt: skip
    return first(path)


def first(path: Path) -> Pair:
    priced = run(path).priced
    assert priced is not None
    return priced, priced.options[0]


def chunks(png: bytes) -> list[str]:
    found, at = [], 8
    while at < len(png):
        size, name = struct.unpack(">I4s", png[at : at + 8])
        assert zlib.crc32(png[at + 4 : at + 8 + size]) == struct.unpack(">I", png[at + 8 + size : at + 12 + size])[0]
        found.append(name.decode())
        at += size + 12
    return found


@pytest.fixture
def labels(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, list[tuple[float, float, float, float]]]]:
    """The words of every placed label with the boxes it covers."""
    seen: list[tuple[str, list[tuple[float, float, float, float]]]] = []
    write = drawing_labels._write

    def watch(paper: Paper, place: drawing_labels.Place, lines: list[drawing_labels.Words]) -> None:
        before = len(paper.boxes)
        write(paper, place, lines)
        seen.append((" / ".join(n.text for n in lines), paper.boxes[before:]))
        for n in lines:
            assert n.size >= 7, "smaller print cannot be read on a site"

    monkeypatch.setattr(drawing_labels, "_write", watch)
    return seen


def test_the_same_picture_every_time_and_nothing_else_in_it(square_job: Pair) -> None:
    for draw in (drawing.plan_and_elevation, drawing.plain_plan):
        png = draw(*square_job)
        assert png == draw(*square_job)
        assert set(chunks(png)) == {"IHDR", "pHYs", "IDAT", "IEND"}
        assert Image.open(io.BytesIO(png)).mode == "L"


def test_the_picture_takes_the_room_it_is_given(square_job: Pair) -> None:
    for high in (150.0, 232.0):
        wide, tall = size_of(drawing.plan_and_elevation(*square_job, (172.0, high)))
        assert wide == pytest.approx(172, abs=0.2)
        assert tall <= high + 0.2


def test_a_metre_on_paper_is_the_stated_scale(
    square_job: Pair, labels: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    rings: list[tuple[float, float]] = []
    text, ring = Paper.text, Paper.ring

    def watch_text(self: Paper, at: tuple[float, float], words: str, *a: object, **k: object) -> None:
        said.append(words)
        text(self, at, words, *a, **k)  # type: ignore[arg-type]

    def watch_ring(self: Paper, at: tuple[float, float], radius: float, **k: object) -> None:
        if radius == 0.95:
            rings.append(at)
        ring(self, at, radius, **k)  # type: ignore[arg-type]

    monkeypatch.setattr(Paper, "text", watch_text)
    monkeypatch.setattr(Paper, "ring", watch_ring)
    drawing.plan_and_elevation(*square_job)
    scale = next(int(w.removeprefix("Scale 1:")) for w in said if w.startswith("Scale 1:"))
    a, b, c = rings[1:4]  # the first one is in the key
    assert hypot(b[0] - a[0], b[1] - a[1]) * scale / 1000 == pytest.approx(6.0, abs=1e-6)
    assert hypot(c[0] - b[0], c[1] - b[1]) * scale / 1000 == pytest.approx(6.0, abs=1e-6)


@pytest.mark.parametrize(
    ("across", "up", "units", "found"),
    [
        ((6.1, 120), (9.0, 160), "metric", 60),
        ((6.1, 122), (1.0, 160), "metric", 50),
        ((1.0, 120), (1.0, 160), "metric", 20),
        ((12.192, 127), (1.0, 160), "feet and inches", 96),
        ((5000.0, 100), (10.0, 100), "metric", 64000),
    ],
)
def test_scale_is_the_largest_usual_one(
    across: tuple[float, float], up: tuple[float, float], units: str, found: int
) -> None:
    assert drawing._scale(across, up, units) == found


def test_labels_stay_apart_and_on_the_paper(labels: list[tuple[str, list[tuple[float, float, float, float]]]]) -> None:
    for sample in samples.SAMPLES:
        priced = run(samples.FOLDER / f"{sample.name}.xlsx").priced
        assert priced is not None
        for o in priced.options:
            if not o.taken.sails:
                continue
            labels.clear()
            high = size_of(drawing.plan_and_elevation(priced, o))[1]
            for (one, a), (two, b) in combinations(labels, 2):
                shared = max(
                    (
                        max(min(p[2], q[2]) - max(p[0], q[0]), 0) * max(min(p[3], q[3]) - max(p[1], q[1]), 0)
                        for p in a
                        for q in b
                    ),
                    default=0.0,
                )
                assert shared < 1.0, (sample.name, o.option.name, one, two, shared)
            for words, boxes in labels:
                assert all(p[0] > -0.6 and p[1] > -0.6 and p[2] < 172.6 and p[3] < high + 0.6 for p in boxes), words


def test_every_fixing_side_height_and_mark_is_labelled(
    wall_job: Pair, labels: list[tuple[str, list[tuple[float, float, float, float]]]]
) -> None:
    drawing.plan_and_elevation(*wall_job)
    words = "\n".join(w for w, _ in labels)
    for part in ("W1", "W2", "P1", "P2", "8' 10 1/4\" from the start", "37' 7/8\" from the end", "17' 8 5/8\"", "hole"):
        assert part in words, part
    labels.clear()
    drawing.plain_plan(*wall_job)
    words = "\n".join(w for w, _ in labels)
    assert "hole" not in words
    assert "from the start" not in words
    assert "house" in words


@pytest.mark.parametrize("facing", [None, 0.0, 90.0, 210.0])
def test_north_only_when_facing_is_given(
    square_job: Pair, facing: float | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    priced, o = square_job
    said: list[str] = []
    at: dict[str, tuple[float, float]] = {}
    text = Paper.text

    def watch(self: Paper, place: tuple[float, float], words: str, *a: object, **k: object) -> None:
        said.append(words)
        at[words] = place
        text(self, place, words, *a, **k)  # type: ignore[arg-type]

    monkeypatch.setattr(Paper, "text", watch)
    drawing.plain_plan(priced, replace(o, site=replace(o.site, facing=facing)))
    assert ("N" in said) == (facing is not None)
    if facing is not None:  # Out, up the page, bears `facing`: north lies that far to the left of it
        middle = (drawing.PLAIN_WIDE - 6.0, drawing.FOOT - 4 - 6.2)
        want = (-sin(facing * pi / 180), cos(facing * pi / 180))
        got = (at["N"][0] - middle[0], at["N"][1] - middle[1])
        assert got == pytest.approx((want[0] * hypot(*got), want[1] * hypot(*got)), abs=1e-9)


def test_a_hollow_edge_dips_by_its_share_toward_the_middle() -> None:
    arc = hollow_edge((0, 0, 1), (3, 4, 1), (-5, 5, 1), 0.08)
    assert arc[0] == pytest.approx((0, 0, 1))
    assert arc[-1] == pytest.approx((3, 4, 1))
    assert hypot(arc[8][0] - 1.5, arc[8][1] - 2.0) == pytest.approx(0.4)
    assert arc[8][0] < 1.5


def test_fixings_over_each_other_share_one_label(tmp_path: Path) -> None:
    path = write_job(
        tmp_path / "two.xlsx",
        fixings=[
            *square(6),
            fixing("E", 6, 0, 2.0, **{"On post": "B"}),
            fixing("F", 12, 0, 2.6),
            fixing("G", 12, 6, 2.6),
        ],
        options=[option("A B C D", "made to fit"), option("E F G C", "made to fit", Sail="2")],
    )
    scene = scene_of(*first(path))
    assert any(s.names == ("B", "E") and s.heights == (2.6, 2.0) for s in scene.spots)
