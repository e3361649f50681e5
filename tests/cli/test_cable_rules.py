"""``rigging cable``: locking wire with its note, threads showing, what is inspected, and the cautions of a size."""

import pytest

NOTE = "galvanized or tinned steel or soft iron wire also accepted (1)"


def text(ran):
    return " ".join(ran.out.split())


def test_note_1_stands_where_the_printed_table_has_it(shared):
    # AC 43.13-1B table 7-8, 1/8: copper and brass carry note (1), stainless does not
    wires = shared("cable", "1/8", "--json").json["locking_wire"]
    assert [(w["wrap"], w["wire_in"], w["wire_is_minimum"], w["also"]) for w in wires] == [
        ("single", 0.040, False, None),
        ("double", 0.040, False, NOTE),
        ("single", 0.057, True, NOTE),
    ]
    assert {w["basis"] for w in wires} == {"published"}
    assert text(shared("cable", "1/8")).count("soft iron") == 2


def test_the_screen_names_every_rule_with_its_source(shared):
    said = text(shared("cable", "1/8"))
    for words in (
        "safety wire is not used again (published: FAA AC 43.13-1B, 7-179)",
        "guard it when proof-loading (published: FAA AC 43.13-1B, 7-146, end)",
        "a popped core or loose strands: replace the cable (second-hand: FAA AC 43.13-1B, 7-149d, 7-149e)",
        "a terminal shows no slip, distortion, crack or broken strand, and a swivel moves freely (published: FAA AC 43.13-1B, 7-149k)",
        "within 3 deg in any other control (published: MIL-F-18372, 3.1.1.17.8;",
        "at most 3 threads show at each end of a turnbuckle",
        "(published: FAA AC 43.13-1B, 7-166, 7-179)",
        "outer wires worn 40 % or more",
        "corrosion inside the cable",
        "at least 2 in from pulleys",
        "more than 6 in from fittings",
        "at most 3 deg (published: 14 CFR 23.689, before amendment 64",
        "within 1 deg (published: MIL-F-18372",
        "at least 10 deg of wrap",
    ):
        assert words in said


def test_the_keys(shared):
    found = shared("cable", "5/32", "--json").json
    assert {entry["name"] for entry in found["inspection"]} >= {
        "worn outer wires", "broken wires", "internal corrosion", "splice", "reading place", "fairlead bend", "wrap left",
        "pulley, primary", "pulley, other",
    }  # fmt: skip
    threads = next(entry for entry in found["safetying"] if entry["name"] == "threads showing")
    assert (threads["value"], threads["unit"], threads["basis"]) == (3, "count", "published")
    for entry in (*found["inspection"], *found["safetying"], *found["cautions"]):
        assert entry["words"] and entry["basis"]


@pytest.mark.parametrize(("size", "warned"), [("1/16", True), ("3/32", True), ("1/8", False), ("1/4", False)])
def test_a_small_cable_is_kept_out_of_primary_controls(shared, size, warned):
    cautions = [c["words"] for c in shared("cable", size, "--json").json["cautions"]]
    assert any("too small for a primary control" in words for words in cautions) is warned


def test_a_size_without_a_row_of_locking_wire_says_so(shared):
    assert shared("cable", "1/32", "--json").json["locking_wire"] == []
    assert "the printed table has no row for 1/32" in shared("cable", "1/32").out


def test_it_fits_the_screen(shared):
    assert max(map(len, shared("cable", "5/32").out.splitlines())) <= 80
