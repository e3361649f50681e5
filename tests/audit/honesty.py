"""The audit of honesty, from one command: every figure, what rests on it, and what could be accepted on memory.

    python tests/audit/honesty.py [figures] [constants] [accepted] [expected]

figures: every figure of ``tables/`` with its status, its source and the modules that use it. constants: every number that
the code itself holds. accepted: whether anything can be accepted with a figure from memory (some minutes). expected:
every test whose expected value has no named origin. Without a word all four. Exit code 1 where something is not honest.
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

# the package of this checkout, whatever is installed: its files are what is watched
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).parent))

import acceptance
import constants
import expected
import figures
from runs import WITHOUT_A_LOG, run


def show_figures() -> bool:
    """Every figure of the tables; nothing here can be wrong, but what nobody uses is told."""
    seen: dict[figures.Cell, set[str]] = {}
    for line in WITHOUT_A_LOG:
        with figures.watched() as asked:
            run(line, "--json")
        for cell, modules in asked.items():
            seen.setdefault(cell, set()).update(modules)
    every = figures.figures()
    table = ""
    for figure in every:
        if figure.cell[0] != table:
            table = figure.cell[0]
            asked_by = {m for cell, modules in seen.items() if cell[0] == table for m in modules}
            print(f"\n{table}\n  asked for by {', '.join(sorted(asked_by)) or 'nobody'};"
                  f" named in {', '.join(sorted(figures.named_in().get(table, ()))) or 'no module: shown by rigging tables only'}")  # fmt: skip
        users = ", ".join(sorted(seen.get(figure.cell, ())))
        print(
            f"  {figure.label}: {figure.cell[2]} {figure.value:g} {figure.unit} [{figure.source}]{f' <- {users}' if users else ''}"
        )
    counts = Counter(figure.basis.value for figure in every)
    print(f"\n{len(every)} figures: {', '.join(f'{n} {basis}' for basis, n in counts.most_common())}; "
          f"{sum(figure.cell in seen for figure in every)} asked for by the commands above")  # fmt: skip
    return True


def show_constants() -> bool:
    """Every number in the code, by its status."""
    unsaid = []
    found: dict[str, list[str]] = {}
    for constant in constants.constants():
        said = constants.status(constant)
        if said is None:
            unsaid.append(constant.name)
        else:
            found.setdefault(said[0], []).append(
                f"  {constant.name}: {constant.text}{f'  [{said[1]}]' if said[1] else ''}"
            )
    for kind, lines in found.items():
        print(f"\n{kind}: {len(lines)}", *lines, sep="\n")
    print(f"\n{len(unsaid)} numbers whose status nobody has said", *unsaid, sep="\n  ")
    return not unsaid


def show_accepted() -> bool:
    """What could be accepted with a figure from memory."""
    with tempfile.TemporaryDirectory() as folder:
        tried, found = acceptance.everything(Path(folder))
    print(f"\naccepted with a figure from memory: {len(found)} of {tried} tries", *found, sep="\n  ")
    return not found


def show_expected() -> bool:
    """Expected values without an origin."""
    count, bare = expected.audit()
    print(f"\nexpected values without a named origin: {len(bare)} of {count}")
    for one in bare:
        print(f"  {one.file}:{one.line} {one.test}: {one.text}")
    return not bare


PARTS = {"figures": show_figures, "constants": show_constants, "accepted": show_accepted, "expected": show_expected}

if __name__ == "__main__":
    wanted = sys.argv[1:] or list(PARTS)
    if unknown := [word for word in wanted if word not in PARTS]:
        sys.exit(f"unknown: {', '.join(unknown)}; {', '.join(PARTS)}")
    honest = [PARTS[word]() for word in wanted]
    sys.exit(0 if all(honest) else 1)
