"""What the README and DEVELOPERS say is so: commands, columns, files, statuses, pictures."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from estimator.cli import main
from estimator.rates.columns import RATE_TABLES
from estimator.report.blank import heading
from estimator.report.names import SHEETS
from estimator.sheets.columns import TABLES
from tests.golden import readme
from tests.golden.samples import FOLDER, SAMPLES

ROOT = Path(__file__).parents[1]
DOCS = ("README.md", "DEVELOPERS.md")
TEXT = {name: (ROOT / name).read_text(encoding="utf-8") for name in DOCS}
README = TEXT["README.md"]
# what a text must not hold: where it was written, and on whose machine
PLACES = ("/work", "/tmp", "/opt", "/home", "/root", "/Users", "C:\\", "file://", "localhost")


def commands() -> list[str]:
    """The one-line commands of the README."""
    return [line for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL) for line in block.splitlines()]


def in_ci() -> list[list[str]]:
    """The commands that the continuous integration runs, in words, without what only makes them quiet."""
    lines = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    plain = [line for line in lines if line.strip() and not line.lstrip().startswith("#")]
    quiet = ("-q", "--disable-pip-version-check")
    return [[w for w in line.split() if w not in quiet] for line in plain]


def test_the_readme_begins_with_what_the_program_is_for() -> None:
    first = README.split("\n\n")[1].replace("\n", " ")
    for word in (
        "tape",
        "firm price",
        "chain",
        "tensioner",
        "posts",
        "holes",
        "concrete",
        "hours",
        "visits",
        "command",
    ):
        assert word in first, word


def test_the_readme_gives_two_commands_of_one_line() -> None:
    assert len(commands()) == 2
    for command in commands():
        parts = [part.strip() for part in command.split("&&")]
        assert parts[0] == "python3 -m venv .venv"
        assert parts[1].startswith(".venv/bin/pip install -e ")


def test_the_integration_runs_the_commands_of_the_readme() -> None:
    ran = in_ci()
    price, test = commands()
    for part in test.split("&&"):
        assert part.split() in ran, part
    words = price.split("&&")[-1].split()
    assert any(line[: len(words)] == words for line in ran), words


def test_the_sample_of_the_readme_is_priced(tmp_path: Path) -> None:
    words = shlex.split(commands()[0].split("&&")[-1])
    assert words[0].endswith("bin/estimator")
    job = ROOT / words[-1]
    assert job.is_file()
    result = CliRunner().invoke(main, [*words[1:-1], str(job), "--out", str(tmp_path)])
    assert result.exit_code == 0, result.output
    # the files are called as the README calls those of yard.xlsx
    named = {n.replace("yard", job.stem) for n in re.findall(r"`(yard-\w+\.(?:xlsx|pdf))`", README)}
    assert {p.name for p in tmp_path.iterdir()} == named


def test_the_parts_that_follow_from_declarations_are_up_to_date() -> None:
    assert readme.filled(README) == README, "run python -m tests.golden.readme"


def test_every_column_is_told_and_needed_ones_are_bold() -> None:
    for table in TABLES:
        part = README.split(f"#### `{table.sheet}`")[1].split("####")[0]
        for column in table.columns:
            name = f"**{heading(column)}**" if column.required else heading(column)
            row = next((line for line in part.splitlines() if line.startswith(f"| {name} |")), "")
            assert len(row.split("|")[2].strip()) > 1, f"{table.sheet}, {column.name}"


def test_every_table_of_the_rate_book_is_told() -> None:
    assert set(readme.RATES) == {t.sheet for t in RATE_TABLES}
    assert all(f"| `{t.sheet}` |" in README for t in RATE_TABLES)


def test_every_word_of_readme_about_columns_is_of_a_column() -> None:
    known = {c.name for t in TABLES for c in t.columns} | {f"{t.sheet}.{c.name}" for t in TABLES for c in t.columns}
    assert set(readme.MEANS) <= known


def test_every_sheet_of_the_priced_workbook_is_told() -> None:
    assert all(f"| `{name}` |" in README for name in SHEETS)


def test_every_sample_is_named() -> None:
    assert all(f"`{s.name}`" in README for s in SAMPLES)
    assert {p.stem for p in FOLDER.glob("*.xlsx") if not p.stem.endswith(("-priced", "-quote", "-crew"))} == {
        s.name for s in SAMPLES
    }


def test_every_exit_status_is_told() -> None:
    assert re.findall(r"^\| (\d) \| ", README, re.MULTILINE) == ["0", "1", "2"]


def test_every_option_of_the_command_is_told_and_no_other() -> None:
    found = {o for c in main.commands.values() for p in c.params for o in p.opts if o.startswith("--")}
    assert set(re.findall(r"--[a-z][a-z-]+", README)) == found
    assert set(main.commands) <= set(re.findall(r"`estimator (\w+)", README))


def links(name: str) -> Iterator[str]:
    yield from re.findall(r"\]\(([^)#]+)\)", TEXT[name])


@pytest.mark.parametrize("name", DOCS)
def test_links_and_pictures_exist(name: str) -> None:
    for target in links(name):
        assert (ROOT / target).exists(), target
    shown = set(re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README))
    assert shown == {f"templates/pictures/{p.name}" for p in (ROOT / "templates" / "pictures").iterdir()}


@pytest.mark.parametrize("path", sorted((ROOT / "templates" / "pictures").iterdir()), ids=lambda p: p.name)
def test_a_picture_is_small_and_not_empty(path: Path) -> None:
    assert path.stat().st_size < 150_000
    with Image.open(path) as picture:
        assert picture.width > 400
        assert picture.height > 300
        assert len(picture.convert("L").getcolors() or []) > 10


@pytest.mark.parametrize("name", DOCS)
def test_no_place_of_a_machine_is_named(name: str) -> None:
    # a folder of tests may begin with the same letters
    assert [p for p in PLACES if re.search(re.escape(p) + "(?![a-z])", TEXT[name])] == []


@pytest.mark.parametrize("name", DOCS)
def test_paths_that_are_named_exist(name: str) -> None:
    """Whatever looks like a path of this project is one."""
    tops = ("estimator/", "tests/", "templates/", "sample_jobs/", ".ci/")
    for word in re.findall(r"`([^`\s]+)`", TEXT[name]):
        if word.startswith(tops) and "*" not in word:
            assert (ROOT / word).exists(), word


def test_the_ways_to_write_a_size_are_understood() -> None:
    from estimator.core.problems import Place
    from estimator.sheets.grammar import Context
    from estimator.sheets.size import read_size

    part = README.split("**Size** of a sail")[1].split("###")[0]
    kinds = {}
    for text in re.findall(r"^\| `([^`]+)` \|", part, re.MULTILINE):
        size, problems = read_size(text, Context(), Place())
        assert size is not None, problems
        kinds[text] = size.kind
    assert set(kinds.values()) == {"stock", "sides", "made to fit"}


def test_the_ways_to_write_a_length_are_understood() -> None:
    from estimator.core.problems import Place
    from estimator.sheets.cells import Cell
    from estimator.sheets.columns import Column
    from estimator.sheets.grammar import Context, read_value

    def read(text: str, high: float = 30) -> tuple[object, list[str]]:
        column = Column("Height", "length", low=-30, high=high)
        value, found = read_value(Cell(text, "text"), column, "", Context(), Place())
        return value, [p.level for p in found]

    part = README.split("### How to write numbers")[1].split("###")[0]
    lengths = re.findall(r"`([^`]+)`", part.split("wins:")[1].split("Without")[0])
    assert len(lengths) >= 6
    for text in lengths:
        value, levels = read(text)
        assert isinstance(value, float), text
        assert "error" not in levels
    (twofold,) = re.findall(r"`([^`]+)`", part.split("read in two ways")[1].split("Where")[0])
    assert read(twofold) == (1.2, ["note", "note"])  # metres are taken, and 1200 m would lie out of bounds
    assert read(twofold, 2000) == (None, ["error"])
    refused = re.findall(r"`([^`]+)`", part.split("how you write.")[1].split("no numbers")[0])
    assert len(refused) == 3
    for text in refused:
        assert "error" in read(text)[1], text


def test_the_default_prices_are_said_to_be_invented() -> None:
    assert "Every price in the default rate book is invented" in README
    for table in ("sails", "items", "posts", "rigging", "trades"):
        text = (ROOT / "templates" / "rates" / f"{table}.csv").read_text(encoding="utf-8")
        assert "invented for the default rate book" in text, table
