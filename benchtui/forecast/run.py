"""Solving one state of a build: the nominal run and the ensemble around it, with pots trimmed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.assemble.valves import sections
from benchtui.buildfile.models import Adjustment, Build
from benchtui.circuit.elements import Value
from benchtui.circuit.operate import Trim, operate
from benchtui.circuit.operating import Operating
from benchtui.parts.guide import spread

SAMPLES = 100
"""Builds in the default ensemble; DEVELOPERS.md says how well its windows hold."""

_TARGET_PASSES = 4
_TARGET_MET = 1e-2
"""Share of a target by which a pass may move it to be the last: what it leaves is a tenth of that at most."""


@dataclass(frozen=True, eq=False)
class Run:
    """One state solved at nominal values, and as an ensemble (None until asked for)."""

    build: Build
    state: State
    nominal: Operating
    targets: dict[str, float]
    """Adjustment = volts its pot is trimmed to in this state."""

    @property
    def positions(self) -> dict[str, float]:
        """Where each pot stands."""
        return {name: float(position[0]) for name, position in self.nominal.pots.items()}


def stage_run(build: Build, stage: str, *, mains_v: float | None = None, trimmed: bool = True) -> Run:
    """The stage as it is read, solved at nominal values, at rated mains unless `mains_v` says otherwise.

    Gate, limits, course and review all ask for it: it is solved once, since a build never changes.
    """
    return _stage_run(build, stage, float(build.mains.volts if mains_v is None else mains_v), trimmed)


@lru_cache(maxsize=64)
def _stage_run(build: Build, stage: str, mains_v: float, trimmed: bool) -> Run:
    return solve_nominal(build, stage_state(build, stage, mains_v=mains_v, trimmed=trimmed))


def highest_mains(build: Build) -> float:
    """Volts at the primary when the mains is as high as it gets."""
    return build.mains.volts * (1.0 + build.mains.spread)


@lru_cache(maxsize=64)
def hot_at_highest_mains(build: Build, stage: str) -> Operating:
    """The stage at the highest mains, pots where rated mains had them trimmed: nobody trims when the mains rises."""
    run = stage_run(build, stage)
    state = replace(stage_state(build, stage, mains_v=highest_mains(build)), pots=run.positions, trimmed=frozenset())
    return operate(assemble(build, state), start=run.nominal)


@lru_cache(maxsize=64)
def cold_at_highest_mains(build: Build, stage: str, *, trimmed: bool = True) -> Operating:
    """The moment of switch-on at the highest mains, pots as the stage has them `trimmed` or else where they start."""
    state = stage_state(build, stage, mains_v=highest_mains(build)).cold()
    if not trimmed:
        return operate(assemble(build, state))
    run = stage_run(build, stage)
    if not run.targets:
        return cold_at_highest_mains(build, stage, trimmed=False)
    return operate(assemble(build, replace(state, pots=run.positions)))


def solve_nominal(build: Build, state: State, *, near: Run | None = None) -> Run:
    """The state with every part at its marked or measured value; `near` is a solved neighbour to begin from."""
    circuit = assemble(build, state)
    targets = {name: build.adjust[name].target for name in state.trimmed}
    shares = {name: build.adjust[name] for name, volts in targets.items() if volts is None}
    targets.update({name: _first_target(build, adjustment) for name, adjustment in shares.items()})
    targets.update({name: near.targets[name] for name in shares if near is not None and name in near.targets})
    found = None if near is None else near.nominal
    for _ in range(_TARGET_PASSES if shares else 0):
        found = operate(circuit, trims=_trims(build, targets), start=found, fine=False)
        better = {name: _better_target(build, a, targets[name], found) for name, a in shares.items()}
        reached = all(abs(better[name] / targets[name] - 1.0) < _TARGET_MET for name in better)
        targets.update(better)
        if reached:
            break
    return Run(build, state, operate(circuit, trims=_trims(build, targets), start=found), targets)


def solve_ensemble(run: Run, draw: Draw, state: State | None = None) -> Operating:
    """The same state over the builds of `draw`, pots trimmed nearly; `state` may hold drawn mains volts."""
    circuit = assemble(run.build, state or run.state, draw)
    near = {name: volts * draw.factor(name, "target", spread("trim.reached")) for name, volts in run.targets.items()}
    return operate(circuit, trims=_trims(run.build, near), start=run.nominal, fine=False)


def solve_variants(run: Run, state: State) -> Operating:
    """Variants of a solved state, one a sample, with the pots left where the nominal run has them."""
    state = replace(state, pots={**run.positions, **state.pots}, trimmed=frozenset())
    return operate(assemble(run.build, state), start=run.nominal)


def _trims(build: Build, targets: Mapping[str, Value]) -> Sequence[Trim]:
    return [
        Trim(build.adjust[name].pot, point.red, point.black, volts, build.meter.input)
        for name, volts in sorted(targets.items())
        for point in [build.point[build.adjust[name].point]]
    ]


def _wanted_w(build: Build, adjustment: Adjustment) -> float:
    section = next(section for section in sections(build) if section.id == adjustment.valve)
    return adjustment.dissipation * section.ratings["anode_w"].value


def _first_target(build: Build, adjustment: Adjustment) -> float:
    """A start: the volts across the resistance between the probes at half an ampere for each hundred watts."""
    point = build.point[adjustment.point]
    ohms = [part.value for part in build.resistor.values() if set(part.nodes) == {point.red, point.black}]
    return _wanted_w(build, adjustment) * 0.0025 * (ohms[0] if ohms else 10.0)


def _better_target(build: Build, adjustment: Adjustment, volts: float, found: Operating) -> float:
    """Dissipation follows the current, and the current follows the reading: correct in proportion."""
    now_w = float(found.valve(adjustment.valve).anode_w[0])
    return volts * _wanted_w(build, adjustment) / now_w if now_w > 0 else volts
