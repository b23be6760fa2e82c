"""The ratings review: every part in every state that the build passes through, at rated and at the highest mains.

Each rule looks at one stage solved three ways: hot at rated mains, hot at the highest, and with cold cathodes at the
highest (the moment of switch-on). Rules on what comes before what look at all stages together. A rule gives findings;
none of them types in an expected value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from benchtui.buildfile.models import Build
from benchtui.buildfile.stages import stages
from benchtui.forecast import (
    rules_bench,
    rules_bias,
    rules_fuses,
    rules_mains,
    rules_output,
    rules_parts,
    rules_semiconductors,
    rules_signal,
    rules_supply,
    rules_valves,
)
from benchtui.forecast.results import Finding
from benchtui.forecast.review_state import StageStates, Walk, stage_states
from benchtui.quantities.severity import gravity

RULES: tuple[Callable[[StageStates], Iterator[Finding]], ...] = (
    rules_parts.capacitor_volts,
    rules_parts.switch_on_volts,
    rules_parts.reversed_electrolytics,
    rules_parts.resistor_watts,
    rules_parts.resistor_volts,
    rules_parts.choke_amps,
    rules_semiconductors.semiconductor_watts,
    rules_semiconductors.transistor_volts,
    rules_semiconductors.transistor_amps,
    rules_semiconductors.regulator_current,
    rules_valves.dissipation,
    rules_valves.electrode_volts,
    rules_valves.cathode_current,
    rules_valves.heater_volts,
    rules_valves.heater_cathode_volts,
    rules_valves.floating_heaters,
    rules_valves.cold_grid,
    rules_valves.grid_leaks,
    rules_supply.windings,
    rules_supply.rectifier_currents,
    rules_supply.inrush,
    rules_supply.inverse_volts,
    rules_supply.first_capacitor,
    rules_supply.supply_resistance,
    rules_fuses.fuses,
    rules_bench.discharge_time,
    rules_bench.meter_volts,
    rules_bench.outside_volts,
    rules_bench.own_limits,
    rules_bench.points_left_out,
)
"""Rules that look at one stage."""

WALK_RULES: tuple[Callable[[Walk], Iterator[Finding]], ...] = (
    rules_bias.grid_bias_read,
    rules_bias.lifted_wipers,
    rules_mains.mains_side,
    rules_mains.earth_bond,
    rules_mains.insulation,
    rules_mains.mains_switch,
    rules_mains.mains_fuse,
    rules_fuses.fuse_too_large,
    rules_fuses.fuse_volts,
    rules_output.loads,
    rules_signal.feedback,
    rules_signal.full_power,
    rules_bench.gate_links,
)
"""Rules that look at the whole walk, or at the wiring that no stage changes."""


def review(build: Build) -> tuple[Finding, ...]:
    """All findings, worst first; the same one in several stages is told once, where it is worst."""
    worst: dict[tuple[str, str], Finding] = {}
    solved: dict[str, StageStates] = {}
    for info in stages(build):
        if info.kind != "power":
            continue
        states = stage_states(build, info.id)
        if states is None:
            text = f"{info.title}: this stage has no circuit to solve, or it does not settle"
            worst["", info.id] = Finding("warn", info.id, "", "unsolved", text, None, None, "the circuit engine")
        else:
            solved[info.id] = states
    walk = Walk(build, solved)
    for finding in _findings(walk):
        key = finding.part, finding.rule
        if key not in worst or _badness(finding) > _badness(worst[key]):
            worst[key] = finding
    return tuple(sorted(worst.values(), key=lambda finding: gravity(finding.severity)))


def _findings(walk: Walk) -> Iterator[Finding]:
    for states in walk.states.values():
        for rule in RULES:
            yield from rule(states)
    for walk_rule in WALK_RULES:
        yield from walk_rule(walk)


def _badness(finding: Finding) -> tuple[int, float]:
    value, limit = finding.value, finding.limit
    share = abs(value / limit) if value is not None and limit else 0.0
    return -gravity(finding.severity), share
