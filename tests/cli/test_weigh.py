"""``rigging weigh``: the words on the screen, the keys, the new card as a file, and input that cannot be right."""

import csv
import io
import shutil
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]
DAY = "2026-11-25"
CARD = ("--card", "examples/reedling/card-0417.yaml", "--riser", "2", "--cable", "5/32", "--on", DAY)
# the example's card: dial 15, 25, 33 for 40, 60, 80 lbf
RIGHT = ("--at", "40 lbf: 15 15 15", "--at", "60 lbf: 25 25 25", "--at", "80 lbf: 33 33 33")
LOW = ("--at", "40 lbf: 11", "--at", "60 lbf: 20 20 20", "--at", "80 lbf: 28 28 28")


@pytest.fixture
def fine(tmp_path):
    """The example's card, stated less sharply and read to a tenth, so that weights can decide."""
    text = (ROOT / "examples/reedling/card-0417.yaml").read_text()
    text = text.replace("accuracy: 2%", "accuracy: 5%").replace("division: 1", "division: 0.1")
    path = tmp_path / "card.yaml"
    path.write_text(text)
    return ("--card", str(path), "--riser", "2", "--cable", "5/32", "--on", DAY)


def test_a_right_instrument(rigging, fine):
    ran = rigging("weigh", *fine, *RIGHT, "--band", "45..55 lbf")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("✓ in its stated 5 % at every load\nthe card reads what hangs there, at every load")
    assert "0.27 % anywhere on earth" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


def test_an_instrument_that_reads_low(rigging):
    ran = rigging("weigh", *CARD, *LOW)
    assert ran.code == 1
    assert ran.out.startswith("✗ out of its stated 2 %\nfurthest off at 40.0 lbf: 8.0 lbf, 20.0 %, low")


def test_a_dial_too_coarse_to_decide(rigging):
    ran = rigging("weigh", *CARD, *RIGHT)
    assert ran.code == 1
    assert ran.out.startswith("? cannot be decided: in its stated 2 % or not")


def test_the_keys(rigging, fine):
    found = rigging("weigh", *fine, *RIGHT, "--band", "45..90 lbf", "--json")
    assert (found.code, found.err) == (1, "")  # in, and the band is not bracketed
    keys = "verdict card_serial riser cable date accuracy_share weight_accuracy_share loads worst band basis source notes new_card"
    assert set(keys.split()) <= set(found.json)
    assert (found.json["verdict"], found.json["basis"], found.json["new_card"]) == ("in", "measured", None)
    assert found.json["band"] == {"low_lbf": 45, "high_lbf": 90, "bracketed": False}
    first = found.json["loads"][0]
    assert (first["load_lbf"], first["tension_lbf"], first["difference_lbf"]) == (40, 40, 0)
    assert (first["verdict"], first["allowed_lbf"], first["dials"]) == ("in", 2, [15, 15, 15])
    assert {c["why"].split()[0] for c in first["components"]} == {"weights", "local", "dial", "repeatability"}


