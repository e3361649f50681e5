"""Limit pilot forces and limits of control systems.

References: 14 CFR 23.397(b) (before amendment 64), limit control forces, design weight up to 5000 lb: aileron stick
67 lbf maximum and 40 minimum, aileron wheel 50 D and 40 D in-lbf, elevator stick 167 and 100, elevator wheel 200 and
100, rudder 200 and 150. 14 CFR 23.689 (before amendment 64): control cables at least 1/8 in in primary systems, fairleads that bend the cable
at most 3 degrees. AMC 22.411(a): stretch at most 25 % of the available movement.
"""

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


def test_each_limit_fills_one_column():
    for row in tables.load("control-limits").rows:
        assert sum(row.values[name] is not None for name in ("most_percent", "most_deg", "smallest")) == 1
