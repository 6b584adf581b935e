"""The rate book of a day, from a folder of CSV files or a workbook."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import TypeVar

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.rates import build, build_money
from estimator.rates.build_buying import all_buying, supplier
from estimator.rates.build_range import with_ends
from estimator.rates.checks import Rows, check
from estimator.rates.checks_money import money_checks
from estimator.rates.columns import RATE_TABLES, VISITS
from estimator.rates.dated import in_force
from estimator.rates.files import Found, find_tables
from estimator.rates.model import PostSection, RateBook
from estimator.rates.rows import RateRow, read_rows
from estimator.rates.settings import SETTINGS, read_settings
from estimator.rates.where import default_rates

Built = TypeVar("Built")

# Tables without which nothing can be priced.
_NEEDED = (
    "cloths",
    "rigging",
    "corner_sets",
    "posts",
    "supports",
    "ground",
    "access",
    "footing_depths",
    "concrete",
    "items",
    "labour",
    "trades",
)


def load_rates(path: Path | None, day: date) -> tuple[RateBook | None, list[Problem]]:
    """The rate book in force on a day and everything that is wrong with it; no book when an error is among it.

    path: a folder of CSV files or an .xlsx workbook; None: the default rate book.
    """
    path = path or default_rates()
    found, problems = find_tables(path)
    if not found:
        return None, problems
    rows, wrong = _rows(found, day)
    problems += wrong
    problems += [*check(rows), *money_checks(rows)]
    book, wrong = _build(path.name, rows, found)
    problems += wrong
    if book is None or any(p.level == "error" for p in problems):
        return None, problems
    return with_ends(book, rows.now), problems


def _rows(found: dict[str, Found], day: date) -> tuple[Rows, list[Problem]]:
    """Every table's rows, as read and in force."""
    problems: list[Problem] = []
    every: dict[str, list[RateRow]] = {}
    now: dict[str, list[RateRow]] = {}
    later: dict[tuple[str, str], date] = {}
    sound = set()
    for table in RATE_TABLES:
        name = table.sheet
        if name not in found:
            every[name], now[name] = [], []
            continue
        every[name], wrong = read_rows(found[name], table)
        now[name], waiting, twice = in_force(every[name], day)
        later.update({(name, k): since for k, since in waiting.items()})
        if not any(p.level == "error" for p in wrong):
            sound.add(name)
            if name in _NEEDED and not now[name]:
                wrong.append(_none(found[name], name, waiting, day))
        problems += [*wrong, *twice]
    return Rows(every, now, later, frozenset(sound), day), problems


def _none(found: Found, table: str, waiting: dict[str, date], day: date) -> Problem:
    since = f"the first holds from {min(waiting.values()).isoformat()}" if waiting else "the table is empty"
    return problem("rate-none-in-force", Place(found.file, table), table=table, day=day.isoformat(), since=since)


def _build(name: str, rows: Rows, found: dict[str, Found]) -> tuple[RateBook | None, list[Problem]]:
    now = rows.now
    settings, problems = read_settings(now["settings"])
    if "settings" in rows.sound:
        problems += _missing_settings(rows, found["settings"].file)
    problems += _visits(rows)
    business = {r.key: r.text("value") for r in now["business"]}
    if "business" in rows.sound and not business.get("trading name"):
        problems.append(problem("rate-business-name", Place(found["business"].file, "business")))
    posts, wrong = _posts(rows)
    problems += wrong
    consent = [build.consent(r) for r in now["consent"]]
    problems += [p for _, wrong in consent for p in wrong]
    problems += [p for row in now["sails"] for p in build.sides(row)]
    buying, wrong = all_buying(now)
    problems += wrong
    trades, wages, wrong = build_money.trades(rows)
    problems += wrong
    return (
        RateBook(
            name=name,
            day=rows.day,
            settings=settings,
            business=business,
            wording=_all(build.wording, now["wording"]),
            sails=_by_key(build.sail, now["sails"]),
            cloths=_by_key(build.cloth, now["cloths"]),
            rigging=_by_key(build.part, now["rigging"]),
            corner_sets=_by_key(build.corner_set, now["corner_sets"]),
            posts=posts,
            supports=_by_key(build.support, now["supports"]),
            ground=_by_key(build.ground, now["ground"]),
            access=_by_key(build.access, now["access"]),
            footing_depths=tuple(
                sorted(_all(build.footing_depth, now["footing_depths"]), key=lambda d: d.longest_side)
            ),
            concrete=_by_key(build.concrete, now["concrete"]),
            items=_by_key(build.item, now["items"]),
            kits=_all(build.kit, now["kits"]),
            labour=_all(build.task, now["labour"]),
            trades=trades,
            charges=_all(build.charge, now["charges"]),
            taxes=_by_key(build.tax, now["taxes"]),
            consent=tuple(row for row, _ in consent),
            later=rows.later,
            usual_lines=_all(build.usual_line, now["usual_lines"]),
            buying=buying,
            suppliers=_by_key(supplier, now["suppliers"]),
            wages=wages,
            deposit_caps=build_money.caps(now["deposit_caps"]),
            payment_stages=build_money.stages(now["payment_stages"]),
            digging_limits=_by_key(build_money.digging_limit, now["digging_limits"]),
            prices=build_money.prices(rows, trades),
            business_at={r.key: r.place("value") for r in now["business"]},
        ),
        problems,
    )


def _all(make: Callable[[RateRow], Built], rows: Sequence[RateRow]) -> tuple[Built, ...]:
    return tuple(make(row) for row in rows)


def _by_key(make: Callable[[RateRow], Built], rows: Sequence[RateRow]) -> dict[str, Built]:
    return {row.key: make(row) for row in rows}


def _posts(rows: Rows) -> tuple[dict[str, PostSection], list[Problem]]:
    posts, problems = {}, []
    for row in rows.now["posts"]:
        lengths, wrong = build.stock_lengths(row)
        posts[row.key] = build.post(row, lengths)
        problems += wrong
    return posts, problems


def _missing_settings(rows: Rows, file: str) -> list[Problem]:
    place = Place(file, "settings")
    here = {row.key for row in rows.now["settings"]}
    problems = []
    for name, wanted in SETTINGS.items():
        since = rows.later.get(("settings", name))
        if name in here or (wanted.may_lack and not since):
            continue
        if since:
            words = {"since": since.isoformat(), "day": rows.day.isoformat()}
            problems.append(problem("setting-later", place, name=name, **words))
        else:
            unit = "" if wanted.kind in ("number", "text") else f", with a unit of kind {wanted.kind}"
            problems.append(problem("setting-missing", place, name=name, unit=unit))
    return problems


def _visits(rows: Rows) -> list[Problem]:
    row = rows.keys("settings").get("digging visit")
    if row is None or key(row.text("value")) in VISITS:
        return []
    wanted = f"one of {', '.join(VISITS)}"
    return [problem("rate-cell", row.place("value"), column=row.key, found=row.text("value"), wanted=wanted, hint="")]
