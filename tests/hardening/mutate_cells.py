"""A workbook with something else typed into it: cells, rows, columns, headings, sheets. From its bytes and a seed."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from random import Random
from typing import Any
from xml.sax.saxutils import escape

from estimator.sheets.areas import column_letters, reference
from tests.hardening.mutate_typed import Calculated, Formatted, Typed, Wrong, as_typed, letter_slip, text_as_typed
from tests.hardening.mutate_zip import Mutant, packed, unpacked
from tests.workbooks.biff import xls
from tests.workbooks.odf import ods

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
Grid = dict[tuple[int, int], Any]  # row and column from 1 to a cell, in whatever form the kind of file has it


@dataclass(frozen=True)
class Tables:
    """A workbook taken apart: sheets to cells (of any form) and to their values, and how a value becomes a cell."""

    grids: dict[str, Grid]
    values: dict[str, dict[tuple[int, int], Typed]]
    make: Callable[[Typed], Any]
    back: Callable[[dict[str, Grid]], bytes]


def mutate_cells(data: bytes, seed: int, kind: str = "xlsx", only: frozenset[str] | None = None) -> Mutant:
    """The workbook with one to three things done to its cells. only: the sheets that are changed, None for all."""
    rng = Random(seed)
    tables = {"xlsx": _xlsx, "ods": _ods, "xls": _xls}[kind](data)
    done, touched = [], []
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        words, where = _change(rng, tables, only)
        done.append(words)
        touched += where
    return Mutant(tables.back(tables.grids), "; ".join(done), tuple(touched), done[0].split(":")[0])


def put_in(data: bytes, sheet: str, place: tuple[int, int], value: Typed) -> bytes:
    """The .xlsx with one value at a place of a sheet; None for an empty cell."""
    tables = _xlsx(data)
    _put(tables, sheet, place, value)
    return tables.back(tables.grids)


def _change(rng: Random, tables: Tables, only: frozenset[str] | None) -> tuple[str, list[str]]:
    names = [n for n, g in tables.grids.items() if g and (only is None or n in only)]
    weights = [len(tables.grids[n]) ** 0.7 for n in names]
    name = rng.choices(names, weights)[0]
    grid, values = tables.grids[name], tables.values[name]
    roll = rng.random()
    if roll < 0.68:
        place = rng.choice(sorted(grid))
        old = values.get(place)
        if rng.random() < 0.12:  # another column's place, where nothing stood
            place = (place[0], rng.choice(sorted({c for _, c in grid})))
            old = values.get(place)
        new = as_typed(rng, old, _unit(values, place))
        if rng.random() < 0.08:
            new = values.get(rng.choice(sorted(grid)))
        _put(tables, name, place, new)
        return f"cell: {name}!{reference(*place)} {old!r:.60} -> {new!r:.60}", [f"{name}!{reference(*place)}"]
    if roll < 0.76:
        top = min((r for r, _ in grid), default=1)
        heads = sorted(p for p in grid if p[0] <= top + 2 and isinstance(values.get(p), str))
        place = rng.choice(heads or sorted(grid))
        old = str(values.get(place))
        new = rng.choice(
            (
                text_as_typed(rng, old), letter_slip(rng, old), re.sub(r"\(.*\)", "", old), f"{old} (mm)", None,
                re.sub(r"\(.*\)", rng.choice(("(mm)", "(cm)", "(ft)", "[in]", "(m)", "(km)", "(kg)")), old),
                values.get(rng.choice(heads or [place])),
            )
        )  # fmt: skip
        _put(tables, name, place, new)
        return f"heading: {name}!{reference(*place)} {old!r} -> {new!r:.60}", [f"{name}!{reference(*place)}"]
    return _moved(rng, tables, name)


def _moved(rng: Random, tables: Tables, name: str) -> tuple[str, list[str]]:
    grid, values = tables.grids[name], tables.values[name]
    rows, columns = sorted({r for r, _ in grid}), sorted({c for _, c in grid})
    r, s, c, d = rng.choice(rows), rng.choice(rows), rng.choice(columns), rng.choice(columns)
    letter = column_letters(c)
    kinds: dict[str, Callable[[int, int], tuple[int, int] | None]] = {
        f"row {r} deleted": lambda y, x: None if y == r else (y - (y > r), x),
        f"row {r} emptied": lambda y, x: None if y == r else (y, x),
        f"row put in at {r}": lambda y, x: (y + (y >= r), x),
        f"rows {r} and {s} swapped": lambda y, x: ({r: s, s: r}.get(y, y), x),
        f"column {letter} deleted": lambda y, x: None if x == c else (y, x - (x > c)),
        f"column put in at {letter}": lambda y, x: (y, x + (x >= c)),
        f"columns {letter} and {column_letters(d)} swapped": lambda y, x: (y, {c: d, d: c}.get(x, x)),
        f"column {letter} one down from row {r}": lambda y, x: (y + (x == c and y >= r), x),
        f"row {r} one to the right from {letter}": lambda y, x: (y, x + (y == r and x >= c)),
        f"cut off below row {r}": lambda y, x: (y, x) if y <= r else None,
        f"cut off right of {letter}": lambda y, x: (y, x) if x <= c else None,
        f"moved down by {s}": lambda y, x: (y + s, x),
        f"cells of {letter} sorted away from their rows": lambda y, x: (rows[-1] + rows[0] - y if x == c else y, x),
    }
    copies: dict[str, Callable[[], list[tuple[tuple[int, int], tuple[int, int]]]]] = {
        f"row {r} again at the end": lambda: [((r, x), (rows[-1] + 1, x)) for x in columns],
        f"row {r} pasted over {s}": lambda: [((r, x), (s, x)) for x in columns],
        f"row {r} again after a gap": lambda: [((r, x), (rows[-1] + 4, x)) for x in columns],
        f"column {letter} pasted over {column_letters(d)}": lambda: [((y, c), (y, d)) for y in rows],
        f"{reference(r, c)} filled down": lambda: [((r, c), (y, c)) for y in rows if y > r],
        f"cells {reference(r, c)} and {reference(s, d)} swapped": lambda: [((r, c), (s, d)), ((s, d), (r, c))],
        "all pasted again below": lambda: [((y, x), (rows[-1] + 1 + y, x)) for y in rows for x in columns],
    }
    if rng.random() < 0.6:
        words = rng.choice(sorted(kinds))
        move = kinds[words]
        for old in (grid, values):
            moved = {new: cell for place, cell in old.items() if (new := move(*place)) is not None}
            old.clear()
            old.update(moved)
    else:
        words = rng.choice(sorted(copies))
        pairs = copies[words]()
        taken = [(new, grid.get(place), values.get(place)) for place, new in pairs]
        for new, cell, value in taken:
            grid.pop(new, None)
            values.pop(new, None)
            if cell is not None:
                grid[new], values[new] = cell, value
    return f"rows and columns: {name} {words}", [name]


def _put(tables: Tables, name: str, place: tuple[int, int], value: Typed) -> None:
    if value is None:
        tables.grids[name].pop(place, None)
        tables.values[name].pop(place, None)
    else:
        tables.grids[name][place] = tables.make(value)
        tables.values[name][place] = value


def _unit(values: dict[tuple[int, int], Typed], place: tuple[int, int]) -> str:
    above = [v for (r, c), v in sorted(values.items()) if c == place[1] and r < place[0] and isinstance(v, str)]
    found = re.search(r"\((\w+)\)", above[0]) if above else None
    return found[1] if found else "m"


# -- .xlsx: cells are markup; styles get the formats that are needed


def _xlsx(data: bytes) -> Tables:
    from lxml import etree

    parts = unpacked(data)
    strings = [
        "".join(t.text or "" for t in si.iter(f"{MAIN}t"))
        for si in etree.fromstring(parts.get("xl/sharedStrings.xml", b"<sst/>"))
    ]
    listed = _sheet_parts(parts)
    roots = {name: etree.fromstring(parts[part]) for name, part in listed.items() if part in parts}
    grids: dict[str, Grid] = {}
    values: dict[str, dict[tuple[int, int], Typed]] = {}
    for name, root in roots.items():
        grids[name], values[name] = {}, {}
        for row in root.iter(f"{MAIN}row"):
            for cell in row.iter(f"{MAIN}c"):
                match = re.fullmatch(r"([A-Z]+)(\d+)", cell.get("r") or "")
                if match and len(cell):
                    column = 0
                    for letter in match[1]:
                        column = column * 26 + ord(letter) - 64
                    place = (int(match[2]), column)
                    values[name][place] = _value(cell, strings)
                    del cell.attrib["r"]
                    grids[name][place] = etree.tostring(cell, with_tail=False).decode()
    formats: list[str] = []

    def make(value: Typed) -> str:
        return _markup(value, formats, parts["xl/styles.xml"])

    def back(changed: dict[str, Grid]) -> bytes:
        for name, grid in changed.items():
            parts[listed[name]] = _with_cells(parts[listed[name]], grid)
        parts["xl/styles.xml"] = _with_formats(parts["xl/styles.xml"], formats)
        return packed(parts)

    return Tables(grids, values, make, back)


def _sheet_parts(parts: dict[str, bytes]) -> dict[str, str]:
    """Sheets of the user's own to their parts."""
    from lxml import etree

    ids = {r.get("Id"): r.get("Target") for r in etree.fromstring(parts["xl/_rels/workbook.xml.rels"])}
    book = etree.fromstring(parts["xl/workbook.xml"])
    sheets = list(book.iter(f"{MAIN}sheet"))
    own = {d.get("localSheetId") for d in book.iter(f"{MAIN}definedName") if d.get("name") == "_estimator_sheet"}
    found = {}
    for number, sheet in enumerate(sheets):
        relation = next(v for k, v in sheet.attrib.items() if k.endswith("}id"))
        if str(number) not in own:
            found[sheet.get("name")] = "xl/" + ids[relation].removeprefix("/xl/")
    return found


