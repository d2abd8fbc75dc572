"""What the house says of itself is so: README, DEVELOPERS.md, docstrings and notebooks."""

import ast
import doctest
import importlib
import json
import re
from pathlib import Path

import pytest

import clearing
from clearing.cli import main

HOME = Path(clearing.__file__).parent
ROOT = HOME.parent
README, DEVELOPERS = (ROOT / name for name in ("README.md", "DEVELOPERS.md"))
ROOMS = sorted(path.parent.name for path in HOME.glob("*/__init__.py"))
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
NO_ROOM = {"ClearingError", "ClearingWarning", "InputError", "Property", "RangeWarning", "Results"}
PICTURE_KB = 160  # so that the page opens on a phone
FENCE = re.compile(r"^```\w*\n(.*?)^```", re.M | re.S)


def commands() -> list[str]:
    """Return every command of this project that README shows, in its fences and its lines."""
    text = README.read_text(encoding="utf-8").split("## The verbs")[0]
    text += README.read_text(encoding="utf-8").split("<!-- [[[end]]] -->")[-1]
    shown = [line for fence in FENCE.findall(text) for line in fence.splitlines()]
    shown += [" ".join(code.split()) for code in re.findall(r"`([^`]+)`", FENCE.sub("", text))]
    found = [re.search(r"(?:^|/)clearing ([a-z].*)", line) for line in shown]
    return sorted({each.group(1).split("  #")[0] for each in found if each})


def headings(path: Path) -> set[str]:
    """Return the anchors of a page's headings."""
    lines = re.findall(r"^#+ (.+)$", path.read_text(encoding="utf-8"), re.M)
    return {re.sub(r"[^\w\- ]", "", line.lower()).replace(" ", "-") for line in lines}


def public(name: str) -> set[str]:
    """Return the public names of a room, or of a module beside the rooms."""
    module = importlib.import_module(f"clearing.{name}")
    return set(getattr(module, "__all__", [one for one in vars(module) if one[0] != "_"]))


@pytest.mark.parametrize("command", commands())
def test_commands_of_readme_are_verbs_with_such_options(command):
    """Each verb that README shows exists, and has every option shown with it."""
    verb, *rest = command.split()
    assert verb in main.commands
    has = {each for option in main.commands[verb].params for each in option.opts}
    assert {word for word in rest if word.startswith("--")} <= has | {"--help", "--json"}


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=lambda page: page.name)
def test_links_and_pictures_lead_somewhere(page):
    """Each link inside the project names a file that is there, and a heading that is in it."""
    text = page.read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)\s]+)\)", text) + re.findall(r'src="([^"]+)"', text)
    for target in (each for each in targets if not each.startswith("http")):
        name, _, anchor = target.partition("#")
        other = ROOT / name if name else page
        assert other.is_file(), target
        assert not anchor or anchor in headings(other), target


def test_every_picture_is_shown_and_small():
    """README shows each picture that is kept, and none weighs on a phone."""
    text = README.read_text(encoding="utf-8")
    for picture in (ROOT / "sample_data" / "pictures").iterdir():
        assert f"pictures/{picture.name}" in text
        assert picture.stat().st_size < PICTURE_KB * 1000, picture.name


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=lambda page: page.name)
def test_files_of_the_project_that_are_named_are_there(page):
    """Each Python file, and each path from the root of the house, that a page names exists."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.S)
    for code in re.findall(r"`([^`\n]+)`", text.split("## Changelog")[0]):
        for word in re.findall(r"[\w./*-]+", code):
            ours = word.split("/")[0] in ("clearing", "tests", "notebooks", "sample_data", ".ci")
            if "..." in word or not (re.search(r"\w\.py$", word) or (ours and "/" in word)):
                continue
            own = word.rstrip("/.")
            assert next(ROOT.glob(own), None) or next(HOME.rglob(own), None), word


def test_the_example_of_the_package_runs():
    """What help(clearing) shows is what comes out."""
    example = doctest.DocTestParser().get_doctest(clearing.__doc__, {}, "clearing", None, 0)
    runner = doctest.DocTestRunner()
    runner.run(example)
    assert runner.tries > 0
    assert runner.failures == 0


def test_the_package_tells_each_of_its_doors():
    """help(clearing) has a line on every room and every function that is public."""
    told = set(re.findall(r"``(\w+)[`(]", clearing.__doc__))
    assert set(clearing.__all__) - NO_ROOM <= told
    assert set(ROOMS) <= told


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_says_what_it_takes_and_gives_by_its_doors(room):
    """A room's docstring has both, and each name in it is one of its doors or the package's."""
    said = importlib.import_module(f"clearing.{room}").__doc__
    assert "\nTakes " in said
    assert "\nGives " in said
    names = set(re.findall(r"`(?:clearing\.)?(\w+)`", said))
    assert names <= public(room) | set(clearing.__all__)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebooks_ask_a_question_and_go_through_public_doors(path):
    """No output is kept, the title asks, the end says what to try, and no inner module is used."""
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    assert not [cell for cell in cells if cell.get("outputs") or cell.get("execution_count")]
    texts = ["".join(cell["source"]) for cell in cells]
    assert re.match(r"# .*\?\n", texts[0])
    assert texts[-1].startswith("**Try next:**")
    code = "\n".join(text for cell, text in zip(cells, texts, strict=True)
                     if cell["cell_type"] == "code")  # fmt: skip
    assert not re.search(r"^\s*(from clearing|import clearing\.)", code, re.M)
    for node in ast.walk(ast.parse(re.sub(r"^%.*$", "", code, flags=re.M))):
        names = ast.unparse(node).split(".") if isinstance(node, ast.Attribute) else []
        if names[:1] != ["clearing"] or not all(name.isidentifier() for name in names):
            continue
        assert names[1] in clearing.__all__
        assert len(names) == 2 or names[2] in public(names[1])
