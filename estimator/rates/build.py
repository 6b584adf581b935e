"""Rows in force to the frozen rows of the model, one function a table."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.rates import model
from estimator.rates.columns import AT_LEAST, CONSENT_MEASURES
from estimator.rates.rows import RateRow
from estimator.sheets.cells import Cell
from estimator.sheets.columns import Column
from estimator.sheets.grammar import read_value
from estimator.sheets.size import read_size


def _decimal(value: Any) -> Decimal | None:
    return value if value is None or isinstance(value, Decimal) else from_float(float(value))


def wording(r: RateRow) -> model.Wording:
    """A row of `wording`."""
    return model.Wording(r.text("place"), r.text("when"), r.text("text"), r.text("language") or "en", r.origin)


def sail(r: RateRow) -> model.StockSail:
    """A row of `sails`; blank `rings sewn in` means yes."""
    v = r.values
    rings = v.get("rings sewn in", True)
    text = (r.text("code"), r.text("description"), r.text("sides"), r.text("cloth"))
    return model.StockSail(*text, r.words("colours"), v["price"], rings, r.origin)


def sides(r: RateRow) -> list[Problem]:
    """What is wrong with the sides of a stock sail; they stay text, in the grammar of a job's `Size`."""
    size, problems = read_size(r.text("sides"), r.context, r.place("sides"))
    if size is not None and size.kind != "sides":
        wanted = "the sides, such as 3.6 x 5.4 m or 5 5 5 m"
        words = {"column": "sides", "found": r.text("sides"), "wanted": wanted}
        problems = [*problems, problem("rate-cell", r.place("sides"), hint="", **words)]
    return problems


def cloth(r: RateRow) -> model.Cloth:
    """A row of `cloths`."""
    v = r.values
    return model.Cloth(
        code=r.text("code"),
        description=r.text("description"),
        colours=r.words("colours"),
        price=v["price per m2"],
        mass=v.get("mass"),
        stretch=float(v["stretch"]),
        waterproof=bool(v.get("waterproof")),  # blank: no, as for every yes or no
        edge_hollow=float(v["edge hollow"]),
        roll_width=v.get("roll width"),
        minimum_fall=v["minimum fall"],
        origin=r.origin,
        stiffness=v.get("stiffness"),
        edge_stiffness=v.get("edge stiffness"),
        pretension=v.get("pretension"),
        wind_share=v.get("wind share"),
    )


def part(r: RateRow) -> model.Part:
    """A row of `rigging`."""
    v = r.values
    return model.Part(
        code=r.text("code"),
        description=r.text("description"),
        kind=r.text("kind"),
        size=r.text("size"),
        length=v.get("length"),
        pitch=v.get("pitch"),
        closed=v.get("closed"),
        open=v.get("open"),
        working_load=v.get("working load"),
        breaking_load=v.get("breaking load"),
        turn_back=v.get("turn back"),
        grips_per_end=v.get("grips per end"),
        mass=v.get("mass"),
        price=v["price"],
        per=r.text("per"),
        pack=_decimal(v.get("pack")),
        origin=r.origin,
        axial_load=v.get("axial working load"),
    )


def corner_set(r: RateRow) -> model.CornerSet:
    """A row of `corner_sets`; a set with a shackle and no number of shackles has one."""
    shackle = r.text("shackle")
    return model.CornerSet(
        name=r.text("set"),
        up_to=r.values["up to"],
        eye=r.text("eye"),
        shackle=shackle,
        shackles=r.values.get("shackles", 1) if shackle else 0,
        tensioners=r.words("tensioners"),
        chain=r.text("chain"),
        wire_rope=r.text("wire rope"),
        thimble=r.text("thimble"),
        grip=r.text("grip"),
        ring=r.text("ring"),
        origin=r.origin,
    )


def post(r: RateRow, lengths: tuple[float, ...]) -> model.PostSection:
    """A row of `posts`; lengths: its stock lengths as read."""
    v = r.values
    return model.PostSection(
        code=r.text("code"),
        description=r.text("description"),
        material=r.text("material"),
        shape=r.text("shape"),
        width=v["width"],
        wall=v.get("wall"),
        up_to=v["up to"],
        hole=v.get("hole diameter"),
        stock_lengths=lengths,
        mass=v.get("mass"),
        section_modulus=v.get("section modulus"),
        modulus=v.get("modulus"),
        allowable_stress=v.get("allowable stress"),
        price=v["price"],
        per=r.text("per"),
        origin=r.origin,
        finish=r.text("finish"),
    )


_STOCK = Column("stock lengths", "length", low=0.3, high=30)


def stock_lengths(r: RateRow) -> tuple[tuple[float, ...], list[Problem]]:
    """The stock lengths of a post, shortest first [m]."""
    text = r.text("stock lengths")
    mark = ";" if ";" in text or r.context.decimal_mark == "comma" else ","
    found: set[float] = set()
    problems: list[Problem] = []
    for word in filter(None, (w.strip() for w in text.split(mark))):
        cell, place = Cell(word, "text"), r.place("stock lengths")
        value, wrong = read_value(cell, _STOCK, r.units["stock lengths"], r.context, place)
        problems += wrong
        found |= {value} if isinstance(value, float) else set()
    return tuple(sorted(found)), problems


