"""The disk fails at each operation in turn: nothing unsaved is called saved, nothing is tried again."""

from __future__ import annotations

import errno
import itertools
from pathlib import Path

import pytest

from benchtui.record import CannotWrite, DiskFull, Journal, NotFound, NotSaved, ReadOnly, RecordError
from tests.record.counts import count
from tests.record.layers import FaultyFiles, QuickFiles

EVENTS = count(short=12, full=100)
SHORT_WRITE = None


def session(path: Path, files: FaultyFiles) -> tuple[list[int], Journal | None, RecordError | None]:
    """Write a record of some events; those shown as saved, the journal if it was born, what ended it."""
    shown: list[int] = []
    try:
        journal = Journal.create(path, {"build": "x"}, files=files)
    except RecordError as error:
        return shown, None, error
    try:
        shown.append(1)
        while len(shown) <= EVENTS:
            shown.append(journal.append("reading", {"v": len(shown)}).n)
    except RecordError as error:
        return shown, journal, error
    return shown, journal, None


@pytest.mark.parametrize("lasting", [False, True], ids=["once", "lasting"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EDQUOT, SHORT_WRITE])
def test_a_fault_at_any_operation_ends_the_journal_with_every_shown_event_safe(
    tmp_path: Path, code: int | None, lasting: bool
) -> None:
    for at in itertools.count(1):
        path = tmp_path / str(at) / "r"
        path.parent.mkdir()
        files = FaultyFiles(at, code, lasting=lasting)
        shown, journal, error = session(path, files)
        if files.done < at:
            break
        assert (error is not None) == files.harmed
        if error is None:  # a short write that was due on an operation other than a write
            assert code is SHORT_WRITE and len(shown) == EVENTS + 1
        elif journal is not None:
            assert isinstance(error, NotSaved) and error.event == len(shown) + 1
            assert isinstance(error, DiskFull) == (code != errno.EIO)
            for _ in range(3):
                with pytest.raises(type(error)):
                    journal.append("reading", {"v": 0})
        else:
            assert isinstance(error, CannotWrite | NotSaved)
        if journal is not None:
            journal.close()
        assert_reopens_with(path, shown)
    assert at > 4 * EVENTS


def assert_reopens_with(path: Path, shown: list[int]) -> None:
    """All shown events are there, at most one more, and the record takes events again."""
    try:
        journal = Journal.open(path, files=QuickFiles())
    except NotFound:
        assert shown == []
        journal = Journal.create(path, {"build": "x"}, files=QuickFiles())
    with journal:
        assert journal.trouble is None
        real = [event for event in journal.events if event.kind in ("birth", "reading")]
        assert len(shown) <= len(real) <= max(len(shown), 1) + 1
        assert [event.data.get("v", 1) for event in real[1:]] == list(range(1, len(real)))
        journal.append("reading", {"v": 0})


def test_a_sync_that_fails_once_and_then_works_ends_the_journal_for_good(tmp_path: Path) -> None:
    class OneBadSync(QuickFiles):
        bad = False

        def fsync(self, fd: int) -> None:
            if self.bad:
                self.bad = False
                raise OSError(errno.EIO, "bad")

    files = OneBadSync()
    with Journal.create(tmp_path / "r", {}, files=files) as journal:
        journal.append("reading", {"v": 1})
        files.bad = True
        with pytest.raises(NotSaved, match="event #3 was not saved"):
            journal.append("reading", {"v": 2})
        size = (tmp_path / "r").stat().st_size
        for _ in range(100):
            with pytest.raises(NotSaved):
                journal.append("reading", {"v": 3})
        assert (tmp_path / "r").stat().st_size == size and len(journal.events) == 2


@pytest.mark.parametrize("code", [errno.ENOSPC, SHORT_WRITE])
def test_a_fault_while_a_torn_tail_is_set_aside_loses_nothing(tmp_path: Path, code: int | None) -> None:
    for at in itertools.count(1):
        path = tmp_path / str(at) / "r"
        path.parent.mkdir()
        with Journal.create(path, {"build": "x"}, files=QuickFiles()) as journal:
            journal.append("reading", {"v": 1})
        path.write_bytes(path.read_bytes() + b'{"n":3')
        files = FaultyFiles(at, code)
        with Journal.open(path, files=files) as opened:
            assert isinstance(opened.trouble, ReadOnly) == files.harmed
            assert [event.data.get("v") for event in opened.events[1:2]] == [1]
        with Journal.open(path, files=QuickFiles()) as again:
            assert again.trouble is None
            told = [event.data["file"] for event in again.events if event.kind == "tail set aside"]
        tails = sorted(file.name for file in path.parent.iterdir() if "torn" in file.name)
        assert told == tails
        assert b'{"n":3' in [path.with_name(name).read_bytes() for name in tails]
        if files.done < at:
            break
    assert at > 10
