"""The page: whole, escaped, readable without colour, eyes or a network; nothing that a user wrote can do harm."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise

import jinja2
import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rigging.report.html.figures import both, clean, css_string, in_units, own, verdict
from rigging.report.html.page import environment, page

VOID = {"meta", "link", "br"}
NASTY = [
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</style><script>x</script>", "</title></svg></bdi>", "A & B",
    "O'Brien \"the wing\"", "=HYPERLINK(\"http://x.example\")", "+1+1", "@SUM(A1)", "{{ 7*7 }} {% raw %}", "two\nlines\tand a tab",
    "\u202egnihtemos\u202c", "\u05e9\u05dc\u05d5\u05dd left", "W" * 180, "\u0007bell", "x\u200by", "$\\frac{1}{2}$ $", "]]>--><!--",
    "url(http://x.example/a.png)", "javascript:alert(1)", "\u00e9\u00df\u4e2d\U0001f6e9",
]  # fmt: skip


class Tree(HTMLParser):
    """The tags of a page in order, with their attributes, and the text between them."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.shape: list[str] = []
        self.words: list[str] = []
        self.stack: list[str] = []
        self.feed(text)
        self.close()
        assert self.stack == [], f"left open: {self.stack}"

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.shape.append(f"<{tag} {sorted(name for name, _ in attrs)}>")
        if tag not in VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.shape.append(f"<{tag} {sorted(name for name, _ in attrs)}/>")

    def handle_endtag(self, tag):
        assert self.stack.pop() == tag
        self.shape.append(f"</{tag}>")

    def handle_data(self, data):
        if self.stack and self.stack[-1] != "style":
            self.words.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.words))


@pytest.fixture(scope="module")
def written(tmp_path_factory, new_job):
    """The page of a whole job, drawn once."""
    job = new_job(tmp_path_factory.mktemp("job"))
    job.whole_job()
    text = page(job.record(recomputed=True))
    job.log.close()
    return text


def test_it_is_one_whole_page_in_english_that_forbids_everything_but_its_styles(written):
    tree = Tree(written)
    assert written.startswith("<!DOCTYPE html>")
    assert tree.all("html") == [{"lang": "en"}]
    assert {"charset": "utf-8"} in tree.all("meta")
    [policy] = [m["content"] for m in tree.all("meta") if m.get("http-equiv") == "Content-Security-Policy"]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    assert not {tag for tag, _ in tree.tags} & {
        "script",
        "iframe",
        "img",
        "object",
        "embed",
        "form",
        "base",
        "foreignobject",
    }
    assert not [name for _, attrs in tree.tags for name in attrs if name.startswith("on")]