def test_rows(rigging):
    ran = rigging("weigh", *CARD, *LOW, "--csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [float(r["load_lbf"]) for r in rows] == [40, 60, 80]
    assert {r["verdict"] for r in rows} == {"out"}
    assert rows[1]["dials"] == "20.0; 20.0; 20.0"


def test_si(rigging):
    out = rigging("weigh", *CARD, *LOW, "--si").out
    assert "178 N" in out  # 40 lbf x 4.4482
    assert "furthest off at 178 N: 36 N, 20.0 %, low" in out
    assert " lbf" not in out.split("card of tensiometer")[0]


def test_newton_in(rigging):
    loads = ("--at", "177.93 N: 11", "--at", "266.89 N: 20", "--at", "355.86 N: 28")
    assert rigging("weigh", *CARD, *loads, "--json").json["loads"][0]["load_lbf"] == pytest.approx(40, abs=1e-3)


def test_the_new_card_is_written_once_and_reads_back(rigging, tmp_path):
    made = ("--who", "R. Tern", "-o", str(tmp_path / "new.yaml"))
    ran = rigging("weigh", *CARD, *LOW, *made)
    assert ran.code == 1
    assert "written: " in ran.err and "riser 2, cable 5/32 alone" in ran.err
    assert "other columns were not checked and are left out" in ran.err
    new = ("--card", str(tmp_path / "new.yaml"), "--riser", "2", "--cable", "5/32", "--on", DAY, "--json")
    pounds = rigging("pounds", "20", *new).json
    assert (pounds["tension_lbf"], pounds["card_serial"], pounds["basis"]) == (60, "0417", "measured")
    assert "40, 60, 80 lbf" in pounds["source"] and "by R. Tern" in pounds["source"]
    assert rigging("pounds", "20", *new[:2], "--riser", "1", "--cable", "1/8").code == 3
    before = (tmp_path / "new.yaml").read_bytes()
    again = rigging("weigh", *CARD, *LOW, *made)
    assert (again.code, again.out) == (2, "")
    assert "exists: choose another name, nothing was written" in again.err
    assert (tmp_path / "new.yaml").read_bytes() == before


def test_the_new_card_does_for_a_sheet(rigging, tmp_path):
    for path in (ROOT / "examples/reedling").iterdir():
        shutil.copy(path, tmp_path)
    made = rigging("weigh", *CARD, *LOW, "--who", "R. Tern", "-o", str(tmp_path / "card-new.yaml"), "--json")
    assert made.json["new_card"]["points"][0] == {"dial": 11, "tension_lbf": 40}
    sheet = tmp_path / "sheet.yaml"
    sheet.write_text(sheet.read_text().replace("card-0417.yaml", "card-new.yaml"))
    assert rigging("sheet", "check", sheet, "--json").json["tensiometers"] == ["0417"]


BAD = [
    (("--at", "40 lbf: 15", "--at", "60 lbf: 25"), 3, "2 loads cannot check an instrument: hang 3 or more"),
    ((), 3, "0 loads cannot check an instrument"),
    ((*RIGHT, "--at", "40 lbf: 16"), 2, "are one load"),
    ((*RIGHT, "--at", "50: 20"), 2, "'50' has no unit"),
    ((*RIGHT, "--at", "50 lbf"), 2, "write the load and what the dial showed"),
    ((*RIGHT, "--weight-accuracy", "0.5"), 2, "has no unit"),
    ((*RIGHT, "--weight-accuracy", "50%"), 3, "check nothing"),
    ((*RIGHT, "--band", "30-40 lbf"), 2, "a dash can be read as a minus"),
    ((*RIGHT, "--riser", "3"), 3, "no column for riser 3"),
    ((*RIGHT, "--cable", "0.1"), 2, "is not a cable size"),
    ((*RIGHT, "--serial", "9"), 3, "no card may be lent"),
    ((*RIGHT, "--on", "yesterday"), 2, "is not a date"),
    ((*RIGHT, "--due", "2027-01-01"), 2, "--due belongs to a new card"),
    ((*RIGHT, "--json", "--csv"), 2, "two formats"),
    ((*RIGHT, "-o", "nowhere/x.yaml", "--who", "R. Tern"), 3, "cannot be written"),
    ((*RIGHT, "-o", "new.yaml"), 2, "Give the name with --who"),
    ((*RIGHT, "-o", "new.yaml", "--who", "R. Tern", "--due", "2026-11-25"), 2, "like --due 2027-11-25"),
    (("--at", "40 lbf: 15", "--at", "60 lbf: 14", "--at", "80 lbf: 33", "-o", "new.yaml", "--who", "R. T."), 3, "stick"),
]  # fmt: skip


def test_a_new_card_of_one_that_was_out_of_date_needs_a_day_of_its_own(rigging, tmp_path):
    card = (ROOT / "examples/reedling/card-0417.yaml").read_text().replace("2026-03-02", "2025-03-02")
    (tmp_path / "old.yaml").write_text(card.replace("2027-03-02", "2026-03-02"))
    words = ("--card", "old.yaml", *CARD[2:], *RIGHT, "-o", "new.yaml", "--who", "R. Tern")
    ran = rigging("weigh", *words, cwd=tmp_path)
    assert (ran.code, ran.out) == (2, "") and "the card was due on 2026-03-02" in ran.err
    assert not (tmp_path / "new.yaml").exists()


@pytest.mark.parametrize(("words", "code", "said"), BAD, ids=lambda x: x if isinstance(x, str) else "")
def test_one_clear_line(rigging, tmp_path, words, code, said):
    usual = {"--card": str(ROOT / "examples/reedling/card-0417.yaml"), **dict(zip(CARD[2::2], CARD[3::2], strict=True))}
    card = [word for option, value in usual.items() if option not in words for word in (option, value)]
    ran = rigging("weigh", *card, *words, cwd=tmp_path, RIGGING_WHO="")
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert len(ran.err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
