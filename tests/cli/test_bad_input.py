"""Bad files: one clear line each with file, line, value and way out; all problems of a file together; exit code 3."""

import os
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

DAY = "2026-11-25"

# which file, what is bent in it, and the beginning and a part of each line that must be said

BENT = {
    # the sheet
    "no unit": ("sheet", "reference_temperature: 70F", "reference_temperature: 70",
        ["sheet.yaml:3: reference_temperature: '70' has no unit: write 70F or 70C"]),
    "wrong unit": ("sheet", "length: 12 ft, from: pedals +", "length: 12 lbf, from: pedals +",
        ["sheet.yaml:13: circuits / rudder / cables / left / length: '12 lbf' is a force, not a length: write a length in in, ft, mm, cm or m"]),
    "limits without a unit": ("sheet", "horn -, limits: 30..40 lbf @ 70F", "horn -, limits: 30..40 @ 70F",
        ["sheet.yaml:14: circuits / rudder / cables / right / limits: '30..40 @ 70F' has no unit: write it like 30..40 lbf @ 70F"]),
    "limits the wrong way round": ("sheet", "horn -, limits: 30..40 lbf", "horn -, limits: 40..30 lbf",
        ["sheet.yaml:14: circuits / rudder / cables / right / limits: '40..30 lbf @ 70F': the low edge must lie below"]),
    "unknown airframe": ("sheet", "material: aluminium", "material: aluminum alloy",
        ["sheet.yaml:4: airframe / material: unknown airframe material 'aluminum alloy' (did you mean 'aluminum'?)"]),
    "unknown cable material": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, material: stainles,",
        ["sheet.yaml:13: circuits / rudder / cables / left / material: 'stainles' is not known (did you mean 'stainless'?)"]),
    "a size no table has": ("sheet", "left: {size: 1/8,", "left: {size: 1/7,",
        ["sheet.yaml:13: circuits / rudder / cables / left / size: ", "no size '1/7' in this table (did you mean '1/8'?)"]),
    "not a size": ("sheet", "left: {size: 1/8,", "left: {size: 0.125,",
        ["sheet.yaml:13: circuits / rudder / cables / left / size: '0.125' is not a cable size", "like 1/8 or 5/32"]),
    "an unknown construction": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, construction: 6x19,",
        ["sheet.yaml:13: circuits / rudder / cables / left / size: unknown cable construction '6x19': one of 7x19, 7x7, 1x19, 3x7"]),
    "unknown key": ("sheet", "    hold: [pedals]", "    holds: [pedals]",
        ["sheet.yaml:11: circuits / rudder / holds: unknown key 'holds' (did you mean 'hold'?)"]),
    "unknown key at the top": ("sheet", "tensiometers:", "tensiometer:",
        ["sheet.yaml:5: tensiometer: unknown key 'tensiometer' (did you mean 'tensiometers'?)"]),
    "a key twice": ("sheet", "airframe: {material: aluminium}", "airframe: {material: aluminium}\nairframe: {material: spruce}",
        ["sheet.yaml:5: airframe: stands twice (first in line 4): keep one"]),
    "a missing key": ("sheet", "length: 12 ft, from: pedals +, ", "from: pedals +, ",
        ["sheet.yaml:13: circuits / rudder / cables / left: 'length' is missing here"]),
    "a cable to a sector that is not there": ("sheet", "to: horn +", "to: hron +",
        ["sheet.yaml:13: circuits / rudder / cables / left / to: no sector 'hron' in this circuit (did you mean 'horn'?)"]),
    "a cable end without its side": ("sheet", "to: horn +", "to: horn",
        ["sheet.yaml:13: circuits / rudder / cables / left / to: 'horn' needs the side of the sector, + or -"]),
    "a held sector that is not there": ("sheet", "hold: [pedals]", "hold: [pedal]",
        ["sheet.yaml:11: circuits / rudder / hold / no. 1: no sector 'pedal' in this circuit (did you mean 'pedals'?)"]),
    "nothing held": ("sheet", "    hold: [pedals]\n", "",
        ["sheet.yaml:7: circuits / rudder: nothing restrains pedals and horn: name the sector with the rig pin under 'hold', like hold: [pedals], or the springs"]),
    "path pieces that do not add up": ("sheet", "left: {size: 1/8, length: 12 ft,", "left: {size: 1/8, length: 12 ft, path: [{length: 6 ft, airframe: spruce}, {length: 5 ft, airframe: steel}],",
        ["sheet.yaml:13: circuits / rudder / cables / left / path: the pieces add up to 132 in, the length is 144 in"]),
    "an unknown thread": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, turnbuckle: {thread: 1/4-27},",
        ["sheet.yaml:13: circuits / rudder / cables / left / turnbuckle / thread: ", "'1/4-27' in this table (did you mean '1/4-28'?)"]),
    "limits above the proof load": ("sheet", "horn -, limits: 30..40 lbf", "horn -, limits: 30..4000 lbf",
        ["sheet.yaml:14: circuits / rudder / cables / right / limits: a high limit of 4000 lbf is above the proof load of this cable, 1200 lbf"]),
    "a temperature of the limits outside the range": ("sheet", "horn -, limits: 30..40 lbf @ 70F", "horn -, limits: 30..40 lbf @ 300F",
        ["sheet.yaml:14: circuits / rudder / cables / right / limits: reference temperature 300 F lies outside -65 to 160 F"]),
    "a reference temperature outside the range": ("sheet", "reference_temperature: 70F", "reference_temperature: 170F",
        ["sheet.yaml:3: reference_temperature: reference temperature 170 F lies outside -65 to 160 F"]),
    "limits at a temperature outside the range": ("sheet", "horn -, limits: 30..40 lbf @ 70F", "horn -, limits: 30..40 lbf @ 300F",
        ["sheet.yaml:14: circuits / rudder / cables / right / limits: ", "300 F lies outside -65 to 160 F"]),
    "a coldest day outside the range": ("sheet", "rig_sheet: 1", "rig_sheet: 1\ntemperatures: {coldest: -100F, hottest: 110F}",
        ["sheet.yaml:2: temperatures / coldest: coldest temperature -100 F lies outside -65 to 160 F"]),
    "a hottest day outside the range": ("sheet", "rig_sheet: 1", "rig_sheet: 1\ntemperatures: {coldest: -20F, hottest: 80C}",
        ["sheet.yaml:2: temperatures / hottest: hottest temperature 176 F lies outside -65 to 160 F"]),
    "a control without a limit force": ("sheet", "hold: [pedals]", "hold: [pedals]\n    pilot: {sector: pedals, lever: 6 in, surfaces: [horn], control: joystick}",
        ["sheet.yaml:12: circuits / rudder / pilot / control: no limit force is printed for 'joystick' (known: aileron stick, ",
         "rudder): name one of these, or give 'force' with its own figure"]),
    "the pilot's sector as a surface": ("sheet", "hold: [pedals]", "hold: [pedals]\n    pilot: {sector: pedals, lever: 6 in, surfaces: [pedals], force: 40 lbf}",
        ["sheet.yaml:12: circuits / rudder / pilot / surfaces / no. 1: 'pedals' is the pilot's own sector: name the sectors at the surfaces"]),
    "a surface of the pilot twice": ("sheet", "hold: [pedals]", "hold: [pedals]\n    pilot: {sector: pedals, lever: 6 in, surfaces: [horn, horn], force: 40 lbf}",
        ["sheet.yaml:12: circuits / rudder / pilot / surfaces / no. 2: 'horn' is named twice: keep one"]),
    "a surface of the pilot that is not there": ("sheet", "hold: [pedals]", "hold: [pedals]\n    pilot: {sector: pedals, lever: 6 in, surfaces: [hron], force: 40 lbf}",
        ["sheet.yaml:12: circuits / rudder / pilot / surfaces / no. 1: no sector 'hron' in this circuit (did you mean 'horn'?)"]),
    "a cable wound around a pulley": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, pulleys: [{wrap: 900 deg}],",
        ["sheet.yaml:13: circuits / rudder / cables / left / pulleys / no. 1 / wrap: '900 deg' is beyond anything in a light aircraft"]),
    "a bend that is none": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, fairleads: [{bend: -2 deg}],",
        ["sheet.yaml:13: circuits / rudder / cables / left / fairleads / no. 1 / bend: '-2 deg' cannot be below zero"]),
    "a pulley that its table does not have": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, pulleys: [{wrap: 90 deg, part: MS20220-9}],",
        ["sheet.yaml:13: circuits / rudder / cables / left / pulleys / no. 1 / part: there is no pulley 'MS20220-9' in its table (MS20220-1, ",
         "MS20220-4): correct the number, or leave 'part' out"]),
    "a small pulley that its table does not have": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, pulleys: [{wrap: 90 deg, part: MS20219-9}],",
        ["sheet.yaml:13: ", "no pulley 'MS20219-9' in its table (MS20219-1, MS20219-2, MS20219-4)"]),
    # a bar of steel of 1/8 in: 200 GPa, 29.0e6 psi, times pi / 256 in2 is 356 000 lbf; a 32nd of that is no cable any more
    "a stiffness that no cable has": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, stiffness: 1 lbf, stiffness_uncertainty: 5%,",
        ["sheet.yaml:13: circuits / rudder / cables / left / stiffness: no cable of 1/8 has a stiffness of 1 lbf: give EA, the load that would ",
         "355,976 lbf"]),
    "a stiffness above that of a bar": ("sheet", "left: {size: 1/8,", "left: {size: 1/8, stiffness: 357000 lbf, stiffness_uncertainty: 5%,",
        ["sheet.yaml:13: circuits / rudder / cables / left / stiffness: no cable of 1/8 has a stiffness of 357,000 lbf"]),
    "an octal-looking number": ("sheet", "arm: 4 in", "arm: 010",
        ["sheet.yaml:10: ", "'010' can be read as an octal"]),
    "an alias": ("sheet", "aircraft: {name: Test bed,", "aircraft: {name: &x Test bed,",
        ["sheet.yaml:2: aircraft / name: anchors and aliases (& and *) are not used here"]),
    "not YAML": ("sheet", "aircraft: {name: Test bed,", "aircraft: {name: Test bed",
        ["sheet.yaml:2: is not YAML: "]),
    "no such card": ("sheet", "[card.yaml]", "[cart.yaml]",
        ["cart.yaml: is not there: check the name and the folder"]),
    "the same card twice": ("sheet", "[card.yaml]", "[card.yaml, card.yaml]",
        ["sheet.yaml:5: tensiometers / no. 2: 'card.yaml' is named twice: keep one"]),
    "a chart that is not named": ("sheet", "horn -, limits: 30..40 lbf @ 70F", "horn -, chart: rudder",
        ["sheet.yaml:14: circuits / rudder / cables / right / chart: the sheet names no chart file: add 'chart: FILE.yaml'"]),
    "no such chart": ("sheet", "rig_sheet: 1", "rig_sheet: 1\nchart: nowhere.yaml",
        ["nowhere.yaml: is not there: check the name and the folder"]),
    # the card
    "card without a due date": ("card", "due: 2027-01-15\n", "",
        ["card.yaml:1: 'due' is missing here"]),
    "card due before it was calibrated": ("card", "due: 2027-01-15", "due: 2025-01-15",
        ["card.yaml:1: due 2025-01-15 must lie after calibrated 2026-01-15"]),
    "card whose points fall": ("card", "[20, 20]", "[20, 9]",
        ["card.yaml:7: columns / no. 1: points must rise in dial and tension: [10, 10] is followed by [20, 9]"]),
    "card with a decimal comma": ("card", "[20, 20]", '[20, "20,5"]',
        ["card.yaml:7: columns / no. 1 / points / no. 2 / no. 2: a plain number is needed here, not '20,5' (write the decimal point"]),
    "card with an accuracy without its unit": ("card", "accuracy: 2%", "accuracy: 2",
        ["card.yaml:5: accuracy: '2' has no unit: write 2% or 2 percent"]),
    "card of another kind of file": ("card", "tensiometer_card: 1", "tensiometer_card: 2",
        ["card.yaml:1: tensiometer_card: '2' is not known"]),
    "card with a date of another country": ("card", "calibrated: 2026-01-15", "calibrated: 15.01.2026",
        ["card.yaml:3: calibrated: '15.01.2026' is not a date: write it like 2026-11-25"]),
    # the readings
    "wrong serial": ("readings", "riser,dial,structure\nrudder,left,1,35,70F", "riser,dial,structure,tensiometer\nrudder,left,1,35,70F,0070",
        ["readings.csv:2: tensiometer: no card for tensiometer '0070' in the sheet (did you mean '0007'?): no card may be lent"]),
    "wrong riser": ("readings", "right,1,35", "right,3,35",
        ["readings.csv:4: riser: card 0007 has no column for riser 3, cable 1/8 (it has riser 1, cable 1/8)",
         "readings.csv:5: riser: card 0007 has no column for riser 3"]),
    "a riser that is no number": ("readings", "right,1,35", "right,one,35",
        ["readings.csv:4: riser: 'one' is not a riser number: write it like 2", "readings.csv:5: riser: "]),
    "no such run": ("readings", "rudder,right", "rudder,rihgt",
        ["readings.csv:4: run: no run 'rihgt' in circuit rudder (did you mean 'right'?)", "readings.csv:5: run: "]),
    "no such circuit": ("readings", "rudder,right", "ruder,right",
        ["readings.csv:4: circuit: no circuit 'ruder' in the sheet (did you mean 'rudder'?)", "readings.csv:5: circuit: "]),
    "unknown column": ("readings", "riser,dial,structure", "riser,dial,struct",
        ["readings.csv:1: heading: unknown column 'struct' (did you mean 'structure'?)"]),
    "missing column": ("readings", "circuit,run,riser,dial,structure", "circuit,run,riser,note,structure",
        ["readings.csv:1: heading: column 'dial' is missing"]),
    "a column twice": ("readings", "circuit,run,riser,dial,structure", "circuit,run,riser,dial,dial",
        ["readings.csv:1: heading: column 'dial' stands twice"]),
    "decimal comma": ("readings", "rudder,right,1,35,70F", "rudder,right,1,35,5,70F",
        ["readings.csv:4: has 6 fields for 5 columns: a decimal comma? Write decimals with a point, like 31.5", "readings.csv:5: "]),
    "decimal comma in quotes": ("readings", "rudder,right,1,35,70F", 'rudder,right,1,"35,5",70F',
        ["readings.csv:4: dial: '35,5' has a comma: write decimals with a point, like 35.5", "readings.csv:5: dial: "]),
    "a dial with a unit": ("readings", "right,1,35", "right,1,35 lbf",
        ["readings.csv:4: dial: '35 lbf' is not a dial reading: write the figure on the dial without a unit, like 31", "readings.csv:5: "]),
    "a negative dial": ("readings", "right,1,35", "right,1,-35",
        ["readings.csv:4: dial: '-35' is not a dial reading", "readings.csv:5: "]),
    "no dial": ("readings", "right,1,35", "right,1,",
        ["readings.csv:4: dial: the dial reading is missing: leave the whole line out where nothing was read", "readings.csv:5: "]),
    "temperature without its unit": ("readings", "left,1,35,70F", "left,1,35,70",
        ["readings.csv:2: structure: '70' has no unit: write 70F or 70C", "readings.csv:3: "]),
    "semicolons": ("readings", ",", ";",
        ["readings.csv:1: fields are separated by semicolons: save with commas, and decimals with a point"]),
    "a quote that never ends": ("readings", "rudder,left,1,35,70F\nrudder,right", 'rudder,left,1,35,70F\n"rudder,right',
        ["readings.csv:4: is not CSV: "]),
    "a very long field": ("readings", "rudder,left,1,35,70F\nrudder,right", "rudder,left,1,35,70F\n" + "x" * 200_000 + ",right",
        ["readings.csv:4: is not CSV: field larger than"]),
}  # fmt: skip


