import hashlib
import os
import time
from pathlib import Path

import pytest

from rigging.errors import BadFile
from rigging.yamlfile import DEEPEST, LARGEST_BYTES, load, loads, read_bytes, read_text, show_path


def problems(text):
    with pytest.raises(BadFile) as caught:
        loads(text, "x.yaml")
    return [(p.line, p.path, p.message) for p in caught.value.problems]


def one(text):
    found = problems(text)
    assert len(found) == 1, found
    return found[0]


def refused(path):
    with pytest.raises(BadFile) as caught:
        load(path)
    (problem,) = caught.value.problems
    assert problem.file == str(path)
    return problem


def test_plain_values():
    text = 'a: 1\nb: -2.5\nc: word\nd: true\ne: false\nf: null\ng: ~\nh:\ni: "12"\nj: [1, x]\nk: {l: .5}\nm: 5.\nn: +3\no: 0\n'
    assert loads(text, "x").data == {
        "a": 1, "b": -2.5, "c": "word", "d": True, "e": False, "f": None, "g": None, "h": None, "i": "12",
        "j": [1, "x"], "k": {"l": 0.5}, "m": 5.0, "n": 3, "o": 0,
    }  # fmt: skip


def test_integers_stay_integers():
    value = loads("a: 5", "x").data["a"]
    assert type(value) is int


@pytest.mark.parametrize(
    "text", ["1/8", "7x19", "10-32", "2026-11-25", "54F", "30..40 lbf @ 70F", "12 in", "v1.2.3", "-", "."]
)
def test_what_the_trade_writes_stays_text(text):
    assert loads(f"a: [x, {text}]" if text == "-" else f"a: {text}", "x").data["a"] in (text, ["x", text])


def test_every_path_knows_its_line():
    document = loads("# head\na:\n  b:\n    - c: 1\n      d: 2\n    - e\n", "x")
    assert document.line(()) == 2
    assert document.line(("a",)) == 2
    assert document.line(("a", "b", 0, "d")) == 5
    assert document.line(("a", "b", 1)) == 6
    assert document.line(("a", "b", 1, "nothing", "here")) == 6
    problem = document.problem(("a", "b", 0, "d"), "wrong")
    assert str(problem) == "x:5: a / b / no. 1 / d: wrong"


def test_paths_count_from_one_as_people_do():
    assert show_path(("rows", 0, 2)) == "rows / no. 1 / no. 3"


def test_typed_digits_are_kept_where_the_number_prints_otherwise():
    document = loads("a: 1.10\nb: [0.040, 7, +3]\nc: 1.5\n", "x")
    assert document.data == {"a": 1.1, "b": [0.04, 7, 3], "c": 1.5}
    assert document.texts == {("a",): "1.10", ("b", 0): "0.040", ("b", 2): "+3"}


def test_twice_the_same_key():
    assert one("a: 1\nb: 2\na: 3\n") == (3, "a", "stands twice (first in line 1): keep one")


def test_twice_the_same_key_further_in():
    assert one("t:\n  left: {p: 1}\n  right: 2\n  left:\n    p: 3\n") == (
        4,
        "t / left",
        "stands twice (first in line 2): keep one",
    )


def test_the_same_key_three_times_is_two_problems():
    assert [line for line, _, _ in problems("a: 1\na: 2\na: 3\n")] == [2, 3]


def test_equal_keys_in_different_blocks_are_fine():
    assert loads("a: {k: 1}\nb: {k: 2}\n", "x").data == {"a": {"k": 1}, "b": {"k": 2}}


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (".nan", "is not a finite number"),
        (".NaN", "is not a finite number"),
        ("nan", "is not a finite number"),
        (".inf", "is not a finite number"),
        ("-.inf", "is not a finite number"),
        ("+.Inf", "is not a finite number"),
        ("Infinity", "is not a finite number"),
        ("1e3", "write it out as a plain decimal"),
        ("1.5E+3", "write it out as a plain decimal"),
        ("-1e-3", "write it out as a plain decimal"),
        ("1e999", "write it out as a plain decimal"),
        ("12:30", "base-60 number: put it in quotes"),
        ("12:30:45", "base-60 number: put it in quotes"),
        ("12:30.5", "base-60 number: put it in quotes"),
        ("010", "octal or hexadecimal number: write it in quotes or without the leading zero"),
        ("00", "octal or hexadecimal number"),
        ("0o17", "octal or hexadecimal number"),
        ("0x1F", "octal or hexadecimal number"),
        ("0b101", "octal or hexadecimal number"),
        ("1_000", "has an underscore: write the digits alone"),
        ("1_000.5", "has an underscore: write the digits alone"),
        ("yes", "put it in quotes, or write true or false"),
        ("No", "put it in quotes, or write true or false"),
        ("ON", "put it in quotes, or write true or false"),
        ("off", "put it in quotes, or write true or false"),
        ("y", "put it in quotes, or write true or false"),
        ("N", "put it in quotes, or write true or false"),
        ("9" * 400 + ".0", "the number is too large"),
    ],
)
def test_traps(value, words):
    line, path, message = one(f"ok: 1\n\nblock:\n  figure: {value}\n")
    assert (line, path) == (4, "block / figure")
    assert words in message


