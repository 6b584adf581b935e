"""Changes of markup that mean something to a workbook: places and kinds of cells, texts, sheets, formats, links."""

from __future__ import annotations

import copy
import re
from random import Random
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lxml.etree import _Element

ODD_NUMBERS = (
    "2.6E0", "26e-1", "2.6000000000000001", "+2.6", " 2.6 ", "2,6", "NaN", "INF", "-INF", "1e999", "1e-999", "0x1A",
    "2.6.1", "", " ", "-0", "00002.6", "2.6d", "1_0", "٢٫٦", "２.６", "1e5", "9" * 400, "2.6\n", "2.6<", "true", "#N/A",
)  # fmt: skip


def elements(root: _Element) -> list[_Element]:
    return [e for e in root.iter() if isinstance(e.tag, str)]


def name_of(element: _Element) -> str:
    return str(element.tag).rpartition("}")[2]


def off_by_one(rng: Random, text: str) -> str:
    """A number or a place in it one more, one less, or with another digit."""
    found = list(re.finditer(r"\d+", text))
    if not found:
        return text[::-1] or "x"
    match = rng.choice(found)
    return text[: match.start()] + str(abs(int(match[0]) + rng.choice((1, -1, 10)))) + text[match.end() :]


def special(rng: Random, part: str, root: _Element) -> str:
    """Changes that mean something to a workbook; blank where the part has nothing for it."""
    cells = [e for e in elements(root) if name_of(e) == "c"]
    if cells:
        return _cell(rng, root, cells)
    strings = [e for e in elements(root) if name_of(e) == "si"]
    if strings:
        return _strings(rng, root, strings)
    if part.endswith("workbook.xml"):
        return _book(rng, root)
    if part.endswith(".rels"):
        links = [e for e in elements(root) if e.get("Target")]
        one, two = rng.choice(links), rng.choice(links)
        target, other = one.get("Target") or "", two.get("Target") or ""
        one.set("Target", other if rng.random() < 0.5 else rng.choice((target.upper(), "/xl/" + target, "x.xml")))
        if rng.random() < 0.5:
            two.set("Target", target)
        return f"{one.get('Id')} points at {one.get('Target')}"
    if part.endswith("styles.xml"):
        looks = [e for e in elements(root) if name_of(e) in ("xf", "numFmt")]
        one = rng.choice(looks)
        codes = ("0%", "d/m/yyyy", '0" mm"', "General", "[h]:mm", "@", '"', "0" * 300)
        if name_of(one) == "numFmt":
            one.set("formatCode", rng.choice(codes))
        else:
            one.set(
                "numFmtId", rng.choice(("0", "9", "10", "14", "20", "22", "46", "49", "164", "165", "166", "999", "-1"))
            )
        return f"a format of numbers is {dict(one.attrib)}"[:90]
    if part.endswith("content.xml"):
        return _open_document(rng, root)
    return ""


