"""Hostile files, built by code, each priced in a process of its own with its time and its peak memory.

    python -m tests.hardening.hostile [word of a case ...]

prints the table of DEVELOPERS.md. Nothing of a file may take long, fill the memory, read another file or act.
"""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import tempfile
import time
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from string import ascii_letters, digits
from typing import Any

from estimator.report.package.markup import RELATION
from tests.build import fixing, option, square, write_job
from tests.hardening.books import small_job
from tests.report.package.books import edited

SHEET, STRINGS, BOOK, STYLES = (
    "xl/worksheets/sheet3.xml",  # Fixings
    "xl/sharedStrings.xml",
    "xl/workbook.xml",
    "xl/styles.xml",
)
MOST_SECONDS, MOST_MEGABYTES = 60.0, 1_200.0
Build = Callable[[Path], object]
CASES: dict[str, Build] = {}
FULL: set[str] = set()  # cases that are priced with drawings and PDF
UNSAFE = "=+-@"


def case(name: str, full: bool = False) -> Callable[[Build], Build]:
    """Adds a case by what it is. full: priced with drawings and PDF."""

    def added(build: Build) -> Build:
        CASES[name] = build
        FULL.update({name} if full else ())
        return build

    return added


@dataclass(frozen=True)
class Measured:
    """What became of a case. seconds: with the start of the program; megabytes: at its peak."""

    name: str
    size: int
    status: int
    said: str
    seconds: float
    megabytes: float
    trace: bool


def measure(name: str, folder: Path) -> Measured:
    """Build a case and price it. It is built in another process: what one has used counts for those it starts."""
    job = folder / "job.xlsx"
    subprocess.run([sys.executable, "-m", "tests.hardening.hostile", "--build", name, str(job)], check=True)
    less = [] if name in FULL else ["--no-drawings", "--no-pdf"]
    command = [sys.executable, "-m", "estimator.cli", "price", *less, str(job)]
    start = time.monotonic()
    with open(folder / "said.txt", "wb") as out:
        process = subprocess.Popen(
            command, stdout=out, stderr=subprocess.STDOUT, env={**os.environ, "TMPDIR": str(folder)}
        )
        _, ended, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(ended)
    took = time.monotonic() - start
    said = (folder / "said.txt").read_text("utf-8", "replace")
    first = next((line for line in said.splitlines() if line.startswith("error: ")), said.strip().split("\n")[-1])
    megabytes = used.ru_maxrss / 1024
    return Measured(name, job.stat().st_size, process.returncode, first, took, megabytes, "Traceback" in said)


def _parts(job: Path, change: Callable[[dict[str, bytes]], object]) -> None:
    """The small job after a change to its parts."""
    small_job(job)

    def changed(parts: dict[str, bytes]) -> None:
        change(parts)

    job.write_bytes(edited(job.read_bytes(), changed))


def _in(parts: dict[str, bytes], part: str, old: bytes, new: bytes) -> None:
    assert old in parts[part], parts[part][:600]
    parts[part] = parts[part].replace(old, new, 1)


