"""The parts of the README that follow from declarations. `python -m tests.golden.readme` writes them anew.

A test compares, so that the README cannot drift from what is read.
"""

from __future__ import annotations

import re
from pathlib import Path

from estimator.rates.columns import RATE_TABLES
from estimator.rates.read import load_rates
from estimator.report.blank import heading
from estimator.sheets.columns import TABLES, Column, Table
from tests.build import DAY

README = Path(__file__).parents[2] / "README.md"
# what a row of each table of the rate book is
RATES = {
    "settings": "one allowance or default, such as spare length, waste, lean, days of cure, crew",
    "business": "who quotes: name, address, phone, licence, bank line",
    "wording": "a text that the customer reads, and when",
    "sails": "a stock sail with its sides and price",
    "cloths": "a cloth by the square metre",
    "rigging": "one part: eye, shackle, tensioner, chain, wire rope and so on, with its lengths and loads",
    "corner_sets": "what hangs a corner, up to which side of a sail",
    "posts": "a post section, up to which height, with its stock lengths",
    "supports": "a way to hold a fixing: priced yes, engineer or no, and its kit",
    "ground": "a class of ground: layers below the post, digging hours, swell",
    "access": "how one gets in: a factor on hours, and what has to be hired",
    "footing_depths": "the depth of a footing by the longest side of the sail",
    "concrete": "a way to buy concrete, by the bag or by truck",
    "items": "anything else that is bought or paid",
    "kits": "what each sail, post, fixing, visit and so on needs of the items",
    "labour": "the hours of a task, for each what, by which trade, on which visit",
    "trades": "the cost of an hour",
    "charges": "one step from cost to price, in order: overhead, contingency, margin, discount",
    "taxes": "a tax, its rate and what it is on",
    "consent": "a limit of a place beyond which consent is needed",
    "suppliers": "from whom things are bought: minimum order, delivery, days from the order to the yard",
    "usual_lines": "what a job of this kind usually has; what one lacks is pointed out",
    "wages": "what an hour of a trade costs, built up from wage, on-costs, paid and billable hours",
    "deposit_caps": "the most that may be asked for as a deposit, by place, customer and price",
    "payment_stages": "a part of what is left to pay after the deposit, and when",
    "digging_limits": "the digging that a price holds for each hole, and what an hour beyond that costs",
}
# what the declarations need no note for, but a reader may ask; by column, or by sheet and column
MEANS = {
    "Site": "a site of the sheet Sites",
    "Sites.Site": "a name of your own",
    "Fixing": "a name of your own, such as A",
    "Fixings.Post": "a row of the table posts; blank: by its height",
    "From": "a fixing",
    "To": "a fixing",
    "Walls.Wall": "a name of your own",
    "Walls.Length": "of the wall",
    "Fixing height": "of the fixings on the wall",
    "Rafter spacing": "from rafter to rafter; a mark moves outward to the next one",
    "Post height": "of the fixings on the posts",
    "Options.Option": "a name of your own, such as 1",
    "Options.Wall": "a wall of the sheet Walls, instead of Corners at",
    "Options.Cloth": "a row of the table cloths; blank: the stock sail's, else the usual one",
    "Options.Hardware": "a row of the table corner_sets; blank: by the longest side",
    "Options.Post": "a row of the table posts; Fixings wins over it",
    "Options.Depth": "of the posts of this sail, as in Fixings; Fixings wins over it",
    "Options.Hole": "diameter; Fixings wins over it",
    "Reference": "your own number for the job",
    "Customer": "the name on the quote",
    "Customer address": "on the quote",
    "Customer email": "for the draft of a mail; printed nowhere",
    "Site contact": "whom to ask for; on the quote and for the crew",
    "Prepared by": "your name; on the quote",
    "Valid for": "how long the price holds; blank: the rate book's",
    "Contingency": "on cost; blank: the rate book's",
    "Discount": "off the price; blank: the rate book's",
    "Deposit": "of the price with tax; blank: the rate book's",
    "Crew": "people; blank: the rate book's",
    "Hours a day": "blank: the rate book's",
    "Job.Notes": "for yourself; printed nowhere",
    "Notes": "for yourself; printed nowhere",
    "Address": "of the site",
    "Access": "a row of the table access; blank: no factor and no gear",
    "Existing sails": "how many hang there already",
    "Latitude": "degrees, south negative",
    "Longitude": "degrees, west negative",
    "For the customer": "printed on the quote",
    "For the crew": "printed for the crew",
    "Height": "above the site's datum; or Above ground",
    "To boundary": "from the fixing to the nearest boundary",
    "To service": "from the fixing to the nearest buried pipe or cable",
    "Lean": "away from the sail; blank: the rate book's, 0 where the post is tied",
    "Colour": "of the cloth",
    "Description": "what it is",
    "Quantity": "how many",
    "Unit": "each, m, m2, m3, kg, h, day and so on",
    "Cost each": "your cost before overhead and profit; or Item",
    "Visit": "of labour: the visit on which it is done",
    "Actuals.Site": "a site of the sheet Sites; blank: the whole job, the chosen options of all sites together",
    "Actuals.What": "a task of the table labour, or dig, place concrete, travel; or the code of a line of the Bill",
    "Actuals.Quantity": "person-hours of a task, of all people together; of anything else how much was used",
    "Actuals.Unit": "h or min for a task; bag, m3, m and so on; blank: the unit of the line",
    "Day": "when it was used",
    "By": "who noted it",
    "Variation": "a name or number: priced beside as a change to an accepted job, outside the total",
    "Reason": "why, for the Bill",
}


