"""What a log promises on both engines alike."""

from __future__ import annotations

import itertools
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta

import pytest

from rigging.clock import Clock
from rigging.errors import BadFile, Refusal
from rigging.log.chain import GENESIS, Sealed, own_hash
from rigging.log.entry import Draft, text_of
from rigging.log.reading import Head
from rigging.log.store import CLOCK_SLACK, Moved, open_log

WHEN = datetime(2026, 11, 25, 13, 40, 0, 123456, tzinfo=UTC)
TABLES = {"cable": "ab" * 32}
STRANGE = [
    "O'Brien; DROP TABLE entries",
    '<img src=x onerror="alert(1)">',
    "two\nlines\r\n",
    "=1+1",
    "%s %(x)s ? :x",
    "𝄞 \u202e é",
    "\\' \\\\ \x01",
]


def draft(text="wiped", kind="note", aircraft="Reedling 3", circuit="", who="A. Wing"):
    return Draft(who, kind, aircraft, circuit, {"text": text})


@pytest.fixture
def log(place):
    with open_log(place, create=True) as opened:
        yield opened


def write(log, *drafts, now=lambda: WHEN, **how):
    before, log._clock = log._clock, Clock(now)
    try:
        return log.append(drafts, **{"program": "rigging 0.1", "tables": TABLES, **how})
    finally:
        log._clock = before


def test_a_new_log_is_empty_and_intact(log):
    assert log.head() == Head(0, GENESIS)
    assert list(log.entries()) == list(log.sealed()) == []
    assert log.verify() == (0, GENESIS, None, "")


def test_what_is_appended_is_returned_numbered_timed_and_read_back(log, place):
    [one] = write(log, draft())
    two, three = write(log, draft("second", circuit="rudder"), draft("third"))
    assert [e.sequence for e in (one, two, three)] == [1, 2, 3]
    assert (two.time_utc, two.program, two.tables) == ("2026-11-25T13:40:00.123456Z", "rigging 0.1", TABLES)
    assert (two.who, two.kind, two.aircraft, two.circuit, two.payload) == (
        "A. Wing",
        "note",
        "Reedling 3",
        "rudder",
        {"text": "second"},
    )
    with open_log(place) as again:
        assert list(again.entries()) == [one, two, three]
        assert again.entry(2) == two


def test_the_chain_is_the_one_of_the_records(log):
    written = write(log, draft(), draft("second"))
    head = GENESIS
    for entry, sealed in zip(written, log.sealed(), strict=True):
        expected = Sealed(entry.sequence, text_of(entry), head, own_hash(text_of(entry), head))
        assert sealed == expected
        head = sealed.hash
    assert log.head() == (2, head)
    assert log.verify() == (2, head, None, "")


@pytest.mark.parametrize("text", STRANGE)
def test_any_name_and_text_comes_back(log, text):
    [written] = write(log, Draft(text, text, text, text, {text: [text]}))
    assert list(log.entries(aircraft=text, kinds=[text], circuit=text)) == [written]
    assert written.who == written.payload[text][0] == text
    assert log.verify().intact


def test_entries_are_chosen_by_aircraft_kind_circuit_and_start(log):
    aircraft, kinds, circuits = ("Reedling 3", "Heron 1"), ("check", "note", "travel"), ("", "rudder")
    combinations = list(itertools.product(aircraft, kinds, circuits))
    write(log, *(draft(kind=k, aircraft=a, circuit=c) for a, k, c in combinations))

    def chosen(**how):
        return [e.sequence for e in log.entries(**how)]

    def expected(a=None, k=None, c=None, start=1):
        return [
            n
            for n, (aa, kk, cc) in enumerate(combinations, 1)
            if (a is None or aa == a) and (k is None or kk in k) and (c is None or cc == c) and n >= start
        ]

    assert chosen() == expected()
    assert chosen(aircraft="Heron 1") == expected("Heron 1")
    assert chosen(aircraft="Heron 1", kinds={"travel", "check"}, circuit="") == expected(
        "Heron 1", ("travel", "check"), ""
    )
    assert chosen(kinds=["note"], start=4) == expected(k=["note"], start=4)
    assert chosen(circuit="rudder") == expected(c="rudder")
    assert chosen(kinds=[]) == [] == chosen(aircraft="nobody's")


