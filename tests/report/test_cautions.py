"""Each caution once, where its condition holds, for the reader it is meant for; and nowhere else."""

from __future__ import annotations

from collections.abc import Mapping
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from estimator.pricing.model import PricedJob
from estimator.report.crew import cautions, render_crew
from estimator.report.quote import render_quote
from estimator.report.quote_text import texts
from tests.build import fixing, option, run, square, write_job
from tests.rate_books import with_changes
from tests.rates.books import default_book

QUOTE, CREW = "quote", "crew"
Rows = Mapping[str, Any]


def site(**more: Any) -> list[dict[str, Any]]:
    return [{"Site": "Yard", "Ground": "firm", "Access": "easy", "Travel": 10, "Services": "located", **more}]


def held(name: str) -> Rows:
    """Posts all round, and one corner held by something else."""
    return {"fixings": [fixing("A", 0, 0, 2.6, name), *square(6)[1:]]}


BEAMS: Rows = {"fixings": square(6, held_by="beam")}
POSTS: Rows = {"fixings": square(6)}


def near(*what: str) -> Rows:
    return {**POSTS, "sites": site(Near=", ".join(what) or "nothing")}


def priced(folder: Path, rows: Rows, rates: Path | None = None) -> PricedJob:
    made = {"sites": site(Near="nothing"), "options": [option("A B C D", "SQ-4000", Chosen="yes")], **rows}
    found = run(write_job(folder / "job.xlsx", **made), rates).priced
    assert found is not None
    assert found.options[0].bill is not None, found.problems
    return found


def said(job: PricedJob, reader: str) -> str:
    """All words of a copy."""
    data = render_quote(job, drawings=False) if reader == QUOTE else render_crew(job, drawings=False)
    book = load_workbook(BytesIO(data))
    return "\n".join(str(c.value) for s in book for r in s.iter_rows() for c in r if c.value is not None)


ROPE = {**POSTS, "options": [option("A B C D", "SQ-4000", Run="wire rope")]}
FITTED = {**POSTS, "options": [option("A B C D", "made to fit", Cloth="COAT-DRY")]}
# words of the caution, who reads it, where its condition holds, and where it does not (None: it always holds)
CAUTIONS: list[tuple[str, str, Rows, Rows | None]] = [
    ("buried pipes and cables have to be located", QUOTE, POSTS, BEAMS),
    ("No hole before pipes and cables are located", CREW, POSTS, BEAMS),
    ("Work at height", CREW, BEAMS, None),
    ("Wet concrete burns", CREW, POSTS, BEAMS),
    ("slacken the tensioner until the corner hangs loose", CREW, BEAMS, None),
    ("never open a shackle or take out a bolt yourself", QUOTE, BEAMS, None),
    ("Tighten all corners in turn", CREW, BEAMS, None),
    ("the saddle lies on the live side", CREW, ROPE, POSTS),
    ("An engineer decides where loads matter, and the council decides what may be built.", QUOTE, BEAMS, None),
    ("gusts over the take-down gust", QUOTE, BEAMS, None),
    ("Hand the take-down gust over", CREW, BEAMS, None),
    ("not a climbing frame", QUOTE, BEAMS, None),
    ("before snow, ice or hail", QUOTE, BEAMS, None),
    ("Something to climb on stands near", QUOTE, near("climbable"), near()),
    ("Something to climb on stands near", CREW, near("climbable"), near()),
    ("Pool fence rules apply", QUOTE, near("pool"), near()),
    ("Keep its gate shut", CREW, near("pool"), near()),
    ("before the line's owner has said", QUOTE, near("power line"), near()),
    ("until its owner has said what distance", CREW, near("power line"), near()),
    ("The sail stays down all winter", QUOTE, near("snow"), near()),
    ("storm or cyclone warning", QUOTE, near("cyclone coast"), near()),
    ("Vehicles pass near", QUOTE, near("traffic"), near()),
    ("Vehicles pass near", CREW, near("traffic"), near()),
    ("Glass is near", QUOTE, near("glass"), near()),
    ("parts of the building that we cannot see into", QUOTE, BEAMS, POSTS),
    ("stop and ring the office", CREW, BEAMS, POSTS),
    ("An engineer has to design or approve", QUOTE, held("tree"), POSTS),
    ("an engineer's design and approval of fixing A", CREW, held("tree"), POSTS),
    ("A tree moves in wind and grows", QUOTE, held("tree"), POSTS),
    ("A tree moves in wind and grows", CREW, held("tree"), POSTS),
    ("when inspection shows that it will do", QUOTE, held("existing post"), POSTS),
    ("only after measuring them and with word", QUOTE, held("post by others"), POSTS),
    ("only as good as its weld", QUOTE, held("base plate"), POSTS),
    ("only as good as its weld", CREW, held("base plate"), POSTS),
    ("In soft ground a post can move", QUOTE, {**POSTS, "sites": site(Ground="soft")}, POSTS),
    ("must never hold water", QUOTE, FITTED, POSTS),
    ("It gives shade, not shelter", QUOTE, POSTS, FITTED),
    ("cannot be sent back", QUOTE, FITTED, POSTS),
]


