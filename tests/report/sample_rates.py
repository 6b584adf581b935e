"""A small rate book made by hand for the reports. Every figure in it is invented."""

from __future__ import annotations

from datetime import date
from decimal import Decimal as D

from estimator.pricing.charges import Step
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

DAY = date(2026, 4, 3)


def origin(table: str, row: int) -> Origin:
    return Origin(table, row, date(2026, 1, 1), "invented for the tests")


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
    wording("caution", "take-down", "The owner takes the sail down before gusts over the take-down gust."),
    wording("caution", "no take-down", "Not hung before an engineer has confirmed posts and fixings."),
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
                setting("travel speed", 60.0, "km/h", "60"),
                setting("travel trade", "installer", "", "installer"),
                setting("travel item", "travel-km", "", "travel-km"),
                setting("footing rule", "deeper of side and third of the height", "", "deeper of side and third"),
                setting("lean", 5.0, "degrees", "5"),
                setting("tax by", "total", "", "total"),
                setting("take-down gust", 80.0, "km/h", "80"),
                setting("take-down factor", 0.7, "", "0.7"),
                setting("take-down step", 5.0, "km/h", "5"),
                setting("sideways over upward low", 3.0, "", "3"),
                setting("sideways over upward high", 5.0, "", "5"),
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
