"""Times of the record, reported (`BENCHTUI_LONG=1 pytest -s tests/bench`) and never asserted."""

from __future__ import annotations

import os
import statistics
import time
import tracemalloc
from pathlib import Path

from benchtui.record import Journal
from tests.record.layers import QuickFiles

EVENTS = 10_000
DATA = {"point": "TP7", "typed": "383.5", "v": 383.5, "verdict": "pass", "range": "600 V DC"}


def test_time_and_memory_to_open_ten_thousand_events(tmp_path: Path) -> None:
    with Journal.create(tmp_path / "r", {"build": "x" * 20_000}, files=QuickFiles()) as journal:
        while len(journal.events) < EVENTS:
            journal.append("reading", DATA)
    start = time.perf_counter()
    with Journal.open(tmp_path / "r") as journal:
        open_s = time.perf_counter() - start
        assert len(journal.events) == EVENTS and journal.trouble is None
    tracemalloc.start()
    with Journal.open(tmp_path / "r"):
        peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    print(f"\nopen {EVENTS} events: {open_s:.3f} s, peak {peak_bytes / 1e6:.0f} MB (target 1 s, 200 MB)")


def test_time_to_append_beside_a_bare_write_and_sync(tmp_path: Path) -> None:
    bare_s, append_s = [], []
    fd = os.open(tmp_path / "bare", os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    with Journal.create(tmp_path / "r", {}) as journal:
        for _ in range(1000):
            start = time.perf_counter()
            os.write(fd, b"x" * 400)
            os.fsync(fd)
            middle = time.perf_counter()
            journal.append("reading", DATA)
            bare_s.append(middle - start)
            append_s.append(time.perf_counter() - middle)
    os.close(fd)
    bare_ms, append_ms = statistics.median(bare_s) * 1e3, statistics.median(append_s) * 1e3
    assert len(journal.events) == len(append_s) + 1
    print(f"\nappend {append_ms:.2f} ms, bare {bare_ms:.2f} ms: ratio {append_ms / bare_ms:.1f} (target 3)")
    print(f"longest append {max(append_s) * 1e3:.0f} ms")
