"""What our sheets are for, which is also their name where the user has not renamed them."""

from __future__ import annotations

SHEETS = (
    "Summary",
    "Bill",
    "Side by side",
    "Corners",
    "Posts",
    "Screening",
    "Consent",
    "Labour",
    "Set-out",
    "To check",
    "Basis",
)
