"""Limit pilot forces and limits of control systems.

References: 14 CFR 23.397(b), before amendment 64, limit control forces, design weight up to 5000 lb: aileron stick 67 lbf
maximum and 40 minimum, aileron wheel 50 D and 40 D in-lbf, elevator stick 167 and 100, elevator wheel 200 and 100,
rudder 200 and 150. 14 CFR 23.689, before amendment 64: control cables at least 1/8 in in primary systems, fairleads that
bend the cable at most 3 degrees. AMC 22.411(a): stretch at most 25 % of the available movement.
"""

import re
from pathlib import Path

import pytest

from rigging import tables
from rigging.errors import Refusal
from rigging.source import Basis


@pytest.mark.parametrize(
    ("control", "most", "least"),
    [("aileron stick", 67, 40), ("elevator stick", 167, 100), ("elevator wheel", 200, 100), ("rudder", 200, 150)],
)
def test_forces(control, most, least):
    row = tables.load("pilot-forces-14cfr23-397").find(control=control)
    assert (row.figure("max").value, row.figure("min").value) == (most, least)
    assert row.figure("max").unit == "lbf"
    assert row.source("max").basis is Basis.PUBLISHED
    assert row.values["max_couple"] is None


def test_the_aileron_wheel_has_a_couple_and_no_force():
    row = tables.load("pilot-forces-14cfr23-397").find(control="aileron wheel")
    assert (row.figure("max_couple").value, row.figure("min_couple").value) == (50, 40)
    assert row.figure("max_couple").unit == "in-lbf"
    with pytest.raises(Refusal):
        row.figure("max")


def test_limits():
    table = tables.load("control-limits")
    assert table.find(limit="control stretch").figure("most_percent").value == 25
    assert table.find(limit="control stretch").source("most_percent").document == "AMC 22.411(a)"
    assert table.find(limit="fairlead bend").figure("most_deg").value == 3
    assert table.find(limit="smallest primary cable").values["smallest"] == "1/8"
    assert {row.source("limit").basis for row in table.rows} == {Basis.PUBLISHED}


ROOT = Path(__file__).resolve().parents[2]
SHIPPED = [
    *ROOT.glob("rigging/**/*.py"), *ROOT.glob("rigging/**/*.jinja"), *ROOT.glob("rigging/**/*.yaml"), *ROOT.glob("tables/*.yaml"),
    *ROOT.glob("examples/**/*.yaml"), ROOT / "README.md", ROOT / "DEVELOPERS.md",
]  # fmt: skip


def test_neither_paragraph_is_cited_without_its_amendment():
    # amendment 64 replaced both: they are only to be found in what was in force before
    cited = 0
    for path in SHIPPED:
        text = " ".join(re.sub(r'"\s*\n\s*"', "", path.read_text(encoding="utf-8")).split())
        for found in re.finditer(r"\b23\.(397|689)(\([a-z]\))?", text):
            after = text[found.end() :]
            assert after.startswith(", before amendment 64"), f"{path.name}: {found.group()}{after[:30]}"
            cited += 1
    assert cited >= 5


def test_each_limit_fills_one_column():
    for row in tables.load("control-limits").rows:
        assert sum(row.values[name] is not None for name in ("most_percent", "most_deg", "smallest")) == 1