@pytest.mark.parametrize("case", BENT)
def test_every_problem_names_file_line_value_and_way_out(bench, case):
    which, old, new, said = BENT[case]
    bench.bend(getattr(bench, which), old, new)
    ran = bench.check()
    assert (ran.code, ran.out) == (3, "")
    lines = ran.err.splitlines()
    # one line a problem; a second text in the list may be a part of the first line
    assert len(lines) == sum(".yaml:" in s or ".csv:" in s or ".yaml: " in s for s in said)
    for text in said:
        assert text in ran.err
    assert all(len(line) < 400 for line in lines)


COMMANDS = (
    ("sheet", "check", "sheet.yaml"), ("plan", "sheet.yaml", "rudder", "readings.csv"), ("envelope", "sheet.yaml"),
    ("loads", "sheet.yaml", "rudder"), ("status", "sheet.yaml"), ("log", "list", "sheet.yaml"), ("settle", "sheet.yaml", "--readings", "x.csv"),
    ("clamp", "--deflection", "0.06 in", "--anvils", "3 in", "--sheet", "sheet.yaml", "--run", "rudder/left"),
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_every_command_refuses_a_sheet_alike(bench, rigging, command):
    """All that only one command used to refuse, in one sheet: each says the same lines."""
    bench.bend(bench.sheet, "rig_sheet: 1", "rig_sheet: 1\ntemperatures: {coldest: -100F, hottest: 110F}")
    bench.bend(bench.sheet, "reference_temperature: 70F", "reference_temperature: 300F")
    pilot = "pilot: {sector: pedals, lever: 6 in, surfaces: [pedals], control: joystick}"
    bench.bend(bench.sheet, "hold: [pedals]", f"hold: [pedals]\n    {pilot}")
    wrong = "pulleys: [{wrap: 90 deg, part: MS20220-9}], stiffness: 1 lbf, stiffness_uncertainty: 5%"
    bench.bend(bench.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, {wrong},")
    bench.bend(bench.sheet, "horn -, limits: 30..40 lbf @ 70F", "horn -, limits: 30..40 lbf @ 300F")
    bench.bend(bench.sheet, "right: {size: 1/8,", "right: {size: 1/8, chart: rudder,")
    bench.bend(bench.sheet, "limits: 30..40 lbf @ 300F", "limits_source: x")
    refused = bench.check()
    assert refused.code == 3
    places = [line.split(":")[1] for line in refused.err.splitlines()]
    assert places == ["2", "4", "13", "13", "15", "15", "16"]
    ran = rigging(*command, cwd=bench.folder)
    assert (ran.code, ran.out, ran.err) == (3, "", refused.err)


RAW = {
    "empty": (b"", "is empty: the first line names the columns, like circuit,run,"),
    "blank": (b"\n  \n\n", "is empty: the first line names the columns"),
    "only commas": (b",,,,\n,,,,\n", "readings.csv:1: holds no words, only commas"),
    "only a heading": (b"circuit,run,riser,dial\n", "readings.csv:1: has a heading and no readings"),
    "binary": (b"\x7fELF\x00\x00\x01circuit,run", "holds binary data: a text file is needed"),
    "a spreadsheet": (b"PK\x03\x04\x14\x00\x06\x00", "holds binary data"),
    "Latin-1": ("circuit,run,riser,dial,note\nrudder,left,1,35,k\u00e4lter\n".encode("latin-1"), "readings.csv:2: byte 46 is not UTF-8: save the file as UTF-8"),
    "UTF-16": ("circuit,run,riser,dial\n".encode("utf-16"), "holds binary data"),
    "too large": (b"circuit,run,riser,dial\n" + b"#" * 1_000_001, "is larger than 1000000 bytes"),
}  # fmt: skip


@pytest.mark.parametrize("case", RAW)
@pytest.mark.parametrize("option", [(), ("--json",)], ids=["text", "json"])
def test_what_is_no_csv_at_all(bench, case, option):
    raw, said = RAW[case]
    bench.readings.write_bytes(raw)
    ran = bench.check(*option)
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith("readings.csv:") and said in ran.err
    assert len(ran.err.splitlines()) == 1


@pytest.mark.parametrize("which", ["sheet", "card"])
@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"", "is empty"),
        (b"# only a comment\n", "is empty"),
        (b"\x00\x01\x02", "holds binary data"),
        (b"name: k\xe4lter\n", ":1: byte 7 is not UTF-8: save the file as UTF-8"),
        (b"just words\n", "a block of 'key: value' lines is needed here"),
    ],
    ids=["empty", "comment", "binary", "Latin-1", "words"],
)
def test_what_is_no_sheet_or_card_at_all(bench, which, raw, said):
    getattr(bench, which).write_bytes(raw)
    ran = bench.check()
    assert (ran.code, ran.out) == (3, "")
    assert f"{which}.yaml" in ran.err and said in ran.err
    assert len(ran.err.splitlines()) == 1


