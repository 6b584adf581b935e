"""The formulas of our own sheets: taken apart, compared, moved with their rows, and worked out in our own code.

Only what our sheets use is known: sums, conditions, rounding and plain arithmetic. A formula with anything else in it
is ValueError, and what follows from it is then not known.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import Any

from estimator.sheets.areas import column_letters, column_number

Value = float | str | bool | None
Node = tuple[Any, ...]  # number, text, area (sheet, top, left, bottom, right), call, or an operator with its sides
Look = Callable[[str, int, int], Value]  # sheet, row, column to what stands there

_TOKEN = re.compile(
    r"""\s*(?:(?P<text>"(?:[^"]|"")*")
    |(?P<area>(?:(?:'(?:[^']|'')+'|[^\W\d][\w.]*)!)?\$?[A-Z]{1,3}\$?[0-9]+(?::\$?[A-Z]{1,3}\$?[0-9]+)?(?![\w(]))
    |(?P<number>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)
    |(?P<call>[A-Z][A-Z0-9.]*)\s*(?=\()
    |(?P<mark><=|>=|<>|[-+*/^&=<>(),%]))""",
    re.VERBOSE,
)
_REFERENCE = re.compile(r"(?<![\w$])(\$?)([A-Z]{1,3})(\$?)([0-9]+)(?![\w(!])")
_RANKS = (("=", "<>", "<", ">", "<=", ">="), ("&",), ("+", "-"), ("*", "/"), ("^",))


@lru_cache(maxsize=50_000)
def parse(formula: str, sheet: str) -> Node:
    """The parts of a formula that stands on a sheet; sheets are named as the formula names them.

    ValueError for what our sheets never hold.
    """
    tokens = list(_tokens(formula.removeprefix("=")))
    node, rest = _compare(tokens, 0, sheet, 0)
    if rest != len(tokens):
        raise ValueError(f"{formula!r} goes on where it should end")
    return node


def _tokens(text: str) -> Iterator[tuple[str, str]]:
    at = 0
    text = text.rstrip()
    while at < len(text):
        found = _TOKEN.match(text, at)
        if not found or not found.lastgroup:
            raise ValueError(f"{text[at : at + 20]!r} is no part of a formula known here")
        yield found.lastgroup, found[found.lastgroup]
        at = found.end()


def _compare(tokens: list[tuple[str, str]], at: int, sheet: str, rank: int) -> tuple[Node, int]:
    """One level of operators, from the weakest; below the last one a single value."""
    if rank == len(_RANKS):
        return _single(tokens, at, sheet)
    left, at = _compare(tokens, at, sheet, rank + 1)
    while at < len(tokens) and tokens[at] in [("mark", mark) for mark in _RANKS[rank]]:
        mark = tokens[at][1]
        right, at = _compare(tokens, at + 1, sheet, rank + 1)
        left = (mark, left, right)
    return left, at


def _single(tokens: list[tuple[str, str]], at: int, sheet: str) -> tuple[Node, int]:
    kind, text = tokens[at] if at < len(tokens) else ("", "")
    node: Node
    if kind == "mark" and text in "+-":
        inner, at = _single(tokens, at + 1, sheet)
        return (("negative", inner) if text == "-" else inner), at
    if kind == "mark" and text == "(":
        node, at = _compare(tokens, at + 1, sheet, 0)
        at = _closed(tokens, at)
    elif kind == "call":
        arguments: list[Node] = []
        at += 2
        while at < len(tokens) and tokens[at] != ("mark", ")"):
            argument, at = _compare(tokens, at, sheet, 0)
            arguments.append(argument)
            at += tokens[at : at + 1] == [("mark", ",")]
        node, at = ("call", text, *arguments), _closed(tokens, at)
    elif kind == "number":
        node, at = ("number", float(text)), at + 1
    elif kind == "text":
        node, at = ("text", text[1:-1].replace('""', '"')), at + 1
    elif kind == "area":
        node, at = _area(text, sheet), at + 1
    else:
        raise ValueError(f"{text!r} where a value should stand")
    while tokens[at : at + 1] == [("mark", "%")]:
        node, at = ("/", node, ("number", 100.0)), at + 1
    return node, at


def _closed(tokens: list[tuple[str, str]], at: int) -> int:
    if tokens[at : at + 1] != [("mark", ")")]:
        raise ValueError("a bracket is not closed")
    return at + 1


def _area(text: str, sheet: str) -> Node:
    name, mark, cells = text.rpartition("!")
    if mark:
        sheet = name[1:-1].replace("''", "'") if name.startswith("'") else name
    corners = [re.fullmatch(r"([A-Z]+)([0-9]+)", c.replace("$", "")) for c in cells.split(":")]
    places = [(int(c[2]), column_number(c[1])) for c in corners if c]
    return ("area", sheet, *places[0], *places[-1])


def areas(node: Node) -> Iterator[Node]:
    """Every area a formula names."""
    if node[0] == "area":
        yield node
    else:
        for part in node[1:]:
            if isinstance(part, tuple):
                yield from areas(part)


def moved(node: Node, sheet_of: Callable[[str], str], row_of: Callable[[str, int], int]) -> Node:
    """The same formula with other names of sheets, and with its rows where they stand now (by the new name)."""
    if node[0] == "area":
        sheet = sheet_of(node[1])
        return ("area", sheet, row_of(sheet, node[2]), node[3], row_of(sheet, node[4]), node[5])
    return tuple(moved(part, sheet_of, row_of) if isinstance(part, tuple) else part for part in node)


def written_out(node: Node, name_of: Callable[[str], str], here: str = "") -> str:
    """A formula as text; sheets other than `here` are named.

    >>> written_out(parse("=ROUND(G5*0.1,2)", "Bill"), str, "Bill")
    'ROUND(G5*0.1,2)'
    """
    kind, *parts = node
    if kind == "number":
        return f"{parts[0]:.15g}"
    if kind == "text":
        return '"' + str(parts[0]).replace('"', '""') + '"'
    if kind == "area":
        sheet, top, left, bottom, right = parts
        name = "" if sheet == here else "'" + name_of(sheet).replace("'", "''") + "'!"
        last = "" if (top, left) == (bottom, right) else f":{column_letters(right)}{bottom}"
        return f"{name}{column_letters(left)}{top}{last}"
    said = [written_out(part, name_of, here) for part in parts if isinstance(part, tuple)]
    if kind == "call":
        return f"{parts[0]}({','.join(said)})"
    if kind == "negative":
        return f"-{said[0]}"
    ranks = [next((n for n, marks in enumerate(_RANKS) if part[0] in marks), len(_RANKS)) for part in parts]
    own = next(n for n, marks in enumerate(_RANKS) if kind in marks)
    left = f"({said[0]})" if ranks[0] < own else said[0]
    return f"{left}{kind}({said[1]})" if ranks[1] <= own else f"{left}{kind}{said[1]}"


def shifted(formula: str, rows: int, columns: int) -> str:
    """The formula as it reads when it is copied to another cell, as fills of an office program are stored.

    >>> shifted("ROUND(D5*$F$5,2)", 2, 1)
    'ROUND(E7*$F$5,2)'
    """

    def other(found: re.Match[str]) -> str:
        column = found[2] if found[1] else column_letters(column_number(found[2]) + columns)
        return f"{found[1]}{column}{found[3]}{int(found[4]) + (0 if found[3] else rows)}"

    return _REFERENCE.sub(other, formula)


def value_of(node: Node, look: Look) -> Value:
    """What a formula gives; ValueError where that cannot be said."""
    kind = node[0]
    if kind in ("number", "text"):
        value: Value = node[1]
        return value
    if kind == "area":
        if node[2:4] != node[4:6]:
            raise ValueError("an area where one value should stand")
        return look(*node[1:4])
    if kind == "negative":
        return -_number(value_of(node[1], look))
    if kind == "call":
        return _call(node[1], node[2:], look)
    return _operator(kind, value_of(node[1], look), value_of(node[2], look))


def _operator(mark: str, left: Value, right: Value) -> Value:
    if mark == "&":
        return _text(left) + _text(right)
    if mark in _RANKS[0]:
        texts = isinstance(left, str) or isinstance(right, str)
        a, b = (_text(left).casefold(), _text(right).casefold()) if texts else (_number(left), _number(right))
        less, same = a < b, a == b  # type: ignore[operator]
        return {"=": same, "<>": not same, "<": less, ">": not (less or same), "<=": less or same, ">=": not less}[mark]
    a, b = _number(left), _number(right)
    if mark == "/" and b == 0:
        raise ValueError("a division by nought")
    sums: dict[str, Callable[[], float]] = {
        "+": lambda: a + b,
        "-": lambda: a - b,
        "*": lambda: a * b,
        "/": lambda: a / b,
        "^": lambda: float(a**b),
    }
    return sums[mark]()


def _call(name: str, given: tuple[Node, ...], look: Look) -> Value:
    if name == "ROUND" and len(given) == 2:
        return _rounded(_number(value_of(given[0], look)), int(_number(value_of(given[1], look))))
    if name == "IF" and len(given) in (2, 3):
        chosen = given[1] if _number(value_of(given[0], look)) else given[2] if len(given) == 3 else ("number", 0.0)
        return value_of(chosen, look)
    if name in ("SUM", "MIN", "MAX"):
        numbers = [n for argument in given for n in _numbers(argument, look)]
        return sum(numbers) if name == "SUM" else {"MIN": min, "MAX": max}[name](numbers, default=0.0)
    if name == "SUMIF" and len(given) in (2, 3):
        return _sum_where(given[-1] if len(given) == 3 else given[0], given[:2], look)
    if name == "SUMIFS" and len(given) > 2 and len(given) % 2:
        return _sum_where(given[0], given[1:], look)
    if name == "COUNTIF" and len(given) == 2:
        return float(sum(_fits(look(*c), value_of(given[1], look)) for c in _cells(given[0])))
    raise ValueError(f"{name} is not used on our sheets")


def _sum_where(summed: Node, asked: tuple[Node, ...], look: Look) -> float:
    total = 0.0
    wanted = [(list(_cells(asked[n])), value_of(asked[n + 1], look)) for n in range(0, len(asked), 2)]
    for number, place in enumerate(_cells(summed)):
        if all(number < len(cells) and _fits(look(*cells[number]), word) for cells, word in wanted):
            found = look(*place)
            total += found if isinstance(found, float) else 0.0
    return total


def _fits(found: Value, wanted: Value) -> bool:
    return found is not None and _text(found).casefold() == _text(wanted).casefold()


def _numbers(node: Node, look: Look) -> Iterator[float]:
    """The numbers of an argument; texts and blanks in an area count for nothing, as in an office program."""
    if node[0] != "area":
        yield _number(value_of(node, look))
        return
    for place in _cells(node):
        found = look(*place)
        if isinstance(found, float):
            yield found


def _cells(node: Node) -> Iterator[tuple[str, int, int]]:
    if node[0] != "area":
        raise ValueError("an area is wanted")
    _, sheet, top, left, bottom, right = node
    for row in range(top, bottom + 1):
        for column in range(left, right + 1):
            yield sheet, row, column


def _number(value: Value) -> float:
    if isinstance(value, str):
        raise ValueError(f"{value!r} where a number should stand")
    return float(value or 0.0)


def _text(value: Value) -> str:
    return f"{value:.15g}" if isinstance(value, float) else "" if value is None else str(value)


def _rounded(value: float, places: int) -> float:
    """Half up and away from nought, seen through 15 digits, as office programs do."""
    return float(Decimal(f"{value:.15g}").quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))
