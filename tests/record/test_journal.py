from __future__ import annotations

import errno
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from benchtui.record import (
    AlreadyThere,
    CannotRead,
    CannotWrite,
    Closed,
    Damaged,
    Journal,
    Locked,
    NewerFormat,
    NoLock,
    NotARecord,
    NotFound,
    NotSaved,
    OpenedToRead,
    RecordError,
)
from benchtui.record.check import Head
from benchtui.record.event import GENESIS, decode, encode
from tests.record.layers import QuickFiles, RefusingFiles, SetClock

FILES = QuickFiles()
HEADER = {"build": "name = 'trial'\n", "sha256": "ab" * 32}


def born(path: Path, number: int = 0) -> Path:
    """A closed record with `number` events after its birth."""
    with Journal.create(path, HEADER, files=FILES) as journal:
        for value in range(number):
            journal.append("reading", {"v": value})
    return path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "amp.bench"


def test_what_was_appended_is_there_when_the_record_is_opened_again(path: Path) -> None:
    with Journal.create(path, HEADER, files=FILES) as journal:
        given = [journal.append("reading", {"point": "TP1", "typed": "383.5", "v": 383.5}) for _ in range(3)]
        assert journal.events[1:] == tuple(given) and journal.header == HEADER
    with Journal.open(path, files=FILES) as again:
        assert again.trouble is None and again.header == HEADER
        assert again.events == journal.events
        assert again.append("note", {"text": "back"}).n == 5


def test_the_event_given_back_is_what_a_later_reading_gives(path: Path) -> None:
    with Journal.create(path, {}, files=FILES) as journal:
        assert journal.append("reading", {"pins": (1, 8), 3: None}).data == {"pins": [1, 8], "3": None}


def test_an_event_carries_the_times_of_the_clock_handed_in(path: Path) -> None:
    clock = SetClock(wall_s=100.25, steady_s=7.5, boot_id="x")
    with Journal.create(path, {}, clock=clock, files=FILES) as journal:
        event = journal.events[0]
    assert (event.t_wall, event.t_steady, event.boot) == (100.25, 7.5, "x")


@pytest.mark.parametrize("wall_s", [1.8e9 - 3600, 0.0, -86400.0, 1e11, 1.8e9 + 315e6])
def test_a_wall_clock_that_jumps_harms_nothing(path: Path, wall_s: float) -> None:
    clock = SetClock()
    with Journal.create(path, {}, clock=clock, files=FILES) as journal:
        clock.wall_s, clock.steady_s, clock.boot_id = wall_s, 1.0, "another boot"
        journal.append("reading", {})
    with Journal.open(path, clock=clock, files=FILES) as again:
        assert again.trouble is None
        assert [event.t_wall for event in again.events] == [1.8e9, wall_s]


def test_all_files_are_for_their_owner_alone_whatever_the_umask(path: Path) -> None:
    before = os.umask(0)
    try:
        born(path)
        path.write_bytes(path.read_bytes() + b"torn")
        Journal.open(path, files=FILES).close()
    finally:
        os.umask(before)
    modes = {file.name: stat.S_IMODE(file.stat().st_mode) for file in path.parent.iterdir()}
    names = ["amp.bench", "amp.bench.head", "amp.bench.lock", "amp.bench.torn-1"]
    assert modes == dict.fromkeys(names, 0o600)


def test_the_lock_file_stays_and_a_stale_one_blocks_nobody(path: Path) -> None:
    born(path)
    lock = path.with_name("amp.bench.lock")
    assert lock.exists()
    lock.write_text("process 1 since 0\n")
    with Journal.open(path, files=FILES) as journal:
        assert journal.trouble is None
        assert lock.read_text().startswith(f"process {os.getpid()} since ")


@pytest.mark.parametrize("content", ["", "\x1b[2J", "process 12345678901 since", "nonsense"])
def test_a_second_journal_reads_only_and_trusts_nothing_in_the_lock_file(path: Path, content: str) -> None:
    with Journal.create(path, HEADER, files=FILES) as first:
        path.with_name("amp.bench.lock").write_text(content)
        second = Journal.open(path, files=FILES)
        assert isinstance(second.trouble, Locked) and second.trouble.reason == "another program"
        assert second.events == first.events
        with pytest.raises(Locked):
            second.append("reading", {})
        first.append("reading", {})
    assert len(Journal.open(path, write=False, files=FILES).events) == 2


