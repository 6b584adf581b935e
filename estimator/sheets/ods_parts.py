"""The small parts of an .ods: references as other programs write them, number formats, texts, values."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from estimator.sheets.package import attribute, local
from estimator.sheets.tidy_parts import line_ends

if TYPE_CHECKING:
    from lxml.etree import _Element

_TEXTS = re.compile(r'("(?:[^"]|"")*")')
_BRACKET = re.compile(r"\[((?:[^\[\]']|'(?:[^']|'')*')*)\]")
_PART = re.compile(r"(?:'((?:[^']|'')*)'#)?\$?(?:'((?:[^']|'')*)'|([^.'#:]*))\.(.+)")
_BETWEEN = re.compile(r":(?=(?:[^']*'[^']*')*[^']*$)")
_PLAIN_NAME = re.compile(r"[^\W\d]\w*")
_DURATION = re.compile(r"(-?)P(?:(\d+)D)?T(\d+)H(\d+)M(\d+)(?:[.,](\d+))?S", re.ASCII)
_ISO = re.compile(r"(\d{4}-\d\d-\d\d)(?:T(\d\d:\d\d:\d\d)(?:\.(\d+))?)?Z?", re.ASCII)
_NO_TEXT = frozenset({"annotation", "note", "ruby-text", "tracked-changes"})
MOST_SPACES = 10_000

_DATE_PARTS = {"year": ("yy", "yyyy"), "month": ("m", "mm"), "day": ("d", "dd"), "day-of-week": ("ddd", "dddd"),
               "hours": ("h", "hh"), "minutes": ("m", "mm"), "seconds": ("s", "ss"), "era": ("e", "e"),
               "quarter": ("q", "q"), "week-of-year": ("ww", "ww"), "am-pm": ("AM/PM", "AM/PM")}  # fmt: skip


def formula_text(formula: str) -> str:
    """A formula of an .ods in the form of the other kinds.

    >>> formula_text("of:=SUM([$'My sheet'.A1:.B2];[.C3])")
    "=SUM('My sheet'!A1:B2;C3)"
    >>> formula_text("of:=['file:///home/x/other.ods'#$Rates.$A$1]")
    "='[other.ods]Rates'!$A$1"
    """
    bare = re.sub(r"^(?:of|oooc|msoxl|[a-z]\w*)?:?=", "", formula, count=1)
    parts = _TEXTS.split(bare)
    parts[::2] = [_BRACKET.sub(lambda m: reference_text(m[1]), part) for part in parts[::2]]
    return "=" + "".join(parts)


def reference_text(address: str) -> str:
    """A reference of an .ods, such as `$Bill.$A$1:.B2`, in the form of the other kinds.

    >>> reference_text("$Bill.$A$1"), reference_text(".A:.A"), reference_text("#REF!")
    ('Bill!$A$1', 'A:A', '#REF!')
    """
    found = [_PART.fullmatch(part) for part in _BETWEEN.split(address)]
    if not 1 <= len(found) <= 2 or None in found:
        return address
    sheets, cells, book = [], [], ""
    for match in found:
        assert match is not None
        url, quoted, plain, cell = match.groups()
        book = book or re.split(r"[/\\]", url or "")[-1]
        sheets.append((quoted or plain or "").replace("''", "'"))
        cells.append(cell)
    name = f"{sheets[0]}:{sheets[1]}" if len(sheets) == 2 and sheets[1] not in ("", sheets[0]) else sheets[0]
    name = f"[{book}]{name}" if book else name
    quoted = name if _PLAIN_NAME.fullmatch(name) or not name else "'" + name.replace("'", "''") + "'"
    return (f"{quoted}!" if quoted else "") + ":".join(cells)


def cell_formats(roots: Iterable[_Element]) -> dict[str, str]:
    """Cell style to number format, from the style lists of a document; only what reading needs is exact: per cent,
    dates and the words beside a number."""
    data: dict[str, str] = {}
    first: dict[str, str] = {}  # of a format with a part for each sign: the part of positive numbers
    styles: dict[str, tuple[str, str]] = {}
    for root in roots:
        for element in root.iter("{*}style", "{*}default-style"):
            if attribute(element, "family") == "table-cell":
                name = attribute(element, "name") or "Default"
                styles[name] = (attribute(element, "data-style-name"), attribute(element, "parent-style-name"))
        for kind in ("number", "percentage", "currency", "date", "time", "boolean", "text"):
            for element in root.iter(f"{{*}}{kind}-style"):
                data[attribute(element, "name")] = _format_code(element, kind)
                maps = [attribute(child, "apply-style-name") for child in element if local(child) == "map"]
                if maps:
                    first[attribute(element, "name")] = maps[0]
    return {name: _resolved(name, styles, data, first) for name in styles}


def _resolved(
    name: str, styles: Mapping[str, tuple[str, str]], data: Mapping[str, str], first: Mapping[str, str]
) -> str:
    seen: set[str] = set()
    while name in styles and name not in seen:
        seen.add(name)
        data_style, parent = styles[name]
        if data_style:
            return data.get(first.get(data_style, ""), data.get(data_style, "General"))
        name = parent
    return "General"


def _format_code(style: _Element, kind: str) -> str:
    code = ""
    for element in style:
        name = local(element)
        long = attribute(element, "style") == "long"
        if name == "text":
            words = "".join(str(t) for t in element.itertext())
            percent = kind == "percentage" and "%" in words
            code += words if kind in ("date", "time") or percent or not words.strip() else f'"{words}"'
        elif name in ("number", "scientific-number", "fraction"):
            places = attribute(element, "decimal-places")
            code += "0" + ("." + "0" * min(int(places), 20) if places.isdecimal() and int(places) else "")
        elif name == "month" and attribute(element, "textual") == "true":
            code += "mmmm" if long else "mmm"
        elif name == "hours" and attribute(style, "truncate-on-overflow") == "false":
            code += "[h]"
        elif name in _DATE_PARTS:
            code += _DATE_PARTS[name][long]
    return code or "General"


def text_of(cell: _Element) -> str:
    """The text that a cell shows: paragraphs on lines of their own, notes and drawings left out."""
    return line_ends("\n".join(_inside(child) for child in cell if local(child) == "p"))


def _inside(element: _Element) -> str:
    parts = [_folded(element.text)]
    for child in element:
        name = local(child)
        if name == "s":
            count = attribute(child, "c")
            parts.append(" " * (min(int(count), MOST_SPACES) if count.isdecimal() else 1))
        elif name in ("tab", "line-break"):
            parts.append("\t" if name == "tab" else "\n")
        elif name and name not in _NO_TEXT:
            parts.append(_inside(child))
        parts.append(_folded(child.tail))
    return "".join(parts)


def _folded(text: str | None) -> str:
    """Line ends and indents of the file itself are no part of a text."""
    return re.sub(r"[\t\r\n]+ *", " ", text) if text else ""


def number_of(text: str) -> int | float | None:
    """A number as the file writes it; None where it is none or not finite.

    >>> number_of("5"), number_of("0.25"), number_of("NaN"), number_of("1_0")
    (5, 0.25, None, None)
    """
    plain = text.strip()
    if re.fullmatch(r"[+-]?\d{1,15}", plain, re.ASCII):
        return int(plain)
    if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", plain, re.ASCII):
        return None
    number = float(plain)
    return number if math.isfinite(number) else None


def date_of(text: str) -> datetime | None:
    """A date as the file writes it, with or without a time of day; None where there is no such day.

    >>> date_of("2026-04-03T14:30:00").isoformat(), date_of("2026-02-30")
    ('2026-04-03T14:30:00', None)
    """
    match = _ISO.fullmatch(text.strip())
    try:
        return datetime.fromisoformat(f"{match[1]}T{match[2] or '00:00:00'}") if match else None
    except ValueError:
        return None


def time_of(text: str) -> time | timedelta | None:
    """A length of time as the file writes it: a time of day, or a `timedelta` from a day on or below none.

    >>> time_of("PT12H30M00S"), time_of("PT42H00M00S").total_seconds() / 3600
    (datetime.time(12, 30), 42.0)
    """
    match = _DURATION.fullmatch(text.strip())
    if not match:
        return None
    sign, *counts, fraction = match.groups()
    days, hours, minutes, seconds = (int((n or "0")[:9]) for n in counts)
    try:
        spent = timedelta(days, seconds, int((fraction or "0").ljust(6, "0")[:6]), 0, minutes, hours)
        if sign or spent >= timedelta(1):
            return -spent if sign else spent
    except OverflowError:
        return None
    return (datetime(1, 1, 1) + spent).time()  # noqa: DTZ001
