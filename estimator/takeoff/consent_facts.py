"""What is known of an option for the consent rows, and what to say about each row. Lengths m, areas m2.

Which point is taken, always so that a limit is never kept by mistake:

- plan area: the sails of the option together, with straight sides between their corners at rest;
- height above ground: the highest fixing over its own ground, or the top of a new post where that is higher;
- footing to boundary: the edge of the nearest hole, which is taken to have moved toward the boundary as the post leans;
- sail to boundary: the nearest fixing. A sail lies between its fixings, so along straight boundaries no part of it is
  nearer. A corner of other land that reaches in between two fixings is not seen;
- existing sails: those that are there when the last sail of the option is hung;
- house anchor: fixings on a building.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians

from estimator.core.names import key
from estimator.core.problems import Problem, did_you_mean, problem
from estimator.core.units import show_length
from estimator.job.model import Fixing, Header, Site
from estimator.rates.model import RateBook
from estimator.takeoff import consent
from estimator.takeoff.consent import HAIR, OR_LESS, OR_MORE, Compared, Condition, Known
from estimator.takeoff.draft import Draft

SQUARE_FOOT = 0.3048**2
NEAR = ("pool", "cyclone coast")  # conditions that 'Near' tells


def compare(book: RateBook, header: Header, draft: Draft) -> tuple[tuple[Compared, ...], list[Problem]]:
    """The consent rows of the site's place held against the option, and what to say about them."""
    site = draft.site
    place, at = site.place or header.place, site.source.place("Place")
    if not place:
        return (), [problem("consent-no-place", at, name=site.name)]
    places = {key(row.place): row.place for row in book.consent}
    if key(place) not in places:
        hint = did_you_mean(place, places.values())
        return (), [problem("consent-no-rows", at, place=place, hint=hint)]
    found = consent.compared(book.consent, place, facts_of(book, draft))
    return found, [p for c in found if (p := _said(c, place, site, header.units)) is not None]


def facts_of(book: RateBook, draft: Draft) -> consent.Facts:
    """What is known of an option; a sail or fixing that could not be taken off leaves its part unknown."""
    names = {key(f.name) for f in draft.fixings}
    all_fixings = all(key(n) in names for sail in draft.option.sails for n in sail.corners_at)
    all_hung = len(draft.hung) == len(draft.option.sails)
    house = sum(book.supports[key(f.held_by)].house for f in draft.fixings)
    area = sum(h.taken.plan_area for h in draft.hung)
    measures = {
        consent.AREA: Known(area, "" if all_hung else OR_MORE, "all sails together" if len(draft.hung) > 1 else ""),
        "height above ground": _height(book, draft, all_fixings and all_hung),
        "sail to boundary": _sail_to_boundary(draft, all_fixings),
        "existing sails": _existing(draft),
        "house anchor": Known(float(house), "" if all_fixings else OR_MORE),
    }
    footing = _footing_to_boundary(book, draft, all_fixings and all_hung)
    if footing is not None:
        measures["footing to boundary"] = footing
    return consent.Facts(measures, _conditions(book, draft, house > 0, all_fixings, all_hung))


def _conditions(book: RateBook, draft: Draft, house: bool, all_fixings: bool, all_hung: bool) -> dict[str, Condition]:
    waterproof = [book.cloths[key(h.taken.cloth)].waterproof for h in draft.hung]

    def any_of(true: bool, whole: bool) -> Condition:
        return Condition(True if true else False if whole else None)

    attached = any_of(house, all_fixings)
    there = draft.site.existing_sails
    known = _existing(draft)
    found = {
        "house anchor": attached,
        "free-standing": Condition(None if attached.holds is None else not attached.holds),
        "waterproof": any_of(any(waterproof), all_hung),
        "permeable": any_of(not all(waterproof), all_hung),
        "posts": any_of(any(_makes(book, f) == "post" for f in draft.fixings), all_fixings),
        "existing sails": Condition(True if known.amount else None if there is None else False, known.ask, known.place),
    }
    near = set(map(key, draft.site.near))
    for name in NEAR:
        ask = f"Say in 'Near' whether there is a {name}, or write nothing there."
        holds = name in near if near else None
        found[name] = Condition(holds, ask, draft.site.source.place("Near"))
    return found


def _makes(book: RateBook, fixing: Fixing) -> str:
    return book.supports[key(fixing.held_by)].makes


def _height(book: RateBook, draft: Draft, whole: bool) -> Known:
    heights = [(f.height - f.ground, f"fixing {f.name}") for f in draft.fixings]
    heights += [(p.above_ground * cos(radians(p.lean)), f"top of post {p.post_name}") for p in draft.posts]
    if not heights:
        return Known(None)
    highest = max(heights, key=lambda h: h[0])
    return Known(highest[0], "" if whole else OR_MORE, highest[1])


def _existing(draft: Draft) -> Known:
    """Sails of the option count too, but for the last one: a second sail is a second sail."""
    there, place = draft.site.existing_sails, draft.site.source.place("Existing sails")
    more = len(draft.option.sails) - 1
    of = f"with {more} of this option, hung before its last" if more > 0 else ""
    ask = "Say in 'Existing sails' how many are there already."
    if there is None:
        return Known(float(more) if more > 0 else None, OR_MORE if more > 0 else "", of, ask, place)
    return Known(float(there + max(more, 0)), "", of)


