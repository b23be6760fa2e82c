"""What the gate and the closing need to know: reservoirs, rails, HT+ to chassis in ohms, live loose ends."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import resistances
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build
from benchtui.circuit.discharge import discharge
from benchtui.circuit.elements import CHASSIS
from benchtui.circuit.resistance import resistance
from benchtui.forecast.meter import resolution, shown
from benchtui.forecast.reservoirs import (
    Charge,
    charge,
    follows_rail,
    groups,
    is_fed,
    is_reservoir,
    seconds_of,
)
from benchtui.forecast.results import BleedAdvice, GateForecast, Reservoir
from benchtui.forecast.run import SAMPLES
from benchtui.forecast.windows import joint_windows
from benchtui.quantities.show import show


def gate_forecast(build: Build, stage: str) -> GateForecast:
    """The gate of the hands-in work around `stage`: what the stages up to it may have charged."""
    reservoirs = _with_fastest(build, stage, reservoirs_of(build, stage))
    entry = build.stage.get(stage)
    loose = tuple(entry.loose) if entry else ()
    rails = tuple((reservoir.id, reservoir.red) for reservoir in reservoirs if reservoir.black == CHASSIS)
    ohms = _ohms(build, stage, reservoirs)
    return GateForecast(stage, reservoirs, rails, *ohms, loose=loose)


@lru_cache(maxsize=64)
def reservoirs_of(build: Build, stage: str) -> tuple[Reservoir, ...]:
    """What the stages up to `stage` may have charged, the highest volts first; the fall with hot valves is left out."""
    charged = charge(build, stage)
    if charged is None:
        return ()
    state = stage_state(build, stage)
    names = [
        name
        for name, volts in charged.highest_v.items()
        if name in state.fitted
        and is_reservoir(charged, build.capacitor[name].value, volts)
        and (is_fed(build, charged, name) or not follows_rail(charged, name))
    ]
    names = _with_their_group(build, state, names, charged)
    if not names:
        return ()
    cold = discharge(charged.apart, {name: charged.highest_v[name] for name in names})
    found = []
    for group in groups(build, state, names):
        slowest = max(seconds_of(cold, name, charged.threshold_v) for name in group)
        others = tuple(name for name in names if name not in group)
        found.append(_reservoir(build, charged, group, others, slowest))
    return tuple(sorted(found, key=lambda reservoir: -reservoir.highest_v))


def _with_fastest(build: Build, stage: str, reservoirs: tuple[Reservoir, ...]) -> tuple[Reservoir, ...]:
    """The same with their fall while the valves are still hot, which is stepped in time."""
    charged = charge(build, stage)
    if charged is None or not reservoirs:
        return reservoirs
    hot = discharge(charged.hot, hot=True, until_v=charged.threshold_v)
    fastest = [min(seconds_of(hot, name, charged.threshold_v) for name in each.parts) for each in reservoirs]
    return tuple(
        replace(each, fastest_s=min(seconds, each.slowest_s)) for each, seconds in zip(reservoirs, fastest, strict=True)
    )


def _with_their_group(build: Build, state: State, names: list[str], charged: Charge) -> list[str]:
    """`names` and all that a direct path joins to them: one bleeder empties them together, one reading tells."""
    large = [
        n
        for n, v in charged.highest_v.items()
        if n in state.fitted and is_reservoir(charged, build.capacitor[n].value, v)
    ]
    return [name for group in groups(build, state, large) if set(group) & set(names) for name in group]


def _reservoir(
    build: Build,
    charged: Charge,
    group: tuple[str, ...],
    others: tuple[str, ...],
    slowest: float,
) -> Reservoir:
    a, b = build.capacitor[group[0]].nodes
    red, black = (b, a) if a == CHASSIS else (a, b)
    farad = sum(build.capacitor[name].value for name in group)
    highest = max(charged.highest_v[name] for name in group)
    return Reservoir(
        id=group[0],
        parts=group,
        red=red,
        black=black,
        farad=farad,
        highest_v=highest,
        slowest_s=slowest,
        fastest_s=0.0,
        bled=bool(np.isfinite(slowest)),
        bleed=_bleed(build, charged, group, others, farad, highest),
    )


def _bleed(
    build: Build,
    charged: Charge,
    group: tuple[str, ...],
    others: tuple[str, ...],
    farad: float,
    highest: float,
) -> BleedAdvice:
    ohm = build.gate.clip
    seconds = ohm * farad * np.log(max(highest / charged.threshold_v, 1.0))
    through = [f"{group[0]} drains through the {show(ohm, 'ohm')} of the bleed lead"]
    through += [f"{name} drains through the parts between it and {group[0]}, more slowly" for name in group[1:]]
    if others:
        through.append(f"not through it: {', '.join(others)}")
    return BleedAdvice(ohm, highest / ohm, highest**2 / ohm, float(seconds), group, tuple(through))


def _ohms(build: Build, stage: str, reservoirs: tuple[Reservoir, ...]) -> tuple[str | None, float, float, float, float]:
    """Node, window (low, nominal, high) of the highest reservoir to chassis, and the same with the clip on."""
    rails = [reservoir for reservoir in reservoirs if reservoir.black == CHASSIS]
    if not rails:
        return None, np.nan, np.nan, np.nan, np.nan
    node, state, draw = rails[0].red, stage_state(build, stage), Draw(SAMPLES)
    nominal = float(resistance(resistances(build, state), node, CHASSIS)[0])
    clip = build.gate.clip
    if not np.isfinite(nominal):
        return node, 10.0 * clip, nominal, np.inf, clip
    values = shown(
        build.meter,
        "resistance",
        resistance(resistances(build, state, draw), node, CHASSIS),
        draw,
        "HT to chassis",
    )
    low, high = joint_windows(
        values[:, None], np.array([nominal]), resolution(build.meter, "resistance", np.array([nominal]))
    )[0]
    return node, float(low), nominal, float(high), 1.0 / (1.0 / nominal + 1.0 / clip)
