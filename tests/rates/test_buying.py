"""How rows are bought: suppliers, price breaks, stock lengths with prices; and books that say nothing of it."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

from estimator.rates.build_buying import CODED
from estimator.rates.columns import RATE_TABLES
from estimator.rates.model import Break, Buying, StockLength
from estimator.rates.read import load_rates
from tests.rates.books import (
    DAY,
    Rows,
    cell_of,
    changed,
    column_of,
    copy_book,
    default_book,
    errors,
    rows_of,
    with_cell,
    write_rows,
)

BOOK = default_book()
D = Decimal


def row_of(table: str, code: str) -> int:
    return next(i for i, row in enumerate(rows_of(table), start=1) if row[0] == code)


def read(tmp_path: Path, table: str, code: str, heading: str, text: str) -> Buying:
    book, problems = load_rates(with_cell(tmp_path, table, row_of(table, code), heading, text), DAY)
    assert book is not None, problems
    return book.buying[table, code.casefold()]


def test_the_default_book_buys_from_invented_yards() -> None:
    assert set(BOOK.suppliers) == {b.supplier.casefold() for b in BOOK.buying.values() if b.supplier}
    assert all(s.origin.source == "invented for the default rate book" for s in BOOK.suppliers.values())
    materials = [i for i in BOOK.items.values() if i.kind == "material"]
    bought = [("items", i.code) for i in materials] + [
        (t, r.code) for t in ("sails", "cloths", "rigging", "posts", "concrete") for r in getattr(BOOK, t).values()
    ]
    assert all(BOOK.buying[t, code.casefold()].supplier for t, code in bought)


def test_price_breaks_are_steps_of_quantity_and_price(tmp_path: Path) -> None:
    found = read(tmp_path, "items", "screw-coach-m12", "price breaks", " 50: 2.20;200 :1.95; ")
    assert found.breaks == (Break(D(50), D("2.20")), Break(D(200), D("1.95")))


def test_a_decimal_comma_is_read_in_price_breaks(tmp_path: Path) -> None:
    heads, *rows = rows_of("trades")
    book = copy_book(tmp_path)
    write_rows(book, "trades", [heads, *rows], ";")
    items = [
        [cell.replace(".", ",") if cell.replace(".", "").isdigit() else cell for cell in r] for r in rows_of("items")
    ]
    row, at = row_of("items", "sealant") - 1, column_of("items", "price breaks")
    items[row][at] = "20: 8,90; 60: 8,25"
    items = [[c.replace(": 2.20", ": 2,20").replace(": 1.95", ": 1,95") for c in r] for r in items]
    for r in items[1:]:
        r[at] = r[at].replace(".", ",")
    write_rows(book, "items", items, ";")
    found, problems = load_rates(book, DAY)
    assert found is not None, problems
    assert found.buying["items", "sealant"].breaks == (Break(D(20), D("8.90")), Break(D(60), D("8.25")))


def test_stock_prices_go_with_the_lengths_as_they_were_typed(tmp_path: Path) -> None:
    def backwards(rows: Rows) -> None:
        row = rows[row_of("posts", "SHS-100") - 1]
        row[column_of("posts", "stock lengths")] = "6.0, 3.0, 4.0"
        row[column_of("posts", "stock prices")] = "268; 144; 190"

    book, problems = load_rates(changed(tmp_path, "posts", backwards), DAY)
    assert book is not None, problems
    assert book.buying["posts", "shs-100"].stock == (
        StockLength(3.0, D(144)),
        StockLength(4.0, D(190)),
        StockLength(6.0, D(268)),
    )
    assert book.posts["shs-100"].stock_lengths == (3.0, 4.0, 6.0)


def test_a_post_by_mass_without_a_mass_is_refused(tmp_path: Path) -> None:
    row = row_of("posts", "RT-200")

    def by_mass(rows: Rows) -> None:
        rows[row - 1][column_of("posts", "per")] = "kg"
        rows[row - 1][column_of("posts", "mass")] = ""

    book, problems = load_rates(changed(tmp_path, "posts", by_mass), DAY)
    assert book is None
    assert errors(problems) == [("posts.csv", "posts", cell_of("posts", "per", row), "rate-per-mass")]


def test_a_book_that_says_nothing_of_buying_still_prices(tmp_path: Path) -> None:
    """An older book has neither the columns nor the table of suppliers, and no word of it is an error."""
    ours = {"supplier", "supplier code", "lead days", "price breaks", "stock prices", "largest load", "waiting price"}
    ours |= {"mixer", "mixer hours per m3"}
    book = copy_book(tmp_path)
    (book / "suppliers.csv").unlink()
    assert {c.name for t in RATE_TABLES if t.sheet in CODED for c in t.columns} >= ours
    for table in CODED:
        rows = rows_of(table)
        drop = {"stock lengths"} | ours if table == "rigging" else ours
        kept = [i for i, head in enumerate(rows[0]) if head.split(" (")[0] not in drop]
        write_rows(book, table, [[row[i] for i in kept] for row in rows])
    found, problems = load_rates(book, DAY)
    assert found is not None, problems
    assert [(p.level, p.code) for p in problems] == [("note", "rate-table-lacking")]
    assert found.suppliers == {}
    assert {(b.supplier, b.breaks) for b in found.buying.values()} == {("", ())}
    assert found.buying["posts", "shs-100"].stock[0] == StockLength(3.0)
    assert {c.price for c in found.concrete.values()} == {c.price for c in BOOK.concrete.values()}
