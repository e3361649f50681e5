"""What no cable is rigged to, and temperatures no figure holds at, are refused by every command in one line."""

import pytest

# 60 % of 2000 lbf (1/8) and of 2800 lbf (5/32): AC 43.13-1B, table 7-3 and 7-146
EIGHTH = "is above the proof load of this cable, 1200 lbf (1/8 7x19 carbon)"
SPRUCE = ("--at", "70F", "--airframe", "spruce", "--spec")
SPAN = ("--cable", "1/8", "--span", "60in")
CUT = (
    "cut",
    "--size",
    "1/8",
    "--turnbuckle-length",
    "8 in",
    "--thread",
    "1/4-28",
    "--at",
    "60F",
    "--airframe",
    "spruce",
)
CLAMP = ("clamp", "--deflection", "0.06 in", "--anvils", "3 in", "--cable", "1/8", "--length", "4 ft")
CHART = ("--at", "54F", "--chart", "examples/harbour/rudder-chart.yaml", "--for", "rudder")
# a taut string of 0.029 lb/ft: T = 4 m L^2 f^2 is 2200 lbf at 130.4 Hz over 72 in
REFUSED = {
    "limits to 4000 lbf": ("limits", "1/8", *SPRUCE, "30..4000 lbf @ 70F"),
    "limits from 1500 lbf": ("limits", "1/8", *SPRUCE, "1500..1900 lbf @ 70F"),
    "a reading today": ("limits", "1/8", *SPRUCE, "30..40 lbf @ 70F", "--reading", "5000lbf"),
    "a reading by a chart": ("limits", "1/8", *CHART, "--reading", "5000lbf"),
    "a side pull": ("side-pull", *SPAN, "--length", "14 ft", "--pull", "17 lbf", "--deflection", "0.1 in"),
    "a side pull to expect": ("side-pull", *SPAN, "--length", "14 ft", "--expect", "1201lbf"),
    "limits of a side pull": ("side-pull", *SPAN, "--length", "14 ft", "--pull", "1.7 lbf", "--deflection", "0.6 in", "--band", "30..4000 lbf"),
    "a pluck": ("pluck", "--span", "72in", "--cable", "1/8", "--mode", "1=130.4Hz", "--mode", "2=261Hz", "--mode", "3=392Hz"),
    "limits of a pluck": ("pluck", "--span", "72in", "--cable", "1/8", "--mode", "1=16.5Hz", "--mode", "2=33.2Hz", "--band", "30..4000 lbf"),
    "a reading with a gauge": (*CLAMP, "--reading", "3000lbf"),
    "a cable to cut": (*CUT, "--pin-to-pin", "14 ft", "--tension", "1201lbf"),
    "an envelope": ("envelope", "examples/harbour/sheet.yaml", "aileron", "--set", "3000lbf"),
    "loads": ("loads", "examples/harbour/sheet.yaml", "aileron", "--tension", "3000lbf"),
}  # fmt: skip


@pytest.mark.parametrize("args", REFUSED.values(), ids=REFUSED)
def test_no_command_takes_a_tension_above_the_proof_load(rigging, args):
    ran = rigging(*args)
    assert (ran.code, ran.out) == (3, "")
    assert EIGHTH in ran.err and ran.err.endswith("check the figure, its unit and the cable\n")
    assert ran.err.count("\n") == 1


def test_the_proof_load_itself_is_taken(rigging):
    at_it = ("--spec", "1180..1200 lbf @ 70F", "--airframe", "spruce", "--reading", "1200lbf")
    assert rigging("limits", "1/8", "--at", "70F", *at_it).code == 0


@pytest.fixture
def strong(bench):
    """The small aircraft with a card that reaches beyond what its cables bear."""
    bench.bend(bench.card, "[50, 50]]", "[50, 50], [3000, 3000]]")
    bench.bend(bench.readings, "rudder,left,1,35", "rudder,left,1,1201")
    return bench


def test_a_dial_above_it_is_refused_for_its_run_alone(strong):
    left, right = strong.check("--json").json["runs"]
    assert left["tension_lbf"] is None and EIGHTH in left["refusal"] and "at dial 1201" in left["refusal"]
    assert right["verdict"] == "in"


def test_so_it_is_by_the_card_alone_and_in_the_log(strong, rigging):
    card = ("--card", "card.yaml", "--riser", "1", "--cable", "1/8", "--on", "2026-11-25")
    for args in (
        ("pounds", "1201", *card),
        ("dial", "1201lbf", *card),
        ("dial", "40lbf", "--band", "30..4000 lbf", *card),
    ):
        ran = rigging(*args, cwd=strong.folder)
        assert (ran.code, ran.out) == (3, "") and EIGHTH in ran.err
    reading = ("--run", "left", "--tensiometer", "0007", "--riser", "1", "--dial", "1201")
    ran = rigging(
        "log", "add", "reading", "sheet.yaml", "--circuit", "rudder", "--who", "A. Finch", *reading, cwd=strong.folder
    )
    assert ran.code == 3 and EIGHTH in ran.err


