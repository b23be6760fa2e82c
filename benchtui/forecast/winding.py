"""The temperature of a copper winding from its ohms, cold and as it cools, at the moment of switch-off.

Copper's ohms rise in proportion to 234.5 K and degrees Celsius (IEC 60335-1 and 61558-1, rise by the resistance method,
from memory). What a winding has above its cold ohms falls nearly as an exponential, so a straight line is laid through
the logarithms of the readings and followed back to the moment of switch-off. In the first minute copper gives its heat
to the iron faster than that, and the true figure is then some kelvins higher.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, nan

from benchtui.parts.guide import value as guide
from benchtui.verdicts.expectation import Expectation, Limit

COPPER = 234.5
"""Degrees Celsius below zero at which copper would have no resistance, along the line of its usual range."""


@dataclass(frozen=True)
class WindingHeat:
    """`celsius` at switch-off, `rise` in kelvins over the room, and `unsure`, kelvins either way by the meter's digit.

    NaN where the readings tell no rise at all.
    """

    celsius: float
    rise: float
    unsure: float


def winding_heat(room_c: float, cold_ohm: float, hot: Sequence[tuple[float, float]], digit_ohm: float) -> WindingHeat:
    """By (seconds since switch-off, ohms) of two readings or more; `digit_ohm` is the meter's last digit.

    A digit each way may be wrong in the cold reading and in every hot one; how that adds up in the line is reckoned at
    its worst. A line that rises is noise: then the mean counts.
    """
    if len(hot) < 2 or not all(ohm > cold_ohm > 0.0 for _, ohm in hot):
        return WindingHeat(nan, nan, nan)
    weights = _intercept_weights([seconds for seconds, _ in hot])
    logs = [log(ohm - cold_ohm) for _, ohm in hot]
    at_off = sum(weight * each for weight, each in zip(weights, logs, strict=True))
    mean = sum(logs) / len(logs)
    if at_off < mean:
        at_off, weights = mean, [1.0 / len(logs)] * len(logs)
    ratio = 1.0 + exp(at_off) / cold_ohm
    celsius = ratio * (COPPER + room_c) - COPPER
    digits = sum(abs(weight) for weight in weights) + ratio
    return WindingHeat(celsius, celsius - room_c, digit_ohm / cold_ohm * (COPPER + room_c) * digits)


def _intercept_weights(at: Sequence[float]) -> list[float]:
    """How each value counts in where the straight line of least squares crosses zero."""
    mean = sum(at) / len(at)
    spread = sum((each - mean) ** 2 for each in at)
    if spread == 0.0:
        return [1.0 / len(at)] * len(at)
    return [1.0 / len(at) - mean * (each - mean) / spread for each in at]


def expect_heat(point: str, room_c: float, unsure: float) -> Expectation:
    """What a winding may have at switch-off in such a room, so that it keeps its limits in the hottest one."""
    cooler = max(guide("winding.room") - room_c, 0.0)
    warm, hot = guide("winding.warm") - cooler, guide("winding.hot") - cooler
    reason = "hotter than an old transformer's insulation takes in a hot room: it ages fast, or it is overloaded"
    return Expectation(
        point, "temperature", "degC", warm, room_c - unsure, warm - unsure, None, Limit(hot, reason),
        (f"in a room of {guide('winding.room'):.0f} degC it is {cooler:.0f} K hotter; {unsure:.1f} K are the meter's",),
    )  # fmt: skip


def unresolved(unsure: float) -> str:
    """What would tell the temperature, where the meter's last digit is too coarse; "" where it will do."""
    if unsure <= guide("winding.unsure"):
        return ""
    return "ohmmeter that resolves a hundredth of an ohm"
