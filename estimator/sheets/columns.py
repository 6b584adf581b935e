"""Every column of the job workbook, declared once: reader, blank workbook, drop-downs and help come from here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "text",  # any text
    "name",  # a name that others point to
    "names",  # a list of names
    "number",  # a plain number
    "whole",  # a whole number
    "length",  # float m
    "distance",  # float km
    "angle",  # float degrees
    "percent",  # Decimal fraction
    "money",  # Decimal
    "speed",  # float m/s, never without a unit
    "area",  # float m2
    "volume",  # float m3
    "force",  # float N
    "stress",  # float Pa
    "mass",  # float kg
    "section",  # section modulus, float m3
    "time",  # float hours
    "date",
    "choice",  # one of `choices`
    "choices",  # several of `choices`
    "yes",  # bool
    "size",  # text, read by sheets.size
]


@dataclass(frozen=True, slots=True)
class Column:
    """One column. low, high: bounds of a number, in the kind's unit, both allowed values; table: the rate
    table whose names fill the drop-down; note: the words under the heading in a blank workbook."""

    name: str
    kind: Kind = "text"
    required: bool = False
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    table: str = ""
    also: tuple[str, ...] = ()  # other headings people write
    note: str = ""
    example: str = ""
    width: int = 12


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet. A sheet of items (`Job`) has its columns as rows: Item and Value."""

    sheet: str
    columns: tuple[Column, ...]
    note: str = ""
    required: bool = False  # a job workbook has it
    items: bool = False


def _length(name: str, low: float, high: float, note: str = "", **more: object) -> Column:
    return Column(name, "length", low=low, high=high, note=note, **more)  # type: ignore[arg-type]


JOB = Table(
    "Job",
    (
        Column("Job name", required=True, example="Fernhollow kindergarten"),
        Column("Reference"),
        Column("Revision", "whole", low=1, high=999, note="blank: 1"),
        Column("Customer"),
        Column("Customer is", "choice", choices=("private", "business"), note="private: prices always with tax"),
        Column("Customer address"),
        Column("Customer email"),
        Column("Site contact"),
        Column("Prepared by"),
        Column("Priced on", "date", note="blank: today"),
        Column("Valid for", "whole", low=1, high=730, also=("Valid for (days)", "Validity"), note="days"),
        Column("Status", "choice", choices=("budget", "firm", "accepted"), note="blank: budget"),
        Column("Place", note="whose consent rows apply"),
        Column("Units", "choice", choices=("metric", "feet and inches"), note="blank: metric"),
        Column("Decimal mark", "choice", choices=("point", "comma"), note="how typed numbers are meant"),
        Column("Paper", "choice", choices=("A4", "Letter"), note="blank: A4"),
        Column("Currency", note="a code or a sign"),
        Column("Tax", "names", table="taxes", note="codes of the rate book, or none; blank: the usual ones"),
        Column("Tax reason", note="why none: printed on the quote"),
        Column("Prices shown", "choice", choices=("with tax", "without")),
        Column("Margin", "percent", low=0, high=0.99, note="on price; this or Markup"),
        Column("Markup", "percent", low=0, high=20, note="on cost; this or Margin"),
        Column("Contingency", "percent", low=0, high=2),
        Column("Discount", "percent", low=0, high=0.99),
        Column("Deposit", "percent", low=0, high=1),
        Column("Made off site", "yes", note="yes: over half of the work; some places allow a higher deposit then"),
        Column(
            "Round price to", "money", low=0.01, high=10000, note="the price before tax, to a whole number of these"
        ),
        Column("Finish by", "date", note="the day the quote promises"),
        Column("Crew", "number", low=1, high=50, note="people"),
        Column("Hours a day", "number", low=1, high=24),
        Column("Rates", note="a folder or workbook, from the job's folder; blank: the default rate book"),
        Column("Notes"),
    ),
    note="One item a row. Only the job's name is needed; the rest has a default that is said aloud.",
    required=True,
    items=True,
)

