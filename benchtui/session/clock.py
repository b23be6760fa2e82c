"""The clocks of a session: the record's, and one that goes on while the computer sleeps."""

from __future__ import annotations

import time

from benchtui.record import Clock as RecordClock


class Clock(RecordClock):
    """Wall, steady and boot as the record knows them, and `awake_or_not`; tests hand in one of their own."""

    def awake_or_not(self) -> float:
        """Seconds that count sleep as well; the steady clock's where the system has none such."""
        boottime = getattr(time, "CLOCK_BOOTTIME", None)
        return time.monotonic() if boottime is None else time.clock_gettime(boottime)
