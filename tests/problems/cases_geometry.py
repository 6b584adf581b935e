"""Shapes that cannot be, tapes that do not close, walls that are too short."""

from __future__ import annotations

from itertools import combinations
from math import dist
from pathlib import Path
from typing import Any

from tests.build import fixing, option
from tests.problems.model import Case
from tests.problems.yards import AT, SIZE, Yard, changed, flat, made, ring, steady, yards_in, yards_told
from tests.rate_books import put, with_changes

TRIANGLE = [fixing("A", 0, 0, 2.6), fixing("B", 6, 0, 2.6), fixing("C", 3, 5, 2.6)]
SMALL = [fixing("A", 0, 0, 2.6), fixing("B", 1, 0, 2.6), fixing("C", 0.5, 0.9, 2.6)]
UNEVEN = [fixing("A", 0.1, -0.2, 2.7), fixing("B", 6, 0.5, 2.7), fixing("C", 5.8, 5.6, 2.8), fixing("D", 0.1, 6, 2.9)]
BOX = {"AB": 4.0, "BC": 3.0, "CD": 4.0, "DA": 3.0, "AC": 5.0}
NEARLY = {"AB": 5.8, "BC": 4.9, "CD": 5.8, "DA": 4.9}  # a rectangle whose diagonals are 7.593
SPOTS = {"A": (0.0, 0.0), "B": (4.0, 0.0), "C": (4.0, 3.0), "D": (0.0, 3.0), "E": (2.2, 6.5)}
EVERY = {a + b: dist(SPOTS[a], SPOTS[b]) for a, b in combinations("ABCDE", 2)}
WALL: dict[str, Any] = {
    "Wall": "North", "Length": 8, "Fixing height": 2.7, "First rafter": 0.3, "Rafter spacing": 0.6, "Post height": 2.3,
}  # fmt: skip


def _untaped(names: str) -> list[dict[str, Any]]:
    return [{**fixing(n, 0, 0, 2.6), "Across (m)": None, "Out (m)": None} for n in names]


def _tape(lengths: dict[str, float]) -> list[dict[str, Any]]:
    return [{"From": ends[0], "To": ends[1], "Length": length} for ends, length in lengths.items()]


def _taped(name: str, lengths: dict[str, float], *says: tuple[str, int], names: str = "ABCD", **more: Any) -> Yard:
    """A yard that is taped. says: codes with the line, from 0, at whose length they stand."""
    at = tuple((code, "Tape", "Length", line) for code, line in says)
    rows = {"fixings": _untaped(names), "options": [made()], **more}
    return Yard(name, at, tape=_tape(lengths), **rows)


def _wall(name: str, code: str, sheet: str, column: str, size: str = "SQ-3600", **wall: Any) -> Yard:
    row = {"Option": "1", "Wall": "North", "Size": size}
    return Yard(name, ((code, sheet, column),), walls=[{**WALL, **wall}], options=[row])


SHAPES = (
    Yard("corners", (("corner-mismatch", *SIZE),), fixings=TRIANGLE, options=[option("A B C", "SQ-5000")]),
    Yard("crossed", (("corners-cross", *AT),), fixings=flat(6), options=[made("A C B D")]),
    Yard("large", (("sail-too-large", *SIZE),), fixings=flat(6), options=[option("A B C D", "SQ-7000")]),
    Yard("small", (("no-stock-fits", *SIZE),), fixings=SMALL, options=[option("A B C")]),
    Yard("point", (("height-slipped", "Fixings", "Height", 2), ("post-too-tall", "Fixings", "Fixing", 2)),
         fixings=ring(5.3, 5.3, (2.6, 3.2, 26, 3.2)), options=[option("A B C D")]),
    Yard("tight", (("too-small-for-parts", *SIZE),), fixings=flat(0.5), options=[made()]),
    Yard(
        "slack", (("gap-too-short", *AT),), fixings=ring(8.44, 8.14, (2.6,) * 4),
        options=[option("A B C D", "7.6 x 7.6 m", Cloth="KNIT-LIGHT", Run="chain", Hardware="heavy")],
    ),
    Yard("wide", (("no-corner-set", *AT),), fixings=flat(15),
         options=[option("A B C D", "13 x 13 m", Cloth="KNIT-LIGHT")]),
    Yard("near", (("gap-small", *AT),), fixings=flat(6), options=[made(Tensioned="A")]),
    Yard(
        "askew", (("off-bisector", *AT),), fixings=ring(6.2, 3.4, (2.6,) * 4),
        options=[option("A B C D", "4.5 x 2.7 m", Cloth="KNIT-LIGHT")],
    ),
    Yard("long", (("sides-uneven", *AT),), fixings=ring(7, 3, (2.6,) * 4), options=[made()]),
    Yard("shifted", (("placed-by-margin", *AT),), fixings=UNEVEN,
         options=[option("A B C D", "4.5 x 5 m", Cloth="KNIT-LIGHT")]),
    Yard("largest", (("size-chosen", *SIZE),), fixings=flat(6), options=[option("A B C D")]),
)  # fmt: skip

