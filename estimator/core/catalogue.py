"""Every problem the engine can report: code, level, and the sentence that says what to do next.

A sentence is completed with named words. The place (sheet and cell) is put before it by `problem`.
"""

from __future__ import annotations

from typing import Literal

Entry = tuple[Literal["error", "warning", "note"], str]

CELLS: dict[str, Entry] = {
    "blank": ("error", "'{column}' is blank; it is needed here, so fill it in."),
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
        "'{found}' in '{column}': '{unit}' is {is_kind}; write {want_kind}, such as {wanted}.",
    ),
    "unit-not-wanted": (
        "error",
        "'{found}' in '{column}' has a unit; write a plain number without one, such as {wanted}.",
    ),
    "unit-needed": ("error", "{found} in '{column}' has no unit; write it with one, such as {wanted}."),
    "inches": ("error", "'{found}' in '{column}': inches after feet lie below 12; write it such as {wanted}."),
    "out-of-bounds": (
        "error",
        "{found}? '{column}' lies between {low} and {high}; check the number and its unit.{hint}",
    ),
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
        "'{column}' is formatted as per cent and shows {found}; was {typed} meant? Format the cell as a number and "
        "write it again, such as {wanted}.",
    ),
    "date-as-name": (
        "error",
        "'{column}' holds the date {found} (cell format {format}); was {typed} typed? Format the cell as text and "
        "write it again.",
    ),
    "error-cell": ("error", "'{column}' holds the error {found}{formula}; mend it or write the value."),
    "error-text": (
        "warning",
        "'{column}' holds the error {found}{formula}; it is left blank: mend it, or clear the cell.",
    ),
    "uncalculated": (
        "error",
        "'{column}' holds the formula {formula}, which was never calculated; open the workbook in the spreadsheet "
        "program and save it, or write the value.",
    ),
    "not-yes-or-no": ("error", "'{found}' in '{column}' is neither yes nor no; write yes, or no, or leave it blank."),
    "not-a-choice": ("error", "'{found}' in '{column}' is not one of {choices}; choose one of them.{hint}"),
    "read-in-unit": (
        "note",
        "'{column}' gives no unit; its bare numbers are read as {unit}. If they are not, write the unit in the "
        "heading.",
    ),
    "read-as": (
        "note",
        "'{found}' in '{column}' is read as {shown}; {other} would lie outside its bounds. If it is meant, write it "
        "without the separator.",
    ),
    "read-as-percent": (
        "note",
        "{found} in '{column}' is read as {shown}; if it is another, write it with its per cent sign.",
    ),
    "small-percent": (
        "warning",
        "{found} in '{column}' is read as {shown}, since its heading says per cent. Write {fraction} if that is meant, "
        "or {shown} with its sign if not.",
    ),
    "unit-conflict": (
        "warning",
        "'{column}' shows '{shown}', but its heading says {unit}: {first} or {second}? It is read as {first}; make "
        "the heading and the format of the cell agree.",
    ),
    "unit-shown": (
        "warning",
        "'{column}' shows '{shown}' and its heading names no unit: it is read as {first}; write the unit in the "
        "heading.",
    ),
    "sheet-missing": ("error", "There is no sheet '{sheet}' in {file}; add it, or rename the one that is meant.{hint}"),
    "sheet-empty": ("error", "The sheet has no rows; write its headings in one of the first {top} rows: {wanted}."),
    "sheet-twice": ("error", "The sheets {found} have one name; keep one of them."),
    "sheet-read-as": ("note", "There is no sheet '{sheet}'; this one is read for it: rename it if another is meant."),
    "sheet-marked": (
        "error",
        "The sheet bears the mark of our own results, so it is not read as '{sheet}': copy its cells to a new sheet, and "
        "delete this one.",
    ),
    "sheet-looks-like": (
        "warning",
        "The sheet has the headings of '{sheet}' and another name, so it is not read; rename it, or put its rows there.",
    ),
    "sheet-unread": (
        "note",
        "The sheet is too long to be looked through, and left alone; where cells of the job are fed from it, check them.",
    ),
    "sheet-hidden": ("note", "The sheet is hidden; it is read all the same, so look through it."),
    "heading-missing": ("error", "The heading '{column}' is missing; add the column.{hint}"),
    "heading-twice": ("error", "The columns {letters} both mean '{column}'; keep one of them."),
    "headings-unknown": (
        "note",
        "Columns that are not known here and not read: {found}. Rename those that the job needs.",
    ),
    "under-no-heading": (
        "note",
        "Cells that stand under no heading are not read: {cells}. Write a heading above those that the job needs.",
    ),
    "above-headings": (
        "note",
        "Rows above the headings, which stand in row {row}, are not read: {rows}. Move those that the job needs "
        "below them.",
    ),
    "value-without-item": ("note", "Values beside no item are not read: {cells}. Write the item before each."),
    "example-skipped": (
        "note",
        "Rows that are an EXAMPLE are skipped: {rows}. Write another name in place of EXAMPLE to have one read.",
    ),
    "total-skipped": ("note", "Rows of totals are skipped: {rows}. Write another name in a row to have it read."),
    "merged-filled": (
        "note",
        "Merged cells of '{column}' are read as one value in each of their rows: {found}. Unmerge them where the "
        "rows differ.",
    ),
    "merged-cell": ("error", "'{column}' is merged with {found}; unmerge it and write the value of this row."),
    "rows-hidden": ("note", "Hidden rows are read like the others: {rows}. Delete those that the job does not need."),
    "rows-filtered": (
        "note",
        "Rows that a filter hides are read like the others: {rows}. Delete those that the job does not need.",
    ),
    "rows-below-table": (
        "note",
        "Rows below the end of the table are read like the others: {rows}. Delete those that the job does not need.",
    ),
    "columns-hidden": ("note", "Hidden columns are read like the others: {found}. Look through them."),
    "fed-by-output": (
        "warning",
        "Cells are fed from a sheet of an earlier result, so they are of the last run: {cells}. Write the values.",
    ),
    "fed-by-other-book": (
        "warning",
        "Cells are fed from another workbook and hold what it said when last saved: {cells}. Check them.",
    ),
    "feeds-not-followed": (
        "warning",
        "It could not be followed where these formulas take their values from: {cells}. Look at them, or write the values.",
    ),
    "manual-calculation": (
        "warning",
        "The workbook calculates only by hand, so results of formulas can be old: {cells}. Calculate and save it.",
    ),
    "item-unknown": ("note", "Items that are not known here and not read: {found}. Rename those that the job needs."),
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
    "sides-do-not-close": (
        "error",
        "'{found}' closes to no shape: {side} is not shorter than {others} together; check each of them.",
    ),
    "size-bounds": (
        "error",
        "'{found}': a side of {shown}? Sides lie between {low} and {high}; check the number and its unit.{hint}",
    ),
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
    "file-zeros": (
        "error",
        "The file holds nothing but zeros, so it was not copied to the end; open it once in the cloud or on the drive "
        "it comes from, and copy it again.",
    ),
    "file-pointer": (
        "error",
        "This is only a link to a sheet that lies elsewhere; open it there, download it as .xlsx, and name that file.",
    ),
    "file-beside": (
        "error",
        "This is what a Mac keeps beside a file (its name begins with ._), not the workbook; name the one without ._.",
    ),
    "file-html": ("error", "This is a web page (HTML) with a workbook's name; open it and save it as .xlsx."),
    "file-xml": ("error", "This is an XML file, not an .xlsx workbook; open it and save it as .xlsx."),
    "file-csv": ("error", "This is a text file (CSV), not an .xlsx workbook; open it and save it as .xlsx."),
    "file-other": ("error", "This is no workbook; save the workbook as .xlsx and name that file."),
    "file-cut-short": ("error", "The file is cut short or damaged; copy or download it again."),
    "file-xlsb": ("error", "This is a binary workbook (.xlsb); open it and save it as .xlsx."),
    "file-numbers": ("error", "This is a Numbers document; export it as an .xlsx workbook."),
    "file-other-office": ("error", "This is an office document, but no workbook; name the .xlsx workbook."),
    "zip-no-workbook": ("error", "This is a zip archive, but no workbook; take the .xlsx workbook out of it."),
    "zip-around-workbook": (
        "error",
        "This is a zip archive with a workbook inside; unpack it, and name the workbook.",
    ),
    "file-too-many-cells": (
        "error",
        "The sheets hold more than {limit} cells; delete the rows and sheets that are not part of the job.",
    ),
    "xls-broken": (
        "error",
        "The .xls workbook is damaged ({reason}); open it, let it be repaired, and save it as .xlsx.",
    ),
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
    "rate-file": (
        "error",
        "this file of the rate book cannot be read: {reason}. Close it elsewhere, or save it as CSV again.",
    ),
    "rate-folder-empty": (
        "error",
        "no CSV file lies in this folder. A rate book has one for each table: name its folder, or the workbook that "
        "holds them.",
    ),
    "rate-csv": ("error", "the CSV is broken: {reason}. Look for a quotation mark that is opened and never closed."),
    "rate-encoding": ("note", "not UTF-8: read as Windows Western. Look at accented letters, or save it as UTF-8."),
    "rate-table-missing": ("error", "the rate book has no {kind} '{name}'. Add it; its headings are enough."),
    "rate-table-lacking": (
        "note",
        "the rate book has no {kind} '{name}', so nothing is taken from it. Add it; the default book has one.",
    ),
    "rate-table-unknown": (
        "note",
        "'{name}' is no table of a rate book and was left alone; rename it if it is meant to be one.{hint}",
    ),
    "rate-table-twice": ("error", "the table '{name}' is here twice; the other one is {other}. Keep one."),
    "rate-cell": ("error", "'{column}' holds '{found}'; write {wanted}.{hint}"),
    "rate-heading-unit": (
        "error",
        "the heading of '{column}' has {found}; write a unit such as {wanted} in its brackets.",
    ),
    "rate-row-twice": (
        "error",
        "rows {other} and {row} both say '{name}' with {since}. Give the newer one its own valid_from.",
    ),
    "rate-code-twice": (
        "error",
        "the code '{found}' is also in {other}. A code may stand only once in the book: give one of them another.",
    ),
    "rate-name-twice": ("error", "the name '{name}' also means '{other}' in row {row}. Keep it in one row."),
    "rate-reference": (
        "error",
        "'{column}' points at '{found}', which is not in {table}; add it there, or name another.{hint}",
    ),
    "rate-reference-later": (
        "error",
        "'{column}' points at '{found}' of {table}, which holds only from {since}; the day asked for is {day}. Add a "
        "row of it that holds earlier, or name another.",
    ),
    "rate-part-kind": ("error", "'{column}' points at '{found}', which is a {kind}; name a {wanted}."),
    "rate-part-blank": ("error", "a {kind} needs '{column}'; fill it in."),
    "rate-part-lengths": (
        "error",
        "a tensioner is longer open than closed; here closed {closed} m, open {open} m: correct one of them.",
    ),
    "rate-part-load": (
        "warning",
        "'{found}' has no working load and no breaking load, so a corner with it shows no load; fill in one of them.",
    ),
    "rate-set-run": ("error", "the set '{name}' has neither a chain nor a wire rope; name at least one."),
    "rate-per": (
        "error",
        "'{column}' holds '{found}'; a {what} is priced per {wanted}: change the unit, and the price with it.",
    ),
    "rate-breaks": (
        "error",
        "'price breaks' has {found} out of order; give each step a larger quantity than the one before and no higher "
        "price, here at most {before}.",
    ),
    "rate-breaks-twice": ("error", "'price breaks' and 'stock prices' are both given; keep one of them."),
    "rate-stock-prices": (
        "error",
        "'stock prices' holds {prices} for {lengths} stock lengths; give a price for each of them, in their order.",
    ),
    "rate-stock-lengths": (
        "error",
        "'stock lengths' are for chain and wire rope, and a {kind} is bought by the piece; clear them.",
    ),
    "rate-per-mass": (
        "error",
        "a post priced per {found} needs 'mass', since its quantity is in m; fill it in, or price it per m.",
    ),
    "rate-measure": ("error", "'{each}' has no measure '{measure}'; choose one of {allowed}."),
    "rate-margin": (
        "error",
        "a step on price takes less than 100 %; here {found} %. 20 % on price is 25 % on cost: write it as a share "
        "of the price.",
    ),
    "rate-tenfold": (
        "warning",
        "'{column}' of '{name}' is {now} and was {before} {since}, about {times} that. Was {meant} meant? Correct "
        "it, or leave it if it is right.",
    ),
    "rate-high": (
        "warning",
        "'{name}' of {table} takes {found} %; over {limit} % is not usual. Was {meant} % meant? Correct it, or leave "
        "it if it is right.",
    ),
    "trade-cost-apart": (
        "warning",
        "an hour of {name} costs {cost} here and {built} by its wages; {cost} is used. Clear 'cost per hour' to take "
        "what the wages say, or mend one of them.",
    ),
    "trade-cost-blank": ("error", "an hour of {name} has no cost: fill it in, or add the trade to the table wages."),
    "wage-hours": (
        "warning",
        "{name}: {billed} billable hours a year are more than the {paid} that are paid; was it the other way round? "
        "Check both.",
    ),
    "stages-sum": (
        "error",
        "the payment stages {when} sum to {found} %; they share out what is left to pay: make it 100 %.",
    ),
    "digging-limit-bare": (
        "error",
        "'{name}' says no cost of an hour beyond its minutes; name a trade, an item by the hour or day, or both.",
    ),
    "rate-none-in-force": ("error", "no row of '{table}' holds on {day}; {since}. Add a row that holds earlier."),
    "rate-business-name": (
        "warning",
        "the table 'business' has no 'trading name', so the quote will not say who quotes; add it.",
    ),
    "setting-missing": ("error", "the setting '{name}' is missing. Add a row for it{unit}."),
    "setting-later": (
        "error",
        "the setting '{name}' holds only from {since}; the day asked for is {day}. Add a row of it that holds earlier.",
    ),
    "setting-unknown": (
        "note",
        "the setting '{name}' is not one that the engine uses; rename it if it is meant to be one.{hint}",
    ),
}

