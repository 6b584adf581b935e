"""Random jobs by the hundred: nothing of the office's in what the customer or the crew gets.

    python -m tests.nightly.leaks --jobs 500

Every byte of the customer's workbook, PDF and draft of a mail, of each variation and of the crew's workbook is searched
for words planted in every column of the office's, and for every cost, rate, charge, per cent and hour of the job. On
the customer's copy a figure beside a currency, or in a cell, has to be one of the prices that are told.
"""

from __future__ import annotations

import argparse
import re
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from random import Random
from unittest import mock

from estimator.jobfile import Done, price_file
from estimator.pricing.digging import digging_of
from estimator.pricing.model import Bill, PricedJob
from estimator.pricing.payment import payment_of
from estimator.pricing.told import told, told_job, told_whole, variations
from estimator.report.terms import budget_range
from tests.build import DAY
from tests.nightly import canaries
from tests.nightly.canaries import canary_job, canary_rates
from tests.nightly.recalculated import rates_read_once
from tests.nightly.scan import Found, figures_in, scan

OFFICE_WORDS = re.compile(r"\b(?:costs?|prices?|margins?|markup|rates?)\b")
CENT, TENTH, ONE = Decimal("0.01"), Decimal("0.1"), Decimal(1)


@dataclass(frozen=True, slots=True)
class Secrets:
    """Figures of the office. money: amounts; percents: of charges, margins; hours; lines: how each line came about, in
    words; told: every price that is told."""

    money: frozenset[Decimal]
    percents: frozenset[Decimal]
    hours: frozenset[Decimal]
    lines: frozenset[str]
    told: frozenset[Decimal]


@dataclass(frozen=True, slots=True)
class Searched:
    """What was searched: jobs, files, bytes unpacked, figures of the office that were looked for; leaks in words."""

    jobs: int
    files: int
    bytes: int
    secrets: int
    leaks: tuple[str, ...]

    def __add__(self, other: Searched) -> Searched:
        return Searched(
            self.jobs + other.jobs,
            self.files + other.files,
            self.bytes + other.bytes,
            self.secrets + other.secrets,
            (*self.leaks, *other.leaks),
        )


def search_job(seed: int, folder: Path, drawings: bool = False, small: bool = False) -> Searched:
    """Price the job of a seed with words planted all over it, and search what leaves the office.

    folder: where the rate book of the canaries lies. Every sixteenth job or so is screened, every fifth
    is priced again as its second revision.
    """
    rng = Random(f"leaks {seed}")
    screen, revised = rng.random() < 1 / 16, rng.random() < 1 / 5
    done = _price(canary_job(folder, seed, small), drawings, screen)
    if revised:
        canary_job(folder, seed, small, revision=2)
        done = _price(folder / f"job{seed}.xlsx", drawings, screen)
    assert done.outcome is not None
    priced = done.outcome.priced
    assert priced is not None, done.problems
    found = Searched(1, 0, 0, 0, ())
    secrets = secrets_of(priced)
    for path in done.written:
        data = path.read_bytes()
        found += search(f"{seed} {path.name}", path.name, data, secrets, priced)
    for path in folder.glob(f"job{seed}*"):
        path.unlink()
    return found


def _price(path: Path, drawings: bool, screen: bool) -> Done:
    with mock.patch.dict("os.environ", dict.fromkeys(("LOGNAME", "USER", "USERNAME", "LNAME"), canaries.USER)):
        return price_file(path, today=DAY, drawings=drawings, mail=True, screen=screen)


def search(where: str, name: str, data: bytes, secrets: Secrets, priced: PricedJob) -> Searched:
    """Search one file that was written. The priced workbook, which is the office's, has to hold the words instead."""
    found = scan(name, data)
    if "-priced" in name:
        leaks = list(_missing(found, priced))
    elif "-crew" in name:
        leaks = [*_words(found, canaries.OFFICE), *_crew(found, secrets)]
        leaks += [] if canaries.FOR_CREW in found.words({canaries.FOR_CREW}) else ["the words for the crew are missing"]
    else:
        leaks = [*_words(found, {*canaries.OFFICE, canaries.FOR_CREW}), *_customer(found, secrets, priced)]
        right = canaries.WHY if "-variation-" in name else canaries.FOR_CUSTOMER
        leaks += [] if found.words({right}) else [f"{right} is missing"]
    figures = len(secrets.money) + len(secrets.percents) + len(secrets.hours)
    size = sum(len(content) for _, content in found.raw)
    return Searched(0, 1, size, figures, tuple(f"{where}: {words}" for words in leaks))


def _missing(found: Found, priced: PricedJob) -> Iterator[str]:
    planted = {w for w in canaries.OF_JOB if "ACTUAL" not in w or priced.job.actuals}
    wanted = {*planted, *canaries.OF_RATES} - canaries.UNPRINTED
    if not priced.order or not any(row.supplier_code for row in priced.order.rows):
        wanted -= {"CANARYSUPPLIER", "CANARYSUPPLIERCODE"}
    for word in sorted(wanted - found.words(wanted)):
        yield f"{word} never reached the office"