def test_a_cable_as_the_sheet_has_it_decides_and_not_the_strongest_of_its_size(strong):
    # 3/32: 7x19 bears 60 % of 1000 lbf, 7x7 of 920 lbf
    strong.bend(strong.card, "cable: 1/8", "cable: 3/32")
    strong.bend(strong.sheet, "size: 1/8", "size: 3/32, construction: 7x7")
    strong.bend(strong.readings, "rudder,left,1,1201", "rudder,left,1,580")
    left, right = strong.check("--json").json["runs"]
    assert "552 lbf (3/32 7x7 carbon)" in left["refusal"] and right["verdict"] == "in"


def test_a_tension_noted_in_a_story_of_settling_is_held_to_it(strong, rigging):
    (strong.folder / "story.csv").write_text(
        "time,circuit,run,tension,uncertainty,structure\n2026-11-02T09:00,rudder,left,1201 lbf,2 lbf,70F\n"
    )
    ran = rigging("settle", "sheet.yaml", "--readings", "story.csv", cwd=strong.folder)
    assert ran.code == 3 and "story.csv:2: tension: a tension of 1201 lbf" in ran.err and EIGHTH in ran.err


def test_a_chart_of_the_sheet_is_held_to_it_when_the_sheet_is_read(strong, rigging):
    (strong.folder / "chart.yaml").write_text(
        "table: 1\nkind: chart\ntitle: Plover rudder\nsource: {basis: aircraft, document: Plover notes}\n"
        "columns: {for: {unit: text}, temperature: {unit: F}, low: {unit: lbf}, high: {unit: lbf}}\n"
        "rows:\n  - [rudder, 0, 20, 30]\n  - [rudder, 100, 30, 1201]\n"
    )
    strong.bend(strong.sheet, "tensiometers:", "chart: chart.yaml\ntensiometers:")
    strong.bend(strong.sheet, "to: horn +, limits: 30..40 lbf @ 70F", "to: horn +, chart: rudder")
    ran = rigging("sheet", "check", "sheet.yaml", cwd=strong.folder)
    assert ran.code == 3 and "cables / left / chart: a high limit of 1201 lbf" in ran.err and EIGHTH in ran.err


@pytest.mark.parametrize(
    ("pin_to_pin", "code"),
    # 40 diameters of 1/8 in are 5 in; the turnbuckle is 8 in, and 3 threads of 1/28 in show at either end of it
    [("9.07 in", 3), ("13.2 in", 3), ("13.3 in", 0)],
)
def test_no_cable_is_cut_that_is_all_fittings(rigging, pin_to_pin, code):
    ran = rigging(
        *CUT, "--pin-to-pin", pin_to_pin, "--tension", "35lbf", "--threads-showing", "3", "--history", "in-service"
    )
    assert (ran.code == 3) == (code == 3)
    if code == 3:
        assert ran.out == "" and "too short to make" in ran.err and "below 5 in" in ran.err and ran.err.count("\n") == 1


@pytest.mark.parametrize(
    "args",
    [
        ("--air", "300F", "--air-was", "70F"),
        ("--air", "54F", "--air-was", "300F"),
        ("--air", "54F", "--read", "cap 08:00 300F", "--read", "cap 08:20 60F"),
        ("--air", "-66F", "--air-was", "54F"),
    ],
)
def test_waiting_is_for_temperatures_that_figures_hold_at(rigging, args):
    ran = rigging("steady", *args)
    assert (ran.code, ran.out) == (3, "")
    assert "lies outside -65 to 160 F, where no figure is given: check it and its unit" in ran.err


def test_limits_at_300_f_are_refused_by_loads_as_by_limits(bench, rigging):
    pilot = "    pilot: {sector: pedals, lever: 5 in, surfaces: [horn], force: 40 lbf}\n    cables:\n"
    bench.bend(bench.sheet, "    cables:\n", pilot)
    assert rigging("loads", "sheet.yaml", "rudder", cwd=bench.folder).code in (0, 1)
    bench.bend(bench.sheet, "30..40 lbf @ 70F", "30..40 lbf @ 300F")
    for command in (("loads", "sheet.yaml", "rudder"), ("sheet", "check", "sheet.yaml"), ("envelope", "sheet.yaml")):
        ran = rigging(*command, cwd=bench.folder)
        assert (ran.code, ran.out) == (3, "")
        assert "reference temperature 300 F lies outside -65 to 160 F" in ran.err
