"""The job as the estimator asked for it: frozen, already valid, SI.

Lengths m, angles degrees, speeds m/s, money and per cents Decimal (per cents as fractions). Names keep the
spelling they were typed with; they are compared by `core.names.key`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from estimator.core.problems import Place


@dataclass(frozen=True, slots=True)
class Source:
    """The row something was read from; cells: column name to cell, e.g. {'Height': 'F7'}."""

    file: str
    sheet: str
    row: int
    cells: Mapping[str, str]

    def place(self, column: str = "") -> Place:
        """The place of one column of the row; of the first column where it is not in the sheet."""
        first = next(iter(self.cells.values()), f"A{self.row}")
        return Place(self.file, self.sheet, self.cells.get(column) or first)


@dataclass(frozen=True, slots=True)
class Understood:
    """A row as it was read. table: what the sheet is for; cells: those that hold something, each with its name, its
    column, its value and whether it could be used."""

    table: str
    sheet: str
    row: int
    cells: tuple[tuple[str, str, object, bool], ...]


@dataclass(frozen=True, slots=True)
class Header:
    """Sheet `Job`."""

    name: str
    reference: str
    revision: int
    customer: str
    customer_is: str  # private, business
    customer_address: str
    customer_email: str
    site_contact: str
    prepared_by: str
    priced_on: date
    valid_days: int | None
    status: str  # budget, firm, accepted
    place: str
    units: str  # metric, feet and inches
    paper: str  # A4, Letter
    currency: str
    taxes: tuple[str, ...] | None  # codes; None: the usual ones of the book; empty: none
    prices_shown: str  # with tax, without
    margin: Decimal | None
    markup: Decimal | None
    contingency: Decimal | None
    discount: Decimal | None
    deposit: Decimal | None
    round_to: Decimal | None
    crew: float | None
    hours_a_day: float | None
    notes: str
    source: Source
    rates: str = ""  # path of the rate book, as typed
    finish_by: date | None = None
    tax_reason: str = ""  # why no tax is priced
    off_site: bool = False  # over half of the work is made off site
    understood: Understood | None = None


@dataclass(frozen=True, slots=True)
class Site:
    """A row of `Sites`."""

    name: str
    address: str
    place: str
    ground: str
    rock_at: float | None
    digging: str  # hand, auger, excavator
    access: str
    trip: str
    travel: float  # km, one way
    services: str
    drains_to: str
    near: tuple[str, ...]
    existing_sails: int | None
    latitude: float | None
    longitude: float | None
    facing: float | None
    wind_speed: float | None  # m/s
    wind_is: str
    for_customer: str
    for_crew: str
    notes: str
    source: Source
    wind_multiplier: float | None = None
    test_hole: str = ""  # yes, no; blank: nobody has said


@dataclass(frozen=True, slots=True)
class Fixing:
    """A point that can hold a corner. across, out, height: m in the site's axes; ground: level of the ground
    below it; post_name: `On post`, else its own name."""

    site: str
    name: str
    held_by: str  # a support of the rate book
    across: float
    out: float
    height: float
    ground: float
    post_name: str
    post: str  # section, blank: the option's or the rule's
    depth: float | None
    hole: float | None
    lean: float | None
    tied: bool
    ground_class: str  # blank: the site's
    rock_at: float | None
    to_edge: float | None
    known_by: str  # measured, told, assumed
    to_boundary: float | None
    to_service: float | None
    for_crew: str
    notes: str
    source: Source


@dataclass(frozen=True, slots=True)
class Size:
    """What was asked for in a size cell. kind: stock, sides, made to fit, largest;
    unreadable: what was typed could not be used.

    sides: lengths in order round the sail [m]; diagonal: from the first corner to the third [m].
    """

    kind: str
    text: str
    code: str = ""
    sides: tuple[float, ...] = ()
    diagonal: float | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """Chain or wire rope: for all corners, and for single fixings that say otherwise."""

    usual: str = ""  # chain, wire rope; blank: the engine's rule
    at: Mapping[str, str] | None = None  # fixing key to chain or wire rope


@dataclass(frozen=True, slots=True)
class Sail:
    """A row of `Options`: one sail."""

    name: str
    corners_at: tuple[str, ...]
    wall: str
    size: Size
    cloth: str
    colour: str
    hardware: str
    run: Run
    tensioned: tuple[str, ...] | None  # fixings; None: all
    post: str
    depth: float | None
    hole: float | None
    for_customer: str
    notes: str
    source: Source


@dataclass(frozen=True, slots=True)
class Option:
    """One alternative of a site: the rows of `Options` with one Site and Option."""

    site: str
    name: str
    sails: tuple[Sail, ...]
    margin: Decimal | None
    status: str
    chosen: bool
    source: Source


@dataclass(frozen=True, slots=True)
class Extra:
    """A row of `Extras`. site blank: the whole job; option blank: every option."""

    site: str
    option: str
    description: str
    quantity: Decimal
    unit: str
    item: str
    cost_each: Decimal | None
    kind: str
    visit: str
    instead_of: str
    by_others: bool
    shown: bool
    offered_apart: bool
    variation: str
    reason: str
    source: Source
    given: str = ""  # how the price was given: firm, verbal


@dataclass(frozen=True, slots=True)
class Actual:
    """A row of `Actuals`: what was used. site and option blank: the chosen options of all sites and the lines of the
    whole job together; option blank: the chosen one of the site. what: a task as the rate book writes it (is_task),
    else a code, or the description of a row of Extras. unit blank: person-hours, or the unit of the line."""

    site: str
    option: str
    what: str
    is_task: bool
    quantity: Decimal
    unit: str
    day: date | None
    by: str
    notes: str
    source: Source


@dataclass(frozen=True, slots=True)
class TapeLine:
    """A row of `Tape`: a taped distance between two fixings."""

    site: str
    start: str
    end: str
    length: float
    level: bool
    source: Source


@dataclass(frozen=True, slots=True)
class Wall:
    """A row of `Walls`."""

    site: str
    name: str
    start_across: float
    out: float
    length: float
    centre: float  # from Start
    fixing_height: float
    first_rafter: float | None
    rafter_spacing: float | None
    held_by: str
    post_height: float
    post_ground: float
    source: Source


@dataclass(frozen=True, slots=True)
class Job:
    """Everything of one job workbook that could be read. Sites in the order typed; options by site."""

    file: str
    header: Header
    sites: tuple[Site, ...]
    fixings: Mapping[str, tuple[Fixing, ...]]  # by site name
    options: tuple[Option, ...]
    extras: tuple[Extra, ...]
    tape: Mapping[str, tuple[TapeLine, ...]]
    walls: Mapping[str, tuple[Wall, ...]]
    counts: Mapping[str, tuple[int, int]]  # sheet to rows read, rows ignored
    actuals: tuple[Actual, ...] = ()
    ignored: Mapping[str, Mapping[str, int]] = field(default_factory=dict)  # sheet to reason to rows
    understood: tuple[Understood, ...] = ()  # every row of every table
    alone: bool = False  # the priced workbook holds our sheets alone, so none of the user's can be linked to
