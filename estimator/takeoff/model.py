"""What the take-off of an option is made of. Lengths m, areas m2, volumes m3, angles degrees, forces N."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from estimator.takeoff.consent import Compared

Measures = Mapping[str, Mapping[str, float]]


@dataclass(frozen=True, slots=True)
class Point:
    """A fixing that the option uses."""

    fixing: str
    held_by: str
    across: float
    out: float
    height: float
    ground: float
    post_name: str  # blank: not on a new post


@dataclass(frozen=True, slots=True)
class SailTaken:
    """One sail as fitted. corners: x, y, z of each corner at rest, in the order of its fixings."""

    sail: str
    size: str
    code: str  # stock code, blank for a sail made for the job
    origin: str  # stock, made to size, made to fit
    cloth: str
    colour: str
    fixings: tuple[str, ...]
    sides: tuple[float, ...]
    sewn: tuple[float, ...]
    flat_area: float
    net_area: float
    plan_area: float
    corners: tuple[tuple[float, float, float], ...]
    working: str
    runners_up: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Corner:
    """How one corner is hung. None where it does not apply."""

    sail: str
    fixing: str
    gap: float
    off_bisector: float
    off_centroid: float
    set: str
    run: str  # chain, wire rope
    links: int | None
    pitch: float | None
    run_length: float
    cut_length: float
    tensioner: str | None
    take_up_used: float | None
    take_up_left: float | None
    slack: float | None
    stretch: float  # D, at this corner
    parts_length: float  # P
    needed: float  # the least gap this set and tensioner can take
    weakest: str
    working_load: float | None
    parts: tuple[tuple[str, float], ...]  # code, number (pieces, or metres of chain and rope)
    working: str
    take_up_after_creep: float | None = None  # what is left when the cloth has crept


@dataclass(frozen=True, slots=True)
class Post:
    """A new post."""

    post_name: str
    fixings: tuple[str, ...]
    post: str  # section code
    width: float
    above_ground: float
    in_ground: float
    length: float
    stock_length: float
    lean: float
    foot_across: float
    foot_out: float
    toward: tuple[float, float]  # unit vector in plan toward the sail, (0, 0) when plumb
    on_plate: bool
    working: str


@dataclass(frozen=True, slots=True)
class Footing:
    """The hole of a post and what goes into it; in place, without waste."""

    post_name: str
    fixings: tuple[str, ...]
    rule: str
    diameter: float
    depth: float
    hole_depth: float
    hole_across: float
    hole_out: float
    hole: float
    stone: float
    pad: float
    concrete: float
    spoil: float
    ground: str
    rock_from: float | None  # m below ground, None: no rock within the hole
    others: tuple[tuple[str, float], ...]  # the depth by the other rules
    working: str
    edge_to_boundary: float | None = None  # from the edge of the hole; None: not given
    edge_to_service: float | None = None


@dataclass(frozen=True, slots=True)
class Varies:
    """A share of a quantity that may come out otherwise. low, high: as shares of what is likely; group: what goes up
    and down with it, blank: nothing; source: of low and high."""

    name: str
    share: float
    low: float
    high: float
    group: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class Hours:
    """Person-hours of one task on one visit."""

    task: str
    trade: str
    visit: str
    hours: float
    working: str
    varies: tuple[Varies, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the bill. quantity and rate unrounded; cost rounded once. needed: before whole packs, None where it
    is the quantity; colour: or finish; pieces: what is cut for it, each with what it is for and its length [m];
    varies: what of its quantity or rate may come out otherwise."""

    code: str
    description: str
    kind: str  # material, labour, hire, subcontract, fee
    quantity: Decimal
    unit: str
    rate: Decimal
    cost: Decimal
    working: str
    table: str = ""  # rate table of the price, blank: typed in Extras
    source: str = ""
    shown: bool = False  # named on the quote
    needed: Decimal | None = None
    colour: str = ""
    pieces: tuple[tuple[str, float], ...] = ()
    varies: tuple[Varies, ...] = ()
    given: str = ""  # how the price was given where Extras says so: firm, verbal


@dataclass(frozen=True, slots=True)
class Pour:
    """The concrete of an option as it was computed. net: in place [m3]; waste: fraction, once; factor: of ground and
    access on the hours to place it; code: of the line of the bill that it became."""

    net: float
    waste: float
    factor: float
    code: str


@dataclass(frozen=True, slots=True)
class Apart:
    """A line outside the option's total: offered apart, or a variation."""

    line: Line
    why: str  # offered apart, variation
    variation: str = ""
    reason: str = ""  # as typed


@dataclass(frozen=True, slots=True)
class Fall:
    """Along a side or a diagonal of a sail, from the higher to the lower corner; corners by their fixings."""

    sail: str
    start: str
    end: str
    side: bool
    degrees: float
    percent: float
    mm_per_m: float


@dataclass(frozen=True, slots=True)
class Drain:
    """Where a sail drains. fixing: at its lowest corner; fall: of the steepest line to it [degrees]; litres: a
    second in a heavy shower, 0 for a cloth that lets water through."""

    sail: str
    fixing: str
    fall: float
    litres: float
    waterproof: bool


@dataclass(frozen=True, slots=True)
class SurveyLine:
    """A taped line after the adjustment. residual: computed - taped, in its own sense."""

    start: str
    end: str
    length: float
    level: bool
    residual: float


@dataclass(frozen=True, slots=True)
class Survey:
    """The taped lines of a site. mirror: which point lies on which side, in words; spare: lines beyond those
    that fix the figure; misclosure against limit: chi-squared at 1 %."""

    lines: tuple[SurveyLine, ...]
    mirror: str
    verdict: str
    spare: int
    misclosure: float
    limit: float


@dataclass(frozen=True, slots=True)
class WallMarks:
    """Marks of a sail on a wall. marks: name, distance from the start and from the end of the wall, moved out;
    each_end: room at each end of a side; extra: chain that moving out costs at each corner."""

    sail: str
    wall: str
    length: float
    marks: tuple[tuple[str, float, float, float], ...]
    each_end: float
    extra: float
    start_across: float
    out: float
    first_rafter: float | None
    rafter_spacing: float | None


@dataclass(frozen=True, slots=True)
class Takeoff:
    """Everything taken off one option before it is priced; what could not be known is empty."""

    site: str
    option: str
    points: tuple[Point, ...] = ()
    sails: tuple[SailTaken, ...] = ()
    corners: tuple[Corner, ...] = ()
    posts: tuple[Post, ...] = ()
    footings: tuple[Footing, ...] = ()
    engineer: tuple[str, ...] = ()  # fixings that need an engineer
    excluded: tuple[str, ...] = ()  # descriptions of work by others
    shown: tuple[str, ...] = ()  # descriptions named on the quote
    hours: tuple[Hours, ...] = ()
    visits: tuple[str, ...] = ()  # names, in order
    days: Mapping[str, int] | None = None  # by visit
    measures: Measures | None = None
    lines: tuple[Line, ...] = ()
    apart: tuple[Apart, ...] = ()
    marks: tuple[WallMarks, ...] = ()
    falls: tuple[Fall, ...] = ()
    drains: tuple[Drain, ...] = ()
    consent: tuple[Compared, ...] = ()
    pour: Pour | None = None  # None: no footing, or concrete that was typed instead
