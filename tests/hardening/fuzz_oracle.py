"""Whether a mutant was handled: refused in a sentence, priced the same, or every changed figure rests on a cell that
`To check` names or `Basis` shows as another reader reads it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from estimator.core.problems import Problem
from estimator.pipeline import Outcome
from estimator.pricing.model import PricedJob
from estimator.report.json_out import job_data
from estimator.sheets.areas import area, reference
from tests.hardening.fuzz_reading import Placed, Reading, day_of, folded, heading, input_cells, numbers, setting

WHOLE_SHEET = ("heading-missing", "sheet-empty", "sheet-missing", "sheet-twice", "sheet-looks-like", "sheet-marked")
Figures = Mapping[tuple[str, str], Any]


def figures(priced: PricedJob) -> Figures:
    """All money and quantities, by site and option; blank names: of the whole job."""
    data = job_data(priced)
    found: dict[tuple[str, str], Any] = {
        ("", ""): [data["totals"], data["job_lines"], data.get("job_charges"), data.get("job_taxes")]
    }
    for site in data["sites"]:
        for option in site["options"]:
            lines = [
                {k: v for k, v in line.items() if k not in ("working", "description")}
                for line in option.get("lines", ())
            ]
            kept = [
                option["chosen"],
                option["status"],
                lines,
                option.get("charges"),
                option.get("taxes"),
                option.get("totals"),
            ]
            found[folded(site["site"]), folded(option["option"])] = kept
    return found


def differing(before: Figures, now: Figures) -> list[str]:
    """The options whose figures are not the same."""
    return [
        f"{site or 'the whole job'} {option}".strip()
        for site, option in sorted({*before, *now})
        if before.get((site, option)) != now.get((site, option))
    ]


@dataclass(frozen=True)
class Told:
    """What the program says of cells. named: cells with a problem of any level, as Sheet!A1; columns: sheet and letters
    of columns that are told to be twice or under no heading; rows: rows that a problem of a sheet lists; sheets: sheets
    that a problem is about, "" for the file; words: all sentences."""

    named: frozenset[str]
    columns: frozenset[tuple[str, str]]
    rows: frozenset[tuple[str, int]]
    sheets: frozenset[str]
    words: str


def told(problems: Iterable[Problem], file: str) -> Told:
    named, rows, sheets, columns, words = set(), set(), set(), set(), []
    for p in problems:
        if p.place.file not in ("", file) and not p.place.file.endswith(file):
            continue
        words.append(p.message)
        sheet = folded(p.place.sheet)
        if p.code in WHOLE_SHEET:
            sheets.add(sheet)
        if p.code == "headings-unknown":
            row = p.place.cell.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
            # the row of the headings: what is not listed there is known, and what is above is no part of the table
            rows |= {(sheet, n) for n in range(1, int(row) + 1)}
            named |= {f"{sheet}!{letters}{row}" for letters in re.findall(r"' \(([A-Z]{1,3})[;)]", p.message)}
        if p.code == "under-no-heading" and re.search(r", and \d+ more", p.message):
            sheets.add(sheet)  # too many to be listed
        elif p.code == "under-no-heading":
            columns |= {(sheet, letters) for letters in re.findall(r"\b([A-Z]{1,3})\d+\b", p.message.split(": ", 1)[1])}
        if p.code == "heading-twice":
            letters = re.search(r"columns (.*) both", p.message)
            columns |= {(sheet, each) for each in re.findall(r"[A-Z]+", letters[1] if letters else "")}
        if p.place.cell:
            named.add(f"{sheet}!{p.place.cell}")
        elif p.level != "note" and not p.place.sheet:
            sheets.add("")
        if p.code == "item-unknown":
            rows |= {(sheet, int(n)) for n in re.findall(r"\(row (\d+)", p.message)}
        listed = re.search(r": ((?:\d+(?:-\d+)?)(?:, \d+(?:-\d+)?)*)[.;]", p.message) if "ows" in p.message else None
        for run in listed[1].split(", ") if listed else ():
            first, _, last = run.partition("-")
            rows |= {(sheet, n) for n in range(int(first), int(last or first) + 1)}
        for cell in re.findall(r"\b([A-Z]{1,3}\d+)(?::([A-Z]{1,3}\d+))?\b", p.message):
            box = area(":".join(x for x in cell if x))
            if box and (box[2] - box[0] + 1) * (box[3] - box[1] + 1) < 500:
                named |= {
                    f"{sheet}!{reference(r, c)}" for r in range(box[0], box[2] + 1) for c in range(box[1], box[3] + 1)
                }
    return Told(frozenset(named), frozenset(columns), frozenset(rows), frozenset(sheets), "\n".join(words))


@dataclass(frozen=True)
class BaseSeen:
    """What there is to know of a base: its figures, problems, and what others read in it."""

    figures: Figures
    problems: frozenset[tuple[str, str]]
    cells: Mapping[str, Mapping[str, Mapping[tuple[int, int], Placed]]]  # by reader, by sheet
    merged: Mapping[str, tuple[str, ...]]
    shown: Mapping[str, object]  # what the program took each cell for


def silent(outcome: Outcome, base: BaseSeen, readers: Iterable[Callable[[], Reading | None]], file: str) -> list[str]:
    """What is wrong with a mutant whose figures differ, in words; nothing for one that is told or shown.

    readers: each reads the mutant by another library; once one agrees with everything, the next is not asked.
    """
    priced = outcome.priced
    assert priced is not None
    new = [p for p in outcome.problems if (p.code, p.message) not in base.problems]
    all_told, new_told = told(outcome.problems, file), told(new, file)
    faults: list[list[str]] = []
    any_change = False
    for read in readers:
        reading = read()
        if reading is None:
            continue
        placed = input_cells(reading)
        changed = _changed(base.cells.get(reading.by, {}), placed)
        changed_merges = reading.by == "openpyxl" and dict(reading.merged) != dict(base.merged)
        any_change = any_change or bool(changed) or changed_merges
        faults.append([*_unshown(priced, placed, all_told), *_unread(changed, placed, all_told)])
        if any_change and not faults[-1]:
            return []
    if not faults:
        loud = [p for p in new if p.level != "note" and p.place.file in ("", file)]
        return [] if loud else ["figures differ, no other reader reads the file, and nothing new is said"]
    bad = {f"{folded(r.sheet)}!{c}" for r in priced.job.understood for c, _, _, usable in r.cells if c and not usable}
    now = shown(priced)
    read_anew = {at for at in {*now, *base.shown} if now.get(at) != base.shown.get(at)}
    errors = told([p for p in new if p.level == "error"], file).named  # at a cell that is read otherwise than before
    if not any_change and not (bad & new_told.named or new_told.sheets or errors & read_anew):
        return ["figures differ, and no other reader sees a changed cell of an input table", *min(faults, key=len)]
    return min(faults, key=len)


def shown(priced: PricedJob) -> dict[str, object]:
    """Each cell with what the program took it for."""
    rows = priced.job.understood
    return {f"{folded(row.sheet)}!{cell}": (name, value) for row in rows for cell, name, value, _ in row.cells if cell}


def _changed(
    before: Mapping[str, Mapping[tuple[int, int], Placed]], now: Mapping[str, Mapping[tuple[int, int], Placed]]
) -> dict[str, set[tuple[int, int]]]:
    """Cells of input tables that are not what they were, by folded sheet."""
    one = {folded(s): cells for s, cells in before.items()}
    two = {folded(s): cells for s, cells in now.items()}
    found = {}
    for sheet in {*one, *two}:
        old, new = one.get(sheet, {}), two.get(sheet, {})
        places = {
            p
            for p in {*old, *new}
            if p not in old or p not in new or (old[p].value, old[p].shape) != (new[p].value, new[p].shape)
            or type(old[p].value) is not type(new[p].value)
        }  # fmt: skip
        if places:
            found[sheet] = places
    return found


def _unread(
    changed: Mapping[str, set[tuple[int, int]]], placed: Mapping[str, Mapping[tuple[int, int], Placed]], said: Told
) -> list[str]:  # fmt: skip
    """Changed headings that mean nothing now, and changed cells under no known heading, of which nothing is said."""
    faults = []
    for sheet, cells in placed.items():
        name = folded(sheet)
        heads = {c for (r, c), p in cells.items() if p.heads}
        for place in changed.get(name, ()):
            p = cells.get(place)
            at = f"{name}!{reference(*place)}"
            if p is None or accounted(said, name, place):
                continue
            words = folded(p.value)
            quoted = bool(words) and (words[:30] in folded(said.words) or f"row {place[0]}" in said.words)
            if (
                p.heads
                and not quoted
                and heading(p.value)
                and not _means(sheet, p.value)
                and not folded(p.value).isdecimal()
            ):
                faults.append(f"{at}: the heading {p.value!r} is not known and nothing says so")
            elif not p.heads and p.column is None and (p.value_of_item or place[1] not in heads) and folded(p.value):
                faults.append(f"{at}: {p.value!r} stands under no heading and nothing says so")
    return faults


def accounted(said: Told, sheet: str, place: tuple[int, int]) -> bool:
    """Whether a problem is about a cell: by its name, its row, its column or its sheet."""
    cell = reference(*place)
    return (
        f"{sheet}!{cell}" in said.named
        or (sheet, place[0]) in said.rows
        or (sheet, cell.rstrip("0123456789")) in said.columns
        or sheet in said.sheets
    )


def _means(sheet: str, value: Any) -> bool:
    from tests.hardening.fuzz_reading import table_of

    table = table_of(sheet)
    if table is None:
        return False
    known = {heading(n) for c in table.columns for n in (c.name, *c.also)} | (
        {"item", "value"} if table.items else set()
    )
    return heading(value) in known


def _unshown(priced: PricedJob, placed: Mapping[str, Mapping[tuple[int, int], Placed]], said: Told) -> list[str]:
    """Cells of which the program shows something else than this reader reads, and says nothing."""
    faults = []
    shown: dict[str, tuple[str, Any, bool]] = {}  # by cell its column, what it was taken for, whether it is of use
    for row in priced.job.understood:
        for cell, column, value, usable in row.cells:
            if cell:
                shown[f"{folded(row.sheet)}!{cell}"] = (column, value, usable)
    # where the sheet Job is told to be unusable, its units are not known
    feet = "job" not in said.sheets and setting(placed, "Units") == "feet and inches"
    mark = setting(placed, "Decimal mark")
    seen = set()
    for sheet, cells in placed.items():
        name = folded(sheet)
        if name in said.sheets:
            continue
        for place, p in cells.items():
            at = f"{name}!{reference(*place)}"
            seen.add(at)
            if p.column is None or accounted(said, name, place) or not folded(p.value):
                continue
            if at not in shown:
                faults.append(f"{at}: {p.value!r} is read as {p.column.name} by another reader, and is shown nowhere")
                continue
            column, value, usable = shown[at]
            if not usable:
                continue
            if column != p.column.name:
                faults.append(f"{at}: taken for {column}, another reader takes it for {p.column.name}")
            elif not _agrees(value, p, feet, mark):
                faults.append(f"{at}: {p.value!r} of {column} is taken for {value!r}")
    for at, (_, value, _) in shown.items():
        empty = value in (None, False, (), "")
        box = area(at.split("!")[1])
        assert box is not None
        if at not in seen and not empty and not accounted(said, at.split("!")[0], box[:2]):
            faults.append(f"{at}: taken for {value!r}, where another reader sees nothing")
    return faults


def _agrees(value: Any, p: Placed, feet: bool, mark: str) -> bool:
    """Whether what the program takes a cell for is what stands there."""
    assert p.column is not None
    kind = p.column.kind
    if kind in ("text", "name", "size"):
        bare = re.sub(r"[\x00-\x1f\x7f]", "", str(_text(p.value)))  # a letter that nobody sees may be left out
        return folded(_text(value)) in (folded(_text(p.value)), folded(bare)) or _text_day(value, p.value)
    if kind in ("names", "choices"):
        wanted = re.split(r"[\s,;\u200b\ufeff]+", str(_text(p.value)))
        listed = [folded(w) for w in (value if isinstance(value, tuple) else (value,)) if w is not None]
        return "".join(folded(w) for w in wanted) == "".join("".join(x.split()) for x in listed)
    if kind == "choice":
        return folded(str(value).replace("_", " ")) == folded(str(_text(p.value)).replace("_", " "))
    if kind == "yes":
        words = folded(_text(p.value))
        return value is (words in ("yes", "y", "x", "true", "1", "✓", "✔", "☑")) and (
            bool(value) or words in ("no", "n", "false", "0", "☐")
        )
    if kind == "date":
        return isinstance(value, date) and value == day_of(p.value)
    if not isinstance(value, int | float | Decimal):
        return False
    means = numbers(p.value, p.shape, kind, p.unit, feet, mark)
    number = Fraction(str(value)) if isinstance(value, Decimal) else Fraction(repr(float(value)))
    slack = Fraction(11, 10_000_000) if kind == "length" else abs(number) / 10**12
    return any(abs(number - m) <= slack for m in means)


def _text(value: Any) -> Any:
    """A number as a person would type it, a day as its ISO form."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float | int):
        plain = format(Decimal(f"{value:.15g}"), "f")
        return plain.rstrip("0").rstrip(".") if "." in plain else plain
    return "" if value is None else value


def _text_day(value: Any, read: Any) -> bool:
    """Whether a text repeats a day or a time."""
    return not isinstance(read, str | int | float) and bool(str(value)) and str(value)[:10] == str(read)[:10]