def test_an_unknown_sector_is_told_together_with_what_cannot_be_read(bench):
    bench.bend(bench.sheet, "reference_temperature: 70F", "reference_temperature: 70")
    bench.bend(bench.sheet, "hold: [pedals]", "hold: [pedal]")
    bench.bend(bench.sheet, "to: horn +", "to: hron +")
    ran = bench.check()
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.splitlines() == [
        "sheet.yaml:3: reference_temperature: '70' has no unit: write 70F or 70C",
        "sheet.yaml:11: circuits / rudder / hold / no. 1: no sector 'pedal' in this circuit (did you mean 'pedals'?)",
        "sheet.yaml:13: circuits / rudder / cables / left / to: no sector 'hron' in this circuit (did you mean 'horn'?)",
    ]


@pytest.mark.parametrize(
    ("new", "line"),
    [("hold: {pedals: 1}", 11), ("hold: [1, {a: b}, [c]]", 11), ("hold: pedals", 11)],
)
def test_a_shape_that_cannot_be_read_is_told_once(bench, new, line):
    bench.bend(bench.sheet, "hold: [pedals]", new)
    ran = bench.check()
    assert (ran.code, ran.out) == (3, "")
    assert all(said.startswith(f"sheet.yaml:{line}: circuits / rudder / hold") for said in ran.err.splitlines())
    assert "no sector" not in ran.err


