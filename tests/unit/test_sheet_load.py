"""A rig sheet becomes runs, cards and a chart; what does not fit together is found."""

import hashlib
from pathlib import Path

import pytest

from rigging.errors import BadFile
from rigging.sheet.load import load_rig
from rigging.source import Basis

ROOT = Path(__file__).resolve().parents[2]


def problems(path):
    with pytest.raises(BadFile) as caught:
        load_rig(path)
    return [(p.file.rsplit("/", 1)[-1], p.line, p.path, p.message) for p in caught.value.problems]


def test_runs_stand_in_the_order_of_the_sheet(bench):
    rig = load_rig(bench.sheet)
    assert [run.label for run in rig.runs] == ["rudder / left", "rudder / right"]
    assert rig.path == str(bench.sheet)
    assert rig.sha256 == hashlib.sha256(bench.sheet.read_bytes()).hexdigest()
    assert rig.run("rudder", "left") is rig.runs[0]
    assert rig.run("rudder", "middle") is None
    assert rig.run("elevator", "left") is None


def test_a_run_holds_what_tables_and_sheet_make_of_it(bench):
    run = load_rig(bench.sheet).runs[0]
    assert (run.cable.size, run.cable.construction, run.cable.material) == ("1/8", "7x19", "carbon")
    assert [(length_in, airframe.name) for length_in, airframe in run.parts] == [(144, "aluminium 2024")]
    assert (run.band.low_lbf, run.band.high_lbf, run.band.reference_degF) == (30, 40, 70)
    assert run.limits_source.basis is Basis.AIRCRAFT
    assert "Test bed" in str(run.limits_source)


def test_the_card_is_found_beside_the_sheet_wherever_the_program_runs(bench, monkeypatch):
    monkeypatch.chdir("/")
    assert list(load_rig(bench.sheet).cards) == ["0007"]


def test_a_limit_without_a_temperature_holds_at_the_reference_of_the_sheet(bench):
    bench.bend(bench.sheet, "reference_temperature: 70F", "reference_temperature: 15C")
    bench.bend(bench.sheet, "horn -, limits: 30..40 lbf @ 70F", "horn -, limits: 30..40 lbf")
    left, right = load_rig(bench.sheet).runs
    assert left.band.reference_degF == 70
    assert right.band.reference_degF == pytest.approx(15 * 1.8 + 32)


def test_limits_may_name_their_own_source(bench):
    bench.bend(
        bench.sheet, "horn -, limits:", "horn -, limits_source: 'Manual, page 3', limits_basis: practice, limits:"
    )
    source = load_rig(bench.sheet).runs[1].limits_source
    assert (source.basis, str(source)) == (Basis.PRACTICE, "practice: Manual, page 3")


def test_a_stiffness_measured_on_the_aircraft_beats_the_table(bench):
    bench.bend(bench.sheet, "left: {size: 1/8,", "left: {size: 1/8, stiffness: 80000 lbf, stiffness_uncertainty: 5%,")
    stiffness = load_rig(bench.sheet).runs[0].cable.stiffness
    assert stiffness.value == 80000
    assert stiffness.standard_uncertainty == pytest.approx(2000)  # U = 5 % at k=2
    assert stiffness.source.basis is Basis.MEASURED
    bench.bend(bench.sheet, " stiffness_uncertainty: 5%,", "")
    ((_, line, _, message),) = problems(bench.sheet)
    assert line == 13
    assert "belong together" in message


