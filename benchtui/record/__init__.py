"""The durable journal: append-only events with a hash chain and a head file. It knows no event's meaning."""

from benchtui.record.check import BIRTH
from benchtui.record.clock import Clock
from benchtui.record.errors import (
    AlreadyThere,
    CannotRead,
    CannotWrite,
    Closed,
    Damaged,
    DiskFull,
    Locked,
    NewerFormat,
    NoLock,
    NotARecord,
    NotFound,
    NotSaved,
    OpenedToRead,
    ReadOnly,
    RecordError,
)
from benchtui.record.event import Event
from benchtui.record.files import Files
from benchtui.record.journal import TAIL_SET_ASIDE, Journal
from benchtui.record.pen import held_elsewhere

__all__ = [
    "BIRTH", "TAIL_SET_ASIDE", "AlreadyThere", "CannotRead", "CannotWrite", "Clock", "Closed", "Damaged",
    "DiskFull", "Event", "Files", "Journal", "Locked", "NewerFormat", "NoLock", "NotARecord", "NotFound",
    "NotSaved", "OpenedToRead", "ReadOnly", "RecordError", "held_elsewhere",
]  # fmt: skip
