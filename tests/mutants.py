"""Change one thing at a time in a module of figures, and see whether its tests notice.

``python -m tests.mutants [MODULE ...] [--share 0.3] [--seed 1]``. Each change is tried in a child
forked after the tests were collected: the code of the module's functions is exchanged there, and
only tests that run the changed line are run, the quickest first. A child that runs out of time
counts as killed. Not part of the test run.
"""

import argparse
import ast
import importlib
import inspect
import os
import random
import resource
import signal
import sys
import time
from collections import defaultdict
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

import pytest
from hypothesis import Phase, settings
from pluggy import HookimplMarker

from tests.mutations import compiled, sites

HOME = Path(__file__).parents[1]
SURVEY = ["tests/survey/test_stocking.py", "tests/survey/test_clumping.py",
          "tests/survey/test_borrowing.py", "tests/survey/test_interval_ends.py"]  # fmt: skip
TESTS = {  # module -> the tests that are to notice
    "treatment/dose": ["tests/treatment/test_dose.py"],
    "treatment/limits": ["tests/treatment/test_limits.py", "tests/treatment/test_label_words.py"],
    "treatment/waits": ["tests/treatment/test_waits.py"],
    "treatment/kill": ["tests/treatment/test_kill.py"],
    "treatment/mixing": ["tests/treatment/test_mixing.py", "tests/treatment/test_tank.py"],
    "effort/limits": ["tests/effort/test_limits.py", "tests/effort/test_limit_words.py"],
    "survey/stocking": [*SURVEY, "tests/survey/test_measure.py"],
    "survey/clumping": SURVEY,
    "survey/sampling": ["tests/survey/test_sampling.py"],
    "survey/borrowing": [*SURVEY, "tests/survey/test_measure.py"],
    "survey/measure": [
        "tests/survey/test_measure.py",
        "tests/survey/test_measure_by_hand.py",
        "tests/survey/test_borrowing.py",
    ],
}
# what changes nothing that anybody could see: module, words of its line -> why
EQUIVALENT: dict[tuple[str, str], str] = {
    ("treatment/kill", "started = 0.5"): "where the search begins",
    ("treatment/kill", "bounds = [(0.0, 0.999"): "bounds that no fit with survivors reaches",
    ("treatment/kill", "loss, np.array([started"): "where the search begins",
    ("treatment/kill", "MOST = 50.0"): "a bound that no fit with survivors and dead reaches",
    ("treatment/kill", "x = np.full(len(strength), -np.inf)"): "any figure that is not finite",
    ("treatment/kill", "line = centre + slope * np.where(treated, x, 0.0)"): "masked a line below",
    ("treatment/kill", "at = np.where(treated, x, 0.0)"): "multiplied by nought below",
    ("treatment/kill", "float(max(min(centre + half, 1), share))"): "guards rounding: at most 1",
    ("survey/clumping", "found = count > 0"): "nought stems weigh nought",
    ("survey/clumping", "FEWEST, 1e9)"): "so many plots are as good as any more",
    ("survey/clumping", "return np.where(found > 0"): "of nought the lower end is nought",
    ("treatment/dose", "return band_dose_ml(dbh"): "a product either way",
    ("effort/limits", "return own.head(0).assign(reached=0.0)"): "nought is over no limit",
}
EXAMPLES = 30  # of each property, where its test says no other number; own choice
TIMES_AS_LONG, ROOM_S = (
    5,
    10,
)  # processor time of a child: so often its tests', and this; own choice
KNOWN_EARLY = "ignore::pytest.PytestAssertRewriteWarning"  # hypothesis is loaded for its profile
PATIENCE_S = 40.0  # of tests for one change: slower ones are not asked; own choice
Run = tuple[float, int, set[int]]  # seconds, place and lines of a test


