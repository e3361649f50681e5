"""Expected values in tests: every number that a computed quantity is held to, and whether anything says where it comes from.

A number has an origin where a docstring or a comment of its test says one, where the sum is written out (``70 * 4 / 5``),
where it is one of the test's own inputs, or, in ``tests/validation``, where the file names its reference at the top.
It is a rule of thumb: it reads what is written, and not whether it is true.
"""

from __future__ import annotations

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = ("tests/validation", "tests/unit")
UNIT = re.compile(
    r"_(lbf|in|degF|deg|h|lbf_per_degF|in_per_lbf|lbf_per_in|per_degF|share)$|^(value|standard_uncertainty)$"
)
SAYS_SO = re.compile(
    r"\bby hand\b|\bhand\b.*\bsum|\bdefinition|\bexact\b|\bworked\b|\btyped\b|\bstatics\b|\btable\b|\bAC 43|JCGM|\bEN 19"
    r"|\bCFR\b|\bILAC|\bscipy\b|\bprinted\b|\bpublished\b|\bsecond method\b|\bsecond way\b|\bcomputed here\b|\bworked out\b",
    re.IGNORECASE,
)  # fmt: skip
NEAR = 3  # lines above a number in which a comment belongs to it
TRIVIAL = {0.0, 1.0}  # nothing, and all of it


class Bare(NamedTuple):
    """A number without an origin: where it stands, its test, and the line as written."""

    file: str
    line: int
    test: str
    text: str


def audit() -> tuple[int, list[Bare]]:
    """How many expected numbers there are, and those without an origin."""
    count, bare = 0, []
    for folder in FOLDERS:
        for path in sorted((ROOT / folder).glob("test_*.py")):
            found, without = of_text(path.read_text(encoding="utf-8"), path.relative_to(ROOT).as_posix())
            count += found
            bare += without
    return count, bare


def of_text(text: str, file: str) -> tuple[int, list[Bare]]:
    """The same for one file."""
    tree = ast.parse(text)
    lines = text.splitlines()
    comments = _comments(text)
    head = ast.get_docstring(tree) or ""
    named_at_top = bool(head) if "validation" in file else bool(SAYS_SO.search(head))
    count, bare = 0, []
    for test in (n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef) and n.name.startswith("test_")):
        first = min([d.lineno for d in test.decorator_list], default=test.lineno)
        head_says = bool(ast.get_docstring(test)) or any(first - 1 <= c <= test.body[0].lineno - 1 for c in comments)
        for node, number in _expected(test):
            count += 1
            near = any(node.lineno - NEAR <= c <= (getattr(node, "end_lineno", None) or node.lineno) for c in comments)
            if not (named_at_top or head_says or near or _is_input(test, node, number)):
                bare.append(Bare(file, node.lineno, test.name, lines[node.lineno - 1].strip()))
    return count, list(dict.fromkeys(bare))


def _comments(text: str) -> set[int]:
    tokens = tokenize.generate_tokens(io.StringIO(text).readline)
    return {
        t.start[0] for t in tokens if t.type == tokenize.COMMENT and not re.match(r"#\s*(fmt|noqa|type)\b", t.string)
    }


def _expected(test: ast.FunctionDef) -> Iterator[tuple[ast.AST, float]]:
    """Every number in an assertion that stands against something computed, and those of its table of cases."""
    cases = _cases(test)
    # what a case hands to the code is an input
    given = {n.id for c in ast.walk(test) if isinstance(c, ast.Call) for n in ast.walk(c) if isinstance(n, ast.Name)}
    for node in ast.walk(test):
        if not isinstance(node, ast.Assert):
            continue
        for compare in (n for n in ast.walk(node.test) if isinstance(n, ast.Compare)):
            sides = [compare.left, *compare.comparators]
            for i, side in enumerate(sides):
                others = sides[:i] + sides[i + 1 :]
                near, inner = _inside_approx(side)
                if not (near or any(_is_quantity(o) for o in others)):
                    continue
                for number in _numbers(inner):
                    yield compare, number
                for subtracted in _subtracted(others):
                    for number in _numbers(subtracted):
                        yield compare, number
                if isinstance(inner, ast.Name) and (near or inner.id not in given):
                    for place, number in cases.get(inner.id, []):
                        yield place, number
        for call in (n for n in ast.walk(node.test) if isinstance(n, ast.Call)):
            if ast.unparse(call.func).rsplit(".", 1)[-1] in ("isclose", "allclose"):
                for argument in call.args[:2]:
                    for number in _numbers(argument):
                        yield call, number


