"""A priced job made by hand: two sites, three options (one provisional, one not priced), whole-job lines, a discount,
two taxes and lines offered apart. Everything in it is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

from estimator.core.money import cents
from estimator.core.problems import Place, Problem
from estimator.job.model import Extra, Fixing, Header, Job, Option, Run, Sail, Site, Size, Source
from estimator.pricing.charges import Step
from estimator.pricing.model import Bill, JobTotals, PricedJob, PricedOption
from estimator.pricing.price import bill_of
from estimator.rates.model import (
    Charge,
    Cloth,
    Ground,
    Origin,
    PostSection,
    RateBook,
    Setting,
    StockSail,
    Support,
    Tax,
    Trade,
    Wording,
)
from estimator.takeoff.model import Apart, Corner, Footing, Hours, Line, Point, Post, SailTaken, Takeoff

DAY = date(2026, 4, 3)
FILE = "terrace.xlsx"


def source(sheet: str, row: int) -> Source:
    return Source(FILE, sheet, row, {"Site": f"A{row}", "Height": f"F{row}"})


def origin(table: str, row: int) -> Origin:
    return Origin(table, row, date(2026, 1, 1), "invented for the tests")


def line(code: str, words: str, kind: str, quantity: str, unit: str, rate: str, **more: object) -> Line:
    q, r = D(quantity), D(rate)
    working = str(more.pop("working", "counted"))
    table = str(more.pop("table", "items"))
    return Line(code, words, kind, q, unit, r, cents(q * r), working, table, "price list", **more)  # type: ignore[arg-type]


STEPS = (
    Step("overhead", "labour", D("0.12")),
    Step("contingency", "materials", D("0.05")),
    Step("card fee", "cost", D("0.0125")),
    Step("margin", "price", D("0.22")),
    Step("discount", "running", D("0.03")),
)
TAXES = (
    Tax("T1", "Sales tax", D("0.15"), (), True, Origin("taxes", 2)),
    Tax("T2", "Goods levy", D("0.02"), ("material", "hire"), True, Origin("taxes", 3)),
)


def price(lines: tuple[Line, ...], by_line: bool = False, taxes: tuple[Tax, ...] = TAXES) -> Bill:
    return bill_of(lines, (*STEPS, Step("rounding", "step", D("5"))), taxes, by_line)


def support(name: str, priced: str = "yes", makes: str = "", house: bool = False) -> Support:
    return Support(name, (), priced, "", makes, house, None, "", origin("supports", 2))


def wording(place: str, when: str, text: str) -> Wording:
    return Wording(place, when, text, "en", origin("wording", 3))


WORDING = (
    wording("included", "", "Sail, corner fittings and tensioning, ready to use."),
    wording("included", "posts", "Posts, holes, concrete and the removal of the spoil."),
    wording("included", "steel", "Galvanised steel posts with caps."),
    wording("excluded", "", "Making good of paving, lawns and planting beyond the holes."),
    wording("excluded", "consent", "Fees for building consent."),
    wording("excluded", "provisional", "The engineer's design, beyond the visit that is priced."),
    wording("rock", "posts", "Rock, old foundations or water in a hole are charged as a variation, agreed first."),
    wording("consent", "", "The owner makes sure that any consent is in hand before work starts."),
    wording("programme", "", "Work starts about four weeks after the deposit has reached us."),
    wording("programme", "posts", "The concrete stands before the sail is hung."),
    wording("warranty", "", "Workmanship one year; cloth and thread as their makers give."),
    wording("care", "", "Wash with water, mild detergent and a soft brush; rinse. Never store wet."),
    wording("payment", "", "The rest within seven days of hanging."),
    wording("acceptance", "", "Please sign and send back a copy, or accept by email."),
    wording("caution", "", "Take the sail down before storms and snow."),
    wording("caution", "pool", "Keep climbable edges away from the pool fence."),
    wording("caution", "budget", "This is a budget figure from first measurements and may change."),
)


def setting(name: str, value: float | str, unit: str, shown: str) -> Setting:
    return Setting(name, value, unit, origin("settings", 4), shown)


def book() -> RateBook:
    return RateBook(
        name="rates",
        day=DAY,
        settings={
            s.name: s
            for s in (
                setting("cure before hanging", 7.0, "days", "7"),
                setting("cure before touch", 1.0, "days", "1"),
                setting("crew", 2.0, "people", "2"),
                setting("hours a day", 8.0, "hours", "8"),
                setting("footing rule", "deeper of side and third of the height", "", "deeper of side and third"),
                setting("lean", 5.0, "degrees", "5"),
                setting("tax by", "total", "", "total"),
                setting("take-down gust", 22.2, "km/h", "80"),
            )
        },
        business={
            "trading name": "Terrace & Yard Canopies",
            "address": "12 Harbour Row, Millport",
            "phone": "0100 555 010",
            "email": "office@terrace.example",
            "registration": "Registered trader 000 111",
            "bank line": "Account 00-0000-0000000-00",
        },
        wording=WORDING,
        sails={
            "tri5": StockSail(
                "TRI5", "Triangle 5 m", "5 5 5 m", "KN320", ("sand", "slate"), D("318.00"), True, origin("sails", 2)
            )
        },
        cloths={
            "kn320": Cloth(
                "KN320",
                "knitted shade cloth",
                ("sand", "slate"),
                D("21.37"),
                0.32,
                0.03,
                False,
                0.05,
                3.0,
                5.0,
                origin("cloths", 2),
            )
        },
        rigging={},
        corner_sets={},
        posts={
            "shs100": PostSection(
                "SHS100",
                "square steel post 100 mm",
                "steel",
                "square",
                0.1,
                0.005,
                3.5,
                None,
                (3.6, 4.2, 4.8),
                14.2,
                4.4e-5,
                2e11,
                1.6e8,
                D("33.10"),
                "m",
                origin("posts", 2),
            )
        },
        supports={
            s.name: s
            for s in (
                support("new post", makes="post"),
                support("rafter", house=True),
                support("masonry wall", "engineer", house=True),
                support("tree", "no"),
            )
        },
        ground={"firm": Ground("firm", 0.1, 0.0, 1.3, 5.0, 0.6, 0.4, 1.0, 15000.0, origin("ground", 2))},
        access={},
        footing_depths=(),
        concrete={},
        items={},
        kits=(),
        labour=(),
        trades={"installer": Trade("installer", D("63.80"), origin("trades", 2))},
        charges=tuple(Charge(s.step, s.taken_on, s.rate, origin("charges", i)) for i, s in enumerate(STEPS, 2)),
        taxes={t.code.lower(): t for t in TAXES},
        consent=(),
    )


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
            Post(n, (n,), "SHS100", 0.1, 2.51, 1.205, 3.77, 4.2, 5.0, 3.1, 5.8, (0.0, -1.0), False, "height over cos 5°")
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
            first, options[1], "not priced", False, status, replace(Takeoff("Terrace", "2"), points=points(TERRACE)), None
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
        problem("no-tensioner", "error", "Options", "F3", "no tensioner of the set fits the gap of 0.21 m; a 4.5 m sail would.", "Terrace", "2"),
        problem("engineer", "warning", "Fixings", "C5", "'masonry wall' needs an engineer; the option is provisional.", "Back yard", "1"),
        problem("depth-short", "warning", "Fixings", "F7", "the footing is less than a third of the height out.", "Back yard"),
        problem("default", "note", "Job", "B10", "'Units' is blank; metric is used."),
        problem("ground-level", "note", "Fixings", "H2", "'Ground level' is blank; 0 is used.", "Terrace"),
    )  # fmt: skip
    return PricedJob(job, book(), shown, whole, totals, problems, ())