def functions(space: dict[str, object], path: str) -> dict[str, FunctionType]:
    """Return the functions of a module and of its classes by name."""
    found: dict[str, FunctionType] = {}
    for name, value in space.items():
        inside = vars(value).items() if inspect.isclass(value) else []
        for key, one in [(name, value), *((f"{name}.{key}", one) for key, one in inside)]:
            one = one.fget if isinstance(one, property) else one
            bare = inspect.unwrap(one) if callable(one) else one
            if isinstance(bare, FunctionType) and bare.__code__.co_filename == path:
                found[key] = bare
    return found


def exchange(module: ModuleType, code: CodeType) -> None:
    """Give a module's functions and constants those of a changed one, wherever they are known."""
    path = str(module.__file__)
    space = {"__name__": module.__name__, "__file__": path}
    exec(code, space)
    new = functions(space, path)
    for name, function in functions(vars(module), path).items():
        function.__code__ = new[name].__code__
        function.__defaults__ = new[name].__defaults__
    for name, value in space.items():
        old = vars(module).get(name)
        plain = isinstance(value, int | float | str | tuple | dict | list) or hasattr(
            value, "dtype"
        )
        if name.startswith("__") or not plain or repr(value) == repr(old):
            continue
        if isinstance(old, dict):
            old.clear()
            old.update(value)
            continue
        for one in [m for key, m in sys.modules.items() if key.split(".")[0] == "clearing"]:
            if vars(one).get(name) is old:
                setattr(one, name, value)


def forget() -> None:
    """Empty every cache of the house and its tests."""
    for key, module in list(sys.modules.items()):
        if key.split(".")[0] in ("clearing", "tests"):
            for value in list(vars(module).values()):
                if hasattr(value, "cache_clear"):
                    value.cache_clear()
            for store in ("GROUNDS", "ANSWERS"):
                if isinstance(vars(module).get(store), dict):
                    vars(module)[store].clear()


class Watch:
    """Note the lines of one file that run."""

    def __init__(self, path: str) -> None:
        self.path, self.lines = path, set()

    def __call__(self, frame, event, _):
        """Follow the frames of that file only."""
        if frame.f_code.co_filename != self.path:
            return None
        self.lines.add(frame.f_lineno)
        return self.line

    def line(self, frame, _event, _):
        """Note a line."""
        self.lines.add(frame.f_lineno)
        return self.line


def quickest(runs: list[Run]) -> list[Run]:
    """Return the quickest tests, as many as there is time for."""
    spent, kept = 0.0, []
    for one in sorted(runs, key=lambda one: one[:2]):
        spent += one[0]
        if spent > PATIENCE_S and kept:
            break
        kept.append(one)
    return kept


