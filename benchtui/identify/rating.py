"""What a transformer may give: judged off load, by insulation and warmth; estimated from iron and copper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi, sqrt

from benchtui.identify.rules import figures, rule, source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding
from benchtui.parts.wire import ohm_per_m, rise_k

_INCH_M = 0.0254
_SQUARE_MM = 1e-6
_TESTER_V = 250.0
"""Volts of the weakest insulation tester that counts for a mains transformer (common practice: 500 V)."""


@dataclass(frozen=True)
class Core:
    """Width of the tongue and height of the stack, both through the windings, in metres."""

    tongue_m: float
    stack_m: float

    @property
    def area_m2(self) -> float:
        return self.tongue_m * self.stack_m

    @property
    def mean_turn_m(self) -> float:
        """About how long one turn is."""
        return 2 * (self.tongue_m + self.stack_m) + rule("wire.turn") * self.tongue_m


def core_va(core: Core, hertz: float) -> Span:
    """Volt-amperes that a core of this section carries: an estimate (`core.area`), wide as `core.area_spread`."""
    square_inches = core.area_m2 / _INCH_M**2
    watts = (square_inches * rule("core.area")) ** 2 * hertz / 60
    return Span(watts, watts, watts).wider(rule("core.area_spread"))


def turns_per_volt(core: Core, hertz: float) -> Span:
    """From the flux that such cores are run at: 1 / (4.44 f B A)."""
    low, usual, high = (1 / (sqrt(2) * pi * hertz * tesla * core.area_m2) for tesla in figures("core.flux")[::-1])
    return Span(low, usual, high)


def winding_amps(core: Core, hertz: float, volts: float, ohm: Span) -> Span | None:
    """Current that a winding's copper carries, estimated: turns from the volts, length and ohms give the wire's
    section.

    None where the ohms may be nothing.
    """
    if not ohm.low > 0:
        return None
    turns = turns_per_volt(core, hertz).times(volts)
    ohm_for_one = ohm_per_m(_SQUARE_MM) * core.mean_turn_m
    section_mm2 = Span(turns.low / ohm.high, turns.value / ohm.value, turns.high / ohm.low).times(ohm_for_one)
    least, usual, most = figures("wire.density")
    return section_mm2.by(Span(least, usual, most))


def judged_idle(amps: Span, volts: float, va: Span) -> Finding:
    """The off-load current beside the full-load current of such a core."""
    full = va.value / volts
    share = Span(amps.low / (va.high / volts), amps.value / full, amps.high / (va.low / volts))
    words = f"off-load current {amps.value * 1e3:.3g} mA, about {share.value:.0%} of full load for this core"
    if share.value <= rule("idle.usual"):
        return Finding("note", words, ("mains", "amps"), source("idle.usual"))
    if share.low > rule("idle.most"):
        text = f"{words}: too much. Shorted turns, the wrong tap or too many volts for this core; no further power"
        return Finding("stop", text, ("mains", "amps"), source("idle.most"))
    text = f"{words}: more than usual. A small core, or volts too high for this tap; feel the warmth after 30 minutes"
    return Finding("warn", text, ("mains", "amps"), source("idle.usual"))


def judged_insulation(between: str, ohm: float, test_v: float) -> Finding:
    """One insulation reading (infinite: over the tester's range)."""
    where = ("insulation", "reads", between)
    shown = "over the tester's range" if ohm == float("inf") else f"{ohm / 1e6:.3g} Mohm"
    words = f"insulation {between}: {shown} at {test_v:.0f} V"
    if ohm >= rule("insulation.least") and test_v < _TESTER_V:
        text = f"{words}: NOT MEASURED, a hand meter finds a bad one and proves no good one. A workshop has a tester"
        return Finding("warn", text, where, source("insulation.least"))
    if ohm >= rule("insulation.usual"):
        return Finding("note", words, where, source("insulation.usual"))
    if ohm >= rule("insulation.least"):
        text = f"{words}: over the least, but a dry transformer reads over 50 Mohm. Dry it warm for days and read again"
        return Finding("warn", text, where, source("insulation.usual"))
    text = f"{words}: too little. This transformer is not used; no mains on it"
    return Finding("stop", text, where, source("insulation.least"))


def judged_warmth(cold: Span, hot: Span, cold_c: float, ambient_c: float) -> Iterator[Finding]:
    """Rise of the copper after half an hour without load, by its ohms, as far as the meter tells it.

    The formula is that of `parts.wire.rise_k`; both readings as `Meter.beside`.
    """
    if not cold.low > 0:
        yield Finding("warn", "the cold winding reads too little for a rise to be told", ("warm", "cold"))
        return
    low, value, high = (
        rise_k(c, h, cold_c, ambient_c)
        for c, h in ((cold.high, hot.low), (cold.value, hot.value), (cold.low, hot.high))
    )
    words = f"{value:.0f} K warmer than the room after 30 minutes off load ({low:.0f} to {high:.0f} K by the meter)"
    where = ("warm", "hot")
    if hot.high < cold.low:
        yield Finding("stop", "the winding reads less hot than cold: one of the two is wrong, read again", where)
    elif value <= rule("warm.usual") and high <= rule("warm.most"):
        yield Finding("note", words, where, source("warm.usual"))
    elif value <= rule("warm.usual"):
        text = f"{words}: your meter does not tell it finely enough; take the winding with the most ohms, and feel it"
        yield Finding("warn", text, where)
    elif low > rule("warm.most"):
        yield Finding(
            "stop", f"{words}: too much without any load. Shorted turns or the wrong tap", where, source("warm.most")
        )
    else:
        yield Finding("warn", f"{words}: more than usual", where, source("warm.usual"))