def test_there_is_no_entry_of_another_number(log):
    write(log, draft())
    for n in (0, 2, -1, 2**40):
        with pytest.raises(Refusal, match=f"there is no entry {n}: the log holds 1"):
            log.entry(n)


def test_nothing_to_write_writes_nothing(log):
    assert write(log) == []
    assert log.head().entries == 0


def test_one_bad_draft_keeps_all_of_them_out(log):
    write(log, draft())
    for bad in (Draft("", "note", "Reedling 3", "", {}), draft(float("nan")), draft("x" * 3_000_000)):
        with pytest.raises(Refusal):
            write(log, draft(), bad, draft())
    assert log.verify().entries == 1


def test_a_decision_that_rests_on_an_older_head_is_not_written(log):
    empty = log.head().head_hash
    write(log, draft(), after=empty)
    with pytest.raises(Moved, match="someone else has written"):
        write(log, draft(), after=empty)
    assert log.head().entries == 1
    write(log, draft(), after=log.head().head_hash)
    assert log.verify().entries == 2


def test_of_many_who_decide_on_the_same_head_one_writes(log):
    write(log, draft())
    head, gate, outcomes = log.head().head_hash, threading.Barrier(8), []

    def decide():
        gate.wait()
        try:
            write(log, draft(), after=head)
            outcomes.append("written")
        except Moved:
            outcomes.append("moved")

    threads = [threading.Thread(target=decide) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["moved"] * 7 + ["written"]
    assert log.verify() == (2, log.head().head_hash, None, "")


def test_a_clock_far_behind_the_last_entry_is_refused(log):
    write(log, draft())
    with pytest.raises(
        Refusal,
        match=r"the clock says 2026-11-25T13:34:59Z, the last entry is of 2026-11-25T13:40:00Z: set the clock first",
    ):
        write(log, draft(), now=lambda: WHEN - CLOCK_SLACK - timedelta(seconds=1))
    assert log.head().entries == 1
    write(log, draft(), now=lambda: WHEN - CLOCK_SLACK)
    assert [e.time_utc[:19] for e in log.entries()] == ["2026-11-25T13:40:00", "2026-11-25T13:35:00"]


def test_a_last_entry_of_a_wrong_clock_does_not_close_the_log_for_ever(log):
    write(log, draft(), now=lambda: datetime(2099, 1, 1, tzinfo=UTC))
    with pytest.raises(Refusal, match="set the clock first"):
        write(log, draft())
    write(log, draft(), clock_is_right=True)
    write(log, draft())
    assert log.verify().entries == 3


def test_entries_may_be_written_while_others_are_read(log):
    write(log, *(draft(str(i)) for i in range(3000)))
    seen = 0
    for _ in log.entries():
        seen += 1
        if seen in (1, 1500):
            write(log, draft("meanwhile"))
    assert seen >= 3000
    assert log.verify().entries == 3002


def test_reading_may_be_broken_off(log):
    write(log, *(draft(str(i)) for i in range(3000)))
    assert next(log.entries()).sequence == 1
    assert next(log.sealed()).sequence == 1
    rows = log.entries()
    next(rows)
    rows.close()
    write(log, draft())
    assert log.verify(lambda n: None).entries == 3001


def test_a_chain_is_taken_into_an_empty_log_and_onto_its_own_beginning(log, tmp_path):
    with open_log(str(tmp_path / "from.riglog"), create=True) as source:
        write(source, *(draft(f"{i}", circuit="rudder") for i in range(1500)))
        assert log.take(source.sealed()) == 1500
        assert list(log.sealed()) == list(source.sealed())
        assert len(list(log.entries(circuit="rudder"))) == 1500
        assert log.take(source.sealed()) == 0
        write(source, draft("later"), draft("latest"))
        assert log.take(source.sealed()) == 2
        assert log.verify() == source.verify()


def test_another_history_is_not_taken(log, tmp_path):
    with open_log(str(tmp_path / "from.riglog"), create=True) as source:
        write(source, draft("a"), draft("b"))
        write(log, draft("c"))
        before = list(log.sealed())
        with pytest.raises(Refusal, match="another history"):
            log.take(source.sealed())
        write(log, draft("d"), draft("e"))
        with pytest.raises(Refusal, match="holds 3 entries, more than"):
            log.take(source.sealed())
        assert list(log.sealed())[:1] == before


def test_a_broken_chain_is_not_taken_at_all(log, tmp_path):
    with open_log(str(tmp_path / "from.riglog"), create=True) as source:
        write(source, *(draft(str(i)) for i in range(2500)))
        rows = list(source.sealed())
    rows[2400] = rows[2400]._replace(record=rows[2400].record.replace("wing", "x").replace("Wing", "Kite"))
    with pytest.raises(BadFile, match="entry 2401: its text is not what was sealed"):
        log.take(rows)
    assert log.head().entries == 0


def test_an_import_that_breaks_off_leaves_nothing(log, tmp_path):
    with open_log(str(tmp_path / "from.riglog"), create=True) as source:
        write(source, *(draft(str(i)) for i in range(2500)))

        def cut():
            yield from itertools.islice(source.sealed(), 2200)
            raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            log.take(cut())
    assert log.head().entries == 0
    write(log, draft())
    assert log.verify().entries == 1


def test_making_it_again_changes_nothing(log, place):
    write(log, draft())
    with open_log(place, create=True) as again:
        assert again.head() == log.head()


@pytest.mark.slow
def test_eight_who_make_it_at_once_make_one(place):
    code = (
        "import sys; from rigging.log.store import open_log; from rigging.log.entry import Draft\n"
        "from rigging.cli.options import CLOCK\n"
        "print('ready', flush=True); sys.stdin.readline()\n"
        "with open_log(sys.argv[1], CLOCK, create=True) as log:\n"
        "    log.append([Draft('A. Wing', 'note', 'Reedling 3', '', {})], program='test', tables={})\n"
    )
    makers = [
        subprocess.Popen(
            [sys.executable, "-c", code, place],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(8)
    ]
    try:
        for maker in makers:
            assert maker.stdout.readline() == "ready\n"
        for maker in makers:
            maker.stdin.write("go\n")
            maker.stdin.flush()
        for maker in makers:
            _, errors = maker.communicate(timeout=60)
            assert maker.returncode == 0, errors
    finally:
        for maker in makers:
            maker.kill()
            maker.communicate()
    with open_log(place) as log:
        assert log.verify().entries == 8


def test_a_lost_race_is_run_again(log, monkeypatch):
    """A writer without the lock, as one of another program would be, comes in between reading the head and writing."""
    write(log, draft())
    backend = log._backend
    monkeypatch.setattr(backend, "lock", lambda connection: None)
    interfered = []

    def now():
        if not interfered:
            interfered.append(True)
            monkeypatch.undo()
            write(log, draft("in between"))
            monkeypatch.setattr(backend, "lock", lambda connection: None)
        return WHEN

    [entry] = write(log, draft("mine"), now=now)
    assert interfered and entry.sequence == 3
    assert [e.payload["text"] for e in log.entries()] == ["wiped", "in between", "mine"]
    assert log.verify().entries == 3


def test_a_lost_race_is_not_run_again_where_the_decision_rests_on_the_head(log, monkeypatch):
    write(log, draft())
    backend, head = log._backend, log.head().head_hash
    monkeypatch.setattr(backend, "lock", lambda connection: None)

    def now():
        monkeypatch.undo()
        write(log, draft("in between"))
        return WHEN

    with pytest.raises(Moved):
        write(log, draft("mine"), now=now, after=head)
    assert [e.payload["text"] for e in log.entries()] == ["wiped", "in between"]


def test_who_never_gets_a_turn_is_told_so(log, monkeypatch):
    monkeypatch.setattr("rigging.log.store.TRIES", 3)
    monkeypatch.setattr(log._backend, "lock", lambda connection: (_ for _ in ()).throw(RuntimeError("race")))
    monkeypatch.setattr(log._backend, "lost_race", lambda error: str(error) == "race")
    with pytest.raises(Refusal, match="others wrote first 3 times: nothing was written"):
        write(log, draft())