@contextmanager
def _streamed(job: Path, part: str) -> Iterator[Any]:
    """The small job with one part written anew, piece by piece."""
    small_job(job)
    parts = zipfile.ZipFile(io.BytesIO(job.read_bytes()))
    with zipfile.ZipFile(job, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as made:
        for name in parts.namelist():
            if name != part:
                made.writestr(name, parts.read(name))
        with made.open(part, "w", force_zip64=True) as stream:
            yield stream


@case("a small job, for comparison", full=True)
def _plain(job: Path) -> None:
    small_job(job)


@case("zip bomb: 600 MB of blanks in a sheet")
def _blanks(job: Path) -> None:
    with _streamed(job, SHEET) as stream:
        for _ in range(600):
            stream.write(b" " * 1_000_000)


@case("zip bomb: 280 MB of text that packs badly enough")
def _texts(job: Path) -> None:
    with _streamed(job, "xl/media/odd.bin") as stream:
        noise = os.urandom(4096)
        for n in range(280):
            stream.write(bytes(4096 * 40) + noise[: n + 64] + os.urandom(6_000) + b"ab" * 417_000)


@case("zip bomb: 4,000 entries over the same packed bytes")
def _overlapping(job: Path) -> None:
    packed = zlib.compressobj(9, zlib.DEFLATED, -15)
    kernel = b"a" * 1_900_000
    body = packed.compress(kernel) + packed.flush()
    crc = zlib.crc32(kernel)
    local = struct.pack("<4s5H3L2H", b"PK\3\4", 20, 0, 8, 0, 33, crc, len(body), len(kernel), 1, 0) + b"a"
    listed = b"".join(
        struct.pack("<4s6H3L5H2L", b"PK\1\2", 20, 20, 0, 8, 0, 33, crc, len(body), len(kernel), 6, 0, 0, 0, 0, 0, 0)
        + f"{n:06d}".encode()
        for n in range(4_000)
    )
    end = struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, 4_000, 4_000, len(listed), len(local + body), 0)
    job.write_bytes(local + body + listed + end)


@case("zip that says a part is smaller than it is")
def _lying(job: Path) -> None:
    _blanks(job)
    data = bytearray(job.read_bytes())
    for mark, at in ((b"PK\1\2", 24), (b"PK\3\4", 22)):
        found = data.find(mark)
        while found >= 0:
            long = 46 if mark == b"PK\1\2" else 30
            if data[found + long : found + long + len(SHEET)] == SHEET.encode():
                data[found + at : found + at + 4] = struct.pack("<L", 1000)
            found = data.find(mark, found + 4)
    job.write_bytes(data)


@case("5,001 parts")
def _many_parts(job: Path) -> None:
    _parts(job, lambda parts: parts.update({f"xl/media/{n}.png": b"x" for n in range(5_001)}))


@case("entity bomb in the shared texts")
def _entities(job: Path) -> None:
    doctype = b'<!DOCTYPE x [<!ENTITY a "ha">' + b"".join(
        f'<!ENTITY a{n} "{f"&a{n - 1 if n else str()};" * 10}">'.encode() for n in range(12)
    )
    _parts(job, lambda p: p.update({STRINGS: doctype + b"]><sst>&a11;</sst>"}))


@case("external entity in a sheet, in an encoding the door does not search")
def _external(job: Path) -> None:
    text = '<?xml version="1.0" encoding="utf-7"?><!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><worksheet>&a;</worksheet>'
    odd = text.replace("<!DOCTYPE", "+ADwAIQ-DOCTYPE").encode()
    _parts(job, lambda p: p.update({SHEET: odd}))


@case("external entity in EBCDIC")
def _ebcdic(job: Path) -> None:
    text = '<?xml version="1.0" encoding="cp037"?><!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><worksheet>&a;</worksheet>'
    _parts(job, lambda p: p.update({SHEET: text.encode("cp037")}))


@case("100,000 elements inside each other")
def _nested(job: Path) -> None:
    _parts(job, lambda p: p.update({SHEET: b"<a>" * 100_000 + b"</a>" * 100_000}))


@case("one shared text of 100 MB")
def _long_text(job: Path) -> None:
    with _streamed(job, STRINGS) as stream:
        stream.write(b'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>')
        for n in range(100):
            stream.write(os.urandom(30_000).hex().encode() + b"x" * 940_000 + str(n).encode())
        stream.write(b"</t></si></sst>")


