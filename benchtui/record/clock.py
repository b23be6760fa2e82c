"""The three times that an event carries."""

from __future__ import annotations

import time
from functools import cache
from pathlib import Path

BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


class Clock:
    """The computer's clocks; anything with these three methods may stand in for it."""

    def wall(self) -> float:
        """Seconds since 1970, as the computer believes; it may jump, so nothing is decided by it."""
        return time.time()

    def steady(self) -> float:
        """Seconds on a clock that never jumps; two of them compare only within one boot."""
        return time.monotonic()

    def boot(self) -> str:
        """Name of this run of the operating system, "" where it tells none (then no two times compare)."""
        return _boot_id()


@cache
def _boot_id() -> str:
    try:
        return BOOT_ID.read_text(encoding="ascii").strip()
    except (OSError, ValueError):
        return ""
