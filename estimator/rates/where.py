"""Where the default rate book lies."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parents[1]


def default_rates() -> Path:
    """The folder of the default rate book: inside the installed package, else at the root of a checkout."""
    installed = _PACKAGE / "templates" / "rates"
    return installed if installed.is_dir() else _PACKAGE.parent / "templates" / "rates"