def test_a_link_to_the_record_meets_the_same_lock(path: Path) -> None:
    with Journal.create(path, HEADER, files=FILES):
        link = path.with_name("other.bench")
        link.symlink_to(path)
        assert isinstance(Journal.open(link, files=FILES).trouble, Locked)


def test_reading_takes_no_lock_and_changes_nothing(path: Path) -> None:
    born(path, 2)
    path.write_bytes(path.read_bytes() + b'{"n":4,')
    before = {file.name: file.read_bytes() for file in path.parent.iterdir()}
    view = Journal.open(path, write=False, files=RefusingFiles())
    assert len(view.events) == 3 and isinstance(view.trouble, OpenedToRead)
    with pytest.raises(OpenedToRead):
        view.append("reading", {})
    assert {file.name: file.read_bytes() for file in path.parent.iterdir()} == before


def test_a_record_that_grows_while_it_is_being_read_is_no_damage(path: Path) -> None:
    with Journal.create(path, HEADER, files=FILES) as writer:

        class Growing(QuickFiles):
            def read(self, fd: int) -> bytes:
                found = super().read(fd)
                for _ in range(3):
                    writer.append("reading", {})
                return found

        view = Journal.open(path, write=False, files=Growing())
    assert isinstance(view.trouble, OpenedToRead) and len(view.events) == 4


def test_a_closed_journal_takes_nothing_but_can_still_be_read(path: Path) -> None:
    journal = Journal.create(path, HEADER, files=FILES)
    journal.close()
    journal.close()
    with pytest.raises(Closed):
        journal.append("reading", {})
    assert journal.header == HEADER


def test_a_torn_tail_is_set_aside_whole_and_told_of_once(path: Path) -> None:
    born(path, 2)
    sound = path.read_bytes()
    path.write_bytes(sound + b'{"n":4,"t_w')
    for _ in range(2):
        with Journal.open(path, files=FILES) as journal:
            assert journal.trouble is None
            told = [event for event in journal.events if event.kind == "tail set aside"]
            assert [dict(event.data) for event in told] == [{"file": "amp.bench.torn-1", "bytes": 11}]
    assert path.with_name("amp.bench.torn-1").read_bytes() == b'{"n":4,"t_w'
    assert path.read_bytes().startswith(sound)


def test_a_tail_set_aside_by_a_run_that_was_cut_short_is_told_of_by_the_next(path: Path) -> None:
    born(path, 1)
    path.with_name("amp.bench.torn-1").write_bytes(b"{")
    path.write_bytes(path.read_bytes() + b"{")
    with Journal.open(path, files=FILES) as journal:
        told = [event.data.get("file") for event in journal.events[2:]]
        assert told == ["amp.bench.torn-1", "amp.bench.torn-2"]


def test_a_damaged_record_is_read_up_to_its_last_sound_event_and_left_as_it_is(path: Path) -> None:
    born(path, 4)
    altered = path.read_bytes().replace(b'"v":2', b'"v":7')
    path.write_bytes(altered)
    journal = Journal.open(path, files=FILES)
    trouble = journal.trouble
    assert isinstance(trouble, Damaged) and (trouble.event, len(journal.events)) == (3, 3)
    assert trouble.hash == journal.events[-1].hash
    assert "the last sound event is #3" in str(trouble)
    with pytest.raises(Damaged):
        journal.append("reading", {})
    assert path.read_bytes() == altered


def test_a_view_tells_of_damage_before_anything_else(path: Path) -> None:
    with Journal.create(path, HEADER, files=FILES) as journal:
        journal.append("reading", {"v": 2})
        path.write_bytes(path.read_bytes().replace(b'"v":2', b'"v":7'))
        for write in (True, False):
            view = Journal.open(path, write=write, files=FILES)
            assert isinstance(view.trouble, Damaged) and view.trouble.event == len(view.events) == 1


def test_damage_in_the_first_line_leaves_an_empty_view(path: Path) -> None:
    born(path, 1)
    path.write_bytes(b"[" + path.read_bytes()[1:])
    journal = Journal.open(path, files=FILES)
    assert isinstance(journal.trouble, Damaged) and journal.trouble.hash == GENESIS
    assert journal.events == () and journal.header == {}


