"""What a sail hangs on, its posts and holes, its water, its neighbours, and what was typed instead of a line."""

from __future__ import annotations

from typing import Any

from tests.build import fixing, option
from tests.problems.model import Case
from tests.problems.yards import AT, Yard, changed, flat, made, ring, steady, yards_in, yards_told

POST = ("Fixings", "Fixing")
DRY = made(Cloth="COAT-DRY")
STEEP = ring(6, 6, (4.4, 4.4, 2.4, 2.4))
SAILS = [made(Sail="1"), made("E B C D", Sail="2")]
PAVING = {"Description": "Paving", "Quantity": 1, "Unit": "each", "Cost each": 5}


def _held(name: str, code: str, column: str = "Held by", **cells: Any) -> Yard:
    """A yard in which one fixing is not as it should be."""
    return Yard(name, ((code, "Fixings", column, 1),), fixings=changed(steady(), 1, **cells), options=[made()])


def _on_one_post(name: str, code: str, column: str, across: float, **cells: Any) -> Yard:
    """A fixing E on the post of A, which stands a little apart from it."""
    rows = [*changed(steady(), 0, On_post="P"), *changed([fixing("E", across, 0, 2.5)], 0, On_post="P", **cells)]
    return Yard(name, ((code, "Fixings", column, 4),), fixings=rows, options=SAILS)


SUPPORTS = (
    _held("gutter", "support-not-priced", Held_by="gutter"),
    _held("tree", "support-engineer", Held_by="tree"),
    _held("wall", "edge-unknown", "To edge", Held_by="solid wall"),
    _held("corner", "edge-near", "To edge", Held_by="solid wall", To_edge=0.2),
)

RIGGING = (
    Yard("stock", (("stock-cloth", "Options", "Cloth"),), fixings=flat(6),
         options=[option("A B C D", "SQ-5000", Cloth="KNIT-HEAVY")]),
    Yard("usual", (("cloth-usual", "Options", "Cloth"),), fixings=steady(), options=[option("A B C D", "made to fit")]),
    Yard("rope", (("run-turned-to-rope", *AT),), fixings=flat(7), options=[option("A B C D", "SQ-3600")]),
    Yard("chain", (("chain-long", *AT),), fixings=flat(7),
         options=[option("A B C D", "SQ-3600", Run="A chain, B chain, C chain, D chain")]),
    Yard("short", (("set-changed", *AT),), fixings=flat(4.587), options=[option("A B C D", "SQ-4000")]),
    Yard("asked", (("hardware-changed", *AT),), fixings=flat(4.587),
         options=[option("A B C D", "SQ-4000", Hardware="light")]),
    Yard("one", (("few-tensioners", *AT),), fixings=steady(), options=[made(Tensioned="A")]),
)  # fmt: skip

POSTS = (
    Yard("disagree", (("post-disagrees", "Options", "Depth", 1),),
         fixings=[*steady(), fixing("E", 11, 0, 2.6), fixing("F", 11, 5.3, 3.2)],
         options=[made(Depth=1.0), made("B E F C", Depth=1.3)]),
    _on_one_post("apart", "post-apart", "On post", 0.6),
    _on_one_post("aside", "post-askew", "Across", 0.3),
    _on_one_post("step", "post-two-grounds", "Ground level", 0, Ground_level=0.2),
    _held("tall", "post-too-tall", "Fixing", Height=9),
    _held("thin", "post-too-long", "Fixing", Height=6, Post="LT-100"),
    Yard("middle", (("post-plumb", *POST),), options=[made("O P Q", Sail="1"), made("O R S", Sail="2")],
         fixings=[fixing("O", 0, 0, 2.6),
                  *[fixing(n, x, y, 2.6) for n, x, y in (("P", -5, -3), ("Q", -5, 3), ("R", 5, 3), ("S", 5, -3))]]),
    _held("shallow", "footing-shallow", "Fixing", Depth=0.5),
    Yard("far", tuple(("depth-table-stretched", *POST, n) for n in range(4)), fixings=flat(8), options=[made()]),
    _held("narrow", "hole-narrow", "Fixing", Hole=0.24),
    _held("full", "hole-full", "Fixing", Hole=0.15, Post="LT-150"),
    _held("rock", "rock-in-hole", "Fixing", Rock_at=0.5),
    _held("fence", "hole-over-boundary", "To boundary", To_boundary=0.1),
    _held("pipe", "hole-near-service", "To service", To_service=0.6),
)  # fmt: skip

