"""Everything that reads what a user wrote, as functions of bytes: only a RiggingError may come out of them.

Each target reads its bytes as the program would and goes on as the commands do, so that what was let in does no harm later.
"""

from __future__ import annotations

import atexit
import contextlib
import importlib.util
import io
import math
import re
import shutil
import struct
import sys
import tempfile
import unittest.mock
import warnings
from collections.abc import Callable
from functools import cache
from itertools import islice, pairwise
from pathlib import Path
from typing import Any, NamedTuple

import msgspec
from rich.console import Console

from rigging import tables
from rigging.bands import parse_angle_band, parse_band
from rigging.cli.options import CLOCK
from rigging.errors import Refusal, RiggingError
from rigging.jobs.brief import Brief, brief
from rigging.jobs.check import check
from rigging.jobs.circuit_history import gather
from rigging.jobs.envelope import envelope
from rigging.jobs.judged import judged
from rigging.jobs.open_items import status
from rigging.jobs.record import record
from rigging.jobs.recorded_check import recomputing
from rigging.jobs.session import begun, next_step
from rigging.jobs.settle import settle
from rigging.jobs.sign import sign
from rigging.jobs.standing import standing
from rigging.judge.chart import check_chart, limits_from_chart
from rigging.judge.temperatures import Condition
from rigging.log.chain import GENESIS, seal
from rigging.log.contents import sort_out
from rigging.log.entry import check_names, check_payload, entry_of, text_of, time_of
from rigging.log.exchange import export_jsonl, export_rows, import_jsonl
from rigging.log.kinds import KINDS, read_given
from rigging.log.store import open_log
from rigging.measure.card import (
    dial_to_lbf,
    dial_window,
    interpolation_error_lbf,
    lbf_to_dial,
    load_card,
    local_slope_lbf,
)
from rigging.measure.peaks import spectrum_peaks
from rigging.measure.wav import load_wav
from rigging.report import as_csv, as_json, log_data, record_data
from rigging.report.html import page
from rigging.report.text.log import show_entry, show_lines, show_status
from rigging.sheet.history import load_history
from rigging.sheet.load import load_rig
from rigging.sheet.readings import load_readings
from rigging.units import QUANTITIES, parse, parse_size, size_in

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"


def beside(path: Path) -> Any:
    """A helper module by its path; the tests are no package."""
    name = f"fuzz_{path.stem}"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None and spec.loader is not None
        sys.modules[name] = module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    return sys.modules[name]


mutate = beside(Path(__file__).with_name("mutate.py"))
dabchick = beside(ROOT / "tests" / "dabchick.py")
DAY = dabchick.DAY


class Target(NamedTuple):
    """A reader: what it does with bytes, the valid files to start from, the steps that bend them, the longest input."""

    read: Callable[[bytes], None]
    seeds: Callable[[], list[bytes]]
    steps: tuple[Any, ...]
    longest: int = 16_384


