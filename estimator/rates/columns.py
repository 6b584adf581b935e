"""Every column of the rate book, declared once: reader, checks and documents come from here.

Lists in a cell (colours, tensioners, stock lengths) are separated by commas or semicolons, since their
words may hold spaces.
"""

from __future__ import annotations

from collections.abc import Mapping

from estimator.sheets.columns import Column, Kind, Table

KINDS = ("material", "labour", "hire", "subcontract", "fee")
PART_KINDS = ("eye", "shackle", "hook", "tensioner", "chain", "wire rope", "thimble", "grip", "ring")
TAKEN_ON = ("materials", *KINDS, "cost", "running", "price")  # `material` is the same as `materials`
GIVEN = ("firm", "verbal")  # a price in writing, or by word of mouth
DIGGING = ("hand", "auger", "excavator")
PLACES = (
    "included",
    "excluded",
    "rock",
    "consent",
    "programme",
    "warranty",
    "care",
    "payment",
    "acceptance",
    "caution",
    "crew",
    "mail",
)
WORDING_WHEN = (
    "posts",
    "no posts",
    "provisional",
    "engineer",
    "tree",
    "rock",
    "soft",
    "post by others",
    "existing post",
    "waterproof",
    "permeable",
    "made to fit",
    "budget",
    "firm",
    "consent",
    "pool",
    "power line",
    "climbable",
    "glass",
    "traffic",
    "timber",
    "steel",
    "base plate",
    "house anchor",
    "wire rope",
    "cyclone coast",
    "snow",
    "take-down",
    "no take-down",
)
CONSENT_WHEN = (
    "house anchor",
    "free-standing",
    "waterproof",
    "permeable",
    "posts",
    "existing sails",
    "pool",
    "cyclone coast",
)
COMPARE = ("at most", "under", "at least", "over")
AT_LEAST = ("footing to boundary", "sail to boundary")  # measures that are compared so where a row does not say how
# Measure of the consent table to the kind of its limit.
CONSENT_MEASURES: Mapping[str, Kind] = {
    "plan area": "area",
    "height above ground": "length",
    "footing to boundary": "length",
    "sail to boundary": "length",
    "existing sails": "number",
    "house anchor": "number",
    "question": "text",
}
VISITS = ("survey", "footings", "re-measure", "hang", "re-tension")
# For each to its measures: the only pairs that kits and labour may count by.
MEASURES: Mapping[str, tuple[str, ...]] = {
    "job": ("count",),
    "site": ("count", "km"),
    "option": ("count",),
    "visit": ("count", "km"),
    "day": ("count",),
    "sail": ("count", "flat area", "net area", "perimeter"),
    "corner": ("count", "tensioned", "wire rope"),
    "fixing": ("count",),
    "post": ("count", "length"),
    "footing": ("count", "hole", "concrete", "stone", "spoil"),
    "consent needed": ("count",),
    "engineer needed": ("count",),
}


def _c(
    name: str, kind: Kind = "text", need: bool = False, low: float | None = None, high: float | None = None
) -> Column:
    return Column(name, kind, need, low, high)


def _choice(name: str, choices: tuple[str, ...], need: bool = True) -> Column:
    return Column(name, "choice", need, choices=choices)


_CODE = _c("code", "name", True)
_TEXT = _c("description")
_PRICE = _c("price", "money", True, 0, 10_000_000)
_PER = _c("per", need=True)
_PACK = _c("pack", "number", low=0.000001, high=1_000_000)
# how a supplier gave a price, and until which day he holds it; blank: nobody has said
_HELD = (
    Column("price is", "choice", choices=GIVEN),
    Column("valid until", "date", also=("price holds until",)),
)
# how far what is likely may come out otherwise; blank: not at all on that side
_ENDS = (
    Column("low", "percent", low=0, high=1, note="of what is likely; blank: 100 %"),
    Column("high", "percent", low=1, high=20, note="of what is likely; blank: 100 %"),
)
# from whom it is bought, and for less from which quantities on: `10: 4.10; 50: 3.80`
_BOUGHT = (
    _c("supplier", "name"),
    _c("supplier code"),
    _c("lead days", "whole", low=0, high=400),
    _c("price breaks"),
)
_STOCK_PRICES = _c("stock prices")  # of each stock length, in their order
_DATED = (Column("valid from", "date"), _c("source"))
_EACH = (_choice("for each", tuple(MEASURES)), _c("measure", need=True))


