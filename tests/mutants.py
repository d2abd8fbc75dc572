"""Change one thing at a time in a module of figures, and see whether its tests notice.

``python -m tests.mutants [MODULE ...] [--share 0.3] [--seed 1]``. Each change is tried in a child
forked after the tests were collected: the code of the module's functions is exchanged there, and
only tests that run the changed line are run, the quickest first. A child that runs out of time
counts as killed. Not part of the test run.
"""

import argparse
import ast
import copy
import functools
import inspect
import os
import random
import resource
import signal
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

import pytest
from hypothesis import Phase, settings
from pluggy import HookimplMarker

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
    "survey/stocking": SURVEY,
    "survey/clumping": SURVEY,
    "survey/sampling": ["tests/survey/test_sampling.py"],
    "survey/borrowing": [*SURVEY, "tests/survey/test_measure.py"],
    "survey/measure": ["tests/survey/test_measure.py", "tests/survey/test_borrowing.py"],
}
# what changes nothing that anybody could see: (module, function, before, after) -> why
EQUIVALENT: dict[tuple[str, str, str, str], str] = {}
ORDER = {ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE),
         ast.GtE: (ast.Gt, ast.Lt), ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,),
         ast.In: (ast.NotIn,), ast.NotIn: (ast.In,), ast.Is: (ast.IsNot,),
         ast.IsNot: (ast.Is,)}  # fmt: skip
SIGNS = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
         ast.Pow: ast.Mult, ast.FloorDiv: ast.Div, ast.BitAnd: ast.BitOr,
         ast.BitOr: ast.BitAnd}  # fmt: skip
NAMES = {"min": "max", "minimum": "maximum", "fmin": "fmax", "any": "all", "ceil": "floor",
         "idxmin": "idxmax"}  # fmt: skip
NAMES |= {other: name for name, other in NAMES.items()}
EITHER_WAY = {*NAMES, "zip", "isinstance", "range", "getattr"}  # order of what they take: no mutant
SMALL = 1e-5  # guards against rounding are left out: moving them changes no figure
GUARDS = {"TINY", "SLACK"}
FORM = {"strict", "ignore_index", "copy", "dtype", "frozen", "keepdims", "sort", "options"}
EXAMPLES = 30  # of each property, where its test says no other number; own choice
TIMES_AS_LONG, ROOM_S = 5, 10  # processor time of a child: so often its tests', and this; own choice
KNOWN_EARLY = "ignore::pytest.PytestAssertRewriteWarning"  # hypothesis is loaded for its profile
Site = tuple[ast.AST, ast.AST, str]


def guard(node: ast.AST) -> bool:
    """Return whether a node is a guard against rounding."""
    number = isinstance(node, ast.Constant) and isinstance(node.value, float)
    return (isinstance(node, ast.Name) and node.id in GUARDS) or (
        number and 0 < abs(node.value) < SMALL
    )


def guarded(node: ast.AST) -> bool:
    """Return whether a node is one plus or minus a guard, or a factor with it."""
    return isinstance(node, ast.BinOp) and any(
        guard(side) or guarded(side) for side in (node.left, node.right)
    )


