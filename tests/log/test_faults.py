"""Disks and rights that fail: one clear line, and the log as it was."""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from rigging.cli.options import CLOCK
from rigging.errors import BadFile, Refusal, RiggingError
from rigging.log.entry import Draft
from rigging.log.store import Log, open_log

NOBODY = 65534
PATIENCE_S = 60.0
DRAFT = Draft("A. Wing", "note", "Reedling 3", "", {"text": "x" * 500})


def write(log: Log) -> None:
    log.append([DRAFT], program="test", tables={})


@contextlib.contextmanager
def without_rights() -> Iterator[None]:
    """Root may write everywhere: act as somebody else meanwhile. Everyone else needs no change."""
    if os.geteuid():
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def path(tmp_path: Path) -> Iterator[Path]:
    """A closed log of 20 entries, where somebody else may come by too; everything is imported before he comes."""
    folder = tmp_path / "loft"
    folder.mkdir()
    with open_log(str(folder / "bench.riglog"), CLOCK, create=True) as log:
        for _ in range(20):
            write(log)
        assert len(list(log.entries())) == log.verify().entries
    above = [p for p in folder.parents if p.stat().st_uid == os.geteuid() and str(p) != "/"]
    modes = {p: p.stat().st_mode for p in above}
    for p in above:
        p.chmod(modes[p] | 0o011)
    yield folder / "bench.riglog"
    folder.chmod(0o755)
    for p, mode in modes.items():
        p.chmod(mode)


def test_in_a_folder_that_may_only_be_read_the_log_is_read_and_not_written(path: Path) -> None:
    path.chmod(0o444)
    path.parent.chmod(0o555)
    before = path.read_bytes()
    with without_rights(), open_log(str(path), CLOCK) as log:
        assert log.verify().entries == len(list(log.entries())) == 20
        with pytest.raises(Refusal, match="may only be read: nothing was written"):
            write(log)
        with pytest.raises((Refusal, BadFile)) as caught:
            open_log(str(path.with_name("new")), CLOCK, create=True)
        assert "cannot be opened: check the rights" in str(caught.value)
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_file_that_may_only_be_read_is_read_and_not_written(path: Path) -> None:
    path.chmod(0o444)
    path.parent.chmod(0o777)
    before = path.read_bytes()
    with without_rights(), open_log(str(path), CLOCK) as log:
        assert log.verify().entries == 20
        with pytest.raises(Refusal, match="may only be read: nothing was written"):
            write(log)
    assert path.read_bytes() == before


def test_a_file_that_may_not_be_read_is_named(path: Path) -> None:
    path.chmod(0)
    with without_rights(), pytest.raises(BadFile, match="cannot be opened: check the rights of the file"):
        open_log(str(path), CLOCK)


def fill(place: str) -> tuple[int, str]:
    """Write until nothing more goes in; how many entries were acknowledged, and what was said then."""
    with open_log(place, CLOCK, create=True) as log:
        for n in range(10_000):
            try:
                write(log)
            except RiggingError as error:
                assert log.verify().entries == log.head().entries == n
                return n, str(error)
    raise AssertionError("it never became full")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 300 kB."""
    if os.geteuid():
        pytest.skip("only root may mount a small disk; a limit on the size of files is tested for everyone")
    where = tmp_path / "disk"
    where.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=300k", "tmpfs", where], check=False, capture_output=True, text=True
    )
    if done.returncode:
        pytest.skip(
            f"this machine mounts no small disk ({done.stderr.strip()}); a limit on the size of files is tested"
        )
    yield where
    subprocess.run(["umount", where], check=True)


def test_a_full_disk(small_disk: Path) -> None:
    place = small_disk / "bench.riglog"
    kept, said = fill(str(place))
    assert kept > 0
    assert said == f"{place}: the disk is full: nothing was written; make room and enter it again"
    with pytest.raises(Refusal, match="the disk is full"):
        open_log(str(small_disk / "another"), CLOCK, create=True)
    (small_disk / "another").unlink(missing_ok=True)
    with open_log(str(place), CLOCK) as log:
        assert log.verify().entries == kept
    # with room again it goes on
    subprocess.run(["mount", "-o", "remount,size=3000k", small_disk], check=True)
    with open_log(str(place), CLOCK) as log:
        write(log)
        assert log.verify().entries == kept + 1


def test_a_file_that_may_not_grow(tmp_path: Path) -> None:
    """What a quota does, and what anybody can test."""
    code = (
        "import resource, sys; sys.path.insert(0, sys.argv[2]); import test_faults\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))\n"
        "print(*test_faults.fill(sys.argv[1]))"
    )
    place = tmp_path / "bench.riglog"
    done = subprocess.run(
        [sys.executable, "-c", code, place, Path(__file__).parent],
        check=False,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert done.returncode == 0, done.stderr
    kept, said = done.stdout.strip().split(" ", 1)
    assert int(kept) > 0 and "nothing was written" in said and ("disk" in said)
    with open_log(str(place), CLOCK) as log:
        assert log.verify().entries == int(kept)
        write(log)
        assert log.verify().entries == int(kept) + 1


def test_a_log_that_is_read_only_beside_a_writer_is_not_read_without_his_last_entries(path: Path) -> None:
    """The newest entries lie in the writer's file beside it: without the right to use that, an answer would be old."""
    copy = path.with_name("copy.riglog")
    with open_log(str(path), CLOCK) as log:
        write(log)
        shutil.copy(path, copy)
        shutil.copy(f"{path}-wal", f"{copy}-wal")
    copy.chmod(0o444)
    path.parent.chmod(0o555)
    with without_rights():
        try:
            with open_log(str(copy), CLOCK) as log:
                assert log.verify().entries == 21
        except RiggingError as error:
            assert "\n" not in str(error) and str(copy) in str(error)