def _inside_approx(side: ast.expr) -> tuple[bool, ast.expr]:
    if isinstance(side, ast.Call) and ast.unparse(side.func) in ("pytest.approx", "approx") and side.args:
        return True, side.args[0]
    return False, side


def _is_quantity(node: ast.expr) -> bool:
    if isinstance(node, ast.Call) and ast.unparse(node.func) in ("abs", "round", "float", "max", "min") and node.args:
        # abs(found.tension_lbf - 35) and round(found.tension_lbf, 1)
        return any(_is_quantity(n) for n in ast.walk(node.args[0]) if isinstance(n, ast.expr))
    if isinstance(node, ast.Subscript) and isinstance(node.slice, ast.Constant) and isinstance(node.slice.value, str):
        return bool(UNIT.search(node.slice.value))
    inner = node.value if isinstance(node, ast.Subscript) else node
    name = inner.attr if isinstance(inner, ast.Attribute) else inner.id if isinstance(inner, ast.Name) else ""
    if isinstance(inner, ast.Call):
        func = inner.func
        name = func.attr if isinstance(func, ast.Attribute) else func.id if isinstance(func, ast.Name) else ""
    return bool(UNIT.search(name))


def _subtracted(sides: list[ast.expr]) -> Iterator[ast.expr]:
    """What a side is held to in the form ``abs(found - 35) < 0.1``."""
    for side in sides:
        for inner in ast.walk(side):
            if (
                isinstance(inner, ast.Call)
                and ast.unparse(inner.func) == "abs"
                and isinstance(inner.args[0], ast.BinOp)
            ):
                yield inner.args[0].right


def _numbers(node: ast.expr) -> Iterator[float]:
    """Numbers standing alone, in a list or a dict; a sum that is written out is its own origin."""
    if isinstance(node, ast.UnaryOp):
        node = node.operand
    if isinstance(node, ast.Constant) and type(node.value) in (int, float) and float(node.value) not in TRIVIAL:
        yield float(node.value)
    elif isinstance(node, ast.List | ast.Tuple):
        for element in node.elts:
            yield from _numbers(element)
    elif isinstance(node, ast.Dict):
        for value in node.values:
            yield from _numbers(value)


def _cases(test: ast.FunctionDef) -> dict[str, list[tuple[ast.AST, float]]]:
    """Numbers in the tables of cases, by the name they have in the test."""
    found: dict[str, list[tuple[ast.AST, float]]] = {}
    for decorator in test.decorator_list:
        if not (isinstance(decorator, ast.Call) and ast.unparse(decorator.func).endswith("parametrize")):
            continue
        if len(decorator.args) < 2 or not isinstance(decorator.args[1], ast.List | ast.Tuple):
            continue
        try:
            names = ast.literal_eval(decorator.args[0])
        except ValueError:
            continue
        names = [n.strip() for n in names.split(",")] if isinstance(names, str) else list(names)
        for case in decorator.args[1].elts:
            values = case.elts if isinstance(case, ast.Tuple) and len(names) > 1 else [case]
            for name, value in zip(names, values, strict=False):
                found.setdefault(name, []).extend((value, number) for number in _numbers(value))
    return found


def _is_input(test: ast.FunctionDef, expected: ast.AST, number: float) -> bool:
    """Whether the number is also given to the code in this test, as a number or inside a text such as ``54F``."""
    inside = set(ast.walk(expected)) if isinstance(expected, ast.Compare) else {expected}
    compared = {
        c for side in ([expected.left, *expected.comparators] if isinstance(expected, ast.Compare) else [])
        for c in ast.walk(_inside_approx(side)[1]) if not isinstance(_inside_approx(side)[1], ast.Call)
    }  # fmt: skip
    for node in ast.walk(test):
        if not isinstance(node, ast.Constant) or (node in inside and node in compared):
            continue
        if type(node.value) in (int, float) and float(node.value) == number and node not in inside:
            return True
        if isinstance(node.value, str):
            texts = re.findall(r"\d+(?:\.\d+)?", node.value)
            if any(float(t) == number for t in texts):
                return True
    # what a call on the other side is given
    if isinstance(expected, ast.Compare):
        for call in (n for n in ast.walk(expected) if isinstance(n, ast.Call)):
            if ast.unparse(call.func) in ("pytest.approx", "approx"):
                continue
            for node in ast.walk(call):
                if isinstance(node, ast.Constant) and type(node.value) in (int, float) and float(node.value) == number:
                    return True
    return False
