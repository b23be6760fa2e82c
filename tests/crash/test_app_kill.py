"""SIGKILL at random moments of a bring-up: what was shown as saved is there, and the next start begins at the gate.

These kills hit the session in a process of its own, at the place where a screen would show `saved #N`; those of
test_terminal_kill.py hit the whole app on a terminal. (A kill says nothing of a power cut: test_record_power_cut.py.)
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchtui.record import Event, Journal, NotFound
from tests.record.counts import count
from tests.walk.benches import bench
from tests.walk.forecasts import Remembering, shared_folder
from tests.walk.walking import walk

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
NAME = "pp-6v6"
MOST_ANSWERS_BEFORE_A_KILL = 70

#: What a start may ask first: the gate, or whether the chassis is bare, or (once) whether it ever met mains.
FIRST_TITLES = {"Pull the plug", "No mains lead", "Is the chassis bare?", "Did this chassis ever meet mains?"}

_SAVED = re.compile(r"saved #(\d+) (\w+) (.*) / (.*)")


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the forecasts of a whole walk, for processes that have no time to compute them."""
    folder = shared_folder(tmp_path_factory)
    made = bench(NAME, tmp_path_factory.mktemp("known"), Remembering(folder))
    session = made.session()
    walk(session, made.builder, made.clock)
    session.leave()
    return folder


@pytest.fixture
def walker(known: Path, tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A process that forks a walk at each line it is sent."""
    bench(NAME, tmp_path, Remembering(known))
    process = subprocess.Popen(
        [sys.executable, str(HERE / "walk_child.py"), str(tmp_path / f"{NAME}.toml"), str(known)],
        env=os.environ | {"PYTHONPATH": str(ROOT), "OPENBLAS_NUM_THREADS": "1"},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def killed_walk(process: subprocess.Popen[str], answers: int, after_s: float) -> list[str]:
    """The lines of a walk that was killed `after_s` after its line number `answers`, or at its end."""
    assert process.stdin and process.stdout
    process.stdin.write("go\n")
    process.stdin.flush()
    lines: list[str] = []
    alive = True
    for line in process.stdout:
        if line.startswith("ended "):
            assert int(line.removeprefix("ended ")) == -signal.SIGKILL, "the walk went wrong by itself"
            return lines
        lines.append(line.rstrip("\n"))
        if len(lines) == answers + 1:
            time.sleep(after_s)
        if alive and (len(lines) == answers + 1 or line == "finished\n"):
            alive = False
            os.kill(int(lines[0].removeprefix("pid ")), signal.SIGKILL)
    raise AssertionError("the walking process ended by itself")


def events_of(path: Path) -> tuple[Event, ...]:
    """The events of a sound record; a tail that a kill tore is set aside by its opening and told of as an event."""
    try:
        journal = Journal.open(path)
    except NotFound:
        return ()
    with journal:
        assert journal.trouble is None
        return tuple(journal.events)


def test_no_answer_that_was_shown_is_lost_and_every_start_begins_at_the_gate(
    walker: subprocess.Popen[str], tmp_path: Path
) -> None:
    rng = random.Random(1914)
    record, before, kills, starts, hit = tmp_path / f"{NAME}.bench", 0, 0, 0, set()
    wanted = count(short=12, full=500)
    while kills < wanted:
        lines = killed_walk(walker, rng.randint(0, MOST_ANSWERS_BEFORE_A_KILL), rng.uniform(0.0, 0.02))
        shown = [match for line in lines if (match := _SAVED.fullmatch(line))]
        events = events_of(record)
        if shown:
            starts += 1
            assert (shown[0][3], shown[0][4] in FIRST_TITLES) == ("gate", True), shown[0][0]
            if any(event.kind == "power on" for event in events[: int(shown[0][1])]):
                assert shown[0][4] == "Pull the plug"
        for match in shown:
            assert events[int(match[1]) - 1].hash == match[2]
        last = max([before, *(int(match[1]) for match in shown)])
        assert len(events) >= last
        assert len([event for event in events[last:] if event.kind != "tail set aside"]) <= 1
        before = len(events)
        if "finished" in lines:
            record.unlink()
            record.with_suffix(".bench.head").unlink(missing_ok=True)
            before = 0
        else:
            kills += 1
            hit.add(shown[-1][3] if shown else "opening")
    # Which phases a kill meets hangs on the machine's speed; that it meets the gate and others does not.
    assert starts > kills / 2 and "gate" in hit and len(hit) >= count(short=3, full=8), hit
