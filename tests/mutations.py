"""Make the changes of one thing in the source of a module: see `tests.mutants`."""

import ast
import copy
from collections.abc import Iterator
from types import CodeType

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
EITHER_WAY = {
    *NAMES,
    "zip",
    "isinstance",
    "range",
    "getattr",
    "clip",
    "ix_",
}  # order of what they take: no mutant
SMALL = 1e-5  # guards against rounding are left out: moving them changes no figure
GUARDS = {"TINY", "SLACK"}
FORM = {
    "strict",
    "ignore_index",
    "copy",
    "dtype",
    "frozen",
    "keepdims",
    "sort",
    "options",
    "as_index",
}
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


def changed(node: ast.AST) -> Iterator[ast.AST]:  # noqa: C901
    """Yield each changed form of one node."""
    if isinstance(node, ast.Compare):
        rounded = any(guarded(side) for side in (node.left, *node.comparators))
        for place, sign in enumerate(node.ops):
            for other in ORDER.get(type(sign), ())[1 if rounded else 0 :]:
                ops = [*node.ops[:place], other(), *node.ops[place + 1 :]]
                yield with_field(node, ops=ops)
    elif (isinstance(node, ast.BinOp) and type(node.op) in SIGNS and not guarded(node)) or (
        isinstance(node, ast.AugAssign) and type(node.op) in SIGNS
    ):
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
