"""Pricing a workbook that already carries our sheets, after the user has done things to them."""

from __future__ import annotations

import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.report.package.audit import audit
from estimator.report.package.own import BASE, MARK, kept_names, names
from estimator.report.package.package import open_package
from estimator.report.package.transplant import transplant
from estimator.report.package.trouble import trouble
from estimator.report.package.zipping import read_parts
from tests.report.package.books import (
    NAMES,
    moved_to_front,
    our_book,
    part_of,
    swapped,
    tabs,
    user_book,
    with_copy,
)


@pytest.fixture(scope="module")
def user() -> bytes:
    return user_book()


@pytest.fixture(scope="module")
def written(user: bytes) -> bytes:
    return transplant(user, our_book(), NAMES)


def rendered_for(data: bytes, word: str = "first", purposes: tuple[str, ...] = ("Summary", "Bill")) -> bytes:
    """Our sheets under the names they have in the book, put into it again."""
    kept = kept_names(data)
    wanted = {purpose: kept.get(purpose, purpose) for purpose in purposes}
    return transplant(data, our_book(wanted, word), {name: purpose for purpose, name in wanted.items()})


def local_names(data: bytes, kind: str) -> dict[str, str]:
    """The text of each sheet's own name of a kind, by sheet."""
    package = open_package(data)
    return {tabs(data)[int(n.get("localSheetId", ""))]: n.text or "" for n in names(package) if n.get("name") == kind}


def test_a_renamed_sheet_keeps_its_name_and_is_referred_to_by_it(written: bytes) -> None:
    renamed = swapped(written, "xl/workbook.xml", ('sheet name="Bill"', 'sheet name="Costs 2026"'))
    assert kept_names(renamed) == {"Summary": "Summary", "Bill": "Costs 2026"}
    again = rendered_for(renamed, "second")
    assert tabs(again) == ["Job", "Sites", "Summary", "Costs 2026"]
    book = openpyxl.load_workbook(io.BytesIO(again))
    assert book["Summary"]["A3"].value == "=ROUND('Costs 2026'!A2*2,2)"
    assert book["Summary"]["A6"].hyperlink.location == "'Costs 2026'!A1"
    assert local_names(again, "_xlnm.Print_Area")["Costs 2026"] == "'Costs 2026'!$A$1:$C$9"
    assert rendered_for(again, "second") == again
    assert audit(again) == []


def test_a_moved_sheet_stays_where_it_was_put(written: bytes) -> None:
    again = rendered_for(moved_to_front(written, "Bill"), "second")
    assert tabs(again) == ["Bill", "Job", "Sites", "Summary"]
    assert local_names(again, MARK) == {"Bill": '"Bill"', "Summary": '"Summary"'}
    assert local_names(again, "_xlnm.Print_Titles") == {"Bill": "Bill!$1:$1", "Summary": "Summary!$1:$1"}
    assert (rendered_for(again, "second"), audit(again)) == (again, [])


@pytest.mark.parametrize(("copied", "kept"), [("Summary (2)", "Summary"), ("Old figures", "Summary")])
def test_a_copy_becomes_the_users(written: bytes, copied: str, kept: str) -> None:
    with_both = with_copy(written, "Summary", copied, "Summary")
    again = rendered_for(with_both, "second")
    assert kept_names(again)["Summary"] == kept
    assert list(local_names(again, MARK)) == ["Summary", "Bill"]
    assert part_of(again, copied) == part_of(with_both, copied)
    book = openpyxl.load_workbook(io.BytesIO(again))
    assert book[copied]["A1"].value == "OFFICE: costs inside, Summary first"
    assert book[copied]["A2"].number_format == '#,##0.00 "net"'
    assert book["Summary"]["A1"].value == "OFFICE: costs inside, Summary second"
    assert (rendered_for(again, "second"), audit(again)) == (again, [])


def test_a_copy_of_a_renamed_sheet_is_told_from_it(written: bytes) -> None:
    renamed = swapped(written, "xl/workbook.xml", ('sheet name="Summary"', 'sheet name="Costs"'))
    assert kept_names(with_copy(renamed, "Costs", "Costs (2)", "Summary"))["Summary"] == "Costs"
    front = moved_to_front(with_copy(renamed, "Costs", "Costs (2)", "Summary"), "Costs (2)")
    assert kept_names(front)["Summary"] == "Costs"


