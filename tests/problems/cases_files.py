"""Files that cannot be opened as a job."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.problems.model import Case


def _file(name: str, content: bytes) -> Callable[[Path], Path]:
    def build(folder: Path) -> Path:
        (folder / name).write_bytes(content)
        return folder / name

    return build


def _case(code: str, build: Callable[[Path], Path]) -> Case:
    """A file that is refused with this code alone."""
    return Case(f"file {code}", build, frozenset({("", "", code)}))


CASES: tuple[Case, ...] = (
    _case("file-not-found", lambda folder: folder / "job.xlsx"),
    _case("file-empty", _file("job.xlsx", b"")),
)
