"""Names, views and calculation settings of a workbook that follow its tabs."""

from __future__ import annotations

from estimator.report.package.markup import WORKBOOK_ORDER, Element, each, ensure, tag, whole
from estimator.report.package.package import Package, drop_part, read_rels, target, unrelate


def follow_tabs(package: Package, before: list[Element]) -> None:
    """Make names and views follow the tabs after some came or went: `before` are the tabs as they were counted.

    The names of a tab that is gone go with it; a view of it shows the first tab.
    """
    after = package.sheets
    moved = {i: after.index(sheet) for i, sheet in enumerate(before) if sheet in after}
    holder = package.workbook.find(tag("definedNames"))
    for name in list(each(holder)):
        if name.get("localSheetId") is not None:
            old = whole(name, "localSheetId", -1)
            if old in moved:
                name.set("localSheetId", str(moved[old]))
            elif holder is not None:
                holder.remove(name)
    for view in package.workbook.iter(tag("workbookView")):
        for attribute in ("activeTab", "firstSheet"):
            if view.get(attribute) is not None:
                view.set(attribute, str(moved.get(whole(view, attribute), 0)))


def calculate_on_load(package: Package) -> None:
    """Drop the calculation chain, which names cells that may be gone, and have everything calculated on opening."""
    for rel in each(read_rels(package, package.book)):
        if rel.get("Type", "").endswith("/calcChain"):
            part = target(package, package.book, rel)
            unrelate(package, package.book, [rel.get("Id", "")])
            if part is not None:
                drop_part(package, part)
    ensure(package.workbook, "calcPr", WORKBOOK_ORDER).set("fullCalcOnLoad", "1")


def counts_from_1904(package: Package) -> bool:
    """Whether the workbook numbers its days from 1904."""
    settings = package.workbook.find(tag("workbookPr"))
    return settings is not None and settings.get("date1904", "0") in ("1", "true")
