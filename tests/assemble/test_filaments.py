"""Directly heated output valves: the filament as cathode, on AC with a hum pot or centre tap, and on DC, by ngspice."""

from __future__ import annotations

import pytest

from benchtui.buildfile.models import Build
from benchtui.circuit.operate import operate
from tests.assemble.small import small, whole
from tests.circuit.against import agree_dc, agree_ripple, both

HT = {
    "W_HT1": {"nodes": ["h1", "0"], "emf": "350 V", "resistance": "60R"},
    "W_HT2": {"nodes": ["0", "h2"], "emf": "350 V", "resistance": "62R"},
}
FILAMENT = {"W_F": {"nodes": ["fa", "fb"], "emf": "5.3 V", "resistance": "0.1 ohm"}}


def single_ended(filament: dict[str, dict[str, object]], *, type_: str = "300B", **tables: dict[str, object]) -> Build:
    """One directly heated triode, cathode bias by RK from node `k` to chassis, choke-smoothed HT of 400 V or so."""
    parts: dict[str, dict[str, dict[str, object]]] = {
        "diode": {
            "D1": {"nodes": ["h1", "p"], "type": "1N4007"},
            "D2": {"nodes": ["h2", "p"], "type": "1N4007"},
        },
        "capacitor": {
            "C1": {"nodes": ["p", "0"], "value": "22u", "volts": "600 V", "make": "film"},
            "C2": {"nodes": ["q", "0"], "value": "47u", "volts": "600 V", "make": "film"},
            "CK": {"nodes": ["k", "0"], "value": "100u", "volts": "160 V", "make": "film"},
        },
        "choke": {"L1": {"nodes": ["p", "q"], "value": "8 H", "resistance": "120R"}},
        "resistor": {
            "RK": {"nodes": ["k", "0"], "value": "1k"},
            "RG": {"nodes": ["g", "0"], "value": "150k"},
        },
        "valve": {"V1": {"type": type_, "pins": {"1": "fa", "2": "a", "3": "g", "4": "fb"}}},
        "output_transformer": {
            "T2": {
                "anodes": ["a"], "ht": "q", "secondary": ["s", "0"], "impedance": "3k", "load": "8R",
                "resistance": ["120R"], "secondary_resistance": "0R5", "inductance": "15 H", "leakage": "20 mH",
            }
        },
        "load": {"SPK": {"nodes": ["s", "0"], "value": "8R"}},
    }  # fmt: skip
    for table, entries in tables.items():
        parts[table] = parts.get(table, {}) | entries
    return small(windings=HT | filament, **parts)


def pot(share: str) -> dict[str, dict[str, object]]:
    return {"P1": {"nodes": ["fa", "k", "fb"], "value": "100R", "position": share}}


@pytest.mark.spice
def test_a_hum_pot_off_its_centre_against_ngspice() -> None:
    """300B on 5 V AC: a tenth of the track off centre puts half a volt of mains hum on the cathode."""
    ours, theirs = both(whole(single_ended(FILAMENT, pot=pot("40 %"))), run_s=2.5)
    assert 0.04 < ours.valve("V1").anode_a[0] < 0.09
    agree_dc(ours, theirs, "p", "q", "a", "k", "fa", "fb")
    agree_ripple(ours, theirs, "q", "a", "s", "fa", share=0.05)
    centred = operate(whole(single_ended(FILAMENT, pot=pot("50 %"))))
    assert ours.harmonic("s", "0", 1)[0] > 20.0 * centred.harmonic("s", "0", 1)[0] > 0.0


@pytest.mark.spice
def test_a_centre_tapped_filament_winding_against_ngspice() -> None:
    """2A3 on 2.5 V AC from two halves, the tap at the cathode resistor; one half a twentieth short of volts."""
    halves = {
        "W_F1": {"nodes": ["fa", "k"], "emf": "1.32 V", "resistance": "0.02 ohm"},
        "W_F2": {"nodes": ["k", "fb"], "emf": "1.25 V", "resistance": "0.02 ohm"},
    }
    ours, theirs = both(whole(single_ended(halves, type_="2A3")), run_s=2.5)
    agree_dc(ours, theirs, "q", "a", "k", "fa", "fb")
    agree_ripple(ours, theirs, "a", "s", "k", share=0.05)
    assert ours.ac_rms("fa", "fb")[0] == pytest.approx(2.5, rel=0.05)


def dc_heated() -> Build:
    """300B whose filament is fed by a bridge and a reservoir, its negative end at the cathode resistor."""
    bridge = {
        "D3": {"nodes": ["fx", "fa"], "type": "1N4007"},
        "D4": {"nodes": ["fy", "fa"], "type": "1N4007"},
        "D5": {"nodes": ["fb", "fx"], "type": "1N4007"},
        "D6": {"nodes": ["fb", "fy"], "type": "1N4007"},
    }
    return single_ended(
        {"W_F": {"nodes": ["fx", "fy"], "emf": "6 V", "resistance": "0.3 ohm"}},
        diode=bridge,
        capacitor={"CF": {"nodes": ["fa", "fb"], "value": "10000u", "volts": "16 V", "make": "electrolytic"}},
        link={"LK": {"nodes": ["fb", "k"], "value": "0.01 ohm"}},
    )


@pytest.mark.spice
def test_a_filament_on_direct_current_against_ngspice() -> None:
    """The cathode is the middle of the filament: its bias is less by half of the filament's volts."""
    ours, theirs = both(whole(dc_heated()), run_s=2.5)
    agree_dc(ours, theirs, "q", "a", "k", "fa", "fb")
    agree_ripple(ours, theirs, "a", "s", "fa", share=0.05)
    filament_v = ours.dc("fa", "fb")[0]
    assert 4.0 < filament_v < 5.5
    assert ours.valve("V1").grid_v[0] == pytest.approx(-ours.dc("k", "0")[0] - filament_v / 2.0, rel=2e-3)


def test_a_filament_end_reads_the_mean_of_the_filament_on_ac() -> None:
    """Direct volts at both ends and at the pot's wiper are those of the cathode but for its current in the halves."""
    found = operate(whole(single_ended(FILAMENT, pot=pot("50 %"))))
    cathode_v = found.dc("V1.filament", "0")[0]
    for node in ("fa", "fb"):
        assert found.dc(node, "0")[0] == pytest.approx(cathode_v, abs=0.2)
    # through its two halves of 2.08 ohm side by side, then those of the pot, 50 ohm each
    assert found.dc("V1.filament", "k")[0] == pytest.approx(found.valve("V1").cathode_a[0] * (1.04 + 25.0), rel=0.01)
