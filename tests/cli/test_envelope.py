"""``rigging envelope`` as a person and a script call it: keys, rows, pictures, exit codes, plain text."""

import csv
import io
import re
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
REEDLING, HARBOUR = "examples/reedling/sheet.yaml", "examples/harbour/sheet.yaml"
KEYS = "temperatures_degF runs slack_below_degF slack_above_degF out_of_limits"
RANGE = "temperatures: {coldest: 0F, hottest: 110F}\n"


@pytest.fixture
def seasons(bench):
    """The small aircraft with a range of temperatures."""
    bench.bend(bench.sheet, "airframe:", f"{RANGE}airframe:")
    return bench


def test_json_of_one_circuit_has_the_agreed_keys_at_the_top(shared):
    ran = shared("envelope", REEDLING, "elevator", "--json")
    assert (ran.code, ran.err) == (0, "")
    found = ran.json
    assert set(KEYS.split()) <= set(found)
    assert set(found["runs"]) == {"up", "down"}
    for name in ("up", "down"):
        # every figure under a key that ends in its unit
        assert set(found["runs"][name]) == {"tensions_lbf", "uncertainty_lbf", "low_lbf", "high_lbf"}
        for values in found["runs"][name].values():
            assert len(values) == len(found["temperatures_degF"])
    assert (found["temperatures_degF"][0], found["temperatures_degF"][-1]) == (-20, 110)
    assert found["slack_below_degF"] is None and found["out_of_limits"] == []
    assert found["finding"] is False and found["window"] is None
    (circuit,) = found["circuits"]
    assert all(found[key] == circuit[key] for key in circuit)


def test_json_of_a_whole_sheet_lists_its_circuits(shared):
    ran = shared("envelope", HARBOUR, "--json")
    assert ran.code == 1 and ran.json["finding"] is True
    circuits = {c["circuit"]: c for c in ran.json["circuits"]}
    assert set(circuits) >= {"aileron", "rudder", "trim"}
    assert all(set(KEYS.split()) <= set(c) for c in circuits.values())
    assert "runs" not in ran.json
    aileron, rudder, trim = (circuits[name] for name in ("aileron", "rudder", "trim"))
    # EA (22.9 - 11.7)e-6/1.8 is 0.6479 lbf/F: 35 lbf are used up in 54.0 F
    assert aileron["slack_below_degF"] == pytest.approx(15.98, abs=0.01)
    assert {(o["run"], o["side"]) for o in rudder["out_of_limits"]} == {
        (r, s) for r in ("left", "right") for s in ("low", "high")
    }
    # 3/32 7x7: 100 x 0.09375^2 / 1.07e-5 is 82 141 lbf, 0.5111 lbf/F, over 70 F
    assert trim["window"]["low"]["tensions_lbf"]["nose up"] == pytest.approx(35.78, abs=0.01)
    assert "ask the designer" in trim["window"]["advice"]


def test_csv_has_a_row_for_every_cable_and_temperature(shared):
    found = shared("envelope", REEDLING, "--json").json
    rows = list(csv.DictReader(io.StringIO(shared("envelope", REEDLING, "--csv").out)))
    assert len(rows) == sum(len(c["temperatures_degF"]) * len(c["runs"]) for c in found["circuits"])
    assert {row["limits"] for row in rows} <= {"in", "no-result"}
    # wood: cold makes a cable tighter, by more than it was set to on the coldest day, and there is none without limits
    assert {row["limits"] for row in rows if row["circuit"] == "elevator"} == {"in"}
    assert {row["state"] for row in rows} == {"tight"}
    up = [row for row in rows if row["run"] == "up"]
    assert [float(row["tension_lbf"]) for row in up] == pytest.approx(
        found["circuits"][1]["runs"]["up"]["tensions_lbf"]
    )