JOB: dict[str, Entry] = {
    "not-a-job": (
        "error",
        "this workbook has none of the sheets Job, Sites, Fixings and Options; start one with 'estimator new'.",
    ),
    "duplicate-key": ("error", "{column} '{name}' stands in {cells}; give each row a name of its own."),
    "rows-disagree": ("error", "{cells} say different things for {column} of one option; make them agree."),
    "not-in-rate-book": (
        "error",
        "'{found}' is no {what} of the rate book ({table}): {allowed}. Choose one of them, or add it there.{hint}",
    ),
    "margin-and-markup": ("error", "Margin ({margin}) and Markup are both given; keep one and clear the other."),
    "priced-today": (
        "note",
        "'Priced on' is blank; priced on {day}, today. Fill in that day to have the same rates later.",
    ),
    "job-defaults": ("note", "blank items were taken as: {taken}. Fill in what is to be otherwise."),
    "access-blank": (
        "note",
        "'Access' of {name} is blank, so no labour factor and no access gear are priced; fill it in.",
    ),
    "travel-blank": ("warning", "'Travel' of {name} is blank; no travel is priced. Fill in the km, one way."),
    "wind-kind-blank": ("error", "a wind speed is given, but not what it is; say gust, mean or design."),
    "wind-multiplier-unused": (
        "warning",
        "a design wind has its multipliers in it already; 'Wind multiplier' is not used. Clear it, or say gust.",
    ),
    "site-unknown": (
        "error",
        "'{found}' is not a site of sheet Sites: {known}. Choose one of them, or add it there.{hint}",
    ),
    "site-without-option": (
        "warning",
        "{name} has no option; it is left out of the job's total. Add one on sheet Options.",
    ),
    "coordinate-blank": ("error", "'{column}' is blank; give the fixing Across and Out, or taped distances in Tape."),
    "height-blank": ("error", "neither Height nor Above ground is given; fill in one of them."),
    "heights-disagree": (
        "error",
        "Above ground {above} m does not agree with Height {height} m less Ground level {ground} m; clear one of them.",
    ),
    "height-slipped": (
        "warning",
        "{name} is {height} m above its ground, about {times} the height of the others ({others}). Write {meant} m if "
        "the decimal point has moved; if not, nothing is to be done.",
    ),
    "fixing-under-ground": ("error", "Height {height} m lies under the Ground level {ground} m; check both."),
    "ground-level-zero": (
        "note",
        "'Ground level' is blank for {count} fixings; taken as 0. Fill it in where the ground is not level.",
    ),
    "fixing-unknown": (
        "error",
        "'{found}' is not a fixing of this site: {known}. Choose one of them, or add it to sheet Fixings.{hint}",
    ),
    "corner-twice": (
        "error",
        "{names} stands twice in 'Corners at'; each fixing holds one corner of a sail: name another, or take one out.",
    ),
    "corner-count": ("error", "{count} corners; a sail has 3 to 8. Name the fixings in order round the sail."),
    "corners-blank": ("error", "'Corners at' is blank; name the fixings in order round the sail, or a Wall."),
    "not-a-corner": ("error", "'{found}' in {column} is not a corner of this sail: {known}. Choose one of them."),
    "run-unknown": ("error", "'{found}' is not understood; write chain, wire rope, or chain, D wire rope."),
    "wall-unknown": (
        "error",
        "'{found}' is not a wall of this site: {known}. Choose one of them, or add it to sheet Walls.{hint}",
    ),
    "two-chosen": ("error", "{name} has more than one option chosen ({cells}); mark one."),
    "none-chosen": (
        "warning",
        "{name} has {count} options and none is chosen; it is left out of the job's total. Mark one in 'Chosen'.",
    ),
    "option-unknown": ("error", "'{found}' is not an option of this site: {known}. Choose one of them.{hint}"),
    "extra-without-site": ("error", "option '{name}' is named without its site; fill in Site, or clear Option."),
    "item-and-cost": ("error", "both the item {item} and a cost are given; clear one of them."),
    "extra-without-cost": ("error", "neither Item nor Cost each is given; fill in one, or say By others."),
    "kind-blank": ("note", "'Kind' is blank; taken as material. If it is something else, fill it in."),
}