NEAR = ("pool", "power line", "climbable", "glass", "traffic", "cyclone coast", "snow", "nothing")
SITES = Table(
    "Sites",
    (
        Column("Site", "name", required=True, example="EXAMPLE", width=16),
        Column("Address", width=28, example="3 Mill Lane"),
        Column("Place", note="blank: the job's"),
        Column("Ground", required=True, table="ground", example="firm"),
        _length("Rock at", 0, 20, "m below ground"),
        Column("Test hole", "choice", choices=("yes", "no"), note="yes: somebody has dug or bored here"),
        Column("Digging", "choice", choices=("hand", "auger", "excavator"), note="blank: hand"),
        Column("Access", table="access", example="easy"),
        Column("Trip", note="sites of one name share travel and set-up"),
        Column("Travel", "distance", low=0, high=2000, note="km, one way", example="18"),
        Column("Services", "choice", choices=("none", "plans", "located", "exposed")),
        Column("Drains to", "choice", choices=("ground", "paving", "gutter", "roof", "neighbour")),
        Column("Near", "choices", choices=NEAR),
        Column("Existing sails", "whole", low=0, high=99),
        Column("Latitude", "number", low=-90, high=90),
        Column("Longitude", "number", low=-180, high=180),
        Column("Facing", "angle", low=0, high=360, note="compass bearing of Out"),
        Column("Wind speed", "speed", low=1, high=120, note="with its unit, e.g. 41 m/s"),
        Column("Wind is", "choice", choices=("gust", "mean", "design"), note="needed with a wind speed"),
        Column(
            "Wind multiplier",
            "number",
            low=0.3,
            high=2,
            note="on a gust or mean: ground, shelter and hill together; blank: 1",
        ),
        Column("For the customer", width=28),
        Column("For the crew", width=28),
        Column("Notes", width=28),
    ),
    note="One row a site.",
    required=True,
)

FIXINGS = Table(
    "Fixings",
    (
        Column("Site", "name", required=True, example="EXAMPLE", width=16),
        Column("Fixing", "name", required=True, example="A"),
        Column("Held by", required=True, table="supports", example="rafter", width=16),
        _length("Across", -500, 500, "to your right, back to the house", example="0"),
        _length("Out", -500, 500, "straight ahead", example="0"),
        _length("Height", -30, 30, "above the site's datum", example="2.9"),
        _length("Above ground", 0, 15, "instead of Height"),
        _length("Ground level", -30, 30, "same datum; blank: 0"),
        Column("On post", "name", note="fixings with one name are on one post"),
        Column("Post", table="posts"),
        _length("Depth", 0.2, 5, "ground to the top of the base layers"),
        _length("Hole", 0.15, 2, "diameter"),
        Column("Lean", "angle", low=0, high=30, note="degrees"),
        Column("Tied", "yes", note="yes: also fastened to a deck or frame"),
        Column("Ground", table="ground", note="blank: the site's"),
        _length("Rock at", 0, 20, "m below ground"),
        _length("To edge", 0, 100, "of a wall"),
        Column("Known by", "choice", choices=("measured", "told", "assumed"), note="blank: assumed"),
        _length("To boundary", -10, 500),
        _length("To service", -10, 500),
        Column("For the crew", width=28),
        Column("Notes", width=28),
    ),
    note="One row a point that can hold a corner.",
)

TAPE = Table(
    "Tape",
    (
        Column("Site", "name", required=True, example="EXAMPLE", width=16),
        Column("From", "name", required=True, example="A"),
        Column("To", "name", required=True, example="B"),
        _length("Length", 0.05, 200, "blank: not taken", example="5.4"),
        Column("Taken", "choice", choices=("straight", "level"), note="blank: straight"),
        Column("Notes", width=28),
    ),
    note="Distances taken with the tape, between fixings of one site.",
)