def test_limits_that_are_refused_on_a_day_are_told_from_limits_that_nobody_gave(shared, seasons, rigging):
    """Aluminium at 0 F: the correction takes the whole low limit, so no limit can be given there; and one cable
    of its trim has none at all."""
    text = " ".join(shared("envelope", HARBOUR).out.split())
    assert "no result" in text and "none given" in text and "no limits can be given from 0 F to " in text
    rows = list(csv.DictReader(io.StringIO(shared("envelope", HARBOUR, "--set", "35lbf", "--csv").out)))
    said = {(row["circuit"], row["limits"]) for row in rows if row["temperature_degF"] == "0.0"}
    assert {("aileron", "no-result"), ("trim", "not-given")} <= said
    circuits = {c["circuit"]: c for c in shared("envelope", HARBOUR, "--json").json["circuits"]}
    assert {one["run"] for one in circuits["aileron"]["limits_no_result"]} == {"left", "balance", "right"}
    assert {one["run"] for one in circuits["trim"]["limits_no_result"]} == {"nose up"}
    # tight through the year, and still nobody may say that it is in its limits
    seasons.bend(seasons.sheet, "limits: 30..40 lbf @ 70F", "limits: 30..100 lbf @ 70F")
    ran = rigging("envelope", "sheet.yaml", "--set", "60lbf", "--json", cwd=seasons.folder)
    assert (ran.json["slack"], ran.json["out_of_limits"], ran.code) == ([], [], 1)
    assert {one["run"] for one in ran.json["limits_no_result"]} == {"left", "right"}
    for out in (text, shared("envelope", HARBOUR, "--csv").out, shared("envelope", HARBOUR, "--json").out):
        assert "left open" not in out and "left_open" not in out


def test_exit_codes(seasons, rigging):
    def ran(*args):
        return rigging("envelope", "sheet.yaml", *args, cwd=seasons.folder)

    assert ran().code == 1  # slack below 16 F
    assert ran("--set", "60lbf").code == 1  # tight, and above its limits
    seasons.bend(seasons.sheet, "coldest: 0F", "coldest: 40F")
    assert ran().code == 0
    assert ran("--limit", "90lbf").code == 0
    assert ran("--limit", "90lbf", "--pilot-force", "100lbf").code == 1  # no tension fits


