"""Small signals and meter loading, against the formulas of a handbook's small-signal section and their worked figures.

The valves here are exactly those of the textbook: current (vg + va / mu) mu / rp. A winding of some millivolts at the
signal's frequency drives the stage; the full-wave supply has no ripple at that frequency, only at twice and above, so
the first harmonic is the signal alone.
"""

from __future__ import annotations

from math import pi, sqrt

import pytest

from benchtui.circuit.elements import Capacitor, Element, Law, OutputTransformer, Resistor, Valve
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from benchtui.circuit.probe import Probe, readings
from tests.circuit import shapes
from tests.circuit.shapes import linear_triode, of

SIGNAL_V = 0.01


def stage(*parts: Element, hz: float = 1000.0, drive: tuple[str, str] = ("in", "0")) -> Operating:
    """The parts with a stiff supply at `ht` and a signal of 10 mV at `in`."""
    supply = shapes.full_wave(230.0, 1.0, out="ht")
    smoothing = Capacitor("CB", "ht", "0", 0.1), Resistor("RB", "ht", "0", 50e3)
    found = operate(of(supply, smoothing, shapes.source("SIG", *drive, SIGNAL_V, 0.001), parts, hz=hz))
    assert found.settled.all()
    return found


def gain(found: Operating, node: str) -> float:
    return float(found.harmonic(node, "0", 1)[0]) / SIGNAL_V


def triode(mu: float, rp_ohm: float, anode_ohm: float, cathode_ohm: float, *, bypass: bool = False) -> list[Element]:
    parts: list[Element] = [
        Valve("V", "a", "in", "k", linear_triode(mu, rp_ohm)),
        Resistor("RA", "ht", "a", anode_ohm),
        Resistor("RK", "k", "0", cathode_ohm),
    ]
    return parts + [Capacitor("CK", "k", "0", 0.1)] if bypass else parts


def test_gain_of_a_stage_with_the_next_grid() -> None:
    """mu RL / (RL + rp), RL = 100k || 1M, mu 100, rp 62.5k: 59.26 (0.1)."""
    found = stage(
        *triode(100, 62.5e3, 100e3, 1500.0, bypass=True),
        Resistor("RG", "g2", "0", 1e6),
        Capacitor("CC", "a", "g2", 1e-3),
    )
    assert gain(found, "g2") == pytest.approx(59.26, abs=0.1)


def test_gain_without_the_bypass() -> None:
    """mu Ra / (Ra + rp + (mu + 1) Rk): 31.85 (0.1), a loss of 5.722 dB (0.05)."""
    bare = gain(stage(*triode(100, 62.5e3, 100e3, 1500.0)), "a")
    whole = gain(stage(*triode(100, 62.5e3, 100e3, 1500.0, bypass=True)), "a")
    assert bare == pytest.approx(31.85, abs=0.1)
    assert whole / bare == pytest.approx(10 ** (5.722 / 20), rel=0.006)


def test_gain_of_a_medium_mu_triode() -> None:
    """mu 20, rp 7.7k, Ra 47k: 17.18 (0.05)."""
    assert gain(stage(*triode(20, 7.7e3, 47e3, 1000.0, bypass=True)), "a") == pytest.approx(17.18, abs=0.05)


def test_gain_of_a_pentode() -> None:
    """gm RL: 11 mA/V into 5 kohm: 55 (0.5); the knee is far below, so that rp is large."""
    gm = 11e-3
    constants = {"mu": 20.0, "ex": 1.0, "kg1": pi / gm, "kg2": 1e9, "kp": 5000.0, "kvb": 0.01, "vct": 0.0}
    found = stage(
        Valve("V", "a", "in", "k", Law("pentode_power_screen", constants), "s"),
        Resistor("RS", "ht", "s", 100.0),
        Resistor("RA", "ht", "a", 5000.0),
        Resistor("RK", "k", "0", 680.0),
        Capacitor("CK", "k", "0", 0.1),
    )
    assert gain(found, "a") == pytest.approx(55.0, abs=0.5)


def source_ohm(found: Operating, node: str, meter_ohm: float) -> float:
    """The resistance behind a node, from its reading with and without an AC meter."""
    probes = [Probe(node, "0", "ac"), Probe(node, "0", "ac", meter_ohm)]
    free, loaded = readings(found, probes)[0]
    return meter_ohm * (free / loaded - 1)


