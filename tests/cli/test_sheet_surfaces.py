"""``rigging sheet check`` on surfaces: what is wrong has its line, what is missing is told."""

import json

import pytest

SURFACES = """\
    surfaces:
      rudder: {travel: {left: 23..27 deg, right: 23..27 deg}, moves: {left pedal: left, right pedal: right}}
    friction_limit: 4 lbf
"""


def test_a_circuit_without_surfaces_and_figures_without_a_source_are_told(rigging, bench):
    told = rigging("sheet", "check", bench.sheet)
    assert told.code == 0
    assert "no surfaces are given for rudder: travel and direction of movement cannot be judged" in " ".join(
        told.err.split()
    )
    bench.sheet.write_text(bench.sheet.read_text() + SURFACES)
    told = rigging("sheet", "check", bench.sheet)
    assert told.code == 0
    assert "no surfaces are given" not in " ".join(told.err.split())
    assert (
        "no source is given for surface rudder, friction_limit of rudder: say where the figures are printed"
        in " ".join(told.err.split())
    )


def test_a_band_written_with_a_dash_is_refused_with_its_line(rigging, bench):
    bench.sheet.write_text(bench.sheet.read_text() + SURFACES.replace("left: 23..27 deg", "left: 23-27 deg"))
    ran = rigging("sheet", "check", bench.sheet)
    assert (ran.code, ran.out) == (3, "")
    assert "sheet.yaml:16" in ran.err
    assert "a dash can be read as a minus: write 23..27 deg" in ran.err


@pytest.mark.parametrize("name", ["reedling", "harbour", "quill"])
def test_every_circuit_of_the_examples_has_its_surfaces_and_their_source(shared, name):
    ran = shared("sheet", "check", f"examples/{name}/sheet.yaml")
    assert ran.code == 0
    assert "no surfaces" not in ran.err
    assert "no source" not in ran.err


def test_the_schema_knows_the_new_blocks(shared):
    definitions = json.loads(shared("sheet", "schema").out)["$defs"]
    assert {"SurfaceEntry", "BridleEntry", "TaskEntry"} <= set(definitions)
    assert "angle band, like 18..22 deg" in json.dumps(definitions["SurfaceEntry"])
