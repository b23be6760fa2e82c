"""The one place where a record touches the disk; tests put a layer that logs or fails in its stead."""

from __future__ import annotations

import fcntl
import os
import stat
from pathlib import Path

from benchtui.record.errors import ShortWrite


class Files:
    """The operating system's calls, named and nothing more. All of them raise OSError."""

    def open(self, path: Path, flags: int) -> int:
        """Descriptor of a file, made with mode 0600; a pipe does not block."""
        return os.open(path, flags | os.O_NONBLOCK, 0o600)

    def close(self, fd: int) -> None:
        os.close(fd)

    def is_plain(self, fd: int) -> bool:
        """Is it an ordinary file: no folder, pipe or device?"""
        return stat.S_ISREG(os.fstat(fd).st_mode)

    def size(self, path: Path, fd: int) -> int | None:
        """Bytes in the open file, None if `path` now leads to another one."""
        ours = os.fstat(fd)
        return ours.st_size if os.path.samestat(os.stat(path), ours) else None

    def names(self, folder: Path) -> list[str]:
        return os.listdir(folder)

    def read(self, fd: int) -> bytes:
        """All bytes, from the disk where the system allows.

        After a failed fsync the cache may hold, as clean, what the disk never got; so it is dropped first.
        """
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(fd, 0, 0, os.POSIX_FADV_DONTNEED)
        blocks, at = [], 0
        while block := os.pread(fd, 1 << 20, at):
            blocks.append(block)
            at += len(block)
        return b"".join(blocks)

    def write(self, fd: int, data: bytes) -> int:
        return os.write(fd, data)

    def pwrite(self, fd: int, data: bytes, at: int) -> int:
        return os.pwrite(fd, data, at)

    def truncate(self, fd: int, size: int) -> None:
        os.ftruncate(fd, size)

    def rename(self, path: Path, to: Path) -> None:
        os.rename(path, to)

    def fsync(self, fd: int) -> None:
        if hasattr(fcntl, "F_FULLFSYNC"):  # macOS: its fsync does not reach the platter
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
        else:
            os.fsync(fd)

    def fdatasync(self, fd: int) -> None:
        if hasattr(os, "fdatasync"):
            os.fdatasync(fd)
        else:
            self.fsync(fd)

    def sync_folder(self, folder: Path) -> None:
        """Make the names in a folder durable."""
        fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(fd)
        finally:
            os.close(fd)

    def lock(self, fd: int) -> bool:
        """Take the lock for as long as the descriptor lives; False if another process has it."""
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True


def whole(written: int, data: bytes) -> None:
    """Raise ShortWrite unless all of `data` was taken in the one write."""
    if written != len(data):
        raise ShortWrite(f"only {written} of {len(data)} bytes were taken, the disk may be full")
