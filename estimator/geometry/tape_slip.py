"""Which line slipped when a figure does not close, and how it may have been misread.

Imports numpy: import it inside the function that needs it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import exp, sqrt

from estimator.geometry.tape_checks import Taped
from estimator.geometry.tape_frame import figures
from estimator.geometry.tape_model import AdjustedLine, Suspect, Verdict
from estimator.geometry.tape_solve import Array, computed, network, settle

_SURE = 0.8  # chance from which a line is named
_STEPS = ((0.01, "10 mm"), (0.1, "100 mm"), (0.3048, "a foot"), (1.0, "1 m"))


def misclosure_limit(spare: int) -> float:
    """What the sum of squared misfits passes by chance once in a hundred figures; 0 without a spare line.

    Source: upper 1 % point of chi-squared with as many degrees of freedom as spare lines.

    >>> round(misclosure_limit(1), 3), round(misclosure_limit(3), 3), misclosure_limit(0)
    (6.635, 11.345, 0.0)
    """
    from scipy.special import chdtri

    return float(chdtri(spare, 0.01)) if spare else 0.0


def closing_lengths(taped: Taped, line: int) -> tuple[float, ...]:
    """Lengths of one line that close a figure with one spare line [m], the two nearest first; may be none.

    The other lines fix the figure exactly, save for its reflections: each gives one length. Empty as well where
    the others hold each other without this line, so that its length changes nothing.
    """
    rest = taped.without(line)
    net, all_lines = network(rest), network(taped)
    lengths: list[float] = []
    for xy, off in figures(rest) if net.unknowns else []:
        length = float(computed(all_lines, xy)[line])
        if off < 1e-6 and all(abs(length - other) > 5e-4 for other in lengths):
            lengths.append(length)
    lengths.sort(key=lambda length: abs(length - taped.lines[line].length))
    return tuple(lengths[:2])


def misreading(taken: float, closing: float, std: float) -> str:
    """The usual slip of reading that turns one length into the other, blank where none does within 2 std.

    Only slips of more than 3 std are told from chance.

    >>> misreading(4.563, 4.653, 0.001), misreading(5.0, 6.0005, 0.001), misreading(5.0, 5.03, 0.001)
    ('two figures swapped', '1 m', '')
    """
    usual = [(abs(abs(closing - taken) - step), words) for step, words in _STEPS if step > 3 * std]
    usual += [
        (abs(closing - swapped), "two figures swapped") for swapped in _swapped(taken) if abs(swapped - taken) > 3 * std
    ]
    off, words = min(usual, default=(0.0, ""))
    return words if off <= 2 * std else ""


def _swapped(length: float) -> Iterator[float]:
    """The length with two neighbouring figures of its millimetres, or of its whole centimetres, swapped."""
    for scale, ends in ((1000, 0.0), (100, length - round(length * 100) / 100)):
        figures_read = str(round(length * scale))
        for at in range(len(figures_read) - 1):
            swapped = figures_read[:at] + figures_read[at + 1] + figures_read[at] + figures_read[at + 2 :]
            if swapped != figures_read:
                yield int(swapped) / scale + ends


def find_slip(
    taped: Taped, lines: tuple[AdjustedLine, ...], found: list[tuple[Array, float]], spare: int
) -> tuple[Verdict, Suspect | None, tuple[Suspect, ...]]:
    """Verdict on a figure that does not close, the line named, and else the lines it could be, likeliest first.

    found: layouts of all lines, as starts for those without one line. One spare line names nobody: without any
    one of the lines it checks, the rest closes.
    """
    if spare == 1:
        told = [_suspect(taped, lines, at, closing_lengths(taped, at), None) for at in range(len(lines))]
        return "one of these slipped", None, tuple(told)
    tried = []
    for at in range(len(lines)):
        if lines[at].checked:
            rest = network(taped.without(at))
            xy, off = min((settle(rest, start) for start, _ in found[:8]), key=lambda pair: pair[1])
            tried.append((off, at, float(computed(network(taped), xy)[at])))
    tried.sort()
    chances = [exp((tried[0][0] - off) / 2) for off, _, _ in tried]
    likely = [
        _suspect(taped, lines, at, (length,), chance / sum(chances))
        for chance, (off, at, length) in zip(chances, tried, strict=True)
        if off <= misclosure_limit(spare - 1)
    ]
    if not likely:
        return "several slipped", None, ()
    if likely[0].sure is not None and likely[0].sure >= _SURE:
        return "one slipped", likely[0], ()
    return "one of these slipped", None, tuple(likely)


def _suspect(
    taped: Taped, lines: tuple[AdjustedLine, ...], at: int, lengths: tuple[float, ...], sure: float | None
) -> Suspect:
    std = taped.stds[at] / sqrt(max(lines[at].redundancy, 1e-9))
    told = (misreading(lines[at].length, length, std) for length in lengths)
    return Suspect(at, lengths, next((words for words in told if words), ""), sure)
