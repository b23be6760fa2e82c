"""What other programs tell this one: to end, to be interrupted, that it is stopped or woken."""

from __future__ import annotations

import asyncio
import signal
from collections.abc import Callable

#: Told to end by an interrupt from outside: 128 and the signal's number, as shells count.
INTERRUPTED = 130


def listen(end: Callable[[], object], interrupted: Callable[[int], object], woken: Callable[[], object]) -> None:
    """Call `end` on TERM and HUP, `interrupted` with its exit code on INT, `woken` after a stop. Needs a running loop.

    What the toolkit does when it is stopped and woken is done between two callbacks: it writes to the terminal, and a
    signal that comes in the middle of another write would wait for ever for that write's lock.
    """
    loop = asyncio.get_running_loop()
    for number in (signal.SIGTERM, signal.SIGHUP):
        loop.add_signal_handler(number, end)
    loop.add_signal_handler(signal.SIGINT, interrupted, INTERRUPTED)

    def stopped_or_woken(number: int, handler: object) -> None:
        if callable(handler):
            handler(number, None)
        if number == signal.SIGCONT:
            woken()

    for number in (signal.SIGTSTP, signal.SIGCONT):
        loop.add_signal_handler(number, stopped_or_woken, number, signal.getsignal(number))