def unreadable(folder):
    """Things that cannot be read even by root, each with what is said of it."""
    (folder / "a folder").mkdir()
    (folder / "loop").symlink_to(folder / "loop")
    (folder / "dangling").symlink_to(folder / "nowhere")
    os.mkfifo(folder / "fifo")
    return {
        "nowhere": "is not there: check the name and the folder",
        "dangling": "is not there: check the name and the folder",
        "a folder": "is a folder: name the file in it",
        "loop": "cannot be read (",
        "fifo": "is not an ordinary file",
        "sheet.yaml/below": "cannot be read (Not a directory)",
        "n" * 300: "cannot be read (File name too long)",
    }


@pytest.mark.parametrize(
    "name", ["nowhere", "dangling", "a folder", "loop", "fifo", "sheet.yaml/below", "n" * 300], ids=lambda n: n[:20]
)
@pytest.mark.parametrize("place", ["sheet", "readings", "card", "chart", "table"])
def test_a_file_that_cannot_be_read(bench, rigging, place, name):
    said = unreadable(bench.folder)[name]
    command = {
        "sheet": ("check", name, "readings.csv"),
        "readings": ("check", "sheet.yaml", name),
        "card": ("pounds", "30", "--card", name, "--riser", "1", "--cable", "1/8"),
        "chart": ("limits", "1/8", "--at", "54F", "--chart", name),
        "table": ("tables", "check", name),
    }[place]
    ran = rigging(*command, cwd=bench.folder)
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith(f"{name}: ") and said in ran.err
    assert len(ran.err.splitlines()) == 1


