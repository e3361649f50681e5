"""Whatever a file holds, reading it ends with an answer or with a RiggingError: no traceback, and within its time.

Valid files bent step by step (``mutate.py``), and texts drawn from the letters that the grammar of units is made of. The
search that follows coverage is ``run.py``; what either has found stands in ``test_found.py``.
"""

from __future__ import annotations

import importlib.util
import sys
import time
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

pytestmark = pytest.mark.slow

HERE = Path(__file__).resolve().parent
PATIENCE_S = 10.0  # for one input of a few kilobytes, on a busy machine


def _targets() -> Any:
    if "fuzz_targets" not in sys.modules:
        spec = importlib.util.spec_from_file_location("fuzz_targets", HERE / "targets.py")
        assert spec is not None and spec.loader is not None
        sys.modules["fuzz_targets"] = module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    return sys.modules["fuzz_targets"]


targets = _targets()
# inputs for each target: as many as take a few seconds
INPUTS = {
    "units": 1500, "sheet": 500, "card": 1500, "readings": 700, "history": 200, "table": 1500, "log import": 800, "foreign log": 30, "entries": 1200,
    "wav": 1000,
}  # fmt: skip


@cache
def seeds(name: str) -> list[bytes]:
    return list(targets.TARGETS[name].seeds())


def attempt(name: str, data: bytes) -> str | None:
    started = time.monotonic()
    said = targets.attempt(name, data)
    assert time.monotonic() - started < PATIENCE_S
    return said


def test_every_target_is_searched() -> None:
    assert set(INPUTS) == set(targets.TARGETS)


@pytest.mark.parametrize("name", sorted(set(INPUTS) - {"units", "table", "entries"}))
def test_the_files_to_start_from_are_valid(name: str) -> None:
    """Else nothing but the first check would ever be tried. Tables are taken as tables, not all of them as charts."""
    assert [attempt(name, data) for data in seeds(name)] == [None] * len(seeds(name))


@pytest.mark.parametrize("name", sorted(INPUTS))
def test_a_bent_file_is_read_or_refused(name: str) -> None:
    target = targets.TARGETS[name]

    @settings(max_examples=INPUTS[name], database=None)
    @given(st.sampled_from(seeds(name)), st.integers(0, 2**32 - 1))
    def bent(data: bytes, seed: int) -> None:
        attempt(name, targets.mutate.mutated(data, target.steps, seed, largest=target.longest))

    bent()


# letters, marks and traps of the grammar
PIECES = (
    "1", "0", "9", "12", ".", "..", " ", "-", "+", "+-", "/", "to", "@", "%", "lbf", "N", "F", "C", "in", "ft", "'", '"', "deg", "°", "e5",
    "e-400", "E+", "\xa0", "\N{MINUS SIGN}", "±", "½", "\N{ARABIC-INDIC DIGIT THREE}", "\0", "\ud800", "/C", "h", "kN", ",", "x", "\n", "rad",
)  # fmt: skip


@settings(max_examples=1500, database=None)
@given(st.lists(st.sampled_from(PIECES), max_size=12).map("".join))
@example("9" * 98 + "kN")
@example("1/0 in")
@example("35 +-1" + "0" * 90 + "% lbf")
def test_pieces_of_the_unit_grammar_are_read_or_refused(text: str) -> None:
    attempt("units", text.encode("utf-8", "surrogateescape" if "\ud800" not in text else "surrogatepass"))


@settings(max_examples=300, database=None)
@given(st.sampled_from(sorted(INPUTS)), st.binary(max_size=200))
def test_any_bytes_are_refused_or_read(name: str, data: bytes) -> None:
    attempt(name, data)


@pytest.mark.parametrize("name", ["units", "sheet", "log import"])
def test_the_same_seed_bends_the_same(name: str) -> None:
    """A finding can be had again from its seed."""
    target, data = targets.TARGETS[name], seeds(name)[0]
    first, second = (targets.mutate.mutated(data, target.steps, 7) for _ in range(2))
    assert first == second