def seen(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the nodes that are looked at: no words, annotations, decorators, raised messages."""
    if isinstance(node, ast.JoinedStr | ast.Raise | ast.Assert | ast.Import | ast.ImportFrom):
        return
    if isinstance(node, ast.keyword) and node.arg in FORM:
        return
    yield node
    if guarded(node) or guard(node):
        return
    left_out = {"annotation", "returns", "decorator_list"}
    for field, value in ast.iter_fields(node):
        if field in left_out:
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield from seen(child)


def moved(value: object) -> list[object]:
    """Return what a constant is changed into."""
    if isinstance(value, bool):
        return [not value]
    if isinstance(value, int):
        return [value + 1]
    return [2.0 * value if value else 1.0] if isinstance(value, float) else []


def with_field(node: ast.AST, **fields: object) -> ast.AST:
    """Return a copy of a node with other fields."""
    other = copy.deepcopy(node)
    for name, value in fields.items():
        setattr(other, name, value)
    return other


def changed(node: ast.AST) -> Iterator[ast.AST]:
    """Yield each changed form of one node."""
    if isinstance(node, ast.Compare):
        for place, sign in enumerate(node.ops):
            for other in ORDER.get(type(sign), ()):
                ops = [*node.ops[:place], other(), *node.ops[place + 1 :]]
                yield with_field(node, ops=ops)
    elif isinstance(node, ast.BinOp) and type(node.op) in SIGNS and not guarded(node):
        yield with_field(node, op=SIGNS[type(node.op)]())
    elif isinstance(node, ast.AugAssign) and type(node.op) in SIGNS:
        yield with_field(node, op=SIGNS[type(node.op)]())
    elif isinstance(node, ast.BoolOp):
        yield with_field(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.UnaryOp):
        yield node.operand
    elif isinstance(node, ast.Constant) and not guard(node):
        yield from (ast.Constant(value) for value in moved(node.value))
    elif isinstance(node, ast.IfExp):
        yield with_field(node, body=node.orelse, orelse=node.body)
    elif isinstance(node, ast.Slice) and (node.lower or node.upper):
        yield ast.Slice(None, None, node.step)
    elif isinstance(node, ast.If) and not isinstance(node.test, ast.Compare | ast.UnaryOp):
        yield with_field(node, test=ast.UnaryOp(ast.Not(), node.test))
    elif isinstance(node, ast.Attribute) and node.attr in NAMES:
        yield with_field(node, attr=NAMES[node.attr])
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield with_field(node, id=NAMES[node.id])
    elif isinstance(node, ast.Call):
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if len(node.args) > 1 and name not in EITHER_WAY:
            yield with_field(node, args=[node.args[1], node.args[0], *node.args[2:]])


def other_branches(tree: ast.Module) -> Iterator[tuple[ast.AST, ast.AST]]:
    """Yield each return with what the next return of the same function gives."""
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            returns = [node for node in ast.walk(function) if isinstance(node, ast.Return)]
            values = [ast.unparse(node) for node in returns]
            for one, after in zip(returns, returns[1:] + returns[:1], strict=True):
                if ast.unparse(after) != ast.unparse(one) and len(set(values)) > 1:
                    yield one, with_field(one, value=after.value)


def sites(tree: ast.Module) -> list[Site]:
    """Return every change: node, what it becomes, and the function that it stands in."""
    home: dict[int, str] = {}
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            home |= {id(node): function.name for node in ast.walk(function)}
    found = [(node, other) for node in seen(tree) for other in changed(node)]
    found += list(other_branches(tree))
    return [(node, other, home.get(id(node), "")) for node, other in found]


class Changed(ast.NodeTransformer):
    """Put one node in the place of another."""

    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        """Return the node, or the other one in its place."""
        return ast.copy_location(self.new, node) if node is self.old else self.generic_visit(node)


def compiled(text: str, number: int, path: str) -> CodeType:
    """Return the code of a module with its change of that number."""
    tree = ast.parse(text)
    old, new, _ = sites(tree)[number]
    tree = ast.fix_missing_locations(Changed(old, new).visit(tree))
    return compile(tree, path, "exec")


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
        plain = isinstance(value, int | float | str | tuple | dict | list) or hasattr(value, "dtype")
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
                if isinstance(value, functools._lru_cache_wrapper):
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
            if (self.name, home, before, after) in EQUIVALENT:
                self.equivalent += 1
                continue
            self.count += 1
            lines = set(range(node.lineno, node.end_lineno + 1)) if hasattr(node, "lineno") else set()
            if home and lines:
                asked = [one for one in runs if one[2] & lines]
            else:
                asked = runs
            order = [items[place] for _, place, _ in sorted(asked, key=lambda one: one[:2])]
            seconds = int(TIMES_AS_LONG * sum(one[0] for one in asked)) + ROOM_S
            if not self.killed(session, order, number, seconds):
                self.rows.append((min(lines, default=0), home, before, after))
        return True

    def unchanged(self, session) -> list[tuple[float, int, set[int]]]:
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
    """Return a module of the house that the tests have loaded."""
    return sys.modules["clearing." + name.replace("/", ".")]


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