GEOMETRY: dict[str, Entry] = {
    "corner-mismatch": (
        "error",
        "{size} has {corners} corners and 'Corners at' names {fixings} fixings; choose another size or fixings.",
    ),
    "corners-cross": (
        "error",
        "the sides {first} and {second} cross each other; name the fixings in order round the sail.",
    ),
    "sail-too-large": (
        "error",
        "sail {sail}: {size} does not fit: {why}; {would}. Choose another size, or move a fixing.",
    ),
    "no-stock-fits": (
        "error",
        "sail {sail}: no stock sail of {corners} corners fits ({why}); write 'made to fit' or move a fixing.",
    ),
    "too-small-for-parts": (
        "error",
        "sail {sail}: the fixings leave no room for a sail and its parts: {why}; move them further apart.",
    ),
    "gap-too-short": (
        "error",
        "sail {sail} at {fixing_name}: no tensioner takes up the gap of {gap} mm; at least {needed} mm are needed. "
        "Choose another size, fixing or corner set.",
    ),
    "tensioners-short": (
        "error",
        "sail {sail} at {fixing_name}: no tensioner of the corner sets reaches: the cloth gives {stretch} mm there between "
        "hooking on and tight. Take a smaller size or another cloth, or add a longer tensioner to corner_sets.",
    ),
    "no-corner-set": (
        "error",
        "sail {sail}: no corner set covers a side of {side} m (the widest goes to {widest} m); add a row to corner_sets.",
    ),
    "gap-small": (
        "warning",
        "sail {sail} at {fixing_name}: the gap of {gap} mm is under the usual {least} mm. Choose a smaller size, or "
        "move the fixing.",
    ),
    "off-bisector": (
        "warning",
        "sail {sail} at {fixing_name}: the pull is {off} degrees off the bisector of the corner (limit {limit}); "
        "the cloth will wrinkle. Move the fixing or have the sail made to fit.",
    ),
    "sides-uneven": (
        "warning",
        "sail {sail}: its longest side is {ratio} times its shortest (usual limit {limit}); it will be hard to "
        "tension. Move a fixing if you can.",
    ),
    "placed-by-margin": (
        "warning",
        "sail {sail} fits only when it is shifted to give every corner room; look at the pull directions.",
    ),
    "size-chosen": (
        "note",
        "sail {sail}: {code} (cloth {cloth}) is the largest stock sail that fits. Others: {others}. To have another, "
        "write it in Size.",
    ),
    "tape-same-point": ("error", "a line from {names} to itself; name its other end."),
    "tape-loose-point": ("error", "too few lines hold {names}; tape it to at least two other points."),
    "tape-apart": ("error", "no line joins the groups round {names}; tape lines from one group to the other."),
    "tape-too-steep": (
        "error",
        "the heights of {names} differ by {by} more than the straight line between them; check both.",
    ),
    "tape-repeats-disagree": ("error", "two lines of {names} differ by {by}; tape it again and keep one."),
    "tape-too-long": (
        "error",
        "{names} is {by} longer than the other lines round it together ({lines}); tape these again.",
    ),
    "tape-flexes": ("error", "the lines fix no one shape{areas}; tape {tape} as well."),
    "tape-one-slipped": (
        "warning",
        "the lines do not close; {line} has slipped ({sure} sure): {taped} was taped, {closing} would "
        "close{misread}. Tape it again.",
    ),
    "tape-one-of-these": (
        "warning",
        "the lines do not close: one of them has slipped, and they cannot tell which. It would close with {lines}. "
        "Tape these again.",
    ),
    "tape-several-slipped": (
        "warning",
        "the lines do not close, and no single line explains it; check heights and coordinates, then tape again.",
    ),
    "tape-unchecked": ("warning", "no line is spare, so nothing shows a slip of the tape; tape one more."),
    "tape-other-place": ("warning", "{names} could lie at {places} just as well; tape one more line to it."),
    "tape-mirror": ("note", "{mirror} Check that it is so; if not, give one more fixing its Across and Out."),
    "tape-closure": (
        "note",
        "sides and diagonal {first} make diagonal {second} {by} longer than taped; if that is too much, tape them "
        "again.",
    ),
    "wall-off-the-wall": (
        "error",
        "a mark would leave the wall: {marks}. The longest side along it that fits is {longest}: choose another Size "
        "or Centre.",
    ),
    "wall-no-rafter": (
        "error",
        "no rafter stands outward of a mark: {marks}. The longest side along the wall that fits is {longest}: choose "
        "another Size or Centre.",
    ),
    "wall-rafters-half-given": ("error", "'First rafter' and 'Rafter spacing' go together; give both or neither."),
    "wall-and-corners": ("error", "both 'Corners at' and a Wall are given; keep one of them."),
    "wall-size": (
        "error",
        "a sail on a wall needs a Size of four square corners; '{found}' gives none: write a stock code, or such as "
        "3.6 x 5.4 m.",
    ),
    "wall-moved": (
        "note",
        "{name}: {marks}; posts {out} from the wall. Moving outward adds {chain} to each corner. To have it "
        "otherwise, change Size or Centre.",
    ),
}