def _cell(rng: Random, root: _Element, cells: list[_Element]) -> str:
    from lxml import etree

    space = str(root.tag).rpartition("}")[0] + "}"
    one, other = rng.choice(cells), rng.choice(cells)
    at = one.get("r")
    roll = rng.randrange(17)
    value = next((e for e in one if name_of(e) == "v"), None)
    if roll == 0:
        one.set(
            "r", rng.choice((other.get("r") or "", off_by_one(rng, at or "A1"), "A0", "1A", "$B$3", "b3", "XFE1", ""))
        )
        return f"cell {at} says it is {one.get('r')}"
    if roll == 1:
        one.attrib.pop("r", None)
        return f"cell {at} does not say its place"
    if roll == 2:
        for each in cells:
            each.attrib.pop("r", None)
        for row in (e for e in elements(root) if name_of(e) == "row"):
            if rng.random() < 0.7:
                row.attrib.pop("r", None)
        return "no cell says its place"
    if roll == 3:
        one.set("t", rng.choice(("s", "n", "b", "str", "inlineStr", "e", "d", "x", "N", "")))
        return f"cell {at} is of type {one.get('t')}"
    if roll == 4:
        one.set("s", rng.choice(("0", "1", "2", "3", "9", "-1", "99999", "x")))
        return f"cell {at} has format {one.get('s')}"
    if roll == 5 and value is not None:
        value.text = rng.choice((*ODD_NUMBERS, off_by_one(rng, value.text or "1"), str(rng.randrange(60))))
        return f"cell {at} holds {value.text!r:.40}"
    if roll == 6:
        formula = etree.Element(f"{space}f")
        formula.text = rng.choice(
            ("A1", "SUM(A1:B9)", "Options!B2", "Summary!B4", "'[x.xlsx]S'!A1", "NOW()", "1/0", "(")
        )
        ways: tuple[dict[str, str], ...] = (
            {},
            {"t": "shared", "si": "0"},
            {"t": "array", "ref": f"{at}:{other.get('r')}"},
            {"t": "dataTable", "ref": "A1:B2"},
            {"t": "shared", "ref": "A1:Z9", "si": "0"},
        )
        for name, word in rng.choice(ways).items():
            formula.set(name, word)
        one.insert(0, formula)
        return f"cell {at} holds a formula with an old value"
    if roll == 7:
        listed = etree.SubElement(root, f"{space}mergeCells")
        area = f"{at}:{rng.choice((other.get('r') or at, at))}" if rng.random() < 0.7 else f"{other.get('r')}:{at}"
        etree.SubElement(listed, f"{space}mergeCell").set("ref", area)
        return f"{area} merged"
    if roll == 8:
        row = one.getparent()
        if row is not None:
            row.set(rng.choice(("hidden", "collapsed", "ht", "r")), rng.choice(("1", "0", "true", "5")))
            return f"row of {at} is {dict(row.attrib)}"
    if roll == 9:
        for e in elements(root):
            if name_of(e) == "dimension":
                e.set("ref", rng.choice(("A1", "A1:XFD1048576", "B2:C3", "", "Z9:A1")))
        return "another extent is said"
    if roll == 10:
        rows = [e for e in elements(root) if name_of(e) == "row"]
        data = rows[0].getparent()
        rng.shuffle(rows)
        for row in rows:
            if data is not None:
                data.append(row)
        return "rows in another order"
    if roll == 11:
        a, b = one.get("r"), other.get("r")
        for each, place in ((one, b), (other, a)):
            if place:
                each.set("r", place)
        return f"cells {a} and {b} say each other's place"
    if roll == 12 and one.getparent() is not None:
        again = copy.deepcopy(one)
        for e in again:
            if name_of(e) == "v":
                e.text = rng.choice((e.text, "3", "0"))
        one.getparent().append(again)  # type: ignore[union-attr]
        return f"cell {at} stands twice"
    if roll == 13 and value is not None:
        if rng.random() < 0.5:
            one.remove(value)
        else:
            one.append(copy.deepcopy(value))
            one[-1].text = "1"
        return f"cell {at} has {len([e for e in one if name_of(e) == 'v'])} values"
    if roll == 14:
        for child in list(one):
            one.remove(child)
        one.set("t", "inlineStr")
        inner = etree.SubElement(one, f"{space}is")
        for words in rng.choice((("2.6",), ("2", ".", "6"), ("Ya", "rd"), ("A",), ("_x0041_",), ("", ""))):
            run = etree.SubElement(inner, f"{space}r") if rng.random() < 0.5 else inner
            etree.SubElement(run, f"{space}t").text = words
        return f"cell {at} holds a text of its own"
    if roll == 15:
        columns = etree.Element(f"{space}cols")
        for name, word in {"min": "1", "max": rng.choice(("1", "5", "16384", "x")), "hidden": "1"}.items():
            column = columns[0] if len(columns) else etree.SubElement(columns, f"{space}col")
            column.set(name, word)
        root.insert(0, columns)
        return "columns hidden"
    found = etree.SubElement(root, f"{space}autoFilter")
    found.set("ref", f"A1:{at}")
    return f"a filter to {at}"


def _strings(rng: Random, root: _Element, strings: list[_Element]) -> str:
    from lxml import etree

    space = str(root.tag).rpartition("}")[0] + "}"
    one = rng.choice(strings)
    words = "".join(str(t) for t in one.itertext())
    roll = rng.randrange(6)
    if roll == 0:
        root.remove(one)
        return f"{words!r} left out of the list of texts"
    if roll == 1:
        root.insert(rng.randrange(len(root)), copy.deepcopy(one))
        return f"{words!r} twice in the list of texts"
    if roll == 2:
        rng.shuffle(strings)
        for each in strings:
            root.append(each)
        return "texts in another order"
    for child in list(one):
        one.remove(child)
    if roll == 3:
        half = len(words) // 2
        for piece in (words[:half], words[half:]):
            etree.SubElement(etree.SubElement(one, f"{space}r"), f"{space}t").text = piece
        etree.SubElement(etree.SubElement(one, f"{space}rPh"), f"{space}t").text = "reading aid"
        return f"{words!r} in two runs"
    etree.SubElement(one, f"{space}t").text = new = rng.choice(
        (f" {words} ", words.upper(), "", f"{words}_x000D_", "9")
    )
    return f"{words!r} -> {new!r}"


