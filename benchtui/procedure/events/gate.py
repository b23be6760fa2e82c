"""Events of the gate and of the closing. Volts, ohms and seconds in SI units."""

from __future__ import annotations

from dataclasses import dataclass

from benchtui.procedure.events.base import Event


@dataclass(frozen=True, slots=True)
class PlugOut(Event):
    """Typed: the plug is out of the wall (or the connector out of the inlet) and in sight."""


@dataclass(frozen=True, slots=True)
class NoLead(Event):
    """Typed: no mains lead is attached to a chassis that never met mains."""


@dataclass(frozen=True, slots=True)
class MeterGood(Event):
    """The meter read a known source: `kind` "dc" or "ac"."""

    kind: str
    value_v: float


@dataclass(frozen=True, slots=True)
class MeterBad(Event):
    kind: str
    value_v: float


@dataclass(frozen=True, slots=True)
class Fallen(Event):
    """The HT reading has fallen since just before power-down, on the same point and range."""

    live_v: float
    value_v: float


@dataclass(frozen=True, slots=True)
class NotFallen(Event):
    """It has not: the wrong plug, or a stuck meter."""

    live_v: float
    value_v: float


@dataclass(frozen=True, slots=True)
class MainsDead(Event):
    value_v: float


@dataclass(frozen=True, slots=True)
class MainsLive(Event):
    value_v: float


@dataclass(frozen=True, slots=True)
class ReservoirLow(Event):
    """A reservoir read under the threshold, `after_s` from plug-out as far as that is counted.

    `early`: sooner than its fastest computed fall, after the doubt about the meter was settled.
    """

    id: str
    value_v: float
    after_s: float = 0.0
    early: bool = False


@dataclass(frozen=True, slots=True)
class ReservoirSoon(Event):
    """A reservoir read under the threshold sooner than its fastest computed decay: the meter is in doubt."""

    id: str
    value_v: float
    after_s: float = 0.0


@dataclass(frozen=True, slots=True)
class ReservoirHigh(Event):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class Bled(Event):
    id: str


@dataclass(frozen=True, slots=True)
class ClipOn(Event):
    """The bleed clip is on, proved by HT+ to chassis in ohms; where these are shorted, read alone before."""

    ohm: float


@dataclass(frozen=True, slots=True)
class ClipShunted(Event):
    """HT+ to chassis reads less than the bleed clip: shorted, or the probes are on one node. The clip is read alone."""

    ohm: float


@dataclass(frozen=True, slots=True)
class ClipAlone(Event):
    """The bleed clip was read by itself, its HT end off; it is still to go on again."""

    ohm: float


@dataclass(frozen=True, slots=True)
class RoomRead(Event):
    """The room, and with it the winding: nothing of the amplifier had power for hours."""

    celsius: float


@dataclass(frozen=True, slots=True)
class WindingCold(Event):
    """The mains winding at the inlet's pins before the soak; `text` as typed."""

    text: str
    ohm: float


@dataclass(frozen=True, slots=True)
class WindingHot(Event):
    """The same `after_s` from the end of the soak."""

    text: str
    ohm: float
    after_s: float


@dataclass(frozen=True, slots=True)
class WindingLeft(Event):
    """Typed: its temperature is not measured, and why."""

    why: str


@dataclass(frozen=True, slots=True)
class LinksOn(Event):
    """A bleed link is across every capacitor that may hold a charge and that the clip does not drain."""

    count: int


@dataclass(frozen=True, slots=True)
class LinksOff(Event):
    """Clip and links are off, the links counted: as many as were put on."""

    count: int


@dataclass(frozen=True, slots=True)
class ClipOff(Event):
    pass


@dataclass(frozen=True, slots=True)
class HandsIn(Event):
    """Hands may go in; `wait_s` and `clip_s` are the seconds reached."""

    wait_s: float
    clip_s: float


@dataclass(frozen=True, slots=True)
class Looked(Event):
    """Hands have been in for long: plug, clip and links were looked at and are in place."""


@dataclass(frozen=True, slots=True)
class LookFailed(Event):
    """Plug or clip are not in place."""


@dataclass(frozen=True, slots=True)
class HandsOut(Event):
    pass


@dataclass(frozen=True, slots=True)
class BackToPower(Event):
    """Typed, plug out: the clip is still off, and power comes back through a limiter."""


@dataclass(frozen=True, slots=True)
class Slipped(Event):
    """Typed, plug out: the reading that stopped the work was a slip of range, sign or decimal point."""


@dataclass(frozen=True, slots=True)
class CauseFound(Event):
    """What was found after an alarm, in the builder's words, and the `parts` of the build that it names."""

    text: str
    parts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CauseOpen(Event):
    """Typed: what the alarm came from is not found yet."""


@dataclass(frozen=True, slots=True)
class Retest(Event):
    """What is read again since `parts` were replaced: `again` without power, and with it all but `spared`."""

    parts: tuple[str, ...]
    again: tuple[str, ...]
    spared: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Exchanged(Event):
    """Typed, hands in: to find a fault something is exchanged, pulled or opened; `point` is read so, and no other."""

    exchange: str
    point: str


@dataclass(frozen=True, slots=True)
class PutBack(Event):
    """Typed, hands in: what was exchanged is as it was."""


@dataclass(frozen=True, slots=True)
class FurtherRead(Event):
    """A reading in ohms beside the stage's own, to find a fault: at `place` of `state`. It proves nothing else."""

    state: str
    place: str
    text: str
    ohm: float


@dataclass(frozen=True, slots=True)
class Clear(Event):
    """A look from outside: no tool, no hand, no clip in the chassis."""


@dataclass(frozen=True, slots=True)
class RailLow(Event):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class RailHigh(Event):
    id: str
    value_v: float


@dataclass(frozen=True, slots=True)
class OhmsGood(Event):
    ohm: float


@dataclass(frozen=True, slots=True)
class OhmsBad(Event):
    ohm: float


@dataclass(frozen=True, slots=True)
class ClipFound(Event):
    """The clip is still on, by its ohms (None: as typed)."""

    ohm: float | None


@dataclass(frozen=True, slots=True)
class Covered(Event):
    """The cover is on, or one hand stays behind the back; `how` says which."""

    how: str


@dataclass(frozen=True, slots=True)
class PowerOn(Event):
    """Power through a limiter, or ("" and a typed reason) at full mains at once."""

    limiter: str
    reason: str = ""