def _sail_to_boundary(draft: Draft, whole: bool) -> Known:
    blank = [f for f in draft.fixings if f.to_boundary is None]
    return _nearest([(f.to_boundary, f"fixing {f.name}") for f in draft.fixings], blank, whole)


def _footing_to_boundary(book: RateBook, draft: Draft, whole: bool) -> Known | None:
    """None where the option digs no hole and sets no post, so that there is nothing to compare."""
    plates = [p for p in draft.posts if p.on_plate]
    if whole and not draft.footings and not plates:
        return None
    edges = [(f.edge_to_boundary, f"hole of post {f.post_name}") for f in draft.footings]
    unknown = {n for f in draft.footings if f.edge_to_boundary is None for n in f.fixings}
    blank = [f for f in draft.fixings if f.name in unknown]
    if plates and not blank:
        names = ", ".join(p.post_name for p in plates)
        ask = f"Measure from the footing under the plate of {names} to the boundary, and ask the council."
        near = _nearest(edges, [], whole)
        bound = OR_LESS if near.amount is not None else ""
        return Known(near.amount, bound, near.of, ask, draft.site.source.place("Place"))
    return _nearest(edges, blank, whole)


def _nearest(distances: Sequence[tuple[float | None, str]], blank: Sequence[Fixing], whole: bool) -> Known:
    """The least of what is known; `or less` where a distance is not given."""
    known = [(d, of) for d, of in distances if d is not None]
    least, of = min(known, default=(None, ""))
    bound = "" if whole and not blank else OR_LESS
    if not blank:
        return Known(least, bound, of)
    names = ", ".join(f.name for f in blank)
    return Known(
        least,
        bound,
        of,
        f"Give the way to the boundary of {names} ('To boundary' on Fixings).",
        blank[0].source.place("To boundary"),
    )


def shown(measure: str, value: float, units: str) -> str:
    """A value or limit of a measure in words.

    >>> shown("plan area", 24.1204, "metric"), shown("house anchor", 2.0, ""), shown("sail to boundary", 0.9, "metric")
    ('24.12 m2', '2', '0.900 m')
    >>> shown("plan area", 18.580608, "feet and inches")
    '200 sq ft'
    """
    if key(measure) in consent.NUMBERS:
        return f"{value:g}"
    if key(measure) != consent.AREA:
        return show_length(value, units)
    feet = units == "feet and inches"
    number = (f"{value / SQUARE_FOOT:.1f}" if feet else f"{value:.2f}").rstrip("0").rstrip(".")
    return f"{number} sq ft" if feet else f"{number} m2"


def value_words(found: Compared, units: str) -> str:
    """What is known of the measure in words; to the last digit where it would read like the limit without being it."""
    known, row = found.known, found.row
    if known.amount is None:
        return ""
    value = shown(row.measure, known.amount, units)
    if row.limit is not None and abs(known.amount - row.limit) > HAIR and value == shown(row.measure, row.limit, units):
        value = _to_the_last(row.measure, known.amount)
    return f"{value} {known.bound}".rstrip()


def margin_words(found: Compared, units: str) -> str:
    """The margin in words; to the last digit where it would read like none."""
    measure, margin = found.row.measure, found.margin
    if margin is None:
        return ""
    words = shown(measure, margin, units)
    none = abs(margin) > HAIR and words.removeprefix("-") == shown(measure, 0.0, units)
    return _to_the_last(measure, margin) if none else words


def _to_the_last(measure: str, value: float) -> str:
    return f"{value:.6f}".rstrip("0") + (" m2" if key(measure) == consent.AREA else " m")


def limit_words(found: Compared, units: str) -> str:
    """How the row compares, with its limit; blank where it has none."""
    row = found.row
    return "" if row.limit is None else f"{row.compare} {shown(row.measure, row.limit, units)}"


def source_words(found: Compared) -> str:
    """Source and day of a row."""
    origin = found.row.origin
    day = f"from {origin.valid_from.isoformat()}" if origin.valid_from else ""
    return ", ".join(x for x in (origin.source, day) if x) or "no source"


def _said(found: Compared, place: str, site: Site, units: str) -> Problem | None:
    """A limit that is not kept is a warning, what is not known a question; where errors come first, nothing."""
    row, at = found.row, site.source.place("Place")
    words = {"place": place, "when": row.when or "always", "source": source_words(found)}
    if found.inside is False:
        of = f" ({found.known.of})" if found.known.of else ""
        value = value_words(found, units) + of
        return problem("consent-needed", at, measure=row.measure, value=value, limit=limit_words(found, units), **words)
    if found.inside:
        return None
    if key(row.measure) == consent.QUESTION:
        return problem("consent-question", at, question=found.question, **words)
    if found.question == consent.ERRORS_FIRST:
        return None
    limit = limit_words(found, units) or "no limit"
    return problem("consent-unknown", found.cell or at, measure=row.measure, limit=limit, ask=found.question, **words)
