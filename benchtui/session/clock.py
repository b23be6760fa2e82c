"""The clocks of a session: the record's, and one that goes on while the computer sleeps."""

from __future__ import annotations

import time

from benchtui.record import Clock as RecordClock
from benchtui.session import figures

#: A gap this long between two ticks means that nobody watched: the computer slept or the program stood still.
_GAP_S = 10.0

#: The sleeping clock running ahead of the steady one by this much is a sleep.
_SLEEP_S = 1.0


class Clock(RecordClock):
    """Wall, steady and boot as the record knows them, and `awake_or_not`; tests hand in one of their own."""

    def awake_or_not(self) -> float:
        """Seconds that count sleep as well; the steady clock's where the system has none such."""
        boottime = getattr(time, "CLOCK_BOOTTIME", None)
        return time.monotonic() if boottime is None else time.clock_gettime(boottime)


def unseen(passed_s: float, slept_s: float) -> str:
    """What kept the session from watching the bench since the last tick, in words; "" where nothing did."""
    if slept_s > _SLEEP_S:
        return f"the computer slept for {figures.seconds(slept_s)}"
    return f"the program stood still for {figures.seconds(passed_s)}" if passed_s > _GAP_S else ""
