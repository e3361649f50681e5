"""What is missing is called what it is, on the screen, in JSON and in the record: not given, not read, or refused."""

import html
import re

import pytest

DAY = "2026-11-25"
BY = ("--who", "A. Finch")
WARM, COLD = "48F", "-60F"  # at -60 F aluminium takes more than the whole of 35 lbf off


def rows(structure, runs=("left", "right")):
    return "circuit,run,riser,dial,structure\n" + "".join(f"rudder,{r},1,35,{structure}\n" for r in runs for _ in "123")


def squeezed(text):
    return " ".join(text.split())


@pytest.fixture
def seen(bench, rigging):
    """A check that is logged: the screen, its JSON, the log's list and the entry, and the record's page and JSON."""

    def look(readings):
        bench.readings.write_text(readings)

        def ran(*words):
            return rigging(*words, cwd=bench.folder)

        check = ("check", "sheet.yaml", "readings.csv", "--on", DAY)
        screen, plain = ran(*check).out, ran(*check, "--plain").out
        written = ran(*check, "--log", *BY, "--json").json
        number = str(written["log_entry"])
        listed = ran("log", "list", "sheet.yaml")
        rows = ran("log", "list", "sheet.yaml", "--json").json
        entry = ran("log", "show", "sheet.yaml", number).out
        made = ran("report", "sheet.yaml", "-o", "record.html", "--replace", "--json").json
        page = re.sub(r"<style>.*?</style>|<[^>]+>", " ", (bench.folder / "record.html").read_text(), flags=re.S)
        return {
            "screen": squeezed(screen), "plain": squeezed(plain), "json": written["runs"], "list": squeezed(listed.out),
            "rows": rows, "entry": squeezed(entry), "record": made, "page": squeezed(html.unescape(page)),
        }  # fmt: skip

    return look


def test_limits_without_a_temperature_are_not_none(seen):
    found = seen("circuit,run,riser,dial\nrudder,left,1,35\nrudder,right,1,35\n")
    # today's are not known; the printed ones are, and stand below
    assert "rudder / left 35.0 +-1.6 not known 30.0..40.0 at 70 F" in found["screen"]
    assert "limits today not known: no structure temperature at 70 F limits 30.0 to 40.0 lbf" in found["plain"]
    assert " none" not in found["screen"].split("verdict")[1].split("Why")[0] and "no limits" not in found["plain"]
    assert "no structure temperature, reference 70 F" in found["screen"]
    assert [(r["without_limits"], r["temperature_degF"], r["verdict"]) for r in found["json"]] == [
        ("no temperature", None, "not measured")
    ] * 2
    assert all(r["action"] == "give the temperature of its structure" for r in found["json"])
    assert "! refused" in found["page"] and "no structure temperature" in found["page"]


def test_limits_that_nobody_gave_are_not_a_missing_temperature(seen, bench):
    bench.bend(bench.sheet, ", limits: 30..40 lbf @ 70F", "")
    found = seen(rows(WARM))
    assert "structure 48 F, reference 70 F" in found["screen"] and "structure 48 F" in found["plain"]
    assert "none given" in found["screen"] and "no limits given" in found["plain"]
    assert [(r["without_limits"], r["temperature_degF"]) for r in found["json"]] == [("not given", 48)] * 2
    assert all(r["action"] == "find its limits first" for r in found["json"])
    (circuit,) = found["record"]["circuits"]
    assert [r["temperature_degF"] for r in circuit["readings"]] == [48, 48]
    assert "48 F (8.9 C)" in found["page"]


def test_limits_that_are_refused_at_that_temperature_are_no_result(seen):
    found = seen(rows(COLD))
    assert "structure -60 F, reference 70 F" in found["screen"]
    assert "no result 30.0..40.0 at 70 F" in found["screen"]
    assert "limits today: no result at 70 F limits 30.0 to 40.0 lbf" in found["plain"]
    assert [(r["without_limits"], r["temperature_degF"]) for r in found["json"]] == [("no result", -60)] * 2
    assert all(r["action"] == "read it again where limits can be given" for r in found["json"])
    assert all(r["refusal"] for r in found["json"])


def test_a_run_that_nobody_read_does_not_take_the_verdict_from_those_that_were(seen):
    """35 lbf at 70 F lie in the middle of 30..40."""
    found = seen(rows("70F", ["left"]))
    row = next(r for r in found["rows"] if r["kind"] == "check")
    assert (row["verdict"], row["words"]) == ("in", "rudder / left 35.0 lbf in; 1 run not read")
    assert "in: rudder / left 35.0 lbf in; 1 run not read" in found["list"]
    assert "Result in rudder / left 35.0 lies inside" in found["entry"]
    assert "not measured" not in found["list"] + found["entry"]
    assert "rudder / left 35.0 lbf in; 1 run not read" in found["page"]
    (entry,) = [e for e in found["record"]["entries"] if e["kind"] == "check"]
    assert entry["verdict"] == "in"


def test_a_run_that_was_refused_was_measured(seen):
    """Dial 51 lies beyond the card, which ends at 50."""
    found = seen(rows("70F").replace("right,1,35", "right,1,51"))
    row = next(r for r in found["rows"] if r["kind"] == "check")
    assert (row["verdict"], row["words"]) == ("refused", "rudder / left 35.0 lbf in; rudder / right refused")
    assert "Result refused" in found["entry"] and "not measured" not in found["list"] + found["entry"] + found["page"]
    assert "! refused" in found["page"]


def test_the_worst_of_what_was_read_comes_first(seen):
    """29 lbf lie within their uncertainty of 30, 50 far above 40."""
    found = seen(rows("70F", ["left"]).replace("left,1,35", "left,1,50"))
    assert next(r for r in found["rows"] if r["kind"] == "check")["verdict"] == "out"
    found = seen(rows("70F").replace("left,1,35", "left,1,29.5"))
    assert [r["verdict"] for r in found["rows"] if r["kind"] == "check"] == ["out", "re-measure"]
