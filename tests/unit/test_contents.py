"""Entries that another program or version wrote into a whole chain: shown as they stand, and counting for nothing."""

from __future__ import annotations

from typing import Any

import pytest

from rigging.errors import BadFile, Refusal
from rigging.jobs.circuit_history import history_of
from rigging.jobs.record import record
from rigging.jobs.recorded_check import recompute
from rigging.jobs.session import do_again, keep_answer, next_step
from rigging.jobs.sign import StillOpen, sign
from rigging.jobs.standing import standing
from rigging.log.contents import check_of, misfit, sort_out, stands_instead, written_of
from rigging.log.entry import Draft
from rigging.report import as_json, log_data, record_data
from rigging.report.html.page import page

pytestmark = pytest.mark.dated

CAME = {"verdict": "recorded", "usable_for_sign_off": True, "reasons": [], "figures": {}}


def foreign(book: Any, kind: str, circuit: str = "rudder", **payload: Any) -> Any:
    """An entry that was sealed as any other, with contents of someone else's."""
    draft = Draft("O. Ther", kind, book.rig.aircraft, circuit, payload)
    return book.log.append([draft], program="another", tables={})[0]


def whole(**payload: Any) -> dict[str, Any]:
    return {"sheet": "sheet.yaml", "documents": {}, **payload}


ODD = [
    ("check", {}),
    ("check", whole(given={"on": "soon", "readings": []}, judged={"verdict": "in", "runs": []})),
    ("check", whole(given={"on": "2026-11-25", "readings": [1]}, judged={"verdict": "in", "runs": []})),
    ("travel", whole(given={"surface": "rudder", "ways": "up"}, judged=CAME)),
    ("travel", whole(given={"surface": "rudder", "ways": {"up": "20 lbf"}}, judged=CAME)),
    ("neutral", whole(given={"surface": "rudder", "offset": "0 deg"}, judged={**CAME, "figures": {"low_deg": "low"}})),
    ("travel", whole(given={"surface": "rudder", "ways": {"left": "24 deg"}},
                     judged={**CAME, "figures": {"left": {"low_deg": [22]}}})),
    ("signature", whole(given={"circuits": "rudder"}, judged={})),
    ("document", {"name": "card.yaml", "text": "serial: K-7"}),
    ("weather", {"given": {"wind": "calm"}}),
    ("correction", {"given": {"corrects": "two", "reason": "wrong"}}),
    ("adjustment", {"given": None}),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "payload"), ODD)
def test_every_reader_goes_on_past_it(book: Any, dabchick: Any, kind: str, payload: dict[str, Any]) -> None:
    book.close_all()
    entry = foreign(book, kind, **payload)
    assert misfit(entry)
    assert book.log.verify().intact
    assert "cannot be read" in log_data.line(entry)["words"] and log_data.entry(entry)["misfit"] == misfit(entry)
    standing(book.log, book.rig)
    if "judged" in payload and kind != "signature":
        again = recompute(book.log, entry.sequence, as_json.check)
        assert not again.stands and "cannot be run again" in again.differences[0]
    found = record(book.log, book.rig)
    assert [m.entry.sequence for m in found.misfits] == [entry.sequence] and found.found
    html = page(found)
    assert "1 ENTRY CANNOT BE READ" in html and "O. Ther" in html
    assert record_data.record(found)["misfits"][0]["why"] == misfit(entry)
    # it closes nothing, and is open until it is withdrawn
    assert f"entry of #{entry.sequence}" in {f"{i.what} of {i.of}" for i in found.status.open}
    with pytest.raises(StillOpen):
        sign(book.log, book.rig, dabchick.RIGGER)
    assert entry.sequence not in {r.sequence for r in found.status.closed_by.values()}


@pytest.mark.parametrize(
    "kind", ["adjustment", "inspection", "travel", "note", "signature", "document", "weather", "check"]
)
def test_it_stays_open_until_it_is_withdrawn(book: Any, dabchick: Any, kind: str) -> None:
    book.close_all()
    book.add("safetying", {**dabchick.CLOSING["safetying"], "turnbuckle": "right"})
    entry = foreign(book, kind, given={"half_turns": "two"})
    why = book.why(f"entry of #{entry.sequence}").why
    assert "this version cannot read" in why and "withdraw it by a correction" in why
    with pytest.raises(StillOpen):
        sign(book.log, book.rig, dabchick.RIGGER)
    book.add("correction", {"corrects": entry.sequence, "reason": "written by another program"}, circuit="")
    assert not [item for item in book.status().open if item.what == "entry"]
    sign(book.log, book.rig, dabchick.RIGGER)


