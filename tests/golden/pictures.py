"""The pictures of the README. `python -m tests.golden.pictures` makes them; needs LibreOffice and pdftoppm.

Pages of a priced sample, printed as anybody would print them, cut to what is on them.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from pathlib import Path

from PIL import Image, ImageChops

from estimator.jobfile import price_file
from tests.build import DAY
from tests.golden.samples import FOLDER
from tests.office import program

PICTURES = Path(__file__).parents[2] / "templates" / "pictures"
# picture: workbook, sheet, which of its pages, dots an inch, share of the page's height that is kept
PAGES = {
    "summary": ("riverside-priced.xlsx", "Summary", 1, 110, 0.9),
    "bill": ("riverside-priced.xlsx", "Bill", 1, 90, 0.62),
    "set-out": ("riverside-crew.xlsx", "Set-out", 1, 80, 0.865),
    "quote": ("riverside-quote.xlsx", "Quote", 1, 80, 0.95),
}
EDGE, FOOT = 12, 0.93  # pixels of white left round a page; below this share of a page stands its footer


def pdf_of(book: Path, folder: Path) -> Path:
    """A workbook printed to PDF."""
    office = program()
    assert office, "LibreOffice is not installed"
    command = [office, f"-env:UserInstallation={folder.as_uri()}/profile", "--headless", "--convert-to", "pdf"]
    subprocess.run([*command, "--outdir", str(folder), str(book)], check=True, capture_output=True, timeout=300)
    return folder / f"{book.stem}.pdf"


def page_of(pdf: Path, sheet: str, which: int) -> int:
    """The page that is the nth of a sheet; its footer begins with the sheet's name."""
    texts = subprocess.run(["pdftotext", "-layout", str(pdf), "-"], check=True, capture_output=True, text=True).stdout
    pages = texts.split("\f")
    found = [n for n, text in enumerate(pages, start=1) if re.search(rf"^\s*{sheet}\s+Page \d+ of", text, re.MULTILINE)]
    return found[which - 1] if found else which


def cut(path: Path, share: float) -> Image.Image:
    """A page without its margins and footer, in few colours."""
    page = Image.open(path).convert("RGB")
    page = page.crop((0, 0, page.width, int(page.height * FOOT)))
    box = ImageChops.difference(page, Image.new("RGB", page.size, "white")).getbbox()
    assert box, "an empty page"
    left, top, right, bottom = box
    bottom = min(bottom, int(page.height * share))
    inner = page.crop((left, top, right, bottom))
    framed = Image.new("RGB", (inner.width + 2 * EDGE, inner.height + 2 * EDGE), "white")
    framed.paste(inner, (EDGE, EDGE))
    return framed.quantize(64, dither=Image.Dither.NONE)


def main() -> None:
    """Make every picture."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        done = price_file(FOLDER / "riverside.xlsx", out=folder, today=DAY)
        assert done.written, done.problems
        pdfs = {book: pdf_of(folder / book, folder) for book in {p[0] for p in PAGES.values()}}
        for picture, (book, sheet, which, dots, share) in PAGES.items():
            number = str(page_of(pdfs[book], sheet, which))
            command = ["pdftoppm", "-r", str(dots), "-png", "-singlefile", "-f", number, "-l", number]
            subprocess.run([*command, str(pdfs[book]), str(folder / picture)], check=True)
            cut(folder / f"{picture}.png", share).save(PICTURES / f"{picture}.png", optimize=True)


if __name__ == "__main__":
    PICTURES.mkdir(exist_ok=True)
    main()
