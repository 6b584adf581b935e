"""The record of what we wrote on our own sheets, kept in hidden names of the workbook, so that the next run sees what
was changed there by hand. Figures and formulas are noted as they are, of texts only where they stand."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from estimator.report.package.grid import Grid, Place, Stands, grids
from estimator.report.package.markup import Element, make
from estimator.report.package.own import add_name, names, own_sheets
from estimator.report.package.package import Package, related, sheet_part
from estimator.sheets.areas import column_letters, column_number

RECORD = "_estimator_wrote"
A_TEXT = 240  # a text inside a formula holds at most 255 characters
A_NAME = 14 * A_TEXT  # and a name some 8,000
MOST = 60 * A_NAME
TOO_MANY = 200_000  # cells of which no record was ever short enough: a cell takes a letter at the least
LARGE = 20_000_000  # bytes of a sheet that is taken as it is
UNTOLD = ("Set-out", "To check", "Basis")  # nothing on these is worked out into a price
FIRST = ("Summary", "Bill")  # what a record that would grow too long still holds
SEEN = Stands("", "")  # a text whose words are not noted
_ROW = re.compile(r"(?<![\w$])([A-Z]{1,3})([0-9]+)(?![\w(!])")
_BACK = re.compile(r"(?<![\w$])([A-Z]{1,3})\[(-?[0-9]+)\]")


@dataclass(frozen=True, slots=True)
class Watched:
    """A price on our sheets: of what, and where it stands."""

    words: str
    purpose: str
    place: Place


@dataclass(frozen=True, slots=True)
class Record:
    """What was written. names: what each sheet was called; cells: by what a sheet is for; watched: the price of the
    job, then that of each option; sheets: a print of ours; origin: of the user's, as they came from the job."""

    names: Mapping[str, str]
    cells: Mapping[str, Grid]
    watched: Sequence[Watched]
    sheets: str
    origin: str


def record_of(written: Mapping[str, Grid], names: Mapping[str, str], sheets: str, origin: str) -> Record:
    """The record of our sheets, by what they are for. names: what each is called."""
    literal = {word.casefold() for grid in written.values() for word in _criteria(grid)}
    cells = {
        purpose: {
            at: SEEN if isinstance(s.value, str) and not s.formula and s.value.casefold() not in literal else s
            for at, s in grid.items()
        }
        for purpose, grid in written.items()
    }
    return Record({p: p for p in written} | dict(names), cells, _watched(written.get("Summary", {})), sheets, origin)


def _criteria(grid: Grid) -> Iterable[str]:
    for stands in grid.values():
        yield from re.findall(r'"([^"]+)"', stands.formula)


def _watched(summary: Grid) -> list[Watched]:
    """The prices on the first sheet, found by their headings."""
    found: list[Watched] = []
    price = 0
    for (row, column), stands in sorted(summary.items()):
        beside = summary.get((row, column + 1))
        if stands.value == "Price" and column == 1 and beside is not None and beside.formula and not found:
            found.append(Watched("the price of the job", "Summary", (row, 2)))
        elif stands.value == "Price" and column > 1:
            price = column
        elif column == price and stands.formula:
            first = [s.value for c in (1, 2) if (s := summary.get((row, c))) and isinstance(s.value, str)]
            words = f"the price of {first[0]}, option {first[1]}" if len(first) > 1 else "the lines of the whole job"
            found.append(Watched(words, "Summary", (row, column)))
    return found


def packed(record: Record) -> list[str]:
    """The record as texts for hidden names; without the lesser sheets, or empty, where it would grow too long."""
    for only in (tuple(record.cells), tuple(p for p in record.cells if p.startswith(FIRST))):
        data = {
            "names": dict(record.names),
            "watched": [[w.words, w.purpose, *w.place] for w in record.watched],
            "sheets": record.sheets,
            "origin": record.origin,
            "cells": {purpose: _lines(record.cells[purpose]) for purpose in only},
        }
        text = base64.b64encode(zlib.compress(json.dumps(data, separators=(",", ":")).encode(), 6)).decode()
        if len(text) <= MOST:
            return [text[n : n + A_NAME] for n in range(0, len(text), A_NAME)]
    return []


def unpacked(texts: Iterable[str]) -> Record | None:
    """The record of such texts; None where there are none or they are damaged."""
    text = "".join(texts)
    try:
        data = json.loads(zlib.decompress(base64.b64decode(text, validate=True))) if text else None
        if data is None:
            return None
        cells = {str(purpose): _grid(lines) for purpose, lines in data["cells"].items()}
        watched = [Watched(str(w), str(p), (int(r), int(c))) for w, p, r, c in data["watched"]]
        names = {str(k): str(v) for k, v in data["names"].items()}
        return Record(names, cells, watched, str(data["sheets"]), str(data["origin"]))
    except (binascii.Error, zlib.error, ValueError, KeyError, TypeError, AttributeError):
        return None


