"""A log out into a file and in again: the same chain, or nothing."""

import io
import json
import os
import shutil
import tracemalloc

import pytest

from rigging.cli.options import CLOCK
from rigging.errors import BadFile, Refusal
from rigging.log.chain import GENESIS, seal
from rigging.log.entry import Draft, Entry, text_of
from rigging.log.exchange import LONGEST_LINE, ROW_COLUMNS, export_jsonl, export_rows, import_jsonl
from rigging.log.reading import Head
from rigging.log.store import open_log
from rigging.report.as_csv import dumps

TEXTS = ['O\'Brien "Ted"', "<b>\n</b>", "=1+1", "\u2028 é 𝄞 \x85", "back\\slash"]


@pytest.fixture
def log(tmp_path):
    with open_log(str(tmp_path / "bench.riglog"), CLOCK, create=True) as opened:
        for text in TEXTS:
            opened.append(
                [Draft(text, "note", text, "", {"text": text, text: [1.5, None]})], program="test", tables={"a": "b"}
            )
        yield opened


@pytest.fixture
def other(tmp_path):
    with open_log(str(tmp_path / "other.riglog"), CLOCK, create=True) as opened:
        yield opened


@pytest.fixture
def file(log, tmp_path):
    """The export of the log."""
    with (tmp_path / "job.jsonl").open("w", encoding="utf-8", newline="\n") as out:
        export_jsonl(log, out)
    return tmp_path / "job.jsonl"


def lines(file):
    return file.read_bytes().split(b"\n")[:-1]


def test_a_first_line_and_one_line_for_each_entry(log, file):
    first, *rest = map(json.loads, lines(file))
    assert first == {"rig_log": 1, "entries": 5, "head_hash": log.head().head_hash}
    assert [list(r) for r in rest] == [["sequence", "record", "previous_hash", "hash"]] * 5
    assert [tuple(r.values()) for r in rest] == list(log.sealed())


def test_the_head_is_returned(log):
    assert export_jsonl(log, io.StringIO()) == log.head()


def test_it_comes_in_again_exactly(log, file, other):
    assert import_jsonl(other, file) == log.head()
    assert list(other.sealed()) == list(log.sealed())
    assert list(other.entries()) == list(log.entries())
    assert other.verify().intact


def test_a_second_time_it_changes_nothing_and_later_entries_are_added(log, file, other, tmp_path):
    import_jsonl(other, file)
    assert import_jsonl(other, file) == log.head()
    log.append([Draft("B. Strut", "note", "Heron 1", "", {})], program="test", tables={})
    with (tmp_path / "more.jsonl").open("w", encoding="utf-8") as out:
        export_jsonl(log, out)
    assert import_jsonl(other, tmp_path / "more.jsonl") == log.head() == other.head()
    assert other.head().entries == 6


def test_an_empty_log_goes_out_and_in(other, tmp_path):
    with (tmp_path / "job.jsonl").open("w", encoding="utf-8") as out:
        assert export_jsonl(other, out) == Head(0, GENESIS)
    assert import_jsonl(other, tmp_path / "job.jsonl") == Head(0, GENESIS)


def test_line_ends_of_another_system_do_not_matter(log, file, other):
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    assert import_jsonl(other, file) == log.head()


def test_another_history_is_refused(file, other):
    other.append([Draft("B. Strut", "note", "Heron 1", "", {})], program="test", tables={})
    before = list(other.sealed())
    with pytest.raises(Refusal, match="another history"):
        import_jsonl(other, file)
    assert list(other.sealed()) == before


def change(rows, n, **fields):
    row = json.loads(rows[n])
    row.update(fields)
    return [*rows[:n], json.dumps(row).encode(), *rows[n + 1 :]]


