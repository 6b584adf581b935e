"""The lines of an option: sails, rigging, posts, concrete, stone, spoil, travel, access, kits, labour, extras."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from estimator.core.money import from_float, plain
from estimator.core.names import key
from estimator.core.units import convert
from estimator.job.model import Site
from estimator.rates.model import Item, RateBook
from estimator.takeoff import cloth, concrete, extras, kits, measures
from estimator.takeoff.draft import Draft, Trip, Worked
from estimator.takeoff.labour import labour_line, travel_varies
from estimator.takeoff.lines import item_line, make_line, number, whole_packs
from estimator.takeoff.model import Hours, Line, Measures

VISIT_DEPENDENT = ("site", "visit", "day")


def option_lines(
    book: RateBook,
    draft: Draft,
    worked: Worked,
    whole: Measures,
    hours: Sequence[Hours],
    days: Mapping[str, int],
    trip: Trip,
) -> list[Line]:
    """Every line of an option, in the order of the bill. What one row of a rate book names is in force in it."""
    lines = [*_sails(book, draft), *_rigging(book, draft), *_posts(book, draft)]
    if worked.concrete:
        net = sum(f.concrete for f in draft.footings)
        lines.append(concrete.concrete_line(worked.concrete, net, book.number("concrete waste")))
    loose = book.number("stone loose factor")
    stone = sum(f.stone for f in draft.footings)
    spoil = sum(f.spoil for f in draft.footings)
    for setting, value, words in (
        ("stone item", stone * loose, f"{number(stone, 4)} m3 in place x loose factor {number(loose)}"),
        ("spoil item", spoil, f"holes x swell, {number(spoil, 4)} m3 loose"),
        ("travel item", trip.km, _travel_words(draft.site, trip)),
    ):
        if value <= 0:
            continue
        varies = travel_varies(book) if setting == "travel item" else ()
        lines.append(item_line(book.items[key(book.text(setting))], from_float(value), words, varies=varies))
    access = book.access.get(key(draft.site.access))
    if access and access.hire_item:
        lines.append(_access_line(book.items[key(access.hire_item)], access.name, days))
    wanted = _kits(book, draft, whole)
    lines += kits.kit_lines(book, wanted, lambda code: key(code) in worked.dropped, without=("job",))
    for row in hours:
        if row.trade == extras.TYPED:
            continue
        trade = book.trades[key(row.trade)]
        words = f"{row.task}, {row.visit} visit, {trade.name}"
        lines.append(labour_line(row, trade, words))
    lines = [line for line in lines if key(line.code) not in worked.dropped]
    return [*lines, *worked.extras.lines]


def _travel_words(site: Site, trip: Trip) -> str:
    words = f"2 x {number(trip.travel)} km x {trip.visits} visits"
    return words if trip.sites == 1 else f"{words} of trip {site.trip}, shared by {trip.sites} sites"


def _access_line(item: Item, access: str, days: Mapping[str, int]) -> Line:
    by_day = key(item.unit) in ("day", "days", "d")
    count = sum(days.values()) if by_day else 1
    return item_line(item, Decimal(count), f"access: {access}, {count} {item.unit}")


def _kits(book: RateBook, draft: Draft, whole: Measures) -> list[tuple[str, Measures]]:
    """Each kit with the measures of the fixings that need it."""
    found: list[tuple[str, Measures]] = [(kits.ALWAYS, whole)]
    by_kit: dict[str, list[str]] = {}
    for f in draft.fixings:
        kit = book.supports[key(f.held_by)].kit
        if kit:
            by_kit.setdefault(kit, []).append(f.name)
    for kit, names in by_kit.items():
        own = measures.static_measures(measures.of_fixings(draft.counted, names))
        found.append((kit, {**{k: whole[k] for k in VISIT_DEPENDENT}, **own}))
    return found


def _sails(book: RateBook, draft: Draft) -> list[Line]:
    counts: dict[tuple[str, str], int] = {}
    lines = []
    for h in draft.hung:
        if h.taken.code:
            at = (h.taken.code, h.taken.colour)
            counts[at] = counts.get(at, 0) + 1
        else:
            lines.append(cloth.cloth_line(book, h.taken))
    return [*(cloth.stock_line(book, code, colour, n) for (code, colour), n in counts.items()), *lines]


def _rigging(book: RateBook, draft: Draft) -> list[Line]:
    """One line for each part; rings that are sewn into a stock sail are not bought."""
    needed: dict[str, list[tuple[str, float]]] = {}
    for h in draft.hung:
        stock = book.sails.get(key(h.taken.code)) if h.taken.code else None
        for c in h.corners:
            for code, amount in c.parts:
                part = book.rigging[key(code)]
                if part.kind == "ring" and stock is not None and stock.rings_sewn_in:
                    continue
                needed.setdefault(key(code), []).append((f"{h.taken.sail}/{c.fixing}", amount))
    lines = []
    for code, uses in needed.items():
        part = book.rigging[code]
        total = from_float(sum(amount for _, amount in uses))
        run = part.kind in ("chain", "wire rope")  # by length, each corner cut for itself
        wanted = convert(total, "m", part.per) if run else None
        quantity, packs = (wanted, "") if wanted is not None else whole_packs(total, part.pack)
        words = " + ".join(f"{where} {number(amount)}" for where, amount in uses)
        lines.append(
            make_line(part.code, part.description, "material", quantity, part.per, part.price, words + packs,
                      part.origin, needed=wanted or total, pieces=tuple(uses) if run else ())
        )  # fmt: skip
    return lines


def _posts(book: RateBook, draft: Draft) -> list[Line]:
    """Posts in their shortest sufficient stock lengths."""
    groups: dict[tuple[str, float], list[tuple[str, float]]] = {}
    for p in draft.posts:
        groups.setdefault((p.post, p.stock_length), []).append((p.post_name, p.length))
    lines = []
    for (code, stock), pieces in groups.items():
        section = book.posts[key(code)]
        count = len(pieces)
        metres = from_float(stock) * count
        kilograms = metres * from_float(section.mass or 0.0)
        by_length, by_mass = convert(metres, "m", section.per), convert(kilograms, "kg", section.per)
        quantity = next((q for q in (by_length, by_mass) if q is not None), Decimal(count))
        text = f"{section.description}, {count} of {plain(from_float(stock))} m"
        needed = ", ".join(f"{name} {number(length)}" for name, length in pieces)
        working = f"{count} x {number(stock)} m for {needed} m needed"
        lines.append(
            make_line(section.code, text, "material", quantity, section.per, section.price, working, section.origin,
                      colour=section.finish, pieces=tuple(pieces))
        )  # fmt: skip
    return lines
