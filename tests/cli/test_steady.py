"""``rigging steady``: the answer in words first, the keys, and input that cannot be right."""

import csv
import io

import pytest

CAP = ("--read", "cap 08:00 66F", "--read", "cap 08:20 60F")


def test_the_wait_in_words_first(rigging):
    ran = rigging("steady", "--air", "54F", *CAP)
    assert (ran.code, ran.err) == (1, "")
    # halves in 20 min: ln 3 / ln 2 of them to 2 F, 31.7 min
    assert ran.out.startswith("wait 35 min: the slowest part is the cap, 6 F from the air\nuntil 08:55;")
    assert "ask for 1 to 4 hours at a steady temperature" in " ".join(ran.out.split())
    assert "fitting" in ran.out  # slower, and not looked at
    assert max(map(len, ran.out.splitlines())) <= 80


def test_until_after_midnight(rigging):
    ran = rigging("steady", "--air", "54F", "--read", "cap 23:30 66F", "--read", "cap 23:50 60F")
    assert "until 00:25;" in ran.out


def test_steady(rigging):
    ran = rigging("steady", "--air", "54F", "--read", "cap 08:00 55F")
    assert ran.code == 0
    assert ran.out.startswith("steady: every part looked at is within 2 F of the air at 54 F")


def test_air_that_changes(rigging):
    ran = rigging("steady", "--air", "08:00 60F", "--air", "08:30 54F", "--read", "cap 08:30 55F")
    assert ran.code == 1
    assert ran.out.startswith("not steady: the air itself changes, 60 F at first and 54 F now")


def test_the_keys(rigging):
    ran = rigging("steady", "--air", "54F", "--air-was", "70F", *CAP, "--part", "fitting", "--json")
    assert (ran.code, ran.err) == (1, "")
    found = ran.json
    keys = "steady in_words wait_min slowest air_degF air_steady within_degF parts basis manuals assumptions"
    assert set(keys.split()) <= set(found)
    assert (found["steady"], found["slowest"], found["basis"]) == (False, "fitting", "computed")
    assert found["wait_min"] == pytest.approx(63.3 * 2.0794415, rel=1e-6)  # ln(16/2)
    fitting, cap = found["parts"]
    assert (fitting["part"], cap["part"]) == ("fitting", "cap")
    assert cap["from_readings"]["time_constant_min"] == pytest.approx(28.8539, rel=1e-4)  # 20 / ln 2
    assert cap["from_table"]["usual_min"] == pytest.approx(12.2)
    assert cap["wait_min"] == pytest.approx(31.699, rel=1e-4)  # 20 ln 3 / ln 2


def test_rows(rigging):
    ran = rigging("steady", "--air", "54F", *CAP, "--csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert [r["part"] for r in rows] == ["cap"]
    assert float(rows[0]["wait_min"]) == pytest.approx(31.699, rel=1e-4)


def test_si(rigging):
    ran = rigging("steady", "--air", "12C", "--read", "cap 0min 20C", "--si")
    assert "8.0 C from the air" in ran.out
    assert "+8.0 C" in ran.out


BAD = [
    ((), 2, "give the temperature of the air"),
    (("--air", "54"), 2, "'54' has no unit"),
    (("--air", "54F"), 2, "nothing to look at"),
    (("--air", "54F", "--read", "cap 66F"), 2, "write part, time and temperature"),
    (("--air", "54F", "--read", "cap 08:00 66"), 2, "has no unit"),
    (("--air", "54F", "--read", "cap 08:75 66F"), 2, "no time of day"),
    (("--air", "54F", *CAP[2:], *CAP[:2]), 2, "not in the order of their times"),
    (("--air", "54F", *CAP, "--read", "skin 20min 60F"), 2, "some times are by the clock"),
    (("--air", "54F", *CAP, "--now", "08:00"), 2, "--now lies before the last reading"),
    (("--air", "54F", *CAP, "--within", "1F"), 3, "good to 2 F cannot show"),
    (("--air", "54F", *CAP, "--thermometer", "0F"), 2, "more than zero"),
    (("--air", "54F", "--read", "tube 08:00 66F"), 3, "nothing tells how fast 'tube' follows"),
    (("--air", "54F", *CAP, "--part", "fitting"), 2, "nothing is known of the fitting"),
    (("--air", "54F", *CAP, "--part", "cup", "--air-was", "70F"), 2, "unknown part 'cup' (did you mean 'cap'?)"),
    (("--air", "54F", *CAP, "--part", "spar=20"), 2, "has no unit"),
    (("--air", "54F", "--air", "55F", *CAP), 2, "the air is given more than once"),
    (("--air", "54F", *CAP, "--json", "--csv"), 2, "two formats"),
]


@pytest.mark.parametrize(("words", "code", "said"), BAD, ids=lambda x: x if isinstance(x, str) else "")
def test_one_clear_line(rigging, words, code, said):
    ran = rigging("steady", *words)
    assert (ran.code, ran.out) == (code, "")
    assert said in ran.err
    assert len(ran.err.splitlines()) == 1


def test_nothing_heavy_is_loaded(rigging):
    import subprocess
    import sys

    ask = "import sys\nfrom rigging.cli.main import main\ntry:\n    main()\nexcept SystemExit:\n    print(*sys.modules, file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", ask, "steady", "--air", "54F", *CAP], capture_output=True, text=True, check=True
    )  # fmt: skip
    assert not {"numpy", "scipy", "sqlalchemy", "matplotlib"} & set(done.stderr.split())
