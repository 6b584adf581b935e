"""Samples saved as .ods and .xls by an office program: the same values, the same prices, our own sheets known again."""

from __future__ import annotations

import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest

from estimator.core.problems import Problem
from estimator.jobfile import price_file
from estimator.sheets.cells import Book, Cell, open_book
from tests.build import DAY
from tests.golden.samples import FOLDER
from tests.office import absent, program
from tests.workbooks.books import priced, prices, said
from tests.workbooks.test_other_readers import every_kind_of_value, same

SAMPLES = ("orchard",)
KINDS = ("ods", "xls")


def save_as_other_kinds(folder: Path, office: str) -> None:
    """The samples as .xlsx and, as the program saves them, as .ods and .xls."""
    for name in SAMPLES:
        (folder / f"{name}.xlsx").write_bytes((FOLDER / f"{name}.xlsx").read_bytes())
    (folder / "values.xlsx").write_bytes(every_kind_of_value())
    price_file(folder / "orchard.xlsx", today=DAY, quote=False, crew=False, drawings=False)
    sources = [folder / f"{name}.xlsx" for name in (*SAMPLES, "values", "orchard-priced")]
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    for kind in KINDS:
        command = [office, profile, "--headless", "--convert-to", kind, "--outdir", str(folder), *map(str, sources)]
        subprocess.run(command, check=True, capture_output=True, timeout=240)


def book(path: Path) -> Book:
    found = open_book(path)
    assert not isinstance(found, Problem), found
    return found[1]


def values(made: Book) -> dict[str, Mapping[tuple[int, int], Cell]]:
    return {s.name: s.cells for s in made.sheets}


def values_and_prices_are_those_of_the_xlsx(saved: Path, kind: str) -> None:
    for name in SAMPLES:
        one, other = book(saved / f"{name}.xlsx"), book(saved / f"{name}.{kind}")
        assert other.names == one.names
        wanted, found = values(one), values(other)
        for sheet, cells in wanted.items():
            assert {p for p, c in cells.items() if c.value != ""} == set(found[sheet])
            assert [p for p, c in found[sheet].items() if not same(cells[p].value, c.value)] == []
            assert [p for p, c in found[sheet].items() if cells[p].kind != c.kind] == []
        assert [s.hidden_rows | s.filtered_rows for s in other.sheets] == [
            s.hidden_rows | s.filtered_rows for s in one.sheets
        ]
        assert [s.state != "visible" for s in other.sheets] == [s.state != "visible" for s in one.sheets]
    data = (saved / f"orchard.{kind}").read_bytes()
    assert prices(priced(data, f"orchard.{kind}")) == prices(priced((saved / "orchard.xlsx").read_bytes()))


def every_kind_of_value_comes_through(saved: Path, kind: str) -> None:
    one, other = values(book(saved / "values.xlsx"))["Values"], values(book(saved / f"values.{kind}"))["Values"]
    per_cents = [p for p, c in one.items() if "%" in c.number_format]
    assert per_cents
    assert [p for p in per_cents if "%" not in other[p].number_format] == []
    assert "mm" in other[6, 1].number_format
    for place in ((1, 1), (2, 1), (3, 1), (4, 1), (5, 1), (1, 3)):
        assert other[place].kind == one[place].kind
        assert other[place].value == one[place].value
    results = [(row, 3) for row in (2, 3, 4, 5)]
    assert [bool(other[p].formula) for p in results] == [bool(one[p].formula) for p in results] == [True] * 4
    assert (other[5, 3].kind, other[5, 3].value) == ("error", "#N/A")
    assert other[2, 3].formula == "=A1"


def our_own_sheets_are_known_again_and_nothing_is_overwritten(saved: Path, kind: str) -> None:
    made = book(saved / f"orchard-priced.{kind}")
    assert {"Summary", "Bill", "Basis"} <= set(made.own.values())
    assert [s.name for s in made.sheets] == [s.name for s in book(saved / "orchard.xlsx").sheets]
    before = (saved / "orchard-priced.xlsx").read_bytes()
    done = price_file(saved / f"orchard-priced.{kind}", today=DAY, quote=False, crew=False, drawings=False)
    assert [p.name for p in done.written] == ["orchard-priced-priced.xlsx"]
    assert "no sheets can be put" in said(done.problems, "written-alone")
    assert (saved / "orchard-priced.xlsx").read_bytes() == before


@pytest.mark.office
def test_samples_saved_by_an_office_program(tmp_path: Path) -> None:
    """One test, since the program takes its time to start."""
    office = program()
    if office is None:
        absent("workbooks of other kinds")
        return
    save_as_other_kinds(tmp_path, office)
    for kind in KINDS:
        values_and_prices_are_those_of_the_xlsx(tmp_path, kind)
        every_kind_of_value_comes_through(tmp_path, kind)
        our_own_sheets_are_known_again_and_nothing_is_overwritten(tmp_path, kind)
