"""The two problems of cutting that a library solves: what pieces are worth, and the cheapest choice of patterns."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import ceil
from time import monotonic
from typing import Any

from estimator.pricing.cutting_worth import Asked, Column, Worth, fullest, in_steps, knapsack, worth_of

ROUNDS, NODES = 400, 3000


def shadow_prices(asked: Asked, start: Sequence[Column], worth: Worth, until: float) -> Worth:
    """The worth of pieces with the highest bound, out of the linear problem that begins with some columns."""
    from scipy.optimize import linprog

    columns, pieces = dict.fromkeys(start), len(asked.widths)
    for _ in range(ROUNDS):
        left = until - monotonic()
        if left <= 0:
            break
        costs, rows, limits = _problem(asked, list(columns))
        solved = linprog(costs, A_ub=rows, b_ub=limits, method="highs", options={"time_limit": left})
        if solved.status != 0:
            break
        prices = [-float(m) for m in solved.ineqlin.marginals]
        each = in_steps(asked, prices[:pieces])
        worth = max(worth, worth_of(asked, each), key=lambda w: w.bound)
        tables, limited = knapsack(asked, each), iter(prices[pieces:])
        before = len(columns)
        for stock, many in enumerate(asked.available):
            price = asked.prices[stock] + (next(limited) if many is not None else 0.0)
            if int(tables[0][asked.rooms[stock]]) > (price + 1e-9 * max(1.0, price)) * asked.scale:
                columns[fullest(asked, each, tables, stock)] = None
        if len(columns) == before:
            break
    return worth


def chosen(asked: Asked, columns: Sequence[Column], until: float) -> tuple[Counter[Column] | None, int]:
    """The cheapest choice among columns, None where none was found, and what no choice among them costs less than."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    costs, rows, limits = _problem(asked, columns)
    most = [max(-(-asked.wanted[i] // c) for i, c in enumerate(counts) if c) for _, counts in columns]
    solved = milp(
        costs,
        integrality=np.ones(len(columns), dtype=int),
        bounds=Bounds(0, np.array(most, dtype=float)),
        constraints=LinearConstraint(rows, -np.inf, limits),
        options={"time_limit": max(0.0, until - monotonic()), "node_limit": NODES, "mip_rel_gap": 0.0},
    )
    bound = solved.mip_dual_bound
    least = 0 if bound is None or not np.isfinite(bound) else max(0, ceil(bound - 1e-6 * max(1.0, bound)))
    if solved.x is None:
        return None, least
    times = np.rint(solved.x).astype(int).tolist()
    plan = Counter({column: n for column, n in zip(columns, times, strict=True) if n > 0})
    if not _holds(asked, plan):
        return None, least
    cost = sum(n * asked.cost(stock) for (stock, _), n in plan.items())
    # searched to the end: the bound is the plan's cost, and a float beside it is not taken for a cheaper plan
    return plan, cost if solved.status == 0 else min(least, cost)


def _holds(asked: Asked, plan: Counter[Column]) -> bool:
    """Whether a plan cuts all that is wanted from no more bars than there are: the solver is not taken at its word."""
    cut, used = [0] * len(asked.widths), Counter[int]()
    for (stock, counts), times in plan.items():
        cut = [n + times * c for n, c in zip(cut, counts, strict=True)]
        used[stock] += times
    enough = all(n >= wanted for n, wanted in zip(cut, asked.wanted, strict=True))
    return enough and all(many is None or used[s] <= many for s, many in enumerate(asked.available))


def _problem(asked: Asked, columns: Sequence[Column]) -> tuple[Any, Any, Any]:
    """Costs, rows and limits of `rows x <= limits`: every piece as often as wanted, then stocks with only so many."""
    import numpy as np
    from scipy.sparse import csc_array

    pieces = len(asked.widths)
    limited = [s for s, many in enumerate(asked.available) if many is not None]
    row_of = {stock: pieces + i for i, stock in enumerate(limited)}
    entries = [(i, j, -float(c)) for j, (_, counts) in enumerate(columns) for i, c in enumerate(counts) if c]
    entries += [(row_of[stock], j, 1.0) for j, (stock, _) in enumerate(columns) if stock in row_of]
    i, j, values = zip(*entries, strict=True)
    rows = csc_array((values, (i, j)), shape=(pieces + len(limited), len(columns)))
    limits = np.array([-n for n in asked.wanted] + [asked.available[s] or 0 for s in limited], dtype=float)
    return np.array([asked.cost(stock) for stock, _ in columns], dtype=float), rows, limits
