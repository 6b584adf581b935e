"""From lines to a price: charges, taxes, totals; Decimal only."""
