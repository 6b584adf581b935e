"""What other libraries read of a workbook, and what a value would mean by a grammar written apart from the program's.

Nothing here calls the reader under test; only the declared columns are shared.
"""

from __future__ import annotations

import io
import re
import unicodedata
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from functools import lru_cache, partial
from typing import Any

from estimator.sheets.columns import TABLES, Column, Table

MOST_AREA = 300_000  # cells of a sheet that a library would hold all of
Cells = dict[tuple[int, int], tuple[Any, str]]  # place to value and number format, blank where it is not told


@dataclass(frozen=True)
class Reading:
    """A workbook as one library reads it. by: its name; merged: areas by sheet."""

    by: str
    sheets: Mapping[str, Cells]
    merged: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def readers(data: bytes) -> list[Callable[[], Reading | None]]:
    """The libraries that can be asked about it, the quick one first; each gives None for what it cannot read."""
    return [partial(by_calamine, data), partial(by_openpyxl, data), partial(by_elements, data), partial(by_parts, data)]


def by_openpyxl(data: bytes) -> Reading | None:
    import openpyxl

    if not data.startswith(b"PK"):
        return None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        sheets, merged = {}, {}
        for sheet in book.worksheets:
            cells = sheet._cells  # only those that there are: a far one would make any walk endless
            sheets[sheet.title] = {
                place: (c.value, c.number_format or "") for place, c in cells.items() if c.value not in (None, "")
            }
            merged[sheet.title] = tuple(sorted(str(r) for r in sheet.merged_cells.ranges))
    except Exception:  # of whatever kind: that it cannot read it is what is asked
        return None
    return Reading("openpyxl", sheets, merged) if sheets else None


def by_calamine(data: bytes) -> Reading | None:
    from python_calamine import CalamineWorkbook

    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = {}
        for name in book.sheet_names:
            sheet = book.get_sheet_by_name(name)
            if (sheet.height or 0) * (sheet.width or 0) > MOST_AREA or (sheet.end or (0, 0))[0] > MOST_AREA:
                return None
            sheets[name] = {
                (r, c): (value, "")
                for r, row in enumerate(sheet.to_python(skip_empty_area=False), 1)
                for c, value in enumerate(row, 1)
                if value != ""
            }
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException:  # what it is written in ends by a panic, which is no Exception
        return None
    return Reading("calamine", sheets)


def by_elements(data: bytes) -> Reading | None:
    """An .ods read by the standard library alone, by the type that each cell says it has."""
    from xml.etree import ElementTree

    table, office, text = (f"{{urn:oasis:names:tc:opendocument:xmlns:{n}:1.0}}" for n in ("table", "office", "text"))
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            if not package.read("mimetype").endswith(b"spreadsheet"):
                return None
            root = ElementTree.fromstring(package.read("content.xml"))
        sheets: dict[str, Cells] = {}
        for sheet in root.iter(f"{table}table"):
            cells: Cells = {}
            r = 0
            for row in sheet.iter(f"{table}table-row"):
                down, c = int(row.get(f"{table}number-rows-repeated") or 1), 0
                for cell in (e for e in row if e.tag in (f"{table}table-cell", f"{table}covered-table-cell")):
                    right, kind = int(cell.get(f"{table}number-columns-repeated") or 1), cell.get(f"{office}value-type")
                    words = "\n".join("".join(p.itertext()) for p in cell.findall(f"{text}p"))
                    value: Any = words
                    if kind in ("float", "percentage", "currency"):
                        value = float(cell.get(f"{office}value") or "nan")
                    elif kind == "boolean":
                        value = cell.get(f"{office}boolean-value") == "true"
                    elif kind == "date":
                        value = day_of((cell.get(f"{office}date-value") or "")[:10])
                    shape = "0%" if kind == "percentage" else ""
                    if value not in ("", None) and down * right < 1000:
                        for at in ((y, x) for y in range(r + 1, r + down + 1) for x in range(c + 1, c + right + 1)):
                            cells[at] = (value, shape)
                    c += right
                r += down
            sheets[sheet.get(f"{table}name") or ""] = cells
    except (KeyError, ValueError, OSError, zipfile.BadZipFile, ElementTree.ParseError, EOFError, zlib.error):
        return None
    return Reading("elements", sheets)


