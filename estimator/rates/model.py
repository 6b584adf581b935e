"""The rows of the rate book. Lengths m, areas m2, volumes m3, forces N, stresses Pa, angles degrees, hours,
money Decimal, per cents as fractions. `None` means the cell was blank."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from estimator.core.problems import Place


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a row came from: table, line or row number, the day it holds from, and its source in words."""

    table: str
    row: int
    valid_from: date | None = None
    source: str = ""


@dataclass(frozen=True, slots=True)
class Ends:
    """How far a row may come out otherwise, as shares of what is likely: low <= 1 <= high."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Setting:
    """One allowance or default. value: float in SI (angles in degrees, per cents as fractions, hours,
    days, km/h as written), or text."""

    name: str
    value: float | str
    unit: str
    origin: Origin
    shown: str = ""  # as written in the table, for Basis


@dataclass(frozen=True, slots=True)
class StockSail:
    """A ready-made sail. sides: as written, in the grammar of `Size`."""

    code: str
    description: str
    sides: str
    cloth: str
    colours: tuple[str, ...]
    price: Decimal
    rings_sewn_in: bool
    origin: Origin


@dataclass(frozen=True, slots=True)
class Cloth:
    """A cloth sold by area."""

    code: str
    description: str
    colours: tuple[str, ...]
    price: Decimal  # per m2
    mass: float | None  # kg/m2
    stretch: float  # fraction, at rest to tight
    waterproof: bool
    edge_hollow: float  # dip of the edge over its side, fraction
    roll_width: float | None  # m
    minimum_fall: float  # degrees
    origin: Origin
    stiffness: float | None = None  # N/m: pull of a strip over its stretch
    edge_stiffness: float | None = None  # N: pull of webbing or cable in the edge over its stretch
    pretension: float | None = None  # N/m in the cloth when the sail is hung
    wind_share: float | None = None  # part of the wind's pressure that the cloth takes
    ends: Ends | None = None  # of the price


@dataclass(frozen=True, slots=True)
class Part:
    """One rigging part. Lengths from bearing point to bearing point."""

    code: str
    description: str
    kind: str  # eye, shackle, hook, tensioner, chain, wire rope, thimble, grip, ring
    size: str
    length: float | None
    pitch: float | None
    closed: float | None
    open: float | None
    working_load: float | None  # N
    breaking_load: float | None  # N
    turn_back: float | None  # m at each end of a wire rope
    grips_per_end: int | None
    mass: float | None  # kg each, or kg/m for chain and rope
    price: Decimal
    per: str
    pack: Decimal | None
    origin: Origin
    axial_load: float | None = None  # N, working load of an eye along its shank


@dataclass(frozen=True, slots=True)
class CornerSet:
    """What hangs one corner. up_to: longest side of the sail [m]; codes of `rigging`; blank text: none."""

    name: str
    up_to: float
    eye: str
    shackle: str
    shackles: int
    tensioners: tuple[str, ...]  # shortest first
    chain: str
    wire_rope: str
    thimble: str
    grip: str
    ring: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class PostSection:
    """A post section. shape: square or round; width: side or diameter."""

    code: str
    description: str
    material: str
    shape: str
    width: float
    wall: float | None
    up_to: float  # height of the fixing above ground that it is used for
    hole: float | None  # hole diameter, when the row says so
    stock_lengths: tuple[float, ...]
    mass: float | None  # kg/m
    section_modulus: float | None  # m3
    modulus: float | None  # Pa
    allowable_stress: float | None  # Pa
    price: Decimal
    per: str  # m, kg or each (a stock length)
    origin: Origin
    finish: str = ""  # what keeps it from rust or rot
    ends: Ends | None = None  # of the price


@dataclass(frozen=True, slots=True)
class Support:
    """A way to hold a fixing. also: other names people write. makes: '' (only a fixing), 'post' (a new post
    in the ground), 'plate post' (a new post on a base plate). house: on a building."""

    name: str
    also: tuple[str, ...]
    priced: str  # yes, engineer, no
    kit: str
    makes: str
    house: bool
    least_to_edge: float | None
    note: str
    origin: Origin
    working_load: float | None = None  # N, of the whole fixing
    screws: int | None = None  # coach screws that carry the pull by their threads
    screw_diameter: float | None = None
    thread: float | None = None  # m of thread in the wood, without the tip
    wood_gravity: float | None = None  # specific gravity, oven dry
    end_grain: bool = False
    description: str = ""  # how it holds, as the customer reads it


@dataclass(frozen=True, slots=True)
class Ground:
    """A ground class. lateral_bearing [Pa per m of depth]."""

    name: str
    stone: float
    pad: float
    swell: float
    hand_hours: float  # person-hours per m3 of hole
    auger_hours: float  # person-hours per hole
    excavator_hours: float
    labour_factor: float
    lateral_bearing: float | None
    origin: Origin
    shear_strength: float | None = None  # Pa, undrained
    friction_angle: float | None = None  # degrees
    unit_weight: float | None = None  # N/m3
    ends: Ends | None = None  # of the hours to dig in it


@dataclass(frozen=True, slots=True)
class Access:
    """How one gets in."""

    name: str
    labour_factor: float
    hire_item: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class FootingDepth:
    """One point of the depth rule by longest side."""

    longest_side: float
    depth: float
    origin: Origin


@dataclass(frozen=True, slots=True)
class Concrete:
    """A way to buy concrete. yield_: m3 a bag (bag), 1 (truck, priced per m3)."""

    code: str
    description: str
    form: str  # bag, truck
    yield_: float
    minimum_load: float  # m3, 0 for bags
    hours: float  # person-hours per m3 to mix or barrow and place
    price: Decimal
    per: str
    pack: Decimal | None
    origin: Origin
    largest_load: float | None = None  # m3 on one truck
    waiting: Decimal | None = None  # of an hour that a truck waits
    mixer: str = ""  # code of the item that is hired to mix bags
    mixer_hours: float | None = None  # person-hours per m3 with it


@dataclass(frozen=True, slots=True)
class Break:
    """From this quantity on, in the unit of the price, one unit costs this."""

    quantity: Decimal
    price: Decimal


@dataclass(frozen=True, slots=True)
class StockLength:
    """A length that is sold [m]. price: of one such length, None: by its length."""

    length: float
    price: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Buying:
    """How a row is bought; every part of it may be blank. code: the supplier's own; lead_days: from the order to the
    yard, None: the supplier's; breaks: smallest quantity first; stock: shortest first, empty: by the piece or by the
    metre; cell: of the stock lengths."""

    supplier: str = ""
    code: str = ""
    lead_days: int | None = None
    breaks: tuple[Break, ...] = ()
    stock: tuple[StockLength, ...] = ()
    cell: str = ""


@dataclass(frozen=True, slots=True)
class Supplier:
    """From whom things are bought. minimum: the least goods of one order; delivery: of one order, nothing from
    `free_from` on; both before tax."""

    name: str
    description: str
    minimum: Decimal
    delivery: Decimal
    free_from: Decimal | None
    lead_days: int | None
    origin: Origin


@dataclass(frozen=True, slots=True)
class Item:
    """Anything else bought or paid. kind: material, labour, hire, subcontract, fee."""

    code: str
    description: str
    kind: str
    unit: str
    price: Decimal
    pack: Decimal | None
    minimum: Decimal | None
    origin: Origin
    ends: Ends | None = None  # of the price


@dataclass(frozen=True, slots=True)
class KitRow:
    """What a kit needs: quantity of an item for each unit of a measure."""

    kit: str
    for_each: str
    measure: str
    item: str
    quantity: Decimal
    origin: Origin


@dataclass(frozen=True, slots=True)
class LabourTask:
    """Person-hours of a task for each unit of a measure. visit 'every': spread over all visits."""

    task: str
    for_each: str
    measure: str
    hours: float
    trade: str
    visit: str
    origin: Origin
    ends: Ends | None = None  # of the hours


@dataclass(frozen=True, slots=True)
class Trade:
    """Cost of an hour. working: how it was built up from wages; blank: as the table says."""

    name: str
    cost_per_hour: Decimal
    origin: Origin
    working: str = ""
    ends: Ends | None = None


@dataclass(frozen=True, slots=True)
class Wage:
    """What an hour of a trade costs, built up. on_costs: fraction of the wage; built_up: half up to the cent."""

    trade: str
    wage: Decimal
    on_costs: Decimal
    paid_hours: Decimal
    billable_hours: Decimal
    built_up: Decimal
    working: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Charge:
    """One step from cost to price. taken_on: materials, labour, hire, subcontract, fee, cost, running, price."""

    step: str
    taken_on: str
    rate: Decimal
    origin: Origin


@dataclass(frozen=True, slots=True)
class Tax:
    """A tax. kinds: the kinds of line it falls on, empty for all. usual: taken when the job names none."""

    code: str
    name: str
    rate: Decimal
    kinds: tuple[str, ...]
    usual: bool
    origin: Origin


@dataclass(frozen=True, slots=True)
class ConsentRow:
    """A limit of a place. limit in SI; when: conditions that hold together, with commas between; compare: how the
    value is held against the limit; description: what a row of measure `question` asks."""

    place: str
    measure: str
    limit: float | None
    when: str
    origin: Origin
    compare: str = "at most"  # at most, under, at least, over
    description: str = ""


@dataclass(frozen=True, slots=True)
class UsualLine:
    """What a job of this kind usually has. when: as for a wording; found_by: codes of lines, or `visit hang`,
    `charge contingency`: any one of them will do; scope: the quote has to say it; note: why it matters, and for a
    scope row what the customer reads of it."""

    what: str
    when: str
    found_by: tuple[str, ...]
    scope: bool
    note: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class DepositCap:
    """The most that may be asked for as a deposit. customer_is: private, business, blank for both; up_to: price with
    tax, itself allowed, None above the last; off_site: only where over half of the work is made off site."""

    place: str
    customer_is: str
    up_to: Decimal | None
    off_site: bool
    cap: Decimal
    origin: Origin


@dataclass(frozen=True, slots=True)
class PaymentStage:
    """A part of what is left to pay after the deposit. Stages of one `when` sum to 1."""

    stage: str
    when: str
    share: Decimal
    origin: Origin


@dataclass(frozen=True, slots=True)
class DiggingLimit:
    """What a price holds of digging. minutes: a hole, of a person or of the machine (by_machine); trade, item: what an
    hour beyond that costs, one or both."""

    digging: str
    minutes: Decimal
    by_machine: bool
    trade: str
    item: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class Past:
    """An earlier price of the same row."""

    valid_from: date | None
    price: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """What is known of the price of a row in force. given: firm, verbal, blank when nobody has said; group: rows
    whose prices can be held against each other; place, dated: cells of the price and of its day."""

    table: str
    code: str
    price: Decimal
    group: str
    origin: Origin
    place: Place
    dated: Place
    held: Place
    given: str = ""
    valid_until: date | None = None
    past: tuple[Past, ...] = ()  # newest first


@dataclass(frozen=True, slots=True)
class Wording:
    """A text the customer reads. when: a condition, blank for always."""

    place: str
    when: str
    text: str
    language: str
    origin: Origin


@dataclass(frozen=True, slots=True)
class RateBook:
    """All rows in force on one day, keyed as written in lower case without outer space, in table order.

    later: (table, key) of rows that exist but only from a later day, with that day.
    """

    name: str  # folder or file name, for Basis
    day: date
    settings: Mapping[str, Setting]
    business: Mapping[str, str]
    wording: tuple[Wording, ...]
    sails: Mapping[str, StockSail]
    cloths: Mapping[str, Cloth]
    rigging: Mapping[str, Part]
    corner_sets: Mapping[str, CornerSet]
    posts: Mapping[str, PostSection]
    supports: Mapping[str, Support]
    ground: Mapping[str, Ground]
    access: Mapping[str, Access]
    footing_depths: tuple[FootingDepth, ...]
    concrete: Mapping[str, Concrete]
    items: Mapping[str, Item]
    kits: tuple[KitRow, ...]
    labour: tuple[LabourTask, ...]
    trades: Mapping[str, Trade]
    charges: tuple[Charge, ...]
    taxes: Mapping[str, Tax]
    consent: tuple[ConsentRow, ...]
    later: Mapping[tuple[str, str], date] = field(default_factory=dict)
    usual_lines: tuple[UsualLine, ...] = ()
    buying: Mapping[tuple[str, str], Buying] = field(default_factory=dict)  # by table and key of the row
    suppliers: Mapping[str, Supplier] = field(default_factory=dict)
    wages: Mapping[str, Wage] = field(default_factory=dict)
    deposit_caps: tuple[DepositCap, ...] = ()
    payment_stages: tuple[PaymentStage, ...] = ()
    digging_limits: Mapping[str, DiggingLimit] = field(default_factory=dict)
    prices: Mapping[tuple[str, str], Price] = field(default_factory=dict)  # by table and key of the row
    business_at: Mapping[str, Place] = field(default_factory=dict)  # the cells of `business`

    def number(self, setting: str) -> float:
        """A setting that is a number, in SI; the reader has made sure that it is there."""
        value = self.settings[setting].value
        assert isinstance(value, float)
        return value

    def text(self, setting: str) -> str:
        """A setting that is text; the reader has made sure that it is there."""
        return str(self.settings[setting].value)

    def known(self, setting: str) -> float | None:
        """A setting that a book may lack, in SI; None where it has no row for it."""
        found = self.settings.get(setting)
        return found.value if found and isinstance(found.value, float) else None
