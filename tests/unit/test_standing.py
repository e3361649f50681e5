"""What must keep a job from being signed although every entry by itself looks right: found by a first user."""

import datetime as dt

import pytest

from rigging.errors import Refusal
from rigging.jobs.entering import enter
from rigging.jobs.sign import StillOpen, sign
from rigging.jobs.standing import standing
from rigging.sheet.load import load_rig

pytestmark = pytest.mark.dated


def open_now(book, rig=None):
    return {i.label.removeprefix("rudder: ") for i in standing(book.log, rig or book.rig).open}


@pytest.fixture
def done(book, dabchick):
    """Everything done after a turn, and looked at by a second person."""
    book.add("adjustment", dabchick.TURN)
    book.close_all()
    book.add("inspection", dabchick.INSPECTED, dabchick.SECOND)
    assert open_now(book) == set()
    return book


def another_sheet(folder, dabchick, old, new):
    assert old in dabchick.SHEET
    path = folder / "sheet.yaml"
    path.write_text(dabchick.SHEET.replace(old, new))
    return load_rig(path)


def test_a_run_never_read_beside_one_that_was(book, dabchick):
    book.check(right=None)
    assert open_now(book) == {"tension of right"}
    with pytest.raises(StillOpen):
        sign(book.log, book.rig, dabchick.RIGGER)


def test_rig_pins_that_are_in(done, dabchick):
    done.add("pins", {"inserted": True})
    assert open_now(done) == {"pins"}
    done.add("pins", {"inserted": False})
    assert open_now(done) == set()


def test_a_registration_given_in_the_middle_of_the_build(book, dabchick, tmp_path):
    book.add("adjustment", dabchick.TURN)
    renamed = another_sheet(tmp_path, dabchick, "{name: Dabchick}", "{name: Dabchick, registration: X-DAB}")
    assert open_now(book, renamed) == {"aircraft: name"}
    said = another_sheet(
        tmp_path, dabchick, "{name: Dabchick}", "{name: Dabchick, registration: X-DAB, formerly: [Dabchick]}"
    )
    assert "travel of rudder" in open_now(book, said)
    enter(book.log, said, "direction", "rudder", dabchick.CLOSING["direction"], "A. Finch", "here")
    assert "direction of rudder" not in open_now(book, said)


@pytest.mark.parametrize(
    ("old", "new", "opened"),
    [
        ("left: 22..26 deg", "left: 34..38 deg", {"travel of rudder"}),
        ("{left pedal: left, right pedal: right}", "{left pedal: right, right pedal: left}", {"direction of rudder", "inspection"}),
        ("friction_limit: 3 lbf", "friction_limit: 1 lbf", {"friction"}),
        ('limits: 30..50 lbf @ 70F, limits_source: "Dabchick notes, sheet 1"}\n      right', 'limits: 45..65 lbf @ 70F, limits_source: "Dabchick notes, sheet 1"}\n      right', {"tension of left"}),
        ("reference_temperature: 70F", "reference_temperature: 70F  # a word more", set()),
    ],
)  # fmt: skip
def test_a_sheet_changed_after_the_work_judges_it_again(done, dabchick, tmp_path, old, new, opened):
    rig = another_sheet(tmp_path, dabchick, old, new)
    assert open_now(done, rig) == opened
    if opened:
        assert all("by today's" in i.why for i in standing(done.log, rig).open)
        with pytest.raises(StillOpen):
            sign(done.log, rig, dabchick.RIGGER)


@pytest.mark.parametrize(
    "who",
    ["A Finch", "A.Finch", "afinch", "Finch, A.", "Anna Finch", "A. Fïnch", "A. Finch\u200b", "A. Finch (inspector)"],
)
def test_another_spelling_is_no_other_person(book, dabchick, who):
    book.add("adjustment", dabchick.TURN)
    with pytest.raises(Refusal, match="did the work"):
        book.add("inspection", dabchick.INSPECTED, who)


def test_letters_that_only_look_alike_are_no_name(book, dabchick):
    with pytest.raises(Refusal, match="two alphabets"):
        book.add("note", {"text": "x"}, "\u0410. Finch", circuit="")


def test_a_reading_of_a_day_before_the_turn_closes_nothing(book, dabchick):
    book.add("adjustment", dabchick.TURN)
    turned = next(iter(book.log.entries(kinds={"adjustment"})))
    book.check(day=dt.date.fromisoformat(turned.time_utc[:10]) - dt.timedelta(days=30))
    assert {"tension of left", "tension of right"} <= open_now(book)
    assert "before the turnbuckle of left was turned" in book.why("tension of left").why


def test_the_wrong_stop_first_is_a_finding(tmp_path, dabchick):
    sheet = dabchick.SHEET.replace("        neutral: 0", "        stops: at the surface\n        neutral: 0")
    book = dabchick.Book(tmp_path, sheet)
    book.add("stops", {"surface": "rudder", "touches_first": {"left": "surface stop", "right": "pedals"}})
    assert "right: pedals touches first, the sheet says: at the surface" in book.why("stops").why
    book.add("stops", {"surface": "rudder", "touches_first": {"left": "Surface", "right": "the surface"}})
    # who found it and put it right is not who looks at it once more
    assert open_now(book) == {"inspection"}
    book.log.close()


def test_a_reversed_control_that_was_withdrawn_asks_for_another_look(done, dabchick):
    wrong = done.add("direction", {"surface": "rudder", "seen": {"left pedal": "right", "right pedal": "left"}})
    done.add("correction", {"corrects": wrong.sequence, "reason": "misheard"}, circuit="")
    assert open_now(done) == {"inspection"}
    assert "since something was found there" in done.why("inspection").why
    done.add("inspection", dabchick.INSPECTED, dabchick.SECOND)
    assert open_now(done) == set()