@pytest.mark.parametrize(
    ("args", "code", "words"),
    [
        (("--set", "35"), 2, "has no unit"),
        (("--set", "0lbf"), 2, "above zero"),
        (("--pilot-force", "-4lbf"), 2, "above zero"),
        (("--tension", "35lbf"), 2, "write it like 'left=35lbf'"),
        (("--tension", "lift=35lbf"), 2, "did you mean 'left'"),
        (("--json", "--csv"), 2, "ask for one"),
        (("-o", "picture.pdf"), 2, ".svg or .png"),
        (("-o", "nowhere/picture.svg"), 3, "nothing was written"),
        (("--set", "1201lbf"), 3, "above the proof load of this cable, 1200 lbf"),
        (("ruder",), 3, "did you mean 'rudder'"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(seasons, rigging, args, code, words):
    ran = rigging("envelope", "sheet.yaml", *args, cwd=seasons.folder)
    assert (ran.code, ran.out) == (code, "")
    assert words in ran.err
    assert len(ran.err.splitlines()) == 1
    assert sorted(p.name for p in seasons.folder.iterdir()) == ["card.yaml", "readings.csv", "sheet.yaml"]


def test_a_sheet_without_a_range_says_what_to_add(bench, rigging):
    ran = rigging("envelope", "sheet.yaml", cwd=bench.folder)
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith("sheet.yaml: temperatures:") and "{coldest: -20F, hottest: 110F}" in ran.err


def test_a_cable_of_several_circuits_is_asked_for(rigging, tmp_path):
    ran = rigging("envelope", ROOT / HARBOUR, "--tension", "left=35lbf", cwd=tmp_path)
    assert ran.code == 2 and "'left' may be aileron / left or " in ran.err


def test_an_svg_is_whole_and_the_same_every_time(seasons, rigging):
    texts = []
    for name in ("one.svg", "two.svg"):
        ran = rigging("envelope", "sheet.yaml", "-o", name, "--json", cwd=seasons.folder)
        assert ran.code == 1 and ran.json["circuit"] == "rudder"
        assert ran.err == f"written: {name}\n"
        texts.append((seasons.folder / name).read_text(encoding="utf-8"))
    assert texts[0] == texts[1]
    root = ElementTree.fromstring(texts[0])
    assert root.tag.endswith("svg")
    words = "\n".join("".join(node.itertext()) for node in root.iter() if node.tag.endswith("text"))
    for expected in ("Test bed: rudder", "structure temperature, °F", "°C", "tension, lbf", "slack below 16 F", "left, right",
                     "limits", "uncertainty, 95 %", "rigged at 70 F", "SHA-256"):  # fmt: skip
        assert expected in words
    assert "<dc:date>" not in texts[0]
    assert sorted(p.name for p in seasons.folder.glob("*.svg")) == ["one.svg", "two.svg"]


def test_a_png_is_written_over_an_older_one_only_when_told(seasons, rigging):
    seasons.bend(seasons.sheet, "name: Test bed", "name: 'Cost $1 or $2'")
    path = seasons.folder / "picture.png"
    path.write_text("old", encoding="utf-8")
    kept = rigging("envelope", "sheet.yaml", "-o", "picture.png", cwd=seasons.folder)
    assert (kept.code, kept.out) == (2, "")
    assert kept.err == "picture.png exists: choose another name, or --replace it; nothing was written\n"
    assert path.read_text(encoding="utf-8") == "old"
    assert rigging("envelope", "sheet.yaml", "-o", path, "--replace", cwd=seasons.folder).code == 1
    data = path.read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n") and data.endswith(b"IEND\xaeB`\x82")
    assert len(list(seasons.folder.glob(".picture*"))) == 0


def test_nothing_is_drawn_where_no_tension_is_known(seasons, rigging):
    seasons.bend(seasons.sheet, ", limits: 30..40 lbf @ 70F", "")
    ran = rigging("envelope", "sheet.yaml", "-o", "picture.svg", cwd=seasons.folder)
    assert ran.code == 3 and "no rigging tension is known" in ran.err
    assert not (seasons.folder / "picture.svg").exists()
    text = rigging("envelope", "sheet.yaml", cwd=seasons.folder)
    assert text.code == 1
    joined = " ".join(text.out.split())
    assert "window of rigging tension by constraints alone: from 45.4 lbf" in joined  # 70 F x 0.6479 lbf/F
    assert "ask the designer" in joined and "5 to 190 lbf" in joined


@pytest.mark.parametrize(
    "args", [(HARBOUR,), (REEDLING, "--si"), (REEDLING, "--pilot-force", "40lbf", "--limit", "150lbf")]
)
def test_piped_text_is_plain_and_fits(shared, args):
    text = shared("envelope", *args).out
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_big_figures_stand_before_picture_reasons_and_sources(shared):
    text = shared("envelope", HARBOUR, "aileron").out
    marks = ["60.9 +-6.0", "hangs slack below 16 F", "structure temperature", "Why", "Rests on", "Cautions"]
    places = [text.index(mark) for mark in marks]
    assert places == sorted(places)


def test_a_console_of_plain_letters_gets_plain_letters(rigging):
    ran = rigging("envelope", HARBOUR, LANG="C", PYTHONIOENCODING="ascii")
    assert ran.out.isascii() and "?" not in ran.out.split("Why")[0].replace("? no", "")
    assert "o left, balance, right" in ran.out


def test_colour_only_at_a_terminal_that_wants_it(terminal):
    coloured = terminal("envelope", HARBOUR, "aileron").end()
    assert "\x1b[" in coloured.out
    plain = terminal("envelope", HARBOUR, "aileron", NO_COLOR="1").end()
    assert "\x1b" not in plain.out
    without = re.sub(r"\x1b\[[0-9;]*m", "", coloured.out)
    assert [line.rstrip() for line in without.splitlines()] == [line.rstrip() for line in plain.out.splitlines()]