def _book(rng: Random, root: _Element) -> str:
    from lxml import etree

    space = str(root.tag).rpartition("}")[0] + "}"
    sheets = [e for e in elements(root) if name_of(e) == "sheet"]
    one, other = rng.choice(sheets), rng.choice(sheets)
    name = one.get("name") or ""
    roll = rng.randrange(9)
    if roll == 0:
        new = rng.choice(
            (f"{name} ", name.upper(), f"{name} - Table 1", f"{name}2", f"Old {name}", name[:-1], "", "Summary")
        )
        one.set("name", new)
        return f"sheet {name} renamed {new!r}"
    if roll == 1:
        one.set("name", other.get("name") or "")
        other.set("name", name)
        return f"sheets {name} and {one.get('name')} under each other's name"
    if roll == 2:
        one.set("name", other.get("name") or "x")
        return f"two sheets called {one.get('name')}"
    if roll == 3:
        one.set("state", rng.choice(("hidden", "veryHidden", "odd")))
        return f"sheet {name} {one.get('state')}"
    if roll == 4:
        for key in list(one.attrib):
            if str(key).endswith("}id"):
                one.set(key, rng.choice(("rId1", "rId2", "rId99", "")))
        return f"sheet {name} is another part"
    if roll == 5:
        settings = next((e for e in elements(root) if name_of(e) == "workbookPr"), None)
        if settings is not None:
            settings.set("date1904", rng.choice(("1", "true", "0")))
        return "days since 1904"
    if roll == 6:
        calculation = etree.SubElement(root, f"{space}calcPr")
        calculation.set("calcMode", rng.choice(("manual", "auto", "odd")))
        return "calculated by hand"
    if roll == 7:
        names = etree.SubElement(root, f"{space}definedNames")
        new_name = etree.SubElement(names, f"{space}definedName")
        new_name.set("name", rng.choice(("_estimator_sheet", "Datum", "_xlnm.Print_Area")))
        new_name.set("localSheetId", rng.choice(("0", "1", "2", "99", "x")))
        new_name.text = rng.choice(('"Summary"', "Fixings!$A$1", "", "(", '"Bill"'))
        return f"a name {new_name.get('name')} for sheet {new_name.get('localSheetId')}"
    parent = one.getparent()
    if parent is not None:
        parent.remove(one)
    return f"sheet {name} not listed"


def _open_document(rng: Random, root: _Element) -> str:
    """A cell, row or sheet of an .ods said in another way."""
    cells: list[Any] = [e for e in elements(root) if name_of(e) in ("table-cell", "table-row", "table")]
    one = rng.choice(cells)
    table = next((str(e.tag).rpartition("}")[0] + "}" for e in cells), "")
    office = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
    roll = rng.randrange(6)
    if roll == 0:
        name = f"{table}number-{'rows' if name_of(one) == 'table-row' else 'columns'}-repeated"
        one.set(name, rng.choice(("2", "3", "0", "-1", "100000", "x", "")))
        return f"<{name_of(one)}> repeated {one.get(name)}"
    if roll == 1:
        one.set(
            f"{office}value-type",
            rng.choice(("float", "string", "percentage", "date", "time", "boolean", "currency", "odd", "")),
        )
        return f"<{name_of(one)}> is of type {one.get(f'{office}value-type')}"
    if roll == 2:
        one.set(f"{office}value", rng.choice(ODD_NUMBERS))
        return f"<{name_of(one)}> has the value {one.get(f'{office}value')!r:.30}"
    if roll == 3:
        one.set(f"{table}formula", rng.choice(("of:=1+1", "of:=[.A1]", "=", "msoxl:=A1")))
        return f"<{name_of(one)}> has a formula"
    if roll == 4:
        one.set(f"{table}number-columns-spanned", rng.choice(("2", "3", "0")))
        one.set(f"{table}number-rows-spanned", rng.choice(("1", "2", "9")))
        return f"<{name_of(one)}> spans others"
    if roll == 5 and len(one):
        one.append(copy.deepcopy(one[0]))
        return f"<{name_of(one)}> holds one more"
    one.set(f"{table}visibility", rng.choice(("collapse", "filter", "visible")))
    return f"<{name_of(one)}> is hidden"