def test_all_problems_of_a_sheet_stand_together_in_the_order_of_the_file(bench):
    bench.bend(bench.sheet, "reference_temperature: 70F", "reference_temperature: 70")
    bench.bend(bench.sheet, "arm: 4 in", "arm: 4 N")
    bench.bend(bench.sheet, "hold:", "holds:")
    bench.bend(bench.sheet, "left: {size: 1/8, length", "left: {size: 1/8, lenght")
    ran = bench.check()
    assert ran.code == 3
    assert [line.split(": ")[0] for line in ran.err.splitlines()] == [
        "sheet.yaml:3", "sheet.yaml:10", "sheet.yaml:11", "sheet.yaml:13", "sheet.yaml:13"
    ]  # fmt: skip


def test_what_does_not_fit_together_is_said_together_with_the_problems_of_card_and_chart(bench):
    bench.bend(bench.sheet, "rig_sheet: 1", "rig_sheet: 1\nchart: chart.yaml")
    (bench.folder / "chart.yaml").write_text("table: 1\n")
    bench.bend(bench.sheet, "to: horn +", "to: hron +")
    bench.bend(bench.sheet, "from: pedals -", "from: pedal -")
    bench.bend(bench.card, "accuracy: 2%", "accuracy: 2")
    bench.bend(bench.card, "due: 2027-01-15\n", "")
    ran = bench.check()
    assert ran.code == 3
    files = [line.split(":")[0] for line in ran.err.splitlines()]
    assert files.count("sheet.yaml") == 2
    assert files.count("card.yaml") == 2
    assert files.count("chart.yaml") == 4  # title, source, columns and rows are missing


