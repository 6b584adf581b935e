"""What the chosen options need, pooled: lines of one row of the rate book in one colour are bought as one thing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from estimator.core.money import from_float
from estimator.core.names import key
from estimator.pricing.model import Bill, PricedOption
from estimator.rates.model import RateBook
from estimator.takeoff.model import Line, Pour

MATERIAL = "material"
WHOLE_JOB = "whole job"


@dataclass(frozen=True, slots=True)
class Use:
    """A line of a chosen option or of the whole job. at: its block and line of the bill; site blank: the whole job."""

    line: Line
    at: tuple[int, int]
    site: str

    @property
    def needed(self) -> Decimal:
        """Before whole packs."""
        return self.line.quantity if self.line.needed is None else self.line.needed


@dataclass(frozen=True, slots=True)
class Pool:
    """Uses of one thing. row: of the rate book, None where it was typed."""

    uses: tuple[Use, ...]
    row: Any

    @property
    def line(self) -> Line:
        """The first line: what they have in common is read from it."""
        return self.uses[0].line

    @property
    def needed(self) -> Decimal:
        """Of all uses together, before whole packs."""
        return sum((u.needed for u in self.uses), Decimal(0))

    @property
    def billed(self) -> Decimal:
        """What the bills have for it."""
        return sum((u.line.cost for u in self.uses), Decimal(0))

    @property
    def description(self) -> str:
        """Of the row, else as it was typed."""
        return getattr(self.row, "description", "") or self.line.description

    @property
    def at(self) -> tuple[tuple[int, int], ...]:
        """Lines of the bill."""
        return tuple(u.at for u in self.uses)

    @property
    def sites(self) -> tuple[tuple[str, Decimal], ...]:
        """What each site needs; of what is cut, the metres of its pieces."""
        found: dict[str, Decimal] = {}
        for u in self.uses:
            cut = sum((from_float(length) for _, length in u.line.pieces), Decimal(0))
            found[u.site or WHOLE_JOB] = found.get(u.site or WHOLE_JOB, Decimal(0)) + (cut or u.needed)
        return tuple(found.items())


@dataclass(frozen=True, slots=True)
class Poured:
    """The concrete of a chosen option, and the line of the bill that prices it."""

    use: Use
    pour: Pour


def uses(options: Sequence[PricedOption], job_bill: Bill | None) -> tuple[list[Use], list[Poured]]:
    """Every material of the chosen options and of the whole job, and apart from it the concrete that was computed.

    Lines beside the total (offered apart, variations) are not ordered, nor is a line that gives money back.
    """
    found: list[Use] = []
    poured: list[Poured] = []
    for block, option in enumerate(options):
        if not option.chosen or option.bill is None:
            continue
        pour = option.taken.pour
        for number, line in enumerate(option.bill.lines):
            if not _material(line):
                continue
            use = Use(line, (block, number), option.site.name)
            if pour and line.table == "concrete" and key(line.code) == key(pour.code):
                poured.append(Poured(use, pour))
                pour = None  # further lines of that code were typed
            else:
                found.append(use)
    for number, line in enumerate(job_bill.lines if job_bill else ()):
        if _material(line):
            found.append(Use(line, (len(options), number), ""))
    return found, poured


def pools(book: RateBook, found: Sequence[Use]) -> list[Pool]:
    """Uses by row of the rate book and colour, in the order met; typed things by their words, unit and cost too."""
    groups: dict[tuple[str, ...], list[Use]] = {}
    for use in found:
        line = use.line
        at: tuple[str, ...] = (line.table, key(line.code), key(line.colour))
        if line.table == "posts":
            at = (*at, str(bool(line.pieces)))  # metres that were typed say no lengths to cut
        if not line.table:
            at = (*at, key(line.description), key(line.unit), str(line.rate.normalize()))
        groups.setdefault(at, []).append(use)
    return [Pool(tuple(group), row_of(book, group[0].line)) for group in groups.values()]


def row_of(book: RateBook, line: Line) -> Any:
    """The row of the rate book that a line was priced by; None where there is none."""
    rows = getattr(book, line.table, None) if line.table else None
    return rows.get(key(line.code)) if isinstance(rows, Mapping) else None


def _material(line: Line) -> bool:
    return line.kind == MATERIAL and line.quantity > 0 and line.rate >= 0
