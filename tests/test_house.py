"""The house keeps its habits: imports point one way, the start is light, every code is used, modules stay small.

The source is read as text (ast), so a rule holds for what is imported inside a function too.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from estimator.core.catalogue import CATALOGUE

ROOT = Path(__file__).parents[1]
HOUSE = ROOT / "estimator"
MODULES = sorted(HOUSE.rglob("*.py"))
MOST_LINES = 300
WORDY = {"core/catalogue.py"}  # sentences, one code after the other
DECLARED = {"rates/columns.py", "rates/model.py"}  # rows, one table after the other

# which rooms a room may import, beside itself; `sheets.size` is one module of a room
MAY: dict[str, tuple[str, ...]] = {
    "core": (),
    "geometry": ("core",),
    "sheets": ("core",),
    "job": ("sheets", "core"),
    "rates": ("sheets", "core"),
    "takeoff": ("geometry", "job", "rates", "sheets.size", "sheets.grammar", "core"),
    "screening": ("takeoff", "geometry", "job", "rates", "core"),
    "pricing": ("screening", "takeoff", "job", "rates", "core"),
    "report": ("pricing", "screening", "takeoff", "geometry", "job", "rates", "sheets", "core"),
    "actuals": ("report", "pricing", "takeoff", "job", "rates", "sheets", "core"),
    "pipeline": ("pricing", "screening", "takeoff", "job", "rates", "sheets", "core"),
    "beside": ("report", "pricing", "sheets", "core"),
    "aim": ("pipeline", "report", "pricing", "screening", "takeoff", "geometry", "job", "rates", "core"),
    "jobfile": ("aim", "beside", "actuals", "pipeline", "report", "pricing", "sheets", "core"),
    "frames": ("jobfile", "pipeline", "pricing", "sheets", "core"),
    "many": ("jobfile", "pipeline", "report", "pricing", "rates", "sheets", "core"),
    "cli": ("many", "jobfile", "pipeline", "core"),
}
# these give lines or quantities of one trade each; what they share lies in lines, model and measures
TRADES = ("cloth", "rigging", "posts", "footings", "kits", "labour", "extras", "concrete")
HEAVY = ("distributed", "pandas", "pint", "scipy", "matplotlib", "openpyxl", "numpy", "lxml", "xlsxwriter", "reportlab")
READERS = {"sheets/cells.py", "report/kept_quote.py"}  # open a workbook through the library that reads them
GATHERING = {
    "report/drawing_paper.py Paper",
    "report/package/audit_cells.py Sizes",
    "report/package/carry.py Load",
    "report/package/package.py Package",
    "report/package/strings.py Strings",
    "sheets/feeds.py _Ways",
    "sheets/ods.py _Reading",
    "sheets/tidy.py Facts",
}
PLAIN = {  # the command's, a fault of ours, and rows kept while a sheet is written
    "cli.py _JobIsPrice", "cli.py _Progress", "report/rows.py Rows", "report/rows.py Texts",
    "report/rows.py ReportFault",
}  # fmt: skip
DOORS = {"sheets/cells.py", "beside.py", "jobfile.py", "frames.py", "many/clash.py"}  # open a file that a user names


def name_of(path: Path) -> str:
    return path.relative_to(HOUSE).as_posix()


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name, under estimator, of everything a module imports from the house."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "estimator":
            module = node.module.partition(".")[2]
            for alias in node.names:
                # `from estimator.takeoff import cloth` names a module, `from estimator.core.names import key` does not
                inner = HOUSE.joinpath(*module.split("."), f"{alias.name}.py")
                yield node.lineno, f"{module}.{alias.name}".strip(".") if inner.is_file() else module
        elif isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.split(".")[0] == "estimator":
                    yield node.lineno, alias.name.partition(".")[2]


def room_of(path: Path) -> str:
    return name_of(path).split("/")[0].removesuffix(".py")


def within(module: str, room: str) -> bool:
    return module == room or module.startswith(f"{room}.")


def test_imports_point_one_way() -> None:
    wrong = []
    for path in MODULES:
        room = room_of(path)
        if room == "__init__":
            continue
        for line, module in imported(path):
            if module and not any(within(module, allowed) for allowed in (room, *MAY[room])):
                wrong.append(f"{name_of(path)}:{line} imports {module}")
    assert wrong == []


def test_every_room_has_a_rule() -> None:
    rooms = {room_of(p) for p in MODULES} - {"__init__"}
    assert rooms == set(MAY)


def test_trades_do_not_import_each_other() -> None:
    wrong = []
    for trade in TRADES:
        for line, module in imported(HOUSE / "takeoff" / f"{trade}.py"):
            if any(within(module, f"takeoff.{other}") for other in TRADES if other != trade):
                wrong.append(f"takeoff/{trade}.py:{line} imports {module}")
    assert wrong == []


def test_kits_and_labour_see_only_measures() -> None:
    """What is bought by the piece and what takes hours follows from counts and sizes, never from the shape."""
    for trade in ("kits", "labour"):
        modules = {m for _, m in imported(HOUSE / "takeoff" / f"{trade}.py")}
        assert not any(within(m, "geometry") or within(m, "job") for m in modules), (trade, modules)


def test_no_two_modules_import_each_other_at_the_start() -> None:
    at_start: dict[str, set[str]] = {}
    for path in MODULES:
        found = set()
        for node in tree(path).body:
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("estimator."):
                module = str(node.module).partition(".")[2]
                found |= {
                    f"{module}.{a.name}" if HOUSE.joinpath(*module.split("."), f"{a.name}.py").is_file() else module
                    for a in node.names
                }
        at_start[name_of(path).removesuffix(".py").replace("/", ".")] = found
    done: set[str] = set()

    def walk(module: str, trail: tuple[str, ...]) -> None:
        assert module not in trail, " -> ".join([*trail, module])
        if module in done:
            return
        for other in sorted(at_start.get(module, ())):
            walk(other, (*trail, module))
        done.add(module)

    for module in at_start:
        walk(module, ())
    assert done >= set(at_start)


def test_the_start_is_light() -> None:
    """Help and a wrong word have to come at once; heavy libraries are loaded by the function that needs them."""
    code = f"import sys, estimator.cli; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout.strip() == "[]"


def calls(path: Path) -> Iterator[tuple[int, str]]:
    """Line and dotted name of every call."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call):
            yield node.lineno, ast.unparse(node.func)


