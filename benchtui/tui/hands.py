"""Whether keys come from hands: typed ahead, held down, pasted or poured in, they must never answer a prompt.

All times are those at which the terminal delivered a key, in seconds of one steady clock. The figures are common
practice, no source: two fingers rarely strike within 15 ms, one finger not twice within 60 ms; a held key
repeats every 25 to 92 ms.
"""

from __future__ import annotations

from collections import deque
from typing import Literal

#: More keys than this within `FLOOD_S` are no typing.
FLOOD_KEYS = 40
FLOOD_S = 0.1

#: Keys within this time after a prompt has been painted were meant for what was there before.
UNREAD_S = 0.15

#: Hands that go on typing without this pause have not read the new prompt.
READ_S = 0.3

#: Once keys are dropped, all are, until the hands have paused for this long.
PAUSE_S = 0.5

_TWO_KEYS_S = 0.015
_SAME_KEY_S = 0.06
_SAME_KEY_THRICE_S = 0.12
_ENTER_AGAIN_S = 0.15


class Flood:
    """Counts keys as they come from the terminal, before anything else sees them."""

    def __init__(self) -> None:
        self._recent: deque[float] = deque(maxlen=FLOOD_KEYS)
        self._last = float("-inf")
        self._dropping = False

    def judge(self, at: float) -> Literal["taken", "begun", "dropped"]:
        """Take the key struck `at`, or drop it as one of a flood; `begun` is the first one dropped."""
        was_dropping = self._dropping and at - self._last < PAUSE_S
        poured = len(self._recent) == FLOOD_KEYS and at - self._recent[0] < FLOOD_S
        self._dropping = was_dropping or poured
        self._recent.append(at)
        self._last = at
        if not self._dropping:
            return "taken"
        return "dropped" if was_dropping else "begun"


class Line:
    """Judges the keys of one line, from the painting of its prompt to Enter."""

    def __init__(self) -> None:
        self._armed_at = float("inf")
        self._struck: deque[tuple[str, float]] = deque(maxlen=3)
        self._void: Literal["", "early", "poured"] = ""
        self._unbegun = True
        self.by_machine = False

    def disarm(self) -> None:
        """A new prompt is coming: no key counts until `arm`."""
        self._armed_at = float("inf")
        self._unbegun = True
        self.by_machine = False

    def arm(self, now: float) -> None:
        """The prompt has been painted."""
        self._armed_at = now

    @property
    def armed(self) -> bool:
        """Whether the prompt has been painted."""
        return self._armed_at < float("inf")

    def poured(self) -> None:
        """Text came in one piece (a paste): this line is not typed by hand."""
        self.by_machine = True

    def emptied(self) -> None:
        """The field is empty again, so what follows is a line of its own."""
        self.by_machine = False

    def judge(self, key: str, at: float) -> Literal["taken", "early", "poured", "repeated"]:
        """Take a key or drop it; `by_machine` says afterwards whether the line so far came from no hand.

        An Enter as fast as no hand follows with it is the end of a pasted line: that and what comes after are `poured`.
        """
        pause_s = at - self._struck[-1][1] if self._struck else float("inf")
        unread = not at >= self._armed_at + UNREAD_S or (self._unbegun and pause_s < READ_S)
        repeated = key == "enter" and self._same(key, at, 1, _ENTER_AGAIN_S)
        too_fast = self._too_fast(key, at)
        self._struck.append((key, at))
        if unread:
            self._void = "early"
        elif key == "enter" and pause_s < _TWO_KEYS_S:
            self._void = "poured"
        elif pause_s >= PAUSE_S:
            self._void = ""
        if self._void:
            return self._void
        self._unbegun = False
        self.by_machine = self.by_machine or too_fast
        return "repeated" if repeated else "taken"

    def _too_fast(self, key: str, at: float) -> bool:
        if key in ("backspace", "delete"):  # held down by hand to wipe a line
            return False
        if self._struck and at - self._struck[-1][1] < _TWO_KEYS_S:
            return True
        return self._same(key, at, 1, _SAME_KEY_S) or self._same(key, at, 2, _SAME_KEY_THRICE_S)

    def _same(self, key: str, at: float, times: int, within_s: float) -> bool:
        """Whether `key` was also the last `times` keys, each less than `within_s` after the one before."""
        last = list(self._struck)[-times:]
        if len(last) < times or any(other != key for other, _ in last):
            return False
        moments = [moment for _, moment in last] + [at]
        return all(b - a < within_s for a, b in zip(moments, moments[1:], strict=False))