def by_parts(data: bytes) -> Reading | None:
    """An .xlsx read by the standard library alone, each sheet for itself: one that is broken hides no other."""
    from xml.etree import ElementTree

    main = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    link = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = {n: package.read(n) for n in package.namelist()}
        relations = ElementTree.fromstring(parts["xl/_rels/workbook.xml.rels"])
        targets = {r.get("Id"): "xl/" + (r.get("Target") or "").removeprefix("/xl/") for r in relations}
        listed = ElementTree.fromstring(parts.get("xl/sharedStrings.xml", b"<sst/>"))
        texts = ["".join(t.text or "" for t in si.iter(f"{main}t")) for si in listed]
        sheets: dict[str, Cells] = {}
        for sheet in ElementTree.fromstring(parts["xl/workbook.xml"]).iter(f"{main}sheet"):
            name = sheet.get("name") or ""
            if table_of(name) is None:
                continue
            cells: Cells = {}
            r = 0
            for row in ElementTree.fromstring(parts[targets[sheet.get(link)]]).iter(f"{main}row"):
                r, c = int(row.get("r") or r + 1), 0
                for cell in row.iter(f"{main}c"):
                    place = re.fullmatch(r"([A-Z]+)\d+", cell.get("r") or "")
                    c = _column(place[1]) if place else c + 1
                    value = _typed_value(cell.get("t") or "n", cell, main, texts)
                    if value not in (None, ""):
                        cells[r, c] = (value, "")
            sheets[name] = cells
    except (KeyError, ValueError, OSError, IndexError, zipfile.BadZipFile, ElementTree.ParseError, EOFError, zlib.error,
            NotImplementedError, RuntimeError):  # fmt: skip
        return None
    return Reading("parts", sheets)


