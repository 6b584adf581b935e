"""A workbook with its markup changed: what odd programs, half-done scripts and damage make of it. From its bytes and
a seed."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from random import Random
from typing import TYPE_CHECKING

from tests.hardening.mutate_special import ODD_NUMBERS, elements, name_of, off_by_one, special
from tests.hardening.mutate_zip import Mutant, damage, directory, packed, parts_moved, unpacked

if TYPE_CHECKING:
    from lxml.etree import _Element

STRICT = "http://purl.oclc.org/ooxml/spreadsheetml/main"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
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
    words = special(rng, part, root) if rng.random() < 0.6 else ""
    words = words or _any_element(rng, root)
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


def _any_element(rng: Random, root: _Element) -> str:
    """An element or attribute dropped, changed, doubled, moved, swapped, put inside another."""
    every = elements(root)
    one = rng.choice(every)
    where = f"<{name_of(one)} {' '.join(f'{k}={v}' for k, v in list(one.attrib.items())[:2])}>"[:70]
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
        other = rng.choice(every)
        new = rng.choice((rng.choice(WORDS).replace("&#0;", "0"), other.get(name) or "7", off_by_one(rng, str(old))))
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
        target = rng.choice([e for e in every if one not in e.iterancestors() and e is not one] or [parent])
        if one not in target.iterancestors() and target is not one:
            target.insert(rng.randrange(len(target) + 1), one)
        return f"{where} moved into <{name_of(target)}>"
    if roll == 9:
        other = rng.choice(list(parent))
        if other is not one:
            a, b = parent.index(one), parent.index(other)
            parent[max(a, b)], parent[min(a, b)] = copy.deepcopy(parent[min(a, b)]), copy.deepcopy(parent[max(a, b)])
        return f"{where} swapped with a neighbour"
    if roll == 10:
        one.tag = rng.choice(
            (
                f"{{urn:odd}}{name_of(one)}",
                name_of(one),
                str(one.tag).upper() if "}" not in str(one.tag) else str(one.tag) + "x",
            )
        )
        return f"{where} under another name"
    for child in list(one):
        parent.insert(parent.index(one), child)
    return f"what is in {where} put before it"