TAKEOFF: dict[str, Entry] = {
    "support-not-priced": (
        "error",
        "{name} is held by '{held_by}', which cannot be priced: {note}. Choose another support or a post.",
    ),
    "support-engineer": (
        "warning",
        "{name} is held by '{held_by}': have an engineer decide; until then the option is provisional. {note}.",
    ),
    "edge-unknown": (
        "note",
        "{name}: the distance to the edge of the {held_by} is not given; at least {least} mm are usual. Measure it sideways "
        "and upward, and count the courses above. Near an edge take bonded studs: expanding ones force a wall apart.",
    ),
    "edge-near": (
        "warning",
        "{name} is {found} mm from the edge of the {held_by}; at least {least} mm are usual. Move it, or have bonded studs "
        "and an engineer's word: expanding ones force a wall apart.",
    ),
    "stock-cloth": (
        "error",
        "{code} is made of {cloth}, not {found}; clear Cloth, or write its sides in Size to have it made.",
    ),
    "cloth-usual": (
        "note",
        "sail {sail}: 'Cloth' is blank; taken as {code}, the usual cloth of the rate book. To have another, fill it "
        "in.",
    ),
    "run-turned-to-rope": (
        "note",
        "sail {sail} at {fixing_name}: a run of {run} mm is too long or heavy for chain (limit {limit} mm); wire "
        "rope is priced. To have chain all the same, write it in Run.",
    ),
    "chain-long": (
        "warning",
        "sail {sail} at {fixing_name}: {run} mm of chain, as asked for; over {limit} mm wire rope is usual: write it "
        "in Run, or leave it so.",
    ),
    "hardware-changed": (
        "warning",
        "sail {sail}: the {first} set that was asked for does not fit everywhere; priced: {used}. Name it in "
        "Hardware, or move a fixing.",
    ),
    "set-changed": (
        "note",
        "sail {sail}: the {first} set does not fit everywhere; priced: {used}. To have another, name it in Hardware.",
    ),
    "few-tensioners": (
        "warning",
        "sail {sail}: tensioned corners: {count}; at least two are needed to pull it tight. Look at 'Tensioned'.",
    ),
    "post-disagrees": ("error", "{cells} ask for different values of {column} on post {name}; make them agree."),
    "post-apart": (
        "error",
        "{names} are {apart} m apart in plan and cannot be on one post ({name}); check the coordinates or On post.",
    ),
    "post-askew": (
        "warning",
        "{names} are {apart} m apart in plan and on one post ({name}); its axis passes through the highest only. "
        "Check the coordinates, or give one a post of its own.",
    ),
    "post-two-grounds": ("error", "{names} are on one post ({name}) but over two ground levels; make them agree."),
    "post-too-tall": (
        "error",
        "post {name}: no section of the rate book covers a fixing {height} m above ground (the tallest goes to "
        "{tallest} m); name a Post or add a row to posts.",
    ),
    "post-too-long": (
        "error",
        "post {name} needs {length} m and the longest stock of {code} is {longest} m; name another Post.",
    ),
    "post-plumb": (
        "note",
        "post {name} is pulled evenly from its sides; it stands plumb. To have it lean, fill in Lean.",
    ),
    "footing-shallow": (
        "warning",
        "post {name}: a depth of {depth} m is under a third of its height out of the ground ({third} m); have an "
        "engineer look at it.",
    ),
    "depth-table-stretched": (
        "warning",
        "post {name}: the sail is longer than the last row of footing_depths ({last} m); the depth of {depth} m goes "
        "beyond the table. Have an engineer look at it.",
    ),
    "hole-narrow": (
        "warning",
        "post {name}: a hole of {hole} mm leaves {cover} mm of concrete beside the post; at least {least} mm are "
        "usual. Write a wider Hole.",
    ),
    "hole-full": (
        "error",
        "post {name}: a hole of {hole} mm has no room for concrete round a post of {width} mm; write a wider Hole.",
    ),
    "rock-in-hole": (
        "warning",
        "post {name}: rock from {rock} m in a hole of {hole} m; rock hours are priced below it, and the rock clause "
        "stands on the quote: read both before it goes out.",
    ),
    "fall-small": (
        "note",
        "sail {sail}: its steepest fall to the lowest corner is {fall} degrees, under the {least} that its cloth "
        "likes; leaves and hail will lie on it. Raise or lower a fixing if you can.",
    ),
    "fall-small-dry": (
        "warning",
        "sail {sail}: its steepest fall to the lowest corner is {fall} degrees and its waterproof cloth wants {least}: "
        "water will pond. Raise or lower a fixing.",
    ),
    "drain-unknown": (
        "warning",
        "sail {sail} is waterproof and drains at {fixing_name}, {litres} litres a second at {rain} mm an hour; 'Drains "
        "to' is blank. Say where the water goes.",
    ),
    "drain-careful": (
        "warning",
        "sail {sail} drains at {fixing_name}, {litres} litres a second at {rain} mm an hour, to: {where}. Have it "
        "checked that this can take it.",
    ),
    "drain-told": (
        "note",
        "sail {sail} drains at {fixing_name}, {litres} litres a second at {rain} mm an hour, to: {where}. If it runs "
        "elsewhere, change 'Drains to'.",
    ),
    "low-corner": (
        "warning",
        "sail {sail}: its corner at {fixing_name} is {height} m over the ground, under the head height of {least} m: people "
        "walk into it, pull at it and climb on it. Raise it, or keep people away.",
    ),
    "near-unknown": (
        "note",
        "'Near' of {name} is blank: is there a pool, a power line, glass, traffic or anything to climb on near the sail, a "
        "cyclone coast, or snow in winter? Write what there is, or nothing.",
    ),
    "climb-risk": (
        "warning",
        "something to climb on stands near {name}, and the lowest corner, at {fixing_name}, is {height} m over the "
        "ground{under}: people have climbed onto sails, fallen and died. Keep the two apart, or raise the corner.",
    ),
    "pool-near": (
        "warning",
        "a pool is near {name} and posts stand there ({posts}): one that fails falls on people in the water, so the risk is "
        "higher than elsewhere. Have an engineer design them.{more}",
    ),
    "creep-beyond": (
        "warning",
        "sail {sail} at {fixing_name}: when the cloth has crept {creep} %, the tensioner is {short} mm short; hook on "
        "one link tighter at the re-tension visit.",
    ),
    "sails-near": (
        "warning",
        "sails {first} and {second} overlap in plan and come within {apart} mm of each other (usual least {least} "
        "mm); they could rub: raise one, or move a fixing.",
    ),
    "hole-over-boundary": (
        "warning",
        "post {name}: the edge of its hole may cross the boundary by {by} mm; move the fixing or ask the neighbour.",
    ),
    "hole-near-service": (
        "warning",
        "post {name}: the edge of its hole may be {edge} mm from a buried service (usual least {least} mm; {state}). In "
        "turn: move the post {short} mm away from it; dig by hand; have the hole dug by vacuum{vacuum}.",
    ),
    "services-not-located": (
        "warning",
        "holes are to be dug at {name} and 'Services' says {services}; have buried pipes and cables located first. The "
        "free service often does not reach private lines: they need a paid locator{locator}.",
    ),
    "test-hole-unknown": (
        "note",
        "holes are to be dug at {name} and nobody has said whether a test hole was dug or bored there. Try one{test}: rock "
        "under every hole can take the whole profit. Then write yes or no in 'Test hole'.",
    ),
    "consent-needed": (
        "warning",
        "{place}: {measure} is {value}, and the row says {limit} (condition: {when}; {source}). Consent is priced; ask "
        "the council.",
    ),
    "consent-unknown": (
        "note",
        "{place}: the row for {measure}, {limit} (condition: {when}; {source}), could not be compared. {ask} Ask the "
        "council where it stays unknown.",
    ),
    "consent-question": ("note", "{place}: {question} (condition: {when}; {source}). Ask before the price goes out."),
    "consent-no-rows": (
        "warning",
        "the rate book has no consent row for {place}: nothing is known of its limits, and nothing was compared. Ask the "
        "council, and add its rows to the table consent.{hint}",
    ),
    "consent-no-place": (
        "note",
        "'Place' is blank for {name}: no limits were compared. Give the place, or ask the council what needs consent.",
    ),
    "concrete-short": (
        "warning",
        "{typed} m3 of concrete are typed for holes that take {net} m3 without waste: {holes}. Type more; or have an "
        "engineer say that a shallower or narrower footing will do.",
    ),
    "concrete-unknown": (
        "note",
        "'{unit}' says no volume of concrete, so it was not compared with the {net} m3 that the holes take; write it in "
        "bag, kg or m3.",
    ),
    "extra-visit": (
        "note",
        "'{description}' is labour without a visit; taken on the {visit} visit. If it is another, fill in Visit.",
    ),
    "unit-mismatch": ("error", "'{found}' does not turn into {unit}, the unit of {item}; use {unit}."),
    "instead-of-unknown": (
        "warning",
        "'{found}' is not a line that could be computed here, so nothing was left out; choose one of these codes: "
        "{known}.",
    ),
}

