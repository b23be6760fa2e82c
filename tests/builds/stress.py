"""What the parts of a run stand, from its waves: the second opinion on stresses."""

from __future__ import annotations

from typing import Any

import numpy as np

from benchtui.buildfile.models import Build
from tests.builds.spice import Run


def stresses(build: Build, run: Run) -> dict[str, Any]:
    """Currents in A, volts, and watts of windings, rectifiers, valves, resistors and capacitors in a run."""
    made = run.circuit
    return {
        "winding_rms": {key: run.rms(run.current(f"VW{k}_")) for k, key in enumerate(made.windings, 1)},
        "rectifier_peak": {key: float(run.current(f"VD{k}_").max()) for k, key in enumerate(made.rectifiers, 1)},
        "rectifier_mean": {key: run.mean(run.current(f"VD{k}_")) for k, key in enumerate(made.rectifiers, 1)},
        "valves": {key: _valve(run, key, k) for k, key in enumerate(made.sections, 1) if _amplifies(run, key)},
        "resistor_w": {key: _watts(run, key) for key in build.resistor if key in made.resistors},
        "capacitor_v": {key: _highest(run, key) for key in build.capacitor if key in made.capacitors},
    }


def _amplifies(run: Run, section: str) -> bool:
    return run.circuit.sections[section].form != "vacuum_perveance"


def _valve(run: Run, section: str, number: int) -> dict[str, float]:
    nodes = {role: run.wave(node) for role, node in run.circuit.sections[section].nodes.items()}
    anode_a, anode_v = run.current(f"VA{number}_"), nodes["anode"] - nodes["cathode"]
    found = {
        "anode_v": run.mean(anode_v),
        "anode_a": run.mean(anode_a),
        "anode_w": run.mean(anode_v * anode_a),
        "grid_v": run.mean(nodes["grid"] - nodes["cathode"]),
        "cathode_v": run.mean(nodes["cathode"]),
    }
    if "screen" in nodes:
        screen_a, screen_v = run.current(f"VS{number}_"), nodes["screen"] - nodes["cathode"]
        found |= {
            "screen_v": run.mean(screen_v),
            "screen_a": run.mean(screen_a),
            "screen_w": run.mean(screen_v * screen_a),
        }
    return found


def _watts(run: Run, name: str) -> float:
    a, b, ohm = run.circuit.resistors[name]
    return run.rms(_across(run, a, b)) ** 2 / ohm


def _highest(run: Run, name: str) -> float:
    a, b, _ = run.circuit.capacitors[name]
    wave = _across(run, a, b)
    return float(wave.max() if wave.mean() >= 0 else wave.min())


def _across(run: Run, a: str, b: str) -> np.ndarray:
    return run.spice_wave(a) - run.spice_wave(b)
