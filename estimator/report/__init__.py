"""Everything that is written: the priced workbook, the customer's copy, blank workbooks, JSON."""