def _table(name: str, *columns: Column) -> Table:
    return Table(name, (*columns, *_DATED), required=True)


def _length(name: str, low: float, high: float, need: bool = False) -> Column:
    return Column(name, "length", need, low, high)


RATE_TABLES: tuple[Table, ...] = (
    _table("settings", _c("name", "name", True), _c("value", need=True), _c("unit"), _TEXT),
    _table("business", _c("item", "name", True), _c("value")),
    _table(
        "wording",
        _choice("place", PLACES),
        Column("when", "choices", choices=WORDING_WHEN, note="several, with commas: all together"),
        _c("text", need=True),
        _c("language"),
    ),
    _table(
        "sails",
        _CODE,
        _TEXT,
        Column("sides", "size", True),
        _c("cloth", "name", True),
        _c("colours"),
        _PRICE,
        _c("rings sewn in", "yes"),
        *_BOUGHT,
        *_HELD,
    ),
    _table(
        "cloths",
        _CODE,
        _TEXT,
        _c("colours"),
        Column("price per m2", "money", True, 0, 10_000, also=("price",)),
        _c("mass", "number"),
        _c("stretch", "percent", True, 0, 0.15),
        _c("waterproof", "yes"),
        _c("edge hollow", "percent", True, 0, 0.25),
        _length("roll width", 0.3, 20),
        _c("minimum fall", "angle", True, 0, 60),
        _c("stiffness", "number"),
        _c("edge stiffness", "force", low=1000, high=100_000_000),
        _c("pretension", "number"),
        _c("wind share", "number", low=0.05, high=1),
        *_BOUGHT,
        *_ENDS,
        *_HELD,
    ),
    _table(
        "rigging",
        _CODE,
        _TEXT,
        _choice("kind", PART_KINDS),
        _c("size"),
        _length("length", 0, 2),
        _length("pitch", 0.005, 0.3),
        Column("closed", "length", False, 0.02, 3, also=("closed length",)),
        Column("open", "length", False, 0.02, 3, also=("open length",)),
        _c("working load", "force", low=1, high=1_000_000),
        _c("breaking load", "force", low=1, high=10_000_000),
        _c("axial working load", "force", low=1, high=1_000_000),
        _length("turn back", 0.01, 2),
        _c("grips per end", "whole", low=1, high=10),
        _c("mass", "mass", low=0, high=100),
        _PRICE,
        _PER,
        _PACK,
        _c("stock lengths"),
        _STOCK_PRICES,
        *_BOUGHT,
        *_HELD,
    ),
    _table(
        "corner_sets",
        _c("set", "name", True),
        _TEXT,
        _length("up to", 0.5, 100, True),
        _c("eye", "name"),
        _c("shackle", "name"),
        _c("shackles", "whole", low=0, high=6),
        _c("tensioners"),
        _c("chain", "name"),
        _c("wire rope", "name"),
        _c("thimble", "name"),
        _c("grip", "name"),
        _c("ring", "name"),
    ),
    _table(
        "posts",
        _CODE,
        _TEXT,
        _c("material", need=True),
        _choice("shape", ("square", "round")),
        _length("width", 0.03, 1, True),
        _length("wall", 0.001, 0.1),
        _length("up to", 0.3, 15, True),
        Column("hole diameter", "length", False, 0.15, 2, also=("hole",)),
        _c("stock lengths", need=True),
        _c("mass", "number"),
        _c("section modulus", "section", low=1e-7, high=1),
        _c("modulus", "stress", low=1e8, high=1e12),
        _c("allowable stress", "stress", low=1e5, high=1e10),
        _c("finish"),
        _PRICE,
        _PER,
        _STOCK_PRICES,
        *_BOUGHT,
        *_ENDS,
        *_HELD,
    ),
    _table(
        "supports",
        _c("support", "name", True),
        _TEXT,
        _c("also"),
        _choice("priced", ("yes", "engineer", "no")),
        _choice("makes", ("post", "plate post"), need=False),
        _c("kit", "name"),
        _c("house", "yes"),
        _length("least to edge", 0, 10),
        _c("note"),
        _c("working load", "force", low=1, high=1_000_000),
        _c("screws", "whole", low=1, high=50),
        _length("screw diameter", 0.003, 0.03),
        _length("thread in wood", 0.005, 0.4),
        _c("wood gravity", "number", low=0.3, high=0.8),
        _choice("grain", ("side", "end"), need=False),
    ),
    _table(
        "ground",
        _c("ground", "name", True),
        _TEXT,
        _length("stone layer", 0, 1, True),
        _length("concrete pad", 0, 1, True),
        _c("swell", "number", True, 1, 3),
        _c("hand hours per m3", "number", True, 0, 200),
        _c("auger hours per hole", "number", True, 0, 100),
        _c("excavator hours per hole", "number", True, 0, 100),
        _c("labour factor", "number", True, 0.1, 10),
        _c("lateral bearing", "number"),
        _c("shear strength", "stress", low=1000, high=1_000_000),
        _c("friction angle", "angle", low=15, high=50),
        _c("unit weight", "number"),
        *_ENDS,
    ),
    _table(
        "access",
        _c("access", "name", True),
        _TEXT,
        _c("labour factor", "number", True, 0.1, 10),
        _c("hire item", "name"),
    ),
    _table("footing_depths", _length("longest side", 0.1, 100, True), _length("depth", 0.1, 10, True), _TEXT),
    _table(
        "concrete",
        _CODE,
        _TEXT,
        _choice("form", ("bag", "truck")),
        _c("yield", "volume", True, 0.0001, 1),
        _c("minimum load", "volume", low=0, high=20),
        Column("hours per m3", "number", True, 0, 50, also=("hours",)),
        _PRICE,
        _PER,
        _PACK,
        _c("largest load", "volume", low=0.1, high=20),
        _c("waiting price", "money", low=0, high=10_000),
        _c("mixer", "name"),
        _c("mixer hours per m3", "number", low=0, high=50),
        *_BOUGHT,
        *_HELD,
    ),
    _table(
        "items",
        _CODE,
        Column("description", required=True),
        _choice("kind", KINDS),
        _c("unit", need=True),
        _PRICE,
        _PACK,
        _c("minimum", "number", low=0, high=1_000_000),
        *_BOUGHT,
        *_ENDS,
        *_HELD,
    ),
    _table(
        "kits", _c("kit", "name", True), *_EACH, _c("item", "name", True), _c("quantity", "number", True, 0, 100_000)
    ),
    _table(
        "labour",
        _c("task", "name", True),
        *_EACH,
        _c("hours", "number", True, 0, 1000),
        _c("trade", "name", True),
        _choice("visit", (*VISITS, "every")),
        *_ENDS,
    ),
    _table("trades", _c("trade", "name", True), _TEXT, _c("cost per hour", "money", low=0, high=100_000), *_ENDS),
    _table(
        "charges", _c("step", "name", True), _TEXT, _choice("taken on", TAKEN_ON), _c("rate", "percent", True, -1, 20)
    ),
    _table(
        "taxes",
        _CODE,
        _c("name", need=True),
        _c("rate", "percent", True, 0, 1),
        _c("on kinds"),
        _c("usual", "yes"),
    ),
    _table(
        "consent",
        _c("place", "name", True),
        _choice("measure", tuple(CONSENT_MEASURES)),
        _c("limit"),
        _c("unit"),
        Column("when", "choices", choices=CONSENT_WHEN, note="several, with commas: all together"),
        _choice("compare", COMPARE, need=False),
        _TEXT,
    ),
    _table(
        "suppliers",
        _c("supplier", "name", True),
        _TEXT,
        _c("minimum order", "money", low=0, high=10_000_000),
        _c("delivery", "money", low=0, high=1_000_000),
        _c("delivery free from", "money", low=0, high=10_000_000),
        _c("lead days", "whole", low=0, high=400),
    ),
    _table(
        "usual_lines",
        _c("what", "name", True),
        Column("when", "choices", choices=WORDING_WHEN, note="several, with commas: all together"),
        _c("found by", need=True),
        _c("scope", "yes"),
        _c("note"),
    ),
    _table(
        "wages",
        _c("trade", "name", True),
        _TEXT,
        _c("wage per hour", "money", True, 0, 100_000),
        _c("on costs", "percent", True, 0, 3),
        _c("paid hours a year", "number", True, 1, 8784),
        _c("billable hours a year", "number", True, 1, 8784),
    ),
    _table(
        "deposit_caps",
        _c("place", "name", True),
        _choice("customer is", ("private", "business"), need=False),
        Column("up to", "money", False, 0, 1_000_000_000, note="price with tax, itself allowed; blank: above the last"),
        _c("made off site", "yes"),
        _c("cap", "percent", True, 0, 1),
        _TEXT,
    ),
    _table(
        "payment_stages",
        _c("stage", "name", True),
        Column("when", "choices", choices=WORDING_WHEN, note="several, with commas: all together"),
        _c("share", "percent", True, 0, 1),
        _TEXT,
    ),
    _table(
        "digging_limits",
        _choice("digging", DIGGING),
        _c("minutes per hole", "number", True, 0, 10_000),
        _choice("counted for", ("person", "machine")),
        _c("trade", "name"),
        _c("item", "name"),
        _TEXT,
    ),
)
# An older book has no such table: nothing is missed then, and that is said.
MAY_LACK = ("suppliers", "usual_lines", "wages", "deposit_caps", "payment_stages", "digging_limits")

