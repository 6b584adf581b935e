"""Every problem the engine can report: code, level, and the sentence that says what to do next.

A sentence is completed with named words. The place (sheet and cell) is put before it by `problem`.
"""

from __future__ import annotations

from typing import Literal

Entry = tuple[Literal["error", "warning", "note"], str]

CELLS: dict[str, Entry] = {
    "blank": ("error", "'{column}' is blank; it is needed here."),
    "not-a-number": ("error", "'{found}' in '{column}' is not a number; write one, such as {wanted}."),
    "not-whole": ("error", "'{found}' in '{column}' is not a whole number; write one, such as {wanted}."),
    "ask-number": (
        "error",
        "'{found}' in '{column}' can be {first} or {second}; write it without the separator, or set 'Decimal mark' "
        "on sheet Job.",
    ),
    "ask-range": (
        "error",
        "'{found}' in '{column}' can be a range, a fraction or a date; write one number, such as {wanted}.",
    ),
    "ask-percent": ("error", "{found} in '{column}' can be {first} or {second}; write it with its per cent sign."),
    "ask-date": (
        "error",
        "'{found}' in '{column}' can be more than one day; write it as year-month-day, such as 2026-04-03.",
    ),
    "not-a-date": ("error", "'{found}' in '{column}' is not a date; write it as year-month-day, such as 2026-04-03."),
    "unit-unknown": ("error", "'{found}' in '{column}': '{unit}' is no unit known here; write {wanted}."),
    "unit-wrong-kind": (
        "error",
        "'{found}' in '{column}': '{unit}' is {is_kind}; {want_kind} is wanted, such as {wanted}.",
    ),
    "unit-not-wanted": ("error", "'{found}' in '{column}': a plain number without a unit is wanted, such as {wanted}."),
    "unit-needed": ("error", "{found} in '{column}' has no unit; write it with one, such as {wanted}."),
    "inches": ("error", "'{found}' in '{column}': inches after feet lie below 12; write it such as {wanted}."),
    "out-of-bounds": ("error", "{found}? '{column}' lies between {low} and {high}.{hint}"),
    "date-as-number": (
        "error",
        "'{column}' holds the date {found} (cell format {format}); was {typed} typed? Format the cell as a number "
        "and write it again, such as {wanted}.",
    ),
    "time-as-number": (
        "error",
        "'{column}' holds the time {found} (cell format {format}); was {typed} typed? Format the cell as a number "
        "and write it again, such as {wanted}.",
    ),
    "bool-as-number": ("error", "'{column}' holds {found}, a yes or no; write a number, such as {wanted}."),
    "percent-as-number": (
        "error",
        "'{column}' holds the per cent {found}; was {typed} typed? Format the cell as a number and write it again, "
        "such as {wanted}.",
    ),
    "date-as-name": (
        "error",
        "'{column}' holds the date {found} (cell format {format}); was {typed} typed? Format the cell as text and "
        "write it again.",
    ),
    "error-cell": ("error", "'{column}' holds the error {found}{formula}; mend it or write the value."),
    "error-text": ("warning", "'{column}' holds the error {found}{formula}; it is left blank."),
    "uncalculated": (
        "error",
        "'{column}' holds the formula {formula}, which was never calculated; open the workbook in the spreadsheet "
        "program and save it, or write the value.",
    ),
    "not-yes-or-no": ("error", "'{found}' in '{column}' is neither yes nor no; write yes, or no, or leave it blank."),
    "not-a-choice": ("error", "'{found}' in '{column}' is not one of {choices}.{hint}"),
    "read-in-unit": ("note", "'{column}' gives no unit; its bare numbers are read as {unit}."),
    "read-as": ("note", "'{found}' in '{column}' is read as {shown}; {other} would lie outside its bounds."),
    "read-as-percent": ("note", "{found} in '{column}' is read as {shown}."),
    "unit-conflict": (
        "warning",
        "'{column}' shows '{shown}', but its heading says {unit}: {first} or {second}? It is read as {first}.",
    ),
    "unit-shown": ("warning", "'{column}' shows '{shown}' and its heading names no unit: it is read as {first}."),
    "sheet-missing": ("error", "There is no sheet '{sheet}' in {file}; add it, or rename the one that is meant.{hint}"),
    "sheet-empty": ("error", "The sheet has no rows; its headings are wanted in the first {top} rows: {wanted}."),
    "sheet-twice": ("error", "The sheets {found} have one name; keep one of them."),
    "sheet-hidden": ("note", "The sheet is hidden; it is read all the same."),
    "heading-missing": ("error", "The heading '{column}' is missing; add the column.{hint}"),
    "heading-twice": ("error", "The columns {letters} both mean '{column}'; keep one of them."),
    "headings-unknown": ("note", "Columns that are not known here and not read: {found}."),
    "example-skipped": ("note", "Rows that are an EXAMPLE are skipped: {rows}."),
    "total-skipped": ("note", "Rows of totals are skipped: {rows}."),
    "merged-filled": ("note", "Merged cells of '{column}' are read as one value in each of their rows: {found}."),
    "merged-cell": ("error", "'{column}' is merged with {found}; unmerge it and write the value of this row."),
    "rows-hidden": ("note", "Hidden rows are read like the others: {rows}."),
    "rows-filtered": ("note", "Rows that a filter hides are read like the others: {rows}."),
    "columns-hidden": ("note", "Hidden columns are read like the others: {found}."),
    "fed-by-output": (
        "warning",
        "Cells are fed from a sheet of an earlier result, so they are of the last run: {cells}. Write the values.",
    ),
    "fed-by-other-book": (
        "warning",
        "Cells are fed from another workbook and hold what it said when last saved: {cells}. Check them.",
    ),
    "manual-calculation": (
        "warning",
        "The workbook calculates only by hand, so results of formulas can be old: {cells}. Calculate and save it.",
    ),
    "item-unknown": ("note", "Items that are not known here and not read: {found}."),
    "item-twice": ("error", "'{column}' stands twice, in {first} and {second}; keep one of them."),
    "size-unclear": ("error", "'{found}' is no size; write a stock code, {wanted}."),
    "size-needs-diagonal": (
        "error",
        "'{found}': four sides fix no shape; add the diagonal from the first corner, such as {wanted}.",
    ),
    "size-too-many-sides": (
        "error",
        "'{found}' has {count} sides; a sail of five corners and more is made to fit: write that.",
    ),
    "size-impossible": ("error", "'{found}' closes to no shape: {side} is not shorter than {others} together."),
    "size-bounds": ("error", "'{found}': a side of {shown}? Sides lie between {low} and {high}.{hint}"),
}

