"""Forming old electrolytics: the plan, the course to expect, and what a round of readings says of the leakage.

A supply feeds the capacitor through a resistor that limits what a shorted one takes. While it forms its leakage falls,
and its volts creep up to the supply's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, exp, log, log10
from typing import Literal

from benchtui.identify.meter import Meter
from benchtui.identify.rules import figures, rule, source
from benchtui.identify.spans import Span
from benchtui.identify.told import Finding
from benchtui.parts.guide import value as guide_value
from benchtui.quantities.show import show
from benchtui.quantities.units import Unit

_CONSTANTS = 5
_LARGEST_SHARE = 1.5
"""An old capacitor may have half as much again as is marked (guide: electrolytics to +50 %)."""


@dataclass(frozen=True)
class Plan:
    """One capacitor and how it is formed; SI. `volts` are aimed at, at most the rated ones. `months` it lay idle.

    `meter_ohm` is the meter's input resistance, across the capacitor while it is read.
    """

    farads: float
    rated_v: float
    volts: float
    resistor_ohm: float
    resistor_w: float
    bleed_ohm: float
    bleed_w: float
    months: float
    meter_ohm: float
    counts: int
    digits: int

    @property
    def steps(self) -> tuple[float, ...]:
        """Supply volts of each step."""
        return tuple(self.volts * share for share in figures("forming.steps"))

    @property
    def worst_w(self) -> float:
        """Watts of the resistor with a shorted capacitor behind it."""
        return self.volts**2 / self.resistor_ohm

    @property
    def charged_s(self) -> float:
        """When charging is over, with the largest capacitance."""
        return _CONSTANTS * self.resistor_ohm * self.farads * _LARGEST_SHARE

    @property
    def bleed_s(self) -> float:
        """How long the bleed resistor is on: from rated volts to a tenth of the threshold, and the gate's least."""
        falls = log(self.rated_v / (guide_value("gate.threshold") / 10))
        return max(falls * self.bleed_ohm * self.farads * _LARGEST_SHARE, guide_value("gate.clip_time"))

    @property
    def hold_s(self) -> float:
        """How long it stays at full volts."""
        return rule("forming.first") + rule("forming.month") * self.months

    @property
    def good_a(self) -> float:
        """Leakage of a good one: 0.01 C V."""
        return max(rule("forming.leakage") * self.farads * self.volts, rule("forming.leakage_floor"))

    @property
    def usable_a(self) -> float:
        """Leakage that old types were allowed when new, by their own standard."""
        for most, per_farad in zip(figures("forming.old_volts"), figures("forming.old_leakage"), strict=True):
            if self.rated_v <= most:
                return per_farad * self.farads + rule("forming.old_more")
        return self.good_a


def findings(plan: Plan) -> Iterator[Finding]:
    """What is wrong with the plan itself."""
    least, most = figures("forming.resistor")
    need = plan.worst_w * rule("forming.watts")
    if plan.volts > plan.rated_v:
        text = f"{plan.volts:g} V is above the rated {plan.rated_v:g} V: it is never formed beyond them"
        yield Finding("stop", text, ("volts",))
    if plan.resistor_w < need:
        text = (
            f"the series resistor meets {plan.worst_w:.2g} W if the capacitor is shorted: it needs {need:.2g} W, "
            f"not {plan.resistor_w:.2g} W"
        )
        yield Finding("stop", text, ("resistor_watts",), source("forming.watts"))
    if not least <= plan.resistor_ohm <= 4 * most:
        text = f"the series resistor is usually {show(least, Unit.OHM)} to {show(most, Unit.OHM)}"
        severity: Literal["stop", "warn"] = "stop" if plan.resistor_ohm < least / 10 else "warn"
        yield Finding(severity, text, ("resistor",), source("forming.resistor"))
    floor = guide_value("gate.clip_resistor") / 5
    if plan.bleed_ohm < max(plan.rated_v * rule("forming.bleed_ohm_per_volt"), floor):
        yield Finding("stop", "the bleed resistor is too small: at least 1 ohm a volt and 470 ohm", ("bleed",))
    if plan.bleed_ohm > 47_000:
        yield Finding("warn", "the bleed resistor is large: 2.2 kohm, 10 W, is quicker than patience", ("bleed",))


def expected_v(plan: Plan, supply_v: float, elapsed_s: float) -> tuple[float, float]:
    """Least and most volts of a capacitor that forms well, so long after the supply came on.

    Least: half as large again as marked, and leaking as much as still passes a step (`forming.give_up`). Most: 20 %
    small, without leakage.
    """
    slow = 1 - exp(-elapsed_s / (plan.resistor_ohm * plan.farads * _LARGEST_SHARE))
    fast = 1 - exp(-elapsed_s / (plan.resistor_ohm * plan.farads * 0.8))
    return supply_v * (1 - rule("forming.give_up")) * slow, supply_v * fast


def course(plan: Plan, supply_v: float) -> tuple[tuple[float, float, float], ...]:
    """(seconds, least, most) at one, two, three and five time constants of the marked value."""
    times = [n * plan.resistor_ohm * plan.farads for n in (1, 2, 3, 5)]
    return tuple((t, *expected_v(plan, supply_v, t)) for t in times)


def leakage(plan: Plan, supply_v: float, capacitor_v: float) -> Span:
    """Amperes through the capacitor itself: what comes through the resistor less what the meter takes.

    Both volts are read with the same meter on the same range, so that only its last digits count. Not below zero.
    """
    last = _last_digit(plan, supply_v) * plan.digits
    through = (supply_v - capacitor_v) / plan.resistor_ohm - capacitor_v / plan.meter_ohm
    off = 2 * last / plan.resistor_ohm
    return Span(max(through - off, 0.0), max(through, 0.0), max(through + off, 0.0))


