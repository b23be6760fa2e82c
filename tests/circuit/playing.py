"""The two reference amplifiers ready for signals: a generator at the input, the load on, feedback closed or open.

They have none of their own: here 100 ohm lie under the first valve's cathode, a resistor goes there from the load, and
the secondary's leads are exchanged so that what comes back is against the signal.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import stage_state
from benchtui.circuit.elements import Circuit, Element, OutputTransformer, Resistor
from benchtui.circuit.operate import Trim, operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.signal import Source, connected
from tests.reference.amplifiers import build, described

NAMES = ("a", "c")
SOURCE = Source("GEN", "in", "0", 600.0)
LOAD = ("spk", "0")
LOAD_OHM = 8.0
FEEDBACK_OHM = {"a": 8200.0, "c": 68e3}


def circuit(name: str, *, closed: bool, samples: int | None = None, feedback_ohm: float | None = None) -> Circuit:
    """Amplifier `name` at its last stage, hot, the generator across its input; an ensemble where samples are given."""
    made = build(name).build
    draw = None if samples is None else Draw(samples)
    elements = [_changed(each) for each in assemble(made, stage_state(made, "driver"), draw).elements]
    elements.append(Resistor("RFF", "fb", "0", 100.0))
    if closed:
        elements.append(Resistor("RFB", "spk", "fb", feedback_ohm or FEEDBACK_OHM[name]))
    return connected(Circuit(tuple(elements), made.mains.frequency), SOURCE)


def exchanged(element: Element) -> Element:
    """The element, or an output transformer with the ends of its secondary exchanged."""
    return replace(element, hot=element.cold, cold=element.hot) if isinstance(element, OutputTransformer) else element


def _changed(element: Element) -> Element:
    element = exchanged(element)
    return replace(element, b="fb") if element.name in ("R23", "C20") else element


def trims(name: str) -> list[Trim]:
    """The bias pots, each set for what the amplifier's description wants."""
    at = {point["id"]: (point["pos"], point["neg"]) for point in described(name)["test_points"]}
    rows = described(name).get("bias_adjust", [])
    return [Trim(row["pot"], *at[row["test_point"]], row["target_v"]) for row in rows]


@cache
def solved(name: str, *, closed: bool, samples: int | None = None) -> Operating:
    """Its operating point."""
    return operate(circuit(name, closed=closed, samples=samples), trims=trims(name))
