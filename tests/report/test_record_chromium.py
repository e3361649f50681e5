"""The record in a real browser: at screen and paper size, without a complaint, without a request, and printed to PDF."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest

from rigging.report.html.page import page

PAPERS = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
WIDE = "W" * 120


@pytest.fixture
def record(job):
    """A whole job with something open, in its file, and the head of its log."""
    job.whole_job()
    job.read(12, 13, "60F", circuit="trim")
    job.read(15, 15, "60F")
    job.add("note", {"text": f"a word without end {WIDE}"}, circuit="")
    found = job.record()
    path = job.folder / "record.html"
    path.write_text(page(found), encoding="utf-8")
    return path, found


@pytest.mark.parametrize("width", [1280, 400])
def test_on_a_screen_it_complains_of_nothing_and_asks_for_nothing(browser, record, width):
    path, _ = record
    browser.size(width, 900)
    browser.open(path)
    assert browser.complaints == []
    assert browser.requests == [path.as_uri()]
    # tables scroll in their own place; the page itself never does sideways
    assert browser.run("document.documentElement.scrollWidth") <= width
    assert browser.run("document.querySelectorAll('svg').length") == 4
    assert browser.run("[...document.querySelectorAll('svg')].every(s => s.getBoundingClientRect().height > 100)")
    assert browser.picture(whole=False).startswith(b"\x89PNG")


def test_a_browser_that_is_told_of_a_request_would_say_so(browser, tmp_path):
    path = tmp_path / "other.html"
    path.write_text('<img src="picture.png"><script>console.error("heard")</script>')
    browser.open(path)
    assert len(browser.requests) == 2
    assert any("heard" in said for said in browser.complaints)


def test_the_policy_keeps_even_a_forged_page_to_itself(browser, record):
    path, _ = record
    forged = path.with_name("forged.html")
    added = '<img src="picture.png"><script>document.title = "run"</script></body>'
    forged.write_text(path.read_text(encoding="utf-8").replace("</body>", added), encoding="utf-8")
    browser.open(forged)
    assert browser.run("document.title") != "run"
    assert any("Content Security Policy" in said for said in browser.complaints)


@pytest.mark.parametrize("paper", PAPERS)
def test_printed_every_circuit_begins_a_page_and_the_figures_are_there(browser, record, tmp_path, paper):
    path, found = record
    browser.open(path)
    pdf = tmp_path / f"{paper}.pdf"
    pdf.write_bytes(browser.pdf(*PAPERS[paper]))
    pages = text_of(pdf)
    starts = {name: [i for i, text in enumerate(pages) if f"Circuit {name}\n" in text] for name in ("rudder", "trim")}
    for name, where in starts.items():
        assert len(where) == 1, name
        assert pages[where[0]].lstrip().startswith(f"Circuit {name}"), pages[where[0]][:200]
    assert 0 < starts["rudder"][0] < starts["trim"][0]
    # the first page says what matters
    for words in ("Dabchick", "OPEN", "2 out", "never", f"{found.chain.entries} entries"):
        assert words in pages[0], words
    squeezed = re.sub(r"\s+", "", pages[0])
    assert found.chain.head_hash in squeezed
    # loose pages still tell which log they are of, and how many there are
    for i, text in enumerate(pages):
        assert f"{found.chain.entries} entries, log seal {found.chain.head_hash[:24]}" in text
        assert f"{i + 1} of {len(pages)}" in text
    rudder = " ".join(" ".join(pages[starts["rudder"][0] : starts["trim"][0]]).split())
    # as typed and by hand: dial 36 is 36 lbf on this card, 30..50 lbf is 133 to 222 N, 64 F is 17.8 C
    for figure in (
        "36, 36, 36",
        "30.0 to 50.0 lbf",
        "(133 to 222 N)",
        "64 F",
        "17.8 C",
        "24 ± 0.5 deg",
        "1.0 ± 0.4 lbf",
        "tension, lbf",
    ):
        assert figure in rudder, figure


@pytest.mark.parametrize("paper", PAPERS)
def test_on_paper_nothing_is_wider_than_the_page(browser, record, paper):
    path, _ = record
    printable = round((PAPERS[paper][0] - 2 * 13 / 25.4) * 96)
    browser.size(printable, 900)
    browser.ask("Emulation.setEmulatedMedia", media="print")
    try:
        browser.open(path)
        widest = browser.run(
            "Math.max(...[...document.querySelectorAll('svg, table, .box, p, h1, h2')].map(e => e.getBoundingClientRect().right))"
        )
    finally:
        browser.ask("Emulation.setEmulatedMedia", media="")
    assert widest <= printable + 1


def text_of(pdf):
    """The text of every page."""
    assert shutil.which("pdftotext"), "pdftotext is not installed (Debian: apt-get install poppler-utils)"
    done = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, text=True, check=True)
    return done.stdout.split("\f")[:-1]