def _last_digit(plan: Plan, volts: float) -> float:
    """Size of the meter's last digit on the lowest decade range that holds these volts."""
    return 10.0 ** ceil(log10(max(volts, 1.0) / plan.counts))


@dataclass(frozen=True)
class Verdict:
    """What a round of readings comes to. `on`: the next step may be taken, or at the last one it is formed."""

    word: Literal["charging", "pass", "warn", "stop"]
    text: str
    leak: Span
    on: bool = False


def judge(plan: Plan, step: int, supply_v: float, capacitor_v: float, elapsed_s: float, before: Span | None) -> Verdict:
    """A round of readings in a step. `before` is the leakage of the round before it in this step, if charging was over.

    A verdict is never better than its readings: what the meter can't tell from too much does not pass.
    """
    leak = leakage(plan, supply_v, capacitor_v)
    drop = (supply_v - capacitor_v) / supply_v
    shown = f"leakage {amps(leak.value)} ({amps(leak.low)} to {amps(leak.high)})"
    if elapsed_s < plan.charged_s:
        low, _ = expected_v(plan, supply_v, elapsed_s)
        course = f"{low:.0f} V or more are usual by now; leakage counts after {plan.charged_s:.0f} s"
        if not capacitor_v >= low:  # more than expected only means that the supply came on before it was read
            return Verdict("warn", f"behind its course, {course}: it leaks much, or is larger than marked", leak)
        return Verdict("charging", f"still charging: {course}", leak)
    if before is not None and leak.low > 2 * before.high:
        return Verdict("stop", f"{shown}, twice what it was: it breaks down. Not usable", leak)
    if before is not None and leak.low > before.high:
        return Verdict("warn", f"{shown}, and rising: supply off if it gets warm, hisses or smells", leak)
    if not drop <= rule("forming.give_up"):
        if elapsed_s >= rule("forming.give_up_after"):
            return Verdict("stop", f"{shown}: {drop:.0%} still drop after an hour. Given up, not usable", leak)
        return Verdict("warn", f"{shown}: {drop:.0%} drop across the resistor, it must come under 10 %. Wait", leak)
    if step < len(plan.steps) - 1:
        if elapsed_s < rule("forming.first"):
            return Verdict("pass", f"{shown}; the next step not before {rule('forming.first'):.0f} s of this one", leak)
        return Verdict("pass", f"{shown}; the next step may be taken", leak, on=True)
    return _at_full(plan, leak, shown, elapsed_s)


def _at_full(plan: Plan, leak: Span, shown: str, elapsed_s: float) -> Verdict:
    if elapsed_s < plan.hold_s:
        return Verdict("pass", f"{shown}; full volts are held for {plan.hold_s / 60:.0f} minutes", leak)
    if leak.high <= plan.good_a:
        return Verdict("pass", f"{shown}: within {amps(plan.good_a)}, the rule for a good one. Formed", leak, on=True)
    if leak.high <= plan.usable_a:
        over = "over" if leak.low > plan.good_a else "not told by this meter from"
        text = f"{shown}: {over} {amps(plan.good_a)}, but within {amps(plan.usable_a)}, what old types had when new"
        return Verdict("warn", f"{text}. Formed, a used part", leak, on=True)
    if leak.low > plan.usable_a and elapsed_s >= rule("forming.give_up_after"):
        return Verdict("stop", f"{shown}: more than {amps(plan.usable_a)} after an hour. Not usable", leak)
    if leak.low <= plan.good_a:
        text = f"{shown}: your meter does not tell it from too much; a larger series resistor does, for this last step"
        return Verdict("warn", text, leak)
    return Verdict("warn", f"{shown}: more than {amps(plan.good_a)}; leave it on, it may still fall", leak)


def amps(value: float) -> str:
    """Amperes in two digits."""
    return show(value, Unit.AMPERE, 2)


def of(
    *, farads: float, rated_v: float, volts: float, resistor: tuple[float, float], bleed: tuple[float, float],
    months: float, meter: Meter, meter_ohm: float,
) -> Plan:  # fmt: skip
    """A plan from what is noted; `resistor` and `bleed` as (ohms, watts)."""
    return Plan(
        farads, rated_v, volts, *resistor, *bleed, months, meter_ohm, counts=meter.counts, digits=meter.dc.digits
    )


def words(plan: Plan) -> Iterator[str]:
    """The plan in sentences, with the course of its first step."""
    yield (
        f"series resistor {show(plan.resistor_ohm, Unit.OHM)}, {plan.resistor_w:g} W: with a shorted capacitor at "
        f"{plan.volts:g} V it takes {plan.worst_w:.2g} W and {amps(plan.volts / plan.resistor_ohm)}"
    )
    yield f"supply in steps of {', '.join(f'{volts:.0f}' for volts in plan.steps)} V, each at least 5 minutes"
    first = plan.steps[0]
    told = ", ".join(f"{low:.0f} to {high:.0f} V after {after:.0f} s" for after, low, high in course(plan, first))
    yield f"at {first:.0f} V it should read {told}"
    yield (
        f"full volts for {plan.hold_s / 60:.0f} minutes; good under {amps(plan.good_a)} (0.01 C V), usable under "
        f"{amps(plan.usable_a)} (an old standard); given up where over 10 % still drop after an hour"
    )
    yield (
        f"bleed with {show(plan.bleed_ohm, Unit.OHM)}, {plan.bleed_w:g} W: {amps(plan.rated_v / plan.bleed_ohm)} at "
        "first, "
        f"{plan.bleed_s:.0f} s; after forming 12 to 48 hours of rest, then the leakage once more"
    )
