"""Any moment of a build, not only its stages: parts out, open, starved or limited, against ngspice.

The decks are made by tests/builds/deck.py from a build that is changed by hand to what the state means; ours comes from
the build as it is and a `State`.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from math import log

import numpy as np
import pytest

from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State, stage_state
from benchtui.buildfile.models import Build, Resistor, Switch, Thermistor
from benchtui.circuit.discharge import discharge
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.forecast.gate import gate_forecast
from benchtui.forecast.run import stage_run
from tests.builds import ngspice, recorded, spice
from tests.builds.deck import Moment, moment

LONG = os.environ.get("BENCHTUI_LONG", "0") not in ("", "0")
SLOW = {"primary at 90 V", "first valve out", "one channel only"}
"""They differ from the others in numbers alone, and take seconds to come to rest."""

pytestmark = pytest.mark.skipif(ngspice.PROGRAM is None, reason="ngspice is not installed")


def changed(build: Build, table: str, **parts: object) -> Build:
    """The build with parts of one table put in, or taken out where None."""
    entries = {**getattr(build, table), **parts}
    return build.model_copy(update={table: {name: part for name, part in entries.items() if part is not None}})


@cache
def with_standby() -> Build:
    """pp-el34 with a standby switch between its reservoir and its choke."""
    build = recorded.build("pp-el34").build
    choke = build.choke["L1"]
    moved = choke.model_copy(update={"nodes": ("standby", choke.nodes[1])})
    switch = Switch(nodes=(choke.nodes[0], "standby"), stage=choke.stage, open_in=("supply",))
    return changed(changed(build, "choke", L1=moved), "switch", S2=switch)


@cache
def with_thermistor() -> Build:
    """pp-el34 with an inrush thermistor for its HT fuse."""
    build = recorded.build("pp-el34").build
    fuse = build.fuse["F2"]
    thermistor = Thermistor(nodes=fuse.nodes, stage=fuse.stage, value="4 ohm", cold="68 ohm")
    return changed(changed(build, "fuse", F2=None), "thermistor", TH1=thermistor)


def wiper_off(build: Build, pot: str) -> Build:
    part = build.pot[pot]
    track = Resistor(nodes=(part.nodes[0], part.nodes[2]), value=f"{part.value} ohm", stage=part.stage)
    return changed(changed(build, "pot", **{pot: None}), "resistor", **{pot: track})


def behind(build: Build, ohm: float) -> Build:
    """The build with resistance added to the primary's."""
    core = build.transformer["T1"]
    primary = core.primary.model_copy(update={"resistance": (core.primary.resistance or 0.0) + ohm})
    return changed(build, "transformer", T1=core.model_copy(update={"primary": primary}))


def cold_thermistor(build: Build) -> Build:
    part = build.thermistor["TH1"]
    return changed(build, "thermistor", TH1=part.model_copy(update={"value": part.cold}))


@dataclass(frozen=True)
class Case:
    """A state of a build's stage, what it makes of the build, and what it makes of the deck's moment."""

    build: Callable[[], Build]
    stage: str
    state: Callable[[State], State]
    theirs: Callable[[Build], Build] = lambda build: build
    moment: Callable[[Moment], Moment] = lambda now: now


def el34() -> Build:
    return recorded.build("pp-el34").build


def pp_6v6() -> Build:
    return recorded.build("pp-6v6").build


def stereo() -> Build:
    return recorded.build("se-stereo").build


def without_valves(*names: str) -> dict[str, Callable]:
    out = frozenset(names)
    return {
        "state": lambda state: replace(state, valves_out=state.valves_out | out),
        "moment": lambda now: replace(now, valves_out=now.valves_out | out),
    }


