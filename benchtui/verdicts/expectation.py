"""What a reading should be: the window of healthy builds, and the limits that a part must not pass."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Limit:
    """One end beyond which a reading stops the work; `reason` names part, rating and source in a sentence."""

    value: float
    reason: str


@dataclass(frozen=True)
class Expectation:
    """What one point should read in one stage, in SI units (`unit`: "V" or "ohm").

    `low` to `high` is the window: 98 % of healthy stages have no reading outside. NaN for `nominal` means
    that the point floats or that nothing could be computed: such a reading is never a pass.
    """

    point: str
    quantity: str
    unit: str
    nominal: float
    low: float
    high: float
    stop_low: Limit | None = None
    stop_high: Limit | None = None
    why: tuple[str, ...] = ()
    """Sentences behind the numbers: what dominates the spread, formulas, sources."""

    guards: str | None = None
    """"bond", "insulation" or "grid bias": a warn here must never be accepted."""

    by_file: float | None = None
    """What `nominal` would be by build file and mains alone, where it goes by readings of this build as well."""

    @property
    def plain(self) -> float:
        """What build file and mains alone make it: the same for the same amplifier on the same mains, in any year."""
        return self.nominal if self.by_file is None else self.by_file
