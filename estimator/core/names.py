"""How names are compared."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_TURNING = frozenset(map(chr, [0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]))
_UNSEEN = dict.fromkeys([0x200B, 0x200C, 0x200D, 0x2060, 0xFEFF, 0x00AD])


# names come back thousands of times in a job; typed, since 1, 1.0 and True are one key of a dictionary
@lru_cache(maxsize=50_000, typed=True)
def key(name: object) -> str:
    """The form in which two names are the same: case, width, outer and repeated space do not count.

    >>> key(" Post  A "), key(1.0), key("1"), key(1)
    ('post a', '1', '1', '1')
    """
    text = unicodedata.normalize("NFKC", as_text(name)).translate(_UNSEEN)
    text = " ".join(text.split()).casefold()
    return re.sub(r"^(\d+)\.0+$", r"\1", text)


def as_text(value: object) -> str:
    """A cell value as the text a person would type for it; whole floats lose their .0."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return str(value).strip()


def visible(text: str) -> str:
    """Text as it may go to a terminal: what would act on it, or turn the order of letters, is shown by its number.

    >>> visible("a\\x1b[31m b\u202ec")
    'a\\\\x1b[31m b\\\\u202ec'
    """
    if text.isprintable():
        return text
    acts = {c for c in set(text) if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") or c in _TURNING}
    return "".join(c.encode("unicode_escape").decode() if c in acts else c for c in text)
