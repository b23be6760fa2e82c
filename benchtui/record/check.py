"""Is a record sound? Pure functions over the bytes of the record and of its head file.

A chain alone cannot see a missing end, so the head file counts the events: two slots of 512 bytes used in
turn, so that a write torn by a power cut spoils one and leaves the count before it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

from benchtui.record.errors import NewerFormat, NotARecord, NotFound
from benchtui.record.event import GENESIS, Event, decode

FORMAT = 1
BIRTH = "birth"
SLOT_BYTES = 512
FIRST_BYTES = b'{"n":1,'


@dataclass(frozen=True, slots=True)
class Head:
    """How many events are known to be durable, and the hash of the last of them."""

    count: int = 0
    hash: str = GENESIS

    @classmethod
    def of(cls, events: Sequence[Event]) -> Head:
        """The head that these events should have."""
        return cls(len(events), events[-1].hash) if events else cls()

    def slot(self) -> bytes:
        """The 512 bytes of this head's slot."""
        text = f"{self.count} {self.hash}".encode("ascii")
        return (text + b" %08x" % crc32(text)).ljust(SLOT_BYTES - 1) + b"\n"

    def offset(self) -> int:
        """Byte of the head file at which this head's slot starts."""
        return self.count % 2 * SLOT_BYTES


def read_head(data: bytes) -> Head:
    """The furthest head of the two slots; a count of 0 where neither is sound."""
    slots = (_read_slot(data[at : at + SLOT_BYTES]) for at in (0, SLOT_BYTES))
    return max(slots, key=lambda head: head.count)


def _read_slot(slot: bytes) -> Head:
    match slot.split():
        case [count, hash_, _crc] if count.isdigit() and len(count) < 16 and hash_.isalnum():
            head = Head(int(count), hash_.decode("ascii"))
            return head if head.slot() == slot else Head()
    return Head()


@dataclass(frozen=True, slots=True)
class Checked:
    """What a record holds: sound events and their bytes, a torn tail to set aside, or what is damaged.

    `head` is what the head file said.
    """

    events: tuple[Event, ...]
    sound_bytes: int
    tail: bytes
    damage: str
    head: Head

    @property
    def unborn(self) -> bool:
        """Is it nothing at all, or a first line that was interrupted?"""
        starts = self.tail.startswith(FIRST_BYTES) or FIRST_BYTES.startswith(self.tail)
        return not self.events and not self.damage and (starts or b"\0" in self.tail)


def check(record: bytes, head: Head, *, watching: bool = False) -> Checked:
    """Every event up to the first that is not sound, and the verdict on the rest.

    `watching`: another process may be writing and the head was read first, so any lead over it is fine.
    """
    events: list[Event] = []
    prev, at = GENESIS, 0
    while end := record.find(b"\n", at) + 1:
        event = decode(record[at:end], len(events) + 1, prev)
        if event is None:
            break
        events.append(event)
        prev, at = event.hash, end
    tail = record[at:]
    damage = _damage(events, tail, head, watching=watching)
    return Checked(tuple(events), at, b"" if damage else tail, damage, head)


def _damage(events: Sequence[Event], tail: bytes, head: Head, *, watching: bool) -> str:
    count = len(events)
    if tail and not (count >= head.count and _torn(tail)):
        return f"event #{count + 1} fails its check"
    if count < head.count:
        return f"its end is lost, {head.count} events were saved"
    if head.count and events[head.count - 1].hash != head.hash:
        return f"its head file names another event #{head.count}"
    if count > head.count + 1 and not watching:
        return f"its .head file is lost or old, or was not copied along: it counts {head.count} events of {count}"
    return ""


def _torn(tail: bytes) -> bool:
    """Is this what an interrupted write leaves: no line end, or one line with blocks that read as NUL?"""
    end = tail.find(b"\n")
    return end < 0 or (end == len(tail) - 1 and b"\0" in tail)


def refuse_what_is_not_ours(path: Path, checked: Checked) -> None:
    """Raise NotFound, NotARecord or NewerFormat unless this is a record of ours, sound or damaged.

    The first event keeps its form in every format, so that an older program can tell a newer one.
    """
    if checked.unborn:
        raise NotFound(path)
    if not checked.events and not checked.head.count:
        raise NotARecord(path, "its first line is none of ours")
    for first in checked.events[:1]:
        match first.kind, first.data:
            case kind, {"format": int(number), "header": dict()} if kind == BIRTH and number >= 1:
                if number > FORMAT:
                    raise NewerFormat(path, f"format {number}, this one reads up to {FORMAT}")
            case _:
                raise NotARecord(path, "its first event is no birth")
