"""Recalculate workbooks in an office program and read every formula cell back."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import subprocess
import tempfile
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

# recalculate everything on load, every time: else the program shows the values that are in the file
_PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"
 xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


def program() -> str | None:
    """The path of LibreOffice; None where it is not installed."""
    return shutil.which("soffice") or shutil.which("libreoffice")


def absent(what: str) -> None:
    """Say in the test's output, and in CI as a failure, that a recalculation could not be made."""
    words = f"NOT RECALCULATED ({what}): LibreOffice is not installed here"
    print(words)
    assert not os.environ.get("CI"), words


# every sheet as a file of its own, by row and column, values as they would be typed: 15 digits
_EVERY_SHEET = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1"

Grid = Sequence[Sequence[str]]
Stored = Mapping[tuple[str, str], tuple[str, object]]


def convert(paths: Sequence[Path], out: Path, kind: str) -> str:
    """Every workbook opened, recalculated and saved as another kind in `out`, in one run of the program."""
    office = program()
    assert office, "LibreOffice is not installed"
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        user = Path(home) / "user"
        user.mkdir()
        (user / "registrymodifications.xcu").write_text(_PROFILE, encoding="utf-8")
        command = [office, f"-env:UserInstallation={Path(home).as_uri()}", "--headless", "--convert-to", kind]
        done = subprocess.run(
            [*command, "--outdir", str(out), *map(str, paths)], capture_output=True, text=True, timeout=600, check=False
        )
    return done.stdout + done.stderr


def recalculate(paths: Sequence[Path], out: Path) -> list[Path]:
    """Each workbook recalculated and saved as .xlsx under its own name in `out`, all in one run of the program.

    The paths need names that differ. Raises AssertionError when the program gives no file.
    """
    said = convert(paths, out, "xlsx")
    made = [out / p.with_suffix(".xlsx").name for p in paths]
    assert all(p.exists() for p in made), said
    return made


def recalculated(workbooks: Mapping[str, bytes]) -> Iterator[tuple[str, Mapping[str, Grid]]]:
    """Name, and the recalculated values of every sheet by row and column, of each workbook, in one run of the program.

    Values stand as they would be typed in: 12.5, 31.25%, TRUE, 2026-04-03. The names have no suffix and no hyphen.
    """
    with tempfile.TemporaryDirectory() as folder:
        inside, out = Path(folder) / "in", Path(folder) / "out"
        inside.mkdir()
        for name, data in workbooks.items():
            (inside / f"{name}.xlsx").write_bytes(_without_print_titles(data))
        said = convert([inside / f"{name}.xlsx" for name in workbooks], out, _EVERY_SHEET)
        for name in workbooks:
            made = sorted(out.glob(f"{name}-*.csv"))
            assert made, (name, said)
            yield name, {p.stem.removeprefix(f"{name}-"): _grid(p) for p in made}


def _grid(path: Path) -> Grid:
    with path.open(encoding="utf-8", newline="") as f:
        return list(csv.reader(f))


def _without_print_titles(data: bytes) -> bytes:
    """The workbook without its print titles: no formula reads them, and half of the time of loading goes into them."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "xl/workbook.xml":
                content = re.sub(rb'<definedName name="_xlnm\.Print_Titles"[^>]*>[^<]*</definedName>', b"", content)
                content = content.replace(b"<definedNames></definedNames>", b"")
            new.writestr(name, content)
    return made.getvalue()


def stored(data: bytes) -> Stored:
    """Sheet and cell to formula and stored value of every cell that holds a formula, read from the markup alone.

    A number is a float, a truth a bool, anything else text. A formula without a value has None.
    """
    from lxml import etree

    main = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
    ids = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
    found: dict[tuple[str, str], tuple[str, object]] = {}
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        lead = {r.get("Id"): r.get("Target") for r in etree.fromstring(package.read("xl/_rels/workbook.xml.rels"))}
        for sheet in etree.fromstring(package.read("xl/workbook.xml")).iter(f"{main}sheet"):
            target = lead[sheet.get(ids)].removeprefix("/xl/")
            for formula in etree.fromstring(package.read(f"xl/{target}")).iter(f"{main}f"):
                cell = formula.getparent()
                value, kind = cell.findtext(f"{main}v"), cell.get("t", "n")
                held: object = value
                if value is not None and kind in ("n", "b"):
                    held = float(value) if kind == "n" else value == "1"
                found[sheet.get("name"), cell.get("r")] = (f"={formula.text or ''}", held)
    return found


def formula_cells(path: Path) -> Iterator[tuple[str, str, str, object]]:
    """Sheet, cell, formula and stored value of every cell that holds a formula."""
    from openpyxl import load_workbook

    formulas, values = load_workbook(path), load_workbook(path, data_only=True)
    for sheet in formulas.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    yield sheet.title, cell.coordinate, str(cell.value), values[sheet.title][cell.coordinate].value
