"""How the text of JOB-priced.json is laid out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any


def laid_out(data: Mapping[str, Any]) -> str:
    """A line for each key, and for each element of a list: readable, and ten times faster than with every value on a
    line of its own."""
    lines = []
    for name, value in data.items():
        if isinstance(value, list) and value:
            rows = ",\n  ".join(json.dumps(v, ensure_ascii=False) for v in value)
            lines.append(f"{json.dumps(name)}: [\n  {rows}\n ]")
        else:
            lines.append(f"{json.dumps(name)}: {json.dumps(value, ensure_ascii=False)}")
    return "{\n " + ",\n ".join(lines) + "\n}"