def test_resistance_behind_an_anode() -> None:
    """rp || Ra = 38.46k (0.1k) bypassed, (rp + (mu + 1) Rk) || Ra = 68.15k (0.3k) not."""
    bypassed = stage(*triode(100, 62.5e3, 100e3, 1500.0, bypass=True))
    assert source_ohm(bypassed, "a", 1e6) == pytest.approx(38.46e3, abs=100)
    assert source_ohm(stage(*triode(100, 62.5e3, 100e3, 1500.0)), "a", 1e6) == pytest.approx(68.15e3, abs=300)


def test_resistance_looking_into_a_cathode() -> None:
    """(rp + Ra) / (mu + 1) = 1.609k (10 ohm), here beside Rk = 1.5k."""
    found = stage(*triode(100, 62.5e3, 100e3, 1500.0))
    beside = source_ohm(found, "k", 1e5)
    assert 1 / (1 / beside - 1 / 1500.0) == pytest.approx(1609.0, abs=10.0)


def test_cathode_follower() -> None:
    """mu Rk / (rp + (mu + 1) Rk), mu 20, rp 7.7k, Rk 47k: 0.945 (0.003)."""
    found = stage(Valve("V", "ht", "in", "k", linear_triode(20, 7.7e3)), Resistor("RK", "k", "0", 47e3))
    assert gain(found, "k") == pytest.approx(0.945, abs=0.003)


def test_cathodyne() -> None:
    """mu R / (rp + (mu + 2) R) to each output, mu 20, rp 7.7k, R 33k: 0.8996 (0.003), balanced within 0.001."""
    found = stage(*triode(20, 7.7e3, 33e3, 33e3))
    assert gain(found, "a") == pytest.approx(0.8996, abs=0.003)
    assert gain(found, "a") / gain(found, "k") == pytest.approx(1.0, abs=0.001)


def long_tailed(tail_ohm: float, grids_v_share: float) -> Operating:
    """A pair whose grids stand at a share of the supply, high enough for the tail's current."""
    law = linear_triode(60, 11e3)
    return stage(
        Resistor("RU", "ht", "g", 100e3 * (1.0 - grids_v_share)),
        Resistor("RL", "g", "0", 100e3 * grids_v_share),
        Capacitor("CG", "g", "0", 0.1),
        Valve("V1", "a", "in", "k", law),
        Valve("V2", "c", "g", "k", law),
        Resistor("RA", "ht", "a", 82e3),
        Resistor("RC", "ht", "c", 82e3),
        Resistor("RT", "k", "0", tail_ohm),
        drive=("in", "g"),
    )


def test_long_tailed_pair() -> None:
    """Driven over other output 1.069 (0.005) with a 22k tail; their mean mu Ra / (2 (Ra + rp)) = 26.45 (0.1)."""
    found = long_tailed(22e3, 0.18)
    assert gain(found, "a") / gain(found, "c") == pytest.approx(1.069, abs=0.005)
    assert (gain(found, "a") + gain(found, "c")) / 2 == pytest.approx(26.45, abs=0.1)


@pytest.mark.parametrize(
    ("farad", "grid_ohm", "source", "corner"), [(22e-9, 1e6, 0.0, 7.234), (100e-9, 220e3, 38.5e3, 6.157)]
)
def test_corner_of_a_coupling_capacitor(farad: float, grid_ohm: float, source: float, corner: float) -> None:
    """1 / (2 pi (Rg + Rsource) C): 7.234 and 6.157 Hz; there the loss is 3.01 dB."""
    parts = Resistor("RS", "in", "x", source), Capacitor("C", "x", "g", farad), Resistor("RG", "g", "0", grid_ohm)

    def level(hz: float) -> float:
        found = operate(of(shapes.source("SIG", "in", "0", 1.0, 0.001), parts, hz=hz))
        return float(found.ac_rms("g", "0")[0])

    assert level(corner) / level(1e5) == pytest.approx(1 / sqrt(2), rel=0.002)


