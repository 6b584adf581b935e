"""The priced job as JSON: lengths m, areas m2, volumes m3, forces N, angles degrees, person-hours; money and
rates as decimal strings."""

from __future__ import annotations

from typing import Any

from estimator.core.money import plain
from estimator.pricing.model import Bill, PricedJob, PricedOption
from estimator.rates.model import RateBook
from estimator.report.json_consent import consent_data
from estimator.report.json_kept import accepted_data, kept_data
from estimator.report.json_money import option_money, payment_data
from estimator.report.json_order import order_data
from estimator.report.json_range import range_data
from estimator.report.json_text import laid_out
from estimator.report.json_used import used_data
from estimator.screening.limit import printed_gust
from estimator.screening.model import Screened
from estimator.takeoff.model import Apart, Line, Survey


def job_json(priced: PricedJob) -> str:
    """The text of JOB-priced.json; the same job gives the same text."""
    return laid_out(job_data(priced)) + "\n"


def job_data(priced: PricedJob) -> dict[str, Any]:
    """The same as plain data."""
    header, totals = priced.job.header, priced.totals
    options: dict[str, list[dict[str, Any]]] = {site.name: [] for site in priced.job.sites}
    for o in priced.options:
        options[o.site.name].append(_option(priced, o))
    data: dict[str, Any] = {
        "schema": 1,
        "job": {
            "name": header.name,
            "reference": header.reference,
            "revision": header.revision,
            "priced_on": header.priced_on.isoformat(),
            "currency": header.currency or priced.book.text("currency"),
            "status": header.status,
        },
        "sites": [
            {
                "site": site.name,
                **_tape(priced.surveys.get(site.name)),
                "options": options[site.name],
            }
            for site in priced.job.sites
        ],
        "job_lines": [_line(line) for line in priced.job_bill.lines] if priced.job_bill else [],
        **order_data(priced.order),
        "totals": {
            "cost": str(totals.cost),
            "price_before_tax": str(totals.price_before_tax),
            "tax": str(totals.tax),
            "price": str(totals.price),
            "complete": totals.complete,
        },
        **range_data(priced),
        "problems": [
            {
                "code": p.code,
                "level": p.level,
                "sheet": p.place.sheet,
                "cell": p.place.cell,
                "site": None if p.site == "?" else p.site,
                "option": None if p.option == "?" else p.option,
                "message": p.message,
            }
            for p in priced.problems
        ],
    }
    if priced.job_bill:
        data["job_charges"], data["job_taxes"] = _charges(priced.job_bill), _taxes(priced.job_bill)
    if priced.job_apart:
        data["job_apart"] = [_apart(a, price) for a, price in priced.job_apart]
    data |= kept_data(priced)
    return {**data, **payment_data(priced), **used_data(priced)}


def _tape(survey: Survey | None) -> dict[str, Any]:
    if survey is None:
        return {}
    lines = [{"from": n.start, "to": n.end, "length": n.length, "residual": n.residual} for n in survey.lines]
    return {"tape": lines}


