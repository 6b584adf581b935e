"""What stands in the way of putting our sheets into a workbook, told before anything is rendered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from estimator.core.names import key
from estimator.core.problems import Place, Problem, problem
from estimator.report.package.markup import each, parse, tag
from estimator.report.package.own import own_sheets
from estimator.report.package.package import Package, open_package, related
from estimator.report.package.soundness import damaged
from estimator.sheets.columns import TABLES

MOST_FORMATS = 60_000  # the file format ends at 64,000; ours need room


def trouble(user: bytes, names: Sequence[str], file: str = "") -> list[Problem]:
    """Errors and warnings about writing into this workbook.

    names: what our sheets are for ("Summary"), which is also their name where the user has not renamed
    them; file: the workbook's name. Expects bytes the reader accepted and that are not of the strict variant.
    """
    damage = damaged(user, file)
    if damage is not None:
        return [damage]
    package = open_package(user)
    kept = {own.purpose: own.name for own in own_sheets(package)}
    found = refusals(package, {name: kept.get(name, name) for name in names}, file)
    if any(part.lower().startswith("_xmlsignatures/") for part in package.parts):
        found.append(problem("package-signed", Place(file)))
    lock = package.workbook.find(tag("workbookProtection"))
    if lock is not None and lock.get("lockStructure", "0") in ("1", "true"):
        found.append(problem("package-protected", Place(file)))
    return found


def refusals(package: Package, wanted: Mapping[str, str], file: str = "") -> list[Problem]:
    """The errors alone; wanted: what each sheet of ours is for -> the name it is to have."""
    found = []
    if any("xl/revisions/" in part.lower() for part in package.parts):
        found.append(problem("package-shared", Place(file)))
    formats = _formats(package)
    if formats > MOST_FORMATS:
        found.append(problem("package-formats", Place(file), count=f"{formats:,}"))
    owns = own_sheets(package)
    inputs = {key(table.sheet): table.sheet for table in TABLES}
    for own in owns:  # ours would be written over what somebody has filled in
        if key(own.name) in inputs:
            found.append(problem("sheet-marked", Place(file, own.name), sheet=inputs[key(own.name)]))
    names = {key(name): purpose for purpose, name in wanted.items()}
    for sheet in package.sheets:
        name = sheet.get("name", "")
        purpose = next((own.purpose for own in owns if own.sheet is sheet), None)
        leaving = purpose is not None and purpose not in wanted
        if key(name) in names and purpose != names[key(name)] and not leaving:
            found.append(problem("package-own-sheet", Place(file, name), sheet=name))
    return found


def _formats(package: Package) -> int:
    part = related(package, package.book, "/styles")
    if part is None or part not in package.parts:
        return 0
    return sum(1 for _ in each(parse(package.parts[part]).find(tag("cellXfs"))))
