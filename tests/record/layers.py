"""File layers that are quick, that fail on demand, and that log what a power cut could take away."""

from __future__ import annotations

import errno
import math
import os
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

from benchtui.record import Clock, Files

SECTOR_BYTES = 512


class QuickFiles(Files):
    """The real calls without waiting for the disk: for tests in which the machine itself stays up."""

    def fsync(self, fd: int) -> None:
        os.fstat(fd)

    def fdatasync(self, fd: int) -> None:
        os.fstat(fd)

    def sync_folder(self, folder: Path) -> None:
        os.stat(folder)


class FaultyFiles(QuickFiles):
    """Fails on operation number `at` (from 1), and on all later ones if `lasting`.

    `code` is the errno; None is a short write, which only a write can show. `harmed` tells if it has failed.
    """

    def __init__(self, at: int, code: int | None, *, lasting: bool = False) -> None:
        self.at, self.code, self.lasting, self.done, self.harmed = at, code, lasting, 0, False

    def _due(self) -> bool:
        self.done += 1
        return self.done == self.at or (self.lasting and self.done > self.at)

    def _fail_if_due(self) -> None:
        if self._due() and self.code is not None:
            self._fail(self.code)

    def _fail(self, code: int) -> NoReturn:
        self.harmed = True
        raise OSError(code, os.strerror(code))

    def _part(self, data: bytes) -> bytes:
        if not self._due():
            return data
        if self.code is not None:
            self._fail(self.code)
        self.harmed = True
        return data[: len(data) * 2 // 3]

    def open(self, path: Path, flags: int) -> int:
        if flags & os.O_CREAT:
            self._fail_if_due()
        return super().open(path, flags)

    def write(self, fd: int, data: bytes) -> int:
        return super().write(fd, self._part(data))

    def pwrite(self, fd: int, data: bytes, at: int) -> int:
        return super().pwrite(fd, self._part(data), at)

    def truncate(self, fd: int, size: int) -> None:
        self._fail_if_due()
        super().truncate(fd, size)

    def fsync(self, fd: int) -> None:
        self._fail_if_due()

    def fdatasync(self, fd: int) -> None:
        self._fail_if_due()

    def sync_folder(self, folder: Path) -> None:
        self._fail_if_due()


class RefusingFiles(QuickFiles):
    """A folder and files that may be read but not written."""

    def __init__(self, code: int = errno.EROFS) -> None:
        self.code = code

    def open(self, path: Path, flags: int) -> int:
        if flags & (os.O_RDWR | os.O_CREAT):
            raise OSError(self.code, os.strerror(self.code), str(path))
        return super().open(path, flags)


@dataclass(frozen=True)
class Did:
    """One logged operation; `what` is create, write, truncate, sync, folder or shown."""

    what: str
    name: str = ""
    data: bytes = b""
    at: int = 0


class Killed(BaseException):
    """The program is gone, the machine runs on: what was written stays, synced or not."""


class LoggedFiles(QuickFiles):
    """Logs every change and every sync; those named in `lying` happen but are not logged as done.

    Once the log has `dies_at` entries, the next operation raises Killed instead of happening.
    """

    def __init__(
        self, log: list[Did], *, lying: frozenset[str] = frozenset(), dies_at: float = math.inf
    ) -> None:
        self.log, self.lying, self.dies_at = log, lying, dies_at
        self._names: dict[int, str] = {}

    def _note(self, did: Did) -> None:
        if len(self.log) >= self.dies_at:
            raise Killed
        self.log.append(did)

    def open(self, path: Path, flags: int) -> int:
        if flags & os.O_CREAT and not path.exists():
            self._note(Did("create", path.name))
        fd = super().open(path, flags)
        self._names[fd] = path.name
        return fd

    def write(self, fd: int, data: bytes) -> int:
        self._note(Did("write", self._names[fd], data, os.fstat(fd).st_size))
        return super().write(fd, data)

    def pwrite(self, fd: int, data: bytes, at: int) -> int:
        self._note(Did("write", self._names[fd], data, at))
        return super().pwrite(fd, data, at)

    def truncate(self, fd: int, size: int) -> None:
        self._note(Did("truncate", self._names[fd], at=size))
        super().truncate(fd, size)

    def fsync(self, fd: int) -> None:
        if "fsync" not in self.lying:
            self._note(Did("sync", self._names[fd]))

    def fdatasync(self, fd: int) -> None:
        if "fdatasync" not in self.lying:
            self._note(Did("sync", self._names[fd]))

    def sync_folder(self, folder: Path) -> None:
        if "folder" not in self.lying:
            self._note(Did("folder"))


Image = dict[str, bytes]


@dataclass
class Disk:
    """What is surely on the disk, and what may or may not be, after a prefix of a log."""

    durable: Image = field(default_factory=dict)
    waiting: dict[str, list[Did]] = field(default_factory=dict)
    named: set[str] = field(default_factory=set)
    shown: int = 0

    def take(self, did: Did) -> None:
        match did.what:
            case "create":
                self.durable[did.name] = b""
            case "write" | "truncate":
                self.waiting.setdefault(did.name, []).append(did)
            case "sync":
                self.durable[did.name] = _after(self.durable[did.name], self.waiting.pop(did.name, []))
            case "folder":
                self.named = set(self.durable)
            case "shown":
                self.shown = did.at

    def images(self, rng: random.Random) -> Iterator[tuple[str, Image]]:
        """The ways in which a power cut at this moment could leave the disk, each with its name."""
        names = sorted(self.durable)
        loose = {name for name in names if name not in self.named and rng.random() < 0.5}
        for way in ("none", "all", "part", "torn", "zeros"):
            yield way, {name: self._left(name, way, rng) for name in names if name not in loose}
        yield "names", {name: self._left(name, "all", rng) for name in names if name in self.named}

    def _left(self, name: str, way: str, rng: random.Random) -> bytes:
        waiting = self.waiting.get(name, [])
        match way:
            case "none":
                waiting = []
            case "part":
                waiting = [did for did in waiting if rng.random() < 0.5]
            case "torn" | "zeros" if waiting:
                waiting = [*waiting[:-1], (_torn if way == "torn" else _zeroed)(waiting[-1], rng)]
        return _after(self.durable[name], waiting)


def _after(content: bytes, changes: list[Did]) -> bytes:
    for did in changes:
        before = content[: did.at].ljust(did.at, b"\0")
        content = before if did.what == "truncate" else before + did.data + content[did.at + len(did.data) :]
    return content


def _torn(did: Did, rng: random.Random) -> Did:
    return Did(did.what, did.name, did.data[: rng.randrange(len(did.data) + 1)], did.at)


def _zeroed(did: Did, rng: random.Random) -> Did:
    """The file has grown, but some or all of the sectors written never came."""
    data = bytearray(did.data)
    lost_share = rng.choice((0.3, 0.7, 1.0))
    first = did.at // SECTOR_BYTES * SECTOR_BYTES
    for sector in range(first, did.at + len(data), SECTOR_BYTES):
        if rng.random() < lost_share:
            start, end = max(sector - did.at, 0), min(sector + SECTOR_BYTES - did.at, len(data))
            data[start:end] = bytes(end - start)
    return Did(did.what, did.name, bytes(data), did.at)


class SetClock(Clock):
    """A clock that a test sets."""

    def __init__(self, wall_s: float = 1.8e9, steady_s: float = 10.0, boot_id: str = "boot-a") -> None:
        self.wall_s, self.steady_s, self.boot_id = wall_s, steady_s, boot_id

    def wall(self) -> float:
        return self.wall_s

    def steady(self) -> float:
        return self.steady_s

    def boot(self) -> str:
        return self.boot_id


def put(folder: Path, image: Image) -> None:
    """Write an image of a folder's files."""
    folder.mkdir()
    for name, content in image.items():
        (folder / name).write_bytes(content)