def _option(priced: PricedJob, o: PricedOption) -> dict[str, Any]:
    taken, bill = o.taken, o.bill
    data: dict[str, Any] = {"option": o.option.name, "status": o.status, "chosen": o.chosen}
    data["quote_status"] = o.quote_status
    if o.accepted is not None:
        data["accepted"] = accepted_data(o.accepted)
    data["sails"] = [
        {
            "sail": s.sail,
            "size": s.size,
            "origin": s.origin,
            "cloth": s.cloth,
            "colour": s.colour,
            "fixings": list(s.fixings),
            "sides": list(s.sides),
            "sewn": list(s.sewn) or None,
            "flat_area": s.flat_area,
            "net_area": s.net_area,
            "plan_area": s.plan_area,
            "corners": [list(c) for c in s.corners],
        }
        for s in taken.sails
    ]
    data["points"] = [
        {
            "fixing": p.fixing,
            "held_by": p.held_by,
            "across": p.across,
            "out": p.out,
            "height": p.height,
            "ground": p.ground,
        }
        for p in taken.points
    ]
    forces = {(f.sail, f.fixing): f.greatest for f in o.screened.forces} if o.screened else {}
    data["corners"] = [
        {
            "sail": c.sail,
            "fixing": c.fixing,
            "gap": c.gap,
            "off_bisector": c.off_bisector,
            "off_centroid": c.off_centroid,
            "set": c.set,
            "run": c.run,
            "links": c.links,
            "pitch": c.pitch,
            "run_length": c.run_length,
            "cut_length": c.cut_length,
            "tensioner": c.tensioner,
            "take_up_used": c.take_up_used,
            "take_up_left": c.take_up_left,
            "take_up_after_creep": c.take_up_after_creep,
            "slack": c.slack,
            "weakest": c.weakest,
            "working_load": c.working_load,
            **_force(forces.get((c.sail, c.fixing))),
        }
        for c in taken.corners
    ]
    data["posts"] = [
        {
            "post_name": p.post_name,
            "fixings": list(p.fixings),
            "post": p.post,
            "above_ground": p.above_ground,
            "in_ground": p.in_ground,
            "length": p.length,
            "stock_length": p.stock_length,
            "lean": p.lean,
            "foot_across": p.foot_across,
            "foot_out": p.foot_out,
        }
        for p in taken.posts
    ]
    data["footings"] = [
        {
            "post_name": f.post_name,
            "fixings": list(f.fixings),
            "rule": f.rule,
            "diameter": f.diameter,
            "depth": f.depth,
            "hole_depth": f.hole_depth,
            "hole_across": f.hole_across,
            "hole_out": f.hole_out,
            "hole": f.hole,
            "stone": f.stone,
            "pad": f.pad,
            "concrete": f.concrete,
            "spoil": f.spoil,
            "edge_to_boundary": f.edge_to_boundary,
            "edge_to_service": f.edge_to_service,
        }
        for f in taken.footings
    ]
    data["consent"] = [consent_data(c) for c in taken.consent]
    data["falls"] = [
        {
            "sail": f.sail,
            "from": f.start,
            "to": f.end,
            "side": f.side,
            "degrees": f.degrees,
            "percent": f.percent,
            "mm_per_m": f.mm_per_m,
        }
        for f in taken.falls
    ]
    if o.screened is not None:
        data |= _screening(priced.book, o.screened)
    if bill is None:
        return data
    data["measures"] = {each: dict(values) for each, values in (taken.measures or {}).items()}
    data["labour"] = [{"task": h.task, "trade": h.trade, "visit": h.visit, "hours": h.hours} for h in taken.hours]
    data["visits"] = len(taken.visits)
    data["hours"] = sum(h.hours for h in taken.hours)
    data["lines"] = [_line(line) for line in bill.lines]
    data["charges"], data["taxes"] = _charges(bill), _taxes(bill)
    data |= option_money(priced, o)
    if o.apart:
        data["apart"] = [_apart(a, price) for a, price in o.apart]
    t = bill.totals
    data["totals"] = {
        "cost": str(t.cost),
        "price_before_tax": str(t.price_before_tax),
        "tax": str(t.tax),
        "price": str(t.price),
        "margin": None if t.margin is None else _ratio(t.margin),
        "markup": None if t.markup is None else _ratio(t.markup),
    }
    return data


def _force(force: float | None) -> dict[str, Any]:
    """The greatest pull of a corner; no key where the option is not screened."""
    return {} if force is None else {"force": force}


def _screening(book: RateBook, screened: Screened) -> dict[str, Any]:
    """The checks of an option, and its take-down wind with what is told [km/h]."""
    checks = [
        {
            "part": c.part,
            "where": c.where,
            "demand": c.demand,
            "capacity": c.capacity,
            "used": c.used,
            "source": c.source,
            "unit": c.unit,
            "counted": c.counted,
            "case": c.case,
            "working": c.working,
        }
        for c in screened.checks
    ]
    down = screened.take_down
    if down is None:
        return {"screening": checks}
    take_down = {
        "wind": down.wind,
        "first": down.first,
        "second": down.second,
        "second_wind": down.second_wind,
        "reached": down.reached,
        "told": printed_gust(book, screened),
    }
    return {"screening": checks, "take_down": take_down}


def _ratio(value: Any) -> str:
    return f"{value:.6f}"


def _line(line: Line) -> dict[str, Any]:
    return {
        "code": line.code,
        "description": line.description,
        "kind": line.kind,
        "quantity": plain(line.quantity),
        "unit": line.unit,
        "rate": plain(line.rate),
        "cost": str(line.cost),
        "working": line.working,
    }


def _apart(apart: Apart, price: Any) -> dict[str, Any]:
    return {**_line(apart.line), "why": apart.why, "variation": apart.variation, "price": str(price)}


def _charges(bill: Bill) -> list[dict[str, Any]]:
    return [
        {
            "step": c.step,
            "taken_on": c.taken_on,
            "rate": None if c.rate is None else plain(c.rate),
            "amount": str(c.amount),
        }
        for c in bill.charges
    ]


def _taxes(bill: Bill) -> list[dict[str, Any]]:
    return [
        {"code": t.code, "name": t.name, "base": str(t.base), "rate": plain(t.rate), "amount": str(t.amount)}
        for t in bill.taxes
    ]