FILES: dict[str, Entry] = {
    "file-not-found": ("error", "There is no such file; look at the folder and the spelling."),
    "folder-not-file": ("error", "This is a folder; name the workbook in it."),
    "file-not-readable": (
        "error",
        "The file cannot be read ({reason}); close it elsewhere or get the right to read it.",
    ),
    "lock-file": ("error", "This is the lock file of an open workbook, not the workbook; name the one without ~$."),
    "file-empty": (
        "error",
        "The file has 0 bytes; it may not be downloaded from the cloud yet: open it there once, or copy it again.",
    ),
    "file-password": ("error", "The workbook is protected by a password; save a copy without one."),
    "file-old-xls": ("error", "This is an old .xls workbook; open it and save it as .xlsx."),
    "file-html": ("error", "This is a web page (HTML) with a workbook's name; open it and save it as .xlsx."),
    "file-xml": ("error", "This is an XML file, not an .xlsx workbook; open it and save it as .xlsx."),
    "file-csv": ("error", "This is a text file (CSV), not an .xlsx workbook; open it and save it as .xlsx."),
    "file-other": ("error", "This is no workbook; save the workbook as .xlsx and name that file."),
    "file-cut-short": ("error", "The file is cut short or damaged; copy or download it again."),
    "file-ods": ("error", "This is an OpenDocument sheet (.ods); open it and save it as .xlsx."),
    "file-xlsb": ("error", "This is a binary workbook (.xlsb); open it and save it as .xlsx."),
    "file-numbers": ("error", "This is a Numbers document; export it as an .xlsx workbook."),
    "file-other-office": ("error", "This is an office document, but no workbook; name the .xlsx workbook."),
    "zip-no-workbook": ("error", "This is a zip archive, but no workbook; take the .xlsx workbook out of it."),
    "file-twin-parts": (
        "error",
        "The file holds the part {part} twice, so it can be read in two ways; open it and save it again.",
    ),
    "file-too-big": (
        "error",
        "The file unpacks to {size}, more than the {limit} read here; delete the sheets that are not part of the job.",
    ),
    "file-too-many-parts": (
        "error",
        "The file has {found} parts, more than the {limit} read here; delete sheets and pictures.",
    ),
    "file-packed-too-tight": (
        "error",
        "The part {part} unpacks to {size}, out of all proportion to the file; delete the empty formatted rows, or "
        "take a file from a source you trust.",
    ),
    "file-doctype": (
        "error",
        "The part {part} holds a document type (DOCTYPE), which no workbook needs; open it and save it again.",
    ),
    "part-broken": (
        "error",
        "The file is damaged in {part} ({reason}); open it, let it be repaired, and save it again.",
    ),
}

