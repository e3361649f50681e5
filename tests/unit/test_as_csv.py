"""CSV views: what a spreadsheet opens, and does not run."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigging.report.as_csv import dumps


def rows(text):
    return list(csv.reader(io.StringIO(text)))


def test_a_heading_stands_above_nothing():
    assert dumps([], ["a", "b"]) == "a,b\n"


def test_columns_choose_and_order_the_cells():
    assert dumps([{"b": 2, "a": 1, "c": 3}], ["a", "b"]) == "a,b\n1,2\n"


def test_nothing_is_an_empty_cell_and_a_list_one_cell():
    assert rows(dumps([{"a": None, "b": ["29", "30"], "c": ()}], ["a", "b", "c", "d"])) == [
        ["a", "b", "c", "d"], ["", "29; 30", "", ""],
    ]  # fmt: skip


@pytest.mark.parametrize(
    "formula",
    [
        "=1+1",
        "+1",
        "-1",
        "@SUM(A1)",
        "\t=1",
        "\n=1",
        '=HYPERLINK("x")',
        " =1",
        "\u00a0+1",
        "'=1",
        '"=1"',
        "\t \"' @A1",
        "＝1",
    ],
)
def test_a_word_that_a_spreadsheet_would_run_is_made_harmless(formula):
    assert rows(dumps([{"a": formula}], ["a"]))[1] == [f"'{formula}"]


def test_a_line_end_of_any_kind_stays_in_its_cell():
    text = dumps([{"a": "one\rtwo\r\nthree\n", "b": "\r=1"}], ["a", "b"])
    assert rows(text)[1] == ["one\ntwo\nthree\n", "'\n=1"]


def test_a_list_that_begins_like_a_formula_too():
    assert rows(dumps([{"a": ["=1", "2"]}], ["a"]))[1] == ["'=1; 2"]


def test_a_number_below_zero_stays_a_number():
    assert dumps([{"a": -1.5}], ["a"]) == "a\n-1.5\n"


@given(st.lists(st.text(), min_size=1, max_size=5))
def test_every_word_comes_back_but_for_the_mark_against_formulas(words):
    columns = [str(i) for i in range(len(words))]
    text = dumps([dict(zip(columns, words, strict=True))], columns)
    _, back = csv.reader(io.StringIO(text, newline=""))
    plain = [w.replace("\r\n", "\n").replace("\r", "\n") for w in words]
    assert all(b in (w, f"'{w}") for b, w in zip(back, plain, strict=True))