# Columns that hold so much per metre or square metre, their unit in the heading: kind above and below the line,
# and the bounds in SI.
QUOTIENTS: Mapping[tuple[str, str], tuple[str, str, float, float]] = {
    ("cloths", "mass"): ("mass", "area", 0.01, 5),
    ("cloths", "stiffness"): ("force", "length", 500, 5_000_000),
    ("cloths", "pretension"): ("force", "length", 1, 20_000),
    ("posts", "mass"): ("mass", "length", 0.5, 500),
    ("ground", "lateral bearing"): ("stress", "length", 100, 1_000_000),
    ("ground", "unit weight"): ("force", "volume", 5_000, 30_000),
}

# What makes two rows of a table the same row on different days.
KEYS: Mapping[str, tuple[str, ...]] = {
    "settings": ("name",),
    "business": ("item",),
    "wording": ("place", "when", "language"),
    "sails": ("code",),
    "cloths": ("code",),
    "rigging": ("code",),
    "corner_sets": ("set",),
    "posts": ("code",),
    "supports": ("support",),
    "ground": ("ground",),
    "access": ("access",),
    "footing_depths": ("longest side",),
    "concrete": ("code",),
    "items": ("code",),
    "kits": ("kit", "for each", "measure", "item"),
    "labour": ("task", "for each", "measure", "visit"),
    "trades": ("trade",),
    "charges": ("step",),
    "taxes": ("code",),
    "consent": ("place", "measure", "when", "compare", "description"),
    "suppliers": ("supplier",),
    "usual_lines": ("what", "when"),
    "wages": ("trade",),
    "deposit_caps": ("place", "customer is", "made off site", "up to"),
    "payment_stages": ("stage", "when"),
    "digging_limits": ("digging",),
}