@pytest.mark.parametrize("value", ["1e3", "12:30", "010", "yes", ".nan", "1_000", "5", "true", "null", "~", ""])
def test_quotes_always_give_text(value):
    assert loads(f"a: \"{value}\"\nb: '{value}'\n", "x").data == {"a": value, "b": value}


def test_traps_inside_lists_are_found_and_all_together():
    assert [(line, path) for line, path, _ in problems("rows:\n  - [1, 1e3]\n  - [010, 2]\nx: yes\n")] == [
        (2, "rows / no. 1 / no. 2"),
        (3, "rows / no. 2 / no. 1"),
        (4, "x"),
    ]


def test_anchors_and_aliases():
    found = problems("a: &x 1\nb: *x\n")
    assert [(line, path) for line, path, _ in found] == [(1, "a"), (2, "b")]
    assert all("write the value out" in message for _, _, message in found)


def test_an_anchor_on_a_key_and_an_alias_as_key():
    assert one("&x a: 1\n")[0] == 1
    assert [line for line, _, _ in problems("a: 1\n*a : 2\n")] == [2, 2]


def test_a_merge_is_refused():
    assert [line for line, _, _ in problems("a: &x {b: 1}\nc:\n  <<: *x\n")] == [1, 3]


def test_aliases_that_would_grow_without_bound_stay_small():
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    start = time.perf_counter()
    found = problems("\n".join(lines))
    assert time.perf_counter() - start < 2.0
    assert found[0][0] == 1
    assert len(found) == 10 + 9 * 9


@pytest.mark.parametrize("tag", ["!!int", "!!python/object/apply:os.system", "!own", "!!binary", "!!set"])
def test_tags(tag):
    line, path, message = one(f"ok: 1\na: {tag} '5'\n")
    assert (line, path) == (2, "a")
    assert message.endswith("is not used here")


def test_several_documents():
    assert one("a: 1\n---\nb: 2\n") == (2, "", "a second document starts here: keep one document in a file")


def test_one_document_with_its_marks_is_fine():
    assert loads("---\na: 1\n...\n", "x").data == {"a": 1}


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing but a remark\n", " "])
def test_empty(text):
    assert one(text) == (None, "", "is empty")


@pytest.mark.parametrize(
    "text",
    [
        "ok: 1\na: " + "[" * 40 + "]" * 40,
        "ok: 1\na: " + "[" * 100_000,
        "ok: 1\na: " + "{b: " * 40 + "1" + "}" * 40,
        "ok: 1\na: " + "{" * 5_000,
        "ok: 1\n" + "? " * 2_000,
    ],
)
def test_deep_nesting(text):
    line, _, message = problems(text)[-1]
    assert line == 2
    assert f"is nested more than {DEEPEST} deep" in message or "is not YAML" in message


def test_deep_blocks_name_the_line_and_the_way_in():
    text = "".join(" " * i + f"k{i}:\n" for i in range(40))
    line, path, message = one(text)
    assert (line, path) == (DEEPEST + 2, "k0 / k1 / k2") or (line, path) == (DEEPEST + 1, "k0 / k1 / k2")
    assert message == "is nested more than 30 deep"


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a: 1\nb: [1, 2\n", 3, "is not YAML"),
        ("a: 1\n\tb: 2\n", 2, "tab"),
        ("a: 1\nb: 'open\n", None, "is not YAML"),
        ("a: 1\nb: @x\n", 2, "cannot start any token"),
        ("- a\nb: 1\n", 2, "is not YAML"),
        ("a: b: c\n", 1, "mapping values are not allowed"),
        ("%YAML 3.0\n---\na: 1\n", 1, "is not YAML"),
    ],
)
def test_broken_yaml(text, line, words):
    at, _, message = one(text)
    assert words in message
    assert at is not None
    assert line is None or at == line


