"""Which sheets of a workbook are ours.

Each of ours carries a hidden name of its own, `_estimator_sheet`, whose text is what the sheet is for
("Summary"): the user may rename, move or hide the sheet and it is still found. One hidden name of the
workbook, `_estimator_base`, holds how many style records and strings the user had before ours.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass

from estimator.core.names import key as name_key
from estimator.report.package.markup import WORKBOOK_ORDER, Element, each, ensure, make, tag
from estimator.report.package.markup import key as record_key
from estimator.report.package.package import Package, open_package
from estimator.report.package.styles import COLLECTIONS

MARK = "_estimator_sheet"
BASE = "_estimator_base"


@dataclass(frozen=True, slots=True)
class Own:
    """One sheet of ours in the user's workbook: what it is for, its element, its name."""

    purpose: str
    sheet: Element
    name: str


def kept_names(user: bytes) -> Mapping[str, str]:
    """Our sheets in a workbook: what each is for, and the name it has there. Render with these names.

    Of copies ("Summary (2)") only the one that is still ours is named. Empty for a workbook without ours.
    """
    return {own.purpose: own.name for own in own_sheets(open_package(user))}


def own_sheets(package: Package) -> list[Own]:
    """Our sheets in tab order, one for each purpose."""
    sheets = package.sheets
    marked: dict[str, list[Own]] = {}
    for name in names(package):
        at = name.get("localSheetId", "")
        if name.get("name") == MARK and at.isdigit() and int(at) < len(sheets):
            sheet = sheets[int(at)]
            own = Own(_unquoted(name.text or ""), sheet, sheet.get("name", ""))
            marked.setdefault(own.purpose, []).append(own)
    chosen = [_choose(purpose, owns) for purpose, owns in marked.items() if purpose]
    return sorted(chosen, key=lambda own: sheets.index(own.sheet))


def names(package: Package) -> list[Element]:
    """The defined names of the workbook."""
    return list(each(package.workbook.find(tag("definedNames"))))


def add_name(package: Package, name: Element) -> None:
    """Add a defined name after the others."""
    ensure(package.workbook, "definedNames", WORKBOOK_ORDER).append(name)


def mark(package: Package, purpose: str, position: int) -> None:
    """Mark the sheet at a position as ours."""
    name = make("definedName", name=MARK, localSheetId=str(position), hidden="1")
    name.text = '"' + purpose.replace('"', '""') + '"'
    add_name(package, name)


def base_name(styles: Element, strings: list[Element], base: Mapping[str, int]) -> Element:
    """The hidden name that notes how many records are the user's, with a print that tells if they still are."""
    numbers = [base[name] for name in (*COLLECTIONS, "strings")]
    name = make("definedName", name=BASE, hidden="1")
    name.text = '"' + " ".join([*map(str, numbers), _print(styles, strings, base)]) + '"'
    return name


def recall(package: Package, styles: Element, strings: list[Element]) -> dict[str, int] | None:
    """The numbers noted, None where there are none or another program has rewritten the records since."""
    texts = [_unquoted(n.text or "").split() for n in names(package) if n.get("name") == BASE]
    if not texts or len(texts[0]) != len(COLLECTIONS) + 2 or not all(t.isdigit() for t in texts[0][:-1]):
        return None
    base = dict(zip((*COLLECTIONS, "strings"), map(int, texts[0]), strict=False))
    return base if _print(styles, strings, base) == texts[0][-1] else None


def _print(styles: Element, strings: list[Element], base: Mapping[str, int]) -> str:
    digest = hashlib.sha256()
    for name in COLLECTIONS:
        for record in list(each(styles.find(tag(name))))[: base[name]]:
            digest.update(repr(record_key(record)).encode("utf-8", "surrogatepass"))
    for record in strings[: base["strings"]]:
        digest.update(repr(record_key(record)).encode("utf-8", "surrogatepass"))
    return digest.hexdigest()[:16]


def _choose(purpose: str, owns: list[Own]) -> Own:
    """Of copies the one still named for its purpose, else one that is no `Name (2)` of another, else the first."""
    by_name = [own for own in owns if name_key(own.name) == name_key(purpose)]
    present = {own.name for own in owns}
    first_hand = [own for own in owns if re.sub(r" \(\d+\)$", "", own.name) not in present - {own.name}]
    return [*by_name, *first_hand, *owns][0]


def _unquoted(text: str) -> str:
    text = text.strip()
    quoted = len(text) > 1 and text[0] == text[-1] == '"'
    return text[1:-1].replace('""', '"') if quoted else ""