def test_a_record_whose_file_is_gone_but_not_its_head_is_never_begun_anew(path: Path) -> None:
    born(path, 3)
    path.unlink()
    with pytest.raises(NotFound):
        Journal.open(path, files=FILES)
    with pytest.raises(Damaged, match="4 events were saved"):
        Journal.create(path, HEADER, files=FILES)


def test_a_lost_head_file_is_damage_unless_only_the_birth_can_be_missing(path: Path) -> None:
    born(path, 1)
    path.with_name("amp.bench.head").unlink()
    assert isinstance(Journal.open(path, files=FILES).trouble, Damaged)
    young = born(path.with_name("young.bench"))
    young.with_name("young.bench.head").unlink()
    with Journal.open(young, files=FILES) as journal:
        assert journal.trouble is None


def test_a_second_birth_is_refused_and_changes_nothing(path: Path) -> None:
    before = born(path, 1).read_bytes()
    with pytest.raises(AlreadyThere):
        Journal.create(path, HEADER, files=FILES)
    assert path.read_bytes() == before


@pytest.mark.parametrize("first", [b"", b'{"n"', b'{"n":1,"t_wall":17', bytes(700), bytes(512) + b'ld"}}\n'])
def test_an_interrupted_birth_counts_as_no_record_and_can_be_done_again(path: Path, first: bytes) -> None:
    path.write_bytes(first)
    with pytest.raises(NotFound):
        Journal.open(path, files=FILES)
    with Journal.create(path, HEADER, files=FILES) as journal:
        assert [event.kind for event in journal.events] == ["birth", "tail set aside"][: 2 if first else 1]
    with Journal.open(path, files=FILES) as again:
        assert again.trouble is None and again.header == HEADER


@pytest.mark.parametrize("content", [b"[build]\nid = 1\n", b'{"n":1}\n', b"hello", b"\n", b"{}", b"\xff\n"])
def test_another_kind_of_file_is_refused_and_left_alone(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    for way in (lambda: Journal.open(path, files=FILES), lambda: Journal.create(path, HEADER, files=FILES)):
        with pytest.raises(NotARecord):
            way()
    with pytest.raises(NotARecord):
        Journal.open(path, write=False, files=FILES)
    assert path.read_bytes() == content


def test_folder_pipe_device_and_link_loop_are_refused_at_once(path: Path, tmp_path: Path) -> None:
    pipe, loop = tmp_path / "pipe", tmp_path / "loop"
    os.mkfifo(pipe)
    loop.symlink_to(loop)
    for place in (tmp_path, pipe, Path("/dev/zero")):
        for write in (True, False):
            with pytest.raises(NotARecord):
                Journal.open(place, write=write, files=FILES)
    with pytest.raises(CannotRead):
        Journal.open(loop, files=FILES)


@pytest.mark.parametrize("write", [True, False])
def test_no_record_is_said_so_and_leaves_no_file_behind(path: Path, write: bool) -> None:
    with pytest.raises(NotFound):
        Journal.open(path, write=write, files=FILES)
    assert list(path.parent.iterdir()) == []


def sealed(path: Path, kind: str, data: dict[str, object]) -> None:
    """A sound one-line record with any first event."""
    line = encode(1, kind, data, t_wall=0, t_steady=0, boot="", prev=GENESIS)
    event = decode(line, 1, GENESIS)
    assert event is not None
    path.write_bytes(line)
    head = Head(1, event.hash)
    path.with_name(path.name + ".head").write_bytes(bytes(head.offset()) + head.slot())


@pytest.mark.parametrize("write", [True, False])
def test_a_record_of_a_newer_format_is_refused_with_its_number(path: Path, write: bool) -> None:
    sealed(path, "birth", {"format": 2, "header": {}})
    with pytest.raises(NewerFormat, match="format 2"):
        Journal.open(path, write=write, files=FILES)


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("reading", {"format": 1, "header": {}}),
        ("birth", {"format": 0, "header": {}}),
        ("birth", {"format": "1", "header": {}}),
        ("birth", {"format": 1}),
    ],
)
def test_a_sound_first_line_that_is_no_birth_is_refused(path: Path, kind: str, data: dict) -> None:
    sealed(path, kind, data)
    with pytest.raises(NotARecord):
        Journal.open(path, files=FILES)


