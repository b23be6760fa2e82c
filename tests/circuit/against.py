"""Our answer beside that of ngspice, which starts a tenth off our DC and is run until it has come to rest."""

from __future__ import annotations

import pytest

from benchtui.circuit.elements import Circuit, MainsTransformer
from benchtui.circuit.operate import operate
from benchtui.circuit.operating import Operating
from tests.circuit.deck import Rest, at_rest


def both(
    circuit: Circuit, *, run_s: float = 1.0, off: float = 0.9, unset: tuple[str, ...] = ()
) -> tuple[Operating, Rest]:
    """Our answer, and ngspice's from volts that are `off` times ours, but 0 for the nodes `unset`."""
    ours = operate(circuit)
    assert ours.settled.all()
    nodes = {name for name in ours.system.network.nodes if " " not in name}
    begin = {node: off * float(ours.dc(node, "0")[0]) for node in sorted(nodes - ours.floating - set(unset))}
    return ours, at_rest(circuit, begin, run_s=run_s)


def agree_dc(ours: Operating, theirs: Rest, *nodes: str, share: float = 0.004) -> None:
    for node in nodes:
        assert ours.dc(node, "0")[0] == pytest.approx(theirs.dc(node), rel=share, abs=0.01), node


def agree_ripple(ours: Operating, theirs: Rest, *nodes: str, share: float = 0.03, least_v: float = 2e-4) -> None:
    for node in nodes:
        assert ours.ac_rms(node, "0")[0] == pytest.approx(theirs.ac(node), rel=share, abs=least_v), node


def agree_rectifier(ours: Operating, theirs: Rest, *names: str, share: float = 0.04) -> None:
    for name in names:
        wave = theirs.amps(name)
        assert ours.rms(name)[0] == pytest.approx(theirs.rms(wave), rel=share), name
        assert ours.peak(name)[0] == pytest.approx(wave.max(), rel=share), name


def agree_windings(ours: Operating, theirs: Rest, share: float = 0.05) -> None:
    """The rms current of every secondary; ngspice's from the volts across its resistance."""
    cores = [e for e in ours.circuit.elements if isinstance(e, MainsTransformer)]
    for winding in (each for core in cores for each in core.windings):
        amps = theirs.volts(f"{winding.name}_i", winding.a) / winding.ohm
        assert ours.rms(winding.name)[0] == pytest.approx(theirs.rms(amps), rel=share), winding.name
