"""The rate book: frozen rows, read from a folder of CSV files or a workbook."""
