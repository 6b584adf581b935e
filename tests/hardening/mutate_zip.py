"""A package damaged as a file: bits, lengths, the directory of the zip, whole parts."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from random import Random

EARLIEST = (1980, 1, 1, 0, 0, 0)
LISTED, LOCAL, END = b"PK\1\2", b"PK\3\4", b"PK\5\6"


@dataclass(frozen=True)
class Mutant:
    """A changed workbook. done: what was done, in words; touched: cells (Sheet!A1), sheets or parts; kind: in one or
    two words."""

    data: bytes
    done: str
    touched: tuple[str, ...]
    kind: str


def unpacked(data: bytes) -> dict[str, bytes]:
    """The parts of a package, in its order."""
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(parts: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """The parts as a package; the type of an .ods stands first and unpacked, as it has to."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", method, compresslevel=1) as package:
        for name, data in parts.items():
            package.writestr(entry(name), data, zipfile.ZIP_STORED if name == "mimetype" else method)
    return made.getvalue()


def entry(name: str) -> zipfile.ZipInfo:
    """An entry without the time of day, so that a seed gives the same bytes tomorrow."""
    return zipfile.ZipInfo(name, EARLIEST)


def damage(data: bytes, rng: Random) -> Mutant:
    """The bytes of a file of any kind with some of them changed."""
    raw = bytearray(data)
    roll = rng.randrange(7)
    at = rng.randrange(len(raw))
    if roll == 0:
        for _ in range(rng.choice((1, 1, 2, 5, 40))):
            raw[rng.randrange(len(raw))] ^= 1 << rng.randrange(8)
        words = "bits flipped"
    elif roll == 1:
        del raw[at:]
        words = f"cut short after {at} bytes"
    elif roll == 2:
        other = rng.randrange(len(raw))
        raw[at], raw[other] = raw[other], raw[at]
        words = f"bytes {at} and {other} swapped"
    elif roll == 3:
        long = rng.choice((1, 4, 64, 512))
        raw[at : at + long] = bytes(rng.randrange(256) for _ in range(long))
        words = f"{long} bytes at {at} overwritten"
    elif roll == 4:
        long = rng.choice((1, 2, 100, 5000))
        raw += bytes(long) if rng.random() < 0.5 else bytes(rng.randrange(256) for _ in range(long))
        words = f"{long} bytes more at the end"
    elif roll == 5:
        long = rng.choice((1, 3, 200))
        raw[at:at] = raw[:long]
        words = f"{long} bytes put in at {at}"
    else:
        del raw[at : at + rng.choice((1, 2, 16, 600))]
        words = f"bytes left out at {at}"
    return Mutant(bytes(raw), f"bytes: {words}", ("file",), "bytes")


# fields of an entry in the directory and before the part: offset and size
FIELDS = {
    "version": (6, 2), "flags": (8, 2), "method": (10, 2), "time": (12, 2), "crc": (16, 4), "packed size": (20, 4),
    "size": (24, 4), "name length": (28, 2), "extra length": (30, 2), "comment length": (32, 2), "disk": (34, 2),
    "attributes": (38, 4), "offset": (42, 4),
}  # fmt: skip
LOCAL_FIELDS = {"flags": (6, 2), "method": (8, 2), "crc": (14, 4), "packed size": (18, 4), "size": (22, 4),
                "name length": (26, 2), "extra length": (28, 2)}  # fmt: skip
END_FIELDS = {"entries here": (8, 2), "entries": (10, 2), "directory size": (12, 4), "directory offset": (16, 4),
              "comment length": (20, 2)}  # fmt: skip


def directory(data: bytes, rng: Random) -> Mutant:
    """A field of the zip's directory changed, or an entry doubled."""
    raw = bytearray(data)
    mark, fields = rng.choice(((LISTED, FIELDS), (LISTED, FIELDS), (LOCAL, LOCAL_FIELDS), (END, END_FIELDS)))
    places = []
    at = raw.find(mark)
    while at >= 0:
        places.append(at)
        at = raw.find(mark, at + 4)
    at = rng.choice(places)
    if mark == LISTED and rng.random() < 0.2:
        return _entries(data, rng)
    name = rng.choice(sorted(fields))
    offset, size = fields[name]
    offset = min(offset, len(raw) - at - size)
    old = int.from_bytes(raw[at + offset : at + offset + size], "little")
    new = rng.choice(
        (
            0,
            1,
            old + 1,
            old - 1,
            old ^ (1 << rng.randrange(8 * size)),
            2 ** (8 * size) - 1,
            old * 2,
            rng.randrange(2**31),
        )
    )
    raw[at + offset : at + offset + size] = (new % 2 ** (8 * size)).to_bytes(size, "little")
    where = {LISTED: "directory", LOCAL: "head of a part", END: "end"}[mark]
    return Mutant(bytes(raw), f"zip: {name} in the {where} at {at}: {old} -> {new}", ("file",), "zip")


def _entries(data: bytes, rng: Random) -> Mutant:
    """An entry named twice, in other case or with other slashes, or with another one's content."""
    parts = list(unpacked(data).items())
    name, content = rng.choice(parts)
    other = rng.choice(parts)[1]
    again = rng.choice((name, name.upper(), name.replace("/", "\\"), "/" + name, name + " ", name.replace("/", "//")))
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as package:
        for each, held in parts:
            if each == name and rng.random() < 0.5:
                continue
            package.writestr(entry(each), held)
        package.writestr(entry(again), rng.choice((content, other, b"")))
    return Mutant(made.getvalue(), f"zip: {name} also as {again!r}", (name,), "zip")


def parts_moved(data: bytes, rng: Random) -> Mutant:
    """Parts dropped, renamed, swapped, emptied, put in another order, stored in another way."""
    parts = unpacked(data)
    names = list(parts)
    one, two = rng.choice(names), rng.choice(names)
    roll = rng.randrange(9)
    if roll == 0:
        del parts[one]
        words = f"{one} dropped"
    elif roll == 1:
        new = rng.choice(
            (one.upper(), one.replace("xl/", "xl\\"), one + "x", "xl/" + one, one.replace("sheet", "Sheet"))
        )
        parts = {(new if n == one else n): d for n, d in parts.items()}
        words = f"{one} renamed {new}"
    elif roll == 2:
        parts[one], parts[two] = parts[two], parts[one]
        words = f"{one} and {two} swapped"
    elif roll == 3:
        parts[one] = b""
        words = f"{one} emptied"
    elif roll == 4:
        rng.shuffle(names)
        parts = {n: parts[n] for n in names}
        words = "parts in another order"
    elif roll == 5:
        parts[one] = parts[one][: rng.randrange(len(parts[one]) + 1)]
        words = f"{one} cut short"
    elif roll == 6:
        method = rng.choice((zipfile.ZIP_STORED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA))
        return Mutant(packed(parts, method), f"parts: packed in way {method}", (), "parts")
    elif roll == 7:
        parts[
            rng.choice(("xl/media/image1.png", "docProps/app.xml", "customXml/item1.xml", "mimetype", "a/b/../c"))
        ] = bytes(rng.randrange(256) for _ in range(50))
        words = "a part more"
    else:
        raw = bytearray(parts[one])
        for _ in range(rng.choice((1, 1, 3, 20)) if raw else 0):
            raw[rng.randrange(len(raw))] = rng.choice((rng.randrange(256), ord("<"), ord(">"), ord('"'), ord("0"), 0))
        parts[one] = bytes(raw)
        words = f"bytes of {one} changed"
    return Mutant(packed(parts), f"parts: {words}", (one, two), "parts")
