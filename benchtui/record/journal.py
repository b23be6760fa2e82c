"""The durable journal of one build: events that are on the disk before anyone hears of them.

One record file a build. Suggested name: `<build>.bench`; beside it appear `<build>.bench.head` (count and
hash of the last durable event), `<build>.bench.lock`, after an interrupted write `<build>.bench.torn-1`, and
`<build>.bench.damaged-1` where a new record was begun in the place of a damaged one.
Whoever makes the folder also makes its name durable in the folder above; the journal does not.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any

from benchtui.record.check import BIRTH, FORMAT, Checked, Head, check, refuse_what_is_not_ours
from benchtui.record.clock import Clock
from benchtui.record.errors import (
    AlreadyThere,
    CannotRead,
    CannotWrite,
    Closed,
    Damaged,
    NotFound,
    NotSaved,
    OpenedToRead,
    ReadOnly,
    in_words,
    not_saved,
)
from benchtui.record.event import Event, decode, encode
from benchtui.record.files import Files
from benchtui.record.pen import Pen, look, look_at_head

TAIL_SET_ASIDE = "tail set aside"
CLOCK = Clock()
FILES = Files()


class Journal:
    """Events of one record, oldest first, and the way to add one.

    `trouble` is None while events are taken, else the reason why none is: `append` raises it.
    """

    def __init__(self, path: Path, events: tuple[Event, ...], clock: Clock, held: Pen | ReadOnly) -> None:
        self.path, self.events, self._clock = path, events, clock
        self._pen = held if isinstance(held, Pen) else None
        self.trouble = held if isinstance(held, ReadOnly) else None
        self._turn = threading.Lock()

    @classmethod
    def create(
        cls, path: Path | str, header: Mapping[str, Any], *, clock: Clock = CLOCK, files: Files = FILES
    ) -> Journal:
        """A new record whose first event holds `header`, durable when this returns.

        A first line that was interrupted earlier is set aside. Raises AlreadyThere, NotARecord, Damaged (the
        head file of a lost record is still there), Locked, NoLock, CannotWrite, NotSaved, DiskFull.
        """
        with _pen_unless_it_fails(path, files) as pen:
            checked = _take(pen, clock, create=True)
            if checked.events:
                raise AlreadyThere(pen.path)
            if not checked.unborn:
                refuse_what_is_not_ours(pen.path, checked)
                raise _damaged(pen.path, checked)
            torn = pen.settle(checked)
            journal = cls(pen.path, (), clock, pen)
            journal.append(BIRTH, {"format": FORMAT, "header": dict(header)})
            journal._tell_of(torn)
        return journal

    @classmethod
    def open(cls, path: Path | str, *, write: bool = True, clock: Clock = CLOCK, files: Files = FILES) -> Journal:
        """The record at `path`, checked from end to end; look at `trouble` to see if it takes events.

        A torn tail is set aside and told of by an event 'tail set aside' (`file`, `bytes`). Locked by another
        process, damaged, or not writable: a journal to read, with that `trouble`.
        Raises NotFound, NotARecord, CannotRead, NewerFormat.
        """
        if not write:
            return cls._view(_real(path), clock, files, OpenedToRead(_real(path)))
        try:
            with _pen_unless_it_fails(path, files) as pen:
                checked = _take(pen, clock)
                refuse_what_is_not_ours(pen.path, checked)
                if checked.damage:
                    raise _damaged(pen.path, checked)
                torn = pen.settle(checked)
                journal = cls(pen.path, checked.events, clock, pen)
                journal._tell_of(torn)
        except ReadOnly as why:
            return cls._view(why.path, clock, files, why)
        return journal

    @classmethod
    def set_aside(cls, path: Path | str, *, clock: Clock = CLOCK, files: Files = FILES) -> Path:
        """Where a damaged record is from now on: as it is, under the next name `<record>.damaged-N`, with its head.

        Raises AlreadyThere where it is sound, and NotFound, NotARecord, NewerFormat, Locked, NoLock, CannotWrite.
        """
        with _pen_unless_it_fails(path, files) as pen:
            checked = _take(pen, clock)
            refuse_what_is_not_ours(pen.path, checked)
            if not checked.damage:
                raise AlreadyThere(pen.path)
            to = pen.rename()
            pen.close()
        return to

    @classmethod
    def _view(cls, path: Path, clock: Clock, files: Files, why: ReadOnly) -> Journal:
        """A journal to read only, as it stands now."""
        try:
            head = look_at_head(path, files)  # before the record, which may grow meanwhile
            checked = check(look(path, files), head, watching=True)
        except FileNotFoundError as error:
            raise NotFound(path) from error
        except OSError as error:
            raise CannotRead(path, in_words(error)) from error
        refuse_what_is_not_ours(path, checked)
        return cls(path, checked.events, clock, _damaged(path, checked) if checked.damage else why)

    @property
    def header(self) -> Mapping[str, Any]:
        """What `create` was given; empty if even the first event is damaged."""
        return self.events[0].data["header"] if self.events else {}

    def append(self, kind: str, data: Mapping[str, Any]) -> Event:
        """The event, as it will be read back, once it is durable.

        Raises `trouble` if there is one. Any failure here (NotSaved, DiskFull) becomes `trouble` for good:
        a second try could seem to work with the first event lost.
        """
        with self._turn, self._writing(len(self.events) + 1) as pen:
            line, event = self._line(kind, data)
            pen.write(line, Head(event.n, event.hash))
            self.events = (*self.events, event)
        return event

    def close(self) -> None:
        """Let go of the files and of the lock; the events stay readable."""
        with self._turn:
            self.trouble = self.trouble or Closed(self.path)
            if self._pen:
                self._pen.close()

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @contextmanager
    def _writing(self, event: int) -> Iterator[Pen]:
        """Lend the pen; unless the block ends well there is `trouble` ever after, whatever ended it."""
        if self.trouble or not self._pen:
            raise self.trouble or Closed(self.path)
        try:
            yield self._pen
        except OSError as error:
            self.trouble = not_saved(self.path, error, event)
            raise self.trouble from error
        except (TypeError, ValueError, RecursionError) as error:
            self.trouble = NotSaved(self.path, f"it has no form as JSON, {error}", event=event)
            raise self.trouble from error
        except BaseException:
            self.trouble = NotSaved(self.path, "writing was interrupted", event=event)
            raise

    def _line(self, kind: str, data: Mapping[str, Any]) -> tuple[bytes, Event]:
        clock, n, prev = self._clock, len(self.events) + 1, Head.of(self.events).hash
        times = {"t_wall": clock.wall(), "t_steady": clock.steady(), "boot": clock.boot()}
        line = encode(n, kind, data, **times, prev=prev)
        event = decode(line, n, prev)
        if event is None:
            raise ValueError(f"{kind!r} would not be read back")
        return line, event

    def _tell_of(self, torn: Mapping[str, int]) -> None:
        """Write an event for each tail set aside that has none, be it from a run that was cut short."""
        told = {event.data.get("file") for event in self.events if event.kind == TAIL_SET_ASIDE}
        for name, size in torn.items():
            if name not in told:
                self.append(TAIL_SET_ASIDE, {"file": name, "bytes": size})


def _real(path: Path | str) -> Path:
    """The path behind all links: two names of one record must meet at one lock."""
    return Path(os.path.realpath(path))


@contextmanager
def _pen_unless_it_fails(path: Path | str, files: Files) -> Iterator[Pen]:
    """A pen that is put down if the block fails, and else stays with the journal made in it."""
    with ExitStack() as stack:
        pen = Pen(_real(path), files)
        stack.callback(pen.close)
        try:
            yield pen
        except OSError as error:
            raise CannotWrite(pen.path, in_words(error)) from error
        stack.pop_all()


def _take(pen: Pen, clock: Clock, *, create: bool = False) -> Checked:
    return check(pen.take(clock.wall(), create=create), look_at_head(pen.path, pen.files))


def _damaged(path: Path, checked: Checked) -> Damaged:
    last = Head.of(checked.events)
    return Damaged(path, checked.damage, event=last.count, hash=last.hash)
