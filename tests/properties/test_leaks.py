"""Random jobs with words and amounts planted all over the office's columns: none of them leaves the office."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable
from decimal import Decimal
from email import message_from_bytes
from email.policy import default
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import FreeText

from estimator.jobfile import price_file
from estimator.pricing.model import PricedJob
from tests.build import DAY
from tests.nightly import canaries
from tests.nightly.canaries import canary_job, canary_rates, planted_in
from tests.nightly.leaks import Secrets, search, search_jobs, secrets_of

WORD = "CANARYSITENOTE"


def _nothing_leaks(folder: Path, seeds: range, drawings: bool) -> None:
    found = search_jobs(seeds, folder, drawings)
    assert found.leaks == ()
    assert found.jobs == len(seeds)
    assert found.files >= 4 * len(seeds)
    assert found.secrets > 400 * len(seeds)
    assert found.bytes > 500_000 * len(seeds)


def test_nothing_leaks_from_a_few(tmp_path: Path) -> None:
    _nothing_leaks(tmp_path, range(2001, 2002), drawings=True)
    _nothing_leaks(tmp_path, range(2002, 2004), drawings=False)


@pytest.mark.long
@pytest.mark.parametrize("first", range(0, 60, 15))
def test_nothing_leaks_from_many(tmp_path: Path, first: int) -> None:
    _nothing_leaks(tmp_path, range(first, first + 15), drawings=first == 0)


@pytest.fixture(scope="module")
def papers(tmp_path_factory: pytest.TempPathFactory) -> tuple[PricedJob, dict[str, bytes]]:
    """A priced job with canaries, and what was written of it, by what follows the name of the job."""
    folder = tmp_path_factory.mktemp("papers") / canaries.FOLDER
    folder.mkdir()
    rates = canary_rates(folder)
    assert planted_in(rates) == canaries.OF_RATES
    done = price_file(canary_job(folder, 7, small=True), today=DAY, drawings=False, mail=True)
    assert done.outcome is not None
    assert done.outcome.priced is not None
    return done.outcome.priced, {p.name.removeprefix("job7-"): p.read_bytes() for p in done.written}


def leaks(papers: tuple[PricedJob, dict[str, bytes]], name: str, change: Callable[[bytes], bytes]) -> tuple[str, ...]:
    """What is found in one of the papers once it is changed; before, nothing is."""
    priced, written = papers
    secrets: Secrets = secrets_of(priced)
    before = search("", f"job7-{name}", written[name], secrets, priced)
    assert before.leaks == ()
    return search("", f"job7-{name}", change(written[name]), secrets, priced).leaks


def with_part(part: str, old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    """A change of one part of a workbook; old is there. A part that is not there yet is added."""

    def change(data: bytes) -> bytes:
        made = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(made, "w") as after:
            for name in before.namelist():
                content = before.read(name)
                if name == part:
                    assert old in content
                    content = content.replace(old, new, 1)
                after.writestr(name, content)
            if part not in before.namelist():
                after.writestr(part, new)
        return made.getvalue()

    return change


def picture() -> bytes:
    """A picture with a note packed beside it."""
    content = b"Comment\0\0" + zlib.compress(WORD.encode())
    chunk = struct.pack(">I", len(content)) + b"zTXt" + content + struct.pack(">I", zlib.crc32(b"zTXt" + content))
    return b"\x89PNG\r\n\x1a\n" + chunk


WORDS: dict[str, Callable[[bytes], bytes]] = {
    "in the properties": with_part("docProps/core.xml", b"</cp:core", f"<dc:title>{WORD}</dc:title></cp:core".encode()),
    "in a name of a style": with_part("xl/styles.xml", b"</styleSheet>", f"<!-- {WORD} --></styleSheet>".encode()),
    "beside a picture": with_part("xl/media/image9.png", b"", picture()),
    "in UTF-16 in an unknown part": with_part("xl/odd.bin", b"", WORD.encode("utf-16-le")),
    "cut in two": with_part(
        "xl/sharedStrings.xml", b"</sst>", b"<si><r><t>CANARYSITE</t></r><r><t>NOTE</t></r></si></sst>"
    ),
    "in the name of a part": with_part(f"xl/{WORD}.xml", b"", b"<a/>"),
}  # fmt: skip


@pytest.mark.parametrize("where", WORDS)
def test_a_word_is_found_in_a_workbook(where: str, papers: tuple[PricedJob, dict[str, bytes]]) -> None:
    found = leaks(papers, "quote.xlsx", WORDS[where])
    assert found
    assert any(WORD in words for words in found)


def text(words: str) -> Callable[[bytes], bytes]:
    """A change of a workbook that adds a text to what its cells show."""
    return with_part("xl/sharedStrings.xml", b"</sst>", f"<si><t>{words}</t></si></sst>".encode())


def test_a_figure_is_found_however_it_is_written(papers: tuple[PricedJob, dict[str, bytes]]) -> None:
    priced, _ = papers
    bill = next(o.bill for o in priced.options if o.bill and o.bill.totals.cost > 1000)
    cost = bill.totals.cost
    assert cost % 1
    assert bill.totals.margin is not None
    working = next(line.working for line in bill.lines if len(line.working) > 25)
    hours = sum(h.hours for o in priced.options if o.bill is bill for h in o.taken.hours)
    english = f"{cost:,.2f}"
    for words in (
        f"EUR {english}", f"{cost:.2f} EUR", english.replace(",", " "), english.replace(",", "\u00a0"), f"{cost:,.1f}",
        english.translate(str.maketrans(",.", ".,")), f"{cost:,.0f}", f"{cost:.0f}", f"${cost:,.0f}", "€0.07",
        f"{bill.totals.margin * 100:.2f} %", f"{bill.totals.margin * 100:.2f}%".replace(".", ","), f"{hours:.2f} h",
        f"{hours:.1f} person-hours", f"{hours:.0f} hours", working,
    ):  # fmt: skip
        assert leaks(papers, "quote.xlsx", text(words)), words
    code = next(x.code for x in bill.lines if "-" in x.code and x.code[-1].isdigit())
    assert leaks(papers, "quote.xlsx", text(f"one {code.lower()}"))
    for words in ("4 EUR", "at cost", english, f"{canaries.USER}", "from CanaryRatePath"):
        assert leaks(papers, "crew.xlsx", text(words)), words
    assert not leaks(papers, "quote.xlsx", text("Gate 4, by the 3 elms, 12.25 m"))


def test_a_number_in_a_cell_is_found(papers: tuple[PricedJob, dict[str, bytes]]) -> None:
    sheet = "xl/worksheets/sheet1.xml"
    for value in ("0.07", str(papers[0].totals.cost + Decimal("0.01"))):
        more = f'<row r="900"><c r="A900"><v>{value}</v></c></row></sheetData>'.encode()
        assert leaks(papers, "quote.xlsx", with_part(sheet, b"</sheetData>", more)), value
    formula = b'<row r="900"><c r="A900" t="str"><f>A1</f><v></v></c></row></sheetData>'
    assert any("formulas" in x for x in leaks(papers, "quote.xlsx", with_part(sheet, b"</sheetData>", formula)))


def _head(writer: PdfWriter) -> None:
    writer.add_metadata({"/Author": WORD})


def _attached(writer: PdfWriter) -> None:
    writer.add_attachment("plan.txt", zlib.compress(b"nothing") + WORD.encode())


def _note(writer: PdfWriter) -> None:
    writer.add_annotation(0, FreeText(text=WORD, rect=(10, 10, 90, 30)))


@pytest.mark.parametrize("plant", [_head, _attached, _note])
def test_a_word_is_found_in_a_pdf(
    plant: Callable[[PdfWriter], None], papers: tuple[PricedJob, dict[str, bytes]]
) -> None:
    def change(data: bytes) -> bytes:
        writer = PdfWriter(clone_from=PdfReader(io.BytesIO(data)))
        plant(writer)
        writer.compress_identical_objects()
        made = io.BytesIO()
        writer.write(made)
        return made.getvalue()

    assert any(WORD in words for words in leaks(papers, "quote.pdf", change))


def test_a_word_is_found_in_a_mail(papers: tuple[PricedJob, dict[str, bytes]]) -> None:
    def in_a_file(data: bytes) -> bytes:
        mail = message_from_bytes(data, policy=default)
        part = next(p for p in mail.walk() if (p.get_filename() or "").endswith(".xlsx"))
        changed = WORDS["in the properties"](part.get_content())
        part.set_content(changed, "application", "octet-stream", filename="quote.xlsx")
        return mail.as_bytes()

    assert any(WORD in words for words in leaks(papers, "quote.eml", in_a_file))
    head = f"X-Remark: {WORD}\n".encode()
    assert any(WORD in words for words in leaks(papers, "quote.eml", lambda data: head + data))


def test_what_never_reached_the_office_is_told(papers: tuple[PricedJob, dict[str, bytes]]) -> None:
    """So that the search cannot pass because nothing was planted."""
    priced, written = papers
    secrets = secrets_of(priced)
    assert search("", "job7-priced.xlsx", written["priced.xlsx"], secrets, priced).leaks == ()
    found = search("", "job7-priced.xlsx", written["crew.xlsx"], secrets, priced).leaks
    assert len(found) > 10
    assert all("never reached" in words for words in found)
    assert search("", "job7-quote.xlsx", written["priced.xlsx"], secrets, priced).leaks