SCREENING: dict[str, Entry] = {
    "screen-lacks": (
        "note",
        "option {name} is not screened for wind: the rate book has no {lacks}. Fill it in with its source.",
    ),
    "form-not-settled": (
        "warning",
        "sail {sail} is not screened for wind: {why}. Look at its corners and edge hollow, and ask an engineer.",
    ),
    "used-up-at-rest": (
        "warning",
        "option {name}: the pretension alone asks more of {first} than it is rated for (indicative); the take-down wind "
        "is 0. Choose another part or post, or have an engineer decide.",
    ),
    "used-up-in-wind": (
        "warning",
        "option {name}: at a gust of {gust} km/h these use more than they are rated for (indicative): {parts}. Have "
        "an engineer decide.",
    ),
    "take-down-unknown": (
        "warning",
        "option {name}: no take-down wind could be found; the firm's own limit is told. Ask an engineer.",
    ),
    "screen-unknown": ("note", "option {name}: not screened; find out: {parts}."),
    "post-moves": (
        "note",
        "option {name}: at a gust of {gust} km/h posts give a lot at their tops: {posts}. Take a stiffer post if it shows.",
    ),
    "sail-pools": (
        "warning",
        "sail {sail}: under {water} mm of water it would hold a pool {depth} mm deep near Across {across}, Out {out} (indicative). "
        "Make it steeper, tighter or more twisted.",
    ),
}

