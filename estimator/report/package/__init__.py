"""The package writer: our sheets go into the user's workbook, every other part of it stays byte for byte.

Nothing is imported here, so that saving a file does not load the XML library.
"""
