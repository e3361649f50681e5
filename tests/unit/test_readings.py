"""Readings from CSV: every problem of the file together, whatever text it holds."""

import csv
import io
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from rigging.errors import BadFile
from rigging.sheet.cells import dial_problem
from rigging.sheet.load import load_rig
from rigging.sheet.readings import NEEDED, OPTIONAL, load_readings, parse_readings

ROOT = Path(__file__).resolve().parents[2]
REEDLING = load_rig(ROOT / "examples" / "reedling" / "sheet.yaml")


@pytest.fixture
def rig(bench):
    return load_rig(bench.sheet)


def problems(text, rig):
    with pytest.raises(BadFile) as caught:
        parse_readings(text, "r.csv", rig)
    assert {p.file for p in caught.value.problems} == {"r.csv"}
    return [(p.line, p.path, p.message) for p in caught.value.problems]


def test_a_reading_holds_all_that_was_noted(bench, rig):
    bench.readings.write_text(
        "circuit,run,riser,dial,air,structure,cable_temperature,tensiometer,state,note\n"
        'rudder,left,1,35.50,12C,54F,53F,0007,on wheels,"pins in, doors open"\n'
    )
    (reading,) = load_readings(bench.readings, rig)
    assert (reading.circuit, reading.run, reading.station) == ("rudder", "left", "")
    assert (reading.riser, reading.dial, reading.typed) == (1, 35.5, "35.50")
    assert reading.air_degF == pytest.approx(12 * 1.8 + 32)
    assert (reading.structure_degF, reading.cable_temperature_degF) == (54, 53)
    assert (reading.tensiometer, reading.state, reading.note) == ("0007", "on wheels", "pins in, doors open")
    assert reading.line == 2


def test_columns_may_stand_in_any_order_and_short_rows_are_filled(rig):
    (reading,) = parse_readings("dial,note,run,riser,circuit\n35,,left,1,rudder\n", "r.csv", rig)
    assert (reading.dial, reading.riser, reading.air_degF) == (35, 1, None)
    (reading,) = parse_readings("circuit,run,riser,dial,air,note\nrudder,left,1,35\n", "r.csv", rig)
    assert (reading.air_degF, reading.note) == (None, "")


def test_lines_are_counted_as_an_editor_counts_them(rig):
    text = '\n\ncircuit,run,riser,dial,note\n\nrudder,left,1,35,"two\nlines"\nrudder,left,1,36,\n'
    assert [r.line for r in parse_readings(text, "r.csv", rig)] == [5, 7]
    assert problems(text.replace("36", "x"), rig)[0][:2] == (7, "dial")
    assert problems(text.replace("dial", "dail"), rig)[0][:2] == (3, "heading")


def test_the_only_card_of_the_sheet_needs_no_column(rig):
    (reading,) = parse_readings("circuit,run,riser,dial\nrudder,left,1,35\n", "r.csv", rig)
    assert reading.tensiometer == "0007"


def test_of_several_cards_one_must_be_named(bench):
    bench.bend(bench.sheet, "[card.yaml]", "[card.yaml, other.yaml]")
    (bench.folder / "other.yaml").write_text(bench.card.read_text().replace("0007", "0008"))
    rig = load_rig(bench.sheet)
    ((line, column, message),) = problems("circuit,run,riser,dial\nrudder,left,1,35\n", rig)
    assert (line, column) == (2, "tensiometer")
    assert "several tensiometers (0007, 0008)" in message
    text = "circuit,run,riser,dial,tensiometer\nrudder,left,1,35,0008\n"
    assert parse_readings(text, "r.csv", rig)[0].tensiometer == "0008"
    assert "no card may be lent" in problems(text.replace("0008", "0009"), rig)[0][2]


def test_without_a_card_there_are_no_readings(bench):
    bench.bend(bench.sheet, "tensiometers: [card.yaml]\n", "")
    rig = load_rig(bench.sheet)
    ((line, column, message),) = problems("circuit,run,riser,dial\nrudder,left,1,35\n", rig)
    assert (line, column) == (2, "tensiometer")
    assert "names no tensiometer" in message


def test_a_station_must_be_one_of_the_sheet(bench):
    bench.bend(bench.sheet, "left: {size: 1/8,", "left: {size: 1/8, stations: [tail, nose],")
    rig = load_rig(bench.sheet)
    text = "circuit,run,station,riser,dial\nrudder,left,tial,1,35\nrudder,left,,1,35\nrudder,right,anywhere,1,35\n"
    assert [(line, column) for line, column, _ in problems(text, rig)] == [(2, "station"), (3, "station")]
    assert "did you mean 'tail'?" in problems(text, rig)[0][2]


