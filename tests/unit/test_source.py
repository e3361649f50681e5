import json

import pytest

from rigging.source import NEVER_ACCEPTED, Basis, Figure, Source, acceptable


def test_the_words_of_the_trade():
    assert [b.value for b in Basis] == [
        "published",
        "second-hand",
        "memory",
        "computed",
        "practice",
        "aircraft",
        "measured",
    ]


@pytest.mark.parametrize("basis", [Basis.PUBLISHED, Basis.SECOND_HAND])
def test_a_figure_read_somewhere_names_the_document(basis):
    with pytest.raises(ValueError, match=f"a {basis.value} figure needs its document"):
        Source(basis, note="somewhere")
    assert Source(basis, "a manual").document == "a manual"


@pytest.mark.parametrize("basis", [b for b in Basis if b not in {Basis.PUBLISHED, Basis.SECOND_HAND}])
def test_other_figures_may_stand_without_a_document(basis):
    assert str(Source(basis)) == basis.value


@pytest.mark.parametrize(
    ("source", "text"),
    [
        (Source(Basis.PUBLISHED, "a manual", "table 1"), "published: a manual, table 1"),
        (Source(Basis.PUBLISHED, "a manual"), "published: a manual"),
        (Source(Basis.MEMORY, place="table 1"), "memory: table 1"),
        (Source(Basis.MEMORY, note="unseen"), "memory"),
    ],
)
def test_in_words(source, text):
    assert str(source) == text


def test_memory_alone_never_carries_a_verdict():
    assert {Basis.MEMORY} == NEVER_ACCEPTED
    assert [b for b in Basis if not Source(b, "d").acceptable] == [Basis.MEMORY]


def test_one_remembered_figure_spoils_the_lot():
    sound = Source(Basis.PUBLISHED, "d")
    assert acceptable([])
    assert acceptable([sound, Source(Basis.COMPUTED)])
    assert not acceptable([sound, Source(Basis.MEMORY), sound])


def test_a_figure_goes_out_with_all_that_is_known_of_it():
    figure = Figure(1760.0, "lbf", Source(Basis.PUBLISHED, "a manual", "p. 1", "read twice"), 5.0)
    out = figure.as_json()
    assert json.loads(json.dumps(out)) == {
        "value": 1760.0,
        "unit": "lbf",
        "standard_uncertainty": 5.0,
        "basis": "published",
        "source": "published: a manual, p. 1",
        "note": "read twice",
    }
    assert Figure(1.0, "in", Source(Basis.MEMORY)).standard_uncertainty == 0.0


def test_sources_and_figures_do_not_change():
    with pytest.raises(AttributeError):
        Source(Basis.MEMORY).note = "later"  # type: ignore[misc]