def _value(cell: Any, strings: list[str]) -> Typed:
    kind, inner = cell.get("t") or "n", cell.find(f"{MAIN}v")
    text = (inner.text or "") if inner is not None else "".join(t.text or "" for t in cell.iter(f"{MAIN}t"))
    if kind == "s":
        return strings[int(text)] if text.isdecimal() and int(text) < len(strings) else text
    if kind == "b":
        return text == "1"
    if kind != "n":
        return text
    try:
        return float(text)
    except ValueError:
        return text


def _markup(value: Typed, formats: list[str], styles: bytes) -> str:
    """A cell without its reference, which it gets when it is put in its place."""
    if isinstance(value, Calculated):
        result = value.result
        formula = f"<f>{escape(value.formula)}</f>"
        if result is None:
            return f"<c>{formula}</c>"
        if isinstance(result, bool):
            return f'<c t="b">{formula}<v>{int(result)}</v></c>'
        if isinstance(result, str):
            return f'<c t="str">{formula}<v>{escape(NO_XML.sub("", result))}</v></c>'
        return f"<c>{formula}<v>{result!r}</v></c>"
    if isinstance(value, Wrong):
        return f'<c t="e"><v>{value.words}</v></c>'
    if isinstance(value, bool):
        return f'<c t="b"><v>{int(value)}</v></c>'
    if isinstance(value, int | float):
        return f"<c><v>{value!r}</v></c>"
    if isinstance(value, Formatted | datetime | date | time):
        code, number = (value.code, value.number) if isinstance(value, Formatted) else _serial(value)
        if code not in formats:
            formats.append(code)
        first = int(re.search(rb'<cellXfs count="(\d+)"', styles)[1])  # type: ignore[index]
        return f'<c s="{first + formats.index(code)}"><v>{number!r}</v></c>'
    text = escape(NO_XML.sub("", str(value)))
    return f'<c t="inlineStr"><is><t xml:space="preserve">{text}</t></is></c>'