TAPES = (
    _taped("itself", {**BOX, "AA": 1}, ("tape-same-point", 5)),
    Yard("loose", (("tape-loose-point", "Fixings", "Fixing", 4),), fixings=_untaped("ABCDE"),
         tape=_tape({**BOX, "EA": 2}), options=[made()]),
    Yard("apart", (("tape-apart", "Fixings", "Fixing"),), fixings=_untaped("ABCDEF"), options=[made("A B C")],
         tape=_tape({"AB": 4, "BC": 3, "CA": 5, "DE": 4, "EF": 3, "FD": 5})),
    _taped("steep", BOX, ("tape-too-steep", 0), ("tape-too-steep", 1),
           fixings=changed(_untaped("ABCD"), 1, Height=7.5)),
    _taped("again", {**BOX, "BA": 4.2}, ("tape-repeats-disagree", 5)),
    _taped("beyond", {**NEARLY, "AC": 11, "BD": 7.593}, ("tape-too-long", 4)),
    _taped("flexes", NEARLY, ("tape-flexes", 3)),
    _taped("foot", {**EVERY, "BD": EVERY["BD"] + 0.3048}, ("tape-one-slipped", 5), names="ABCDE"),
    _taped("one", {**NEARLY, "AC": 7.593, "BD": 7.693}, ("tape-one-of-these", 0), ("tape-closure", 0)),
    _taped("several", {**EVERY, "AC": EVERY["AC"] + 0.15, "BE": EVERY["BE"] - 0.15}, ("tape-several-slipped", 0),
           names="ABCDE"),
    _taped("unchecked", BOX, ("tape-unchecked", 0), ("tape-mirror", 0), ("tape-other-place", 0)),
)  # fmt: skip

WALLS = (
    _wall("edge", "wall-off-the-wall", "Walls", "Length", Length=4, **{"First rafter": None, "Rafter spacing": None}),
    _wall("rafter", "wall-no-rafter", "Walls", "First rafter", **{"First rafter": 3}),
    _wall("half", "wall-rafters-half-given", "Walls", "First rafter", **{"First rafter": None}),
    _wall("unsized", "wall-size", "Options", "Size", size="TRI-3600"),
    _wall("moved", "wall-moved", "Options", "Wall"),
    Yard(
        "both", (("wall-and-corners", "Options", "Wall"),), walls=[WALL], fixings=steady(), options=[made(Wall="North")]
    ),
)


SHORT = Yard("short", (("tensioners-short", *AT),), fixings=flat(6.3),
             options=[option("A B C D", "SQ-5000", Hardware="short")])  # fmt: skip


def _short_tensioners(folder: Path) -> Path:
    """A tensioner that gives way by little more than its reserve, in the last of the corner sets."""
    return with_changes(folder / "rates", {"rigging": put("code", "TEN-M12-PIN", **{"open (mm)": "260"})})


def _case(name: str, yards: tuple[Yard, ...], **more: Any) -> Case:
    return Case(name, yards_in(yards), yards_told(yards), **more)


CASES: tuple[Case, ...] = (
    _case("shapes that do not hang", SHAPES),
    _case("tapes", TAPES),
    _case("walls", WALLS),
    _case("tensioners", (SHORT,), rates=_short_tensioners),
)