def supports() -> str:
    """The supports of the default rate book by what becomes of them."""
    book, _ = load_rates(None, DAY)
    assert book is not None
    words = {"yes": "Priced", "engineer": "Provisional", "no": "Not priced"}
    rows = [
        f"| {said} | {', '.join(s.name for s in book.supports.values() if s.priced == priced)} |"
        for priced, said in words.items()
    ]
    return "\n".join(["| `Held by` | in the default rate book |", "|---|---|", *rows])


def meaning(table: Table, column: Column) -> str:
    """What a column means, from its declaration or in the words for it here."""
    said = MEANS.get(f"{table.sheet}.{column.name}") or MEANS.get(column.name)
    if said:
        return said
    words = []
    if column.choices:
        joined = " or ".join([", ".join(column.choices[:-1]), column.choices[-1]])
        words.append(joined if column.kind == "choice" else f"any of {joined}")
    if column.note:
        words.append(column.note)
    if column.kind == "yes" and not column.note:
        words.append("yes or blank")
    if column.table and column.table != "taxes":
        words.append(f"a row of the table {column.table}")
    if column.example and not words:
        words.append(f"such as {column.example}")
    return "; ".join(words)


def _sheet(table: Table) -> str:
    asked = "" if table.required else " (if you need it)"
    head = ["| item | what is meant |" if table.items else "| column | what is meant |", "|---|---|"]
    rows = []
    for column in table.columns:
        name = heading(column)
        rows.append(f"| {f'**{name}**' if column.required else name} | {meaning(table, column)} |")
    return "\n".join([f"#### `{table.sheet}`{asked}", "", table.note, "", *head, *rows])


def sheets() -> str:
    """Every sheet of the job workbook with its columns."""
    return "\n\n".join(_sheet(t) for t in TABLES)


def rates() -> str:
    """Every table of the rate book and what a row of it is."""
    rows = [f"| `{t.sheet}` | {RATES[t.sheet]} |" for t in RATE_TABLES]
    return "\n".join(["| table | a row is |", "|---|---|", *rows])


def filled(text: str) -> str:
    """The README with its parts written anew."""
    for name, part in (("supports", supports()), ("sheets", sheets()), ("rates", rates())):
        marked = re.compile(rf"(<!-- {name} -->\n).*?(<!-- end -->)", re.DOTALL)
        assert len(marked.findall(text)) == 1, name
        text = marked.sub(lambda m, p=part: f"{m[1]}{p}\n{m[2]}", text)  # type: ignore[misc]
    return text


def main() -> None:
    """Write the README's parts anew."""
    README.write_text(filled(README.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
