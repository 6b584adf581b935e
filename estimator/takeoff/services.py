"""What lies in the ground: whether services are located, a hole near one, and whether anybody has dug here before."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.core.money import plain
from estimator.core.names import key
from estimator.core.problems import Problem, problem
from estimator.job.model import Extra, Fixing, Site
from estimator.rates.model import RateBook
from estimator.takeoff.model import Footing

VACUUM, LOCATOR, SOIL = "vacuum-dig", "private-locate", "soil-test"  # items, named where the rate book has them
LOOSE = ("", "none", "plans")  # nobody has looked in the ground yet
STATE = {
    "": "nobody has said whether services are located",
    "none": "services are said to be none",
    "plans": "services are known from plans only",
    "located": "services are located",
    "exposed": "services are exposed",
}
HAIR = 1e-9


def service_problems(
    book: RateBook, site: Site, fixings: Sequence[Fixing], footings: Sequence[Footing], extras: Sequence[Extra]
) -> list[Problem]:
    """Holes near a service with the ways out, the cheapest first; holes where services are not located."""
    found = []
    least = book.number("service clearance")
    for f in footings:
        edge = f.edge_to_service
        if edge is None or edge >= least - HAIR:
            continue
        top = max((x for x in fixings if x.name in f.fixings), key=lambda x: x.height)
        words = {"edge": f"{edge * 1000:.0f}", "least": f"{least * 1000:.0f}", "short": f"{(least - edge) * 1000:.0f}"}
        vacuum, state = priced_words(book, extras, VACUUM), STATE[site.services]
        place = top.source.place("To service")
        found.append(problem("hole-near-service", place, name=f.post_name, state=state, vacuum=vacuum, **words))
    if footings and site.services in LOOSE:
        at = site.source.place("Services")
        locator, said = priced_words(book, extras, LOCATOR), site.services or "nothing"
        found.append(problem("services-not-located", at, name=site.name, services=said, locator=locator))
    if footings and not site.test_hole:
        at, test = site.source.place("Test hole"), priced_words(book, extras, SOIL)
        found.append(problem("test-hole-unknown", at, name=site.name, test=test))
    return found


def priced_words(book: RateBook, extras: Sequence[Extra], code: str) -> str:
    """An item in brackets: that it is listed, or what it costs; blank where the rate book has none."""
    item = book.items.get(key(code))
    if item is None:
        return ""
    if any(key(e.item) == key(code) and not e.by_others for e in extras):
        return f" ({item.code}, listed in Extras)"
    return f" ({item.code}, {plain(item.price)} {item.unit} in the rate book, not priced here)"
