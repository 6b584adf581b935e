"""Every problem the engine can report: code, level, and the sentence that says what to do next.

A sentence is completed with named words. The place (sheet and cell) is put before it by `problem`.
"""

from __future__ import annotations

from typing import Literal

Entry = tuple[Literal["error", "warning", "note"], str]

CELLS: dict[str, Entry] = {
    "blank": ("error", "'{column}' is blank; it is needed here."),
}

FILES: dict[str, Entry] = {}

RATES: dict[str, Entry] = {}

JOB: dict[str, Entry] = {}

GEOMETRY: dict[str, Entry] = {}

TAKEOFF: dict[str, Entry] = {}

PRICING: dict[str, Entry] = {}

REPORT: dict[str, Entry] = {}

CATALOGUE: dict[str, Entry] = {
    **CELLS,
    **FILES,
    **RATES,
    **JOB,
    **GEOMETRY,
    **TAKEOFF,
    **PRICING,
    **REPORT,
}
