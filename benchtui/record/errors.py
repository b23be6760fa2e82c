"""What can be wrong with a record, each a class of its own with its fields and one sentence."""

from __future__ import annotations

import errno
import os
from pathlib import Path


class RecordError(Exception):
    """Base of all: `path` of the record, `reason` in words, `event` number where one is meant."""

    sentence = "{path}: {reason}"

    def __init__(self, path: Path, reason: str = "", *, event: int | None = None) -> None:
        self.path, self.reason, self.event = path, reason, event
        shown = str(path) if str(path).isprintable() else ascii(str(path))
        super().__init__(self.sentence.format(path=shown, reason=reason, event=event))


class NotFound(RecordError):
    """There is no record here, or its first line never became durable: nothing was ever shown from it."""

    sentence = "there is no record at {path}"


class AlreadyThere(RecordError):
    """A new record was asked for under the name of one that exists."""

    sentence = "{path} already holds a record; open that one, or choose another name"


class NotARecord(RecordError):
    """The file is something else."""

    sentence = "{path} is not a bench record: {reason}"


class CannotRead(RecordError):
    """The system does not let us read the file."""

    sentence = "{path} cannot be read: {reason}"


class NewerFormat(RecordError):
    """The record was written by a later version of the program."""

    sentence = "{path} was written by a newer version of this program ({reason}); use that version"


class ReadOnly(RecordError):
    """Base of all reasons for which a journal takes no events though it may be read."""


class OpenedToRead(ReadOnly):
    """The caller asked for a view."""

    sentence = "{path} was opened for reading only"


class Closed(ReadOnly):
    """The journal has been closed."""

    sentence = "{path} is closed; nothing more can be written"


class Locked(ReadOnly):
    """Another process writes this record; `reason` names it as far as its lock file tells."""

    sentence = "{path} is open in {reason}; close that first, this one only reads"


class NoLock(ReadOnly):
    """The file system offers no lock, so two programs could write at once."""

    sentence = "{path} cannot be locked ({reason}); keep the record on a local disk"


class CannotWrite(ReadOnly):
    """The record, its folder or a file beside it cannot be written, found before any event was taken."""

    sentence = "{path} or its folder cannot be written: {reason}"


class Damaged(ReadOnly):
    """The record is altered or shortened; `event` is the last sound one (0 for none), `hash` its hash."""

    sentence = "{path} is damaged: {reason}; the last sound event is #{event}"

    def __init__(self, path: Path, reason: str, *, event: int, hash: str) -> None:
        self.hash = hash
        super().__init__(path, reason, event=event)


class NotSaved(ReadOnly):
    """Event `event` is not known to be on the disk; the journal takes no more, for good."""

    sentence = "event #{event} was not saved in {path}: {reason}"


class DiskFull(NotSaved):
    """The same, because no room is left on the disk, in the quota or under the file size limit."""


class ShortWrite(OSError):
    """The system took only a part of one write and called it a success."""


def in_words(error: OSError) -> str:
    """The system's own words for an error, without path or number."""
    return os.strerror(error.errno) if error.errno else str(error)


def not_saved(path: Path, error: OSError, event: int) -> NotSaved:
    """The failure to save that a system error amounts to."""
    full = isinstance(error, ShortWrite) or error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
    return (DiskFull if full else NotSaved)(path, in_words(error), event=event)