def test_a_verdict_whose_readings_are_none_closes_nothing(book: Any, dabchick: Any) -> None:
    """What is read in haste fits: only when it is to close an item is all of it looked at."""
    run = {"circuit": "rudder", "station": "", "verdict": "in", "usable_for_sign_off": True, "action": "", "reasons": [],
           "tension_lbf": 40.0, "basis": "aircraft", "source": "sheet"}  # fmt: skip
    book.add("adjustment", dabchick.TURN)
    entry = foreign(
        book, "check", "",
        **whole(given={"on": "2026-11-25"}, judged={"verdict": "in", "runs": [{**run, "run": "left"}, {**run, "run": "right"}]}),
    )  # fmt: skip
    assert not history_of(book.log, book.rig).misfits
    opened = {i.label: i.why for i in standing(book.log, book.rig).open}
    assert f"cannot read #{entry.sequence}" in opened["rudder: tension of left"]


def test_a_correction_whose_other_half_cannot_be_read_corrects_nothing(book: Any, dabchick: Any) -> None:
    turned = book.add("adjustment", dabchick.TURN)
    given = {"corrects": turned.sequence, "reason": "miscounted", "instead": {"turnbuckle": "left"}}
    entry = foreign(book, "correction", **whole(given=given, judged=CAME))
    assert misfit(entry) == "" and misfit(stands_instead(entry, turned))
    fitting, misfits = sort_out(book.log.entries())
    assert [m.entry.sequence for m in misfits] == [entry.sequence] and turned in fitting
    found = record(book.log, book.rig)
    # what is signed goes by the same entries as the record
    assert f"entry of #{entry.sequence}" in {f"{i.what} of {i.of}" for i in found.status.open}
    with pytest.raises(StillOpen) as refused:
        sign(book.log, book.rig, dabchick.RIGGER)
    assert {i.label for i in refused.value.status.open} == {i.label for i in found.status.open}
    assert not found.corrected and [w.sequence for w in found.circuits[0].of("adjustment")] == [turned.sequence]


def test_a_session_passes_over_it(book: Any, dabchick: Any) -> None:
    book.add("session", {"circuits": ["rudder"]}, circuit="")
    before = next_step(book.rig, sort_out(book.log.entries())[0])
    foreign(book, "conditions", given={"structure": "warm"})
    assert next_step(book.rig, sort_out(book.log.entries())[0]).key == before.key


def test_what_this_program_writes_it_can_read(book: Any, dabchick: Any) -> None:
    book.add("adjustment", dabchick.TURN)
    book.close_all()
    book.add("inspection", dabchick.INSPECTED, who=dabchick.SECOND)
    assert [misfit(entry) for entry in book.log.entries()] == [""] * book.log.head().entries
    book.add("session", {"circuits": ["rudder"]}, circuit="")
    step = next_step(book.rig, sort_out(book.log.entries())[0])
    keep_answer(book.log, book.rig, step, ("state",), "on its wheels", dabchick.RIGGER)
    do_again(book.log, book.rig, ["rudder/cycle"], "asked for", dabchick.RIGGER)
    assert not sort_out(book.log.entries())[1] and not record(book.log, book.rig).misfits
    checked = next(e for e in book.log.entries() if e.kind == "check")
    assert {s.run for s in check_of(checked).judged.runs} == {"left", "right"}


def test_a_part_of_another_sort_is_no_entry_of_this_one(book: Any, dabchick: Any) -> None:
    turned = book.add("adjustment", dabchick.TURN)
    assert written_of(turned).given["half_turns"] == 2
    with pytest.raises(BadFile, match="readings"):
        check_of(turned)


def test_an_entry_number_that_no_log_can_have(book: Any) -> None:
    for number in (0, -1, 2**63, 10**30):
        with pytest.raises(Refusal, match=f"there is no entry {number}"):
            book.log.entry(number)