SITES = (
    Yard("flat", (("fall-small", *AT),), fixings=flat(5.3), options=[made()]),
    Yard("pond", (("fall-small-dry", *AT), ("drain-unknown", "Sites", "Drains to")), fixings=flat(5.3), options=[DRY]),
    Yard("spout", (("drain-careful", "Sites", "Drains to"),), {"Drains to": "gutter"}, STEEP, [DRY]),
    Yard("lawn", (("drain-told", "Sites", "Drains to"),), {"Drains to": "ground"}, STEEP, [DRY]),
    Yard("low", (("low-corner", *AT),), fixings=changed(steady(), 2, Height=1.9), options=[made()]),
    Yard("silent", (("near-unknown", "Sites", "Near"), ("services-not-located", "Sites", "Services"),
                    ("test-hole-unknown", "Sites", "Test hole")),
         {"Near": None, "Services": None, "Test hole": None}, steady(), [made()]),
    Yard("swing", (("climb-risk", "Sites", "Near"), ("pool-near", "Sites", "Near")), {"Near": "climbable, pool"},
         steady(), [made()]),
    Yard("creep", (("creep-beyond", *AT),), fixings=changed(flat(11.2), 1, Height=5),
         options=[option("A B C D", "10 x 10 m", Cloth="KNIT-LIGHT")]),
    Yard("rub", (("sails-near", *AT, 1),), options=[made(Sail="low"), made("E F G H", Sail="high")],
         fixings=[*flat(6), *[fixing(n, x, y, 2.7) for n, x, y in (("E", 4, 4), ("F", 10, 4), ("G", 10, 10),
                                                                  ("H", 4, 10))]]),
)  # fmt: skip

CONSENT = (
    Yard("limits", (("consent-needed", "Sites", "Place"), ("consent-unknown", "Fixings", "To boundary")),
         {"Place": "Storm Bay"}, steady(), [made()]),
    Yard("asking", (("consent-question", "Sites", "Place"),), {"Place": "Old Quay"}, steady(), [made()]),
    Yard("elsewhere", (("consent-no-rows", "Sites", "Place"),), {"Place": "Storm Baj"}, steady(), [made()]),
    Yard("nowhere", (("consent-no-place", "Sites", "Place"),), {}, steady(), [made()]),
)  # fmt: skip

TYPED = (
    Yard("bags", (("concrete-short", "Extras", "Quantity"),), fixings=steady(), options=[made()],
         extras=[{**PAVING, "Instead of": "CON-BAG-20", "Unit": "bag", "Quantity": 3}]),
    Yard("lumps", (("concrete-unknown", "Extras", "Quantity"),), fixings=steady(), options=[made()],
         extras=[{**PAVING, "Instead of": "CON-BAG-20", "Unit": "lump", "Quantity": 3}]),
    Yard("typed", (("extra-visit", "Extras", "Visit"), ("instead-of-unknown", "Extras", "Instead of", 1),
                   ("unit-mismatch", "Extras", "Unit", 2)),
         fixings=steady(), options=[made(), made(name="2", Chosen="yes")],
         extras=[{**PAVING, "Unit": "h", "Kind": "labour"}, {**PAVING, "Instead of": "nothing-such"},
                 {**PAVING, "Option": "1", "Unit": "litre", "Item": "CON-BAG-20", "Cost each": None}]),
)  # fmt: skip


def _case(name: str, yards: tuple[Yard, ...]) -> Case:
    return Case(name, yards_in(yards), yards_told(yards))


CASES: tuple[Case, ...] = (
    _case("supports and rigging", (*SUPPORTS, *RIGGING)),
    _case("posts and holes", POSTS),
    _case("sites", (*SITES, *CONSENT)),
    _case("typed lines", TYPED),
)
