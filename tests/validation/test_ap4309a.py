"""Cable tensions of a wooden glider.

Reference: Royal Air Force, Air Publication A.P. 4309A: aileron cables 40 to 50 lbf, elevator cables 35 to 40 lbf,
no temperature given.
"""

from rigging import tables
from rigging.source import Basis


def test_tensions():
    table = tables.load("glider-tensions-ap4309a")
    assert {r.values["control"]: (r.values["low"], r.values["high"]) for r in table.rows} == {
        "aileron": (40, 50),
        "elevator": (35, 40),
    }
    assert table.file.source.basis is Basis.PUBLISHED
    assert "no temperature" in table.file.source.note
