"""Twelve files, and what one process makes of them: everything else is held against that."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.many.folder import FULL, run_folder, twelve


@pytest.fixture(scope="session")
def reference(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The folder with the jobs, and the one with the outputs of one process."""
    top = tmp_path_factory.mktemp("reference")
    folder, out = twelve(top / "jobs"), top / "one"
    out.mkdir()
    assert run_folder(folder, replace(FULL, out=out), processes=1).status == 2
    return folder, out
