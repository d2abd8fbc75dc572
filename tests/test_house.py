"""The house keeps its own rules: size, doors, docstrings, columns, sources."""

import ast
import importlib
import re
from pathlib import Path

import pandas as pd
import pytest

import clearing
from clearing.rates import handbook_table
from clearing.sources import source_table
from clearing.tables import column_file

HOME = Path(clearing.__file__).parent
MODULES = sorted(HOME.rglob("*.py"))
ROOMS = sorted(path.parent.name for path in HOME.glob("*/__init__.py"))
TESTS = sorted((HOME.parent / "tests").rglob("*.py"))
WALK = sorted(path.stem for path in (HOME / "data" / "columns" / "walk").glob("*.csv"))
HANDBOOK = sorted(path.stem for path in (HOME / "data" / "handbook").glob("*.csv"))
MODULE_LINES, BODY_LINES = 400, 60
OWN = "own reasoning"
DOORS = ("cli.py", "__init__.py", "__main__.py")


def named(path: Path) -> str:
    """Return a module's place in the house."""
    return str(path.relative_to(HOME.parent))


def functions(path: Path) -> list[ast.FunctionDef]:
    """Return every function of a module, those inside classes too."""
    return [
        node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.FunctionDef)
    ]


def body_lines(function: ast.FunctionDef) -> int:
    """Return the lines of a function after its head and docstring."""
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return body[-1].end_lineno - body[0].lineno + 1 if body else 0


def references(text: str) -> str:
    """Return what stands under References in a docstring, in one line."""
    lines = text.split("References\n----------\n", 1)[1].split("\n\n", 1)[0]
    return " ".join(lines.split())


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_modules_are_small_and_say_what_they_are_for(path):
    """A docstring first, four hundred lines at most, and no function body over sixty."""
    text = path.read_text()
    assert ast.get_docstring(ast.parse(text))
    assert text.startswith('"""')
    assert len(text.splitlines()) <= MODULE_LINES
    long = {f.name: body_lines(f) for f in functions(path) if body_lines(f) > BODY_LINES}
    assert long == {}


@pytest.mark.parametrize("room", ["", *ROOMS])
def test_doors_are_sorted_and_lead_somewhere(room):
    """Each name of a room's __all__ exists, once, in order."""
    module = importlib.import_module(f"clearing.{room}".rstrip("."))
    names = list(module.__all__)
    assert names == sorted(set(names))
    assert all(hasattr(module, name) for name in names)


@pytest.mark.parametrize("path", MODULES, ids=named)
def test_references_of_docstrings_are_known_sources(path):
    """Before a semicolon stand keys of the list of sources or own reasoning, after it words."""
    known = set(source_table()["key"])
    for function in functions(path):
        doc = ast.get_docstring(function) or ""
        if "References\n----------\n" not in doc:
            continue
        keys = re.sub(r"\(.*?\)", "", references(doc)).split(";")[0].split(",")
        wrong = {key.strip() for key in keys} - known - {OWN}
        assert not wrong, function.name


@pytest.mark.parametrize("path", [path for path in MODULES if path.name not in DOORS], ids=named)
def test_public_functions_say_where_they_come_from(path):
    """Functions of a module that holds reasoning (no verbs, no doors) have References."""
    for node in ast.parse(path.read_text()).body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            assert "References\n----------\n" in (ast.get_docstring(node) or ""), node.name


@pytest.mark.parametrize("name", HANDBOOK)
def test_source_keys_of_the_handbook_are_in_the_list(name):
    """Every key in a source column resolves, and no key stands twice in the list."""
    table, known = handbook_table(name), source_table()["key"]
    assert known.is_unique
    for column in [column for column in table.columns if column == "source"]:
        assert set(table[column]) <= set(known) | {OWN}


@pytest.mark.parametrize("name", [*WALK, "totals"])
def test_tables_of_a_run_have_the_columns_of_the_contract(results, name):
    """Exactly the columns of the column file, in its order; what is required is never blank."""
    described = column_file("stocking" if name == "totals" else name, "walk")
    table = pd.DataFrame(getattr(results, name))
    assert table.columns.tolist() == described["column"].tolist()
    for row in described[described["required"] == "yes"].itertuples():
        assert table[row.column].notna().all(), row.column


@pytest.mark.parametrize("name", WALK)
def test_numbers_of_a_run_are_in_their_range(results, name):
    """Number columns are numbers, and none passes the minimum or maximum of the contract."""
    table, described = getattr(results, name), column_file(name, "walk")
    for row in described[described["kind"].isin(["number", "integer"])].itertuples():
        values = pd.to_numeric(table[row.column])
        if row.minimum:
            assert (values.dropna() >= float(row.minimum)).all(), row.column
        if row.maximum:
            assert (values.dropna() <= float(row.maximum)).all(), row.column


def test_chosen_visits_are_the_contracts_visits_and_say_why(results):
    """The plan's visits carry the contract's columns, and a reason each."""
    wanted = set(column_file("visits", "walk")["column"])
    assert wanted | {"why"} <= set(results.plan.visits.columns)
    assert (results.plan.visits["why"].str.len() > 0).all()
    assert results.plan.options["strip_id"].tolist() == sorted(results.strips["strip_id"])


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.name)
def test_tests_need_nothing_outside_the_project(path):
    """No path of a machine stands in a test: only programs' folders are named from the root."""
    words = [
        node.value for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]  # fmt: skip
    for word in words:
        for first in re.findall(r"(?:^|[\s:'\"=])/([A-Za-z_]+)(?:/|$)", word):
            assert first in ("usr", "bin") or not Path("/", first).is_dir(), word


@pytest.mark.parametrize("path", TESTS, ids=lambda path: path.name)
def test_every_test_says_its_claim(path):
    """Each test has a docstring, and asserts or expects something."""
    for function in functions(path):
        if not function.name.startswith("test_"):
            continue
        assert ast.get_docstring(function), function.name
        nodes = list(ast.walk(function))
        names = [node.attr for node in nodes if isinstance(node, ast.Attribute)]
        asserts = any(isinstance(node, ast.Assert) for node in nodes)
        expects = any(re.match("raises$|warns$|assert_", name) for name in names)
        assert asserts or expects, function.name
