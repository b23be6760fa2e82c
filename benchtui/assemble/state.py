"""A state is what the circuit is at a moment: what is fitted, plugged in, switched, trimmed and how hot it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import fitted, trimmed_as
from benchtui.circuit.elements import Value


@dataclass(frozen=True, eq=False)
class State:
    """Any moment of the amplifier. `mains_v` is rms volts at the primary, a float or one per sample.

    `emission` scales the current of amplifying valves and `rectifier_emission` that of rectifier valves: 1 is hot,
    0 is cold. `series_ohm` stands in the primary lead (a lamp limiter). `pots` overrides where pots stand. `clips`
    are the two nodes that each bleed clip joins, none while they are off. `thermistors_warm` is 1 where inrush
    thermistors are as hot as in service, 0 where they are cold.
    """

    fitted: frozenset[str]
    mains_v: Value
    valves_out: frozenset[str] = frozenset()
    fuses_out: frozenset[str] = frozenset()
    switches_open: frozenset[str] = frozenset()
    emission: Value = 1.0
    rectifier_emission: Value = 1.0
    series_ohm: Value = 0.0
    thermistors_warm: Value = 1.0
    clips: tuple[tuple[str, str], ...] = ()
    pots: Mapping[str, Value] = field(default_factory=dict)
    wipers_open: frozenset[str] = frozenset()
    """Pots whose wiper has lifted off the track."""

    leads: Mapping[str, Value] = field(default_factory=dict)
    """Links that are touched in through so many ohms, whatever is fitted."""

    driven: Mapping[str, Value] = field(default_factory=dict)
    """Inputs with a signal generator joined: its ohms. It is silent until something drives it."""

    trimmed: frozenset[str] = frozenset()
    """Adjustments whose pot is to be set for its target in this state."""

    extra_emission: Mapping[str, Value] = field(default_factory=dict)
    """A further factor on single sections, such as a strong or weak valve."""

    def cold(self) -> State:
        """The moment of switch-on: valves cold, rectifier valves and thermistors already hot.

        As when power comes back after a moment: the worst case for capacitors and rectifiers.
        """
        return replace(self, emission=0.0, trimmed=frozenset())


def stage_state(build: Build, stage: str, *, mains_v: Value | None = None, trimmed: bool = True) -> State:
    """The state in which `stage` is read: its parts fitted, hot, at rated mains unless `mains_v` says otherwise.

    While the feedback is tried, pots stand as the stage around it trims them, and in a soak as they were left.
    """
    special = build.stage.get(stage)
    trimming = trimmed_as(build, stage)
    trims = (name for name, adjustment in build.adjust.items() if trimming in adjustment.stages)
    return State(
        fitted=fitted(build, stage),
        mains_v=build.mains.volts if mains_v is None else mains_v,
        valves_out=frozenset(special.valves_out if special else ()),
        fuses_out=frozenset(special.fuses_out if special else ()),
        switches_open=frozenset(name for name, switch in build.switch.items() if stage in switch.open_in),
        trimmed=frozenset(trims) if trimmed else frozenset(),
    )