def test_a_path_gives_each_piece_its_own_airframe(bench):
    path = "path: [{length: 4 ft, airframe: spruce}, {length: 8 ft, airframe: steel}],"
    bench.bend(bench.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, {path}")
    parts = load_rig(bench.sheet).runs[0].parts
    assert [(length_in, airframe.name) for length_in, airframe in parts] == [(48, "spruce"), (96, "steel tube")]


@pytest.mark.parametrize(
    ("last", "sound"), [("94.57 in", True), ("94.5 in", False), ("97.43 in", True), ("97.5 in", False)]
)
def test_path_pieces_may_differ_from_the_length_by_a_rounding_only(bench, last, sound):
    # 1 % of 144 in is 1.44 in
    path = f"path: [{{length: 4 ft, airframe: spruce}}, {{length: {last}, airframe: steel}}],"
    bench.bend(bench.sheet, "left: {size: 1/8,", f"left: {{size: 1/8, {path}")
    if sound:
        assert len(load_rig(bench.sheet).runs[0].parts) == 2
    else:
        ((_, line, where, message),) = problems(bench.sheet)
        assert (line, where) == (13, "circuits / rudder / cables / left / path")
        assert "add up to" in message and "the length is 144 in" in message


OWN = "airframe: {material: Carbon, expansion: 1.8e-6/C, expansion_half_width: 0.6e-6/C, basis: measured, source: coupon 7}"


def test_an_airframe_of_our_own_beats_the_table(bench):
    bench.bend(bench.sheet, "airframe: {material: aluminium}", OWN)
    ((_, airframe),) = load_rig(bench.sheet).runs[0].parts
    assert airframe.name == "carbon"
    assert airframe.expansion.value == pytest.approx(1.8e-6 / 1.8)
    assert airframe.expansion.standard_uncertainty == pytest.approx(0.6e-6 / 1.8 / 3**0.5)
    assert str(airframe.expansion.source) == "measured: coupon 7"


@pytest.mark.parametrize(
    ("left_out", "said"),
    [
        (", source: coupon 7", "needs a source"),
        (", expansion_half_width: 0.6e-6/C", "needs expansion_half_width"),
        (" expansion: 1.8e-6/C,", "expansion_half_width stands without expansion"),
    ],
)
def test_an_airframe_of_our_own_is_given_whole(bench, left_out, said):
    bench.bend(bench.sheet, "airframe: {material: aluminium}", OWN.replace(left_out, ""))
    ((_, line, where, message),) = problems(bench.sheet)
    assert (line, where) == (4, "airframe")
    assert said in message


@pytest.mark.parametrize(
    ("arms", "sound"),
    [
        ("{arm: 4 in}", True),
        ("{arm_plus: 4 in, arm_minus: 3 in}", True),
        ("{}", False),
        ("{arm_plus: 4 in}", False),
        ("{arm: 4 in, arm_minus: 3 in}", False),
        ("{arm: 4 in, arm_plus: 4 in, arm_minus: 3 in}", False),
    ],
)
def test_a_sector_has_one_arm_or_one_for_each_side(bench, arms, sound):
    bench.bend(bench.sheet, "horn: {arm: 4 in}", f"horn: {arms}")
    if sound:
        assert len(load_rig(bench.sheet).runs) == 2
    else:
        ((_, line, where, message),) = problems(bench.sheet)
        assert (line, where) == (10, "circuits / rudder / sectors / horn")
        assert message == "give 'arm', or both 'arm_plus' and 'arm_minus'"


@pytest.mark.parametrize("figure", ["0 in", "-4 in", "14 km", "4", "4 N", "null", "[4 in]", "{in: 4}", "true"])
def test_an_arm_is_a_length_above_zero(bench, figure):
    bench.bend(bench.sheet, "horn: {arm: 4 in}", f"horn: {{arm: {figure}}}")
    assert {(line, where) for _, line, where, _ in problems(bench.sheet)} <= {
        (10, "circuits / rudder / sectors / horn / arm"),
        (10, "circuits / rudder / sectors / horn"),
    }


def test_coldest_lies_below_hottest(bench):
    bench.bend(bench.sheet, "airframe:", "temperatures: {coldest: 90F, hottest: 90F}\nairframe:")
    assert problems(bench.sheet) == [("sheet.yaml", 4, "temperatures", "coldest must lie below hottest")]


def test_limits_and_chart_are_not_given_both(bench):
    bench.bend(bench.sheet, "horn -, limits:", "horn -, chart: rudder, limits:")
    ((_, line, _, message),) = problems(bench.sheet)
    assert (line, message) == (14, "'limits' and 'chart' both say what the tension should be: keep one")


def test_a_station_is_named_once(bench):
    bench.bend(bench.sheet, "left: {size: 1/8,", "left: {size: 1/8, stations: [tail, nose, tail],")
    ((_, line, _, message),) = problems(bench.sheet)
    assert (line, message) == (13, "a station is named twice")


def test_a_sheet_has_circuits_and_a_circuit_has_cables(bench):
    bench.sheet.write_text(bench.sheet.read_text().split("circuits:")[0] + "circuits: {}\n")
    assert problems(bench.sheet) == [("sheet.yaml", 6, "circuits", "a sheet needs at least one circuit")]
    bench.bend(bench.sheet, "{}", "{rudder: {sectors: {pedals: {arm: 5 in}}, hold: [pedals], cables: {}}}")
    assert problems(bench.sheet) == [
        ("sheet.yaml", 6, "circuits / rudder / cables", "a circuit needs at least one cable")
    ]


def test_a_card_in_a_folder_of_its_own_is_named_by_its_path(bench):
    (bench.folder / "cards").mkdir()
    bench.card.rename(bench.folder / "cards" / "card.yaml")
    bench.bend(bench.sheet, "[card.yaml]", "[cards/card.yaml]")
    assert list(load_rig(bench.sheet).cards) == ["0007"]


def test_the_problems_of_two_cards_stand_together(bench):
    bench.bend(bench.sheet, "[card.yaml]", "[card.yaml, other.yaml, third.yaml]")
    (bench.folder / "other.yaml").write_text(bench.card.read_text().replace("2%", "2"))
    bench.bend(bench.card, "riser: 1", "riser: one")
    assert [(file, line) for file, line, _, _ in problems(bench.sheet)] == [
        ("card.yaml", 7), ("other.yaml", 5), ("third.yaml", None),
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["reedling", "harbour", "quill"])
def test_the_examples_load(name):
    rig = load_rig(ROOT / "examples" / name / "sheet.yaml")
    assert len(rig.runs) >= 5
    assert len(rig.cards) == 1
    assert (rig.chart is not None) is (name == "harbour")
