"""The chain: hashes that can be worked out by hand, and every way in which it may be broken."""

import hashlib
import json

import pytest

from rigging.log.chain import EVERY, GENESIS, Sealed, fault, own_hash, seal, walk, walk_rows


def record(n, **more):
    return json.dumps({"sequence": n, "aircraft": "Reedling", "kind": "note", "circuit": "", **more})


def chain(count):
    head, out = GENESIS, []
    for n in range(1, count + 1):
        out.append(seal(n, record(n), head))
        head = out[-1].hash
    return out


def test_the_hash_is_sha256_of_the_previous_one_and_the_record():
    # printf '%064dabc' 0 | sha256sum
    assert own_hash("abc", "0" * 64) == "b64374d04ef9c4f39fddb1e0d6be38a0130f6c057fc0f4ee467ea0e18bc758f1"
    assert own_hash("é", "ab") == hashlib.sha256(b"ab\xc3\xa9").hexdigest()


def test_an_empty_chain_is_intact():
    state = walk([])
    assert state == (0, GENESIS, None, "") and state.intact


def test_a_good_chain_ends_with_its_last_hash():
    rows = chain(5)
    assert walk(rows) == (5, rows[-1].hash, None, "")


def test_progress_is_told_now_and_then():
    told = []
    assert walk(iter(chain(2 * EVERY + 3)), told.append).intact
    assert told == [EVERY, 2 * EVERY]


@pytest.mark.parametrize(
    ("n", "change", "why"),
    [
        (3, {"record": record(3, who="x")}, "not what was sealed"),
        (3, {"hash": "1" * 64}, "not what was sealed"),
        (3, {"previous_hash": "1" * 64}, "does not follow"),
        (3, {"sequence": 9}, "entry 9 stands in its place"),
        (3, {"record": b"{}"}, "cannot be read"),
        (3, {"record": None}, "cannot be read"),
        (3, {"record": "\ud800"}, "no entry"),
    ],
)
def test_a_changed_entry_is_named(n, change, why):
    rows = chain(5)
    rows[n - 1] = rows[n - 1]._replace(**change)
    state = walk(rows)
    assert (state.entries, state.head_hash, state.first_bad_entry) == (n - 1, rows[n - 2].hash, n)
    assert why in state.why and not state.intact


def test_a_changed_entry_with_its_own_hash_made_to_fit_breaks_at_the_next():
    rows = chain(5)
    rows[2] = seal(3, record(3, who="x"), rows[1].hash)
    assert walk(rows)[2:] == (4, "it does not follow the entry before it")


@pytest.mark.parametrize(
    ("moved", "bad"),
    [
        (lambda r: r[:2] + r[3:], 3),
        (lambda r: [r[1], r[0], *r[2:]], 1),
        (lambda r: [*r[:2], r[1], *r[2:]], 3),
        (lambda r: r[1:], 1),
    ],
    ids=["dropped", "swapped", "twice", "first dropped"],
)
def test_a_moved_entry_is_named(moved, bad):
    assert walk(moved(chain(5))).first_bad_entry == bad


def test_a_record_sealed_at_another_place_is_found():
    rows = chain(2)
    rows.append(seal(3, record(2), rows[-1].hash))
    assert walk(rows)[2:] == (3, "its text says that it is entry 2")


def test_a_sealed_text_that_is_no_entry_is_found():
    rows = [seal(1, "[]", GENESIS)]
    assert walk(rows)[2:] == (1, "its text is no entry")


@pytest.mark.parametrize(
    "columns",
    [("Heron", "note", ""), ("Reedling", "check", ""), ("Reedling", "note", "rudder"), (b"Reedling", "note", "")],
)
def test_a_column_that_says_something_else_is_found(columns):
    [row] = chain(1)
    assert walk_rows([(*row, *columns)]).first_bad_entry == 1
    assert fault((*row, "Reedling", "note", ""), 1, GENESIS) == ""


def test_a_sealed_is_a_plain_tuple():
    assert Sealed(1, "r", "p", "h") == (1, "r", "p", "h")