def test_all_problems_of_a_readings_file_stand_together(bench):
    bench.readings.write_text(
        "circuit,run,riser,dial,structure\n"
        "ruder,left,1,35,70F\n"
        "rudder,lft,1,35,70F\n"
        "\n"
        "rudder,left,two,35,70\n"
        "rudder,left,1,35;5,70F\n"
    )
    ran = bench.check()
    assert (ran.code, ran.out) == (3, "")
    assert [":".join(line.split(":")[1:3]).strip() for line in ran.err.splitlines()] == [
        "2: circuit", "3: run", "5: riser", "5: structure", "6: dial",
    ]  # fmt: skip


# what is accepted


@pytest.mark.parametrize("which", ["sheet", "card", "readings"])
@pytest.mark.parametrize(
    "rewrite",
    [
        lambda raw: raw.replace(b"\n", b"\r\n"),
        lambda raw: b"\xef\xbb\xbf" + raw,
        lambda raw: b"\xef\xbb\xbf" + raw.replace(b"\n", b"\r\n"),
        lambda raw: raw.rstrip(b"\n"),
        lambda raw: raw + b"\n\n\n",
    ],
    ids=["Windows line ends", "byte order mark", "both", "no last line end", "blank lines"],
)
def test_line_ends_and_byte_order_mark_do_not_matter(bench, which, rewrite):
    path = getattr(bench, which)
    path.write_bytes(rewrite(path.read_bytes()))
    ran = bench.check("--json")
    assert (ran.code, ran.json["verdict"]) == (0, "in")


def test_spaces_around_cells_quotes_and_empty_rows_do_not_matter(bench):
    bench.readings.write_text(
        'circuit , run, riser ,dial,structure\n\n"rudder", left ,1, 35 ,70F\nrudder,"right",1,"35", 70 F \n,,,,\n'
    )
    # one reading each says less, so the verdict is not the point here
    assert [r["tension_lbf"] for r in bench.check("--json").json["runs"]] == [35, 35]


# what stops one run only


def test_a_dial_outside_the_card_refuses_that_run_and_judges_the_others(bench):
    bench.bend(bench.readings, "rudder,right,1,35", "rudder,right,1,51")
    ran = bench.check("--json")
    assert ran.code == 1
    left, right = ran.json["runs"]
    assert left["verdict"] == "in"
    assert (right["verdict"], right["tension_lbf"]) == ("not measured", None)
    assert right["refusal"] == (
        "dial 51 lies outside the card's points for riser 1, cable 1/8 (10 to 50): no figure is given beyond them"
    )
    assert right["dials"] == [51, 51]