def support(r: RateRow) -> model.Support:
    """A row of `supports`."""
    v = r.values
    return model.Support(
        name=r.text("support"),
        also=r.words("also"),
        priced=r.text("priced"),
        kit=r.text("kit"),
        makes=r.text("makes"),
        house=v.get("house", False),
        least_to_edge=v.get("least to edge"),
        note=r.text("note"),
        origin=r.origin,
        working_load=v.get("working load"),
        screws=v.get("screws"),
        screw_diameter=v.get("screw diameter"),
        thread=v.get("thread in wood"),
        wood_gravity=v.get("wood gravity"),
        end_grain=r.text("grain") == "end",
        description=r.text("description"),
    )


def ground(r: RateRow) -> model.Ground:
    """A row of `ground`."""
    v = r.values
    return model.Ground(
        name=r.text("ground"),
        stone=v["stone layer"],
        pad=v["concrete pad"],
        swell=v["swell"],
        hand_hours=v["hand hours per m3"],
        auger_hours=v["auger hours per hole"],
        excavator_hours=v["excavator hours per hole"],
        labour_factor=v["labour factor"],
        lateral_bearing=v.get("lateral bearing"),
        origin=r.origin,
        shear_strength=v.get("shear strength"),
        friction_angle=v.get("friction angle"),
        unit_weight=v.get("unit weight"),
    )


def access(r: RateRow) -> model.Access:
    """A row of `access`."""
    return model.Access(r.text("access"), r.values["labour factor"], r.text("hire item"), r.origin)


def footing_depth(r: RateRow) -> model.FootingDepth:
    """A row of `footing_depths`."""
    return model.FootingDepth(r.values["longest side"], r.values["depth"], r.origin)


def concrete(r: RateRow) -> model.Concrete:
    """A row of `concrete`."""
    v = r.values
    return model.Concrete(
        code=r.text("code"),
        description=r.text("description"),
        form=r.text("form"),
        yield_=v["yield"],
        minimum_load=v.get("minimum load", 0.0),
        hours=v["hours per m3"],
        price=v["price"],
        per=r.text("per"),
        pack=_decimal(v.get("pack")),
        origin=r.origin,
        largest_load=v.get("largest load"),
        waiting=v.get("waiting price"),
        mixer=r.text("mixer"),
        mixer_hours=v.get("mixer hours per m3"),
    )


def item(r: RateRow) -> model.Item:
    """A row of `items`."""
    v = r.values
    pack, least = _decimal(v.get("pack")), _decimal(v.get("minimum"))
    return model.Item(
        r.text("code"), r.text("description"), r.text("kind"), r.text("unit"), v["price"], pack, least, r.origin
    )


def kit(r: RateRow) -> model.KitRow:
    """A row of `kits`."""
    quantity = _decimal(r.values["quantity"]) or Decimal(0)
    return model.KitRow(r.text("kit"), r.text("for each"), key(r.text("measure")), r.text("item"), quantity, r.origin)


def task(r: RateRow) -> model.LabourTask:
    """A row of `labour`."""
    return model.LabourTask(
        r.text("task"),
        r.text("for each"),
        key(r.text("measure")),
        float(r.values["hours"]),
        r.text("trade"),
        r.text("visit"),
        r.origin,
    )


def charge(r: RateRow) -> model.Charge:
    """A row of `charges`."""
    return model.Charge(r.text("step"), r.text("taken on"), r.values["rate"], r.origin)


def tax(r: RateRow) -> model.Tax:
    """A row of `taxes`."""
    kinds = tuple(key(w) for w in r.words("on kinds"))
    return model.Tax(r.text("code"), r.text("name"), r.values["rate"], kinds, r.values.get("usual", False), r.origin)


def consent(r: RateRow) -> tuple[model.ConsentRow, list[Problem]]:
    """A row of `consent`, its limit in m, m2 or as a plain number; blank: none."""
    measure = r.text("measure")
    kind = CONSENT_MEASURES[measure]
    limit: float | None = None
    problems: list[Problem] = []
    if "limit" in r.raw and kind != "text":
        column = Column("limit", kind, low=0, high=100_000)
        value, problems = read_value(r.raw["limit"], column, r.text("unit"), r.context, r.place("limit"))
        limit = value if isinstance(value, float) else None
        problems = [_needs_unit(r) if p.code == "read-in-unit" else p for p in problems]
    compare = r.text("compare") or ("at least" if measure in AT_LEAST else "at most")
    row = model.ConsentRow(r.text("place"), measure, limit, r.text("when"), r.origin, compare, r.text("description"))
    return row, problems


def usual_line(r: RateRow) -> model.UsualLine:
    """A row of `usual_lines`."""
    found_by = tuple(key(w) for w in r.words("found by"))
    return model.UsualLine(
        r.text("what"), r.text("when"), found_by, bool(r.values.get("scope")), r.text("note"), r.origin
    )


def _needs_unit(r: RateRow) -> Problem:
    """A limit of the law is never read in a unit that nobody wrote."""
    wanted = "its unit, such as 20 m2 or 3 m"
    return problem("rate-cell", r.place("limit"), column="limit", found=r.text("limit"), wanted=wanted, hint="")
