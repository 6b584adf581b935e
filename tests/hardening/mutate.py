"""A workbook with its markup changed: what odd programs, half-done scripts and damage make of it. From its bytes and
a seed."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from random import Random
from typing import TYPE_CHECKING, Any

from tests.hardening.mutate_zip import Mutant, damage, directory, packed, parts_moved, unpacked

if TYPE_CHECKING:
    from lxml.etree import _Element

STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
ODD_NUMBERS = (
    "2.6E0", "26e-1", "2.6000000000000001", "+2.6", " 2.6 ", "2,6", "NaN", "INF", "-INF", "1e999", "1e-999", "0x1A",
    "2.6.1", "", " ", "-0", "00002.6", "2.6d", "1_0", "٢٫٦", "２.６", "1e5", "9" * 400, "2.6\n", "2.6<", "true", "#N/A",
)  # fmt: skip
WORDS = (
    "0", "1", "-1", "2", "99999", "4294967296", "true", "false", "A1", "B2", "XFD1048576", "A1:XFD1048576", "B2:A1", "",
    " ", "s", "n", "b", "str", "inlineStr", "e", "d", "x", "shared", "array", "dataTable", "hidden", "veryHidden",
    "manual", "Sites", "Fixings", "rId1", "rId9", "../x.xml", "/xl/workbook.xml", "External", "é", "a" * 3000, "&#0;",
)  # fmt: skip


def mutate_part(data: bytes, seed: int, kind: str = "xlsx") -> Mutant:
    """The workbook with one to three things done to its package or its markup."""
    rng = Random(seed)
    if kind == "xls":
        return damage(data, rng)
    roll = rng.random()
    if roll < 0.08:
        return damage(data, rng)
    if roll < 0.2:
        return directory(data, rng)
    if roll < 0.33:
        return parts_moved(data, rng)
    parts = unpacked(data)
    done, touched = [], []
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        part = _pick(parts, rng)
        words, new = _change(rng, part, parts[part])
        parts[part] = new
        done.append(f"{part}: {words}")
        touched.append(part)
    return Mutant(packed(parts), f"markup: {'; '.join(done)}", tuple(touched), "markup")


def _pick(parts: dict[str, bytes], rng: Random) -> str:
    """A part of markup; what is read is picked more often."""
    names = [n for n in parts if n.endswith((".xml", ".rels")) and parts[n].strip()]
    weights = [
        9 if "worksheets/sheet" in n or n == "content.xml" else 5 if "workbook.xml" in n or "sharedStrings" in n else 2
        for n in names
    ]
    return rng.choices(names, weights)[0]


def _change(rng: Random, part: str, data: bytes) -> tuple[str, bytes]:
    """What was done to a part, and the part after it."""
    from lxml import etree

    if rng.random() < 0.17:
        return _as_text(rng, data)
    try:
        root = etree.fromstring(data)
    except etree.XMLSyntaxError:
        return _as_text(rng, data)
    special = _special(rng, part, root) if rng.random() < 0.6 else ""
    words = special or _any_element(rng, root)
    return words, etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)


def _as_text(rng: Random, data: bytes) -> tuple[str, bytes]:
    """Changes that do not keep it markup, or say it in another encoding or namespace."""
    text = data.decode("utf-8", "replace")
    body = re.sub(r"^<\?xml[^>]*\?>\s*", "", text)
    whole: dict[str, Callable[[], bytes]] = {
        "in UTF-16": lambda: f'<?xml version="1.0" encoding="UTF-16"?>{body}'.encode("utf-16"),
        "in Latin-1": lambda: f'<?xml version="1.0" encoding="ISO-8859-1"?>{body}'.encode(
            "latin-1", "xmlcharrefreplace"
        ),
        "says UTF-16 and is UTF-8": lambda: f'<?xml version="1.0" encoding="UTF-16"?>{body}'.encode(),
        "says ASCII": lambda: f'<?xml version="1.0" encoding="US-ASCII"?>{body}'.encode("ascii", "xmlcharrefreplace"),
        "with a mark before it": lambda: b"\xef\xbb\xbf" + data,
        "with blanks before it": lambda: b"  \n" + data,
        "without a head": lambda: body.encode(),
        "of the strict kind": lambda: text.replace(MAIN, STRICT).encode(),
        "in no namespace": lambda: re.sub(r' xmlns="[^"]*"', "", text).encode(),
        "in another namespace": lambda: re.sub(r' xmlns="[^"]*"', ' xmlns="urn:odd"', text, count=1).encode(),
        "with a prefix": lambda: _prefixed(text).encode(),
        "with a document type": lambda: re.sub(r"^(<\?xml[^>]*\?>)?", r"\1<!DOCTYPE x>", text, count=1).encode(),
        "with a comment in it": lambda: re.sub(r"(<sheetData>|<sst[^>]*>)", r"\1<!-- <row r='1'/> -->", text).encode(),
        "with a section of characters": lambda: re.sub(
            r"<v>([^<]*)</v>", r"<v><![CDATA[\1]]></v>", text, count=3
        ).encode(),
        "with an instruction in it": lambda: text.replace("<row", "<?odd row?><row", 1).encode(),
        "twice": lambda: data + data,
        "spread over lines": lambda: text.replace("><", ">\n  <").encode(),
        "with a tag not closed": lambda: re.sub(r"</(\w+)>", "", text, count=1).encode(),
        "with a letter that may not be": lambda: text.replace("<v>", "<v>\x01", 1).encode(),
        "with an entity": lambda: text.replace("<v>", "<v>&a;", 1).encode(),
        "cut": lambda: data[: rng.randrange(len(data))],
        "a piece twice": lambda: _piece_twice(rng, data),
        "digits changed": lambda: _digits(rng, text).encode(),
    }
    words = rng.choice(sorted(whole))
    return words, whole[words]()


def _prefixed(text: str) -> str:
    text = re.sub(r"<(/?)(?![?!/])(?!\w+:)(\w)", r"<\1x:\2", text)
    return re.sub(r' xmlns="', ' xmlns:x="', text, count=1)


def _piece_twice(rng: Random, data: bytes) -> bytes:
    at, long = rng.randrange(len(data)), rng.choice((3, 20, 90))
    return data[: at + long] + data[at:]


def _digits(rng: Random, text: str) -> str:
    places = [m.start() for m in re.finditer(r"\d", text)]
    if not places:
        return text + " "
    letters = list(text)
    for _ in range(rng.choice((1, 1, 2, 4))):
        letters[rng.choice(places)] = rng.choice("0123456789")
    return "".join(letters)


def _elements(root: _Element) -> list[_Element]:
    return [e for e in root.iter() if isinstance(e.tag, str)]


def _name(element: _Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _any_element(rng: Random, root: _Element) -> str:
    """An element or attribute dropped, changed, doubled, moved, swapped, put inside another."""
    elements = _elements(root)
    one = rng.choice(elements)
    where = f"<{_name(one)} {' '.join(f'{k}={v}' for k, v in list(one.attrib.items())[:2])}>"[:70]
    parent = one.getparent()
    roll = rng.randrange(12)
    if roll < 5 and one.attrib:
        name = rng.choice(list(one.attrib))
        old = one.attrib[name]
        if roll == 0:
            del one.attrib[name]
            return f"{name} of {where} dropped"
        if roll == 1:
            del one.attrib[name]
            one.set(rng.choice(("X" + str(name).rpartition("}")[2], str(name).rpartition("}")[2].upper())), old)
            return f"{name} of {where} renamed"
        other = rng.choice(elements)
        new = rng.choice((rng.choice(WORDS).replace("&#0;", "0"), other.get(name) or "7", _off_by_one(rng, str(old))))
        one.set(name, new)
        return f"{name} of {where}: {old} -> {new:.40}"
    if roll < 6:
        one.text = rng.choice((*ODD_NUMBERS, None, one.text or "x", str(rng.randrange(50)), "2.6", "A", "Yard"))
        return f"text of {where} -> {one.text!r:.40}"
    if parent is None:
        one.set("odd", "1")
        return "an attribute more on the root"
    if roll == 6:
        parent.remove(one)
        return f"{where} dropped"
    if roll == 7:
        parent.insert(rng.randrange(len(parent) + 1), copy.deepcopy(one))
        return f"{where} doubled"
    if roll == 8:
        target = rng.choice([e for e in elements if one not in e.iterancestors() and e is not one] or [parent])
        if one not in target.iterancestors() and target is not one:
            target.insert(rng.randrange(len(target) + 1), one)
        return f"{where} moved into <{_name(target)}>"
    if roll == 9:
        other = rng.choice(list(parent))
        if other is not one:
            a, b = parent.index(one), parent.index(other)
            parent[max(a, b)], parent[min(a, b)] = copy.deepcopy(parent[min(a, b)]), copy.deepcopy(parent[max(a, b)])
        return f"{where} swapped with a neighbour"
    if roll == 10:
        one.tag = rng.choice(
            (
                f"{{urn:odd}}{_name(one)}",
                _name(one),
                str(one.tag).upper() if "}" not in str(one.tag) else str(one.tag) + "x",
            )
        )
        return f"{where} under another name"
    for child in list(one):
        parent.insert(parent.index(one), child)
    return f"what is in {where} put before it"


def _off_by_one(rng: Random, text: str) -> str:
    """A number or a place in it one more, one less, or with another digit."""
    found = list(re.finditer(r"\d+", text))
    if not found:
        return text[::-1] or "x"
    match = rng.choice(found)
    return text[: match.start()] + str(abs(int(match[0]) + rng.choice((1, -1, 10)))) + text[match.end() :]


def _special(rng: Random, part: str, root: _Element) -> str:
    """Changes that mean something to a workbook; blank where the part has nothing for it."""
    cells = [e for e in _elements(root) if _name(e) == "c"]
    if cells:
        return _cell(rng, root, cells)
    strings = [e for e in _elements(root) if _name(e) == "si"]
    if strings:
        return _strings(rng, root, strings)
    if part.endswith("workbook.xml"):
        return _book(rng, root)
    if part.endswith(".rels"):
        links = [e for e in _elements(root) if e.get("Target")]
        one, two = rng.choice(links), rng.choice(links)
        target, other = one.get("Target") or "", two.get("Target") or ""
        one.set("Target", other if rng.random() < 0.5 else rng.choice((target.upper(), "/xl/" + target, "x.xml")))
        if rng.random() < 0.5:
            two.set("Target", target)
        return f"{one.get('Id')} points at {one.get('Target')}"
    if part.endswith("styles.xml"):
        looks = [e for e in _elements(root) if _name(e) in ("xf", "numFmt")]
        one = rng.choice(looks)
        codes = ("0%", "d/m/yyyy", '0" mm"', "General", "[h]:mm", "@", '"', "0" * 300)
        if _name(one) == "numFmt":
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
    value = next((e for e in one if _name(e) == "v"), None)
    if roll == 0:
        one.set(
            "r", rng.choice((other.get("r") or "", _off_by_one(rng, at or "A1"), "A0", "1A", "$B$3", "b3", "XFE1", ""))
        )
        return f"cell {at} says it is {one.get('r')}"
    if roll == 1:
        one.attrib.pop("r", None)
        return f"cell {at} does not say its place"
    if roll == 2:
        for each in cells:
            each.attrib.pop("r", None)
        for row in (e for e in _elements(root) if _name(e) == "row"):
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
        value.text = rng.choice((*ODD_NUMBERS, _off_by_one(rng, value.text or "1"), str(rng.randrange(60))))
        return f"cell {at} holds {value.text!r:.40}"
    if roll == 6:
        formula = etree.Element(f"{space}f")
        formula.text = rng.choice(
            ("A1", "SUM(A1:B9)", "Options!B2", "Summary!B4", "'[x.xlsx]S'!A1", "NOW()", "1/0", "(")
        )
        for name, word in rng.choice(({}, {"t": "shared", "si": "0"}, {"t": "array", "ref": f"{at}:{other.get('r')}"},
                                      {"t": "dataTable", "ref": "A1:B2"}, {"t": "shared", "ref": "A1:Z9", "si": "0"})).items():  # fmt: skip
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
        for e in _elements(root):
            if _name(e) == "dimension":
                e.set("ref", rng.choice(("A1", "A1:XFD1048576", "B2:C3", "", "Z9:A1")))
        return "another extent is said"
    if roll == 10:
        rows = [e for e in _elements(root) if _name(e) == "row"]
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
            if _name(e) == "v":
                e.text = rng.choice((e.text, "3", "0"))
        one.getparent().append(again)  # type: ignore[union-attr]
        return f"cell {at} stands twice"
    if roll == 13 and value is not None:
        if rng.random() < 0.5:
            one.remove(value)
        else:
            one.append(copy.deepcopy(value))
            one[-1].text = "1"
        return f"cell {at} has {len([e for e in one if _name(e) == 'v'])} values"
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
    sheets = [e for e in _elements(root) if _name(e) == "sheet"]
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
        settings = next((e for e in _elements(root) if _name(e) == "workbookPr"), None)
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
    cells: list[Any] = [e for e in _elements(root) if _name(e) in ("table-cell", "table-row", "table")]
    one = rng.choice(cells)
    table = next((str(e.tag).rpartition("}")[0] + "}" for e in cells), "")
    office = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
    roll = rng.randrange(6)
    if roll == 0:
        name = f"{table}number-{'rows' if _name(one) == 'table-row' else 'columns'}-repeated"
        one.set(name, rng.choice(("2", "3", "0", "-1", "100000", "x", "")))
        return f"<{_name(one)}> repeated {one.get(name)}"
    if roll == 1:
        one.set(
            f"{office}value-type",
            rng.choice(("float", "string", "percentage", "date", "time", "boolean", "currency", "odd", "")),
        )
        return f"<{_name(one)}> is of type {one.get(f'{office}value-type')}"
    if roll == 2:
        one.set(f"{office}value", rng.choice(ODD_NUMBERS))
        return f"<{_name(one)}> has the value {one.get(f'{office}value')!r:.30}"
    if roll == 3:
        one.set(f"{table}formula", rng.choice(("of:=1+1", "of:=[.A1]", "=", "msoxl:=A1")))
        return f"<{_name(one)}> has a formula"
    if roll == 4:
        one.set(f"{table}number-columns-spanned", rng.choice(("2", "3", "0")))
        one.set(f"{table}number-rows-spanned", rng.choice(("1", "2", "9")))
        return f"<{_name(one)}> spans others"
    if roll == 5 and len(one):
        one.append(copy.deepcopy(one[0]))
        return f"<{_name(one)}> holds one more"
    one.set(f"{table}visibility", rng.choice(("collapse", "filter", "visible")))
    return f"<{_name(one)}> is hidden"