@pytest.mark.parametrize(("dial", "code"), [("9.9", 3), ("10", 0), ("50", 0), ("50.1", 3)])
def test_a_dial_outside_the_card_gives_no_pounds(bench, rigging, dial, code):
    ran = rigging(
        "pounds", dial, "--card", "card.yaml", "--riser", "1", "--cable", "1/8", "--on", DAY, cwd=bench.folder
    )
    assert ran.code == code
    if code:
        assert ran.out == ""
        assert f"dial {dial} lies outside the card's points for riser 1, cable 1/8 (10 to 50)" in ran.err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (
            ("--riser", "2", "--cable", "1/8"),
            "card 0007 has no column for riser 2, cable 1/8 (it has riser 1, cable 1/8)",
        ),
        (
            ("--riser", "1", "--cable", "5/32"),
            "card 0007 has no column for riser 1, cable 5/32 (it has riser 1, cable 1/8)",
        ),
        (
            ("--riser", "1", "--cable", "1/8", "--serial", "0070"),
            "the card is for tensiometer 0007, the one in hand is 0070",
        ),
    ],
    ids=["riser", "size", "serial"],
)
@pytest.mark.parametrize("command", [("pounds", "35"), ("dial", "35lbf")], ids=["pounds", "dial"])
def test_the_card_of_another_riser_size_or_instrument_gives_no_figure(bench, rigging, command, options, said):
    ran = rigging(*command, "--card", "card.yaml", *options, cwd=bench.folder)
    assert (ran.code, ran.out) == (3, "")
    assert said in ran.err
    assert len(ran.err.splitlines()) == 1


EXPIRED = [("2026-01-15", True), ("2026-01-16", False), ("2025-01-15", True), ("2025-01-14", False)]


def a_year_older(bench):
    """The card of the year before: none of these days is still to come."""
    bench.card.write_text(bench.card.read_text().replace("2026-", "2025-").replace("2027-", "2026-"))


@pytest.mark.parametrize(("day", "in_date"), EXPIRED)
def test_a_card_out_of_date_shows_its_figure_and_never_says_in(bench, rigging, day, in_date):
    a_year_older(bench)
    ran = rigging("check", "sheet.yaml", "readings.csv", "--on", day, "--json", cwd=bench.folder)
    for run in ran.json["runs"]:
        assert run["tension_lbf"] == 35
        assert run["plain"] == "in"
        assert run["verdict"] == ("in" if in_date else "re-measure")
        assert run["usable_for_sign_off"] is in_date
        assert any("not for sign-off" in reason for reason in run["reasons"]) is not in_date
    assert ran.code == (0 if in_date else 1)


@pytest.mark.parametrize(("day", "in_date"), EXPIRED)
def test_a_card_out_of_date_is_said_with_pounds_and_dial(bench, rigging, day, in_date):
    a_year_older(bench)
    for command in (("pounds", "35"), ("dial", "35lbf")):
        options = ("--card", "card.yaml", "--riser", "1", "--cable", "1/8", "--on", day)
        text = rigging(*command, *options, cwd=bench.folder)
        assert text.code == 0
        assert "35" in text.out
        assert ("not for sign-off" in text.out) is not in_date
    assert rigging(*command, *options, "--json", cwd=bench.folder).json["card_in_date"] is in_date


@pytest.mark.parametrize("temperature", ["-66F", "161F", "72C"])
def test_a_temperature_outside_the_range_refuses_that_run_and_judges_the_others(bench, temperature):
    bench.bend(bench.readings, "rudder,right,1,35,70F", f"rudder,right,1,35,{temperature}")
    ran = bench.check("--json")
    assert ran.code == 1
    left, right = ran.json["runs"]
    assert left["verdict"] == "in"
    assert right["verdict"] == "not measured"
    assert "lies outside -65 to 160 F" in right["refusal"]
    assert right["tension_lbf"] == 35  # the reading itself stands


def test_a_card_in_newton_gives_the_same_tension(bench, rigging):
    """Without quotes YAML may read N as false, so it is refused with the way out."""
    bench.bend(bench.card, "accuracy: 2%", "accuracy: 2%\nunit: N")
    options = ("--card", "card.yaml", "--riser", "1", "--cable", "1/8", "--on", DAY, "--json")
    ran = rigging("pounds", "35", *options, cwd=bench.folder)
    assert ran.code == 3
    assert ran.err.startswith("card.yaml:6: unit: 'N' is read as true or false by some programs: put it in quotes")
    bench.bend(bench.card, "unit: N", 'unit: "N"')
    found = rigging("pounds", "35", *options, cwd=bench.folder).json
    assert found["tension_lbf"] == pytest.approx(35 / 4.4482216152605)


