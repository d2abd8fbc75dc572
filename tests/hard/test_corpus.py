"""Damaged properties of every kind give the sentences of corpus.csv, and nothing is written.

Every second case is run; CLEARING_CORPUS=all runs all of them, which takes some minutes.
"""

import collections
import os
import re

import pytest
from click.testing import CliRunner

from clearing import pipeline
from clearing.cli import main
from tests.hard.damage import PLACE, Looks, Maker, cases, told
from tests.hard.ground import both, lay_out, swapped, written

CASES = {case.name: case for case in cases()}
EVERY = 1 if os.environ.get("CLEARING_CORPUS") == "all" else 2
TOLD = told()
LONGEST_S = 20.0  # a case takes about a second; a loaded machine is no hang
LIBRARY = re.compile(
    r"Traceback|[Pp]andas|numpy|GDAL|pyogrio|shapely|sqlite|codec|[Tt]okeniz|dtype|vsimem|Errno"
    r"|Exception|\bNone\b|NoneType|LineString|MultiPo|datetime|e\+\d\d"
)


@pytest.fixture(scope="module")
def maker(tmp_path_factory):
    """Return the maker of damaged copies; the same property is looked at once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pipeline, "look", Looks(pipeline.look))
        yield Maker(tmp_path_factory.mktemp("hard"))


@pytest.mark.parametrize("name", list(CASES)[::EVERY])
def test_damage_is_told_in_the_corpus_words_and_nothing_is_written(name, maker):
    """A verb ends as the corpus has it, says its sentences, and leaves every byte as it was."""
    row, answer = maker.row(CASES[name])
    assert answer.error is None
    assert row == TOLD[name]
    assert answer.untouched
    assert answer.seconds < LONGEST_S


def test_the_corpus_is_as_large_as_is_said_and_no_more_than_the_cases():
    """Two hundred and twenty cases or more, each with a name of its own, and no row without one."""
    assert len(CASES) >= 220
    assert [name for name, n in collections.Counter(c.name for c in cases()).items() if n > 1] == []
    assert list(TOLD) == list(CASES)


def test_sentences_are_the_owners_and_no_librarys():
    """Every case says something, and none has words of the machinery in it."""
    assert [name for name, row in TOLD.items() if not row["said"]] == []
    assert {n: found for n, row in TOLD.items() if (found := LIBRARY.findall(row["said"]))} == {}


def test_names_that_climb_write_nothing_outside_the_folder(tmp_path):
    """Blocks and strips called ../../x are planned, and every file lands in the folder's out."""
    home = lay_out(tmp_path / "deep" / "deeper" / PLACE)
    both(
        written("blocks", "block_id", "../../x", 0), written("strips", "block_id", "../../x", 0),
        written("strips", "block_id", "../../x", 1), written("strips", "strip_id", "../../s", 1),
        swapped("records.csv", "S1", "../../s"), swapped("property.toml", "Wren", "../../Wren"),
    )(home)  # fmt: skip
    before = set(tmp_path.rglob("*"))
    answer = CliRunner().invoke(main, ["plan", str(home), "--gap", "0.05"])
    assert answer.exit_code == 0, answer.output
    new = {path for path in tmp_path.rglob("*") if path.suffix != ".lock"} - before
    assert new
    assert all(path.is_relative_to(home / "out") for path in new)
