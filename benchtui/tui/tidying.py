"""Python's search for unused objects, held back until nobody is typing: in the middle of a reading it takes 20 ms."""

from __future__ import annotations

import gc

IDLE_S, EVERY_S, LATEST_S = 1.0, 10.0, 60.0
"""How long no key was struck, how often while that is so, and how long it may be put off."""


class Tidying:
    """`begin` once all is loaded, then `rest` now and then, each with seconds of one clock: now, and the last key."""

    def __init__(self) -> None:
        self._last = 0.0

    def begin(self, now: float) -> None:
        """From now on only `rest` searches, and not among what was loaded before: that stays."""
        gc.collect()
        gc.freeze()
        gc.disable()
        self._last = now

    def rest(self, now: float, struck: float) -> bool:
        """Search, if it is time; whether it was."""
        since = now - self._last
        if not gc.isenabled() and (since > LATEST_S or (since > EVERY_S and now - struck > IDLE_S)):
            gc.collect()
            self._last = now
            return True
        return False