def test_no_link_leaves_it(written):
    namespaces = {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    assert set(re.findall(r"https?://[^\s\"'<>)]+", written)) == namespaces
    hrefs = [v for _, attrs in Tree(written).tags for k, v in attrs.items() if k.endswith("href") or k == "src"]
    assert hrefs
    assert all(v.startswith("#") or v == "data:," for v in hrefs)
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", written))
    assert "@import" not in written


def test_every_id_is_there_once_and_whatever_is_named_is_there(written):
    tree = Tree(written)
    ids = [attrs["id"] for _, attrs in tree.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    named = re.findall(r"url\(#([^)]+)\)", written)
    named += [v[1:] for _, attrs in tree.tags for k, v in attrs.items() if k.endswith("href") and v.startswith("#")]
    named += [word for _, attrs in tree.tags for word in (attrs.get("aria-labelledby") or "").split()]
    assert len(tree.all("svg")) == 4  # how two cables settle, and both circuits through the seasons
    assert set(named) <= set(ids)


def test_it_can_be_read_without_eyes(written):
    tree = Tree(written)
    tables = written.split("<table")[1:]
    assert tables
    for table in tables:
        assert re.match(r"[^>]*>\s*<caption>[^<]+\S", table)
        assert '<th scope="col">' in table
    assert all(th.get("scope") in ("col", "row") for th in tree.all("th"))
    for svg in tree.all("svg"):
        assert svg["role"] == "img"
        label, description = svg["aria-labelledby"].split()
        assert re.search(rf'<title id="{label}">[^<]+</title><desc id="{description}">[^<]+</desc>', written)
    levels = [int(tag[1]) for tag, _ in tree.tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))


def test_figures_stand_in_both_systems(written):
    text = Tree(written).text
    # 30..50 lbf x 4.4482 N/lbf; 70 F = 21.1 C; the first reading, dial 36 on a card that is the identity, at 64 F = 17.8 C
    for figure in (
        "30.0 to 50.0 lbf (133 to 222 N)",
        "70 F (21.1 C)",
        "36.0 ± ",
        "(160 ± ",
        "64 F (17.8 C)",
        "120 in (3048.0 mm)",
    ):
        assert figure in text, figure
    for figure in (
        "24 ± 0.5 deg",
        "22 to 26 deg",
        "0.1 ± 0.3 deg",
        "4.0 lbf (18 N)",
        "1.0 ± 0.4 lbf",
        "1200.0 lbf (5338 N)",
    ):
        assert figure in text, figure


def test_it_holds_what_an_inspector_asks_for(written):
    text = Tree(written).text
    for words in (
        "Rig record", "Dabchick", "Nothing is open", "Circuit rudder", "Circuit trim", "Direction sheet of rudder", "2 half turns tighter",
        "still settling", "locking clips", "new locking clips ordered", "Never signed.", "instead of #", "two half turns, not four",
        "Dabchick notes, sheet 1", "rudder / left", "riser 1", "cable 1/8 7x19 carbon", "flutter", "do not.",
    ):  # fmt: skip
        assert words in text, words


def test_a_verdict_is_a_mark_and_a_word():
    assert [re.sub(r"<[^>]+>", "", verdict(w)) for w in ("in", "out", "re-measure", "not measured")] == [
        "✓ in", "✗ out", "? re-measure", "– not measured",
    ]  # fmt: skip


def test_what_is_open_and_a_broken_log_stand_big_on_top(job):
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    job.inspect("A. Finch", alone=True, reason="nobody at the field", pause="12 h")
    last = job.read(20, 20)
    job.break_at(last.sequence)
    text = page(job.record())
    head = text[: text.index('id="latest"')]
    for words in ("✗ THE LOG IS BROKEN", f"It breaks at entry {last.sequence}", "Inspected by one person ALONE"):
        assert words in head, words
    assert "nobody at the field" in head
    assert re.search(r"\d+ OPEN", head)
    assert "Behind the break: not proven" in text


def test_a_broken_log_is_never_told_as_fine(job):
    job.read(40, 40)
    job.read(15, 15, circuit="trim")
    assert "Nothing is open in what was recorded" in page(job.record())
    job.break_at(job.read(20, 20).sequence)
    record = job.record()
    assert record.status.open == ()  # the finding lies behind the break
    text = page(record)
    assert "✓</span> Nothing" not in text
    assert "not known" in text


def test_the_same_record_is_the_same_page(job):
    job.read(36, 36)
    record = job.record()
    assert page(record) == page(record)


def test_a_name_the_templates_do_not_know_is_an_error():
    with pytest.raises(jinja2.UndefinedError):
        environment().from_string("{{ nothing }}").render()


def bare(job):
    """A sheet that draws no pictures, so that many pages are made quickly."""
    path = job.folder / "sheet.yaml"
    path.write_text(path.read_text().replace("temperatures: {coldest: 0F, hottest: 110F}\n", ""))
    job.again()


def nasty_page(job, name: str) -> str:
    """The record with a name wherever a user may write one."""
    whole = job.record()
    aircraft = msgspec.structs.replace(
        whole, name=name, aircraft=f"{name}, {name}", registration=name, sheet=name, log=name
    )
    circuits = [
        msgspec.structs.replace(
            c,
            name=name,
            cables=tuple(msgspec.structs.replace(k, name=name, limits_text=name, source=name, from_end=name) for k in c.cables),
            readings=tuple(
                msgspec.structs.replace(
                    r, who=name, run=name, station=name, tensiometers=(name,), typed=(name,), reasons=(name,), action=name,
                    states=(name,), steady_since=name, notes=(name,), assumptions=(name,), source=name, refusal=name,
                )
                for r in c.readings
            ),
            turnbuckles=tuple(msgspec.structs.replace(t, cable=name, thread=name) for t in c.turnbuckles),
            directions=tuple(msgspec.structs.replace(d, surface=name, input=name, expected=name) for d in c.directions),
            written={
                kind: tuple(
                    msgspec.structs.replace(w, who=name, of=name, reasons=(name,), typed={**w.typed, "remark": name}) for w in some
                )
                for kind, some in c.written.items()
            },
            drag=((1, name),),
        )
        for c in whole.circuits
    ]  # fmt: skip
    notes = tuple(msgspec.structs.replace(w, who=name, typed={**w.typed, "text": name}) for w in whole.whole)
    entries = tuple(msgspec.structs.replace(e, who=name, circuit=name and e.circuit) for e in whole.entries)
    return page(msgspec.structs.replace(aircraft, circuits=tuple(circuits), whole=notes, entries=entries))


@pytest.fixture(scope="module")
def plain(tmp_path_factory, new_job):
    """A job without pictures, and the shape of its page with an innocent name."""
    job = new_job(tmp_path_factory.mktemp("plain"))
    bare(job)
    job.read(40, 40)
    job.add("adjustment", {"turnbuckle": "left", "half_turns": 1, "threads_showing": [2, 2]})
    job.add("direction")
    job.add("note", {"text": "a note"}, circuit="")
    yield job, Tree(nasty_page(job, "Wren")).shape
    job.log.close()


def without_long(shape):
    """The shape, blind to the class that lets a very long word be broken."""
    return [part.replace("<bdi ['class']>", "<bdi []>") for part in shape]


@pytest.mark.parametrize("name", NASTY)
def test_no_name_changes_the_page_it_stands_on(plain, name):
    job, shape = plain
    text = nasty_page(job, name)
    tree = Tree(text)
    assert without_long(tree.shape) == without_long(shape)
    assert clean(name).split()[0] in tree.text
    assert not re.search("[\u0000-\u0008\u200b\u202a-\u202e\u2066-\u2069]", text)


@settings(max_examples=40)
@given(st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=60))
def test_nor_does_any_other(plain, name):
    job, shape = plain
    assert without_long(Tree(nasty_page(job, name)).shape) == without_long(shape)