CHANGES = {
    "empty": (lambda r: [], 1, "is no export of a rig log"),
    "no first line": (lambda r: r[1:], 1, "is no export of a rig log"),
    "newer": (lambda r: change(r, 0, rig_log=2), None, "newer version"),
    "format 0": (lambda r: change(r, 0, rig_log=0), 1, "there is no format 0"),
    "fewer than said": (lambda r: r[:-1], 5, "the file ends after 4 of 5 entries: it was cut short"),
    "more than said": (
        lambda r: change(r, 0, entries=4, head_hash=json.loads(r[4])["hash"]),
        6,
        "one entry more than the 4",
    ),
    "another head": (lambda r: change(r, 0, head_hash="0" * 64), 6, "is not the head hash of the first line"),
    "cut in the line": (lambda r: [*r[:-1], r[-1][:50]], 6, "is no entry of an export"),
    "blank line": (lambda r: [*r[:2], b"", *r[2:]], 3, "is no entry of an export"),
    "not text": (lambda r: [*r[:2], b'{"sequence":\xff}', *r[3:]], 3, "is no entry of an export"),
    "another field": (lambda r: change(r, 2, more=1), 3, "is no entry of an export"),
    "dropped": (lambda r: [*r[:2], *r[3:]], 3, "entry 2: it is missing"),
    "swapped": (lambda r: [r[0], r[2], r[1], *r[3:]], 2, "entry 1: it is missing"),
    "twice": (lambda r: [*r[:3], r[2], *r[3:]], 4, "entry 3: it is missing"),
    "another record": (
        lambda r: change(r, 3, record=json.loads(r[2])["record"]),
        4,
        "entry 3: its text is not what was sealed",
    ),
    "another hash": (lambda r: change(r, 3, hash="1" * 64), 4, "entry 3: its text is not what was sealed"),
    "another previous": (lambda r: change(r, 3, previous_hash="1" * 64), 4, "entry 3: it does not follow"),
}


@pytest.mark.parametrize(("changed", "line", "says"), CHANGES.values(), ids=CHANGES)
def test_a_changed_file_is_refused_with_its_line_before_the_log_is_touched(
    file, other, monkeypatch, changed, line, says
):
    file.write_bytes(b"".join(row + b"\n" for row in changed(lines(file))))
    monkeypatch.setattr(other, "take", lambda rows: pytest.fail("the log was touched"))
    with pytest.raises((BadFile, Refusal)) as caught:
        import_jsonl(other, file)
    assert says in str(caught.value) and "\n" not in str(caught.value)
    if line is not None:
        assert [p.line for p in caught.value.problems] == [line]
    assert other.head().entries == 0


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"time_utc": "yesterday"}, "'yesterday' is not a time"),
        ({"who": ""}, "an entry needs who"),
        ({"aircraft": "x" * 300}, "aircraft has 300 characters"),
        ({"circuit": "a\0"}, "zero character"),
    ],
)
def test_an_entry_that_no_log_would_have_written_is_refused_though_it_is_sealed(other, tmp_path, fields, says):
    good = {
        "sequence": 1,
        "time_utc": "2026-11-25T13:40:00.000000Z",
        "who": "A. Wing",
        "kind": "note",
        "aircraft": "Reedling 3",
        "circuit": "",
        "payload": {},
        "program": "test",
        "tables": {},
    }
    for extra, refused in (({}, False), (fields, True)):
        row = seal(1, json.dumps({**good, **extra}), GENESIS)
        first = {"rig_log": 1, "entries": 1, "head_hash": row.hash}
        (tmp_path / "job.jsonl").write_text(
            json.dumps(first) + "\n" + json.dumps(row._asdict()) + "\n", encoding="utf-8"
        )
        if refused:
            (tmp_path / "new").unlink(missing_ok=True)
            with open_log(str(tmp_path / "new"), CLOCK, create=True) as new, pytest.raises(BadFile) as caught:
                import_jsonl(new, tmp_path / "job.jsonl")
            assert says in str(caught.value) and caught.value.problems[0].line == 2
        else:
            assert import_jsonl(other, tmp_path / "job.jsonl").entries == 1


def test_a_line_without_end_does_not_fill_the_memory(other, tmp_path):
    file = tmp_path / "job.jsonl"
    file.write_text('{"rig_log": 1, "entries": 1, "head_hash": "x"}\n', encoding="utf-8")
    os.truncate(file, 400_000_000)  # zeros that take no room on the disk
    tracemalloc.start()
    with pytest.raises(BadFile, match=r"job\.jsonl:2: is longer than any entry can be \(8 MB\)"):
        import_jsonl(other, file)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 4 * LONGEST_LINE


