"""The guide values that gate, closing and power go by; whoever fills them keeps their floors and ceilings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Settings:
    """Guide values in volts, seconds and ratios.

    A magnitude under `threshold_v` counts as discharged. `early_share` of the fastest computed fall is too soon for
    a zero. The meter is proved between `proof_low_v` and `proof_high_v`, or by an HT of at least `live_thresholds`
    that has fallen to `fallen_share` of itself. Ohms within the factor `clip_near` of the clip's reading are the clip.
    `room_c`: degrees Celsius of a room in which a winding's temperature can be told.
    """

    threshold_v: float
    wait_s: float
    wait_unbled_s: float
    clip_s: float
    clip_constants: float
    look_s: float
    early_share: float
    proof_low_v: float
    proof_high_v: float
    live_thresholds: float
    fallen_share: float
    clip_near: float
    room_c: tuple[float, float] = (5.0, 40.0)