PRICING: dict[str, Entry] = {
    "tax-usual": (
        "note",
        "'Tax' is blank; the usual taxes of the rate book are taken: {taken}. If they are not right, write the "
        "codes, or none.",
    ),
    "tax-none": ("warning", "'Tax' says none; no tax is priced. Say why in 'Tax reason': the quote prints it."),
    "tax-reason-unused": ("note", "a tax is priced, so the reason of no tax is not printed; write none in 'Tax'."),
    "price-old": (
        "warning",
        "{count} of the prices that are used are more than {age} days old on {day}: {listed}. Ask for new ones before the "
        "price goes out.",
    ),
    "price-outlives": (
        "warning",
        "the price of {code} is held until {until}, and the quote until {quote}: a rise in between would be yours. Have it "
        "held for longer, or shorten 'Valid for'.",
    ),
    "price-held-no-more": (
        "warning",
        "the price of {code} was held until {until}, before the day of pricing {day}. Ask for a new one.",
    ),
    "price-verbal": (
        "warning",
        "{share} % of the cost of {name} ({money} of {cost}) rests on prices by word of mouth: {codes}.{rise} Have them in "
        "writing, from somebody who has seen the site.",
    ),
    "facts-told": (
        "note",
        "{share} % of the cost of {name} ({money} of {cost}) rests on sizes that were not measured: {where}.{rise} Measure "
        "before the price is firm.",
    ),
    "price-jumped": (
        "warning",
        "the price of {code} is {now} and was {before} {since}, more than {factor} times apart. Check both, and the unit.",
    ),
    "price-outlier": (
        "warning",
        "the price of {code} is {now}; of its like ({group}, {count} rows) half cost under and half over {middle}. Check "
        "the price and its unit.",
    ),
    "deposit-capped": (
        "warning",
        "a deposit of {asked} % is more than {place} allows: {cap} %{where} ({source}). The quote prints {cap} %; "
        "ask for no more.{ask}",
    ),
    "below-cost": ("warning", "the price before tax {price} is below the cost {cost}; check margin and discount."),
    "price-expired": (
        "warning",
        "the prices of {day} held until {until}; give a new 'Priced on' and price again before this goes out.",
    ),
    "usual-missing": (
        "note",
        "usual for such a job and not found in it: {items}. Add what is missing to Extras; by others, offered apart or with "
        "quantity 0 will do as well.",
    ),
    "scope-gap": ("warning", "the quote does not say {gaps}; add it before the quote goes out."),
    "order-not-cut": (
        "warning",
        "what is needed of {code} cannot be cut from the stock lengths of this {what}: {why}. It is ordered to measure; "
        "add a longer stock length.",
    ),
    "order-late": (
        "warning",
        "{name} takes {lead} days{cure}: to finish by {finish} the goods had to be ordered by {order_by}, before {day}, the "
        "day of the price. Move 'Finish by', or ask another supplier.",
    ),
    "total-incomplete": (
        "warning",
        "the job's total is incomplete; it has no price for: {missing}. Mend what is told of them, or choose an "
        "option there.",
    ),
}