def test_the_largest_entry_fits_into_a_line_however_it_is_written(other, tmp_path):
    entry = Entry(
        1, "2026-11-25T13:40:00.000000Z", "A. Wing", "note", "Reedling 3", "", {"text": '"' * 990_000}, "test", {}
    )
    row = seal(1, text_of(entry), GENESIS)
    first = {"rig_log": 1, "entries": 1, "head_hash": row.hash}
    (tmp_path / "job.jsonl").write_text(json.dumps(first) + "\n" + json.dumps(row._asdict()) + "\n", encoding="utf-8")
    assert import_jsonl(other, tmp_path / "job.jsonl") == Head(1, row.hash)


def test_a_file_that_is_not_there_or_a_folder(other, tmp_path):
    with pytest.raises(BadFile, match="is not there"):
        import_jsonl(other, tmp_path / "none.jsonl")
    with pytest.raises(BadFile, match="is a folder"):
        import_jsonl(other, tmp_path)


def test_a_file_that_changes_between_the_two_readings_is_not_taken(log, file, other, monkeypatch):
    """Verified once, and then replaced: what is taken is verified again."""
    take = other.take

    def replaced_first(rows):
        shutil.copy(file, f"{file}.old")
        file.write_bytes(b"".join(row + b"\n" for row in lines(file)[:-1]))
        return take(rows)

    monkeypatch.setattr(other, "take", replaced_first)
    with pytest.raises(BadFile, match="cut short"):
        import_jsonl(other, file)
    assert other.head().entries == 0


def test_a_broken_log_is_not_exported_as_a_good_one(log):
    with log._backend.engine.connect() as connection:
        connection.exec_driver_sql("DROP TRIGGER entries_no_update")
        connection.exec_driver_sql("UPDATE entries SET record = replace(record, 'slash', 'dash') WHERE sequence = 5")
    out = io.StringIO()
    with pytest.raises(BadFile, match="entry 5: its text is not what was sealed: verify the log"):
        export_jsonl(log, out)
    with pytest.raises(BadFile, match="entry 5"):
        list(export_rows(log))


def test_a_log_with_an_entry_taken_out_is_not_exported(log):
    with log._backend.engine.connect() as connection:
        connection.exec_driver_sql("DROP TRIGGER entries_no_delete")
        connection.exec_driver_sql("DELETE FROM entries WHERE sequence = 3")
    with pytest.raises(BadFile, match="entry 3: it is missing"):
        export_jsonl(log, io.StringIO())


def test_what_others_add_meanwhile_is_left_for_the_next_export(log):
    class Slow(io.StringIO):
        def write(self, text):
            if '"sequence":2' in text:
                log.append([Draft("B. Strut", "note", "Heron 1", "", {})], program="test", tables={})
            return super().write(text)

    out = Slow()
    assert export_jsonl(log, out).entries == 5
    assert out.getvalue().count("\n") == 6
    assert log.head().entries == 6


def test_rows_hold_every_cell_as_text(log):
    rows = list(export_rows(log))
    for row, entry, sealed in zip(rows, log.entries(), log.sealed(), strict=True):
        assert tuple(row) == ROW_COLUMNS
        assert (row["sequence"], row["time_utc"], row["hash"]) == (str(entry.sequence), entry.time_utc, sealed.hash)
        assert (row["who"], row["kind"], row["aircraft"], row["circuit"]) == (
            entry.who,
            entry.kind,
            entry.aircraft,
            entry.circuit,
        )
        assert json.loads(row["payload"]) == entry.payload


def test_no_cell_of_the_table_is_run_as_a_formula(tmp_path):
    formulas = ['=HYPERLINK("x")', "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", '"=1', "'=1"]
    with open_log(str(tmp_path / "bench.riglog"), CLOCK, create=True) as log:
        for text in formulas:
            log.append([Draft(text, text, text, text, {text: text})], program="test", tables={})
        import csv

        _, *rows = csv.reader(io.StringIO(dumps(export_rows(log), ROW_COLUMNS)))
    assert len(rows) == len(formulas)
    for row in rows:
        assert all(cell.startswith("'") for cell in row[2:6])
        assert row[6].startswith("{")
