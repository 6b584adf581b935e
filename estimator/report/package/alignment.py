"""Which row of a sheet as found is which row as written, where somebody has put rows in or taken some out."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from difflib import SequenceMatcher

from estimator.report.package.grid import Grid, Stands

Key = frozenset[tuple[int, Hashable]]
MOST_PAIRS = 4_000_000  # rows by rows that are compared; beyond it rows are taken as they stand
MOST_MIDDLE = 250_000
ALIKE = 0.5


def row_numbers(written: Grid, found: Grid) -> dict[int, int]:
    """Row as written to row as found; a row that was taken out has none."""
    before, after = _keys(written), _keys(found)
    last = max(len(before), len(after))
    if last and sum(a == b for a, b in zip(before, after, strict=False)) >= 0.9 * last and len(before) == len(after):
        return {n: n for n in range(1, len(before) + 1)}
    head = _same(before, after)
    tail = _same(before[head:][::-1], after[head:][::-1])
    pairs = [*range(head)]
    matched = {n: n for n in pairs}
    middle, other = before[head : len(before) - tail], after[head : len(after) - tail]
    matched |= {head + a: head + b for a, b in _middle(middle, other)}
    matched |= {len(before) - n: len(after) - n for n in range(tail, 0, -1)}
    return {a + 1: b + 1 for a, b in matched.items()}


def _keys(grid: Grid) -> list[Key]:
    """What stands in each row from the first on: formulas and texts as such, numbers as they are."""
    rows: dict[int, set[tuple[int, Hashable]]] = {}
    for (row, column), stands in grid.items():
        rows.setdefault(row, set()).add((column, _kind(stands)))
    return [frozenset(rows.get(n, ())) for n in range(1, max(rows, default=0) + 1)]


def _kind(stands: Stands) -> Hashable:
    if stands.formula:
        return "formula"
    return stands.value if isinstance(stands.value, float) else "text"


def _same(before: Sequence[Key], after: Sequence[Key]) -> int:
    count = 0
    while count < min(len(before), len(after)) and before[count] == after[count]:
        count += 1
    return count


def _middle(before: Sequence[Key], after: Sequence[Key]) -> list[tuple[int, int]]:
    if len(before) * len(after) > MOST_PAIRS:
        return [(n, n) for n in range(min(len(before), len(after)))]
    pairs: list[tuple[int, int]] = []
    for kind, a, b, c, d in SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        if kind == "equal":
            pairs += zip(range(a, b), range(c, d), strict=True)
        elif kind == "replace":
            pairs += [(a + x, c + y) for x, y in _likest(before[a:b], after[c:d])]
    return pairs


def _likest(before: Sequence[Key], after: Sequence[Key]) -> list[tuple[int, int]]:
    """The pairs, in order, that are most alike together."""
    if len(before) == len(after) or len(before) * len(after) > MOST_MIDDLE:
        return [(n, n) for n in range(min(len(before), len(after)))]
    best = [[0.0] * (len(after) + 1) for _ in range(len(before) + 1)]
    for x in range(len(before) - 1, -1, -1):
        for y in range(len(after) - 1, -1, -1):
            both = _likeness(before[x], after[y])
            best[x][y] = max(best[x + 1][y], best[x][y + 1], best[x + 1][y + 1] + both if both >= ALIKE else 0.0)
    pairs, x, y = [], 0, 0
    while x < len(before) and y < len(after):
        if best[x][y] == best[x + 1][y]:
            x += 1
        elif best[x][y] == best[x][y + 1]:
            y += 1
        else:
            pairs.append((x, y))
            x, y = x + 1, y + 1
    return pairs


def _likeness(before: Key, after: Key) -> float:
    """1 for rows with the same in the same columns; columns alone count for half."""
    if not before and not after:
        return 1.0
    columns, others = {c for c, _ in before}, {c for c, _ in after}
    same = len(before & after) / len(before | after)
    return (same + len(columns & others) / len(columns | others)) / 2