def _column(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _typed_value(kind: str, cell: Any, main: str, texts: list[str]) -> Any:
    value = cell.find(f"{main}v")
    words = "" if value is None else value.text or ""
    if kind == "inlineStr":
        return "".join(t.text or "" for t in cell.iter(f"{main}t"))
    if kind == "s":
        return texts[int(words)] if words.isdecimal() and int(words) < len(texts) else words
    if kind == "n" and re.fullmatch(r"[+-]?[\d.]+(?:[eE][+-]?\d+)?", words, re.ASCII):
        return float(words)
    return words == "1" if kind == "b" and words else words


@lru_cache(4096, typed=True)  # a cell may be repeated a hundred thousand times
def folded(text: object) -> str:
    """A name without what people do not see or mean: case, width, space, unseen letters."""
    if isinstance(text, float) and text.is_integer() and abs(text) < 1e15:
        text = int(text)
    plain = unicodedata.normalize("NFKC", str(text))
    plain = "".join(c for c in plain if unicodedata.category(c) != "Cf")
    plain = "".join(" " if unicodedata.category(c) == "Cc" else c for c in plain)
    return re.sub(r"^(\d+)\.0+$", r"\1", " ".join(plain.split()).casefold())


def heading(text: object) -> str:
    """A heading without brackets and punctuation."""
    plain = re.sub(r"[(\[{].*?[)\]}]", " ", unicodedata.normalize("NFKC", str(text)))
    return folded(re.sub(r"[^\w\s]|_", " ", plain.replace("'", "").replace("’", "")))


def unit_of(text: object) -> str:
    """The first unit in a heading's brackets."""
    found = re.findall(r"[(\[{]\s*([^)\]},;:]*)", unicodedata.normalize("NFKC", str(text)))
    known = {u for units in FACTORS.values() for u in units}
    words = [w for f in found for w in (f.strip(" ."), f.split(" ")[0])]
    return next((w.casefold() for w in words if w.casefold() in known), "")


@dataclass(frozen=True)
class Placed:
    """A cell of an input table. column: what it is declared as, None for a heading or a cell under none that is known;
    heads: whether it is a heading or the name of an item; value_of_item: a value beside
    no item."""

    value: Any
    shape: str
    column: Column | None
    unit: str
    heads: bool = False
    value_of_item: bool = False


def input_cells(reading: Reading) -> dict[str, dict[tuple[int, int], Placed]]:
    """By sheet as it is called, the cells of the input tables, with what they stand under."""
    found: dict[str, dict[tuple[int, int], Placed]] = {}
    for name, cells in reading.sheets.items():
        table = table_of(name)
        if table is not None:
            found[name] = dict(_items(cells, table) if table.items else _rows(cells, table))
    return found


def table_of(sheet: str) -> Table | None:
    """The table that a sheet's name means."""
    plain = folded(sheet.replace("_", " "))
    return next((t for t in TABLES if plain == folded(t.sheet) or re.match(rf"{folded(t.sheet)} ?- ?\S", plain)), None)


def _names(table: Table) -> dict[str, Column]:
    names = {heading(alias): c for c in table.columns for alias in c.also}
    return names | {heading(c.name): c for c in table.columns}


def _rows(cells: Cells, table: Table) -> Iterator[tuple[tuple[int, int], Placed]]:
    names = _names(table)
    required = {heading(c.name) for c in table.columns if c.required}
    rows: dict[int, dict[int, Any]] = {}
    for (r, c), (value, _) in cells.items():
        rows.setdefault(r, {})[c] = value
    best, at = -1, 0
    for r in sorted(n for n in rows if n <= 20):
        known = {heading(v) for v in rows[r].values()} & names.keys()
        if known and required <= known:
            at = r
            break
        if len(known) > max(best, 0):
            best, at = len(known), r
    heads = dict(rows.get(at, {}))
    needed = {c for c, v in heads.items() if heading(v) in required}
    for (r, c), (value, shape) in sorted(cells.items()):
        if r == at:
            yield (r, c), Placed(value, shape, None, "", heads=True)
        elif r > at or (
            needed and needed <= rows[r].keys() and not any(folded(v)[:6] == "needed" for v in rows[r].values())
        ):
            head = heads.get(c, "")
            yield (r, c), Placed(value, shape, names.get(heading(head)), unit_of(head))


def _items(cells: Cells, table: Table) -> Iterator[tuple[tuple[int, int], Placed]]:
    names = _names(table)
    top = [(r, c, heading(v)) for (r, c), (v, _) in sorted(cells.items()) if r <= 20]
    item = next(((r, c) for r, c, words in top if words == "item"), None)
    value_at = next(((r, c) for r, c, words in top if words == "value" and item and r == item[0]), None)
    if item is None or value_at is None:
        return
    for (r, c), (value, shape) in sorted(cells.items()):
        if r == item[0] or (r > item[0] and c == item[1]):
            yield (r, c), Placed(value, shape, None, "", heads=True)
        elif r > item[0] and c == value_at[1]:
            name = cells.get((r, item[1]), ("", ""))[0]
            known = names.get(heading(name))
            yield (r, c), Placed(value, shape, known, unit_of(name), value_of_item=not heading(name))


def setting(placed: Mapping[str, Mapping[tuple[int, int], Placed]], item: str) -> str:
    """An item of the sheet Job, folded."""
    return next(
        (folded(p.value) for s, cells in placed.items() if folded(s) == "job" for p in cells.values()
         if p.column is not None and p.column.name == item),
        "",
    )  # fmt: skip


FOOT, INCH = Fraction(3048, 10000), Fraction(254, 10000)
FACTORS: Mapping[str, Mapping[str, Fraction]] = {
    "length": {
        "m": Fraction(1), "mm": Fraction(1, 1000), "cm": Fraction(1, 100), "km": Fraction(1000), "ft": FOOT, "'": FOOT,
        "feet": FOOT, "foot": FOOT, "in": INCH, '"': INCH, "inches": INCH, "inch": INCH, "ins": INCH,
        "yd": Fraction(9144, 10000), "metre": Fraction(1), "metres": Fraction(1), "meter": Fraction(1),
    },
    "distance": {"km": Fraction(1), "m": Fraction(1, 1000), "mile": Fraction(1609344, 1000000),
                 "mi": Fraction(1609344, 1000000), "miles": Fraction(1609344, 1000000)},
    "angle": {"deg": Fraction(1), "degrees": Fraction(1), "°": Fraction(1), "degree": Fraction(1)},
    "speed": {"m/s": Fraction(1), "km/h": Fraction(10, 36), "kmh": Fraction(10, 36), "mph": Fraction(44704, 100000),
              "kn": Fraction(1852, 3600), "kts": Fraction(1852, 3600)},
    "percent": {"%": Fraction(1, 100), "percent": Fraction(1, 100), "per cent": Fraction(1, 100)},
}  # fmt: skip
USUAL = {"length": "m", "distance": "km", "angle": "deg", "percent": "%"}


def numbers(value: Any, shape: str, kind: str, unit: str, feet: bool, mark: str) -> set[Fraction]:
    """The values that what stands there can mean in the unit of its kind; none where it is no number."""
    if isinstance(value, bool) or value is None:
        return set()
    factors = FACTORS.get(kind, {})
    usual = "ft" if kind == "length" and feet else USUAL.get(kind, "")
    if isinstance(value, int | float):
        if value != value or abs(value) == float("inf"):
            return set()
        number = Fraction(repr(value))
        bare = re.sub(r'"[^"]*"|\\.', "", shape)
        if kind == "percent":
            return {number} if "%" in bare or not unit else {number / 100}
        if "%" in bare:
            return set()
        words = "".join(re.findall(r'"([^"]*)"', shape)).strip().casefold()
        if not unit and words in factors:
            unit = words
        return {number * factors[unit or usual]} if (unit or usual) in factors else {number} if not factors else set()
    if not isinstance(value, str):
        return set()
    text = _straight(value)
    sign = -1 if text.startswith("-") else 1
    text = text.lstrip("+-").strip()
    mixed = re.fullmatch(
        r"(\d+) ?(?:'|ft\.?|feet|foot) ?-? ?(?:(\d+(?:[.,]\d+)?))? ?(?:(\d+)/(\d+))? ?(\"|in\.?|ins|inch|inches)?",
        text,
        re.IGNORECASE,
    )
    if mixed and (mixed[2] or mixed[3]) and kind == "length":
        inches = Fraction((mixed[2] or "0").replace(",", ".")) + (
            Fraction(int(mixed[3]), int(mixed[4])) if mixed[3] and int(mixed[4]) else 0
        )
        return {sign * (int(mixed[1]) * FOOT + inches * INCH)}
    match = re.fullmatch(r"([\d., ]*?\d[\d., ]*?|)(?:(?<=\d) (?=\d+/))?(?:(\d+)/(\d+))? ?([^\d\s.,/][^\d]*\d?)?", text)
    if not match or not (match[1] or match[2]):
        return set()
    typed = (match[4] or "").strip().rstrip(". ").casefold()
    if kind in ("number", "whole", "money") and typed:
        if kind != "money":
            return set()
        typed = ""
    if typed and typed not in factors:
        return set()
    factor = factors.get(typed or unit or usual, Fraction(1) if not factors else None)
    if factor is None:
        return set()
    part = Fraction(int(match[2]), int(match[3])) if match[2] and int(match[3]) else Fraction(0)
    found = {sign * (n + part) * factor for n in _values(match[1].strip() or "0", mark)}
    if kind == "percent" and not typed and not unit:
        found |= {n * 100 for n in found}
    return found


def _straight(text: str) -> str:
    """A text with one kind of digits, dashes, quotes and spaces, vulgar fractions set apart."""
    out = []
    for char in text:
        category = unicodedata.category(char)
        if unicodedata.decomposition(char).startswith("<fraction>"):
            top, bottom = unicodedata.normalize("NFKC", char).split("\u2044")
            out.append((" " if out and out[-1].isdigit() else "") + f"{top}/{bottom}")
        elif category == "Cf" or char == "\u00ad":
            continue
        elif category in ("Pd",) or char == "\u2212":
            out.append("-")
        elif category in ("Zs", "Cc"):
            out.append(" ")
        elif char in "’‘′`´":
            out.append("'")
        elif char in "“”″":
            out.append('"')
        elif "！" <= char <= "～":
            out.append(unicodedata.normalize("NFKC", char))
        else:
            out.append(char)
    return " ".join("".join(out).replace("''", '"').split())


def _values(number: str, mark: str) -> set[Fraction]:
    """What an unsigned number with marks and groups can mean."""
    if not number.isascii():
        return set()
    number = re.sub(r"(?<=\d) (?=\d{3}(?!\d))", "", number)
    found = set()
    point, comma = re.sub(r",(?=\d{3}(?!\d))", "", number), re.sub(r"\.(?=\d{3}(?!\d))", "", number).replace(",", ".")
    for text, by in ((point, "point"), (comma, "comma"), (number, ""), (number.replace(",", "."), "")):
        if re.fullmatch(r"\d+\.?\d*|\.\d+", text) and (not by or not mark or by == mark):
            found.add(Fraction(text))
    if mark and len(found) > 1:
        found = {
            Fraction(t)
            for t, by in ((point, "point"), (comma, "comma"))
            if by == mark and re.fullmatch(r"\d+\.?\d*|\.\d+", t)
        }
    return found


def day_of(value: Any) -> date | None:
    """The day that a value means."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, float) and 61 <= value < 2_958_466:  # a reader that looks at no formats gives the day's number
        return date(1899, 12, 30) + timedelta(days=int(value))
    match = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?", _straight(str(value)), re.ASCII)
    try:
        return date(int(match[1]), int(match[2]), int(match[3])) if match else None
    except ValueError:
        return None


def is_time(value: Any) -> bool:
    """Whether a value is a time or a span of time."""
    return isinstance(value, time | timedelta)