RATES: dict[str, Entry] = {
    "rate-file": ("error", "this file of the rate book cannot be read: {reason}."),
    "rate-folder-empty": ("error", "no CSV file lies in this folder. A rate book has one for each table."),
    "rate-csv": ("error", "the CSV is broken: {reason}. Look for a quotation mark that is opened and never closed."),
    "rate-encoding": ("note", "not UTF-8: read as Windows Western. Look at accented letters, or save it as UTF-8."),
    "rate-table-missing": ("error", "the rate book has no {kind} '{name}'. Add it; its headings are enough."),
    "rate-table-unknown": ("note", "'{name}' is no table of a rate book and was left alone.{hint}"),
    "rate-table-twice": ("error", "the table '{name}' is here twice; the other one is {other}. Keep one."),
    "rate-column-missing": ("error", "the column '{column}' is missing. Add it beside the other headings."),
    "rate-column-unknown": ("note", "the column '{column}' is not known here and was left alone.{hint}"),
    "rate-column-twice": ("error", "the column '{column}' is here twice; the other one is {other}. Keep one."),
    "rate-example": ("note", "a row named EXAMPLE is skipped."),
    "rate-cell": ("error", "'{column}' holds '{found}'; it needs {wanted}.{hint}"),
    "rate-bounds": ("error", "'{column}' holds '{found}'; it has to lie between {low} and {high}. Look at the unit."),
    "rate-row-twice": (
        "error",
        "rows {other} and {row} both say '{name}' with {since}. Give the newer one its own valid_from.",
    ),
    "rate-code-twice": ("error", "the code '{found}' is also in {other}. A code may stand only once in the book."),
    "rate-name-twice": ("error", "the name '{name}' also means '{other}' in row {row}. Keep it in one row."),
    "rate-reference": ("error", "'{column}' points at '{found}', which is not in {table}.{hint}"),
    "rate-reference-later": (
        "error",
        "'{column}' points at '{found}' of {table}, which holds only from {since}; the day asked for is {day}.",
    ),
    "rate-part-kind": ("error", "'{column}' points at '{found}', which is a {kind}; it needs a {wanted}."),
    "rate-part-blank": ("error", "a {kind} needs '{column}'."),
    "rate-part-lengths": ("error", "a tensioner is longer open than closed; here closed {closed} m, open {open} m."),
    "rate-part-load": ("warning", "'{found}' has no working load and no breaking load; a corner with it shows no load."),
    "rate-set-run": ("error", "the set '{name}' has neither a chain nor a wire rope; it needs at least one."),
    "rate-per": ("error", "'{column}' holds '{found}'; a {what} is priced per {wanted}."),
    "rate-measure": ("error", "'{each}' has no measure '{measure}'; it has {allowed}."),
    "rate-margin": ("error", "a step on price takes less than 100 %; here {found} %. 20 % on price is 25 % on cost."),
    "rate-none-in-force": ("error", "no row of '{table}' holds on {day}; {since}."),
    "rate-business-name": ("warning", "the table 'business' has no 'trading name'; the quote will not say who quotes."),
    "setting-missing": ("error", "the setting '{name}' is missing. Add a row for it{unit}."),
    "setting-later": ("error", "the setting '{name}' holds only from {since}; the day asked for is {day}."),
    "setting-unknown": ("note", "the setting '{name}' is not one that the engine uses.{hint}"),
}

JOB: dict[str, Entry] = {}

GEOMETRY: dict[str, Entry] = {}

TAKEOFF: dict[str, Entry] = {}

PRICING: dict[str, Entry] = {}

REPORT: dict[str, Entry] = {
    "package-own-sheet": (
        "error",
        "This sheet of yours has a name the priced workbook needs: rename your own sheet '{sheet}', save, run again.",
    ),
    "package-strict": (
        "error",
        "The workbook is saved in the strict variant of its format, into which no sheets can be put: "
        "use Save As, type 'Excel Workbook (.xlsx)', and run again.",
    ),
    "package-shared": (
        "error",
        "The workbook is shared and keeps a history of changes, which new sheets would break: stop sharing it, "
        "save, and run again.",
    ),
    "package-formats": (
        "error",
        "The workbook holds {count} cell formats; past 60,000 it may not open again. Copy the job's sheets "
        "into a blank job workbook and run again.",
    ),
    "package-signed": (
        "warning",
        "The workbook carries a digital signature; it does not hold for the priced copy. The signed file stays as it is.",
    ),
    "package-protected": (
        "warning",
        "The workbook's structure is protected; the sheets are added all the same and the protection stays on.",
    ),
    "save-open": (
        "error",
        "It is open{holder}: close it there or pass --out with another folder. "
        "If nobody has it open, delete '{lock}' beside it.",
    ),
    "save-refused": (
        "error",
        "It cannot be replaced, most likely because it is open: close it in the spreadsheet program, "
        "or pass --out with another folder.",
    ),
    "save-no-folder": ("error", "There is no folder '{folder}': make it, or pass --out with one that exists."),
    "save-folder-closed": (
        "error",
        "Nothing may be written in the folder '{folder}': ask for the right to, or pass --out with another folder.",
    ),
    "save-read-only": (
        "error",
        "It is marked read-only: take the mark off, or pass --out with another folder.",
    ),
    "save-in-the-way": ("error", "A folder has this name: move it, or pass --out with another folder."),
    "save-disk-full": (
        "error",
        "The disk is full, nothing was changed: make room, or pass --out with a folder on another disk.",
    ),
    "save-damaged": (
        "error",
        "What was written did not read back the same, nothing was changed: try again, or pass --out with another folder.",
    ),
    "save-failed": ("error", "It could not be written ({reason}), nothing was changed: pass --out with another folder."),
}

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
