"""The rules of the house that no linter holds: names, imports, docstrings, tests that can fail."""

import ast
import importlib
import re
from pathlib import Path

import pytest

import clearing

HOME = Path(clearing.__file__).parent
MODULES = {str(path.relative_to(HOME)): path for path in sorted(HOME.rglob("*.py"))}
TREES = {name: ast.parse(path.read_text()) for name, path in MODULES.items()}
TESTS = {
    str(path.relative_to(HOME.parent)): ast.parse(path.read_text())
    for path in sorted((HOME.parent / "tests").rglob("*.py"))
}
ROOMS = sorted(path.parent.name for path in HOME.glob("*/__init__.py"))
EMPTY_WORDS = {"utils", "helpers", "common", "base", "core", "manager", "misc"}
# doors that start in a blink, and libraries that only some computers have or that load slowly
LATE_IMPORTS = {
    "cli.py", "log_verb.py", "progress.py", "app/planner.py", "files/lock.py",
    "forecast/squares.py", "report/mixing.py",
}  # fmt: skip
OTHERS_KEYWORDS = {  # functions that hand keywords on to one library call
    "app/planner.py say", "cli.py mix", "files/standing.py replace", "log_verb.py _log",
    "report/charts.py _patch",
}  # fmt: skip
PRINTING = ("cli.py", "log_verb.py", "progress.py", "app/")
HEADS = r"Parameters\n-+\n(.*?)(?:\n\n[A-Z][A-Za-z ]+\n-+|\Z)"


def walked(kind):
    """Return module and node of all nodes of a kind in the house."""
    return [
        (name, node) for name, tree in TREES.items() for node in ast.walk(tree)
        if isinstance(node, kind)
    ]  # fmt: skip


def documented(text: str) -> list[str] | None:
    """Return the parameters that a docstring describes, in order; none where it has no list."""
    found = re.search(HEADS, text, re.DOTALL)
    if found is None:
        return None
    heads = [line for line in found[1].splitlines() if line and not line.startswith(" ")]
    return [name.strip().lstrip("*") for head in heads for name in head.split(" : ")[0].split(",")]


def real(function: ast.FunctionDef) -> list[str]:
    """Return the parameters of a function, in order."""
    args = function.args
    several = [args.vararg] if args.vararg else []
    return [one.arg for one in (*args.posonlyargs, *args.args, *several, *args.kwonlyargs)]


def test_modules_are_named_after_a_topic():
    """No module is called utils, helpers, common, base, core or manager."""
    assert [name for name in MODULES if Path(name).stem in EMPTY_WORDS] == []


@pytest.mark.parametrize("room", ROOMS)
def test_no_door_hides_a_module_of_its_room(room):
    """What a room exports bears no name of one of its files, which it would hide."""
    door = importlib.import_module(f"clearing.{room}")
    files = {path.stem for path in (HOME / room).glob("*.py")}
    assert files & set(door.__all__) == set()


def test_no_private_name_crosses_a_file():
    """What begins with an underscore is imported nowhere, the version aside."""
    taken = [
        f"{name}: {one.name}" for name, node in walked(ast.ImportFrom)
        if (node.module or "").startswith("clearing")
        for one in node.names if one.name.startswith("_") and one.name != "__version__"
    ]  # fmt: skip
    assert taken == []


def test_imports_stand_on_top():
    """Only doors that must start in a blink import inside functions."""
    late = {
        name for name, function in walked(ast.FunctionDef)
        if any(isinstance(node, ast.Import | ast.ImportFrom) for node in ast.walk(function))
    }  # fmt: skip
    assert late - LATE_IMPORTS == set()


def test_nothing_is_global_and_keywords_are_named():
    """No `global` statement; keywords are handed on unnamed in a few known places alone."""
    assert [name for name, _ in walked(ast.Global)] == []
    handed = {f"{name} {function.name}" for name, function in walked(ast.FunctionDef)
              if function.args.kwarg is not None}  # fmt: skip
    assert handed - OTHERS_KEYWORDS == set()


def test_rooms_do_not_print_or_raise_nameless_errors():
    """Print is for the doors; no bare except, no bare Exception."""
    printing = {name for name, node in walked(ast.Call) if ast.unparse(node.func) == "print"}
    assert {name for name in printing if not name.startswith(PRINTING)} == set()
    assert [name for name, node in walked(ast.ExceptHandler) if node.type is None] == []
    raised = [ast.unparse(node.exc) for _, node in walked(ast.Raise) if node.exc is not None]
    assert [one for one in raised if one.startswith("Exception")] == []


def test_docstrings_list_the_parameters_that_are_there():
    """Where a public function lists its parameters it lists all of them, in their order."""
    wrong = {}
    for name, tree in TREES.items():
        for node in tree.body:
            if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
                continue
            said = documented(ast.get_docstring(node) or "")
            if said is not None and said != real(node) and "as `" not in ast.get_docstring(node):
                wrong[f"{name} {node.name}"] = said
    assert wrong == {}


def test_expected_errors_say_their_words():
    """A test that waits for an owner's error says its words, or looks at it afterwards."""
    silent = []
    for name, tree in TESTS.items():
        for node in ast.walk(tree):
            for item in node.items if isinstance(node, ast.With) else ():
                call = ast.unparse(item.context_expr)
                waits = re.search(r"raises\(.*(InputError|ClearingError)", call)
                if waits and not item.optional_vars and "match" not in call:
                    silent.append(f"{name}:{node.lineno}")
    assert silent == []


def test_no_comparison_of_numbers_falls_on_the_floor():
    """No test calls `allclose` without asserting what it says."""
    lost = [
        f"{name}:{node.lineno}" for name, tree in TESTS.items() for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)
        and ast.unparse(node.value.func).endswith("np.allclose")
    ]  # fmt: skip
    assert lost == []


def test_the_changelog_begins_with_this_version():
    """The top heading of the changelog is the package's version."""
    text = (HOME.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    top = re.search(r"^### (\d+\.\d+\.\d+)", text.split("## Changelog")[1], re.MULTILINE)
    assert top is not None
    assert top[1] == clearing.__version__
