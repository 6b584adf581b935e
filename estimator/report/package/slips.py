"""Changes by hand on our own sheets in words: what stands there, what was worked out, and what it does to the price."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from estimator.core.money import from_float
from estimator.core.problems import Place as Where
from estimator.core.problems import Problem, problem
from estimator.report.package.formulas import Value, areas, parse
from estimator.report.package.grid import Grid, Place, Stands
from estimator.report.package.own import own_sheets
from estimator.report.package.package import Package
from estimator.report.package.tamper import Change, Comparison, calculator, compare
from estimator.report.package.wrote import found_record, untouched
from estimator.report.words import money_words
from estimator.sheets.areas import reference

MOST_TOLD = 12  # changes told one by one on a sheet
MOST_WORKED = 400_000  # cells worked out to say what follows; a workbook that large names fewer effects
LONG = 70  # letters of a formula or a text that a sentence shows


def slips(package: Package, currency: str, file: str = "", name: str = "") -> list[Problem]:
    """What was changed by hand on our sheets of a workbook since it was written; nothing for one without ours.

    file: of the workbook, where it is not the job itself; name: of it, for what is said of the whole.
    """
    if not own_sheets(package):
        return []
    record = found_record(package)
    if record is None:
        return [problem("own-sheets-unrecorded", Where(file or name))]
    if untouched(package, record):
        return []
    c = compare(package, record)
    problems: list[Problem] = []
    left = max(5, MOST_WORKED // max(len(c.written), 1))
    for purpose in c.found:
        changes = [x for x in c.changes if x.purpose == purpose and x.kind != "stayed"]
        for number, change in enumerate(changes):
            if number == MOST_TOLD:
                rest = changes[number:]
                at = Where(file, c.names[purpose], reference(*change.place))
                problems.append(problem("tampered-more", at, count=len(rest), effect=_effect(c, rest, currency)))
                break
            effect = _effect(c, [change], currency) if left > 0 else "what follows from it was not worked out"
            left -= 1
            problems.append(_said(c, change, effect, file))
        problems += _rest(c, purpose, currency, file)
    stayed = [x for x in c.changes if x.kind == "stayed"]
    if stayed:
        sheets = ", ".join(dict.fromkeys(c.names[x.purpose] for x in stayed))
        place = Where(file, c.names[stayed[0].purpose], reference(*stayed[0].place))
        effect = _effect(c, stayed, currency)
        problems.append(problem("tampered-shifted", place, count=len(stayed), sheets=sheets, effect=effect))
    return problems


def _said(c: Comparison, change: Change, effect: str, file: str) -> Problem:
    place = Where(file, c.names[change.purpose], reference(*change.place))
    found, what = _told(change.found), _label(c.found[change.purpose], change.place)
    if change.kind == "row":
        return problem("tampered-row", place, found=_cut(str(change.found.value)), effect=effect)
    if change.kind == "result":
        gives = _told(Stands("", change.was.value))
        return problem("tampered-result", place, what=what, found=_number(change.found), right=gives, effect=effect)
    if change.kind == "value":
        return problem("tampered-value", place, what=what, found=found, was=_told(change.was), effect=effect)
    right = _works_out(c, change, False)
    words = {"what": what, "found": found, "formula": "=" + _cut(change.was.formula), "right": right, "effect": effect}
    if change.kind == "typed":
        return problem("tampered-total", place, **words)
    missed = _missed(change)
    return problem("tampered-formula", place, **words, gives=_works_out(c, change, True), missed=missed)


def _rest(c: Comparison, purpose: str, currency: str, file: str) -> Iterator[Problem]:
    """Rows that were taken out, and what somebody wrote beside our cells."""
    sheet = c.names[purpose]
    if purpose in c.gone:
        count, row = c.gone[purpose]
        effect = _effect(c, [], currency)
        yield problem("tampered-gone", Where(file, sheet, reference(row, 1)), count=count, effect=effect)
    cells = c.beside[purpose]
    if cells:
        grid = c.found[purpose]
        listed = "; ".join(f"{reference(*at)}: {_cut(_told(grid[at]), 40)}" for at in cells[:6])
        more = f"; and {len(cells) - 6} more" if len(cells) > 6 else ""
        yield problem("typed-beside", Where(file, sheet, reference(*cells[0])), cells=listed + more)


def _effect(c: Comparison, changes: list[Change], currency: str) -> str:
    """What some changes alone do to the price of the job, else to that of an option, in money and per cent; of no
    changes what the rows do that were taken out."""
    state = {**c.written}
    for change in changes:
        state.update(change.puts)
    before, after = calculator(c.written), calculator(state)
    for watched in c.record.watched:
        row = c.rows.get(watched.purpose, {}).get(watched.place[0])
        was: Value = c.record.cells[watched.purpose][watched.place].value if row else None
        if row is None or not isinstance(was, float):
            continue
        at = (watched.purpose, row, watched.place[1])
        try:
            was = before(*at) if changes else was
            now = after(*at)
        except (ValueError, RecursionError):
            return f"what follows for {watched.words} cannot be worked out"
        if not isinstance(now, float) or not isinstance(was, float):
            return f"{watched.words} would show no figure"
        if abs(now - was) >= 0.005:
            share = f", {100 * (now - was) / was:+.1f} %" if was else ""
            more = f"{'+' if now > was else ''}{_money(now - was, currency)}{share}"
            return (
                f"with it {watched.words} would be {_money(now, currency)} instead of {_money(was, currency)} ({more})"
            )
    return "no price changes by it"


def _works_out(c: Comparison, change: Change, changed: bool) -> str:
    """What a cell gives, with the formula as written or as found."""
    look = calculator({**c.written, **(change.puts if changed else {})})
    try:
        return _told(Stands("", look(change.purpose, *change.place)))
    except (ValueError, RecursionError):
        return _number(change.found) if changed else "what is not known"


def _missed(change: Change) -> str:
    """The rows that a changed sum leaves out or takes in, in words behind its figure; blank where that says nothing."""
    try:
        before, after = (_rows_of(s.formula) for s in (change.was, change.found))
    except ValueError:
        return ""
    words = [
        f" and {verb} row{'s' if len(rows) > 1 else ''} {', '.join(map(str, sorted(rows)[:8]))}"
        for verb, rows in (("leaves out", before - after), ("takes in", after - before))
        if rows and before and after
    ]
    return "".join(words)


def _rows_of(formula: str) -> set[int]:
    return {n for _, _, top, _, bottom, _ in areas(parse(formula, "")) if bottom > top for n in range(top, bottom + 1)}


def _label(grid: Grid, place: Place) -> str:
    """The first words of a row, so that a cell is known without looking it up."""
    row = [s.value for (r, c), s in sorted(grid.items()) if r == place[0] and c < place[1] and isinstance(s.value, str)]
    words = " ".join(_cut(w, 40) for w in row[:2] if w)
    return f"({words}) " if words else ""


def _told(stands: Stands) -> str:
    if stands.formula:
        return "=" + _cut(stands.formula)
    return _number(stands)


def _number(stands: Stands) -> str:
    value: Value = stands.value
    if isinstance(value, float):
        return f"{from_float(value):,f}"
    return f"'{_cut(str(value))}'" if value else "nothing"


def _cut(text: str, long: int = LONG) -> str:
    text = " ".join(text.split())
    return text if len(text) <= long else text[: long - 1] + "…"


def _money(amount: float, currency: str) -> str:
    return money_words(from_float(amount).quantize(Decimal("0.01")), currency)
