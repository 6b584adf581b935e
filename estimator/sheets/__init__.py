"""The only place that opens a workbook to read: door check, tidied copy, cells, column declarations."""
