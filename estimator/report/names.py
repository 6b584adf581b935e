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
    "Order",
    "Planned and used",
    "Set-out",
    "To check",
    "Basis",
)
USED = "Planned and used"  # written only where the sheet Actuals has rows