def _serial(value: datetime | date | time) -> tuple[str, float]:
    if isinstance(value, time):
        return "h:mm", (value.hour * 60 + value.minute) / 1440
    if not isinstance(value, datetime):
        value = datetime(value.year, value.month, value.day)  # noqa: DTZ001
    days = (value - datetime(1899, 12, 30)).total_seconds() / 86400  # noqa: DTZ001
    return "yyyy-mm-dd", days if days >= 61 else days - 1


def _with_formats(styles: bytes, formats: list[str]) -> bytes:
    if not formats:
        return styles
    text = styles.decode()
    listed = "".join(
        f'<numFmt numFmtId="{300 + n}" formatCode="{escape(code, {chr(34): "&quot;"})}"/>'
        for n, code in enumerate(formats)
    )
    if "<numFmts" in text:
        text = re.sub(r'<numFmts count="\d+">', lambda m: m[0] + listed, text)
    else:
        text = text.replace("<fonts", f'<numFmts count="{len(formats)}">{listed}</numFmts><fonts', 1)
    cells = "".join(
        f'<xf numFmtId="{300 + n}" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/>'
        for n in range(len(formats))
    )
    count = int(re.search(r'<cellXfs count="(\d+)"', text)[1])  # type: ignore[index]
    text = text.replace(f'<cellXfs count="{count}"', f'<cellXfs count="{count + len(formats)}"')
    return text.replace("</cellXfs>", f"{cells}</cellXfs>").encode()


