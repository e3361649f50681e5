"""One name, one quantity, one unit: every parameter and field that ends in a unit stands in the table of DEVELOPERS.md."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# the longest that fits names the unit: slope_lbf_per_degF is in lbf/degF and not in 1/degF
UNITS = {
    "_lbf_per_degF": "lbf/degF",
    "_in_per_lbf": "in/lbf",
    "_lbf_per_in": "lbf/in",
    "_in_per_degF": "in/degF",
    "_in_lbf": "in lbf",
    "_per_degF": "1/degF",
    "_degF": "degF",
    "_lbf": "lbf",
    "_deg": "deg",
    "_in": "in",
    "_h": "h",
}
WORDS = {"bedding_in"}  # end like a unit and are none
ENDINGS = sorted(UNITS, key=len, reverse=True)


def unit(name: str) -> str | None:
    """The unit a name ends in, None where it ends in none."""
    if name in WORDS:
        return None
    return next((UNITS[ending] for ending in ENDINGS if name.endswith(ending)), None)


def signature_names(tree: ast.AST) -> Iterator[str]:
    """Parameters of functions and annotated fields of classes."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            arguments = node.args
            for argument in (*arguments.posonlyargs, *arguments.args, *arguments.kwonlyargs):
                yield argument.arg
        elif isinstance(node, ast.ClassDef):
            for child in node.body:
                if isinstance(child, ast.AnnAssign) and isinstance(child.target, ast.Name):
                    yield child.target.id


def function_names(tree: ast.AST) -> Iterator[str]:
    """Functions and properties, which name what they return in the same way."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.name


TREES = [ast.parse(path.read_text(encoding="utf-8")) for path in sorted((ROOT / "rigging").rglob("*.py"))]
IN_SIGNATURES = {name for tree in TREES for name in signature_names(tree)}
USED = IN_SIGNATURES | {name for tree in TREES for name in function_names(tree)}
WITH_UNIT = {name for name in IN_SIGNATURES if unit(name)}


def table() -> dict[str, tuple[str, str]]:
    """Name to unit and meaning, from the table under the heading Nomenclature."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = re.search(r"^## Nomenclature$(.*?)(?=^## |\Z)", text, re.MULTILINE | re.DOTALL)
    assert section, "DEVELOPERS.md has no heading '## Nomenclature'"
    rows: dict[str, tuple[str, str]] = {}
    for line in section[1].splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if not line.startswith("|") or len(cells) != 3 or cells[0] in ("name", "") or set(cells[0]) <= set("-: "):
            continue
        name = cells[0].strip("`")
        assert name not in rows, f"{name} stands twice in the nomenclature"
        rows[name] = (cells[1].strip("`"), cells[2])
    return rows


def test_every_name_with_a_unit_stands_in_the_table() -> None:
    missing = sorted(WITH_UNIT - set(table()))
    assert not missing, f"{len(missing)} names are not in the nomenclature table:\n" + "\n".join(
        f"| `{name}` | {unit(name)} |  |" for name in missing
    )


def test_every_name_of_the_table_is_used() -> None:
    unused = sorted(set(table()) - USED)
    assert not unused, "in the nomenclature table and nowhere in the program: " + ", ".join(unused)


def test_the_unit_of_the_table_is_the_one_in_the_name() -> None:
    wrong = [
        f"{name}: {given}, not {unit(name)}" for name, (given, _) in table().items() if unit(name) not in (None, given)
    ]
    assert not wrong, "\n".join(wrong)


def test_every_name_of_the_table_has_a_meaning() -> None:
    assert not [name for name, (_, meaning) in table().items() if not meaning]


def test_the_unit_of_a_name_is_its_longest_ending() -> None:
    assert unit("slope_lbf_per_degF") == "lbf/degF"
    assert unit("give_in_per_lbf") == "in/lbf"
    assert unit("moment_in_lbf") == "in lbf"
    assert unit("expansion_per_degF") == "1/degF"
    assert unit("at_degF") == "degF"
    assert unit("wrap_deg") == "deg"
    assert unit("name") is None
