"""Runs chosen tests for every mutant in a process that has already imported them all: a changed function is put in place.

Speaks the same lines of JSON as `server.py`, and answers ``fresh`` where a change is more than another body of a function:
then the module has to be imported anew, which `server.py` does. What ran while the tests were imported has to go there too;
`run.py` sees to that. A change stands in the file as well, so that programs which the tests start meet it.
"""

from __future__ import annotations

import gc
import json
import os
import sys
from collections import defaultdict
from functools import partial
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, TextIO

import _pytest.main
import pytest
import server

OPTIMIZED = 0x1  # CO_OPTIMIZED: the body of a function, not of a module or class


class Held:
    """A pytest plugin: where the tests would run, tasks are taken instead, each in a child of its own."""

    def __init__(self, tasks: TextIO, answers: TextIO) -> None:
        self.tasks, self.answers = tasks, answers

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """One line out for each line in."""
        items = {item.nodeid: item for item in session.items}
        functions: dict[str, list[FunctionType]] = defaultdict(list)
        for thing in gc.get_objects():
            if isinstance(thing, FunctionType):
                functions[thing.__code__.co_filename].append(thing)
        gc.freeze()  # or every child would copy what it only counts
        for line in self.tasks:
            task = json.loads(line)
            file = str(Path(task["file"]).resolve())
            bodies = new_bodies(file, Path(file).read_text(encoding="utf-8"), task["code"], functions[file])
            if bodies is None or not all(name in items for name in task["tests"]):
                done = {"outcome": "fresh", "by": "", "seconds": 0.0}
            else:
                chosen = [items[name] for name in task["tests"]]
                done = server.judge(task, partial(attempt, session, bodies, chosen, task["tests"]))
            print(json.dumps(done), file=self.answers, flush=True)
        return True


def new_bodies(
    file: str, before: str, after: str, functions: list[FunctionType]
) -> list[tuple[FunctionType, CodeType]] | None:
    """The functions of a file that change, each with its new body; None where something else changes as well."""
    old, new = (compile(text, file, "exec", dont_inherit=True) for text in (before, after))
    if not _same_outside(old, new):
        return None
    was, now = _by_name(old), _by_name(new)
    changed = []
    for function in functions:
        name, live = function.__code__.co_qualname, function.__code__
        place = next((i for i, code in enumerate(was[name]) if code.co_firstlineno == live.co_firstlineno), None)
        if place is None or len(was[name]) != len(now[name]):
            return None
        body = now[name][place]
        if body.co_freevars != live.co_freevars:
            return None
        if body != was[name][place]:
            changed.append((function, body))
    return changed


def _same_outside(old: CodeType, new: CodeType) -> bool:
    """Whether two modules differ in bodies of functions alone; defaults, decorators and classes are outside."""
    if (old.co_code, old.co_names, len(old.co_consts)) != (new.co_code, new.co_names, len(new.co_consts)):
        return False
    for a, b in zip(old.co_consts, new.co_consts, strict=True):
        if isinstance(a, CodeType) and isinstance(b, CodeType):
            if not a.co_flags & OPTIMIZED and not _same_outside(a, b):
                return False
        elif repr(a) != repr(b):  # 1, 1.0 and True are equal
            return False
    return True


def _by_name(code: CodeType) -> dict[str, list[CodeType]]:
    """All bodies of functions by their full name, in the order they stand in."""
    found: dict[str, list[CodeType]] = defaultdict(list)
    for part in code.co_consts:
        if isinstance(part, CodeType):
            found[part.co_qualname].append(part)
            for name, parts in _by_name(part).items():
                found[name] += parts
    return found


def attempt(
    session: pytest.Session,
    bodies: list[tuple[FunctionType, CodeType]],
    items: list[pytest.Item],
    limits_s: dict[str, float],
    limit_s: int,
    pipe: int,
) -> None:
    """In the child: change the functions, run the tests, say how it ended, and end."""
    server.alone(limit_s)
    for function, body in bodies:
        function.__code__ = body
    chosen = server.Chosen(limits_s)
    session.config.pluginmanager.register(chosen)
    session.items = items
    try:
        _pytest.main.pytest_runtestloop(session)
        code = 0
    except session.Failed:
        code = 1
    except BaseException as error:  # a mutant may end the whole run
        code, chosen.by = 99, repr(error)
    if chosen.by and code == 0:
        code = 1
    os.write(pipe, json.dumps({"code": code, "by": chosen.by}).encode())
    os._exit(0)


def main() -> None:
    """Import all tests named in the file of the first argument, then serve."""
    tasks = os.fdopen(os.dup(0), encoding="utf-8")
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    server.quiet()
    files = Path(sys.argv[1]).read_text(encoding="utf-8").split()
    options = ["-x", "-q", "-p", "no:cacheprovider", "--capture=sys", f"--basetemp={sys.argv[2]}"]
    plugins: list[Any] = [Held(tasks, answers)]
    sys.exit(int(pytest.main([*options, *server.OPTIONS, *files], plugins=plugins)))


if __name__ == "__main__":
    main()