def test_only_the_command_prints_and_exits() -> None:
    said = ("print", "click.echo", "sys.exit", "exit", "quit", "os._exit", "sys.stdout.write", "sys.stderr.write")
    wrong = [f"{name_of(p)}:{line} {what}" for p in MODULES for line, what in calls(p) if what in said]
    assert [w for w in wrong if not w.startswith("cli.py:")] == []
    assert any(w.startswith("cli.py:") for w in wrong)


def test_workbooks_are_opened_in_one_room() -> None:
    readers = {name_of(p) for p in MODULES for _, what in calls(p) if what.split(".")[-1] == "load_workbook"}
    doors = {name_of(p) for p in MODULES for _, what in calls(p) if what.split(".")[-1] == "open_door"}
    assert readers == READERS
    assert doors == DOORS


def string_words(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value


def joined_words(path: Path) -> Iterator[tuple[str, str]]:
    """What stands before and after the one changing part of an f-string, such as `tape-` and nothing."""
    for node in ast.walk(tree(path)):
        if not isinstance(node, ast.JoinedStr):
            continue
        fixed = [n.value if isinstance(n, ast.Constant) and isinstance(n.value, str) else None for n in node.values]
        if fixed.count(None) == 1 and len(fixed) > 1:
            at = fixed.index(None)
            yield "".join(w or "" for w in fixed[:at]), "".join(w or "" for w in fixed[at + 1 :])


def test_every_code_of_the_catalogue_is_used() -> None:
    paths = [p for p in MODULES if name_of(p) not in WORDY]
    words = {word for p in paths for _, word in string_words(p)}
    joins = [j for p in paths for j in joined_words(p) if re.fullmatch(r"[a-z-]*", j[0] + j[1]) and "-" in j[0] + j[1]]

    def put_together(code: str) -> bool:
        return any(
            code.startswith(before) and code.endswith(after) and code[len(before) : len(code) - len(after)] in words
            for before, after in joins
        )

    assert [c for c in CATALOGUE if c not in words and not put_together(c)] == []


def test_every_code_that_is_reported_is_in_the_catalogue() -> None:
    wrong = []
    for path in MODULES:
        for node in ast.walk(tree(path)):
            if not (isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] == "problem" and node.args):
                continue
            code = node.args[0]
            for each in (code.body, code.orelse) if isinstance(code, ast.IfExp) else (code,):
                if isinstance(each, ast.Constant) and each.value not in CATALOGUE:
                    wrong.append(f"{name_of(path)}:{node.lineno} {each.value}")
    assert wrong == []


def test_codes_are_plain_words_and_sentences_end() -> None:
    for code, (level, text) in CATALOGUE.items():
        assert re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", code), code
        assert level in ("error", "warning", "note"), code
        assert text.rstrip().endswith((".", "?", "}")), code
        assert "  " not in text, code


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_a_module_is_small_and_says_what_it_is(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").count("\n")
    if name_of(path) not in WORDY | DECLARED:
        assert lines < MOST_LINES, f"{lines} lines"
    if lines:
        assert ast.get_docstring(tree(path)), "a module says in its first line what it is for"


def public(body: list[ast.stmt]) -> Iterator[ast.FunctionDef | ast.ClassDef]:
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body)


def test_public_functions_and_classes_have_docstrings() -> None:
    wrong = []
    for path in MODULES:
        for node in public(tree(path).body):
            if not ast.get_docstring(node):
                wrong.append(f"{name_of(path)}:{node.lineno} {node.name}")
    assert wrong == []


def test_data_are_frozen() -> None:
    """Every dataclass is frozen, but for the few that gather a file or a drawing while it is written or read."""
    thawed, other = set(), set()
    for path in MODULES:
        for node in ast.walk(tree(path)):
            if not isinstance(node, ast.ClassDef):
                continue
            made = [ast.unparse(d) for d in node.decorator_list]
            if any("dataclass" in d for d in made):
                if not any("frozen=True" in d for d in made):
                    thawed.add(f"{name_of(path)} {node.name}")
            else:
                other.add(f"{name_of(path)} {node.name}")
    assert thawed == GATHERING
    assert other == PLAIN


def test_money_is_never_rounded_by_round() -> None:
    wrong = [
        f"{name_of(p)}:{line}"
        for p in MODULES
        if room_of(p) == "pricing" or name_of(p) == "core/money.py"
        for line, what in calls(p)
        if what == "round"
    ]
    assert wrong == []
