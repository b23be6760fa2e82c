"""From Enter on a reading to its verdict on the screen, without and with a forecast being computed beside it.

    BENCHTUI_LONG=1 python -m pytest -n 0 -s tests/bench/test_verdict_times.py

The program runs in a terminal of 80x24; readings are typed into it, half of them warns and half passes. Time runs from
before the Enter is written to the terminal until that piece of output has been read with which the verdict stands on
the screen beside the value; `all` is the same for the next prompt and the number of the event. What the program spent
in write and fsync of the record is taken off, and told. On a busy machine most of it is waiting for a core: `processor`
is what the program itself needs of one from Enter to the painted verdict.
"""

from __future__ import annotations

import os
import statistics
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from tests.crash.terminal import Terminal

BUILD = Path(__file__).parents[2] / "builds" / "pp-6v6.toml"

#: The stage that is read has 21 points; each is read twice, outside its window and inside.
POINTS, ROUNDS = 21, 5
READINGS = 2 * POINTS


@dataclass
class Times:
    """Seconds of each reading: to the verdict, to the whole screen, in writes and syncs, of the processor."""

    verdict: list[float] = field(default_factory=list)
    whole: list[float] = field(default_factory=list)
    record: list[float] = field(default_factory=list)
    processor: list[float] = field(default_factory=list)

    def own(self, seconds: list[float]) -> list[float]:
        """`seconds` without the record's."""
        return [each - record for each, record in zip(seconds, self.record, strict=True)]


def type_stage(folder: Path, times: Times, *busy: str) -> None:
    """One stage typed from its first point on, in a program of its own."""
    folder.mkdir()
    log = folder / "times"
    command = [sys.executable, "-m", "tests.bench.verdict_child", str(BUILD), str(folder), str(log), *busy]
    terminal = Terminal(command, os.environ | {"TERM": "xterm-256color", "LANG": "C.UTF-8"})
    try:
        saved = int(terminal.wait_for("saved #", "reading").split("saved #")[1].split()[0])
        for n in range(READINGS):
            typed, verdict = (f"{111 + 0.9 * n:.1f}", "WARN") if n % 2 == 0 else (f"{95 + n / 100:.2f}", "PASS")
            spent = recorded(log)
            terminal.type(typed)
            saved += 1
            told = lambda text, v=verdict, t=typed: any(v in row and f"{t} V" in row for row in text.split("\n"))  # noqa: E731
            to_verdict, to_whole = terminal.enter(told, lambda text, n=saved: f"saved #{n} " in text)
            times.verdict.append(to_verdict)
            times.whole.append(to_whole)
            times.record.append(recorded(log) - spent)
        times.processor += [float(line) for line in log.with_name("times.own").read_text().splitlines()]
    finally:
        terminal.close()


def recorded(log: Path) -> float:
    """Seconds that were spent in write and fsync so far."""
    return sum(float(line.split()[1]) for line in log.read_text().splitlines()) if log.exists() else 0.0


def told(seconds: list[float]) -> str:
    """Median, 95th and 99th percentile and longest, in milliseconds."""
    ordered = sorted(seconds)
    at = {share: ordered[min(int(share * len(ordered)), len(ordered) - 1)] for share in (0.95, 0.99)}
    figures = [statistics.median(ordered), at[0.95], at[0.99], ordered[-1]]
    return "median {:.1f}, p95 {:.1f}, p99 {:.1f}, max {:.1f} ms".format(*(1e3 * each for each in figures))


@pytest.mark.parametrize("busy", [(), ("busy",)], ids=str)
def test_enter_to_verdict(busy: tuple[str, ...], tmp_path: Path) -> None:
    times = Times()
    for number in range(ROUNDS):
        type_stage(tmp_path / str(number), times, *busy)
    assert len(times.verdict) == ROUNDS * READINGS
    print(f"\n{len(times.verdict)} readings {'beside a forecast' if busy else 'alone'}")
    print(f"  Enter to verdict {told(times.own(times.verdict))}")
    print(f"  Enter to all     {told(times.own(times.whole))}")
    print(f"  write and fsync  {told(times.record)}")
    print(f"  processor        {told(times.processor)}")
