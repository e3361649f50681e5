"""With ``--si`` nothing is left in US units: every command that has the option, its refusals and its cautions too."""

from __future__ import annotations

import re

import pytest
from runs import PLOVER_LINES, REFUSED, ROOT, WITHOUT_A_LOG, WITHOUT_A_TENSIOMETER, plover, run

from rigging.told import Told, as_text, degF, inches, join, lbf, lbf_per_degF, shown, told

US = re.compile(r"\b(lbf|lb|lbs|psi|ft)\b|\d ?F\b|(?<![/\d.])\d+(\.\d+)? in\b(?! balance)")
# what is quoted from a printed source, and how a quantity may be written, stay as they are
QUOTED = re.compile(r"design weight up to 5000 lb|0\.283 lb/in3|[{][^}]*[}]|like [\w.]+F\b")
LINES = [line for line in (*WITHOUT_A_LOG, *WITHOUT_A_TENSIOMETER, *REFUSED) if not line.startswith("sheet")]


def left(text: str) -> list[str]:
    """The US quantities in a text, whose lines may be broken anywhere."""
    whole = QUOTED.sub("", " ".join(text.split()))
    return [whole[max(0, m.start() - 40) : m.end() + 10] for m in US.finditer(whole)]


@pytest.mark.parametrize("line", LINES)
def test_no_us_unit_is_left(line):
    ran = run(line, "--si")
    assert ran.code in (0, 1, 2, 3)
    assert ran.out or ran.err
    assert left(ran.out) == []
    assert left(ran.err) == []


@pytest.mark.parametrize("line", PLOVER_LINES)
def test_nor_where_everything_is_in_limits(line, tmp_path):
    ran = run(line, "--si", folder=plover(tmp_path))
    assert left(ran.out + ran.err) == []


def test_the_search_finds_what_is_there():
    # without --si all of these hold US units
    for line in LINES[:10]:
        ran = run(line)
        assert left(ran.out + ran.err), line


def test_every_command_with_the_option_is_run():
    have = {path.stem.replace("_", "-") for path in (ROOT / "rigging" / "cli").glob("*.py") if re.search(r"\bsi: Si\b", path.read_text(encoding="utf-8"))}  # fmt: skip
    # these two need a log: the words of a record are shown as they were written, its figures by the choice
    assert have - {"log", "session"} == {line.split()[0] for line in LINES}


def test_json_is_in_us_units_whatever_is_asked_for():
    line = LINES[6]
    assert run(line, "--json", "--si").out == run(line, "--json").out


def test_a_sentence_in_both_systems():
    both = told("{}: {} at {}, {} longer, {}", "left", lbf(10.0), degF(50.0), inches(1.0), lbf_per_degF(0.5))
    assert both == "left: 10.0 lbf at 50 F, 1 in longer, +0.50 lbf/F"
    # 1 lbf is 4.448 N, 50 F are 10 C, 1 in is 25.4 mm; 0.5 lbf/F are 0.5 x 4.448 x 1.8 = 4.00 N/C
    assert shown(both, si=True) == "left: 44 N at 10.0 C, 25.4 mm longer, +4.00 N/C"
    assert shown(both, si=False) == both


def test_sentences_keep_both_when_put_together():
    both = told("{} and {}", told("{}", lbf(100.0)), "the rest {as it stands}")
    assert shown(both, si=True) == "445 N and the rest {as it stands}"
    assert shown(join("; ", [both, "no figure"]), si=True) == "445 N and the rest {as it stands}; no figure"


def test_a_small_force_keeps_a_digit():
    # 0.5 lbf is 2.2 N
    assert shown(told("{}", lbf(0.5)), si=True) == "2.2 N"


def test_for_json_a_sentence_is_plain_text():
    plain = as_text(told("{}", lbf(1.0)))
    assert type(plain) is str and plain == "1.0 lbf"
    with pytest.raises(NotImplementedError):
        as_text(object())


def test_what_holds_no_quantity_is_the_same_in_both():
    assert shown("read this run", si=True) == shown("read this run", si=False) == "read this run"
    assert not isinstance("read this run", Told)