def test_sheets_no_longer_rendered_go_and_new_ones_come_in_order(user: bytes) -> None:
    three = ("Summary", "Bill", "Order")
    first = transplant(user, our_book(three), {name: name for name in three})
    fewer = rendered_for(first, purposes=("Summary", "Order"))
    assert tabs(fewer) == ["Job", "Sites", "Summary", "Order"]
    assert local_names(fewer, MARK) == {"Summary": '"Summary"', "Order": '"Order"'}
    assert (audit(fewer), rendered_for(fewer, purposes=("Summary", "Order"))) == ([], fewer)
    more = rendered_for(fewer, purposes=("Summary", "Posts", "Order"))
    assert tabs(more) == ["Job", "Sites", "Summary", "Posts", "Order"]
    assert local_names(more, MARK)["Posts"] == '"Posts"'
    assert audit(more) == []


def test_the_users_view_follows_when_a_sheet_before_it_goes(written: bytes) -> None:
    front = moved_to_front(written, "Bill")  # Bill, Job, Sites, Summary
    looking = swapped(front, "xl/workbook.xml", ("<workbookView ", '<workbookView activeTab="2" '))
    package = open_package(rendered_for(looking, purposes=("Summary",)))
    view = next(package.workbook.iter("{*}workbookView"))
    assert package.sheets[int(view.get("activeTab", "0"))].get("name") == "Sites"


def test_what_the_user_put_on_our_sheet_by_name_stays(written: bytes) -> None:
    own = '<definedName name="Mine" localSheetId="2">Summary!$B$2</definedName></definedNames>'
    again = rendered_for(swapped(written, "xl/workbook.xml", ("</definedNames>", own)), "second")
    assert local_names(again, "Mine") == {"Summary": "Summary!$B$2"}


def test_the_name_macros_use_stays(written: bytes) -> None:
    package = open_package(written)
    part = next(p for p in package.parts if p.endswith("sheet3.xml"))
    coded = swapped(written, part, ("<dimension", '<sheetPr codeName="Sheet7"/><dimension'))
    assert b'codeName="Sheet7"' in part_of(rendered_for(coded, "second"), "Summary")


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["one", "two", "three"]), st.booleans()), min_size=1, max_size=4))
def test_only_the_last_run_counts(runs: list[tuple[str, bool]]) -> None:
    user = user_book(("Job",))
    data = user
    for word, pictures in runs:
        data = transplant(data, our_book(word=word, pictures=pictures), NAMES)
    word, pictures = runs[-1]
    fresh = transplant(user, our_book(word=word, pictures=pictures), NAMES)
    if any(drawn for _, drawn in runs) and not pictures:  # the type of pictures may stay declared
        assert {k: v for k, v in read_parts(data).items() if k != "[Content_Types].xml"} == {
            k: v for k, v in read_parts(fresh).items() if k != "[Content_Types].xml"
        }
    else:
        assert data == fresh
    assert audit(data) == []


def test_twenty_runs_do_not_grow_the_file(user: bytes) -> None:
    data = user
    for run in range(20):
        data = transplant(data, our_book(word=f"run {run:02}"), NAMES)
    once = transplant(user, our_book(word="run 19"), NAMES)
    assert data == once


def test_nor_do_they_when_another_program_saves_in_between(user: bytes) -> None:
    data = user
    sizes = []
    for run in range(20):
        data = transplant(data, our_book(word=f"run {run:02}", pictures=False), NAMES)
        parts = read_parts(data)
        sizes.append(len(parts["xl/styles.xml"]) + len(parts["xl/sharedStrings.xml"]))
        out = io.BytesIO()
        openpyxl.load_workbook(io.BytesIO(data)).save(out)
        data = out.getvalue()
        assert kept_names(data) == NAMES
    assert max(sizes[2:]) < 1.1 * sizes[1]
    assert b"run 05" not in parts["xl/sharedStrings.xml"]
    assert audit(data) == []


def test_records_rewritten_by_another_program_are_trimmed_by_use(user: bytes, written: bytes) -> None:
    """The print of the user's records no longer fits: only what the user's sheets use is kept, and nothing less."""
    changed = swapped(written, "xl/styles.xml", ('<sz val="11"/>', '<sz val="12"/>'))
    again = rendered_for(changed, "second")
    book = openpyxl.load_workbook(io.BytesIO(again))
    assert (book["Job"]["A2"].number_format, book["Job"]["A2"].font.b) == ("0.000", True)
    assert book["Job"]["A1"].value == "typed by the user on Job"
    assert b"first" not in read_parts(again)["xl/sharedStrings.xml"]
    assert (rendered_for(again, "second"), audit(again)) == (again, [])


def test_marks_are_hidden_and_hold_the_purpose(written: bytes) -> None:
    marks = [n for n in names(open_package(written)) if n.get("name") in (MARK, BASE)]
    assert [n.get("hidden") for n in marks] == ["1", "1", "1"]
    assert [n.text for n in marks[:2]] == ['"Summary"', '"Bill"']


def test_our_sheets_are_no_trouble_the_second_time(written: bytes) -> None:
    assert trouble(written, ["Summary", "Bill"]) == []