class Mutants:
    """Try the changes of one module in place of pytest's own loop."""

    def __init__(self, name: str, share: float, seed: int) -> None:
        self.name, self.share, self.seed = name, share, seed
        self.path = str(HOME / "clearing" / f"{name}.py")
        self.text = Path(self.path).read_text()
        self.rows: list[tuple[int, str, str, str]] = []
        self.count = self.equivalent = 0

    @HookimplMarker("pytest")(tryfirst=True)
    def pytest_runtestloop(self, session):
        """Run the unchanged tests once, then each change."""
        items, runs = session.items, self.unchanged(session)
        old = sites(ast.parse(self.text))
        chosen = list(range(len(old)))
        if self.share < 1:
            chosen = sorted(random.Random(self.seed).sample(chosen, int(self.share * len(old))))
        for number in chosen:
            node, new, home = old[number]
            before, after = ast.unparse(node), ast.unparse(new)
            row = self.text.splitlines()[getattr(node, "lineno", 1) - 1]
            if any(name == self.name and words in row for name, words in EQUIVALENT):
                self.equivalent += 1
                continue
            self.count += 1
            lines = (
                set(range(node.lineno, node.end_lineno + 1)) if hasattr(node, "lineno") else set()
            )
            asked = [one for one in runs if one[2] & lines] if home and lines else runs
            asked = quickest(asked)
            order = [items[place] for _, place, _ in asked]
            seconds = int(TIMES_AS_LONG * sum(one[0] for one in asked)) + ROOM_S
            if not self.killed(session, order, number, seconds):
                self.rows.append((min(lines, default=0), home, before, after))
        return True

    def unchanged(self, session) -> list[Run]:
        """Return seconds, place and lines of each test; refuse if one fails."""
        found, shared = [], defaultdict(set)
        module = loaded(self.name)
        watch = Watch(module.__file__)

        class Setups:
            """Note what a fixture that is shared runs."""

            @HookimplMarker("pytest")(wrapper=True)
            def pytest_fixture_setup(self, fixturedef, request):
                """Hold the lines of one fixture apart."""
                outer, watch.lines = watch.lines, set()
                try:
                    return (yield)
                finally:
                    shared[fixturedef.argname] |= watch.lines
                    watch.lines |= outer

        plugin = Setups()
        session.config.pluginmanager.register(plugin)
        for place, item in enumerate(session.items):
            forget()
            watch.lines = set()
            began = time.perf_counter()
            sys.settrace(watch)
            after = session.items[place + 1] if place + 1 < len(session.items) else None
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
            sys.settrace(None)
            lines = watch.lines.union(*(shared[name] for name in item.fixturenames))
            if lines:
                found.append((time.perf_counter() - began, place, lines))
        session.config.pluginmanager.unregister(plugin)
        if session.testsfailed:
            raise SystemExit(f"{self.name}: its tests fail as they are")
        forget()
        return found

    def killed(self, session, items: list, number: int, seconds: int) -> bool:
        """Return whether a test fails, or takes too long, with a change."""
        child = os.fork()
        if child:
            return os.waitpid(child, 0)[1] != 0
        signal.signal(signal.SIGXCPU, signal.SIG_DFL)
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
        try:
            exchange(loaded(self.name), compiled(self.text, number, self.path))
            for place, item in enumerate(items):
                after = items[place + 1] if place + 1 < len(items) else None
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=after)
                if session.testsfailed:
                    os._exit(1)
        except BaseException:  # a change that does not even load is noticed too
            os._exit(1)
        os._exit(0)


def loaded(name: str) -> ModuleType:
    """Return a module of the house as the tests know it."""
    return importlib.import_module("clearing." + name.replace("/", "."))


def main() -> None:
    """Try the modules that are asked for, and print what survived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("modules", nargs="*", metavar="MODULE", help=", ".join(TESTS))
    parser.add_argument("--share", type=float, default=1.0, help="share of the changes, at random")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    os.environ["CI"] = "true"
    settings.register_profile(
        "mutants", phases=[Phase.explicit, Phase.generate], database=None, max_examples=EXAMPLES
    )
    settings.load_profile("mutants")  # before the tests' own profiles, which take it up
    for name in asked.modules or TESTS:
        began = time.perf_counter()
        mutants = Mutants(name, asked.share, asked.seed)
        tests = [str(HOME / path) for path in TESTS[name] if (HOME / path).exists()]
        out, err = os.dup(1), os.dup(2)
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        code = pytest.main(
            ["-n0", "-q", "-p", "no:cacheprovider", "-W", KNOWN_EARLY, *tests], [mutants]
        )
        os.dup2(out, 1), os.dup2(err, 2)
        killed = mutants.count - len(mutants.rows)
        share = 100 * killed / max(mutants.count, 1)
        sys.stdout.write(
            f"{name}: {mutants.count} mutants, {killed} killed, {share:.1f} % "
            f"({mutants.equivalent} equivalent left out; {time.perf_counter() - began:.0f} s)\n"
        )
        for line, home, before, after in sorted(mutants.rows):
            sys.stdout.write(f"  {line:4} {home}: {before[:90]!r} -> {after[:90]!r}\n")
        sys.stdout.flush()
        if code not in (0, 5):
            sys.stdout.write(f"  pytest ended with {int(code)}\n")


if __name__ == "__main__":
    main()
