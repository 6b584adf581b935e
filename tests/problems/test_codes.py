"""Every code of the catalogue is provoked by a real job, and told at its cell."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.core.catalogue import CATALOGUE
from tests.problems.model import Case, cases, provoke

ALL = cases()


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_a_case_is_told_at_its_cells(case: Case, tmp_path: Path) -> None:
    found = provoke(case, tmp_path)
    at = {(p.place.sheet, p.place.cell, p.code) for p in found}
    assert sorted(case.told - at) == [], f"not told; there is {sorted(at)}"
    errors = {(p.place.sheet, p.place.cell, p.code) for p in found if p.level == "error"}
    assert sorted(errors - case.told) == [], [p.message for p in found if p.level == "error"]
    for p in found:
        where = str(p.place)
        assert p.message.startswith(f"{where}: ") if where else p.message, p
        assert "{" not in p.message, p.message


def test_no_two_cases_have_one_name() -> None:
    names = [case.name for case in ALL]
    assert sorted({name for name in names if names.count(name) > 1}) == []


def test_every_code_of_the_catalogue_has_a_case() -> None:
    provoked = {code for case in ALL for _, _, code in case.told}
    assert provoked == set(CATALOGUE)