# charts

CHART = """\
table: 1
kind: chart
title: Rudder against temperature
source: {basis: aircraft, document: Test manual}
columns:
  for: {unit: text}
  temperature: {unit: F}
  low: {unit: lbf}
  high: {unit: lbf}
rows:
  - [rudder, 20, 14, 22]
  - [rudder, 70, 25, 33]
"""

BENT_CHARTS = {
    "low above high": ("[rudder, 70, 25, 33]", "[rudder, 70, 35, 33]",
        ["chart.yaml:12: rows / no. 2: low 35 must lie above zero and below high 33"]),
    "temperatures that fall": ("[rudder, 70, 25, 33]", "[rudder, 10, 25, 33]",
        ["chart.yaml:12: rows / no. 2: temperatures of 'rudder' must rise down the page"]),
    "a blank cell": ("[rudder, 70, 25, 33]", "[rudder, 70, , 33]",
        ["chart.yaml:12: "]),
    "null": ("[rudder, 70, 25, 33]", "[rudder, 70, null, 33]",
        ["chart.yaml:12: rows / no. 2: a chart has no blank cells"]),
    "a single temperature": ("  - [rudder, 70, 25, 33]\n", "",
        ["chart.yaml:10: rows: 'rudder' has a single temperature: two are needed"]),
    "a cell too few": ("[rudder, 70, 25, 33]", "[rudder, 70, 25]",
        ["chart.yaml:12: rows / no. 2: has 3 cells, the table has 4 columns"]),
    "a word for a number": ("[rudder, 70, 25, 33]", "[rudder, 70, x, 33]",
        ["chart.yaml:12: rows / no. 2 / no. 3: 'low' needs a plain number in lbf, not 'x'"]),
    "not a chart": ("kind: chart\n", "",
        ["'kind: chart' is needed for limits against temperature"]),
    "a missing column": ("  high: {unit: lbf}\n", "  upper: {unit: lbf}\n",
        ["chart.yaml:5: columns: a column 'high' in lbf is needed"]),
    "newton": ("  high: {unit: lbf}\n", "  high: {unit: 'N'}\n",
        ["chart.yaml:9: columns / high / unit: 'N' is not known"]),
    "no source": ("source: {basis: aircraft, document: Test manual}\n", "",
        ["chart.yaml:1: 'source' is missing here"]),
}  # fmt: skip


@pytest.mark.parametrize("case", BENT_CHARTS)
def test_problems_of_a_chart_name_its_file_and_line(bench, rigging, case):
    old, new, said = BENT_CHARTS[case]
    assert old in CHART
    (bench.folder / "chart.yaml").write_text(CHART.replace(old, new))
    bench.bend(bench.sheet, "rig_sheet: 1", "rig_sheet: 1\nchart: chart.yaml")
    limits = rigging("limits", "1/8", "--at", "54F", "--chart", "chart.yaml", "--for", "rudder", cwd=bench.folder)
    for ran in (bench.check(), limits):
        assert (ran.code, ran.out) == (3, "")
        assert ran.err.startswith("chart.yaml:")
        for text in said:
            assert text in ran.err


def test_several_charts_are_checked_together(bench, rigging):
    (bench.folder / "good.yaml").write_text(CHART)
    (bench.folder / "a.yaml").write_text(CHART.replace("25, 33", "35, 33"))
    (bench.folder / "b.yaml").write_text(CHART.replace("rudder, 70", "rudder, 7"))
    ran = rigging("tables", "check", "good.yaml", "a.yaml", "b.yaml", "c.yaml", cwd=bench.folder)
    assert (ran.code, ran.out) == (3, "")
    assert [line.split(":")[0] for line in ran.err.splitlines()] == ["a.yaml", "b.yaml", "c.yaml"]


def test_a_chart_without_the_lines_of_a_run_is_found_when_the_sheet_is_read(bench, rigging):
    (bench.folder / "chart.yaml").write_text(CHART)
    bench.bend(bench.sheet, "rig_sheet: 1", "rig_sheet: 1\nchart: chart.yaml")
    bench.bend(bench.sheet, "horn -, limits: 30..40 lbf @ 70F", "horn -, chart: ruder")
    ran = rigging("sheet", "check", "sheet.yaml", cwd=bench.folder)
    assert (ran.code, ran.out) == (3, "")
    assert "sheet.yaml:15: circuits / rudder / cables / right / chart: " in ran.err
    assert "no lines for 'ruder' (did you mean 'rudder'?)" in ran.err


def test_nothing_is_left_behind(bench):
    before = sorted(Path(bench.folder).iterdir())
    bench.check()
    assert sorted(Path(bench.folder).iterdir()) == before
