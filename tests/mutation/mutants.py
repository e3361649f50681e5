"""Every small change to a module that its tests should notice; cosmic-ray's operators make them.

Left out by rule, because they say nothing about a test:
- shifts and bit operators on numbers, which fail at once with floats and would flatter the score;
- `is` in place of `==` and the like, which differ by luck alone;
- changes of an annotation only, of `if TYPE_CHECKING`, or that do not compile;
- `0 < x != math.inf` for `0 < x < math.inf`: what is no number has failed the first half, and only infinity the second.
Texts of messages are not changed at all: no operator touches a string. What an f-string works out is.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

import parso.tree  # noqa: F401  # before cosmic_ray, whose own import of it runs in a circle

# isort: split
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator

ORDERS = ("Eq", "NotEq", "Lt", "LtE", "Gt", "GtE")
ARITHMETIC = ("Add", "Sub", "Mul", "Div")
ALSO_FROM = ("Pow", "FloorDiv", "Mod")
NAMES = (
    "NumberReplacer",
    "AddNot",
    "ReplaceTrueWithFalse",
    "ReplaceFalseWithTrue",
    "ReplaceAndWithOr",
    "ReplaceOrWithAnd",
    "ReplaceBreakWithContinue",
    "ReplaceContinueWithBreak",
    "ExceptionReplacer",
    "RemoveDecorator",
    "ZeroIterationForLoop",
    "ReplaceUnaryOperator_Delete_USub",
    "ReplaceUnaryOperator_Delete_Not",
    "ReplaceComparisonOperator_Is_IsNot",
    "ReplaceComparisonOperator_IsNot_Is",
    "ReplaceBinaryOperator_BitOr_BitAnd",
    "ReplaceBinaryOperator_BitAnd_BitOr",
    *(f"ReplaceComparisonOperator_{a}_{b}" for a in ORDERS for b in ORDERS if a != b),
    *(f"ReplaceBinaryOperator_{a}_{b}" for a in (*ARITHMETIC, *ALSO_FROM) for b in ARITHMETIC if a != b),
)


BELOW_INFINITY = re.compile(r"<=? [\w.]+ (<) math\.inf")


class Place(NamedTuple):
    """Where one operator could change a module. file: from the root of the checkout. line, last_line: where it stands."""

    file: str
    operator: str
    occurrence: int
    line: int
    last_line: int


class Mutant(NamedTuple):
    """One change that is a change. was, now: its lines without indent. code: the whole module."""

    place: Place
    was: str
    now: str
    code: str


class _Piece(NamedTuple):
    """A statement of the module's own level with what stands before it. earlier: how many changes of each operator lie above."""

    text: str
    earlier: dict[str, int]


def places(file: str, source: str) -> Iterator[Place]:
    """All changes the operators offer for a module; some of them are none (see `mutant`)."""
    nodes = list(ast_nodes(get_ast(source)))
    for name in NAMES:
        for occurrence, ((line, _), (last_line, _)) in enumerate(_positions(name, nodes)):
            yield Place(file, name, occurrence, line, last_line)


def mutant(place: Place, source: str) -> Mutant | None:
    """The changed module; None where a rule of this file leaves the change out."""
    pieces = _pieces(source)
    number = max(i for i, piece in enumerate(pieces) if piece.earlier[place.operator] <= place.occurrence)
    text = pieces[number].text
    operator: Any = get_operator(f"core/{place.operator}")()
    changed = mutate_code(text, operator, place.occurrence - pieces[number].earlier[place.operator])
    if changed is None or _without_annotations(changed) in (_without_annotations(text), None):
        return None
    code = "".join([*(p.text for p in pieces[:number]), changed, *(p.text for p in pieces[number + 1 :])])
    was, now = _changed(source, code)
    same = was.startswith("if TYPE_CHECKING") or now in _not_infinite(was)
    return None if same else Mutant(place, was, now, code)


@lru_cache(maxsize=64)
def _pieces(source: str) -> list[_Piece]:
    """The module cut into statements: only one has to be taken apart for a change."""
    pieces, earlier = [], dict.fromkeys(NAMES, 0)
    for child in get_ast(source).children:  # type: ignore[attr-defined]
        pieces.append(_Piece(child.get_code(), dict(earlier)))
        nodes = list(ast_nodes(child))
        for name in NAMES:
            earlier[name] += sum(1 for _ in _positions(name, nodes))
    return pieces


def _positions(name: str, nodes: list[Any]) -> Iterator[Any]:
    """Where an operator could change these nodes, in the order in which it counts."""
    operator: Any = get_operator(f"core/{name}")()
    return (where for node in nodes for where in operator.mutation_positions(node))


def _not_infinite(line: str) -> list[str]:
    """The line with each of its ``0 < x < math.inf`` written as ``0 < x != math.inf``."""
    return [f"{line[: m.start(1)]}!={line[m.end(1) :]}" for m in BELOW_INFINITY.finditer(line)]


def statement_lines(source: str) -> dict[int, range]:
    """For every line the lines of the innermost statement it stands in, of a compound one its head alone."""
    lines: dict[int, range] = {}
    for node in ast.walk(ast.parse(source)):  # outer ones come first
        if isinstance(node, ast.stmt) and node.end_lineno is not None:
            body = getattr(node, "body", None)
            last = body[0].lineno - 1 if body else node.end_lineno
            span = range(node.lineno, max(last, node.lineno) + 1)
            lines.update(dict.fromkeys(span, span))
    return lines


def module_level(source: str) -> set[int]:
    """Lines that run when the module is imported: whatever stands in no body of a function."""
    inside: set[int] = set()
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            inside |= set(range(node.body[0].lineno, (node.end_lineno or node.lineno) + 1))
    return set(range(1, source.count("\n") + 2)) - inside


def _changed(source: str, code: str) -> tuple[str, str]:
    """The lines in which two texts differ, each without its indent."""
    before, after = source.splitlines(), code.splitlines()
    start = next((i for i, (a, b) in enumerate(zip(before, after, strict=False)) if a != b), 0)
    end = next((i for i, (a, b) in enumerate(zip(before[::-1], after[::-1], strict=False)) if a != b), 0)
    was, now = before[start : len(before) - end], after[start : len(after) - end]
    return " ".join(line.strip() for line in was), " ".join(line.strip() for line in now)


@lru_cache(maxsize=1024)
def _without_annotations(source: str) -> str | None:
    """The module's tree without the types written in it; None where it is no Python."""
    try:
        tree = ast.parse(source)
    except SyntaxError:
        return None
    for node in ast.walk(tree):
        if isinstance(node, ast.AnnAssign):
            node.annotation = ast.Constant(None)
        elif isinstance(node, ast.arg):
            node.annotation = None
        elif isinstance(node, ast.FunctionDef):
            node.returns = None
    return ast.dump(tree)
