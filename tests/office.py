"""Recalculate workbooks in an office program and read every formula cell back."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
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


def recalculate(paths: Sequence[Path], out: Path) -> list[Path]:
    """Each workbook recalculated and saved as .xlsx under its own name in `out`, all in one run of the program.

    The paths need names that differ. Raises AssertionError when the program gives no file.
    """
    office = program()
    assert office, "LibreOffice is not installed"
    out.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        user = Path(home) / "user"
        user.mkdir()
        (user / "registrymodifications.xcu").write_text(_PROFILE, encoding="utf-8")
        command = [office, f"-env:UserInstallation={Path(home).as_uri()}", "--headless", "--convert-to", "xlsx"]
        done = subprocess.run(
            [*command, "--outdir", str(out), *map(str, paths)], capture_output=True, text=True, timeout=600, check=False
        )
    made = [out / p.with_suffix(".xlsx").name for p in paths]
    assert all(p.exists() for p in made), done.stdout + done.stderr
    return made


def formula_cells(path: Path) -> Iterator[tuple[str, str, str, object]]:
    """Sheet, cell, formula and stored value of every cell that holds a formula."""
    from openpyxl import load_workbook

    formulas, values = load_workbook(path), load_workbook(path, data_only=True)
    for sheet in formulas.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    yield sheet.title, cell.coordinate, str(cell.value), values[sheet.title][cell.coordinate].value
