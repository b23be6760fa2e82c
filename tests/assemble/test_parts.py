"""From entries of a build file to elements: values, tolerances and laws of single parts."""

from __future__ import annotations

import numpy as np
import pytest

from benchtui.assemble.draw import Draw
from benchtui.assemble.netlist import assemble
from benchtui.assemble.state import State
from benchtui.buildfile.models import Build, Fet, Transistor, Zener
from benchtui.circuit.elements import Element
from tests.reference.amplifiers import build


def made(table: str, **parts: object) -> Build:
    """A build with the given parts of one table, all fitted."""
    return build("a").build.model_copy(update={table: parts})


def element(name: str, of: Build, draw: Draw | None = None) -> Element:
    (found,) = (e for e in assemble(of, State(frozenset({name}), 230.0), draw).elements if e.name == name)
    return found


def zener(**fields: object) -> Build:
    printed = {"value": "12 V", "resistance": "9 ohm", "at": "21 mA"}
    return made("zener", Z1=Zener(nodes=("0", "s"), stage="supply", **{**printed, **fields}))


def test_a_zener_has_the_volts_and_slope_of_its_data_sheet() -> None:
    """1N4742A: 12 V, 9 ohm at 21 mA (from memory)."""
    found = element("Z1", zener())
    constants = found.law.constants
    assert (found.anode, found.cathode, found.law.form) == ("0", "s", "zener")
    assert (constants["breakdown_v"], constants["slope_ohm"], constants["at_a"]) == (12.0, 9.0, 0.021)
    assert 0.0 < constants["knee_v"] <= 0.05


@pytest.mark.parametrize(
    ("fields", "low", "high"),
    [({}, 11.4, 12.6), ({"tolerance": "2 %"}, 11.76, 12.24), ({"measured": "12.4 V"}, 12.276, 12.524)],
)
def test_a_zeners_volts_are_drawn_over_its_tolerance(fields: dict[str, str], low: float, high: float) -> None:
    """5 % where the file says nothing, 1 % for what was measured (common practice)."""
    drawn = element("Z1", zener(**fields), Draw(200)).law.constants["breakdown_v"]
    assert drawn.min() == pytest.approx(low, abs=0.01) and drawn.max() == pytest.approx(high, abs=0.01)


def test_a_zener_of_almost_no_resistance_keeps_some_behind_its_knee() -> None:
    constants = element("Z1", zener(resistance="1 ohm")).law.constants
    assert constants["slope_ohm"] - constants["knee_v"] / constants["at_a"] >= 0.5


def test_a_transistor_has_its_gain_and_polarity() -> None:
    part = Transistor(nodes=("a", "b", "e"), polarity="pnp", gain=80, stage="driver")
    found = element("Q1", made("transistor", Q1=part))
    assert (found.collector, found.base, found.emitter) == ("a", "b", "e")
    assert (found.law.form, found.law.constants["gain"], found.law.constants["polarity"]) == ("bipolar", 80.0, -1.0)
    drawn = element("Q1", made("transistor", Q1=part), Draw(200)).law.constants["gain"]
    assert drawn.min() == pytest.approx(40.0, rel=0.02) and drawn.max() == pytest.approx(160.0, rel=0.02)


def test_a_fet_has_the_two_figures_of_its_data_sheet() -> None:
    part = Fet(nodes=("d", "g", "s"), idss="4 mA", pinch_off="2 V", tolerance="10 %", stage="driver")
    constants = element("Q1", made("fet", Q1=part), Draw(200)).law.constants
    assert constants["polarity"] == 1.0
    for key, marked in (("idss_a", 4e-3), ("pinch_off_v", 2.0)):
        assert constants[key].min() == pytest.approx(0.9 * marked, rel=0.01)
        assert constants[key].max() == pytest.approx(1.1 * marked, rel=0.01)
    assert abs(np.corrcoef(constants["idss_a"], constants["pinch_off_v"])[0, 1]) < 0.3, "drawn one by one"