def _lines(grid: Grid) -> list[list[object]]:
    """A row of cells each: its number, then cell after cell; formulas name rows by how far off they are."""
    rows: dict[int, list[object]] = {}
    for (row, column), s in sorted(grid.items()):
        line = rows.setdefault(row, [row])
        line.append(column_letters(column))
        if s.formula:
            line += ["=" + _far(s.formula, row), s.value]
        elif s is not SEEN:
            line.append(s.value)
        else:
            line.append(None)
    return list(rows.values())


def _grid(lines: Sequence[Sequence[object]]) -> Grid:
    cells: dict[Place, Stands] = {}
    for row, *line in lines:
        number, at = int(str(row)), 0
        while at < len(line):
            place, said = (number, column_number(str(line[at]))), line[at + 1]
            at += 2
            if isinstance(said, str) and said.startswith("="):
                cells[place] = Stands(_near(said[1:], number), _plain(line[at]))
                at += 1
            else:
                cells[place] = SEEN if said is None else Stands("", _plain(said))
    return cells


def _far(formula: str, row: int) -> str:
    """Rows by how far off they are, so that a formula that is filled down is the same text in each row.

    >>> _far("ROUND(D7*F7,2)", 7), _near("SUM(G[-3]:G[-1])", 9)
    ('ROUND(D[0]*F[0],2)', 'SUM(G6:G8)')
    """
    return _ROW.sub(lambda m: f"{m[1]}[{int(m[2]) - row}]", formula)


def _near(formula: str, row: int) -> str:
    return _BACK.sub(lambda m: f"{m[1]}{int(m[2]) + row}", formula)


def _plain(value: object) -> float | str | None:
    return float(value) if isinstance(value, int | float) else None if value is None else str(value)


def add_record(package: Package, texts: Sequence[str]) -> None:
    """Put the texts into hidden names of the workbook, each a list of texts short enough for a formula."""
    for number, text in enumerate(texts, start=1):
        name = make("definedName", name=f"{RECORD}_{number}", hidden="1")
        pieces = [text[n : n + A_TEXT] for n in range(0, len(text), A_TEXT)]
        name.text = "{" + ",".join(f'"{piece}"' for piece in pieces) + "}"
        add_name(package, name)


def is_record(name: Element) -> bool:
    """Whether a defined name holds a piece of the record."""
    return re.fullmatch(rf"{RECORD}_[0-9]+", name.get("name", "")) is not None


def found_record(package: Package) -> Record | None:
    """The record a workbook carries; None for none, or one that another program has damaged."""
    pieces = {int(n.get("name", "").rpartition("_")[2]): n.text or "" for n in names(package) if is_record(n)}
    return unpacked("".join(re.findall(r'"([^"]*)"', pieces[number])) for number in sorted(pieces))


def untouched(package: Package, record: Record) -> bool:
    """Whether our sheets still are, byte for byte, what was written."""
    return record.sheets == print_of(package)


def print_of(package: Package) -> str:
    """A print of our own sheets and the texts they use."""
    digest = hashlib.sha256()
    strings = related(package, package.book, "/sharedStrings") or ""
    for part in [*(sheet_part(package, own.sheet) for own in own_sheets(package)), strings]:
        digest.update(hashlib.sha256(package.parts.get(part, b"")).digest())
    return digest.hexdigest()[:24]


def inputs_print(package: Package) -> str:
    """A print of what stands in the sheets that are not ours: another program that only saves them changes nothing."""
    ours = {own.name for own in own_sheets(package)}
    digest = hashlib.sha256()
    for sheet in package.sheets:
        name = sheet.get("name", "")
        if name in ours:
            continue
        data = package.parts.get(sheet_part(package, sheet), b"")
        digest.update(repr(name).encode())
        if len(data) > LARGE:
            digest.update(data)
            continue
        for at, stands in sorted(grids(package, {name: name})[name].items()):
            digest.update(repr((at, stands.formula == "", stands.value)).encode("utf-8", "surrogatepass"))
    return digest.hexdigest()[:24]


def write_record(package: Package, before: Record | None) -> None:
    """Note what stands on our sheets; all else about the package is as it is to be.

    before: the record it carried, from which it is known how the user's sheets came out of the job.
    """
    owns = {own.purpose: own for own in own_sheets(package) if own.purpose not in UNTOLD}
    names = {purpose: own.name for purpose, own in owns.items()}
    many = {p: package.parts[sheet_part(package, own.sheet)].count(b"<v>") for p, own in owns.items()}
    if sum(many.values()) > TOO_MANY:
        owns = {p: own for p, own in owns.items() if p.startswith(FIRST)}
    if sum(many[p] for p in owns) > TOO_MANY:
        return
    written = grids(package, {own.name: purpose for purpose, own in owns.items()})
    record = record_of(written, names, print_of(package), before.origin if before else inputs_print(package))
    add_record(package, packed(record))
