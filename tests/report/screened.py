"""Screenings made by hand, with figures that stand nowhere else by chance. Everything in them is invented."""

from __future__ import annotations

from dataclasses import replace

from estimator.pricing.model import PricedJob, PricedOption
from estimator.screening.model import Check, CornerForce, SailShape, Screened, TakeDown
from tests.report import sample

FORCES = (
    CornerForce("1", "A", (410.0, 310.0, -62.0), (2913.0, 2207.0, 1187.0), (1890.0, 1400.0, -911.0)),
    CornerForce("1", "B", (-402.0, 316.0, -58.0), (-2871.0, 2291.0, 1203.0), (-1822.0, 1433.0, -887.0)),
    CornerForce("1", "C", (-8.0, -626.0, 120.0), (-42.0, -4498.0, 773.0), (-68.0, -2833.0, 318.0)),
)
CHECKS = (
    Check("post", "bending of SHS100", "post C", ("C",), 1.3117e8, 1.6e8, "Pa", "section table of the rate book",
          "4.50 kN sideways, moment 10.80 kNm over 82.3 cm3 = 131 MPa against 160 MPa", case="up"),
    Check("corner", "eye EB12", "sail 1 at A", ("A",), 3843.0, 3413.0, "N", "working loads of the set in the rate book",
          "pull 3.84 kN; eye EB12 3.41 kN, at 18 degrees to its shank", case="up"),
    Check("footing", "depth, free at the ground", "footing of post C", ("C",), 1.0731, 1.2, "m",
          "pole free at the ground, IBC 1807.3.2.1; ground firm: common practice, no source",
          "4.50 kN at 2.40 m: needs 1.07 m, is 1.20 m deep, 300 mm wide", case="up"),
    Check("support", "masonry wall", "at B", ("B",), 3862.7, None, "N", "an engineer has to say",
          "pull 3.86 kN against an engineer has to say", counted=False, case="up"),
    Check("post", "movement of SHS100", "post C", ("C",), 0.0873, 0.12, "m", "setting movement limit",
          "its top gives 87 mm at 2.40 m; over 5 % of the height is pointed out", counted=False, case="up"),
)  # fmt: skip
SCREENED = Screened(
    gust=21.4,
    gust_words="mean of 13.0 m/s as given x 1.65, gust over mean = 21.4 m/s",
    up=357.21,
    down=219.83,
    forces=FORCES,
    checks=tuple(sorted(CHECKS, key=lambda c: -(c.used or 0.0))),
    take_down=TakeDown(18.37, "eye EB12, sail 1 at A", "bending of SHS100, post C", 23.64, True),
    shapes=(SailShape("1", (0.31, 0.22, 2.863), (3.07, 5.21, 2.417), 10.37, None),),
    unknown=("B, masonry wall: an engineer has to say what it holds",),
)


def at(option: PricedOption, wind: float | None = None, **changes: object) -> PricedOption:
    """The option with a screening; wind: another take-down wind [m/s]; changes: of the screening."""
    found = replace(SCREENED, **changes)  # type: ignore[arg-type]
    if wind is not None and found.take_down:
        found = replace(found, take_down=replace(found.take_down, wind=wind))
    return replace(option, screened=found)


def with_options(priced: PricedJob, *options: PricedOption) -> PricedJob:
    return replace(priced, options=options)


def screened_sample(**head: object) -> PricedJob:
    """The sample with its first option screened and the other two not."""
    priced = sample.priced(**head)
    return with_options(priced, at(priced.options[0]), *priced.options[1:])
