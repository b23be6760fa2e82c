"""Real processes that are killed, run out of room, or meet on one record."""

from __future__ import annotations

import os
import random
import subprocess
import sys
import time
from pathlib import Path

from benchtui.record import Journal, NotFound
from tests.crash.record_child import FILE_LIMIT_BYTES, data
from tests.record.counts import count

CHILD = Path(__file__).with_name("record_child.py")
ROOT = CHILD.parents[2]
HANG_S = 30.0
KILLS_A_RECORD = 20


def started(way: str, path: Path) -> subprocess.Popen[str]:
    """A child at work on the record."""
    return subprocess.Popen(
        [sys.executable, str(CHILD), way, str(path)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


def last_shown(output: str) -> int:
    """The last number that was shown as saved on a whole line, 0 if none."""
    whole = output[: output.rfind("\n") + 1].splitlines()
    return max((int(line.removeprefix("saved #")) for line in whole if line.startswith("saved #")), default=0)


def events_found(path: Path, shown: int) -> int:
    """How many events the record holds, after a check that none shown is missing and at most one is new."""
    try:
        journal = Journal.open(path)
    except NotFound:
        assert shown == 0
        return 0
    with journal:
        assert journal.trouble is None and len(journal.events) >= shown
        # A kill can tear a write where it passes from one memory page to the next: that is told of as well.
        readings = [event for event in journal.events if event.kind == "reading"]
        assert len([event for event in readings if event.n > shown]) <= 1
        assert all(event.data == data(event.n) for event in readings)
        assert {event.kind for event in journal.events} <= {"birth", "reading", "tail set aside"}
        return len(journal.events)


def test_no_shown_event_is_lost_when_the_program_is_killed_at_any_moment(tmp_path: Path) -> None:
    rng = random.Random(21)
    for kill in range(count(short=20, full=1000)):
        if kill % KILLS_A_RECORD == 0:
            path, found = tmp_path / f"{kill}.bench", 0
        child = started("append", path)
        first = child.stdout.readline() if kill % 2 and child.stdout else ""  # the other half may die in their start
        time.sleep(rng.uniform(0.02, 0.4))
        child.kill()
        output, _ = child.communicate(timeout=HANG_S)
        found = events_found(path, max(found, last_shown(first + output)))
    assert found > 0


def test_one_program_at_a_time_writes_and_a_killed_one_blocks_nobody(tmp_path: Path) -> None:
    path = tmp_path / "amp.bench"
    for _ in range(count(short=3, full=34)):
        children = [started("hold", path) for _ in range(3)]
        said = [child.stdout.readline().strip() for child in children if child.stdout]
        for child in children:
            child.kill()
            child.communicate(timeout=HANG_S)
        assert sorted(said) == ["Locked", "Locked", "writes"]
        with Journal.open(path) as journal:
            assert journal.trouble is None


def test_the_systems_limit_on_file_size_ends_the_journal_in_time(tmp_path: Path) -> None:
    path = tmp_path / "amp.bench"
    output, _ = started("limit", path).communicate(timeout=HANG_S)
    assert output.splitlines()[-1] == "DiskFull"
    assert path.stat().st_size == FILE_LIMIT_BYTES
    with Journal.open(path) as journal:
        assert journal.trouble is None
        assert [event.kind for event in journal.events[-2:]] == ["reading", "tail set aside"]
        assert len(journal.events) - 1 == last_shown(output)