def _with_cells(sheet: bytes, grid: Grid) -> bytes:
    """The part with these cells; attributes of the rows are kept where they stand."""
    text = sheet.decode()
    looks = {int(m[1]): m[0] for m in re.finditer(r'<row r="(\d+)"[^>]*?(?=/?>)', text)}
    rows: dict[int, list[str]] = {}
    for (r, c), cell in sorted(grid.items()):
        rows.setdefault(r, []).append(f'<c r="{reference(r, c)}"{cell[2:]}')
    listed = "".join(
        re.sub(r' spans="[^"]*"', "", looks.get(r, f'<row r="{r}"')) + ">" + "".join(cells) + "</row>"
        for r, cells in rows.items()
    )
    return re.sub(
        r"<sheetData\s*/>|<sheetData>.*</sheetData>",
        lambda _: f"<sheetData>{listed}</sheetData>",
        text,
        flags=re.DOTALL,
    ).encode()


# -- .ods and .xls: read by another library, written anew


def _others(data: bytes, write: Callable[[dict[str, list[list[Any]]]], bytes]) -> Tables:
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    grids: dict[str, Grid] = {
        name: {
            (r, c): value
            for r, row in enumerate(book.get_sheet_by_name(name).to_python(skip_empty_area=False), 1)
            for c, value in enumerate(row, 1)
            if value != ""
        }
        for name in book.sheet_names
    }

    def back(changed: dict[str, Grid]) -> bytes:
        made = {}
        for name, grid in changed.items():
            down = min(max((r for r, _ in grid), default=1), 400)
            across = min(max((c for _, c in grid), default=1), 200)
            made[name] = [[grid.get((r, c)) for c in range(1, across + 1)] for r in range(1, down + 1)]
        return write(made)

    return Tables(grids, {n: dict(g) for n, g in grids.items()}, _bare, back)


def _bare(value: Typed) -> Any:
    if isinstance(value, Calculated):
        value = value.result
    if isinstance(value, Wrong):
        return value.words
    if isinstance(value, Formatted):
        return value.number
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return NO_XML.sub("", value)[:30_000] if isinstance(value, str) else value


def _ods(data: bytes) -> Tables:
    return _others(data, lambda sheets: packed(unpacked(ods(sheets))))


def _xls(data: bytes) -> Tables:
    return _others(data, lambda sheets: xls(_small(sheets)))


def _small(sheets: dict[str, list[list[Any]]]) -> dict[str, list[list[Any]]]:
    """Texts as long as one record holds, whole numbers as numbers."""
    return {n: [[v[:2000] if isinstance(v, str) else v for v in row] for row in rows] for n, rows in sheets.items()}