def test_a_dial_outside_the_card_is_not_the_business_of_the_file(rig):
    (reading,) = parse_readings("circuit,run,riser,dial\nrudder,left,1,99\n", "r.csv", rig)
    assert reading.dial == 99


@pytest.mark.parametrize("text", ["31", "31.5", "0", "0.25", ".5", "31.", "007"])
def test_what_is_a_dial_reading(text):
    assert dial_problem(text) == ""
    assert float(text) >= 0


@pytest.mark.parametrize(
    "text",
    ["", " ", "31,5", "-31", "+31", "31 lbf", "1e2", "nan", "inf", "1.2.3", ".", "0x1f", "1_000", "٣١", "²", "1" * 13],
)
def test_what_is_no_dial_reading(text):
    assert dial_problem(text)


@pytest.mark.parametrize("text", ["0", "1", "12", "999"])
def test_what_is_a_riser_on_paper(text, rig):
    # only number 1 stands on the card, and that is another complaint
    message = problems(f"circuit,run,riser,dial\nrudder,left,{text},35x\n", rig)
    assert all("is not a riser number" not in m for _, _, m in message)


@pytest.mark.parametrize("text", ["", "one", "1.0", "-1", "1000", "٣", "1/2"])
def test_what_is_no_riser(text, rig):
    ((line, column, message),) = problems(f"circuit,run,riser,dial\nrudder,left,{text},35\n", rig)
    assert (line, column) == (2, "riser")
    assert "write" in message and "like 2" in message


def test_every_problem_of_a_row_is_named(rig):
    text = "circuit,run,riser,dial,air,structure,cable_temperature,tensiometer\nruder,left,x,3 lb,54,5 lbf,warm,0070\n"
    assert [column for _, column, _ in problems(text, rig)] == [
        "circuit", "riser", "dial", "air", "structure", "cable_temperature", "tensiometer",
    ]  # fmt: skip


# whatever stands in the file, the answer is readings or a BadFile

COLUMNS = st.lists(st.sampled_from([*NEEDED, *OPTIONAL, "dail", ""]), max_size=9)
CELLS = st.one_of(
    st.sampled_from(["aileron", "left", "wing root", "1", "30", "30.5", "54F", "12C", "-40F", "0417", "", "on wheels", '"', ";", "1e999F", "1/0F"]),
    st.text(max_size=12),
)  # fmt: skip


def readings_or_bad_file(text):
    try:
        found = parse_readings(text, "r.csv", REEDLING)
    except BadFile as error:
        assert error.problems
        assert all(p.file == "r.csv" and p.message for p in error.problems)
        lines = text.count("\n") + text.count("\r") + 1
        assert all(p.line is None or 1 <= p.line <= lines for p in error.problems)
    else:
        assert found
        for reading in found:
            assert REEDLING.run(reading.circuit, reading.run)
            assert reading.tensiometer in REEDLING.cards
            assert reading.dial >= 0


@settings(deadline=None, max_examples=300)
@given(st.text())
@example("")
@example("\n")
@example(",,,")
@example('"')
@example('""')
@example("\x00")
@example("circuit,run,riser,dial\n\ud800")
@example("\ufeffcircuit,run,riser,dial")
@example("a\rb")
@example(";;;")
@example("x" * 200_000)
def test_any_text_gives_readings_or_a_bad_file(text):
    readings_or_bad_file(text)


@settings(deadline=None, max_examples=200)
@given(COLUMNS, st.lists(st.lists(CELLS, max_size=9), max_size=4))
def test_anything_shaped_like_a_table_gives_readings_or_a_bad_file(columns, rows):
    out = io.StringIO()
    csv.writer(out).writerows([columns, *rows])
    readings_or_bad_file(out.getvalue().replace("\r\n", "\n"))


@settings(deadline=None, max_examples=200)
@given(st.lists(st.lists(CELLS, min_size=5, max_size=5), min_size=1, max_size=4), CELLS)
def test_any_cells_below_a_sound_heading_give_readings_or_a_bad_file(rows, air):
    out = io.StringIO()
    csv.writer(out).writerow(["circuit", "run", "station", "riser", "dial", "structure", "air"])
    csv.writer(out).writerow(["aileron", "left", "wing root", "1", "30", "54F", air])
    csv.writer(out).writerows(rows)
    readings_or_bad_file(out.getvalue().replace("\r\n", "\n"))