def _words(found: Found, wanted: set[str]) -> Iterator[str]:
    for word in sorted(found.words(wanted)):
        parts = [name for name, data in found.raw if word.lower().encode() in data.lower()]
        yield f"the word {word} in {', '.join(parts) or 'the text'}"


def _customer(found: Found, secrets: Secrets, priced: PricedJob) -> Iterator[str]:
    """Nothing but prices that are told stands beside a currency or in a cell; no other figure of the office, in full or
    rounded; no code, working, formula or anything hidden."""
    known = _in_wording(priced)
    for words, meant in [*((str(c), {abs(c)}) for c in found.cells), *found.money().items()]:
        if not meant & (secrets.told | known):
            yield f"{words} is no price that is told"
    for figure in sorted(found.figures() & rounded(secrets.money) - secrets.told - known):
        yield f"{figure}, an amount of the office"
    for figure in sorted(found.percents() & secrets.percents - known):
        yield f"{figure} %, a rate or margin of the office"
    for figure in sorted(found.hours() & secrets.hours - known):
        yield f"{figure} h, hours of the office"
    fractions = {(p / 100).quantize(Decimal("0.0001")) for p in secrets.percents}
    for cell in found.cells:
        if cell % 1 and abs(cell) < 1 and cell.quantize(Decimal("0.0001")) in fractions:
            yield f"the cell {cell}, a rate or margin of the office"
    text = found.text().casefold()
    codes = {line.code.casefold() for o in priced.options if o.bill for line in o.bill.lines}
    for code in sorted(c for c in codes if "-" in c and c[-1].isdigit()):
        if re.search(rf"(?<![\w-]){re.escape(code)}(?![\w-])", text):
            yield f"the code {code}"
    yield from _both(found, secrets)


def _crew(found: Found, secrets: Secrets) -> Iterator[str]:
    """No money in any form. A sheet full of sizes: only an amount to the cent cannot be one by chance."""
    sharp = {f for f in secrets.money if f > 50 and f * 10 % 1}
    for figure in sorted(found.figures() & sharp):
        yield f"{figure}, an amount of the office"
    for words in found.money():
        yield f"{words} beside a currency"
    for word in sorted(set(OFFICE_WORDS.findall(found.text().casefold()))):
        yield f"the word {word}"
    yield from _both(found, secrets)


def _both(found: Found, secrets: Secrets) -> Iterator[str]:
    text = " ".join(found.text().split())
    for line in secrets.lines:
        if line in text:
            yield f"how a line came about: {line}"
    if found.formulas:
        yield f"{found.formulas} formulas"
    sharp = {f for f in secrets.money if f > 50 and f * 20 % 1}  # no height of a row
    for figure in sorted({f for words in found.markup for f in _plain(words)} & sharp):
        yield f"{figure}, an amount of the office, in markup"
    for name, data in found.raw:
        if name.endswith((".xml", ".rels")):
            for word in (b"definedName", b"externalLink", b'state="hidden"', b"hidden=", b"/comments", b"customXml"):
                if word in data:
                    yield f"{word.decode()} in {name}"


def _plain(words: str) -> Iterator[Decimal]:
    if "." in words and words.replace(".", "", 1).isdigit() and not words.startswith("."):
        yield Decimal(words)


def rounded(figures: frozenset[Decimal]) -> set[Decimal]:
    """Amounts in full, to the cent, and where they are large enough to be no size by chance, to a tenth and to a whole
    one; halves both ways."""
    found = set()
    for f in figures:
        if f >= 20 and f % 1:
            found |= {f, f.quantize(CENT, ROUND_HALF_UP)}
        if f >= 200:
            found |= {f.quantize(TENTH, ROUND_HALF_UP), f.quantize(TENTH)}
        if f >= 1000:
            found |= {f.quantize(ONE, ROUND_HALF_UP), f.quantize(ONE)}
    return {f for f in found if f % 1 or f >= 1000}


def _in_wording(priced: PricedJob) -> set[Decimal]:
    """Figures of the texts that the customer reads anyway."""
    book = priced.book
    texts = [*(w.text for w in book.wording), *map(str, book.business.values())]
    return {f for text in texts for f in figures_in(text)}


