"""Taped distances of a site turned into coordinates, with what they prove and what they do not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isnan

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.core.units import show_length
from estimator.geometry.tape import Adjusted, Refused, TapedLine, TapedPoint, adjust
from estimator.geometry.tape_model import Fault, Suspect
from estimator.job.model import Fixing, TapeLine
from estimator.takeoff.model import Survey, SurveyLine


def survey(
    fixings: Sequence[Fixing], lines: Sequence[TapeLine], tape_error: float, units: str
) -> tuple[tuple[Fixing, ...], Survey | None, list[Problem]]:
    """The fixings with coordinates from the tape, the survey itself, and what is wrong with it.

    Fixings that have coordinates keep them. Those that the tape cannot place are left out.
    """
    known = {key(f.name): f for f in fixings}
    usable = [line for line in lines if key(line.start) in known and key(line.end) in known]
    ends = {key(n) for line in usable for n in (line.start, line.end)}
    taped = [f for f in fixings if isnan(f.across) or key(f.name) in ends]
    points = [TapedPoint(f.name, f.height, *((None, None) if isnan(f.across) else (f.across, f.out))) for f in taped]
    found = adjust(points, [TapedLine(n.start, n.end, n.length, n.level) for n in usable], tape_error=tape_error)
    placed = tuple(f for f in fixings if not isnan(f.across))
    if isinstance(found, Refused):
        return placed, None, [_fault(f, known, usable, units) for f in found.faults]
    at = {key(p.name): p for p in found.points}
    done = tuple(
        replace(f, across=at[key(f.name)].across, out=at[key(f.name)].out) if isnan(f.across) else f
        for f in fixings
        if not isnan(f.across) or key(f.name) in at
    )
    made = Survey(
        tuple(SurveyLine(n.start, n.end, n.length, n.level, n.residual) for n in found.lines),
        found.mirror,
        found.verdict,
        found.spare,
        found.misclosure,
        found.limit,
    )
    return done, made, _told(found, usable, units)


def _fault(fault: Fault, known: dict[str, Fixing], lines: Sequence[TapeLine], units: str) -> Problem:
    """One reason why the lines give no points, at its cell."""
    if fault.lines:  # the first is the line that is too long; of two that disagree the later one is to be looked at
        place = lines[fault.lines[0 if fault.kind == "too-long" else -1]].source.place("Length")
    else:
        first = known.get(key(fault.names[0])) if fault.names else None
        place = first.source.place("Fixing") if first else Place()
    areas = ""
    if fault.least is not None and fault.greatest is not None:
        areas = f": areas from {fault.least:.1f} to {fault.greatest:.1f} m2 would fit"
    return problem(
        f"tape-{fault.kind}",
        place,
        fixing=fault.names[0] if fault.kind == "loose-point" else None,
        names=" to ".join(fault.names[:2]) if fault.kind == "too-long" else ", ".join(fault.names),
        by=show_length(fault.by, units),
        lines=", ".join(_named(lines[i], units) for i in fault.lines),
        areas=areas,
        tape=" or ".join("-".join(pair) for pair in fault.tape),
    )


def _told(found: Adjusted, lines: Sequence[TapeLine], units: str) -> list[Problem]:
    """What the adjusted lines say of themselves."""
    if not lines:
        return []
    place = lines[0].source.place("Length")
    told = []
    if found.unchecked:
        told.append(problem("tape-unchecked", place))
    if found.slip is not None and found.verdict == "one slipped":
        slip, line = found.slip, lines[found.slip.line]
        told.append(
            problem(
                "tape-one-slipped",
                line.source.place("Length"),
                line=f"{line.start}-{line.end}",
                sure=f"{(slip.sure or 0) * 100:.0f} %",
                taped=show_length(line.length, units),
                closing=_lengths(slip, units),
                misread=f" ({slip.misreading})" if slip.misreading else "",
            )
        )
    elif found.verdict == "one of these slipped":
        words = "; ".join(_closing(s, lines, units) for s in found.suspects)
        told.append(problem("tape-one-of-these", place, lines=words))
    elif found.verdict == "several slipped":
        told.append(problem("tape-several-slipped", place))
    for other in found.other_places:
        at = f"({show_length(other.across, units)}, {show_length(other.out, units)})"
        told.append(problem("tape-other-place", place, names=other.name, places=at))
    if found.mirror:
        told.append(problem("tape-mirror", place, mirror=found.mirror))
    if found.closure is not None:
        by = f"{found.closure.difference * 1000:+.0f} mm"
        first, second = "-".join(found.closure.first), "-".join(found.closure.second)
        told.append(problem("tape-closure", place, first=first, second=second, by=by))
    return told


def _named(line: TapeLine, units: str) -> str:
    return f"{line.start}-{line.end} {show_length(line.length, units)}"


def _lengths(suspect: Suspect, units: str) -> str:
    return " or ".join(show_length(n, units) for n in suspect.lengths) or "no length"


def _closing(suspect: Suspect, lines: Sequence[TapeLine], units: str) -> str:
    line = lines[suspect.line]
    misread = f" ({suspect.misreading})" if suspect.misreading else ""
    return f"{line.start}-{line.end} {_lengths(suspect, units)} instead of {show_length(line.length, units)}{misread}"