REPORT: dict[str, Entry] = {
    "one-output": ("error", "{other} would be written to the same {target}; price them one at a time, or rename one."),
    "written-alone": (
        "warning",
        "the workbook is {kind}, into which no sheets can be put, so the priced workbook holds ours alone; save it as an "
        "ordinary .xlsx to have both in one.",
    ),
    "written-wrong": (
        "error",
        "the priced workbook did not pass its check ({what}), so it was not written; report this.",
    ),
    "quote-not-written": (
        "warning",
        "the customer's copy is not written: {why} has no price. Mend what is told of it, and price again.{older}",
    ),
    "quote-kept": (
        "note",
        "the customer's copy from an earlier run has other figures; it is kept as {kept}. Compare the two before the "
        "new one goes out.",
    ),
    "quote-beside-old": (
        "warning",
        "it is from an earlier run and was not written again, so it may say other things than the customer's copy: "
        "write it again too, or delete it.",
    ),
    "pdf-letters": (
        "warning",
        "the typeface of the PDF has no letters {letters}; boxes stand there. The customer's copy as a workbook shows "
        "them: use that, or write other letters.",
    ),
    "mail-not-written": (
        "warning",
        "there is no draft of a mail: {why}. Price again when that is put right, or write the mail yourself.",
    ),
    "mail-address": (
        "warning",
        "'{found}' is not one plain mail address, so the draft of the mail has no {field}; write one such as "
        "name@place.example.",
    ),
    "new-over-old": ("error", "the file is there already; nothing was written. Choose another name."),
    "tampered-total": (
        "warning",
        "{what}{found} is typed over the formula {formula}, which gives {right}: {effect}. It is worked out afresh; "
        "write an agreed figure on sheet Extras, with 'Instead of' and its Reason.",
    ),
    "tampered-formula": (
        "warning",
        "{what}the formula is now {found} and gives {gives}{missed}; {formula} was written, which gives {right}: {effect}. "
        "It is written afresh; to leave something out, name it in 'Instead of' on sheet Extras, with its Reason.",
    ),
    "tampered-value": (
        "warning",
        "{what}{found} stands where {was} was written: {effect}. It is written afresh; change the job or the rate book, or "
        "use 'Instead of' on sheet Extras, with its Reason.",
    ),
    "tampered-result": (
        "warning",
        "{what}{found} is shown, but the formula beneath gives {right}: {effect}. It is worked out afresh; do not hand on "
        "what was printed from it.",
    ),
    "tampered-row": (
        "warning",
        "a row was put in here ({found}): {effect}. It does not stay; write it into sheet Extras.",
    ),
    "tampered-gone": (
        "warning",
        "rows were taken out here ({count}): {effect}. They are written again; to leave a line out, name it in 'Instead of' on sheet "
        "Extras with quantity 0 and its Reason.",
    ),
    "tampered-shifted": (
        "warning",
        "rows moved, and formulas did not follow ({count} cells on {sheets}), so they count other rows than they should: "
        "{effect}. They are written afresh; do not hand on what was printed from them.",
    ),
    "tampered-more": (
        "warning",
        "more cells are not as they were written ({count}): together {effect}. They are written afresh; compare the copy "
        "that is kept.",
    ),
    "typed-beside": (
        "warning",
        "what is written beside our cells does not stay: {cells}. Write it into the job's own sheets.",
    ),
    "own-sheets-unrecorded": (
        "note",
        "what was written on our sheets is not noted in this workbook (another program dropped it, or it is of an older "
        "version), so changes by hand were not looked for; look through them before you rely on an earlier print.",
    ),
    "priced-kept": (
        "warning",
        "it had been changed by hand since it was written; as it was found it is kept as {kept}: take from it what "
        "you need. {what}",
    ),
    "package-own-sheet": (
        "error",
        "This sheet of yours has a name the priced workbook needs: rename your own sheet '{sheet}', save, run again.",
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
    "package-damaged": (
        "error",
        "The workbook is damaged, so that no sheets can be put into it ({what}): open it, let it be repaired, save it, and "
        "run again.",
    ),
    "package-signed": (
        "warning",
        "The workbook carries a digital signature; it does not hold for the priced copy. The signed file stays as it "
        "is; sign the copy if it goes out.",
    ),
    "package-protected": (
        "warning",
        "The workbook's structure is protected; the sheets are added all the same and the protection stays on: "
        "nothing is to be done.",
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
    "save-over-input": (
        "error",
        "It leads to the job itself, which is never changed: take the link away, or pass --out with another folder.",
    ),
    "save-name-long": (
        "error",
        "The name is too long for the files that are made from it: give the job a name that is {long} letters shorter.",
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
    "save-failed": (
        "error",
        "It could not be written ({reason}), nothing was changed: pass --out with another folder.",
    ),
}

ACTUALS: dict[str, Entry] = {
    "actual-unknown": (
        "error",
        "'{found}' is no task of the labour table, no code of the rate book and no row of Extras, so it is left out; write "
        "one of them.{hint}",
    ),
    "actual-without-site": ("error", "option '{name}' is named without its site; fill in Site, or clear Option."),
    "actual-unit-blank": (
        "note",
        "'Unit' is blank in {count} rows of Actuals from here on: a task is taken in person-hours, anything else in "
        "the unit of its line. If it is another, fill it in.",
    ),
    "actual-no-chosen": (
        "warning",
        "no option of {name} is chosen, so this row has no plan to be held against; name the Option, or choose one.",
    ),
    "actual-no-price": (
        "warning",
        "{name} has no price, so this row has no plan to be held against and is left out; mend what is told of it.",
    ),
    "actual-not-planned": (
        "warning",
        "'{what}' was used and is not in the plan of {name}: its cost is counted, and no hours are learned from it. "
        "If it is planned under another name, write that one.",
    ),
    "actual-two-units": (
        "warning",
        "'{what}' is planned in {units}; only what is planned in {unit} is held against what was used. Compare the "
        "rest by hand.",
    ),
    "actuals-same-job": ("error", "this is the same job as {other}; name only the one with the actuals in it."),
    "actuals-two-books": (
        "error",
        "this job has another rate book than {other}: name the one that is to learn from both with --rates.",
    ),
    "actuals-setting": (
        "warning",
        "the rate book has no setting '{name}', so no rows are proposed; add it. The default book has one.",
    ),
    "actuals-day": (
        "note",
        "no 'Day' is filled in; the proposed rows hold from {day}, the day after the last job was priced. Give another "
        "with --from.",
    ),
    "actuals-day-taken": (
        "warning",
        "{table} has a row '{name}' from {since}, so a row from {day} would not count or not for long; give a later day "
        "with --from.",
    ),
}

CHANGES: dict[str, Entry] = {
    "not-priced-workbook": (
        "error",
        "it holds none of the sheets of a priced workbook; give one that was written by: estimator price.",
    ),
    "priced-sheet-missing": (
        "error",
        "of the sheets of a priced workbook it lacks {sheets}; price the job again, or take the file as it was written.",
    ),
    "priced-not-calculated": (
        "error",
        "{sheets} holds formulas without values; open it in a spreadsheet program, save it there and run again.",
    ),
    "priced-unreadable": (
        "error",
        "{what} cannot be read from it any more; price the job again, or take the file as it was written.",
    ),
    "compare-currency": (
        "error",
        "its currency is {now}, that of {other} is {before}; prices in two currencies cannot be held against each "
        "other: take two in one.",
    ),
    "accepted-price-held": (
        "note",
        "accepted at {accepted} with tax, as priced on {day} in revision {revision}; what is worked out now is the "
        "same, so nothing is to be done.",
    ),
    "accepted-price-varied": (
        "note",
        "accepted at {accepted} with tax, as priced on {day} in revision {revision}; worked out now it is {now}, "
        "{differs}, which the variations ({varied} with tax) cover, so nothing is to be done.",
    ),
    "accepted-price-differs": (
        "warning",
        "accepted at {accepted} with tax, as priced on {day} in revision {revision}; worked out now it is {now}, {differs}{varied}. "
        "The customer is told the accepted price. Put what changed into rows of Extras with a Variation; or, to take the new "
        "price, set Status to firm, price once, and set it to accepted again.",
    ),
    "accepted-not-read": (
        "warning",
        "{file}, which lies there, cannot be read ({why}), so no accepted price can be taken from it: what is worked "
        "out now is taken. Put a sound copy of it there, and price again.",
    ),
    "variation-not-accepted": (
        "warning",
        "variation {names} changes a price that is not accepted yet; set Status to accepted when it is, else it has no contract "
        "sum.",
    ),
    "revision-kept": (
        "note",
        "the priced workbook of an earlier revision that lay there is kept as {kept}; leave it there, so that later "
        "changes can be told from it.",
    ),
    "revision-not-found": (
        "note",
        "no priced workbook of an earlier revision lies beside ({wanted}), so what changed since cannot be told; put "
        "it there, and price again.",
    ),
    "aim-option-unknown": ("error", "there is no option '{found}'; name one of these: {known}."),
    "aim-option-several": ("error", "several sites have an option '{found}' ({sites}); name the site with --site."),
    "aim-not-priced": (
        "error",
        "{name} has no price, so no margin can be found for it; see what estimator check says.",
    ),
    "aim-nothing-chosen": (
        "error",
        "no chosen option has a price; choose one, or name one with --option.",
    ),
}

MANY: dict[str, Entry] = {
    "no-jobs": ("error", "There is no job workbook in this folder; name another folder, a file, or add --deep.{left}"),
    "job-in-the-way": (
        "error",
        "{other}, which is priced too, would write to this name; rename this one, or price one at a time.",
    ),
    "job-process-ended": (
        "error",
        "It could not be priced: the process that priced it ended, and again when it was tried alone. Most likely the "
        "memory was too small: close other programs, or price it by itself.",
    ),
    "job-fault": ("error", "It could not be priced, by a fault of the program ({what}); report this."),
    "table-kept": (
        "warning",
        "A file of this name lay there that is no table of a run, or is damaged; it is kept as {kept}, and nothing "
        "was taken from it. Delete it if nobody needs it.",
    ),
    "table-unread": (
        "warning",
        "Rows of it cannot be read any more ({count}); their jobs are priced again: nothing is to be done.",
    ),
    "changed-meanwhile": (
        "error",
        "It was changed by somebody else while the job was being priced, so nothing was written; price the job again.",
    ),
    "cluster-missing": (
        "error",
        "For --cluster the package distributed is needed; install it here and on every machine: pip install "
        "'shade-sail-estimator[cluster]'.",
    ),
    "cluster-unreachable": (
        "error",
        "No scheduler answers at {address} ({reason}); start one, and write its address like tcp://host:8786.",
    ),
    "cluster-empty": (
        "error",
        "The scheduler at {address} has no worker ({reason}); start one on each machine: dask worker {address}.",
    ),
    "cluster-lacks": (
        "error",
        "The workers lack the module {name}: install the estimator on every machine, the same version as here.",
    ),
    "cluster-other": (
        "error",
        "A worker has another version of the estimator than is here, or another default rate book, so the prices could "
        "differ; install the same on every machine.",
    ),
    "cluster-lost": (
        "error",
        "The scheduler is gone, so no more jobs can be priced by it. Go on with the same words and --resume.",
    ),
}

CATALOGUE: dict[str, Entry] = {
    **CELLS,
    **FILES,
    **RATES,
    **JOB,
    **GEOMETRY,
    **TAKEOFF,
    **SCREENING,
    **PRICING,
    **REPORT,
    **ACTUALS,
    **CHANGES,
    **MANY,
}
