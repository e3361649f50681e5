"""``rigging report``: what it writes, where, and how it ends."""

from __future__ import annotations

import subprocess
import sys

import pytest

pytestmark = pytest.mark.dated


@pytest.fixture
def report(rigging, job):
    def run(*words, **how):
        return rigging("report", "sheet.yaml", *words, cwd=job.folder, **how)

    return run


def test_with_nothing_open_it_is_fine(job, report):
    job.read(40, 40)
    ran = report("-o", "record.html")
    assert (ran.code, ran.out) == (0, "")
    assert "written: record.html" in ran.err
    assert "nothing open" in ran.err
    assert job.record().chain.head_hash in ran.err
    assert "Nothing is open in what was recorded" in (job.folder / "record.html").read_text()


def test_something_open_is_a_finding_and_the_file_is_written(job, report):
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    ran = report("-o", "record.html")
    assert ran.code == 1
    assert "9 open" in ran.err
    assert "9 OPEN" in (job.folder / "record.html").read_text()


def test_a_broken_log_is_a_finding_and_the_file_says_so(job, report):
    job.break_at(job.read(40, 40).sequence)
    ran = report("-o", "record.html")
    assert ran.code == 1
    assert "THE LOG IS BROKEN" in ran.err
    assert "THE LOG IS BROKEN" in (job.folder / "record.html").read_text()


def test_an_older_record_is_not_written_over_unless_asked(job, report):
    job.read(40, 40)
    old = job.folder / "record.html"
    old.write_text("older")
    ran = report("-o", "record.html")
    assert ran.code == 2
    assert ran.err == "record.html exists: choose another name, or --replace it; nothing was written\n"
    assert old.read_text() == "older"
    assert report("-o", "record.html", "--replace").code == 0
    assert old.read_text().startswith("<!DOCTYPE html>")


@pytest.mark.parametrize("name", ["sheet.yaml", "sheet.riglog", "card.yaml", "record"])
def test_nothing_but_html_is_ever_replaced(job, report, name):
    job.read(40, 40)
    before = {p.name: p.read_bytes() for p in job.folder.iterdir() if p.suffix == ".yaml"}
    ran = report("-o", name, "--replace")
    assert ran.code == 2
    assert ".html" in ran.err
    assert {p.name: p.read_bytes() for p in job.folder.iterdir() if p.suffix == ".yaml"} == before


def test_to_stdout(job, report):
    job.read(40, 40)
    ran = report("-o", "-")
    assert ran.code == 0
    assert ran.out.startswith("<!DOCTYPE html>")
    assert ran.out.endswith("</html>\n")


def test_as_json(job, report):
    job.read(40, 40)
    ran = report("--json")
    assert ran.code == 0
    assert ran.json["circuits"][0]["readings"][0]["tension_lbf"] == pytest.approx(40.0)
    assert ran.json["log"]["entries"] == job.record().chain.entries
    both = report("--json", "-o", "record.html")
    assert both.json["aircraft"] == "Dabchick"
    assert (job.folder / "record.html").exists()


@pytest.mark.parametrize("words", [(), ("-o", "-", "--json")])
def test_where_it_goes_must_be_said_once(job, report, words):
    job.read(40, 40)
    ran = report(*words)
    assert (ran.code, ran.out) == (2, "")


def test_run_again_it_says_which_stand(job, report):
    job.read(40, 40)
    job.add("travel")
    ran = report("-o", "record.html", "--recompute")
    assert ran.code == 0
    assert (
        "2 entries were run again from the files the log keeps: 2 stand, 0 do not"
        in (job.folder / "record.html").read_text()
    )


def test_without_a_log_there_is_nothing_to_record(job, report):
    ran = report("-o", "record.html", "--log-at", "elsewhere.riglog")
    assert ran.code == 3
    assert ran.err.count("\n") == 1
    assert not (job.folder / "record.html").exists()


def test_a_folder_that_is_not_there_is_one_line(job, report):
    job.read(40, 40)
    ran = report("-o", "nowhere/record.html")
    assert ran.code == 3
    assert ran.err == "nowhere/record.html: cannot be written (No such file or directory): nothing was written\n"


def test_a_full_disk_leaves_nothing_half_there(job, report):
    job.read(40, 40)
    # a limit of the process on how large a file may be is as good as a full disk, and no room is needed
    script = (
        "import resource, signal, sys\n"
        "from rigging.cli.main import main\n"
        "import rigging.report.pictures.files as files\n"
        "real = files.write_whole\n"
        "def write(path, data):\n"
        "    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "    real(path, data)\n"
        "files.write_whole = write\n"
        "sys.argv = ['rigging', 'report', 'sheet.yaml', '-o', 'record.html']\n"
        "main()\n"
    )
    ran = subprocess.run([sys.executable, "-c", script], cwd=job.folder, capture_output=True, text=True, check=False)
    assert ran.returncode == 3
    assert "record.html: cannot be written" in ran.stderr
    assert [p.name for p in job.folder.iterdir() if "record" in p.name] == []