def test_corner_of_a_cathode_bypass() -> None:
    """Upper corner of the shelf, 1 / (2 pi C (Rk || (rp + Ra)/(mu + 1))) = 8.201 Hz with 25 uF."""
    parts = [*triode(100, 62.5e3, 100e3, 1500.0), Capacitor("CK", "k", "0", 25e-6)]
    low, at, high = (gain(stage(*parts, hz=hz), "a") for hz in (0.05, 8.201, 1e4))
    # one zero, one pole: |H|^2 at the pole lies midway between the squares of both ends
    assert at**2 == pytest.approx((low**2 + high**2) / 2, rel=0.01)


def transformer(load_ohm: float, **changes: float) -> Operating:
    values = {"half_ohm": 1e-3, "secondary_ohm": 1e-3, "henry": 100.0, "source_ohm": 0.001} | changes
    part = OutputTransformer(
        "T", "x", "y", None, "s", "0", 25.0, (values["half_ohm"],), values["secondary_ohm"], values["henry"], 0.0
    )
    link = Resistor("LINK", "y", "0", 0.001)
    drive = shapes.source("SIG", "x", "0", 100.0, values["source_ohm"])
    return operate(of(drive, part, link, Resistor("RL", "s", "0", load_ohm), hz=1000.0))


def test_output_transformer_steps_down_and_reflects() -> None:
    """5k : 8 ohm is 25 : 1: 100 V give 4.00 V (0.02); 4 ohm reflects 2500 ohm (1)."""
    assert transformer(8.0).ac_rms("s", "0")[0] == pytest.approx(4.0, abs=0.02)
    found = transformer(4.0)
    assert 100.0 / found.rms("SIG")[0] == pytest.approx(2500.0, abs=5.0)


def test_output_transformer_loses_in_its_windings() -> None:
    """1 - Zs / (Zs + Rsec + Rpri / n^2) = 8.967 % (0.1) with 180 and 0.5 ohm."""
    found = transformer(8.0, half_ohm=180.0, secondary_ohm=0.5)
    put_in = found.ac_rms("x", "0")[0] * found.rms("SIG")[0]
    assert 100 * (1 - found.power("RL")[0] / put_in) == pytest.approx(8.967, abs=0.1)


@pytest.mark.parametrize(
    ("meter_ohm", "reads", "within"), [(10e6, 148.5, 0.2), (20e3 * 250, 147.1, 0.3), (1e3 * 250, 107.1, 0.3)]
)
def test_a_dc_meter_loads_the_node(meter_ohm: float, reads: float, within: float) -> None:
    """150 V behind 100 kohm with 10 Mohm, 20 kohm/V and 1 kohm/V on 250 V: V Rm / (Rm + Rs)."""
    found = operate(of(shapes.full_wave(230.0, 1.0, out="ht"), shapes.reservoir(0.01, 1e5, "ht"), *divider()))
    scale = 150.0 / float(found.dc("m", "0")[0])
    shown = readings(found, [Probe("m", "0", "dc", meter_ohm)])[0, 0] * scale
    assert shown == pytest.approx(reads, abs=within)


def divider() -> list[Element]:
    """Two equal resistances: 100 kohm behind their middle."""
    return [Resistor("R1", "ht", "m", 200e3), Resistor("R2", "m", "0", 200e3)]


def test_a_dc_meter_on_a_grid_leak() -> None:
    """10 Mohm on 1 Mohm: 9.091 % low (0.1)."""
    supply = shapes.full_wave(50.0, 1.0, out="ht"), shapes.reservoir(0.01, 1e4, "ht")
    found = operate(of(*supply, Resistor("RG", "ht", "g", 1e6), Capacitor("C", "g", "0", 1e-9)))
    free, loaded = readings(found, [Probe("g", "0", "dc"), Probe("g", "0", "dc", 10e6)])[0]
    assert 100 * (1 - loaded / free) == pytest.approx(9.091, abs=0.1)


def test_a_dc_meter_on_an_anode() -> None:
    """10 Mohm on Ra || rp = 38.5k, the cathode held: 0.383 % low (0.02)."""
    found = stage(*triode(100, 62.5e3, 100e3, 0.001))
    free, loaded = readings(found, [Probe("a", "0", "dc"), Probe("a", "0", "dc", 10e6)])[0]
    assert 100 * (1 - loaded / free) == pytest.approx(0.383, abs=0.02)
