"""What our sheets bring along, and what they must not hold."""

from __future__ import annotations

import io
import re

import openpyxl
import pytest
import xlsxwriter

from estimator.report.package.audit import audit
from estimator.report.package.styles import shows_date
from estimator.report.package.transplant import transplant
from estimator.report.package.zipping import read_parts
from tests.report.package.books import NAMES, our_book, part_of, png, swapped, user_book


def rendered(fill: object, options: dict[str, object] | None = None) -> bytes:
    """One sheet of ours, filled by a function of book and sheet."""
    assert callable(fill)
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True, **(options or {})})
    fill(book, book.add_worksheet("Summary"))
    book.close()
    return out.getvalue()


def test_pictures_and_charts_get_names_of_their_own() -> None:
    user = rendered(lambda book, sheet: sheet.insert_image("A1", "x.png", {"image_data": io.BytesIO(png(7))}))
    user = swapped(user, "xl/workbook.xml", ('name="Summary"', 'name="Job"'))
    written = transplant(user, our_book(), NAMES)
    parts = read_parts(written)
    assert parts["xl/media/image1.png"] == png(7)
    assert parts["xl/media/image2.png"] == png()
    book = openpyxl.load_workbook(io.BytesIO(written))
    assert [len(book[name]._images) for name in ("Job", "Summary", "Bill")] == [1, 1, 1]
    assert [len(book[name]._charts) for name in ("Job", "Summary", "Bill")] == [0, 1, 1]
    assert b"'Bill'!$A$2:$A$3" in parts["xl/charts/chart2.xml"]
    assert parts["[Content_Types].xml"].count(b'Extension="png"') == 1
    assert audit(written) == []


def test_one_picture_on_two_sheets_is_carried_once() -> None:
    parts = read_parts(transplant(user_book(), our_book(), NAMES))
    assert [name for name in parts if "media" in name] == ["xl/media/image1.png"]


def test_the_type_of_pictures_is_declared_where_it_was_missing() -> None:
    types = read_parts(transplant(user_book(), our_book(), NAMES))["[Content_Types].xml"]
    assert b'<Default Extension="png" ContentType="image/png"/>' in types
    other = swapped(
        user_book(),
        "[Content_Types].xml",
        ("</Types>", '<Default Extension="png" ContentType="image/x-own"/></Types>'),
    )
    kept = transplant(other, our_book(), NAMES)
    assert b'PartName="/xl/media/image1.png" ContentType="image/png"' in read_parts(kept)["[Content_Types].xml"]
    assert audit(kept) == []


def test_links_to_the_web_are_carried() -> None:
    ours = rendered(lambda book, sheet: sheet.write_url("A1", "https://example.com/a", string="a"))
    written = transplant(user_book(), ours, {"Summary": "Summary"})
    book = openpyxl.load_workbook(io.BytesIO(written))
    assert book["Summary"]["A1"].hyperlink.target == "https://example.com/a"
    assert audit(written) == []


def test_every_text_of_ours_is_shared() -> None:
    written = transplant(user_book(), our_book(), NAMES)
    assert b"inlineStr" not in part_of(written, "Summary")
    assert b't="s"' in part_of(written, "Summary")


def test_a_text_the_user_has_too_is_shared_with_it() -> None:
    ours = rendered(lambda book, sheet: sheet.write_string("A1", "typed by the user on Job"))
    written = transplant(user_book(), ours, {"Summary": "Summary"})
    assert read_parts(written)["xl/sharedStrings.xml"].count(b"typed by the user on Job") == 1
    assert openpyxl.load_workbook(io.BytesIO(written))["Summary"]["A1"].value == "typed by the user on Job"


def test_hostile_text_stays_text() -> None:
    texts = [
        "=1+1",
        "+61 400",
        "@x",
        '=cmd|"/c"!A1',
        "x" * 32_767,
        "a\rb",
        "_x000D_",
        "\u202egnp",
        "\u200b",
        "\U0001f3d6",
    ]

    def fill(book: object, sheet: xlsxwriter.worksheet.Worksheet) -> None:
        for i, text in enumerate(texts):
            assert sheet.write_string(i, 0, text) == 0

    written = transplant(user_book(), rendered(fill), {"Summary": "Summary"})
    markup = part_of(written, "Summary")
    assert b"<f>" not in markup
    assert len(re.findall(rb't="s"', markup)) == len(texts)
    ours = read_parts(rendered(fill))["xl/sharedStrings.xml"]
    theirs = read_parts(written)["xl/sharedStrings.xml"]
    for item in re.findall(rb"<si>.*?</si>", ours, re.S):
        assert item in theirs
    assert audit(written) == []


def test_the_users_default_font_does_not_reach_our_cells() -> None:
    user = swapped(user_book(), "xl/styles.xml", ('<name val="Calibri"/>', '<name val="Courier New"/>'))
    book = openpyxl.load_workbook(io.BytesIO(transplant(user, our_book(), NAMES)))
    assert (book["Job"]["A1"].font.name, book["Summary"]["A4"].font.name) == ("Courier New", "Calibri")


@pytest.mark.parametrize(
    ("fill", "options"),
    [
        (lambda book, sheet: sheet.add_table("A1:B3"), None),
        (lambda book, sheet: sheet.write_comment("A1", "note"), None),
        (lambda book, sheet: sheet.write_dynamic_array_formula("A1:A2", "=B1:B2"), None),
        (lambda book, sheet: sheet.write_string("A1", "inline"), {"constant_memory": True, "in_memory": False}),
    ],
    ids=["table", "note", "array", "inline"],
)
def test_what_could_clash_is_refused(fill: object, options: dict[str, object] | None) -> None:
    with pytest.raises(ValueError, match=r"our (sheets|cell)"):
        transplant(user_book(), rendered(fill, options), {"Summary": "Summary"})


def test_two_sheets_for_one_purpose_are_refused() -> None:
    with pytest.raises(ValueError, match="purpose"):
        transplant(user_book(), our_book(), {"Summary": "Bill"})


def test_a_sheet_without_a_purpose_is_for_what_its_name_says() -> None:
    named = transplant(user_book(), our_book(), NAMES)
    assert transplant(user_book(), our_book(), {}) == named


@pytest.mark.parametrize(
    ("number", "code", "shown"),
    [
        (0, "", False),
        (14, "", True),
        (18, "", False),
        (22, "", True),
        (164, "yyyy-mm-dd", True),
        (164, "h:mm", False),
        (164, '0 "days"', False),
        (164, "[Red]0.0", False),
        (164, "[$-409]d-mmm", True),
    ],
)
def test_which_formats_show_a_date(number: int, code: str, shown: bool) -> None:
    assert shows_date(number, {164: code}) is shown
