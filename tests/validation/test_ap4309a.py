"""Cable tensions of a wooden glider.

Reference: Royal Air Force, Air Publication A.P. 4309A: aileron cables 40 to 50 lbf, elevator cables 35 to 40 lbf,
no temperature given. The friction of a circuit is half the difference of the two directions of a spring-scale pull.
"""

from rigging import tables
from rigging.physics.friction import circuit_friction_lbf
from rigging.source import Basis


def test_tensions():
    table = tables.load("glider-tensions-ap4309a")
    assert {r.values["control"]: (r.values["low"], r.values["high"]) for r in table.rows} == {
        "aileron": (40, 50),
        "elevator": (35, 40),
    }
    assert table.file.source.basis is Basis.PUBLISHED
    assert "no temperature" in table.file.source.note


def test_friction_is_half_the_difference_of_the_two_directions():
    # 5 lbf to move the control one way and 2 lbf as it comes back
    assert circuit_friction_lbf(5.0, 2.0) == (5.0 - 2.0) / 2
