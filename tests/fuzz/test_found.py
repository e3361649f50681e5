"""What the searches and the large files have found, one plain test for each, so that it stays mended."""

from __future__ import annotations

import importlib.util
import json
import sqlite3
import struct
import warnings
from pathlib import Path
from typing import Any

import msgspec
import pytest

from rigging.errors import LONGEST_MESSAGE, MOST_KNOWN, MOST_PROBLEMS, BadFile, Problem, Refusal, nearest
from rigging.hardware.turnbuckle import MOST_HALF_TURNS
from rigging.jobs.brief import Brief
from rigging.jobs.snapshot import rebuild
from rigging.log.chain import seal
from rigging.log.entry import text_of
from rigging.log.kinds import read_given
from rigging.measure.wav import MOST_SAMPLES, load_wav
from rigging.sheet.history import MOST_ROWS, parse_history
from rigging.sheet.load import MOST_LINKS, load_rig
from rigging.sheet.readings import parse_readings
from rigging.tables import MOST_CELLS, load_file
from rigging.yamlfile import loads

ROOT = Path(__file__).resolve().parents[2]
MEMORY_MB = 500.0  # the promise for any input
PATIENCE_S = 20.0  # those that hung took minutes


def _large() -> Any:
    spec = importlib.util.spec_from_file_location("fuzz_large", Path(__file__).with_name("large.py"))
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


large = _large()
ADJUSTED = {"turnbuckle": "left", "half_turns": 1, "threads_showing": [1, 1]}
HISTORY = "time,circuit,run,tension,uncertainty,structure,cycles,half_turns\n"


@pytest.fixture(scope="module")
def rig() -> Any:
    return load_rig(ROOT / "examples" / "reedling" / "sheet.yaml")


def wav(kind: int, bits: int, samples: bytes) -> bytes:
    body = b"WAVEfmt " + struct.pack("<IHHIIHH", 16, kind, 1, 8000, 8000 * bits // 8, bits // 8, bits)
    body += b"data" + struct.pack("<I", len(samples)) + samples
    return b"RIFF" + struct.pack("<I", len(body)) + body


# tracebacks


@pytest.mark.parametrize("count", ["+-5", "-+5", "++5", "+", "5+"])
@pytest.mark.parametrize("column", ["cycles", "half_turns"])
def test_a_count_with_two_signs_is_no_count(rig: Any, count: str, column: str) -> None:
    cells = (count, "") if column == "cycles" else ("", count)
    with pytest.raises(BadFile, match=f"h.csv:2: {column}: .* is not a whole number: write it like 2 or -2"):
        parse_history(f"{HISTORY}2026-11-02T10:00,elevator,up,30 lbf,1 lbf,54F,{','.join(cells)}\n", "h.csv", rig)


@pytest.mark.parametrize("time", ["0001-01-01T00:00+23:59", "9999-12-31T23:59-23:59"])
def test_a_time_that_leaves_the_calendar_in_utc_is_no_time(rig: Any, time: str) -> None:
    with pytest.raises(BadFile, match=r"h\.csv:2: time: .* is not a day and a time of day"):
        parse_history(f"{HISTORY}{time},elevator,up,30 lbf,1 lbf,54F,,\n", "h.csv", rig)


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("threads_showing", [int("9" * 400), 1], "threads_showing / no. 1: 999999999999… (400 digits) is no finite number"),
        ("threads_showing", [float("inf"), 1], "threads_showing / no. 1: inf is no finite number"),
        ("threads_showing", [float("nan"), 1], "threads_showing / no. 1: nan is no finite number"),
        ("half_turns", int("9" * 400), "half_turns: 999999999999… (400 digits) is larger than anything counted here"),
        ("half_turns", MOST_HALF_TURNS + 1, "+41 half turns are more than a turnbuckle has"),
    ],
)  # fmt: skip
def test_a_number_beyond_all_use_is_refused(field: str, value: object, said: str) -> None:
    with pytest.raises(BadFile) as caught:
        read_given("adjustment", {**ADJUSTED, field: value}, "here")
    assert said in str(caught.value)


@pytest.fixture
def at_the_log(bench: Any, rigging: Any) -> Any:
    def run(*words: str, stdin: str = "") -> Any:
        return rigging("log", *words, cwd=bench.folder, stdin=stdin, RIGGING_WHO="A. Finch")

    return run


def one_line(ran: Any, code: int) -> str:
    assert ran.code == code
    assert len(ran.err.strip().splitlines()) == 1
    return str(ran.err)


