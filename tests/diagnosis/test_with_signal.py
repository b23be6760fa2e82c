"""What signal readings say of faults: those of a drawn build with a fault in it, read as the rehearsal reads them."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from benchtui.circuit.elements import Circuit
from benchtui.diagnosis.faults import faults
from benchtui.diagnosis.table import Spread, Table
from benchtui.diagnosis.weigh import UNKNOWN, Weighed, weighed_by
from benchtui.diagnosis.with_signal import weigh_signal
from benchtui.forecast.signal import Way
from benchtui.forecast.signal_path import signal_paths
from benchtui.forecast.signal_points import signal_points
from benchtui.rehearsal.amplifier import mains_v, powered_circuit, state_of
from benchtui.rehearsal.answering import answer
from benchtui.rehearsal.asked import Amplifier, Planted, Powered, Signal
from tests.builds.recorded import build

BUILD, SEED = build("pp-6v6").build, 5

#: Faults of the signal's way that no direct volts show, and some that have nothing to do with it.
SILENT = (
    ("capacitor-open", "C9"), ("capacitor-open", "C8"), ("capacitor-open", "C6"), ("capacitor-open", "C7"),
    ("capacitor-open", "C4"), ("capacitor-open", "C5"), ("resistor-open", "R25"), ("wire-open", "FB"),
    ("resistor-ten-times-high", "R25"), ("resistor-shorted", "R24"), ("capacitor-open", "C1"), ("resistor-open", "R1"),
)  # fmt: skip


@cache
def circuit() -> Circuit:
    of = Amplifier(SEED)
    return powered_circuit(BUILD, of, state_of(BUILD, of, "signal"))


@cache
def table(stage: str) -> Table:
    """The silent faults alone, as if direct volts had ruled out all others."""
    found = tuple(f for f in faults(BUILD, circuit()) if (f.kind, f.part) in SILENT)
    assert len(found) == len(SILENT)
    none, cases = np.zeros((0, 0)), len(found) + 1
    return Table(
        BUILD, stage, (), found, np.arange(-1, len(found)), np.ones(cases), np.ones(len(found)),
        Spread(none, none, none), {}, np.zeros(0), 0.0, none, np.full(cases, -1),
    )  # fmt: skip


def before(stage: str) -> Weighed:
    """Nearly nothing is wrong, by the direct volts."""
    share = (1.0 - 0.94 - UNKNOWN) / len(SILENT)
    return weighed_by(table(stage), np.log(np.array([0.94, *[share] * len(SILENT)])), float(np.log(UNKNOWN)))


def read(fault: tuple[str, str] | None, stage: str = "signal") -> dict[str, float]:
    """What a drawn build reads with a small signal."""
    found = next((f for f in faults(BUILD, circuit()) if (f.kind, f.part) == fault), None)
    of = Amplifier(SEED, Planted(*found.id) if found else None)
    points = [p.id for p in signal_points(BUILD, stage) if p.what in ("open", "tried", "closed", "at")]
    return {id: answer(BUILD, Signal(Powered(of, stage), id, _level(stage))) for id in points}


@cache
def _level(stage: str) -> float:
    """As the forecast has it."""
    way = Way(BUILD, signal_paths(BUILD)[0], mains_v(BUILD, SEED), 2)
    return way.setting("open" if stage == "feedback" else "closed").input_v


def order(weighed: Weighed) -> list[tuple[str, str]]:
    named = [(fault.kind, fault.part) for fault in table("signal").faults]
    return [named[k] for k in np.argsort(-weighed.faults)]


def test_a_sound_build_stays_sound() -> None:
    weighed = weigh_signal(table("signal"), before("signal"), mains_v(BUILD, SEED), read(None))
    assert weighed.none > 0.9


@pytest.mark.parametrize(
    ("fault", "alike"),
    [
        (("capacitor-open", "C9"), ()),
        (("capacitor-open", "C8"), ()),
        (("capacitor-open", "C7"), ()),
        (("capacitor-open", "C4"), (("capacitor-open", "C5"),)),  # either half
        (("resistor-open", "R25"), (("wire-open", "FB"), ("resistor-shorted", "R24"))),  # no feedback at all
        (("resistor-ten-times-high", "R25"), ()),
    ],
)
def test_a_silent_fault_comes_first_beside_what_reads_the_same(
    fault: tuple[str, str], alike: tuple[tuple[str, str], ...]
) -> None:
    weighed = weigh_signal(table("signal"), before("signal"), mains_v(BUILD, SEED), read(fault))
    assert set(order(weighed)[: 1 + len(alike)]) == {fault, *alike}
    assert weighed.none < 0.01 and weighed.faults.max() > 0.3


def test_one_reading_tells_less_than_all_and_no_reading_nothing() -> None:
    whole = read(("capacitor-open", "C8"))
    one = {"signal closed": whole["signal closed"]}
    few, many = (weigh_signal(table("signal"), before("signal"), mains_v(BUILD, SEED), each) for each in (one, whole))
    c8 = order(many)[0]
    assert c8 == ("capacitor-open", "C8") and many.faults.max() > few.faults.max()
    nothing = before("signal")
    assert weigh_signal(table("signal"), nothing, None, {}) is nothing


def test_the_lead_that_changes_nothing_when_it_is_tried_is_open_somewhere() -> None:
    weighed = weigh_signal(
        table("feedback"), before("feedback"), mains_v(BUILD, SEED), read(("resistor-open", "R25"), "feedback")
    )
    assert set(order(weighed)[:3]) == {("resistor-open", "R25"), ("resistor-shorted", "R24"), ("wire-open", "FB")}
