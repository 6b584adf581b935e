"""A priced job made by hand: two sites, three options (one provisional, one not priced), whole-job lines, a discount,
two taxes and lines offered apart. Everything in it is invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal as D

from estimator.core.money import cents
from estimator.core.problems import Place, Problem
from estimator.job.model import Extra, Fixing, Header, Job, Option, Run, Sail, Site, Size, Source
from estimator.pricing.charges import Step
from estimator.pricing.model import Bill, JobTotals, PricedJob, PricedOption
from estimator.pricing.price import bill_of
from estimator.rates.model import Tax
from estimator.takeoff.model import Apart, Corner, Footing, Hours, Line, Point, Post, SailTaken, Takeoff
from tests.report.sample_rates import DAY, STEPS, TAXES, book, wording

__all__ = ["TAXES", "book", "header", "line", "lines", "price", "priced", "wording"]

FILE = "terrace.xlsx"


def source(sheet: str, row: int) -> Source:
    return Source(FILE, sheet, row, {"Site": f"A{row}", "Height": f"F{row}"})


def line(code: str, words: str, kind: str, quantity: str, unit: str, rate: str, **more: object) -> Line:
    q, r = D(quantity), D(rate)
    working = str(more.pop("working", "counted"))
    table = str(more.pop("table", "items"))
    return Line(code, words, kind, q, unit, r, cents(q * r), working, table, "price list", **more)  # type: ignore[arg-type]


def price(lines: tuple[Line, ...], by_line: bool = False, taxes: tuple[Tax, ...] = TAXES) -> Bill:
    return bill_of(lines, (*STEPS, Step("rounding", "step", D("5"))), taxes, by_line)


def header(**changes: object) -> Header:
    made = Header(
        name="Millport terrace and yard",
        reference="MT-114",
        revision=2,
        customer="Rowan & Ash Households",
        customer_is="private",
        customer_address="4 Quay Lane, Millport",
        customer_email="",
        site_contact="",
        prepared_by="",
        priced_on=DAY,
        valid_days=30,
        status="firm",
        place="",
        units="metric",
        paper="A4",
        currency="$",
        taxes=None,
        prices_shown="with tax",
        margin=None,
        markup=None,
        contingency=None,
        discount=D("0.03"),
        deposit=D("0.3"),
        round_to=D("5"),
        crew=None,
        hours_a_day=None,
        notes="internal: the owner is slow to pay",
        source=source("Job", 2),
    )
    return replace(made, **changes)  # type: ignore[arg-type]


def site(name: str, row: int, near: tuple[str, ...] = (), words: str = "") -> Site:
    return Site(
        name,
        "4 Quay Lane, Millport",
        "",
        "firm",
        None,
        "auger",
        "easy",
        "",
        18.0,
        "plans",
        "ground",
        near,
        None,
        None,
        None,
        None,
        None,
        "",
        words,
        "Park in the lane; gate code with the office.",
        "internal note",
        source("Sites", row),
    )


def fixing(where: str, name: str, held: str, x: float, y: float, z: float, row: int, known: str) -> Fixing:
    on_post = name if held == "new post" else ""
    return Fixing(
        where,
        name,
        held,
        x,
        y,
        z,
        0.0,
        on_post,
        "",
        None,
        None,
        None,
        False,
        "",
        None,
        None,
        known,
        None,
        None,
        "Mind the drain." if name == "C" else "",
        "",
        source("Fixings", row),
    )


def sail(name: str, at: str, text: str, row: int) -> Sail:
    return Sail(
        name,
        tuple(at.split()),
        "",
        Size("stock", text, "TRI5"),
        "KN320",
        "sand",
        "",
        Run(),
        None,
        "",
        None,
        None,
        "In the colour of the shutters.",
        "internal",
        source("Options", row),
    )


def option(where: str, name: str, at: str, row: int, chosen: bool) -> Option:
    return Option(where, name, (sail("1", at, "TRI5", row),), None, "", chosen, source("Options", row))


TERRACE = (
    ("A", "rafter", 0.0, 0.0, 2.9, "measured"),
    ("B", "rafter", 6.2, 0.0, 2.9, "told"),
    ("C", "new post", 3.1, 5.6, 2.4, "assumed"),
)
YARD = (
    ("P", "masonry wall", 0.0, 0.0, 3.1, "measured"),
    ("Q", "new post", 6.4, 0.2, 2.6, "measured"),
    ("R", "new post", 3.0, 5.9, 3.0, "measured"),
)


def points(rows: tuple[tuple[str, str, float, float, float, str], ...]) -> tuple[Point, ...]:
    return tuple(Point(n, h, x, y, z, 0.0, n if h == "new post" else "") for n, h, x, y, z, _ in rows)


def taken(where: str, name: str, rows: tuple[tuple[str, str, float, float, float, str], ...], lines: tuple[Line, ...]):  # type: ignore[no-untyped-def]
    names = tuple(r[0] for r in rows)
    new = tuple(r[0] for r in rows if r[1] == "new post")
    return Takeoff(
        site=where,
        option=name,
        points=points(rows),
        sails=(
            SailTaken(
                "1",
                "5 x 5 x 5 m",
                "TRI5",
                "stock",
                "KN320",
                "sand",
                names,
                (5.0, 5.0, 5.0),
                (4.85, 4.85, 4.85),
                10.825,
                9.612,
                10.31,
                tuple((r[2], r[3], r[4]) for r in rows),
                "sides as the stock sail",
            ),
        ),
        corners=tuple(
            Corner(
                "1",
                n,
                0.412 + i / 50,
                3.2 - i,
                2.0,
                "set 8",
                "chain",
                4,
                0.032,
                0.128,
                0.384,
                "TB8",
                0.061,
                0.048,
                None,
                0.087,
                0.11,
                0.31,
                "chain 8",
                8000.0,
                (("SH8", 2.0),),
                "gap less parts, whole links",
            )
            for i, n in enumerate(names)
        ),
        posts=tuple(
            Post(
                n, (n,), "SHS100", 0.1, 2.51, 1.205, 3.77, 4.2, 5.0, 3.1, 5.8, (0.0, -1.0), False, "height over cos 5°"
            )
            for n in new
        ),
        footings=tuple(
            Footing(
                n,
                (n,),
                "longest side",
                0.3,
                1.2,
                1.3,
                3.1,
                5.85,
                0.0919,
                0.0071,
                0.0,
                0.0728,
                0.1195,
                "firm",
                None,
                (("third of the height", 0.8),),
                "1.2 m for a side of 5 m",
            )
            for n in new
        ),
        engineer=tuple(r[0] for r in rows if r[1] == "masonry wall"),
        excluded=("Moving the washing line",),
        shown=("Lift out two paving slabs",),
        hours=(
            Hours("survey", "installer", "survey", 1.5, "1.5 a site"),
            Hours("dig", "installer", "footings", 2.4, "2 holes at 1.2"),
            Hours("hang", "installer", "hang", 3.25, "3 corners"),
        ),
        visits=("survey", "footings", "hang"),
        days={"survey": 1, "footings": 1, "hang": 1},
        measures={"post": {"count": float(len(new))}, "corner": {"count": 3.0}},
        lines=lines,
    )


def lines(more: str = "0") -> tuple[Line, ...]:
    return (
        line("TRI5", "Triangle 5 m, sand", "material", "1", "each", "318.37", table="sails", working="one stock sail"),
        line(
            "SHS100",
            "Square steel post 100 mm",
            "material",
            "4.2",
            "m",
            "33.107",
            table="posts",
            working="3.77 m needed; the shortest sufficient stock length is 4.2 m, bought whole",
        ),
        line("CH8", "Chain 8 mm", "material", "1.152", "m", "11.93", table="rigging"),
        line("installer", "Installer", "labour", "7.15", "h", "63.81", table="trades"),
        line("LIFT", "Platform lift", "hire", "1", "day", "187.43"),
        line("SLABS", "Lift out two paving slabs", "subcontract", "2", "each", "35.27", shown=True, table=""),
        line("TRAVEL", "Travel", "fee", str(D("72") + D(more)), "km", "0.853"),
    )


def problem(
    code: str, level: str, sheet: str, at: str, words: str, where: str | None = None, name: str | None = None
) -> Problem:
    place = Place(FILE, sheet, at)
    return Problem(code, level, place, f"{place}: {words}", where, name)  # type: ignore[arg-type]


def priced(by_line: bool = False, **head: object) -> PricedJob:
    """The job; head: changes of the Job sheet."""
    made = header(**head)
    first, second = site("Terrace", 2, words="Shade over the long table."), site("Back yard", 3, ("pool",))
    fixings = {
        "Terrace": tuple(fixing("Terrace", *r[:5], i, r[5]) for i, r in enumerate(TERRACE, 2)),
        "Back yard": tuple(fixing("Back yard", *r[:5], i, r[5]) for i, r in enumerate(YARD, 5)),
    }
    options = (
        option("Terrace", "1", "A B C", 2, True),
        option("Terrace", "2", "A B C", 3, False),
        option("Back yard", "1", "P Q R", 4, True),
    )
    apart_line = line("LIGHTS", "Light string along the edge", "material", "1", "each", "141.19", table="")
    apart = ((Apart(apart_line, "offered apart"), D("229.95")),)
    bills = price(lines(), by_line=by_line), price(lines("13.5"), by_line=by_line)
    status = made.status
    first_bill, third_bill = bills
    shown = (
        PricedOption(
            first, options[0], "priced", True, status, taken("Terrace", "1", TERRACE, lines()), first_bill, apart
        ),
        PricedOption(
            first,
            options[1],
            "not priced",
            False,
            status,
            replace(Takeoff("Terrace", "2"), points=points(TERRACE)),
            None,
        ),
        PricedOption(
            second,
            options[2],
            "provisional",
            True,
            status,
            taken("Back yard", "1", YARD, lines("13.5")),
            third_bill,
        ),
    )
    whole = price(
        (line("PERMIT", "Permit for the lane", "fee", "1", "each", "83.09", shown=True, table=""),), by_line=by_line
    )
    every = (first_bill, third_bill, whole)
    totals = JobTotals(
        *(
            sum((getattr(b.totals, what) for b in every), D("0.00"))
            for what in ("cost", "price_before_tax", "tax", "price")
        ),
        complete=True,
        missing=(),
    )
    job = Job(
        FILE,
        made,
        (first, second),
        fixings,
        options,
        (
            Extra(
                "", "", "Permit for the lane", D(1), "each", "", D("83.09"), "fee", "", "", False, True, False, "", "",
                source("Extras", 2),
            ),
        ),
        {},
        {},
        {"Sites": (2, 1), "Fixings": (6, 0), "Options": (3, 0), "Extras": (1, 0)},
    )  # fmt: skip
    problems = (
        problem("no-tensioner", "error", "Options", "F3", "no tensioner of the set fits the gap.", "Terrace", "2"),
        problem("engineer", "warning", "Fixings", "C5", "'masonry wall' needs an engineer.", "Back yard", "1"),
        problem("depth-short", "warning", "Fixings", "F7", "the footing is shallow.", "Back yard"),
        problem("default", "note", "Job", "B10", "'Units' is blank; metric is used."),
        problem("ground-level", "note", "Fixings", "H2", "'Ground level' is blank; 0 is used.", "Terrace"),
    )  # fmt: skip
    return PricedJob(job, book(), shown, whole, totals, problems, ())