@cache
def _folder() -> Path:
    """A folder of its own for each process, with the examples' cards and chart beside whatever is written there."""
    folder = Path(tempfile.mkdtemp(prefix="rigging-fuzz-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for path in (*EXAMPLES.glob("*/card*.yaml"), *EXAMPLES.glob("*/*chart.yaml")):
        (folder / path.name).write_bytes(path.read_bytes())
    (folder / "card.yaml").write_text(dabchick.CARD)
    return folder


def _put(name: str, data: bytes) -> Path:
    path = _folder() / name
    path.write_bytes(data)
    return path


@cache
def _rig(name: str) -> Any:
    return load_rig(EXAMPLES / name / "sheet.yaml")


def _finite(*values: float) -> None:
    assert all(math.isfinite(v) for v in values), f"not finite: {values}"


def units(data: bytes) -> None:
    """The grammar of quantities, sizes and bands; what is taken must be a finite figure."""
    text = data.decode("utf-8", "surrogateescape")
    taken = []
    for name in QUANTITIES:
        with contextlib.suppress(RiggingError):
            taken.append(parse(name, text))
    with contextlib.suppress(RiggingError):
        size = parse_size(text)
        assert 0 < size_in(size) < 1 and parse_size(size) == size
    with contextlib.suppress(RiggingError):
        band = parse_band(text)
        taken += [band.low_lbf, band.target_lbf, band.high_lbf]
        assert 0 <= band.low_lbf <= band.target_lbf <= band.high_lbf
    with contextlib.suppress(RiggingError):
        angles = parse_angle_band(text)
        taken += [angles.low_deg, angles.high_deg]
        assert angles.low_deg < angles.high_deg
    _finite(*taken)


def sheet(data: bytes) -> None:
    """A rig sheet, then the check and the envelope of the aircraft it describes."""
    rig = load_rig(_put("sheet.yaml", data))
    as_json.dumps(as_json.check(check(rig, [], DAY, 54.0)))
    for name in rig.file.circuits:
        with contextlib.suppress(RiggingError):
            envelope(rig, name)


def card(data: bytes) -> None:
    """A calibration card, then every column at its points and between them, both ways."""
    found = load_card(_put("own-card.yaml", data))
    found.in_date(DAY)
    for column in found.columns:
        # every look-up walks the column: of a very long one the beginning will do
        for (dial, tension), (above, more) in islice(pairwise(column.points), 200):
            for at in (dial, (dial + above) / 2, above):
                there = dial_to_lbf(column, at)
                _finite(
                    there, lbf_to_dial(column, there), interpolation_error_lbf(column, at), local_slope_lbf(column, at)
                )
            with contextlib.suppress(Refusal):
                _finite(*dial_window(column, tension, more, found.division))


def readings(data: bytes) -> None:
    """A CSV of readings, then the check by them."""
    rig = _rig("reedling")
    rows = load_readings(_put("readings.csv", data), rig)
    as_json.dumps(as_json.check(check(rig, rows, DAY)))


def history(data: bytes) -> None:
    """A CSV of a cable settling, then where it will end."""
    rig = _rig("reedling")
    events = load_history(_put("history.csv", data), rig)
    for _ in settle(rig, events):
        pass


def table(data: bytes) -> None:
    """A table file with the source of every cell, then as the chart of a sheet."""
    found = tables.load_file(_put("own-table.yaml", data))
    for row in islice(found.rows, 200):
        str(row.label)
        for column in found.file.columns:
            row.source(column)
    if found.file.kind != "chart":
        return
    check_chart(found)
    for name in sorted({row.values["for"] for row in found.rows})[:50]:
        with contextlib.suppress(Refusal):
            limits = limits_from_chart(found, name, Condition(54.0, 2.0), 70.0)
            _finite(limits.low_lbf, limits.high_lbf, limits.slope_lbf_per_degF)


class _LateLog:
    """A log that is made when something is taken into it: most files are refused before."""

    def __init__(self) -> None:
        self.log: Any = None

    def open(self) -> Any:
        if self.log is None:
            path = _folder() / "taken.riglog"
            for old in path.parent.glob("taken.riglog*"):
                old.unlink()
            self.log = open_log(str(path), CLOCK, create=True)
        return self.log

    def take(self, rows: Any) -> int:
        return int(self.open().take(rows))

    def head(self) -> Any:
        return self.open().head()


@cache
def _dabchick_rig() -> Any:
    _put("dabchick.yaml", dabchick.SHEET.encode())
    return load_rig(_folder() / "dabchick.yaml")


def sealed(data: bytes) -> bytes:
    """Lines as the records of an export that is whole: numbered and sealed, so that what they say is looked at."""
    head, rows = GENESIS, []
    for i, line in enumerate(data.split(b"\n"), 1):
        record = re.sub(r'"sequence":\s*-?\d+', f'"sequence":{i}', line.decode("utf-8", "replace"), count=1)
        rows.append(seal(i, record, head))
        head = rows[-1].hash
    lines = [{"rig_log": 1, "entries": len(rows), "head_hash": head}, *(row._asdict() for row in rows)]
    return b"".join(msgspec.json.encode(line) + b"\n" for line in lines)


def log_import(data: bytes) -> None:
    """An export as it stands, or its records sealed anew; what is taken must be read, shown, exported and judged."""
    raw = data if b"rig_log" in data[:40] else sealed(data)
    late = _LateLog()
    try:
        import_jsonl(late, _put("export.jsonl", raw))  # type: ignore[arg-type]
        log = late.open()
        assert log.verify().intact
        export_jsonl(log, io.StringIO())
        as_csv.dumps(export_rows(log), ("sequence", "payload"))
        for entry in log.entries():
            time_of(entry.time_utc)
        status(_dabchick_rig(), gather(log.in_brief(Brief, brief)), DAY)
    finally:
        if late.log is not None:
            late.log.close()


def foreign_log(data: bytes) -> None:
    """A log whose chain is whole and whose entries are anybody's, through everything that reads a log."""
    rig = _dabchick_rig()
    late = _LateLog()
    try:
        import_jsonl(late, _put("foreign.jsonl", sealed(data)))  # type: ignore[arg-type]
        log = late.open()
        screen = Console(file=io.StringIO(), width=80)
        again = recomputing(log, as_json.check)
        for entry in log.entries():
            as_json.dumps(log_data.entry(entry))
            came = None
            with contextlib.suppress(Refusal):
                came = again(entry.sequence)
            show_entry(screen, entry, came)
        show_lines(screen, [log_data.line(entry) for entry in log.entries()])
        as_json.dumps(log_data.status(state := standing(log, rig)))
        show_status(screen, state)
        found = record(log, rig, again)
        as_json.dumps(record_data.record(found))
        with unittest.mock.patch.object(page.Pictures, "_drawn", lambda *_: None):
            page.page(found)
        fitting, _ = sort_out(log.entries(aircraft=rig.names))
        if begun(fitting) is not None:
            next_step(rig, fitting)
        with contextlib.suppress(Refusal):
            sign(log, rig, dabchick.SECOND)
    finally:
        if late.log is not None:
            late.log.close()


def entries(data: bytes) -> None:
    """A record of the log, and fields of an entry as JSON, read as every kind."""
    text = data.decode("utf-8", "surrogateescape")
    with contextlib.suppress(RiggingError):
        entry = entry_of(text)
        check_names(entry)
        check_payload(entry.payload)
        assert entry_of(text_of(entry)) == entry
    try:
        given = msgspec.json.decode(text, type=dict[str, Any])
    except (msgspec.MsgspecError, UnicodeError, RecursionError):  # the command says so
        return
    for kind in KINDS:
        with contextlib.suppress(RiggingError):
            read = read_given(kind, given, "here")
            check_payload({"given": given})
            judged(_dabchick_rig(), kind, "rudder", read)


def wav(data: bytes) -> None:
    """A recording, then its peaks as a pluck looks for them."""
    path = _put("pluck.wav", data)
    sound = load_wav(path)
    assert sound.samples.ndim == 2 and abs(sound.samples).max() < 1e7
    found = spectrum_peaks(sound, 3.0, 400.0)
    _finite(*(x for p in found.peaks for x in (p.frequency_Hz, p.standard_uncertainty_Hz)))


def _unit_seeds() -> list[bytes]:
    texts = ("54F", "-12.5 °C", "1/8 in", "14 ft 3 in", "2 1/2 in", "14' 3\"", "40 lbf", "180 N", "30..40 lbf @ 70F", "35 +-10% lbf",
             "35 lbf +-5 lbf @ 21C", "130 to 180 N", "18..22 deg", "0 +-0.5 deg", "5/32", "23.6e-6/C", "5 lbf/in", "2%", "20 h", "3 lb/100 ft")  # fmt: skip
    return [text.encode() for text in texts]


def _files(*patterns: str) -> list[bytes]:
    return [path.read_bytes() for pattern in patterns for path in sorted(ROOT.glob(pattern))]


def _log_seeds() -> list[bytes]:
    (folder := _folder() / "book").mkdir(exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    book = dabchick.Book(folder)
    turned = book.add("adjustment", dabchick.TURN)
    book.close_all()
    book.add("inspection", dabchick.INSPECTED, who=dabchick.SECOND)
    book.add("correction", {"corrects": turned.sequence, "reason": "read on the wrong riser"}, who=dabchick.SECOND)
    out = io.StringIO()
    export_jsonl(book.log, out)
    book.log.close()
    records = [msgspec.json.decode(line)["record"] for line in out.getvalue().splitlines()[1:]]
    small = [r for r in records if len(r) < 8000]
    return [sealed("\n".join(small[:6]).encode()), "\n".join(small).encode(), *(r.encode() for r in small)]


def _foreign_seeds() -> list[bytes]:
    """A whole job, the beginning of a guided session, and every kind of entry, as records one below the other."""
    (folder := _folder() / "job").mkdir(exist_ok=True)
    for old in folder.iterdir():
        old.unlink()
    book = dabchick.Book(folder)
    book.add("cable-fitted", {**GIVEN[6], "cable": "left"})
    turned = book.add("adjustment", dabchick.TURN)
    book.add(
        "correction",
        {"corrects": turned.sequence, "reason": "miscounted", "instead": {**dabchick.TURN, "half_turns": 1}},
    )
    book.check(left=44)
    book.close_all()
    book.add("safetying", {**dabchick.CLOSING["safetying"], "turnbuckle": "right"})
    book.add("inspection", dabchick.INSPECTED, who=dabchick.SECOND)
    book.add("condition", {"part": "left", "worn": "10%", "broken_wires": 0})
    book.add("note", {"text": "new locking clips ordered"}, circuit="")
    signed = len(list(book.log.entries()))
    sign(book.log, book.rig, dabchick.RIGGER)
    for kind, given, circuit in (
        ("session", {"circuits": ["rudder"]}, ""),
        ("conditions", GIVEN[3], ""),
        ("pins", {"inserted": True}, "rudder"),
        ("reading", {"run": "left", "riser": 1, "dial": ["41", "42"], "tensiometer": "K-7"}, "rudder"),
        ("cycled", {"times": 5}, "rudder"),
        ("skipped", {"step": "rudder/cycle", "reason": "no room"}, ""),
        ("answer", {"step": "rudder/reading/right", "field": ["dial"], "value": "40"}, ""),
        ("again", {"steps": ["rudder/cycle"], "reason": "asked for"}, ""),
    ):
        book.add(kind, given, circuit=circuit)
    records = [text_of(entry) for entry in book.log.entries()]
    book.log.close()
    return ["\n".join(part).encode() for part in (records, records[:signed], records[:8])]


def _entry_seeds() -> list[bytes]:
    given = [*dabchick.CLOSING.values(), dabchick.INSPECTED, dabchick.TURN, *GIVEN]
    return [msgspec.json.encode(g) for g in given] + _log_seeds()[2:8]


GIVEN: tuple[dict[str, Any], ...] = (
    {"part": "left", "worn": "10%", "broken_wires": 0, "splice_to_bend": "4 in", "primary": True},
    {"tension": "14 lbf", "uncertainty": "0.8 lbf", "structure": "54F", "instrument": "0417"},
    {"run": "left", "station": "wing root", "riser": 1, "dial": ["31", "32"], "tensiometer": "0417"},
    {"state": "on wheels", "structure": "54F", "air": "55F", "steady_since": "07:30"},
    {"task": "tension of every circuit", "airframe_hours": 1204.5},
    {"corrects": 12, "reason": "wrong riser", "instead": {"run": "left"}},
    {"cable": "left", "assembly": "R-114", "batch": "W2207", "proof_load": "1200 lbf", "proof_time": "3 min", "gauge": "L-09"},
    {"times": 5}, {"pins_in": True}, {"text": "new locking wire ordered"}, {"circuits": ["rudder"]},
    {"cable": "left", "certificate": "C-4471"},
    {"turnbuckle": "left", "method": "locking wire", "wire_diameter": "0.040 in", "wire_material": "stainless", "wrap": "single",
     "threads_showing": [2, 2], "safe": True},
)  # fmt: skip


def recording(rate: int = 2000, seconds: float = 1.5, bits: int = 16, channels: int = 1, kind: int = 1) -> bytes:
    """A dying string of 20 Hz and its overtones as WAV."""
    count = int(rate * seconds)
    wave = [
        sum(math.exp(-3 * i / rate) / n * math.sin(40 * math.pi * n * i / rate) for n in (1, 2, 3)) / 2
        for i in range(count)
    ]
    pack: dict[tuple[int, int], Callable[[float], bytes]] = {
        (1, 8): lambda x: bytes([int(127 * x) + 128]),
        (1, 16): lambda x: struct.pack("<h", int(32767 * x)),
        (1, 24): lambda x: struct.pack("<i", int(8388607 * x) << 8)[1:],
        (3, 32): lambda x: struct.pack("<f", x),
    }
    samples = b"".join(pack[kind, bits](x) * channels for x in wave)
    frame = channels * bits // 8
    form = struct.pack("<HHIIHH", kind, channels, rate, rate * frame, frame, bits)
    body = b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", len(samples)) + samples
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _wav_seeds() -> list[bytes]:
    return [
        recording(),
        recording(bits=8, channels=2),
        recording(bits=24, rate=1000),
        recording(bits=32, kind=3, rate=1000),
    ]


def _sheet_seeds() -> list[bytes]:
    bench = re.sub(r"tensiometers: .*\n", "tensiometers: [card.yaml]\n", dabchick.SHEET)
    return [dabchick.SHEET.encode(), bench.encode(), *_files("examples/*/sheet.yaml")]


TEXT = mutate.TEXT_STEPS
TARGETS: dict[str, Target] = {
    "units": Target(units, _unit_seeds, TEXT, 256),
    "sheet": Target(sheet, _sheet_seeds, TEXT),
    "card": Target(
        card, lambda: [dabchick.CARD.encode(), *_files("examples/*/card*.yaml", "tests/validation/cards/*.yaml")], TEXT
    ),
    "readings": Target(readings, lambda: _files("examples/reedling/readings.csv"), TEXT),
    "history": Target(history, lambda: _files("examples/reedling/settling.csv"), TEXT),
    "table": Target(
        table, lambda: [f for f in _files("examples/*/*chart.yaml", "tables/*.yaml") if len(f) < 8000], TEXT
    ),
    "log import": Target(log_import, _log_seeds, TEXT, 32_768),
    "foreign log": Target(foreign_log, _foreign_seeds, TEXT, 131_072),
    "entries": Target(entries, _entry_seeds, TEXT),
    "wav": Target(wav, _wav_seeds, mutate.WAV_STEPS, 65_536),
}


def attempt(name: str, data: bytes) -> str | None:
    """Read the bytes; the text of the refusal, None where they were taken. Anything but a RiggingError escapes."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")  # a warning is talk that nobody wrote
            TARGETS[name].read(data)
    except RiggingError as error:
        text = str(error)
        assert text.strip(), "an error without a word"
        return text
    return None