def secrets_of(priced: PricedJob) -> Secrets:
    """Everything that a priced job knows and nobody else may; what is also a price that is told is no secret."""
    bills = [o.bill for o in priced.options if o.bill] + ([priced.job_bill] if priced.job_bill else [])
    money = {f for b in bills for f in _of_bill(b)} | {priced.totals.cost, *_of_order(priced)}
    money |= {t.cost_per_hour for t in priced.book.trades.values()}
    money |= {e.cost_each for e in priced.job.extras if e.cost_each is not None}
    percents = {c.rate * 100 for b in bills for c in b.charges if c.rate is not None}
    for b in bills:
        percents |= {m * 100 for m in (b.totals.margin, b.totals.markup) if m is not None}
    percents = {abs(p).quantize(CENT) for p in percents if p}
    hours = [h.hours for o in priced.options for h in o.taken.hours]
    hours += [sum(h.hours for h in o.taken.hours) for o in priced.options]
    work = {Decimal(f"{h:.{n}f}") for h in hours for n in (0, 1, 2) if h}
    lines = {" ".join(line.working.split()) for b in bills for line in b.lines if len(line.working) > 25}
    open_ = told_of(priced)
    return Secrets(
        frozenset(abs(f) for f in money if f) - open_,
        frozenset(p for p in percents if p % 1),
        frozenset(w for w in work if w % 1 or w >= 10),
        frozenset(lines),
        frozenset(open_),
    )


def _of_bill(bill: Bill) -> Iterator[Decimal]:
    yield bill.totals.cost
    for line in bill.lines:
        yield from (line.cost, line.rate)
    for charge in bill.charges:
        yield from (charge.amount, charge.base)
    yield from bill.line_prices


def _of_order(priced: PricedJob) -> Iterator[Decimal]:
    if priced.order:
        yield from (priced.order.goods, priced.order.delivery, priced.order.billed)
        for row in priced.order.rows:
            yield from (row.cost, row.billed, row.price)
        for site in priced.order.concrete:
            for way in site.ways:
                yield from (way.goods, way.labour, way.total)
    if priced.ranged:
        for spread in (priced.ranged.cost, priced.ranged.before_tax, priced.ranged.price):
            yield from (spread.low10, spread.middle50, spread.high90, spread.mean, spread.sd)


def told_of(priced: PricedJob) -> frozenset[Decimal]:
    """Every price that the customer is told."""
    totals = [told(o) for o in priced.options if o.bill]
    whole = told_whole(priced)
    every = [*totals, *([whole] if whole else []), told_job(priced)]
    found = {v for t in every for v in (t.price, t.price_before_tax, t.tax)}
    for price in [p for t in every for p in (t.price, t.price_before_tax)]:
        found |= set(budget_range(priced.book, price))
    found |= {price for o in priced.options for _, price in o.apart} | {price for _, price in priced.job_apart}
    found |= {part.amount for part in payment_of(priced).parts if part.amount is not None}
    for variation in variations(priced):
        found |= {variation.price, *(line.price for line in variation.lines)}
    for option in priced.options:
        digging = digging_of(priced.book, priced.job.header, option)
        if digging and digging.hour:
            found |= {digging.hour.price, digging.hour.price_before_tax}
    return frozenset(found)


def search_jobs(seeds: Sequence[int], folder: Path, drawings: bool = False, every: int = 5) -> Searched:
    """Search the papers of the jobs of some seeds. every: so manieth is a full one, the others are small."""
    home = folder / canaries.FOLDER
    home.mkdir(exist_ok=True)
    rates = home / canaries.RATES
    if not rates.exists():
        canary_rates(home)
    found = Searched(0, 0, 0, 0, ())
    with rates_read_once():
        for seed in seeds:
            found += search_job(seed, home, drawings, small=seed % every != 0)
    return found


def main(arguments: Sequence[str] | None = None) -> int:
    """Search and print what was found."""
    asked = argparse.ArgumentParser(prog="python -m tests.nightly.leaks")
    asked.add_argument("--jobs", type=int, default=500)
    asked.add_argument("--first", type=int, default=0, help="the first seed")
    asked.add_argument("--drawings", action="store_true", help="with the plans, which take most of the time")
    given = asked.parse_args(arguments)
    began = time.perf_counter()
    found = Searched(0, 0, 0, 0, ())
    with tempfile.TemporaryDirectory() as folder:
        seeds = range(given.first, given.first + given.jobs)
        for start in range(0, len(seeds), 20):
            found += search_jobs(seeds[start : start + 20], Path(folder), given.drawings)
            print(f"{found.jobs} of {given.jobs} jobs, {len(found.leaks)} leaks", flush=True)
    for name, figure in (
        ("jobs", found.jobs),
        ("files", found.files),
        ("bytes, unpacked", found.bytes),
        ("figures looked for in a file, summed", found.secrets),
        ("leaks", len(found.leaks)),
    ):
        print(f"{name:38}{figure:>14,}")
    print(f"{'seconds a job':38}{(time.perf_counter() - began) / max(found.jobs, 1):>14.2f}")
    print(*found.leaks[:200], sep="\n")
    return 1 if found.leaks else 0


if __name__ == "__main__":
    sys.exit(main())
