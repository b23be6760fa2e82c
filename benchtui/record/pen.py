"""The files of a record that this process alone may write: record, head, lock and torn tails set aside."""

from __future__ import annotations

import os
import re
from itertools import count
from pathlib import Path

from benchtui.record.check import Checked, Head, read_head
from benchtui.record.errors import Locked, NoLock, NotARecord, NotFound, in_words
from benchtui.record.files import Files, whole

FILES = Files()


def beside(path: Path, ending: str) -> Path:
    """The file that goes with a record: `x.bench` has `x.bench.head`, `x.bench.lock`, `x.bench.torn-1`."""
    return path.with_name(path.name + ending)


def open_plain(path: Path, flags: int, files: Files) -> int:
    """Descriptor of an ordinary file. Raises OSError, NotARecord."""
    try:
        fd = files.open(path, flags)
    except IsADirectoryError:
        raise NotARecord(path, "it is a folder") from None
    if not files.is_plain(fd):
        files.close(fd)
        raise NotARecord(path, "it is no ordinary file")
    return fd


def look(path: Path, files: Files) -> bytes:
    """The bytes of a file, without any claim on it. Raises OSError, NotARecord."""
    fd = open_plain(path, os.O_RDONLY, files)
    try:
        return files.read(fd)
    finally:
        files.close(fd)


def look_at_head(path: Path, files: Files) -> Head:
    """What the head file of the record at `path` counts; 0 where there is none."""
    try:
        return read_head(look(beside(path, ".head"), files))
    except FileNotFoundError:
        return Head()


def held_elsewhere(path: Path, files: Files = FILES) -> bool:
    """Whether another process has the lock of the record at `path` now; what cannot be told is no. Raises nothing."""
    try:
        fd = open_plain(beside(path, ".lock"), os.O_RDONLY, files)
    except (OSError, NotARecord):
        return False
    try:
        return _owner(files.read(fd)) != f"process {os.getpid()}" and not files.lock(fd)
    except OSError:
        return False
    finally:
        files.close(fd)


class Pen:
    """The right to write one record, held until `close`. Methods raise OSError unless they say otherwise."""

    def __init__(self, path: Path, files: Files) -> None:
        self.path, self.files = path, files
        self._descriptors: list[int] = []
        self._size = 0

    def take(self, since: float, *, create: bool = False) -> bytes:
        """Lock the record and give its bytes; `since`, wall seconds, is noted in the lock file.

        Raises NotFound, NotARecord, Locked, NoLock.
        """
        flags = os.O_RDWR | os.O_APPEND | (os.O_CREAT if create else 0)
        try:
            self._record = self._open(self.path, flags)
        except FileNotFoundError as error:
            if create:
                raise
            raise NotFound(self.path) from error
        self._lock(since)
        # What a killed program wrote may still be in the cache only; nothing may build on that.
        self.files.fsync(self._record)
        return self.files.read(self._record)

    def _open(self, path: Path, flags: int) -> int:
        fd = open_plain(path, flags, self.files)
        self._descriptors.append(fd)
        return fd

    def _lock(self, since: float) -> None:
        fd = self._open(beside(self.path, ".lock"), os.O_RDWR | os.O_CREAT)
        try:
            mine = self.files.lock(fd)
        except OSError as error:
            raise NoLock(self.path, in_words(error)) from error
        if not mine:
            raise Locked(self.path, _owner(self.files.read(fd)))
        text = f"process {os.getpid()} since {since:.0f}\n".encode("ascii")
        self.files.truncate(fd, 0)
        whole(self.files.pwrite(fd, text, 0), text)

    def settle(self, checked: Checked) -> dict[str, int]:
        """Make all that was found durable, names too, with a torn tail set aside; then as `torn`."""
        if checked.tail:
            self._set_aside(checked.tail, checked.sound_bytes)
        self._head = self._open(beside(self.path, ".head"), os.O_RDWR | os.O_CREAT)
        self.files.sync_folder(self.path.parent)
        self._size = checked.sound_bytes
        if checked.events:
            self._point(Head.of(checked.events))
        return self.torn()

    def _set_aside(self, tail: bytes, sound_bytes: int) -> None:
        """Copy a torn tail to the next `.torn-N`, durably, and only then cut the record."""
        number = 1 + max((int(name.rpartition("-")[2]) for name in self.torn()), default=0)
        fd = self._open(beside(self.path, f".torn-{number}"), os.O_RDWR | os.O_CREAT | os.O_EXCL)
        whole(self.files.write(fd, tail), tail)
        self.files.fsync(fd)
        self.files.sync_folder(self.path.parent)
        self.files.truncate(self._record, sound_bytes)
        self.files.fsync(self._record)

    def rename(self) -> Path:
        """Give record and head the next `.damaged-N`, durably; the record's new path.

        The head goes first: a record that has lost its head is found damaged again, a head alone leads nowhere.
        """
        names = set(self.files.names(self.path.parent))
        tried = (beside(self.path, f".damaged-{number}") for number in count(1))
        to = next(path for path in tried if not {path.name, f"{path.name}.head"} & names)
        if beside(self.path, ".head").name in names:
            self.files.rename(beside(self.path, ".head"), beside(to, ".head"))
            self.files.sync_folder(self.path.parent)
        self.files.rename(self.path, to)
        self.files.sync_folder(self.path.parent)
        return to

    def torn(self) -> dict[str, int]:
        """Names of the tails set aside so far, with their bytes, oldest first."""
        pattern = re.compile(re.escape(self.path.name) + r"\.torn-[0-9]{1,9}")
        names = [name for name in self.files.names(self.path.parent) if pattern.fullmatch(name)]
        names.sort(key=lambda name: (len(name), name))
        return {name: len(look(self.path.with_name(name), self.files)) for name in names}

    def write(self, line: bytes, head: Head) -> None:
        """Add one line and make it durable, then its head."""
        if self.files.size(self.path, self._record) != self._size:
            raise OSError("another program has changed or replaced it")
        if self.files.size(beside(self.path, ".head"), self._head) is None:
            raise OSError("another program has replaced its head file")
        whole(self.files.write(self._record, line), line)
        self.files.fsync(self._record)
        self._size += len(line)
        self._point(head)

    def _point(self, head: Head) -> None:
        slot = head.slot()
        whole(self.files.pwrite(self._head, slot, head.offset()), slot)
        self.files.fdatasync(self._head)

    def close(self) -> None:
        """Let go of files and lock; the lock file stays, or two could lock two files of one name."""
        while self._descriptors:
            self.files.close(self._descriptors.pop())


def _owner(lock_text: bytes) -> str:
    known = re.match(rb"process [0-9]{1,10}\b", lock_text)
    return known[0].decode("ascii") if known else "another program"
