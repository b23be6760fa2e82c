"""The record's readings as plain data for other programs: everything that the tables of the report show, unrounded."""

from __future__ import annotations

from math import isfinite
from typing import Any

from benchtui.papers.history import Entry, Reading
from benchtui.papers.source import Source
from benchtui.procedure import events as e


def data(source: Source) -> dict[str, Any]:
    """Record, readings, mains, trims and every other entry; a number that is not finite is null."""
    history = source.history
    return {
        "build": source.build.id,
        "record": {
            "file": source.record.name, "sound": not source.damage, "trouble": source.damage,
            "rehearsal": source.rehearsal, "sha256": source.sha256, "finished": history.finished,
            "first_s": history.entries[0].wall, "last_s": history.entries[-1].wall,
        },
        "readings": [_reading(each) for each in history.readings],
        "mains": [_entry(each) | {"mains_v": each.event.value_v} for each in history.of(e.MainsRead)],
        "trims": [_trim(each) for each in history.of(e.TrimInside, e.TrimOutside)],
        "entries": [_entry(each) | {"kind": each.kind, "text": each.says} for each in history.entries],
    }  # fmt: skip


def _entry(entry: Entry) -> dict[str, Any]:
    return {"n": entry.n, "at_s": entry.wall, "stage": entry.stage}


def _reading(reading: Reading) -> dict[str, Any]:
    return _entry(reading.entry) | {
        "point": reading.point, "name": reading.name, "unit": reading.unit, "typed": reading.text,
        "value": _number(reading.value), "nominal": _number(reading.nominal), "low": _number(reading.low),
        "high": _number(reading.high), "verdict": reading.verdict, "reasons": list(reading.reasons),
        "accepted": reading.reason, "counts": reading.counts, "powered": reading.entry.powered,
    }  # fmt: skip


def _trim(entry: Entry) -> dict[str, Any]:
    trim = entry.event
    return _entry(entry) | {
        "trim": trim.trim, "typed": trim.text, "value": trim.value_v, "target": trim.target_v, "low": trim.low,
        "high": trim.high, "reached": isinstance(trim, e.TrimInside),
    }  # fmt: skip


def _number(value: float) -> float | None:
    return value if isfinite(value) else None
