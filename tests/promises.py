"""What the JSON of a priced job promises, checked on its data alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from math import cos, hypot, isclose, pi, radians, tan
from typing import Any

Data = Mapping[str, Any]
SMALL = 1e-6


def broken(data: Data) -> list[str]:
    """Every promise that the data does not keep, in words."""
    found = []
    for site in data["sites"]:
        chosen = [o["option"] for o in site["options"] if o["chosen"]]
        if len(chosen) > 1:
            found.append(f"{site['site']}: chosen {chosen}")
        for option in site["options"]:
            at = f"{site['site']}/{option['option']}"
            checks = (_status, _corners, _posts, _footings, _money, _labour)
            found += [f"{at}: {words}" for check in checks for words in check(option)]
    return [*found, *_totals(data), *_order(data), *_problems(data)]


def _status(option: Data) -> Iterator[str]:
    priced = option["status"] in ("priced", "provisional")
    for key in ("lines", "charges", "taxes", "totals", "measures", "labour", "hours", "visits"):
        if (key in option) is not priced:
            yield f"{option['status']} and {key} {'missing' if priced else 'there'}"


def _corners(option: Data) -> Iterator[str]:
    points = {p["fixing"]: p for p in option["points"]}
    sails = {s["sail"]: s for s in option["sails"]}
    for c in option["corners"]:
        who = f"corner {c['sail']}/{c['fixing']}"
        point, sail = points[c["fixing"]], sails[c["sail"]]
        x, y, z = sail["corners"][sail["fixings"].index(c["fixing"])]
        straight = hypot(point["across"] - x, point["out"] - y, point["height"] - z)
        if not isclose(c["gap"], straight, abs_tol=SMALL):
            yield f"{who}: gap {c['gap']} is not {straight}"
        if c["gap"] < 0 or not 0 <= c["off_bisector"] <= 180:
            yield f"{who}: gap or angle out of range"
        if c["links"] is None:
            if c["pitch"] is not None or c["cut_length"] < c["run_length"]:
                yield f"{who}: wire rope"
        else:
            if not isclose(c["run_length"], c["links"] * c["pitch"], abs_tol=SMALL):
                yield f"{who}: run is not whole links"
            count = c["cut_length"] / c["pitch"]
            if abs(count - round(count)) > SMALL or c["cut_length"] + SMALL < c["run_length"]:
                yield f"{who}: cut is not whole links"
        if c["tensioner"] is not None and c["take_up_left"] < -SMALL:
            yield f"{who}: no take-up left"


def _posts(option: Data) -> Iterator[str]:
    points = {p["fixing"]: p for p in option["points"]}
    for p in option["posts"]:
        top = max((points[f] for f in p["fixings"]), key=lambda q: q["height"])
        lean, rise = radians(p["lean"]), top["height"] - top["ground"]
        if p["above_ground"] + SMALL < rise / cos(lean):
            yield f"post {p['post_name']}: shorter than its fixing"
        if not isclose(
            hypot(p["foot_across"] - top["across"], p["foot_out"] - top["out"]), rise * tan(lean), abs_tol=SMALL
        ):
            yield f"post {p['post_name']}: the axis misses its fixing"
        if p["length"] + SMALL < p["above_ground"] + p["in_ground"] or p["stock_length"] + SMALL < p["length"]:
            yield f"post {p['post_name']}: ordered too short"


def _footings(option: Data) -> Iterator[str]:
    posts = {p["post_name"]: p for p in option["posts"]}
    for f in option["footings"]:
        who, post, area = f"footing {f['post_name']}", posts[f["post_name"]], pi * f["diameter"] ** 2 / 4
        lean = radians(post["lean"])
        shift = hypot(f["hole_across"] - post["foot_across"], f["hole_out"] - post["foot_out"])
        for a, b, words in (
            (f["hole"], area * f["hole_depth"], "hole"),
            (f["stone"] + f["pad"], area * (f["hole_depth"] - f["depth"]), "layers"),
            (post["in_ground"], f["depth"] / cos(lean), "in ground"),
            (shift, f["depth"] / 2 * tan(lean), "hole centre"),
        ):
            if not isclose(a, b, abs_tol=SMALL):
                yield f"{who}: {words} {a} is not {b}"
        if not 0 < f["concrete"] < area * f["depth"] + f["pad"] or f["spoil"] < f["hole"]:
            yield f"{who}: concrete or spoil"


def _sum(rows: list[Data], field: str) -> Decimal:
    return sum((Decimal(r[field]) for r in rows), Decimal(0))


def _money(option: Data) -> Iterator[str]:
    if "totals" not in option:
        return
    t = {k: Decimal(v) for k, v in option["totals"].items() if v is not None}
    for a, b, words in (
        (_sum(option["lines"], "cost"), t["cost"], "lines"),
        (t["cost"] + _sum(option["charges"], "amount"), t["price_before_tax"], "charges"),
        (_sum(option["taxes"], "amount"), t["tax"], "taxes"),
        (t["price_before_tax"] + t["tax"], t["price"], "price"),
    ):
        if a != b:
            yield f"{words}: {a} is not {b}"
    for line in option["lines"]:
        if not line["working"] or not line["unit"]:
            yield f"line {line['code']}: no working or unit"
        exact = Decimal(line["quantity"]) * Decimal(line["rate"])
        if abs(exact - Decimal(line["cost"])) > Decimal("0.005"):
            yield f"line {line['code']}: {line['cost']} is not {exact}"


def _labour(option: Data) -> Iterator[str]:
    if "labour" not in option:
        return
    if not isclose(sum(h["hours"] for h in option["labour"]), option["hours"], abs_tol=SMALL):
        yield "hours"
    if len({h["visit"] for h in option["labour"] if h["hours"] > 0}) != option["visits"]:
        yield "visits"


def _totals(data: Data) -> Iterator[str]:
    chosen = [o["totals"] for s in data["sites"] for o in s["options"] if o["chosen"] and "totals" in o]
    extra = data["job_lines"]
    charges, taxes = data.get("job_charges", []), data.get("job_taxes", [])
    before = _sum(extra, "cost") + _sum(charges, "amount")
    for field, own in (
        ("cost", _sum(extra, "cost")),
        ("price_before_tax", before),
        ("tax", _sum(taxes, "amount")),
        ("price", before + _sum(taxes, "amount")),
    ):
        if _sum(chosen, field) + own != Decimal(data["totals"][field]):
            yield f"job {field}"
    sites = data["sites"]
    whole = bool(sites) and all(any(o["chosen"] and "totals" in o for o in s["options"]) for s in sites)
    if data["totals"]["complete"] is not whole:
        yield "complete"


def _order(data: Data) -> Iterator[str]:
    """Everything chosen is bought, enough of it, in whole packs, at the price that is told."""
    rows = data["order"]
    for r in rows:
        who, quantity = f"order {r['code']}", Decimal(r["quantity"])
        if quantity < Decimal(r["needed"]) or Decimal(r["left_over"]) < 0:
            yield f"{who}: {quantity} is less than {r['needed']}"
        if r["packs"] is not None and r["packs"] * Decimal(r["pack"]) != quantity:
            yield f"{who}: {quantity} is not whole packs of {r['pack']}"
        many = r["packs"] if r["price_of"] in ("bar", "reel") else quantity
        if abs(many * Decimal(r["price"]) - Decimal(r["cost"])) > Decimal("0.005"):
            yield f"{who}: {r['cost']} is not {many} x {r['price']}"
    bought = {r["code"] for r in rows}
    ways = {w["code"] for c in data.get("concrete", ()) for w in c["ways"]}
    chosen = [o for s in data["sites"] for o in s["options"] if o["chosen"] and "totals" in o]
    lines = [line for o in chosen for line in o["lines"]] + data["job_lines"]
    wanted = [n for n in lines if n["kind"] == "material" and Decimal(n["quantity"]) > 0 and Decimal(n["rate"]) >= 0]
    for code in {n["code"] for n in wanted} - bought - ways:
        yield f"order: no {code}"
    if rows:
        totals = data["order_totals"]
        if _sum(rows, "cost") != Decimal(totals["goods"]):
            yield "order: goods"
        if not _sum(rows, "billed") == _sum(wanted, "cost") == Decimal(totals["billed"]):
            yield "order: billed"
    for code in {p["post"] for o in chosen for p in o["posts"]} & bought:
        posts = [p["length"] for o in chosen for p in o["posts"] if p["post"] == code]
        metres = sum(float(r["quantity"]) for r in rows if r["code"] == code and r["unit"] == "m")
        cut = [b for c in data["cutting"] if c["code"] == code for b in c["bars"] for _ in range(b["count"])]
        if cut and (metres + SMALL < sum(posts) or sum(p["count"] for b in cut for p in b["pieces"]) != len(posts)):
            yield f"order {code}: too few metres"
    for c in data.get("cutting", ()):
        for b in c["bars"]:
            on = sum(p["count"] for p in b["pieces"])
            if sum(p["count"] * p["length"] for p in b["pieces"]) + (on - 1) * c["kerf"] > b["length"] + SMALL:
                yield f"cutting {c['code']}: more on a bar than it has"
        if Decimal(c["least"]) > Decimal(c["cost"]) or c["proved"] is not (Decimal(c["least"]) == Decimal(c["cost"])):
            yield f"cutting {c['code']}: bound"


def _problems(data: Data) -> Iterator[str]:
    for p in data["problems"]:
        if not (p["code"] and p["message"] and p["level"] in ("error", "warning", "note")):
            yield f"problem {p}"