@pytest.mark.parametrize(
    ("words", "reader", "where", "not_where"), CAUTIONS, ids=[f"{r}: {w}" for w, r, _, _ in CAUTIONS]
)
def test_a_caution_stands_once_where_it_holds_and_not_elsewhere(
    words: str, reader: str, where: Rows, not_where: Rows | None, tmp_path: Path
) -> None:
    assert said(priced(tmp_path, where), reader).count(words) == 1
    if not_where is not None:
        assert words not in said(priced(tmp_path, not_where), reader)


def test_every_caution_of_the_rate_book_is_looked_at() -> None:
    rows = [w for w in default_book().wording if w.place in ("caution", "crew")]
    lines = [line for w in rows for line in w.text.split("\n") if w.when not in ("provisional", "no take-down")]
    for reader, place in ((QUOTE, "caution"), (CREW, "crew")):
        mine = [line for w in rows if w.place == place for line in w.text.split("\n") if line in lines]
        assert [x for x in mine if not any(words in x for words, who, _, _ in CAUTIONS if who == reader)] == []


def test_with_everything_near_no_line_is_said_twice(tmp_path: Path) -> None:
    every = site(Ground="soft", Near="pool, power line, climbable, glass, traffic, cyclone coast, snow")
    fixings = [
        fixing("A", 0, 0, 2.6, "tree"), fixing("B", 6, 0, 2.6, "base plate"), fixing("C", 6, 6, 2.6, "solid wall"),
        fixing("D", 0, 6, 2.6),
    ]  # fmt: skip
    job = priced(tmp_path, {"sites": every, "fixings": fixings, "options": ROPE["options"]})
    for reader, lines in ((QUOTE, texts(job, "caution")), (CREW, cautions(job, job.options[0]))):
        words = said(job, reader)
        assert len(lines) > 12
        assert {line: words.count(line) for line in lines} == dict.fromkeys(lines, 1)


def test_what_is_said_to_the_crew_in_its_own_words_is_not_said_in_the_customer_s(tmp_path: Path) -> None:
    words = said(priced(tmp_path, near("pool", "power line")), CREW)
    for customer_s in ("Tell us of everything you know of", "Pool fence rules", "before the line's owner"):
        assert customer_s not in words


def test_a_rate_book_without_rows_for_the_crew_gives_it_the_customer_s(tmp_path: Path) -> None:
    def older(rows: list[dict[str, str]]) -> None:
        rows[:] = [r for r in rows if r["place"] != "crew"]

    words = said(priced(tmp_path, near("pool"), with_changes(tmp_path / "rates", {"wording": older})), CREW)
    assert words.count("Pool fence rules apply") == 1
    assert words.count("buried pipes and cables have to be located") == 1
    assert "Work at height" not in words