def test_control_characters():
    _, _, message = one("a: \x07\n")
    assert "is not YAML: unacceptable character" in message


def test_half_a_character():
    _, _, message = one("a: \ud800\n")
    assert "save the file as UTF-8" in message


@pytest.mark.parametrize("text", ["? [a, b]\n: 1\n", "[]: 1\n", "{a: 1}: 2\n"])
def test_a_key_is_a_plain_word(text):
    assert one(text)[::2] == (1, "a key must be a plain word")


def test_a_bad_key_does_not_hide_what_follows():
    assert [line for line, _, _ in problems("? [a]\n: 1\nb: 1e3\n")] == [1, 3]


def test_block_texts_are_text():
    assert loads("a: |\n  12\n  yes\nb: >\n  1e3\n", "x").data == {"a": "12\nyes\n", "b": "1e3\n"}


def test_a_very_long_whole_number_is_not_bent():
    assert loads(f"a: {'9' * 30}", "x").data == {"a": "9" * 30}


def test_the_sum_of_a_file_is_that_of_its_bytes(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    document = load(path)
    assert document.data == {"a": 1, "b": 2}
    assert document.name == str(path)
    assert document.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert loads("a: 1", "x").sha256 == hashlib.sha256(b"a: 1").hexdigest()


@pytest.mark.parametrize("ending", [b"\n", b"\r\n", b"\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_mark(tmp_path, ending, mark):
    path = tmp_path / "a.yaml"
    path.write_bytes(mark + ending.join([b"a: 1", b"b: 2", b"c: 1e3", b""]))
    assert refused(path).line == 3


def test_missing(tmp_path):
    assert refused(tmp_path / "no.yaml").message == "is not there: check the name and the folder"


def test_a_folder(tmp_path):
    assert refused(tmp_path).message == "is a folder: name the file in it"


def test_a_file_in_a_file(tmp_path):
    (tmp_path / "a").write_text("x")
    assert "cannot be read" in refused(tmp_path / "a" / "b.yaml").message


def test_a_name_that_cannot_be_one(tmp_path):
    assert "cannot be read" in refused(tmp_path / ("n" * 5000)).message
    assert "cannot be read" in refused(Path("a\0b")).message


def test_not_allowed_to_read(tmp_path, monkeypatch):
    path = tmp_path / "a.yaml"
    path.write_text("a: 1")

    def closed(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", closed)
    assert refused(path).message == "cannot be read (Permission denied)"


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may read everything")
def test_really_not_allowed_to_read(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text("a: 1")
    path.chmod(0)
    assert "Permission denied" in refused(path).message


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_does_not_hang(tmp_path):
    path = tmp_path / "pipe"
    os.mkfifo(path)
    assert refused(path).message == "is not an ordinary file"


def test_a_device_is_refused():
    if Path("/dev/zero").exists():
        assert refused(Path("/dev/zero")).message == "is not an ordinary file"


def test_oversized(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_bytes(b"#" * (LARGEST_BYTES + 1))
    assert refused(path).message == "is larger than 1000000 bytes: is it the right file?"
    path.write_bytes(b"a: 1\n" + b"#" * (LARGEST_BYTES - 5))
    assert load(path).data == {"a": 1}
    assert len(read_bytes(path)) == LARGEST_BYTES


@pytest.mark.parametrize("raw", [b"a: 1\0", "a: 1".encode("utf-16"), b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"])
def test_binary(tmp_path, raw):
    path = tmp_path / "a.yaml"
    path.write_bytes(raw)
    assert refused(path).message == "holds binary data: a text file is needed"


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_not_utf8(tmp_path, mark):
    path = tmp_path / "a.yaml"
    path.write_bytes(mark + b"a: 1\nb: 2\n\xb0F\n")
    problem = refused(path)
    assert problem.line == 3
    assert problem.message == f"byte {10 + len(mark)} is not UTF-8: save the file as UTF-8"


def test_read_text_may_be_given_the_bytes(tmp_path):
    assert read_text(tmp_path / "not there", b"a\r\nb\rc") == "a\nb\nc"


def test_bad_files_end_with_code_three_and_sort_by_line():
    with pytest.raises(BadFile) as caught:
        loads("z: 1e3\ny: 010\n", "x.yaml")
    assert caught.value.exit_code == 3
    assert str(caught.value).splitlines()[0].startswith("x.yaml:1: z: '1e3'")
    assert str(caught.value).splitlines()[1].startswith("x.yaml:2: y: '010'")
