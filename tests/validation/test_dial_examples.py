"""Worked examples of dial readings, and the point of a published rigging chart.

References: Department of the Army TM 1-1500-204-23-9, paragraph 7-3c with figure 7-6 (3/16 in cable, riser 2, dial 48:
70 lbf) and paragraph 7-3d with figure 7-7 (1/8 in 7x19 at 85 F: 70 lbf). NAVEDTRA 14018, figure 9-23 (3/16 in cable,
riser 2, dial 48: 100 lbf). They belong to two instruments: here each has a card of its own, in ``cards/``.
"""

import datetime as dt
from pathlib import Path

import pytest

from rigging import tables
from rigging.errors import Refusal
from rigging.measure.card import dial_to_lbf, load_card
from rigging.measure.reading import read_tension
from rigging.source import Basis

CARDS = Path(__file__).parent / "cards"
TM, NAVEDTRA = "tm-1-1500-204-23-9.yaml", "navedtra-14018.yaml"


@pytest.mark.parametrize(("name", "tension"), [(TM, 70), (NAVEDTRA, 100)])
def test_each_instruments_card_gives_its_printed_figure(name, tension):
    card = load_card(CARDS / name)
    assert card.source.basis is Basis.PUBLISHED
    assert dial_to_lbf(card.column(2, "3/16"), 48) == tension
    assert read_tension(card, 2, "3/16", [48], dt.date(2026, 6, 1)).tension_lbf == tension


@pytest.mark.parametrize(("name", "other"), [(TM, NAVEDTRA), (NAVEDTRA, TM)])
def test_the_other_instrument_is_refused(name, other):
    with pytest.raises(Refusal, match="no card may be lent"):
        load_card(CARDS / name).need_serial(load_card(CARDS / other).serial)


@pytest.mark.parametrize(
    ("index", "row", "document", "place"),
    [
        (0, ("3/16", 2, 48, 70), "TM 1-1500-204-23-9", "para 7-3c, fig. 7-6"),
        (1, ("3/16", 2, 48, 100), "NAVEDTRA 14018", "fig. 9-23"),
    ],
)
def test_published_examples(index, row, document, place):
    found = list(tables.load("dial-examples").rows)[index]
    assert tuple(found.values[name] for name in ("cable", "riser", "dial", "tension")) == row
    source = found.figure("tension").source
    assert (source.basis, source.document, source.place) == (Basis.PUBLISHED, document, place)


def test_the_remembered_example_is_marked():
    found = list(tables.load("dial-examples").rows)[2]
    assert tuple(found.values[name] for name in ("cable", "riser", "dial", "tension")) == ("5/32", 2, 30, 70)
    assert not found.source("tension").acceptable


def test_the_published_point_of_the_chart():
    row = next(tables.load("typical-chart-points").rows)
    assert (row.values["cable"], row.values["construction"], row.values["temperature"], row.values["tension"]) == (
        "1/8",
        "7x19",
        85,
        70,
    )
    source = row.source("tension")
    assert (source.basis, source.document, source.place) == (
        Basis.PUBLISHED,
        "TM 1-1500-204-23-9",
        "para 7-3d, fig. 7-7",
    )


def test_as_a_share_of_the_breaking_strength():
    # 3.5 % and 3.1 %
    strength = tables.load("cable-flexible-ac43131b-7-3")
    shares = [
        round(
            100 * row.values["tension"] / strength.find(size=row.values["cable"], construction="7x19").values["carbon"],
            1,
        )
        for row in list(tables.load("typical-chart-points").rows)[:2]
    ]
    assert shares == [3.5, 3.1]
