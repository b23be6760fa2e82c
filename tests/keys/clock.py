"""The clock of a random walk: still until it is moved, and able to jump and to sleep."""

from __future__ import annotations

from tests.walk.clock import StillClock


class WalkClock(StillClock):
    """Wall time may be set forward and back; while the computer sleeps only wall and sleeping clock go on."""

    def __init__(self) -> None:
        super().__init__()
        self.set_by_s = 0.0
        self.slept_s = 0.0

    def set_wall(self, by_s: float) -> None:
        """Someone sets the computer's clock."""
        self.set_by_s += by_s

    def sleep(self, seconds: float) -> None:
        """The computer sleeps."""
        self.slept_s += seconds

    def wall(self) -> float:
        return super().wall() + self.slept_s + self.set_by_s

    def awake_or_not(self) -> float:
        return super().awake_or_not() + self.slept_s