def test_fields_nested_without_end_are_refused(at_the_log: Any, bench: Any) -> None:
    (bench.folder / "deep.json").write_text('{"a":' * 100_000)
    assert "deep.json: is no JSON object" in one_line(at_the_log("add", "note", "sheet.yaml", "--from", "deep.json"), 3)


def test_piped_fields_that_are_not_utf8_are_refused(bench: Any, rigging: Any) -> None:
    import subprocess
    import sys

    command = [sys.executable, "-m", "rigging", "log", "add", "note", "sheet.yaml", "--who", "A. Finch", "--from", "-"]
    done = subprocess.run(
        command, cwd=bench.folder, input=b'{"text": "caf\xe9"}', capture_output=True, timeout=60, check=False
    )
    assert done.returncode == 3
    assert done.stderr.decode().strip() == "-:1: byte 13 is not UTF-8: save the file as UTF-8"


def test_piped_fields_without_end_are_not_read_to_their_end(at_the_log: Any) -> None:
    said = one_line(at_the_log("add", "note", "sheet.yaml", "--from", "-", stdin=" " * 20_000_001), 3)
    assert "-: is larger than 20000000 bytes" in said


@pytest.mark.parametrize("number", [10**23, 10**18])
def test_an_entry_of_a_number_that_no_log_reaches(at_the_log: Any, number: int) -> None:
    at_the_log("add", "note", "sheet.yaml", "--text", "wing folded")
    assert at_the_log("show", "sheet.yaml", str(number)).code == 2
    given = json.dumps({"corrects": number, "reason": "x"})
    assert "corrects: " in one_line(at_the_log("add", "correction", "sheet.yaml", "--from", "-", stdin=given), 3)


