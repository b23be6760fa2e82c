"""From Enter on a reading to its verdict on the screen, without and with a forecast being computed beside it.

    BENCHTUI_LONG=1 python -m pytest -n 0 -s tests/bench/test_verdict_times.py

The program runs in a terminal of 80x24; readings are typed into it, half of them warns and half passes. Time runs from
before the Enter is written to the terminal until that piece of output has been read with which number and verdict stand
on the screen. What the program spent in write and fsync of the record meanwhile is taken off, and reported.
"""

from __future__ import annotations

import os
import statistics
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.crash.terminal import Terminal
from tests.record.counts import count

BUILD = Path(__file__).parents[2] / "builds" / "pp-6v6.toml"

#: The stage that is read has 21 points; each is read twice, outside its window and inside.
POINTS, ROUNDS = 21, count(short=1, full=5)
READINGS = count(short=8, full=2 * POINTS)


@dataclass
class Times:
    """Seconds of each reading: from Enter to verdict, and within that in the record's writes and syncs."""

    whole: list[float] = field(default_factory=list)
    record: list[float] = field(default_factory=list)

    @property
    def own(self) -> list[float]:
        return [whole - record for whole, record in zip(self.whole, self.record, strict=True)]


def type_stage(folder: Path, times: Times, *busy: str) -> None:
    """One stage typed from its first point on, in a program of its own."""
    folder.mkdir()
    log = folder / "times"
    command = [sys.executable, "-m", "tests.bench.verdict_child", str(BUILD), str(folder), str(log), *busy]
    terminal = Terminal(command, os.environ | {"TERM": "xterm-256color", "LANG": "C.UTF-8"})
    try:
        screen = terminal.wait_for("saved #", "reading")
        saved = int(screen.split("saved #")[1].split()[0])
        for n in range(READINGS):
            typed, verdict = (f"{111 + n}.5", "WARN") if n % 2 == 0 else (f"{95 + n / 100:.2f}", "PASS")
            spent = recorded(log)
            terminal.type(typed)
            saved += 1
            times.whole.append(terminal.enter(lambda text, n=saved, v=(verdict, typed): shown(text, n, *v)))
            times.record.append(recorded(log) - spent)
    finally:
        terminal.close()


def shown(screen: str, saved: int, verdict: str, typed: str) -> bool:
    """Do the number of the event, the verdict and the value stand on the screen?"""
    return f"saved #{saved} " in screen and any(verdict in row and f"{typed} V" in row for row in screen.split("\n"))


def recorded(log: Path) -> float:
    """Seconds that were spent in write and fsync so far."""
    return sum(float(line.split()[1]) for line in log.read_text().splitlines()) if log.exists() else 0.0


def told(seconds: list[float]) -> str:
    """Median, 95th and 99th percentile and longest, in milliseconds."""
    ordered = sorted(seconds)
    at = {share: ordered[min(int(share * len(ordered)), len(ordered) - 1)] for share in (0.95, 0.99)}
    figures = [statistics.median(ordered), at[0.95], at[0.99], ordered[-1]]
    return "median {:.1f}, p95 {:.1f}, p99 {:.1f}, max {:.1f} ms".format(*(1e3 * each for each in figures))


@pytest.mark.parametrize("busy", [(), ("busy",)], ids=["alone", "beside a forecast"])
def test_enter_to_verdict(busy: tuple[str, ...], tmp_path: Path) -> None:
    times = Times()
    for number in range(ROUNDS):
        type_stage(tmp_path / str(number), times, *busy)
    assert len(times.whole) == ROUNDS * READINGS
    print(f"\n{len(times.whole)} readings {'beside a forecast' if busy else 'alone'}: Enter to verdict {told(times.own)}")
    print(f"  write and fsync beside: {told(times.record)}")