@pytest.mark.slow
def test_names_in_a_picture_are_as_harmless(job):
    job.read(36, 36)
    record = job.record()
    shape = Tree(page(record)).shape
    for name in NASTY[:3] + NASTY[10:14] + NASTY[16:17]:
        text = page(msgspec.structs.replace(record, name=name))
        assert without_long(Tree(text).shape) == without_long(shape), name


@given(st.text(max_size=40))
def test_no_text_ends_its_string_in_a_style_sheet(text):
    escaped = css_string(text)
    assert re.fullmatch(r"(?:[0-9A-Za-z]|\\[0-9a-f]+ )*", escaped)
    back = re.sub(r"\\([0-9a-f]+) ", lambda m: chr(int(m[1], 16)), escaped)
    assert back == clean(text).replace("\n", " ")


def test_hidden_and_turning_characters_are_shown_by_their_numbers():
    assert clean("a\u202eb\u200bc\x07") == "a[U+202E]b[U+200B]c[U+0007]"
    assert clean("שלום") == "שלום"
    assert own("<b>") == "<bdi>&lt;b&gt;</bdi>"


def test_a_text_that_no_page_holds_is_cut_and_says_so():
    shown = clean("x" * 25_000)
    assert shown.startswith("x" * 20_000 + " … and 5000 more characters")


def test_figures_in_both_systems():
    # 40 lbf x 4.4482216 = 177.93 N; 2 lbf = 8.90 N; 212 F = 100 C; 0.62 lbf/F x 4.4482 x 1.8 = 4.96 N/K
    assert in_units(40.0, "force", plus_minus=2.0) == "40.0 ± 2.0 lbf"
    assert in_units(40.0, "force", plus_minus=2.0, si=True) == "178 ± 9 N"
    assert in_units(212.0, "temperature", si=True) == "100.0 C"
    assert in_units(212.0, "temperature", plus_minus=1.8, si=True) == "100.0 ± 1.0 C"
    assert in_units(0.62, "slope", si=True) == "+4.96 N/K"
    assert in_units(None, "force") == "–"
    assert "24 to 26 deg" in both(24.0, "angle", to=26.0)
    assert "si" not in both(24.0, "angle")
