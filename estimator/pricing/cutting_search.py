"""The cheapest way to cut pieces from bars, in whole numbers: a plan, and what no plan can cost less than.

Source: the pattern formulation of cutting stock, known since 1961. A pattern is what is cut from one bar; how often
each pattern is cut is a whole-number unknown, and every piece has to be cut at least as often as it is wanted. Without
"whole" it is a linear problem whose shadow prices say what a piece is worth; the bar filled with the most worth (a
knapsack) is the next pattern it needs, and when none is worth more than it costs, no plan costs less than the worth of
all pieces. Only patterns that lose less than a plan exceeds that bound can belong to a cheaper plan: where all of them
can be listed, the best choice among them is the best of all.

Bounds are reckoned in whole numbers, whatever the solver of the linear problem rounds.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from time import monotonic

from estimator.pricing.cutting_solver import chosen, shadow_prices
from estimator.pricing.cutting_worth import (
    UNCUT,
    Asked,
    Column,
    Worth,
    by_length,
    filled,
    fullest,
    knapsack,
    lifted,
    patterns_within,
)

# Work is limited by count first and by the clock only then: what ends by count ends the same on every machine.
PLANS, PATTERNS = 100, 4000
KEPT = 0.9  # of what a piece was worth in the plan before
LONGER = (1.0, 1.05, 1.15)  # how much more than its length a longer piece counts, plan after plan


@dataclass(frozen=True, slots=True)
class Found:
    """How often each column is cut; stock UNCUT: pieces that found no bar.

    cost, bound: no plan costs less than bound. out_of_time: the clock ended the search.
    """

    bars: tuple[tuple[Column, int], ...]
    cost: int
    bound: int
    out_of_time: bool


def search(asked: Asked, seconds: float) -> Found:
    """The best plan found and a bound on all, within so many seconds or a set amount of work."""
    until = monotonic() + seconds
    plan, worth = tidied(asked, greedy(asked)), by_length(asked)
    bound = lifted(asked, worth, worth.least(asked), _cost(asked, plan))
    if _cost(asked, plan) > bound:
        worth = shadow_prices(asked, [*plan, *single(asked)], worth, until)
        bound = lifted(asked, worth, worth.least(asked), _cost(asked, plan))
    if _cost(asked, plan) > bound and monotonic() < until:
        plan = _cheaper(asked, plan, bar_by_bar(asked, worth, bound, until))
    if _cost(asked, plan) > bound and monotonic() < until:
        listed = patterns_within(asked, worth, _cost(asked, plan) - 1, PATTERNS, until)
        if listed is not None:
            best, least = chosen(asked, list(dict.fromkeys([*plan, *listed, *single(asked)])), until)
            plan = _cheaper(asked, plan, best and tidied(asked, best))
            bound = lifted(asked, worth, max(bound, least), _cost(asked, plan))
    return Found(tuple(sorted(plan.items())), _cost(asked, plan), bound, monotonic() >= until)


def single(asked: Asked) -> list[Column]:
    """Of every piece the bars full of it alone, and where bars may run out that it is left uncut."""
    found: list[Column] = []
    for i, width in enumerate(asked.widths):
        for stock, room in enumerate(asked.rooms):
            if width <= room and asked.wanted[i]:
                found.append((stock, asked.only(i, min(room // width, asked.wanted[i]))))
        if asked.may_lack and asked.wanted[i]:
            found.append((UNCUT, asked.only(i, 1)))
    return found


def greedy(asked: Asked) -> Counter[Column]:
    """A first plan: again and again the bar that, filled with the longest pieces first, costs least per length used."""
    left, plan = asked, Counter[Column]()
    while any(left.wanted):
        tried = []
        for stock, room in enumerate(asked.rooms):
            counts = filled(asked.widths, left.wanted, room)
            used = sum(w * c for w, c in zip(asked.widths, counts, strict=True))
            if used and left.available[stock] != 0:
                tried.append((asked.prices[stock] / used, room - used, stock, counts))
        if not tried:
            plan.update({(UNCUT, asked.only(i, 1)): n for i, n in enumerate(left.wanted) if n})
            break
        _, _, stock, counts = min(tried)
        left, times = _cut(left, stock, counts)
        plan[stock, counts] += times
    return plan


def bar_by_bar(asked: Asked, worth: Worth, bound: int, until: float) -> Counter[Column]:
    """The cheapest of many plans, each made bar by bar: the next bar is always that with the most worth for its price.

    Source: sequential value correction, published in the 1990s: a piece that came to lie on a badly filled bar has cost
    much, so it is worth more in the next plan and is cut earlier there.
    """
    best: Counter[Column] = Counter()
    each = [float(e) for e in worth.each]
    for tried in range(PLANS):
        left, plan = asked, Counter[Column]()
        sizes = [width ** LONGER[tried % len(LONGER)] for width in asked.widths]
        while any(left.wanted):
            now = [int(e) + 1 for e in each]
            tables = knapsack(left, now)
            values = [0 if left.available[s] == 0 else int(tables[0][room]) for s, room in enumerate(asked.rooms)]
            if not any(values):
                plan.update({(UNCUT, asked.only(i, 1)): n for i, n in enumerate(left.wanted) if n})
                break
            _, chosen_stock = min((asked.prices[s] / value, s) for s, value in enumerate(values) if value)
            stock, counts = fullest(left, now, tables, chosen_stock)
            left, times = _cut(left, stock, counts)
            plan[stock, counts] += times
            rate = asked.prices[stock] * asked.scale / sum(s * c for s, c in zip(sizes, counts, strict=True))
            paid = zip(each, sizes, counts, strict=True)
            each = [KEPT * e + (1 - KEPT) * size * rate if c else e for e, size, c in paid]
        plan = tidied(asked, plan)
        best = _cheaper(asked, best, plan) if best else plan
        if _cost(asked, best) <= bound or monotonic() >= until:
            break
    return best


def _cut(left: Asked, stock: int, counts: tuple[int, ...]) -> tuple[Asked, int]:
    """What is left to do when a pattern is cut as often as it can be, and how often that is."""
    times, many = min(left.wanted[i] // c for i, c in enumerate(counts) if c), left.available[stock]
    if many is not None:
        times = min(times, many)
    wanted = tuple(n - times * c for n, c in zip(left.wanted, counts, strict=True))
    bars = tuple(m - times if m is not None and s == stock else m for s, m in enumerate(left.available))
    return replace(left, wanted=wanted, available=bars), times


def tidied(asked: Asked, plan: Counter[Column]) -> Counter[Column]:
    """The same pieces, each as often as it is wanted and no more, every bar of the cheapest stock that takes it."""
    surplus = [-n for n in asked.wanted]
    bars: list[tuple[int, list[int]]] = []
    for (stock, pattern), times in sorted(plan.items()):  # pieces left uncut come first: they are the first to go
        surplus = [s + times * c for s, c in zip(surplus, pattern, strict=True)]
        bars += [(stock, list(pattern)) for _ in range(times)]
    for _, counts in bars:
        for i, count in enumerate(counts):
            less = min(count, surplus[i])
            counts[i] -= less
            surplus[i] -= less
    used = Counter(stock for stock, counts in bars if any(counts))
    found: Counter[Column] = Counter()
    for stock, counts in bars:
        if not any(counts):
            continue
        taken = stock
        if stock != UNCUT:
            width = sum(w * c for w, c in zip(asked.widths, counts, strict=True))
            used[stock] -= 1
            fits = [s for s, room in enumerate(asked.rooms) if width <= room and _left(asked, used, s)]
            taken = min(fits, key=lambda s: (asked.prices[s], asked.rooms[s], s))
            used[taken] += 1
        found[taken, tuple(counts)] += 1
    return found


def _left(asked: Asked, used: Counter[int], stock: int) -> bool:
    many = asked.available[stock]
    return many is None or used[stock] < many


def _cost(asked: Asked, plan: Counter[Column]) -> int:
    return sum(times * asked.cost(stock) for (stock, _), times in plan.items())


def _cheaper(asked: Asked, one: Counter[Column], other: Counter[Column] | None) -> Counter[Column]:
    """The cheaper of two plans; the first where they cost the same."""
    return other if other is not None and _cost(asked, other) < _cost(asked, one) else one
