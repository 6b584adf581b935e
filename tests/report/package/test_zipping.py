"""The same parts give the same zip, whenever and wherever it is made."""

from __future__ import annotations

import io
import zipfile
from datetime import UTC, datetime

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from estimator.report.package.zipping import EARLIEST, read_parts, settle, zip_parts

NAMES = st.text("abcdefghij/._", min_size=1, max_size=12).filter(lambda n: not n.endswith("/"))


@given(st.dictionaries(NAMES, st.binary(max_size=50), max_size=6))
def test_parts_come_back_in_their_order(parts: dict[str, bytes]) -> None:
    assert list(read_parts(zip_parts(parts)).items()) == list(parts.items())


def test_no_trace_of_time_or_system() -> None:
    with zipfile.ZipFile(io.BytesIO(zip_parts({"b": b"1", "a": b"2"}))) as archive:
        entries = archive.infolist()
    assert [e.filename for e in entries] == ["b", "a"]
    assert {(e.date_time, e.create_system, e.external_attr, e.extra) for e in entries} == {
        (EARLIEST, 0, 0o600 << 16, b"")
    }


def test_folders_are_no_parts_and_a_name_twice_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("xl/", b"")
        archive.writestr("xl\\a.xml", b"<a/>")
        assert read_parts_of(archive, out) == {"xl/a.xml": b"<a/>"}
        archive.writestr("xl/a.xml", b"<b/>")
    with pytest.raises(ValueError, match="twice"):
        read_parts(out.getvalue())


def read_parts_of(archive: zipfile.ZipFile, out: io.BytesIO) -> dict[str, bytes]:
    copy = io.BytesIO()
    with zipfile.ZipFile(copy, "w") as again:
        for entry in archive.infolist():
            again.writestr(entry, archive.read(entry))
    return read_parts(copy.getvalue())


def standalone(made: datetime) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    book.set_properties({"title": "a quote", "created": made})
    book.add_worksheet("Quote").write_string("A1", "text")
    book.close()
    return out.getvalue()


def test_a_book_of_another_day_settles_to_the_same_bytes() -> None:
    one, two = (standalone(datetime(year, 5, 6, 7, 8, 9, tzinfo=UTC)) for year in (2024, 2026))
    assert one != two
    assert settle(one) == settle(two)
    assert settle(settle(one)) == settle(one)
    core = read_parts(settle(one))["docProps/core.xml"]
    assert core.count(b"2000-01-01T00:00:00Z") == 2
    assert b"a quote" in core
    assert {k: v for k, v in read_parts(settle(one)).items() if "core" not in k} == {
        k: v for k, v in read_parts(one).items() if "core" not in k
    }
