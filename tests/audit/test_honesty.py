"""The audit of honesty, held by tests: nothing accepted on memory, no number without a status, no expectation without an origin."""

from __future__ import annotations

import acceptance
import constants
import expected
import figures
import pytest

from rigging import source
from rigging.source import Basis


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("audit")


@pytest.mark.slow
def test_nothing_is_accepted_with_a_table_s_figure_from_memory(folder):
    tried, found = acceptance.accepted_from_tables(folder / "tables", once=True)
    assert tried > 50
    assert found == []


@pytest.mark.slow
@pytest.mark.parametrize("part", ["accepted_from_users", "accepted_in_the_log", "accepted_by_a_chart"])
def test_nothing_is_accepted_with_a_user_s_figure_from_memory(folder, part):
    tried, found = getattr(acceptance, part)(folder / part)
    assert tried > 30
    assert found == []


def test_the_plover_is_accepted_as_it_is(folder):
    # without this the tests above would find nothing whatever the program does
    for line in acceptance.PLOVER_LINES:
        ran = acceptance.run(line, "--json", folder=acceptance.plover(folder / "plain"))
        assert any(acceptance.accepts(node) for _, node in acceptance.nodes(ran.json)), line
        assert ran.code == 0, line


@pytest.mark.slow
def test_the_audit_finds_what_a_careless_program_accepts(folder, monkeypatch):
    monkeypatch.setattr(source, "NEVER_ACCEPTED", frozenset())
    _, found = acceptance.accepted_from_users(folder / "careless")
    assert {"airframe", "an airframe of wood", "card"} <= {one.figure for one in found}


def test_a_difference_that_only_a_fairlead_from_memory_explains_is_a_finding(folder):
    # 50.5 and 55: U of the difference is 2.0 lbf; a bend of 20 deg at a fairlead of 0.3 explains 50.5 (e^0.105 - 1) = 5.6
    place = acceptance.plover(folder / "drag", ("pulleys: [{wrap: 30 deg, at: 5 ft, part: MS20220-2}], ", ""),
                              ("bend: 2 deg", "bend: 20 deg"))  # fmt: skip
    text = (place / "readings.csv").read_text(encoding="utf-8")
    (place / "readings.csv").write_text(text.replace("right,1,55", "right,1,50.5"), encoding="utf-8")
    ran = acceptance.run(f"check sheet.yaml readings.csv --on {acceptance.TODAY}", "--json", folder=place)
    assert ran.code == 1
    assert "a figure from memory" in ran.json["drag"][0]["words"]


def test_every_number_in_the_code_has_a_status():
    every = constants.constants()
    assert [c.name for c in every if constants.status(c) is None] == [], "say in tests/audit/constants.py what it is"
    # the code has moved on: what is named there and no more in the code
    said = {name for names in constants.KNOWN.values() for name in names}
    assert said - {c.name for c in every} == set()


def test_a_number_from_memory_stands_only_where_it_widens():
    for name, why in constants.KNOWN[Basis.MEMORY].items():
        assert "uncertainty" in why or "advice" in why or "left open" in why or "explains no" in why, name


def test_every_expected_value_names_its_origin():
    count, bare = expected.audit()
    assert count > 200
    assert bare == []


@pytest.mark.parametrize(
    ("line", "bare"),
    [
        ("    assert f(3).tension_lbf == 12.5", True),
        ("    assert f(3).tension_lbf == 2.5 * 5", False),
        ("    assert f(3).tension_lbf == 12.5  # by hand: 2.5 x 5", False),
        ("    assert f(12.5).tension_lbf == 12.5", False),
        ("    assert f(3) == pytest.approx(12.5)", True),
        ("    assert abs(f(3).tension_lbf - 12.5) < 0.1", True),
        ("    assert len(f(3)) == 12", False),
    ],
)
def test_what_counts_as_an_origin(line, bare):
    _, found = expected.of_text(f"def test_it():\n{line}\n", "tests/unit/test_it.py")
    assert bool(found) is bare


def test_every_figure_of_every_table_is_listed():
    every = figures.figures()
    assert {f.cell[0] for f in every} == set(figures.tables.table_ids())
    assert all(f.source for f in every)


def test_a_figure_s_use_is_found_by_running_and_by_reading():
    with figures.watched() as seen:
        acceptance.run("cable 1/8", "--json")
    cell = ("cable-flexible-ac43131b-7-3", 7, "carbon")
    assert seen[cell] == {"hardware/cable"}
    assert figures.named(cell) == {"hardware/cable"}
