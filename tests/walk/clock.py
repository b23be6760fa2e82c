"""A clock that stands still until it is told to go on, so that a wait of half an hour passes at once."""

from __future__ import annotations

from benchtui.session.clock import Clock

START_WALL_S = 1_700_000_000.0


class StillClock(Clock):
    """Wall, steady and sleeping clock of one run of one computer, moved by hand."""

    def __init__(self) -> None:
        self.passed_s = 0.0

    def pass_(self, seconds: float) -> None:
        """Let `seconds` go by."""
        self.passed_s += seconds

    def wall(self) -> float:
        return START_WALL_S + self.passed_s

    def steady(self) -> float:
        return 1000.0 + self.passed_s

    def awake_or_not(self) -> float:
        return 1000.0 + self.passed_s

    def boot(self) -> str:
        return "one run of one computer"