@pytest.mark.parametrize("code", [errno.EACCES, errno.EROFS])
def test_a_read_only_folder_refuses_a_birth_and_lets_a_record_be_read(path: Path, code: int) -> None:
    with pytest.raises(CannotWrite):
        Journal.create(path, HEADER, files=RefusingFiles(code))
    born(path, 1)
    journal = Journal.open(path, files=RefusingFiles(code))
    assert isinstance(journal.trouble, CannotWrite) and len(journal.events) == 2


def test_a_missing_folder_refuses_a_birth(path: Path) -> None:
    with pytest.raises(CannotWrite, match="No such file"):
        Journal.create(path.parent / "no" / "amp.bench", HEADER, files=FILES)


def test_a_file_system_without_locks_is_never_written_on(path: Path) -> None:
    class Lockless(QuickFiles):
        def lock(self, fd: int) -> bool:
            raise OSError(errno.EOPNOTSUPP, "no")

    with pytest.raises(NoLock):
        Journal.create(path, HEADER, files=Lockless())
    path.unlink()
    born(path)
    assert isinstance(Journal.open(path, files=Lockless()).trouble, NoLock)


def test_events_are_not_taken_once_the_record_was_changed_or_replaced_by_something_else(path: Path) -> None:
    copy = path.with_name("copy")
    changes = {
        "grown": lambda: path.write_bytes(path.read_bytes() + b"x"),
        "replaced": lambda: (copy.write_bytes(path.read_bytes()), copy.replace(path)),
        "gone": lambda: path.unlink(),
        "head gone": lambda: path.with_name("amp.bench.head").unlink(),
    }
    for name, change in changes.items():
        for file in path.parent.iterdir():
            file.unlink()
        with Journal.create(path, HEADER, files=FILES) as journal:
            change()
            with pytest.raises(NotSaved):
                journal.append("reading", {})
            assert isinstance(journal.trouble, NotSaved), name


@pytest.mark.parametrize("data", [{"v": float("nan")}, {"v": float("inf")}, {"v": object()}, {"v": {1, 2}}])
def test_data_that_json_cannot_hold_is_not_saved_and_ends_the_journal(path: Path, data: dict) -> None:
    with Journal.create(path, HEADER, files=FILES) as journal:
        with pytest.raises(NotSaved, match="event #2 was not saved"):
            journal.append("reading", data)
        with pytest.raises(NotSaved, match="event #2 was not saved"):
            journal.append("reading", {})
    with Journal.open(path, files=FILES) as again:
        assert len(again.events) == 1 and again.trouble is None


def test_threads_that_append_at_once_make_one_sound_chain(path: Path) -> None:
    with Journal.create(path, HEADER, files=QuickFiles()) as journal, ThreadPoolExecutor(8) as threads:
        given = list(threads.map(lambda v: journal.append("reading", {"v": v}), range(200)))
    with Journal.open(path, files=FILES) as again:
        assert again.trouble is None
        assert again.events[1:] == tuple(sorted(given, key=lambda event: event.n))


def test_an_interrupt_in_the_middle_of_writing_ends_the_journal(path: Path) -> None:
    class Interrupted(QuickFiles):
        armed = False

        def fsync(self, fd: int) -> None:
            if self.armed:
                raise KeyboardInterrupt

    files = Interrupted()
    with Journal.create(path, HEADER, files=files) as journal:
        files.armed = True
        with pytest.raises(KeyboardInterrupt):
            journal.append("reading", {})
        files.armed = False
        with pytest.raises(NotSaved, match="interrupted"):
            journal.append("reading", {})


def test_every_message_is_one_printable_line_whatever_the_file_name(tmp_path: Path) -> None:
    path = tmp_path / "a\n\x1b[31m\u202eb\udcff.bench"
    with pytest.raises(NotFound) as raised:
        Journal.open(path, files=FILES)
    errors = [raised.value, Damaged(path, "why", event=2, hash=GENESIS)]
    errors += [kind(path, "why", event=2) for kind in RecordError.__subclasses__()]
    for error in errors:
        assert str(error).isprintable() and error.path == path