WALLS = Table(
    "Walls",
    (
        Column("Site", "name", required=True, example="EXAMPLE", width=16),
        Column("Wall", "name", required=True, example="House"),
        _length("Start across", -500, 500, "where the wall begins; blank: 0"),
        _length("Out", -500, 500, "of its face; blank: 0"),
        _length("Length", 0.3, 200, required=True, example="8"),
        _length("Centre", 0, 200, "of the sail, from Start; blank: half"),
        _length("Fixing height", 0.5, 30, required=True, example="2.7"),
        _length("First rafter", 0, 200, "from Start"),
        _length("Rafter spacing", 0.1, 5),
        Column("Held by", table="supports", note="blank: rafter", example="rafter", width=16),
        _length("Post height", 0.5, 15, required=True, example="2.4"),
        _length("Post ground level", -30, 30, "blank: 0"),
        Column("Notes", width=28),
    ),
    note="A wall that a sail is to hang on, with posts opposite.",
)

OPTIONS = Table(
    "Options",
    (
        Column("Site", "name", required=True, example="EXAMPLE", width=16),
        Column("Option", "name", required=True, example="1"),
        Column("Sail", "name", note="blank: 1, 2 ... in row order"),
        Column("Corners at", "names", note="fixings in order round the sail", example="A B C D", width=18),
        Column("Wall", "name"),
        Column(
            "Size", "size", note="a stock code, 3.6 x 5.4 m, 5 5 5 m, made to fit; blank: largest that fits", width=18
        ),
        Column("Cloth", table="cloths"),
        Column("Colour"),
        Column("Hardware", table="corner_sets"),
        Column("Run", note="chain, wire rope; or chain, D wire rope", width=18),
        Column("Tensioned", "names", note="fixings; blank: all"),
        Column("Post", table="posts"),
        _length("Depth", 0.2, 5),
        _length("Hole", 0.15, 2),
        Column("Profit margin", "percent", low=0, high=0.99, note="blank: the job's"),
        Column("Status", "choice", choices=("budget", "firm", "accepted"), note="blank: the job's"),
        Column("Chosen", "yes"),
        Column("For the customer", width=28),
        Column("Notes", width=28),
    ),
    note="One row a sail; rows with one site and option are one alternative.",
    required=True,
)

EXTRAS = Table(
    "Extras",
    (
        Column("Site", "name", note="blank: the whole job", example="EXAMPLE", width=16),
        Column("Option", "name", note="blank: every option"),
        Column("Description", required=True, example="Lift out two paving slabs", width=32),
        Column("Quantity", "number", required=True, low=0, high=1_000_000, example="2"),
        Column("Unit", required=True, example="each"),
        Column("Item", note="a code of the rate book; or Cost each"),
        Column("Cost each", "money", low=-10_000_000, high=10_000_000, example="35"),
        Column("Kind", "choice", choices=("material", "labour", "hire", "subcontract", "fee")),
        Column("Price is", "choice", choices=("firm", "verbal"), note="in writing, or by word of mouth"),
        Column("Visit"),
        Column("Instead of", note="code of a computed line; quantity 0 leaves it out"),
        Column("By others", "yes", note="yes: no cost, an exclusion"),
        Column("Shown", "yes", note="yes: named on the quote"),
        Column("Offered apart", "yes", note="yes: priced beside, outside the total"),
        Column("Variation"),
        Column("Reason", width=28),
    ),
    note="Anything the rate book does not count by itself.",
)

ACTUALS = Table(
    "Actuals",
    (
        Column("Site", "name", note="blank: the whole job", example="EXAMPLE", width=16),
        Column("Option", "name", note="blank: the chosen one"),
        Column(
            "What",
            required=True,
            table="labour",
            note="a task, or the code of a line of the bill",
            width=24,
            example="hang sail",
        ),
        Column("Quantity", "number", required=True, low=0, high=1_000_000, example="6.5"),
        Column("Unit", note="h, bag, m3 and so on; blank: the line's", example="h"),
        Column("Day", "date"),
        Column("By"),
        Column("Notes", width=28),
    ),
    note="What was used on the job: hours of all people together, and quantities. It changes no price.",
)

TABLES: tuple[Table, ...] = (JOB, SITES, FIXINGS, TAPE, WALLS, OPTIONS, EXTRAS, ACTUALS)
