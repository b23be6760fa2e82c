"""A record of 10,000 events, as after a long evening: opening it, memory, and from key to screen at its end.

BENCHTUI_LONG=1 python -m pytest -n 0 -s tests/bench/test_long_session.py
"""

from __future__ import annotations

import time
import tracemalloc
from pathlib import Path

from benchtui.session.opening import open_session
from tests.screens.keys import opened
from tests.session.made_up import BUILDS, Desk, MadeUp

EVENTS = 10_000

#: Pages and keys, each timed until all that follows is on the screen; the test's own two pauses count in.
KEYS = ("1", "f5", "escape", "f3", "a", "escape", "f4", "escape", "f2", "escape")


async def test_a_long_record_is_opened_and_typed_into(tmp_path: Path) -> None:
    desk = Desk(BUILDS / "pp-6v6.toml", tmp_path)
    desk.till(lambda view: view.stage == "HT off load" and view.danger.word == "LIVE")
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    begun = desk.session.view().saved
    while desk.session.view().saved < EVENTS:
        desk.session.note(f"{desk.session.view().saved} and still no hum")
        desk.clock.pass_(3.0)
        desk.session.tick()
    grown, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    desk.drop()
    begin = time.perf_counter()
    session = open_session(desk.path, record_folder=tmp_path, forecaster=MadeUp())
    opening_s = time.perf_counter() - begin
    took = {}
    async with opened(session) as hands:
        for key in KEYS:
            begin = time.perf_counter()
            await hands.key(key)
            took[key] = max(took.get(key, 0.0), time.perf_counter() - begin)
        assert "saved #" in hands.text()
    assert session.view().saved > EVENTS
    slowest = ", ".join(f"{key} {1000.0 * s:.0f}" for key, s in took.items())
    mb = (grown - before) / 2**20
    print(f"\n{EVENTS - begun} events: {mb:.1f} MB, opened in {opening_s:.2f} s; keys in ms: {slowest}")