def _rows(job: Path, write: Callable[[Any], None]) -> None:
    with _streamed(job, SHEET) as stream:
        stream.write(b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>')
        write(stream)
        stream.write(b"</sheetData></worksheet>")


@case("a million formatted empty rows")
def _formatted(job: Path) -> None:
    def write(stream: Any) -> None:
        for start in range(1, 1_048_576, 4096):
            rows = range(start, min(start + 4096, 1_048_577))
            stream.write(
                "".join(
                    f'<row r="{r}" ht="15.{r % 97}"><c r="A{r}" s="1"/><c r="B{r}" s="1"/></row>' for r in rows
                ).encode()
            )

    _rows(job, write)


@case("a formatted cell in the last row of the last column")
def _far(job: Path) -> None:
    cell = b'<row r="1048576"><c r="XFD1048576" s="1"/></row></sheetData>'
    _parts(job, lambda p: _in(p, SHEET, b"</sheetData>", cell))


@case("16,384 columns with headings, 40 rows")
def _columns(job: Path) -> None:
    from estimator.sheets.areas import column_letters

    letters = [column_letters(n) for n in range(1, 16_385)]

    def write(stream: Any) -> None:
        for r in range(1, 41):
            cells = "".join(
                f'<c r="{x}{r}" t="inlineStr"><is><t>h{x}{r if r > 1 else ""}</t></is></c>' for x in letters
            )
            stream.write(f'<row r="{r}">{cells}</row>'.encode())

    _rows(job, write)


@case("four million numbers in a sheet of the user's own")
def _numbers(job: Path) -> None:
    def write(stream: Any) -> None:
        for r in range(1, 200_001):
            stream.write(
                f'<row r="{r}">{"".join(f"<c><v>{r * c % 9973}</v></c>" for c in range(1, 21))}</row>'.encode()
            )

    small_job(job)
    kinds = b'application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>'
    parts = zipfile.ZipFile(io.BytesIO(job.read_bytes()))
    with zipfile.ZipFile(job, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as made:
        for name in parts.namelist():
            data = parts.read(name)
            if name == "[Content_Types].xml":
                data = data.replace(
                    b"</Types>", b'<Override PartName="/xl/worksheets/own.xml" ContentType="' + kinds + b"</Types>"
                )
            elif name == "xl/_rels/workbook.xml.rels":
                link = f'<Relationship Id="own" Type="{RELATION}/worksheet" Target="/xl/worksheets/own.xml"/>'
                data = data.replace(b"</Relationships>", link.encode() + b"</Relationships>")
            elif name == BOOK:
                link = f'<sheet xmlns:r="{RELATION}" name="Mine" sheetId="77" r:id="own"/>'
                data = data.replace(b"</sheets>", link.encode() + b"</sheets>")
            made.writestr(name, data)
        with made.open("xl/worksheets/own.xml", "w", force_zip64=True) as stream:
            stream.write(b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>')
            write(stream)
            stream.write(b"</sheetData></worksheet>")


@case("30,000 rows of fixings on one site")
def _fixings(job: Path) -> None:
    more = [fixing(f"F{n}", n % 170, n // 170, 2.5, "rafter") for n in range(30_000)]
    write_job(job, fixings=[*square(6), *more], options=[option("A B C D", "SQ-5000")])


@case("3,000 options of one site")
def _options(job: Path) -> None:
    write_job(job, fixings=square(6), options=[option("A B C D", "9 9 m", name=f"{n}") for n in range(3_000)])


@case("one name 20,000 times")
def _twins(job: Path) -> None:
    write_job(job, fixings=square(6) * 5_000, options=[option("A B C D", "SQ-5000")])


@case("200,000 merged areas")
def _merged(job: Path) -> None:
    areas = "".join(f'<mergeCell ref="A{n}:A{n + 1}"/>' for n in range(1, 400_001, 2))
    _parts(job, lambda p: _in(p, SHEET, b"</sheetData>", f"</sheetData><mergeCells>{areas}</mergeCells>".encode()))


@case("20,000 rows of fixings, each merged with the one below")
def _merged_rows(job: Path) -> None:
    write_job(job, fixings=square(6) * 5_000, options=[option("A B C D", "SQ-5000")])
    areas = "".join(f'<mergeCell ref="A{n}:A{n + 1}"/><mergeCell ref="F{n}:F{n + 1}"/>' for n in range(2, 20_001, 2))
    new = f"</sheetData><mergeCells>{areas}</mergeCells>".encode()
    job.write_bytes(edited(job.read_bytes(), lambda p: _in(p, SHEET, b"</sheetData>", new)))


@case("100,000 hidden spans of all columns")
def _hidden(job: Path) -> None:
    spans = (
        b"<cols>"
        + b"".join(b'<col min="1" max="16384" hidden="1" width="%d"/>' % (n * n) for n in range(100_000))
        + b"</cols><sheetData>"
    )
    _parts(job, lambda p: _in(p, SHEET, b"<sheetData>", spans))


@case("200,000 defined names")
def _names(job: Path) -> None:
    names = "".join(f'<definedName name="n{n}">Job!$A${n + 1}</definedName>' for n in range(200_000))
    _parts(job, lambda p: _in(p, BOOK, b"</sheets>", f"</sheets><definedNames>{names}</definedNames>".encode()))


@case("a number format of 200,000 quotation marks")
def _format(job: Path) -> None:
    code = "&quot;;" * 100_000
    fmt = f'<numFmts count="1"><numFmt numFmtId="200" formatCode="0{code}"/></numFmts>'.encode()

    def change(p: dict[str, bytes]) -> None:
        p[STYLES] = p[STYLES].replace(b'<xf numFmtId="0"', b'<xf numFmtId="200"')
        at = p[STYLES].index(b"<fonts")
        head = p[STYLES][:at].replace(b"<numFmts />", b"").replace(b'<numFmts count="0"/>', b"")
        p[STYLES] = head + fmt + p[STYLES][at:]

    _parts(job, change)


@case("32,767 letters in every text, number and name")
def _long_cells(job: Path) -> None:
    rng = Random(1)

    def text(letters: str) -> str:
        return "".join(rng.choices(letters, k=32_767))

    long = [
        text(x) for x in (ascii_letters, digits, "123456789 ", "1'2 ", "\"'1", "½¼1 ", "1,.2", ascii_letters + ",;/ ")
    ]
    rows = []
    for n, text in enumerate(long):
        row = fixing(f"L{n}", 0, 0, 2.5)
        rows += [{**row, heading: text} for heading in row] + [{**row, "Notes": text, "For the crew": text}]
    options = [
        option("A B C D", "SQ-5000", Notes=long[0]),
        *(option(t, t, name=f"o{n}", Run=t) for n, t in enumerate(long)),
    ]
    write_job(job, job={"Customer": long[0], "Notes": long[1]}, fixings=[*square(6), *rows], options=options)


@case("32,767 letters in what the customer reads", full=True)
def _long_quote(job: Path) -> None:
    said = {"For the customer": "long words " * 2_978}
    site = [{"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Address": "x" * 32_767, **said}]
    head = {"Customer": "y" * 32_767, "Customer address": "z, " * 10_922, "Job name": "n" * 32_767}
    write_job(job, job=head, sites=site, fixings=square(6), options=[option("A B C D", "SQ-5000", **said)])


@case("formulas, controls and turned letters in every text", full=True)
def _injected(job: Path) -> None:
    injected(job)


def injected(job: Path) -> Path:
    """A job whose every free text begins like a formula, and holds marks that turn or control."""
    texts = [f"{c}1+1|cmd \u202e\u2066\u200f\x7f\x85\x9b[31m{n}" for n, c in enumerate(UNSAFE * 12)]
    words = iter(texts)
    head = {
        w: next(words)
        for w in ("Job name", "Reference", "Customer", "Customer address", "Site contact", "Prepared by", "Notes")
    }
    sites = [{"Site": "=Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Address": next(words),
              "For the customer": next(words), "For the crew": next(words), "Notes": next(words)}]  # fmt: skip
    names = ["=A", "+B", "-C", "@D"]
    fixings = [{**f, "Site": "=Yard", "Fixing": n, "For the crew": next(words), "Notes": next(words)}
               for f, n in zip(square(6), names, strict=True)]  # fmt: skip
    options = [option(" ".join(names), "SQ-5000", name="=1", **{"Site": "=Yard", "Sail": "+s", "Colour": next(words),
               "For the customer": next(words), "Notes": next(words)})]  # fmt: skip
    kinds: tuple[dict[str, Any], ...] = (
        {"Cost each": 10},
        {"Cost each": 10, "Shown": "yes"},
        {"By others": "yes"},
        {"Cost each": 5, "Offered apart": "yes"},
        {"Cost each": 7, "Variation": "=V1"},
    )
    extras = [
        {"Site": "=Yard", "Description": next(words), "Quantity": 1, "Unit": "each", "Reason": next(words), **k}
        for k in kinds
    ]
    write_job(job, job=head, sites=sites, fixings=fixings, options=options, extras=extras)
    # a library takes such texts for formulas and drops controls: put in as what they are, texts
    import re

    def change(parts: dict[str, bytes]) -> None:
        for name in [n for n in parts if n.startswith("xl/worksheets/")]:
            parts[name] = re.sub(
                rb'<c r="([A-Z]+\d+)"([^>]*?)><f>(.*?)</f><v ?/?>(?:</v>)?</c>',
                rb'<c r="\1" t="inlineStr"><is><t>=\3</t></is></c>',
                parts[name],
            )

    job.write_bytes(edited(job.read_bytes(), change))
    return job


@case(".ods that says one row a million times, each of 16,384 cells")
def _repeated(job: Path) -> None:
    open_document = "urn:oasis:names:tc:opendocument:xmlns"
    spaces = " ".join(f'xmlns:{space}="{open_document}:{space}:1.0"' for space in ("office", "table", "text"))
    text = "<text:p>x</text:p>"
    cell = (
        f'<table:table-cell table:number-columns-repeated="16384" office:value-type="string">{text}</table:table-cell>'
    )
    row = f'<table:table-row table:number-rows-repeated="1048576">{cell}</table:table-row>'
    sheets = "".join(
        f'<table:table table:name="{n}">{row}</table:table>' for n in ("Job", "Sites", "Fixings", "Options")
    )
    body = f"<office:body><office:spreadsheet>{sheets}</office:spreadsheet></office:body>"
    text = f"<office:document-content {spaces}>{body}</office:document-content>"
    with zipfile.ZipFile(job, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet", zipfile.ZIP_STORED)
        made.writestr("content.xml", text)


def table(found: list[Measured]) -> str:
    """The table of DEVELOPERS.md."""
    lines = ["| file | size | answer | time (s) | peak memory (MB) |", "|---|---|---|---|---|"]
    for m in found:
        answer = m.said.removeprefix("error: ").partition(": ")[2] or m.said
        answer = "priced" if m.status == 0 else f"status {m.status}: {answer[:70]}"
        lines.append(f"| {m.name} | {m.size / 1e6:,.1f} MB | {answer} | {m.seconds:.1f} | {m.megabytes:,.0f} |")
    return "\n".join(lines)


def _tell(m: Measured) -> None:
    mark = "TRACE " if m.trace else ""
    print(f"{m.seconds:7.1f} s {m.megabytes:7,.0f} MB  {mark}{m.name}: {m.said[:110]}", file=sys.stderr, flush=True)


def main(words: list[str]) -> None:
    """Measure the cases whose names hold one of the words; all without any."""
    if words[:1] == ["--build"]:
        CASES[words[1]](Path(words[2]))
        return
    found = []
    for name in CASES:
        if not words or any(w in name for w in words):
            with tempfile.TemporaryDirectory() as folder:
                found.append(measure(name, Path(folder)))
            _tell(found[-1])
    print(table(found))


if __name__ == "__main__":
    main(sys.argv[1:])