@pytest.mark.parametrize("half_turns", ["'Finch'", "{}", "null", "2.5"])
def test_a_taken_entry_whose_turns_are_no_count_stays_open(book: Any, dabchick: Any, half_turns: str) -> None:
    """Sealed by whoever wrote it, so that the chain is whole; only its content is none of ours."""
    turned = book.add("adjustment", dabchick.TURN)
    record = text_of(turned).replace('"half_turns":2', f'"half_turns":{half_turns}'.replace("'", '"'))
    assert half_turns.strip("'") in record
    last = list(book.log.sealed())[-1]
    with sqlite3.connect(book.log.place) as raw:
        for (name,) in list(raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")):
            raw.execute(f"DROP TRIGGER {name}")
        own = seal(last.sequence, record, last.previous_hash).hash
        raw.execute("UPDATE entries SET record = ?, hash = ? WHERE sequence = ?", (record, own, last.sequence))
    raw.close()
    why = book.why(f"entry of #{turned.sequence}").why
    assert why.startswith("this version cannot read what it holds") and "half_turns" in why


@pytest.mark.parametrize("on", ["'tomorrow'", "3", "'0000-01-01'"])
def test_a_taken_check_of_no_day_is_said_to_be_damaged(on: str) -> None:
    record = '{"sequence":1,"time_utc":"2026-11-25T13:40:00.123456Z","who":"A. Finch","kind":"check","circuit":"","payload":{"given":{"on":%s}}}'
    with pytest.raises(msgspec.ValidationError, match=r"\$\.payload\.given\.on"):
        msgspec.json.decode(record % on.replace("'", '"'), type=Brief)


@pytest.mark.parametrize("name", ["", ".", "a\0b", "x" * 300, "..", "card.yaml/below"])
def test_a_kept_file_whose_name_is_none_is_refused(name: str, dabchick: Any) -> None:
    with pytest.raises(Refusal, match="the kept file"):
        rebuild("sheet.yaml", {"sheet.yaml": dabchick.SHEET, "card.yaml": dabchick.CARD, name: "text"})


def test_a_kept_sheet_is_read_from_what_was_kept_and_nowhere_else(tmp_path: Path, dabchick: Any) -> None:
    (tmp_path / "sheet.yaml").write_text(dabchick.SHEET)
    with pytest.raises(Refusal, match="is not in the record"):
        rebuild(str(tmp_path / "sheet.yaml"), {"card.yaml": dabchick.CARD})


# talk that nobody wrote


def test_samples_that_are_no_numbers_are_refused_without_a_warning(tmp_path: Path) -> None:
    """A signalling NaN: numpy speaks of it on stderr while converting."""
    path = tmp_path / "pluck.wav"
    path.write_bytes(wav(3, 32, struct.pack("<I", 0x7FA00000) * 100))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with pytest.raises(BadFile, match="holds samples that are no numbers"):
            load_wav(path)


# answers without end


def test_of_many_problems_the_first_are_shown() -> None:
    with pytest.raises(BadFile) as caught:
        loads("a: 1\n" * 5000, "x.yaml")
    lines = str(caught.value).splitlines()
    assert lines[0] == "x.yaml:2: a: stands twice (first in line 1): keep one"
    assert lines[MOST_PROBLEMS - 1].startswith(f"x.yaml:{MOST_PROBLEMS + 1}: ")
    assert lines[MOST_PROBLEMS].startswith(f"x.yaml: has more problems than these {MOST_PROBLEMS}")
    assert len(lines) == MOST_PROBLEMS + 1


def test_as_many_problems_as_are_shown_are_shown_without_a_word() -> None:
    assert len(BadFile([Problem("x", i, "", "y") for i in range(MOST_PROBLEMS)]).problems) == MOST_PROBLEMS


def test_many_bad_rows_of_readings_end_early(rig: Any) -> None:
    with pytest.raises(BadFile) as caught:
        parse_readings("circuit,run,riser,dial\n" + ",x\n" * 100_000, "r.csv", rig)
    assert len(caught.value.problems) == MOST_PROBLEMS + 1


def test_of_many_known_names_the_first_are_shown() -> None:
    said = nearest("zzz", (f"k{i}" for i in range(5000)))
    assert said.endswith(f"k{MOST_KNOWN - 1} and {5000 - MOST_KNOWN} more)")
    assert nearest("zzz", (f"k{i}" for i in range(MOST_KNOWN))).endswith(f"k{MOST_KNOWN - 1})")


def test_names_longer_than_any_are_not_compared() -> None:
    assert nearest("a" * 100_000, ["a" * 99_999, "stick"]) == " (known: stick and 1 more)"


def test_a_value_that_fills_pages_is_not_shown_whole() -> None:
    assert len(str(Problem("x", 1, "y", "z" * 10**6))) < LONGEST_MESSAGE + 20


# hangs and memory: each of these took from half a minute to hours, or more than the memory promised


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("sheet, one card 90 000 times", "'card.yaml' is named twice: keep one"),
        ("sheet, 100 000 unknown sectors held", "hold / no. 1: no sector 'x0' in this circuit"),
        ("sheet, 7000 circuits", f"cables and springs are more than any aircraft has ({MOST_LINKS} at most)"),
        ("chart, 60 000 names", "are more than a printed table has (2000 at most)"),
        ("readings, 140 000 columns", "heading: unknown column 'c0'"),
        ("readings, 330 000 short rows", "circuit: no circuit '' in the sheet"),
        ("history, 20 000 readings of one run", f"holds 20000 rows, {MOST_ROWS} at most"),
        ("entry, 90 000 unknown fields", None),
        ("WAV, 50 MB of 8 bit", f"50 million samples: at most {MOST_SAMPLES / 1e6:.0f}; cut out the pluck"),
        ("WAV, 14 million samples of 8 channels", None),
        ("WAV, a header that promises 4 GB", "is cut off: 1000 of 4294967280 bytes of sound are there"),
    ],
)
def test_a_large_file_is_answered_in_time_and_memory(name: str, said: str | None) -> None:
    found = large.alone(name, patience_s=6 * PATIENCE_S)
    assert (said or "") in (found["said"] or "")
    assert (found["said"] is None) is (said is None)
    assert found["seconds"] < PATIENCE_S
    assert found["peak_mb"] < MEMORY_MB


def test_a_long_row_of_sectors_is_followed_to_its_end(tmp_path: Path) -> None:
    """The walk from the held sector must not start anew at every step; as many links as a sheet may have."""
    path = tmp_path / "sheet.yaml"
    path.write_bytes(large.ladder(MOST_LINKS // 2))
    assert len(load_rig(path).runs) == MOST_LINKS


def test_a_table_with_many_cells_of_their_own_source_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "chart.yaml"
    cells = "{row: 1, column: low, basis: practice}, " * (MOST_CELLS + 1)
    path.write_text(f"{large.CHART}[a, 1, 1, 2], [a, 2, 1, 2]]\ncells: [{cells}]\n")
    with pytest.raises(BadFile, match=f"cells: {MOST_CELLS + 1} are more than a printed table has"):
        load_file(path)
