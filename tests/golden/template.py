"""The blank job workbook that is shipped. `python -m tests.golden.template` writes it; a test rebuilds and compares."""

from __future__ import annotations

from pathlib import Path

from estimator.report.blank import blank_job
from tests.build import DAY

TEMPLATE = Path(__file__).parents[2] / "templates" / "job.xlsx"


def build() -> bytes:
    """The bytes of `templates/job.xlsx`."""
    return blank_job(None, DAY)


def main() -> None:
    """Write the blank job workbook."""
    TEMPLATE.write_bytes(build())


if __name__ == "__main__":
    main()