CASES = {
    "HT fuse out": Case(
        el34,
        "output",
        lambda state: replace(state, fuses_out=frozenset({"F2"})),
        moment=lambda now: replace(now, fuses_out=frozenset({"F2"})),
    ),
    "first valve out": Case(pp_6v6, "signal", **without_valves("V1")),
    "an output valve out": Case(el34, "output", **without_valves("V3")),
    "feedback lead off": Case(
        stereo,
        "signal",
        lambda state: replace(state, fitted=state.fitted - {"FBL", "FBR"}),
        lambda build: changed(build, "link", FBL=None, FBR=None),
    ),
    "one channel only": Case(stereo, "signal", **without_valves("V1R")),
    "primary at 90 V": Case(
        el34,
        "output",
        lambda state: replace(state, mains_v=90.0),
        moment=lambda now: replace(now, mains_v=90.0),
    ),
    "wiper off its track": Case(
        el34, "grids", lambda state: replace(state, wipers_open=frozenset({"P1"})), lambda build: wiper_off(build, "P1")
    ),
    "behind 100 ohm": Case(
        el34, "supply", lambda state: replace(state, series_ohm=100.0), lambda build: behind(build, 100.0)
    ),
    "standby switch open": Case(
        with_standby,
        "output",
        lambda state: replace(state, switches_open=frozenset({"S2"})),
        moment=lambda now: replace(now, switches_open=frozenset({"S2"})),
    ),
    "thermistor cold": Case(
        with_thermistor, "output", lambda state: replace(state, thermistors_warm=0.0), cold_thermistor
    ),
}


def ours(case: Case) -> Operating:
    build = case.build()
    run = stage_run(build, case.stage)
    state = replace(stage_state(build, case.stage, trimmed=False), pots=run.positions)
    found = operate(assemble(build, case.state(state)), start=run.nominal)
    assert found.settled.all()
    return found


def ripple(run: spice.Run, wave: np.ndarray) -> float:
    """Volts rms of what repeats: what the first and last cycles' means differ by is settling, and taken off."""
    even = np.linspace(run.time[0], run.time[-1], 8001)[:-1]
    wave = np.interp(even, run.time, wave)
    cycles = wave.reshape(round((run.time[-1] - run.time[0]) * 50.0), -1).mean(axis=1)
    whole = (cycles[-1] - cycles[0]) * cycles.size / (cycles.size - 1)
    return float(np.std(wave - whole * np.linspace(0.0, 1.0, wave.size)))


RUN = CASES if LONG else [name for name in CASES if name not in SLOW]


@pytest.mark.parametrize("name", RUN)
def test_any_state_reads_as_in_ngspice(name: str) -> None:
    """DC 1 % or 20 mV, ripple 5 % or 0.5 mV, wherever a resistor or capacitor ends and a winding does not."""
    case = CASES[name]
    build, found = case.theirs(case.build()), ours(case)
    now = replace(moment(build, case.stage), pots=stage_run(case.build(), case.stage).positions)
    run = spice.settled(build, case.moment(now))
    swinging = {node for core in build.transformer.values() for w in core.windings.values() for node in w.nodes}
    ends = {
        node for table in ("resistor", "capacitor") for part in getattr(build, table).values() for node in part.nodes
    }
    nodes = sorted((ends & run.circuit.names.keys() & found.system.network.nodes.keys()) - swinging - found.floating)
    assert len(nodes) > 5
    for node in nodes:
        wave = run.wave(node)
        assert found.dc(node, "0")[0] == pytest.approx(run.mean(wave), rel=0.01, abs=0.02), node
        assert found.ac_rms(node, "0")[0] == pytest.approx(ripple(run, wave), rel=0.05, abs=5e-4), node


def test_a_reservoir_before_an_open_standby_switch_stays_charged() -> None:
    """It empties through its own bleeder alone, R C ln(V / 10 V), and the gate reads it by itself."""
    build = with_standby()
    open_state = stage_state(build, "supply")
    assert open_state.switches_open == {"S2"}
    found = operate(assemble(build, open_state))
    closed = operate(assemble(build, replace(open_state, switches_open=frozenset())))
    reservoir, behind_it = (build.capacitor[name].nodes for name in ("C1", "C2"))
    assert found.dc(*reservoir)[0] > 0.98 * closed.dc(*reservoir)[0]
    assert found.dc(*behind_it)[0] == pytest.approx(0.0, abs=0.05)
    (bleeder,) = [part for part in build.resistor.values() if set(part.nodes) == set(reservoir)]
    decay = discharge(found)
    seconds = decay.seconds_to(10.0)[0, decay.names.index("C1")]
    assert seconds == pytest.approx(bleeder.value * 100e-6 * log(found.dc(*reservoir)[0] / 10.0), rel=0.02)
    groups = [set(each.parts) for each in gate_forecast(build, "supply").reservoirs]
    assert {"C1"} in groups
